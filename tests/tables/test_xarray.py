"""Tables as labelled arrays: written as netCDF by xarray and SciPy, and read back equal."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from hypothesis import HealthCheck, given, settings

from lanewise.model.plates import Lane, Plate, Spot
from lanewise.model.studies import Study
from lanewise.tables.columns import CONTEXT, MARKS, PAIRS, SPOTS
from lanewise.tables.marks import to_frame, to_xarray
from lanewise.testing.strategies import studies


def pretended(columns):
    """A table of two rows with a value in each column."""
    return pd.DataFrame(
        {column.name: ["é", ""] if column.kind == "text" else [0.1, float("nan")] for column in columns}
    )


TABLES = {
    "marks": (pretended((*MARKS, *CONTEXT)), "spot"),
    "spots": (pretended(SPOTS), "spot"),
    "pairs": (pretended(PAIRS), "pair"),
    "no rows": (to_frame(Study()), "spot"),
    "one lane": (
        to_frame(
            Study(plates=[Plate(label="1", origin=0, lanes=[Lane(label="A", spots=[Spot(label="1", centre=1)])])])
        ),
        "spot",
    ),
}


def written_and_read(dataset, path):
    dataset.to_netcdf(path, engine="scipy")
    with xr.open_dataset(path, engine="scipy") as held:
        return held.load()


@pytest.mark.parametrize(("frame", "dimension"), TABLES.values(), ids=TABLES)
def test_written_and_read_back(frame, dimension, tmp_path):
    dataset = to_xarray(frame)
    assert dict(dataset.sizes) == {dimension: len(frame)}
    assert set(dataset.variables) == set(frame.columns)
    xr.testing.assert_identical(written_and_read(dataset, tmp_path / "table.nc"), dataset)
    for name in frame:
        assert dataset[name].to_numpy().tolist() == pytest.approx(frame[name].tolist(), nan_ok=True)


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(studies(min_spots=1))
def test_any_study_can_be_written(tmp_path_factory, study):
    dataset = to_xarray(to_frame(study))
    path = tmp_path_factory.mktemp("netcdf") / "study.nc"
    xr.testing.assert_identical(written_and_read(dataset, path), dataset)


@pytest.mark.parametrize("column", [*MARKS, *CONTEXT, *SPOTS, *PAIRS], ids=lambda column: column.name)
def test_attributes(column):
    made = to_xarray(pretended([column]))[column.name]
    assert made.attrs["long_name"] == column.meaning
    assert made.attrs.get("units", "") == column.unit


def test_names_that_netcdf_does_not_take(tmp_path):
    frame = pd.DataFrame({"Rf as written": ["0.5"], "3/4 Tag": ["x"], "Rf_as_written": ["y"], "é": [1]})
    dataset = to_xarray(frame)
    assert list(dataset) == ["Rf_as_written", "factor_3_4_Tag", "Rf_as_written_2", "factor__"]
    assert [dataset[name].attrs["long_name"] for name in dataset] == list(frame)
    xr.testing.assert_identical(written_and_read(dataset, tmp_path / "table.nc"), dataset)


def test_numbers_of_factors_are_pure():
    assert to_xarray(pd.DataFrame({"size": [1, 2]}))["size"].attrs["units"] == "1"


def test_texts_that_are_missing_are_empty():
    assert to_xarray(pd.DataFrame({"pen": ["a", None, np.nan]}))["pen"].to_numpy().tolist() == ["a", "", ""]


def test_another_dimension_can_be_named():
    assert dict(to_xarray(pretended(PAIRS), "row").sizes) == {"row": 2}

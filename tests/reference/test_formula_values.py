"""Tables of single values: each formula against numbers printed or worked out elsewhere, to their last digit."""

from __future__ import annotations

import csv
import importlib
import math
import tomllib
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from lanewise.quantities import criteria

Row = dict[str, str]
HERE = Path(__file__).parent


def table(name: str) -> list[Row]:
    with (HERE / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


VALUES = table("formula_values.csv")
UNCERTAINTIES = table("first_order_uncertainties.csv")
CHROMATOGRAMS = table("quality_criteria_examples.csv")
CRITERIA = {
    "delta_rf_min": criteria.smallest_gap,
    "delta_rf_product": criteria.gap_product,
    "RU": criteria.retention_uniformity,
    "RD": criteria.retention_distance,
    "MRF_L0_U1": criteria.multispot_response,
}


def formula(dotted: str) -> Any:
    module, _, name = dotted.partition(".")
    return getattr(importlib.import_module(f"lanewise.quantities.{module}"), name)


def arguments(text: str, rows: tuple[str, ...] = ()) -> dict[str, Any]:
    """``rf=0.3; distances=30 45`` as keyword arguments; a name in `rows` is a list even of one."""
    found = {}
    for part in text.split(";"):
        name, _, values = part.strip().partition("=")
        parsed = [float(Fraction(value)) for value in values.split()]
        found[name] = parsed if len(parsed) > 1 or name in rows else parsed[0]
    return found


def as_printed(expected: str) -> Any:
    """Compare within half a unit of the last digit of `expected`."""
    places = len(expected.partition(".")[2])
    return pytest.approx(float(expected), rel=0, abs=0.5 * 10.0**-places * (1 + 1e-6))


@pytest.mark.parametrize("row", VALUES, ids=[row["id"] for row in VALUES])
def test_formula_value(row: Row) -> None:
    value = formula(row["function"])(**arguments(row["inputs"], rows=("distances",)))
    assert value == as_printed(row["expected"])


@pytest.mark.parametrize("row", UNCERTAINTIES, ids=[row["id"] for row in UNCERTAINTIES])
def test_first_order_uncertainty(row: Row) -> None:
    """The carried derivatives, put into the law of propagation for independent inputs."""
    inputs, given = arguments(row["inputs"]), arguments(row["uncertainties"])
    partials = formula(row["function"]).derivatives(*inputs.values())
    combined = math.hypot(*(float(p) * given[name] for name, p in zip(inputs, partials, strict=True)))
    assert combined == as_printed(row["expected"])


@pytest.mark.parametrize("row", CHROMATOGRAMS, ids=[row["rf_values"] for row in CHROMATOGRAMS])
@pytest.mark.parametrize("column", CRITERIA)
def test_criterion_of_a_chromatogram(row: Row, column: str) -> None:
    rf = [float(value) for value in row["rf_values"].split()]
    value = CRITERIA[column](rf)
    if row[column]:
        assert value == as_printed(row[column])
    else:  # a single spot has no gap
        assert len(rf) == 1
        assert math.isnan(value)


def test_every_source_and_status_is_explained() -> None:
    explained = tomllib.loads((HERE / "sources.toml").read_text(encoding="utf-8"))
    for row in VALUES + UNCERTAINTIES:
        assert row["source"] in explained["sources"], row["id"]
        assert any(word in row["status"] for word in explained["status"]), row["id"]


@pytest.mark.parametrize("rows", [VALUES, UNCERTAINTIES], ids=["values", "uncertainties"])
def test_ids_are_unique(rows: list[Row]) -> None:
    assert len({row["id"] for row in rows}) == len(rows)

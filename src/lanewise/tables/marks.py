"""The marks table of a study, and the study of a marks table.

One row a spot, so that lanes may have any number of spots. What belongs to a lane or a plate is repeated in its rows;
``origin_read`` and ``front_read`` keep what would be lost by that: whether one reading stands behind several rows.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from lanewise.model.checks import lines
from lanewise.model.fields import refusal
from lanewise.model.notation import parse_system
from lanewise.model.plates import Lane, Plate
from lanewise.model.studies import Input, Study
from lanewise.tables.columns import CONTEXT, MARKS, SHARED_POINTS, described, names, shared_columns
from lanewise.tables.regrouping import SPOT_FIELDS, regroup

if TYPE_CHECKING:
    import xarray as xr

CONVENTIONS = "CF-1.8"
"""Conventions that labelled datasets follow."""

ASSUMED = "assumed"
"""Name under which a marks table keeps, in its ``attrs``, sentences on what was assumed for lack of a statement."""


def to_frame(study: Study) -> pd.DataFrame:
    """Make the marks table of a study.

    Parameters
    ----------
    study : Study
        With N spots in all.

    Returns
    -------
    DataFrame
        N rows in the order of plates, lanes and spots; all columns of ``MARKS`` and ``CONTEXT``, then the factors of
        plates, lanes and spots by name. Errors that readings share have columns of their own before the factors
        (`lanewise.tables.columns.shared_columns`). Lengths in millimetres, NaN where nothing was read; uncertainties
        NaN where they are left to the division of the ruler.

    Raises
    ------
    RecordError
        If a factor has the name of one of the library's columns.

    Notes
    -----
    A lane without spots has no row. Where a lane has no sample, its label stands for it.

    Examples
    --------
    >>> from lanewise.model.plates import Spot
    >>> lane = Lane(label="B", spots=[Spot(label="1", centre=32), Spot(label="2", state="with front")])
    >>> marks = to_frame(Study(plates=[Plate(label="bench 3", system="water", origin=10, front=85, lanes=[lane])]))
    >>> marks[["lane", "spot", "front_mm", "centre_mm", "front_read"]].values.tolist()
    [['B', '1', 85.0, 32.0, 'plate'], ['B', '2', 85.0, nan, 'plate']]
    """
    held: dict[str, list[Any]] = {name: [] for name in names((*MARKS, *CONTEXT))}
    factors: list[Mapping[str, str]] = []
    for plate in study.plates:
        for lane in plate.lanes:
            count = len(lane.spots)
            for name, value in _lane_values(plate, lane).items():
                held[name].extend([value] * count)
            for name, field in SPOT_FIELDS.items():
                held[name].extend([getattr(spot, field) for spot in lane.spots])
            shared = {**plate.factors, **lane.factors}
            factors.extend({**shared, **spot.factors} if spot.factors else shared for spot in lane.spots)
    made = {column.name: _series(held[column.name], column.kind == "text") for column in (*MARKS, *CONTEXT)}
    made |= _shared(study, made)
    for name in sorted({name for one in factors for name in one}):
        if described(name) is not None:
            raise refusal(
                f"factor {name!r}", "a name that no column of the library has", repr(name), "Rename the factor."
            )
        made[name] = _series([one.get(name, "") for one in factors], text=True)
    return pd.DataFrame(made)


def _shared(study: Study, made: Mapping[str, pd.Series]) -> dict[str, pd.Series]:
    """Give by how much each shared error moves each position; nothing where it is not one of the row's plate."""
    held: dict[str, pd.Series] = {}
    count = len(made["plate"])
    for error in dict.fromkeys(error.name for plate in study.plates for error in plate.shared_errors):
        curves = {
            plate.label: (one.positions, one.shifts)
            for plate in study.plates
            for one in plate.shared_errors
            if one.name == error
        }
        for column, point in zip(shared_columns(error), SHARED_POINTS, strict=True):
            shifts, at = np.zeros(count), made[f"{point}_mm"].to_numpy()
            for plate, curve in curves.items():
                rows = (made["plate"] == plate).to_numpy()
                shifts[rows] = np.interp(at[rows], *curve)
            held[column.name] = pd.Series(np.where(np.isnan(at), np.nan, shifts))
    return held


def _lane_values(plate: Plate, lane: Lane) -> dict[str, Any]:
    """Give what all rows of a lane have in common."""
    line = lines(plate, lane)
    own = {False: "plate", True: "lane"}
    return {
        "plate": plate.label,
        "system": plate.system,
        "lane": lane.label,
        "sample": lane.sample or lane.label,
        "role": lane.role,
        "origin_mm": line.origin,
        "front_mm": line.front,
        "u_origin_mm": lane.u_origin if line.own_origin else plate.u_origin,
        "u_front_mm": lane.u_front if line.own_front else plate.u_front,
        "layer": plate.sheet.stationary_phase if plate.sheet else "",
        "height_mm": plate.sheet.height if plate.sheet else None,
        "zero": plate.reading.zero,
        "origin_read": own[line.own_origin],
        "front_read": "" if line.front is None else own[line.own_front],
        "division_mm": plate.reading.division,
        "u_reading_mm": plate.reading.u,
        "noticeable_mm": plate.reading.noticeable,
        "runs": plate.development.runs,
        "minutes": plate.development.minutes,
    }


def _series(values: Sequence[Any], text: bool) -> pd.Series:
    return pd.Series(values, dtype="str") if text else pd.Series(np.array(values, dtype=np.float64))


def from_frame(
    frame: pd.DataFrame, note: str = "", division: float | None = None, inputs: Sequence[Input] = ()
) -> Study:
    """Make a study of a marks table.

    Parameters
    ----------
    frame : DataFrame
        N rows as `lanewise.tables.checking.check` and `to_frame` give them; ``lane`` is needed, of the other columns
        any may be missing, but the origin only where ``zero`` is neither the edge of the sheet nor the liquid level.
        Columns with other names are factors.
    note : str, optional
        Note of the study; sentences in ``frame.attrs["assumed"]`` follow it.
    division : float or None, optional
        Division of the ruler, where the table has none; None for 1 mm. [mm]
    inputs : sequence of Input, optional
        Files that the readings came from.

    Returns
    -------
    Study
        Plates and lanes in the order of their first rows, spots in the order of the rows.

    Raises
    ------
    RecordError
        If a lane or a plate has two values of what it has one of, or a value is not possible.

    Notes
    -----
    An origin or a front goes to the plate where ``origin_read`` or ``front_read`` says ``plate``, or says nothing and
    all of two or more lanes have the same reading; else to each lane. A factor goes to the highest of plate, lane and
    spot on which it never changes. Solvent systems are taken apart by `lanewise.model.notation.parse_system`.

    Examples
    --------
    >>> import pandas as pd
    >>> rows = {"lane": ["A", "B"], "front_mm": [85.0, 85.0], "centre_mm": [20.0, 32.0], "bench": ["3", "3"]}
    >>> plate = from_frame(pd.DataFrame(rows)).plates[0]
    >>> plate.front, plate.lanes[0].front, plate.factors
    (85.0, None, {'bench': '3'})
    """
    plates = regroup(frame, division)
    sentences = [note, *frame.attrs.get(ASSUMED, ())]
    return Study(
        systems=tuple(parse_system(name) for name in dict.fromkeys(plate.system for plate in plates)),
        plates=tuple(plates),
        note="\n".join(sentence for sentence in sentences if sentence),
        inputs=tuple(inputs),
    )


def to_xarray(frame: pd.DataFrame, dimension: str | None = None) -> xr.Dataset:
    """Make a labelled dataset of a table.

    Parameters
    ----------
    frame : DataFrame
        N rows; columns of ``MARKS``, ``CONTEXT``, ``SPOTS`` or ``PAIRS``, and any others as factors.
    dimension : str or None, optional
        Name of the dimension along the rows; None for ``pair`` where the table has pairs, else ``spot``.

    Returns
    -------
    xarray.Dataset
        One variable a column, each with ``long_name`` and, for numbers, ``units`` of the CF conventions. A name that
        netCDF does not take is written with underscores and kept in ``long_name``.

    Notes
    -----
    ``to_netcdf(path, engine="scipy")`` writes it without further packages; read back, it is equal.

    References
    ----------
    NetCDF Climate and Forecast (CF) Metadata Conventions 1.8, sections 2.3, 3.1 and 3.2. From memory.

    Examples
    --------
    >>> table = pd.DataFrame({"lane": ["A"], "spot": ["1"], "centre_mm": [32.0]})
    >>> to_xarray(table)["centre_mm"].attrs["units"]
    'mm'
    """
    import xarray as xr

    along = dimension or ("pair" if "spot_a" in frame.columns else "spot")
    variables: dict[str, Any] = {}
    for name in frame.columns:
        column = described(str(name))
        attrs = {"long_name": column.meaning if column else str(name)}
        values = frame[name]
        if pd.api.types.is_numeric_dtype(values.dtype):
            attrs["units"] = column.unit if column else "1"
            data = values.to_numpy(dtype=np.float64, na_value=np.nan)
        else:
            data = values.fillna("").astype(str).to_numpy(dtype=object)
        variables[_safe(str(name), variables)] = (along, data, attrs)
    return xr.Dataset(variables, attrs={"Conventions": CONVENTIONS})


def _safe(name: str, taken: dict[str, Any]) -> str:
    """Make a name that netCDF takes and no other variable has."""
    plain = re.sub(r"[^A-Za-z0-9_]", "_", name)
    if not plain or not plain[0].isalpha():
        plain = f"factor_{plain}"
    unique, number = plain, 2
    while unique in taken:
        unique, number = f"{plain}_{number}", number + 1
    return unique

"""The numbers behind a report, unrounded: one table a kind of thing, for workbooks and supplements."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Literal

import numpy as np
import pandas as pd

from lanewise.analyses.measure import Measurement
from lanewise.document import DataColumn, DataTable
from lanewise.model.plates import Plate
from lanewise.model.solvents import SolventSystem
from lanewise.model.studies import Study
from lanewise.tables.columns import Column, described
from lanewise.uncertainty.budget import group_variances

SPOT = ("plate", "lane", "spot")
PARTS = {
    "origin": "the reading of the origin",
    "front": "the reading of the front",
    "spot": "the reading of the spot",
    "shared": "errors that all readings of the plate share",
}
"""What the standard uncertainty of Rf is made of."""


def data_tables(study: Study, measurement: Measurement) -> tuple[DataTable, ...]:
    """Give the numbers behind the report of a study.

    Parameters
    ----------
    study : Study
        What was planned and seen.
    measurement : Measurement
        What follows from its marks.

    Returns
    -------
    tuple of DataTable
        ``systems``, ``plates``, ``marks``, ``spots``, ``pairs`` and ``budget``; lengths in millimetres, unrounded.
    """
    return (
        _systems(study.systems),
        _plates(study.plates),
        frame_table("marks", "One spot as it was read.", measurement.marks, SPOT),
        frame_table("spots", "One spot with what follows from its reading.", measurement.spots, SPOT),
        frame_table(
            "pairs",
            "Two neighbouring spots of a lane, the slower one first.",
            measurement.pairs,
            ("plate", "lane", "spot_a", "spot_b"),
        ),
        _budget(measurement),
    )


def frame_table(
    name: str, meaning: str, frame: pd.DataFrame, keys: tuple[str, ...] = (), more: Mapping[str, Column | str] = {}
) -> DataTable:
    """Make a data table of a frame.

    Parameters
    ----------
    name, meaning : str
        As in `DataTable`.
    frame : DataFrame
        R rows.
    keys : tuple of str
        Columns that name a row; left out where they do not.
    more : mapping of str to Column or str
        What columns mean that the library's tables do not have, a text for one that is a text or a number without
        unit; any other is taken for a factor.
    """
    labels = [str(label) for label in frame.columns]
    made = tuple(
        _column(_said(more.get(label), label, values), label, values)
        for label, values in ((label, frame.iloc[:, place]) for place, label in enumerate(labels))
    )
    unique = bool(keys) and set(keys) <= {column.name for column in made} and not frame.duplicated(list(keys)).any()
    return DataTable(name, meaning, made, keys if unique else ())


def _said(told: Column | str | None, name: str, values: pd.Series[Any]) -> Column | None:
    """What a column means: as told, or as the library's tables have it; None for a factor."""
    if isinstance(told, str):
        return Column(name, *(("number", "1") if pd.api.types.is_numeric_dtype(values.dtype) else ("text", "")), told)
    return told or described(name)


def _column(known: Column | None, name: str, values: pd.Series[Any]) -> DataColumn:
    meaning = known.meaning if known else "factor: what distinguishes plates, lanes or spots"
    if pd.api.types.is_numeric_dtype(values.dtype):
        numbers = values.to_numpy(dtype=np.float64, na_value=np.nan).tolist()
        unit = known.unit if known else "1"
        return DataColumn(name, "number", unit, meaning, tuple(x if np.isfinite(x) else None for x in numbers))
    texts = values.astype(object).where(values.notna(), "").tolist()
    return DataColumn(name, "text", "", meaning, tuple(str(text) or None for text in texts))


def _rows(
    name: str,
    meaning: str,
    columns: Iterable[tuple[str, str, str]],
    rows: Iterable[tuple[Any, ...]],
    keys: tuple[str, ...] = (),
) -> DataTable:
    """Make a data table of rows; each column is given by name, unit (empty for text) and meaning."""
    held = list(rows)
    made = []
    for place, (title, unit, said) in enumerate(columns):
        values = tuple(None if row[place] in (None, "") else row[place] for row in held)
        kind: Literal["text", "number"] = "number" if unit else "text"
        made.append(DataColumn(title, kind, unit, said, values))
    return DataTable(name, meaning, tuple(made), keys)


def _systems(systems: Iterable[SolventSystem]) -> DataTable:
    columns = (
        ("system", "", "solvent system, as it was written"),
        ("component", "", "substance"),
        ("parts", "1", "parts by volume"),
        ("grams_per_litre", "g/L", "mass in a litre of the mixture"),
        ("phase", "", "phase of a mixture that parts into two"),
        ("note", "", "remark on the system"),
    )
    return _rows("systems", "One component of a solvent system.", columns, _components(systems))


def _components(systems: Iterable[SolventSystem]) -> Iterator[tuple[Any, ...]]:
    for system in systems:
        for part in system.components:
            yield system.name, part.substance, part.parts, part.grams_per_litre, system.phase, system.note
        if not system.components:
            yield system.name, "", None, None, system.phase, system.note


def _plates(plates: Iterable[Plate]) -> DataTable:
    columns = (
        ("plate", "", "label of the plate or sheet"),
        ("system", "", "solvent system it was developed in"),
        ("layer", "", "stationary phase of the sheet"),
        ("width_mm", "mm", "width of the sheet"),
        ("height_mm", "mm", "height of the sheet, along the run"),
        ("runs", "1", "number of developments, one after the other"),
        ("temperature_degC", "degC", "temperature in the tank"),
        ("minutes", "min", "time from dipping to taking out"),
        ("zero", "", "where the zero of the ruler lay"),
        ("instrument", "", "what positions were read with"),
        ("division_mm", "mm", "smallest division of its scale"),
        ("u_reading_mm", "mm", "standard uncertainty of one reading, where it was stated"),
        ("note", "", "remark on the plate"),
    )
    rows = (
        (
            plate.label,
            plate.system,
            plate.sheet.stationary_phase if plate.sheet else None,
            plate.sheet.width if plate.sheet else None,
            plate.sheet.height if plate.sheet else None,
            float(plate.development.runs),
            plate.development.temperature,
            plate.development.minutes,
            plate.reading.zero,
            plate.reading.instrument,
            plate.reading.division,
            plate.reading.u,
            plate.note,
        )
        for plate in plates
    )
    meaning = "One plate: a sheet that was developed in one solvent system."
    return _rows("plates", meaning, columns, rows, ("plate",))


def _budget(measurement: Measurement) -> DataTable:
    """Part the standard uncertainty of each Rf by source; the root of the sum of the squares is u_rf."""
    rf = measurement.quantity("rf")
    variances = group_variances(rf)
    chosen = np.isfinite(rf.values)
    frame = measurement.spots.loc[chosen, [*SPOT, "rf", "u_rf"]].copy()
    more = {}
    for part, what in PARTS.items():
        mine = [_part(group.name, measurement.place.shared_names) == part for group in rf.groups]
        if any(mine):
            column = Column(f"u_rf_{part}", "number", "1", f"part of u_rf that comes from {what}")
            frame[column.name] = np.sqrt(variances[chosen][:, mine].sum(axis=1))
            more[column.name] = column
    return frame_table("budget", "One spot that has an Rf, with what makes up its uncertainty.", frame, SPOT, more)


def _part(source: str, shared: Sequence[str]) -> str:
    """Give the part to which a source group of a measurement belongs."""
    if source in shared:
        return "shared"
    return next((part for part in ("origin", "front") if source == f"{part} reading"), "spot")

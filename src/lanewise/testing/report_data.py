"""The numbers behind the standard reports: one plate, a lane an ink, with all tables that a report of a study has."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import TypeAlias

from lanewise.document import DataColumn, DataTable
from lanewise.tables.columns import CONTEXT, MARKS, PAIRS, SPOTS, Column

Cell: TypeAlias = str | float | None
Row: TypeAlias = dict[str, Cell]

SYSTEM = "water:ethanol 1:1"
_FRONT, _DIVISION = 34.0, 0.5  # [mm]
_U = _DIVISION / math.sqrt(12)  # of one reading: a uniform distribution of one division's width (JCGM 100:2008, 4.3.7)

_PLATE = tuple(
    Column(name, "number" if unit else "text", unit, meaning)
    for name, unit, meaning in (
        ("plate", "", "label of the plate or sheet"),
        ("system", "", "solvent system it was developed in"),
        ("layer", "", "stationary phase of the sheet"),
        ("width_mm", "mm", "width of the sheet"),
        ("height_mm", "mm", "height of the sheet, along the run"),
        ("runs", "1", "number of developments, one after the other"),
        ("zero", "", "where the zero of the ruler lay"),
        ("instrument", "", "what positions were read with"),
        ("division_mm", "mm", "smallest division of its scale"),
        ("note", "", "remark on the plate"),
    )
)
_COMPONENT = tuple(
    Column(name, "number" if unit else "text", unit, meaning)
    for name, unit, meaning in (
        ("system", "", "solvent system, as it was written"),
        ("component", "", "substance"),
        ("parts", "1", "parts by volume"),
        ("grams_per_litre", "g/L", "mass in a litre of the mixture"),
        ("phase", "", "phase of a mixture that parts into two"),
    )
)
_BUDGET = tuple(column for column in SPOTS if column.name in ("plate", "lane", "spot", "rf", "u_rf")) + tuple(
    Column(f"u_rf_{part}", "number", "1", f"part of u_rf that comes from the reading of the {part}")
    for part in ("origin", "front", "spot")
)


def data_tables(inks: Sequence[str] = ("black", "brown")) -> tuple[DataTable, ...]:
    """Make the data tables of a report on some inks.

    Parameters
    ----------
    inks : sequence of str
        One lane each, with one spot; the first lane has two. All readings are invented.

    Returns
    -------
    tuple of DataTable
        ``systems``, ``plates``, ``marks``, ``spots``, ``pairs``, ``budget``. The numbers fit each other: rf is the
        centre over the front, and the root of the sum of the squares of the parts is u_rf.

    Examples
    --------
    >>> [(table.name, len(table)) for table in data_tables()]
    [('systems', 2), ('plates', 1), ('marks', 3), ('spots', 3), ('pairs', 1), ('budget', 3)]
    """
    spots = [_spot(lane, ink, 1, 10.0 + lane / 4) for lane, ink in enumerate(inks, start=1)]
    spots.insert(1, _spot(1, inks[0], 2, 21.0))
    plate: Row = {"plate": "1", "system": SYSTEM, "layer": "silica", "runs": 1.0, "zero": "origin line"}
    plate |= {"instrument": "ruler", "division_mm": _DIVISION}
    parts: list[Row] = [{"system": SYSTEM, "component": name, "parts": 1.0} for name in ("water", "ethanol")]
    key = ("plate", "lane", "spot")
    return (
        _table("systems", "One component of a solvent system.", _COMPONENT, parts),
        _table("plates", "One plate.", _PLATE, [plate], ("plate",)),
        _table("marks", "One spot as it was read.", (*MARKS, *CONTEXT), spots, key),
        _table("spots", "One spot with what follows from its reading.", SPOTS, spots, key),
        _table("pairs", "Two neighbours of a lane.", PAIRS, [_pair(*spots[:2])], ("plate", "lane", "spot_a", "spot_b")),
        _table("budget", "One spot with what makes up its uncertainty.", _BUDGET, spots, key),
    )


def _table(
    name: str,
    meaning: str,
    columns: Iterable[Column],
    rows: Iterable[Mapping[str, Cell]],
    keys: tuple[str, ...] = (),
) -> DataTable:
    held = list(rows)
    made = tuple(
        DataColumn(
            column.name,
            "text" if column.kind == "text" else "number",
            column.unit,
            column.meaning,
            tuple(None if row.get(column.name) == "" else row.get(column.name) for row in held),
        )
        for column in columns
    )
    return DataTable(name, meaning, made, keys)


def _spot(lane: int, ink: str, spot: int, centre: float) -> Row:
    """Work out everything that the tables hold of one spot; origin at 0 mm."""
    rf = centre / _FRONT
    parts = {"origin": (1 - rf) * _U / _FRONT, "front": rf * _U / _FRONT, "spot": _U / _FRONT}
    u_rf = math.sqrt(sum(part**2 for part in parts.values()))
    k = 1 / rf - 1
    return {
        **{"plate": "1", "system": SYSTEM, "lane": str(lane), "sample": ink, "role": "sample", "spot": str(spot)},
        **{"origin_mm": 0.0, "front_mm": _FRONT, "centre_mm": centre, "state": "measured", "colour": "blue"},
        **{"trailing_mm": centre - 1.5, "leading_mm": centre + 1.5, "width_mm": 3.0, "layer": "silica"},
        **{"zero": "origin line", "point": "centre", "origin_read": "plate", "front_read": "plate"},
        **{"division_mm": _DIVISION, "noticeable_mm": 1.0, "runs": 1.0},
        **{"rf": rf, "u_rf": u_rf, "rf_low": rf - 2 * u_rf, "rf_high": rf + 2 * u_rf, "hrf": float(round(100 * rf))},
        **{"k": k, "u_k": u_rf / rf**2, "r_m": math.log10(k), "u_r_m": u_rf / (rf**2 * k * math.log(10))},
        **{"k_low": 1 / (rf + 2 * u_rf) - 1, "k_high": 1 / (rf - 2 * u_rf) - 1},
        **{f"u_rf_{part}": value for part, value in parts.items()},
    }


def _pair(slow: Mapping[str, Cell], fast: Mapping[str, Cell]) -> Row:
    """Work out what the table of pairs holds of two neighbours; their origin and front are the same."""
    a, b = float(slow["rf"] or 0), float(fast["rf"] or 0)
    between = float(fast["centre_mm"] or 0) - float(slow["centre_mm"] or 0)
    alpha = float(slow["k"] or 0) / float(fast["k"] or 1)
    return {
        **{"plate": "1", "lane": slow["lane"], "spot_a": slow["spot"], "spot_b": fast["spot"]},
        **{"delta_rf": b - a, "u_delta_rf": math.sqrt(2) * _U / _FRONT, "alpha": alpha, "u_alpha": 0.05},
        **{"rs": 2 * between / (3.0 + 3.0), "u_rs": 0.2},
    }

"""What can still be said of spots that have no plain value, and of those whose value is weak evidence."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.measure import Measurement
from lanewise.analyses.states import FLAGS, NO_FRONT, OVER_RUN
from lanewise.analyses.wording import plates, texts, with_u
from lanewise.uncertainty.rounding import round_bound, round_half_up

COLUMNS = ["plate", "system", "lane", "sample", "spot", "state", "statement"]
UNSEEN = FLAGS[NO_FRONT.bit_length() - 1]
RUN_OVER = FLAGS[OVER_RUN.bit_length() - 1]


@dataclass(frozen=True, eq=False)
class Limits:
    """The rows of a measurement that need a word, each with what can and cannot be said of it.

    Attributes
    ----------
    statements : DataFrame
        Columns plate, system, lane, sample, spot, state, statement; one row a spot, in the order of the spots.
    """

    statements: pd.DataFrame

    @property
    def sentences(self) -> tuple[str, ...]:
        """The statements as sentences; the same one for a spot of several lanes or plates in one system stands once."""
        columns = {name: texts(self.statements[name]) for name in COLUMNS}
        groups: dict[tuple[str, str, str], list[str]] = {}
        for row in pd.DataFrame(columns).to_dict("records"):
            key = (spot_name(row["sample"], row["lane"], row["spot"]), row["system"], row["statement"])
            groups.setdefault(key, []).append(row["plate"])
        return tuple(f"{spot} on {plates(labels)} {statement}" for (spot, _, statement), labels in groups.items())


def spot_name(sample: str, lane: str, spot: str) -> str:
    """Name a spot for a sentence: its sample, or its lane where the sample has no name, and its number."""
    who = sample or f"lane {lane}"
    return f"{who}, spot {spot}," if spot else who


def limits(measurement: Measurement) -> Limits:
    """Say what can still be said at the limits of the method.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.

    Returns
    -------
    Limits
        Spots at the origin and with the front with their bounds, streaks with their extent, lanes whose front was not
        seen, spots not read or not found, and measured spots that carry a flag. A plain spot in the useful range is
        not listed, nor a blank lane that showed nothing, as it should.
    """
    spots, marks = measurement.spots, measurement.marks
    blank = (marks["role"] == "blank").to_numpy() if "role" in marks.columns else np.zeros(len(spots), dtype=bool)
    absent = (spots["state"] == "absent").to_numpy()
    worth = (spots["state"] != "measured").to_numpy() | (spots["flags"].astype(str) != "").to_numpy()
    chosen = spots[worth & ~(blank & absent)]
    statements = [_statement(row) for row in chosen.to_dict("records")]
    table = chosen[COLUMNS[:-1]].assign(statement=statements)
    return Limits(table.reset_index(drop=True))


def _statement(row: Mapping[Hashable, Any]) -> str:
    """Put one row into words."""
    state, flags = str(row["state"]), str(row["flags"])
    low, high = float(row["rf_low"]), float(row["rf_high"])
    if state == "at origin":
        if UNSEEN in flags:
            bound = ", with no bound on Rf, since the front was not seen"
        else:
            bound = f": Rf below {round_bound(high, up=True)}"
        return f"stayed at the origin{bound}. It may be insoluble, or the system too weak for it."
    if state == "unread":
        return "was seen but not measured: no Rf."
    if state == "absent":
        return "was looked for and not found."
    if UNSEEN in flags:
        what = "ran with the front, by the record, but" if state == "with front" else "has no Rf:"
        return f"{what} the front was not seen. Only distances in the same lane can be compared."
    if state == "with front":
        return (
            f"ran with the front: Rf above {round_bound(low, up=False)}. "
            f"Whatever runs with the front lies together there and is not shown to be the same.{_run_over(flags)}"
        )
    return _value_statement(row, state, flags)


def _value_statement(row: Mapping[Hashable, Any], state: str, flags: str) -> str:
    rf, u, low, high = (float(row[name]) for name in ("rf", "u_rf", "rf_low", "rf_high"))
    if np.isnan(rf):
        return "has no Rf: its position is missing, or an edge of the streak."
    if state == "streak":
        return (
            f"is a streak from Rf {round_half_up(low, 2)} to {round_half_up(high, 2)}: no single Rf describes it "
            f"(its darkest point or middle lies at {with_u(rf, u)}), and it is not used as proof of identity."
            f"{_run_over(flags)}"
        )
    return f"has Rf {with_u(rf, u)}; to bear in mind: {flags}.{_run_over(flags)}"


def _run_over(flags: str) -> str:
    """Say what a front at the edge of the sheet means; an upper bound needs no word, since it holds all the more."""
    if RUN_OVER not in flags:
        return ""
    return (
        " The solvent may have run on after its front stopped at the edge of the sheet: Rf may be too high, and only "
        "relative values in the same lane hold."
    )

"""Rf, k and R_M of every spot, and how far neighbouring spots of a lane lie apart.

The table's uncertainties come from closed forms of the first-order law, written for speed. `Measurement.quantity` and
`Measurement.pair_quantity` give the same results through the uncertainty engine, with their parts by source, for
budgets and covariances; the tests hold the two together.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.pairs import PairRows, neighbours, pair_columns
from lanewise.analyses.positions import MEASURED, NOTHING, STREAK, Lengths, Positions, States, lengths, positions
from lanewise.analyses.refusals import looks_impossible, refuse_contradictions, refuse_impossible, refuse_incomplete
from lanewise.analyses.states import NOTICEABLE, censored_bounds, context_bits, flag_texts, number_bits
from lanewise.errors import AnalysisError
from lanewise.quantities import retardation, separation
from lanewise.tables.columns import CONTEXT, MARKS, NOT_STATED, PAIRS, SPOTS, STATES, names, shared_error
from lanewise.uncertainty.budget import coverage_factor
from lanewise.uncertainty.intervals import ratio_ends, ratio_interval
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.propagation import propagate
from lanewise.uncertainty.sources import Floats, Ids

LN10 = float(np.log(10.0))
HALF = 0.5 + 1e-9  # halves go up in the decimal sense, whatever binary dust they carry
PIECE = 16_384
NEAR = 6.0  # a bound this many standard uncertainties beyond the usual end changes nothing that is printed
NUMBERS = (
    "rf",
    "u_rf",
    "rf_low",
    "rf_high",
    "hrf",
    "k",
    "u_k",
    "k_low",
    "k_high",
    "r_m",
    "u_r_m",
    "width_mm",
)
FORMULAS: dict[str, Callable[..., Any]] = {"k": retardation.retention_factor, "r_m": retardation.r_m}


@dataclass(frozen=True, eq=False)
class Measurement:
    """What follows from the marks of a study, spot by spot and pair by pair.

    Attributes
    ----------
    spots : DataFrame
        One row for each row of the marks, in the same order and with the same index; columns ``SPOTS`` of
        `lanewise.tables.columns`, then the factor columns of the marks.
    pairs : DataFrame
        One row for each two neighbours in a lane, counted from the origin; columns ``PAIRS``. Without a front they have
        a resolution only.
    marks : DataFrame
        The marks it was made from.
    level : float
        Coverage probability of the intervals.
    place : Positions
        Positions and uncertainties as they were taken from the marks.
    pair_rows : PairRows
        Positions in `spots` of the two spots of each pair.
    """

    spots: pd.DataFrame
    pairs: pd.DataFrame
    marks: pd.DataFrame
    level: float
    place: Positions
    pair_rows: PairRows

    @cached_property
    def _inputs(self) -> tuple[Measured, Measured, Measured, Measured]:
        return self.place.measured()

    def quantity(self, name: str) -> Measured:
        """Give a quantity of all spots with its parts by source.

        Parameters
        ----------
        name : {"rf", "k", "r_m", "width"}
            Column of `spots`; ``width`` is the length of the spot over the run, a pure number.

        Returns
        -------
        Measured
            Row by row as in `spots`; a row without a number is nan and has no parts.
        """
        centre, front, origin, length = self._inputs
        if name == "width":
            run = self.place.run
            with np.errstate(invalid="ignore", divide="ignore"):
                width = np.where(run > 0.0, self.spots["width_mm"].to_numpy(dtype=float) / run, np.nan)
                return _numbers_only(propagate(retardation.rf, length + origin, front, origin), width)
        wanted = self.spots[name].to_numpy(dtype=float) if name in ("rf", *FORMULAS) else None
        if wanted is None:
            raise AnalysisError(f"wanted a quantity of spots among rf, k, r_m and width, given {name!r}")
        result = propagate(retardation.rf, centre, front, origin)
        if name != "rf":
            with np.errstate(invalid="ignore", divide="ignore"):
                result = propagate(FORMULAS[name], result)
        return _numbers_only(result, wanted)

    def pair_quantity(self, name: str) -> Measured:
        """Give a quantity of all pairs with its parts by source.

        Parameters
        ----------
        name : {"delta_rf", "alpha", "rs"}
            Column of `pairs`.

        Returns
        -------
        Measured
            Row by row as in `pairs`; a row without a number is nan and has no parts.
        """
        slow, fast = self.pair_rows.slow, self.pair_rows.fast
        if name == "rs":
            centre, _, _, length = self._inputs
            result = propagate(separation.resolution, centre[slow], centre[fast], length[slow], length[fast])
        elif name in ("delta_rf", "alpha"):
            rf = self.quantity("rf")
            formula = separation.delta_rf if name == "delta_rf" else separation.separation_factor
            result = propagate(formula, rf[slow], rf[fast])
        else:
            raise AnalysisError(f"wanted a quantity of pairs among delta_rf, alpha and rs, given {name!r}")
        return _numbers_only(result, self.pairs[name].to_numpy(dtype=float))


def measure(marks: pd.DataFrame, *, level: float = 0.95) -> Measurement:
    """Work out Rf, k and R_M of every spot with honest uncertainty, and the distances of neighbours.

    Parameters
    ----------
    marks : DataFrame
        N rows with the columns of `lanewise.tables.columns`; ``lane``, ``front_mm`` and the centre or both edges are
        needed, the rest has defaults. Categorical text columns are the fastest.
    level : float
        Coverage probability of the intervals, between 0 and 1.

    Returns
    -------
    Measurement
        A spot that was measured has a value, its standard uncertainty and a coverage interval that does not leave 0
        to 1. A spot at the origin or with the front has bounds only. A streak has the value of its darkest point, or
        of its middle, and reaches from its rear to its front edge. A spot not read or not found has no number. A
        cell is nan where there is no number, never inf, and the state or a flag of its row says why.

    Raises
    ------
    AnalysisError
        If the level is not between 0 and 1, a needed column is missing, the table is empty, or a cell cannot be: an
        unknown state, a front that is not beyond its origin, edges out of order, a negative uncertainty, two values
        of one reading.

    Notes
    -----
    Intervals of Rf are those of a ratio of two normal distances, cut to what is possible; those of k are their image.
    For their derivation see `lanewise.uncertainty.intervals`.

    Examples
    --------
    >>> import pandas as pd
    >>> marks = pd.DataFrame({"lane": ["1", "1"], "front_mm": [80.0, 80.0], "centre_mm": [20.0, 44.0]})
    >>> measure(marks).spots[["rf", "u_rf", "rf_low", "rf_high"]].round(4).values.tolist()
    [[0.25, 0.0046, 0.241, 0.259], [0.55, 0.0044, 0.5413, 0.5587]]
    """
    if not 0.0 < level < 1.0:
        raise AnalysisError(f"level: wanted a probability between 0 and 1, given {level}")
    refuse_incomplete(marks)
    place = positions(marks)
    noticeable = np.broadcast_to(lengths(marks, "noticeable_mm", NOTICEABLE), place.state.shape)
    refuse_contradictions(marks, place, noticeable)
    numbers, bits = _spot_numbers(marks, place, noticeable, level)
    rows = neighbours(place)
    return Measurement(
        spots=_spots_frame(marks, place, numbers, flag_texts(bits)),
        pairs=_pairs_frame(marks, rows, pair_columns(place, numbers["k"], rows)),
        marks=marks,
        level=level,
        place=place,
        pair_rows=rows,
    )


def _spot_numbers(
    marks: pd.DataFrame, place: Positions, noticeable: Floats, level: float
) -> tuple[dict[str, Floats], Ids]:
    """Work out the number columns and the flags of the spots, shape (N,) each, by pieces that stay in the cache."""
    count = len(place.state)
    out, bits = np.empty((len(NUMBERS), count)), np.empty(count, dtype=np.int64)
    for start in range(0, count, PIECE):
        piece = slice(start, start + PIECE)
        some, state, seen = place[piece], place.state[piece], noticeable[piece]
        if looks_impossible(some):
            refuse_impossible(marks, place)
        _fill(out[:, piece], some, state, seen, level)
        bits[piece] = number_bits(some, state, seen, dict(zip(NUMBERS, out[:, piece], strict=True)))
    return dict(zip(NUMBERS, out, strict=True)), bits | context_bits(marks, place)


def _fill(out: Floats, place: Lengths, state: States, noticeable: Floats, level: float) -> None:
    """Work out the number columns of some spots into the rows of `out`, in the order of `NUMBERS`."""
    run, streak = place.run, state == STREAK
    valued = (state == MEASURED) | streak
    rf = (place.centre - place.origin) / run
    if not valued.all():
        rf = np.where(valued, rf, np.nan)
    distance, origin, front = place.centre_variance, place.u_origin**2, place.u_front**2
    if place.shared.size:
        far, along = place.shared_distance, place.shared_run
        together = ((far - rf[:, None] * along) ** 2).sum(axis=1)
        u_rf = np.sqrt(distance + (1.0 - rf) ** 2 * origin + rf**2 * front + together) / run
        of_distance, of_run, of_both = ((far**2).sum(axis=1), (along**2).sum(axis=1), (far * along).sum(axis=1))
        moments = (run, distance + origin + of_distance, origin + front + of_run, origin + of_both)
    else:
        u_rf = np.sqrt(distance + (1.0 - rf) ** 2 * origin + rf**2 * front) / run
        moments = (run, distance + origin, origin + front, origin)
    low, high = _rf_interval(rf, u_rf, moments, level)
    if streak.any():
        streak = streak & ~np.isnan(rf)
        rear, fore = (place.trailing - place.origin) / run, (place.leading - place.origin) / run
        low = np.where(streak, np.clip(rear, 0.0, 1.0), low)
        high = np.where(streak, np.clip(fore, 0.0, 1.0), high)
    if not valued.all():
        bound_low, bound_high = censored_bounds(place, state, noticeable)
        low, high = np.where(valued, low, bound_low), np.where(valued, high, bound_high)
    out[0], out[1], out[2], out[3] = rf, u_rf, low, high
    with np.errstate(invalid="ignore", divide="ignore"):
        np.floor(np.add(np.multiply(rf, 100.0, out=out[4]), HALF, out=out[4]), out=out[4])
        inside = rf if rf.min() > NOTHING and rf.max() < 1.0 else np.where((rf > NOTHING) & (rf < 1.0), rf, np.nan)
        per = 1.0 / inside
        k = np.subtract(per, 1.0, out=out[5])
        slope = np.multiply(u_rf, per, out=out[10])  # relative uncertainty of Rf
        np.multiply(slope, per, out=out[6])
        out[7] = 1.0 / (high if high.min() > NOTHING else np.where(high > NOTHING, high, np.nan)) - 1.0
        out[8] = 1.0 / (low if low.min() > NOTHING else np.where(low > NOTHING, low, np.nan)) - 1.0
        np.log10(k, out=out[9])
        np.divide(slope, LN10 * (1.0 - inside), out=slope)
        out[11] = place.length


def _rf_interval(
    rf: Floats, u_rf: Floats, moments: tuple[Floats, Floats, Floats, Floats], level: float
) -> tuple[Floats, Floats]:
    """Ends of the interval of Rf; near 0 and 1 what is impossible is cut away.

    `moments` are the run and the variances of the spot's distance and of the run, and their covariance.
    """
    factor = float(coverage_factor(np.inf, level))
    low, high = ratio_ends(rf, u_rf, *moments, factor)
    reach = (factor + NEAR) * u_rf
    if rf.min() >= reach.max() and 1.0 - rf.max() >= reach.max():
        return low, high
    with np.errstate(invalid="ignore"):
        near = np.flatnonzero(np.minimum(rf, 1.0 - rf) < reach)
    if near.size:
        run, *rest = (item[near] if len(item) > 1 else item for item in moments)
        with np.errstate(over="ignore"):
            ends = ratio_interval(rf[near] * run, run, *rest, lower=0.0, upper=1.0, level=level)
        # No end exists where the run is not shown to be longer than nothing: then all that is possible is left. A spot
        # hundreds of standard uncertainties beyond a line has none either: then that line is.
        unsure, nearest = run < (factor + NEAR) * np.sqrt(rest[1]), np.clip(rf[near], 0.0, 1.0)
        for out, end, bound in zip((low, high), ends, (0.0, 1.0), strict=True):
            out[near] = np.clip(np.where(np.isnan(end), np.where(unsure, bound, nearest), end), 0.0, 1.0)
    return low, high


def _spots_frame(
    marks: pd.DataFrame, place: Positions, numbers: dict[str, Floats], flags: pd.Categorical[str]
) -> pd.DataFrame:
    fallback = {"plate": "1", "system": NOT_STATED, "spot": ""}
    columns: dict[str, Any] = {}
    for name in names(SPOTS):
        if name in numbers:
            columns[name] = numbers[name]
        elif name == "flags":
            columns[name] = flags
        elif name == "state":
            columns[name] = _state_texts(place.state)
        elif name in marks.columns:
            columns[name] = marks[name].array
        else:
            columns[name] = marks["lane"].array if name == "sample" else fallback[name]
    known = {*names(MARKS), *names(CONTEXT)}
    columns |= {
        name: marks[name].array for name in marks.columns if name not in known and not shared_error(str(name))[0]
    }
    return pd.DataFrame(columns, index=marks.index, copy=False)


def _state_texts(state: States) -> pd.Categorical[str]:
    """Turn numbers of states into texts, of which only those that occur become categories."""
    found = [number for number in range(len(STATES)) if (state == number).any()]
    code = np.searchsorted(found, np.arange(len(STATES))).astype(np.int8)
    return pd.Categorical.from_codes(code[state], pd.Index([STATES[number] for number in found]))


def _pairs_frame(marks: pd.DataFrame, rows: PairRows, numbers: dict[str, Floats]) -> pd.DataFrame:
    def texts(name: str, chosen: Ids) -> Any:
        return marks[name].array.take(chosen) if name in marks.columns else "1" if name == "plate" else ""

    columns: dict[str, Any] = {
        "plate": texts("plate", rows.slow),
        "lane": texts("lane", rows.slow),
        "spot_a": texts("spot", rows.slow),
        "spot_b": texts("spot", rows.fast),
        **numbers,
    }
    return pd.DataFrame(columns, index=pd.RangeIndex(len(rows.slow)), columns=names(PAIRS), copy=False)


def _numbers_only(result: Measured, wanted: Floats) -> Measured:
    """Blank the rows that have no number in the table, so that no part of theirs is mistaken for one."""
    empty = np.isnan(wanted)
    if not empty.any():
        return result
    return Measured(
        np.where(empty, np.nan, result.values), np.where(empty[:, None], 0.0, result.parts), result.ids, result.groups
    )

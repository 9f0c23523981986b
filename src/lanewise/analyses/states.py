"""What a spot's state and place allow to be said: bounds at the two ends of the run, and flags.

A spot at the origin or with the front is *censored*: its Rf lies below or above a bound and has no value of its own.
The limits of the useful range, of a short run, a long spot, an uneven front and a front at the edge of the sheet are
bench custom (common practice, no source), each named below.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pandas as pd

from lanewise.analyses.positions import (
    AT_ORIGIN,
    MEASURED,
    NOTHING,
    STREAK,
    WITH_FRONT,
    Lengths,
    Positions,
    States,
    lengths,
)
from lanewise.tables.columns import SHEET_EDGE
from lanewise.uncertainty.sources import Floats, Ids

NOTICEABLE = 1.0  # mm, smallest movement that would have been noticed
USEFUL = (0.10, 0.90)  # Rf outside it is weak evidence
GOOD = (0.20, 0.80)
SHORT_RUN = 30.0  # mm
LONG_SPOT = 0.20  # share of the run
UNEVEN_MM, UNEVEN_SHARE = 2.0, 0.03  # front of a lane away from the plate's mean
AT_EDGE = 3.0  # mm, front this near the upper edge of the sheet: the solvent may have run on after it stopped there
NOT_MOVED = 2.0  # standard uncertainties within which a spot is not shown to have left a line

FLAGS: tuple[str, ...] = (
    "front not seen, no Rf",
    "position not read, no Rf",
    "Rf outside 0 to 1, check the readings",
    "Rf below 0.10, weak evidence",
    "Rf above 0.90, weak evidence",
    "not shown to have left the origin",
    "not shown to lag the front",
    "k and R_M limited on one side only",
    "streak, interval is rear to front edge",
    "longer than a fifth of the run",
    "run shorter than 30 mm",
    "uneven front",
    "edge of the spot read, not its centre",
    "several developments, not comparable with one",
    "front at the edge of the sheet, may have run over",
)
(
    NO_FRONT,
    NO_POSITION,
    OUTSIDE,
    LOW,
    HIGH,
    NEAR_ORIGIN,
    NEAR_FRONT,
    K_BOUND,
    IS_STREAK,
    LONG,
    SHORT,
    UNEVEN,
    EDGE,
    SEVERAL,
    OVER_RUN,
) = (1 << bit for bit in range(len(FLAGS)))


def censored_bounds(place: Lengths, state: States, noticeable: Floats) -> tuple[Floats, Floats]:
    """Bounds of Rf for spots that stayed at the origin or ran with the front.

    Parameters
    ----------
    place : Lengths
        N spots.
    state : integer array of shape (N,)
        Number of the state of each.
    noticeable : array of shape (N,)
        Smallest movement that would have been noticed. [mm]

    Returns
    -------
    low, high : arrays of shape (N,)
        0 to d / L at the origin and 1 - d / L to 1 with the front, where d is the noticeable movement or, where it
        was read and is larger, the reach of the spot away from the line. nan for all other states. [1]

    References
    ----------
    Derived: a movement below d would not have been seen, so Rf is below d / L.
    """
    run = place.run
    low, high = np.full(run.shape, np.nan), np.full(run.shape, np.nan)
    at_origin, with_front = state == AT_ORIGIN, state == WITH_FRONT
    reach = np.fmax(noticeable, np.fmax(place.leading, place.centre) - place.origin)
    low[at_origin], high[at_origin] = 0.0, np.minimum(reach / run, 1.0)[at_origin]
    reach = np.fmax(noticeable, place.front - np.fmin(place.trailing, place.centre))
    low[with_front], high[with_front] = np.maximum(1.0 - reach / run, 0.0)[with_front], 1.0
    missing = np.isnan(run)
    low[missing], high[missing] = np.nan, np.nan
    return low, high


def number_bits(place: Lengths, state: States, noticeable: Floats, numbers: Mapping[str, Floats]) -> Ids:
    """Gather the flags that follow from the numbers of each spot as bits, shape (N,).

    Parameters
    ----------
    place : Lengths
        N spots.
    state : integer array of shape (N,)
        Number of the state of each.
    noticeable : array of shape (N,)
        Smallest movement that would have been noticed. [mm]
    numbers : mapping of str to array of shape (N,)
        ``rf``, ``u_rf``, ``rf_low`` and ``k`` of the table of spots.
    """
    run, rf, length = place.run, numbers["rf"], place.length
    valued, measured, streak = ~np.isnan(rf), state == MEASURED, state == STREAK
    bits = np.zeros(len(rf), dtype=np.int64)
    with np.errstate(invalid="ignore"):
        margin = np.fmax(noticeable / run, NOT_MOVED * numbers["u_rf"])
        low, high, reach = rf.min(), rf.max(), margin.max()
        # Each flag with a quick look at the extremes first: a nan among them fails the comparison, and so looks closer.
        conditions = (
            (OUTSIDE, not (low >= 0.0 and high <= 1.0), lambda: (rf < 0.0) | (rf > 1.0)),
            (LOW, not low >= USEFUL[0], lambda: rf < USEFUL[0]),
            (HIGH, not high <= USEFUL[1], lambda: rf > USEFUL[1]),
            (NEAR_ORIGIN, not low >= reach, lambda: measured & (rf < margin)),
            (NEAR_FRONT, not 1.0 - high >= reach, lambda: measured & (1.0 - rf < margin)),
            (
                K_BOUND,
                not (low > NOTHING and high < 1.0 and numbers["rf_low"].min() > NOTHING),
                lambda: valued & (np.isnan(numbers["k"]) | (numbers["rf_low"] <= NOTHING)),
            ),
            (IS_STREAK, streak.any(), lambda: valued & streak),
            (LONG, not length.max() <= LONG_SPOT * run.min(), lambda: valued & (length > LONG_SPOT * run)),
            (SHORT, not run.min() >= SHORT_RUN, lambda: run < SHORT_RUN),
            (NO_POSITION, np.isnan(low), lambda: np.isnan(place.centre) & (measured | streak)),
            (NO_FRONT, np.isnan(low), lambda: np.isnan(place.front) & (state <= STREAK)),
        )
        for bit, possible, where in conditions:
            if possible and (holds := where()).any():
                bits[np.broadcast_to(holds, bits.shape)] |= bit
    return bits


def context_bits(marks: pd.DataFrame, place: Positions) -> Ids:
    """Gather the flags that follow from how the plate was run and read as bits, shape (N,)."""
    bits = np.zeros(len(place.state), dtype=np.int64)
    read = (place.state == MEASURED) | (place.state == STREAK)
    bits[_uneven(place)] |= UNEVEN
    if "point" in marks.columns:
        bits[read & marks["point"].isin(["leading edge", "trailing edge"]).to_numpy()] |= EDGE
    if "runs" in marks.columns:
        bits[read & (lengths(marks, "runs") > 1)] |= SEVERAL
    if {"zero", "height_mm"} <= set(marks.columns):
        near_edge = lengths(marks, "height_mm") - place.front <= AT_EDGE
        if near_edge.any():
            bits[near_edge & marks["zero"].isin([SHEET_EDGE]).to_numpy()] |= OVER_RUN
    return bits


def _uneven(place: Positions) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
    """Whether a lane's own front departs from the mean front of its plate, shape (N,)."""
    moved = place.plate[1:] != place.plate[:-1]
    together = np.count_nonzero(moved) < np.count_nonzero(np.bincount(place.plate))
    if together and not ((place.front[1:] != place.front[:-1]) & ~moved).any():
        return np.zeros(len(place.plate), dtype=bool)
    lanes = int(place.lane.max(initial=-1)) + 1
    front, plate = np.full(lanes, np.nan), np.zeros(lanes, dtype=np.int64)
    front[place.lane], plate[place.lane] = place.front, place.plate
    seen = ~np.isnan(front)
    counts = np.maximum(np.bincount(plate[seen], minlength=plate.max(initial=0) + 1), 1)
    mean = np.bincount(plate[seen], front[seen], minlength=len(counts)) / counts
    away = np.abs(place.front - mean[place.plate])
    return np.asarray((away > UNEVEN_MM) | (away > UNEVEN_SHARE * place.run))


def flag_texts(bits: Ids) -> pd.Categorical[str]:
    """Turn bits into texts, the flags of a row joined by semicolons; an empty text where there is none."""
    different = np.flatnonzero(np.bincount(bits))
    codes = np.searchsorted(different, np.arange(1 + bits.max(initial=0))).astype(np.int16)[bits]
    texts = ["; ".join(text for bit, text in enumerate(FLAGS) if number & (1 << bit)) for number in different]
    return pd.Categorical.from_codes(codes, categories=pd.Index(texts))

"""Neighbouring spots of a lane: distance in Rf, separation factor, resolution, each with its uncertainty.

Spots of one lane share its origin and front readings. The closed forms below keep those shared errors together, so
most of them cancel in a difference; in a resolution they cancel entirely.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from lanewise.analyses.positions import MEASURED, STREAK, Lengths, Positions
from lanewise.uncertainty.sources import Floats, Ids

PIECE = 16_384
NUMBERS = ("delta_rf", "u_delta_rf", "alpha", "u_alpha", "rs", "u_rs")


@dataclass(frozen=True, eq=False)
class PairRows:
    """P pairs of rows: the slower and the faster spot of each two neighbours, shape (P,) each."""

    slow: Ids
    fast: Ids


def neighbours(place: Positions) -> PairRows:
    """Find each two neighbours in a lane, counted from the origin.

    Spots without a position of their own (at the origin, with the front, unread, absent) take no part. Where the front
    was not seen, neighbours have a resolution though no Rf.

    Parameters
    ----------
    place : Positions
        N spots.
    """
    able = ((place.state == MEASURED) | (place.state == STREAK)) & ~np.isnan(place.centre)
    rows, lane, value = np.flatnonzero(able), place.lane, place.centre
    if len(rows) < len(able):
        lane, value = lane[rows], value[rows]
    same = lane[1:] == lane[:-1]
    lanes = np.count_nonzero(np.bincount(lane))
    scattered = np.count_nonzero(~same) + 1 > lanes
    if len(rows) and (scattered or (same & (value[1:] < value[:-1])).any()):
        order = np.lexsort((value, lane))
        rows = rows[order]
        same = lane[order][1:] == lane[order][:-1]
    return PairRows(rows[:-1][same], rows[1:][same])


def pair_columns(place: Positions, k: Floats, pairs: PairRows) -> dict[str, Floats]:
    """Work out the number columns of the table of pairs.

    Parameters
    ----------
    place : Positions
        N spots.
    k : array of shape (N,)
        Their retention factors; nan where there is none.
    pairs : PairRows
        P pairs of them.

    Returns
    -------
    dict of arrays of shape (P,)
        ``delta_rf``, ``alpha``, ``rs`` and their standard uncertainties. ``delta_rf`` and ``alpha`` are nan where the
        front was not seen, ``alpha`` also where a spot lies on or beyond a line, ``rs`` where an edge of either spot
        was not read.
    """
    count = len(pairs.slow)
    out = np.empty((len(NUMBERS), count))
    for start in range(0, count, PIECE):
        rows = slice(start, start + PIECE)
        slow, fast = pairs.slow[rows], pairs.fast[rows]
        _fill(out[:, rows], place[slow], place[fast], k[slow], k[fast])
    return dict(zip(NUMBERS, out, strict=True))


def _fill(out: Floats, slow: Lengths, fast: Lengths, k_slow: Floats, k_fast: Floats) -> None:
    """Work out the number columns of some pairs into the rows of `out`, in the order of `NUMBERS`.

    With Rf = 1 / (1 + k) the relative change of alpha with each position is one over Rf (1 - Rf), that is
    (1 + k) (1 + 1 / k), over the run; with the origin it is k_slow - k_fast, with the front 1 / k_slow - 1 / k_fast.
    """
    per_run = 1.0 / slow.run
    origin, front = slow.u_origin**2, slow.u_front**2
    var_slow, var_fast = slow.centre_variance, fast.centre_variance
    out[0] = (fast.centre - slow.centre) * per_run
    apart = var_slow + var_fast + out[0] ** 2 * (origin + front)
    if slow.shared.size:
        along = slow.shared_run
        moved = fast.shared_distance - slow.shared_distance
        apart = apart + ((moved - out[0][:, None] * along) ** 2).sum(axis=1)
    out[1] = per_run * np.sqrt(apart)
    by_slow, by_fast = 1.0 / k_slow, 1.0 / k_fast
    out[2] = k_slow * by_fast
    relative = (
        var_slow * ((1.0 + k_slow) * (1.0 + by_slow)) ** 2
        + var_fast * ((1.0 + k_fast) * (1.0 + by_fast)) ** 2
        + (k_slow - k_fast) ** 2 * origin
        + (by_slow - by_fast) ** 2 * front
    )
    if slow.shared.size:
        relative = relative + ((_pull(fast, k_fast) - _pull(slow, k_slow)) ** 2).sum(axis=1)
    out[3] = out[2] * per_run * np.sqrt(relative)
    out[4], out[5] = _resolution(slow, fast)


def _pull(spot: Lengths, k: Floats) -> Floats:
    """How far shared errors move ln k of a spot, times minus the run; shape (P, K)."""
    slope = ((1.0 + k) * (1.0 + 1.0 / k))[:, None]
    return slope * (spot.shared_distance - spot.shared_run / (1.0 + k)[:, None])


def _resolution(slow: Lengths, fast: Lengths) -> tuple[Floats, Floats]:
    width = slow.length + fast.length
    width = np.where(width > 0, width, np.nan)
    rs = 2.0 * (fast.centre - slow.centre) / width
    variance = 4.0 * (slow.own_variance + fast.own_variance)
    for spot, sign in ((slow, -2.0), (fast, 2.0)):
        share = sign * spot.edge_share
        variance = variance + ((share + rs) * spot.u_trailing) ** 2 + ((share - rs) * spot.u_leading) ** 2
    if slow.shared.size:
        moved = 2.0 * (fast.shared_distance - slow.shared_distance)
        variance = variance + ((moved - rs[:, None] * (slow.shared_length + fast.shared_length)) ** 2).sum(axis=1)
    return rs, np.sqrt(variance) / width

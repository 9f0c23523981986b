"""How well the spots of each lane are separated, pair by pair and at worst."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from lanewise.analyses.measure import Measurement
from lanewise.analyses.positions import Lengths
from lanewise.uncertainty.budget import coverage_factor
from lanewise.uncertainty.intervals import ratio_ends
from lanewise.uncertainty.sources import Floats

TOUCHING, BASELINE = 1.0, 1.5


@dataclass(frozen=True, eq=False)
class Separations:
    """Neighbouring spots with intervals and a verdict.

    Attributes
    ----------
    pairs : DataFrame
        The pairs of the measurement with system, sample, the ends of the coverage intervals (``delta_rf_low``,
        ``delta_rf_high``, ``alpha_low``, ``alpha_high``, ``rs_low``, ``rs_high``) and ``verdict``. Since neighbours are
        ordered by what was read, a ``delta_rf_low`` below 0 or an ``alpha_low`` below 1 says that they may truly stand
        the other way round. ``alpha_high`` is nan, no limit, where the interval of the slower spot reaches 0 or that of
        the faster one 1; ``rs`` has no ends where the lengths are not shown to be above zero.
    worst : DataFrame
        For each lane with at least one resolution, the pair with the smallest one.
    level : float
        Coverage probability of the intervals.
    """

    pairs: pd.DataFrame
    worst: pd.DataFrame
    level: float


def separations(measurement: Measurement) -> Separations:
    """Judge the separation of each two neighbours in a lane.

    With edges outlined by eye the widths are not four standard deviations of a profile, so this is an *apparent*
    resolution: good for comparing pairs and systems read in the same way, not for a column's plate number.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.

    Returns
    -------
    Separations
        Verdicts: ``baseline`` (Rs surely at least 1.5), ``separated`` (at least 1), ``touching`` (surely below 1),
        ``not sure`` where the interval holds 1, ``width not read`` where an edge is missing or no length is above 0.
        1 and 1.5 are the usual marks (common practice, no source). A streak counts with its whole length and with the
        uncertainty of not knowing which of its points is meant.
    """
    factor = float(coverage_factor(np.inf, measurement.level))
    rows, spots = measurement.pair_rows, measurement.spots
    slow, fast = measurement.place[rows.slow], measurement.place[rows.fast]
    table = measurement.pairs.copy()
    table.insert(1, "system", spots["system"].array.take(rows.slow))
    table.insert(3, "sample", spots["sample"].array.take(rows.slow))
    value = {name: measurement.pairs[name].to_numpy(dtype=float) for name in ("delta_rf", "alpha", "rs")}
    u = {name: measurement.pairs[f"u_{name}"].to_numpy(dtype=float) for name in value}

    apart = slow.centre_variance + fast.centre_variance
    lines = slow.u_origin**2 + slow.u_front**2
    delta = ratio_ends(value["delta_rf"], u["delta_rf"], slow.run, apart, lines, np.zeros(1), factor)
    table["delta_rf_low"], table["delta_rf_high"] = delta
    ends = {end: spots[f"rf_{end}"].to_numpy(dtype=float) for end in ("low", "high")}
    unlimited = (ends["low"][rows.slow] <= 0.0) | (ends["high"][rows.fast] >= 1.0)
    with np.errstate(invalid="ignore", over="ignore"):
        stretch = np.exp(factor * u["alpha"] / value["alpha"])
        table["alpha_low"] = value["alpha"] / stretch
        table["alpha_high"] = np.where(unlimited, np.nan, value["alpha"] * stretch)
    shared = _shared_by_edges(fast) - _shared_by_edges(slow)
    widths = _edge_variance(slow) + _edge_variance(fast)
    length = np.where(np.isnan(value["rs"]), np.nan, slow.length + fast.length)
    rs = ratio_ends(value["rs"], u["rs"], length, 4.0 * apart, widths, 2.0 * shared, factor)
    table["rs_low"], table["rs_high"] = rs
    table["verdict"] = _verdicts(value["rs"], *rs)
    read = table[table["rs"].notna()]
    worst = read.loc[read.groupby(["plate", "lane"], sort=False, observed=True)["rs"].idxmin()]
    return Separations(table, worst.reset_index(drop=True), measurement.level)


def _edge_variance(spot: Lengths) -> Floats:
    """Variance of the length of each spot, in mm2."""
    return spot.u_trailing**2 + spot.u_leading**2


def _shared_by_edges(spot: Lengths) -> Floats:
    """Covariance of the position and the length of each spot, through its edges, in mm2."""
    return spot.edge_share * (spot.u_leading**2 - spot.u_trailing**2)


def _verdicts(rs: Floats, low: Floats, high: Floats) -> list[str]:
    with np.errstate(invalid="ignore"):
        return [
            str(text)
            for text in np.select(
                [np.isnan(rs), low >= BASELINE, low >= TOUCHING, high < TOUCHING],
                ["width not read", "baseline", "separated", "touching"],
                "not sure",
            )
        ]

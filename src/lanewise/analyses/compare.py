"""The same samples in two or more solvent systems: what moves farther where, and by how much."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, product
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.advice import SystemSummary, summarise
from lanewise.analyses.dyes import Dyes, name_dyes
from lanewise.analyses.measure import Measurement
from lanewise.analyses.replicates import Means, mean_rf
from lanewise.analyses.wording import texts
from lanewise.errors import AnalysisError
from lanewise.tables.columns import NOT_STATED
from lanewise.uncertainty.budget import coverage_factor, effective_dof
from lanewise.uncertainty.intervals import bounded_multipliers
from lanewise.uncertainty.sources import Floats

VALUED = ("measured", "streak")
CENSORED = ("at origin", "with front")


@dataclass(frozen=True, eq=False)
class Comparison:
    """What two or more solvent systems do to the same dyes.

    Attributes
    ----------
    systems : tuple of str
        In the order of the table of spots.
    dyes : DataFrame
        One row for each dye and system: dye, system, plates, state, rf, u_rf, rf_low, rf_high. The state is measured,
        streak, at origin, with front, ``not alike`` where plates disagree about it, or ``no reading``. The plates are
        those with a value or a bound.
    differences : DataFrame
        One row for each dye and two systems: dye, system_a, system_b, delta_rf (b minus a), u_delta_rf, low, high,
        verdict. The verdict is ``farther in b``, ``farther in a``, ``no difference shown`` or ``cannot be
        compared``; where one side is a bound there is no value, and low and high hold what the bound allows. Each
        verdict stands alone: at a level of 95 %, one of twenty dyes without any difference is expected to seem to
        have one.
    summaries : tuple of SystemSummary
        Each system with all dyes together, and what to try next.
    means : Means
        The mean Rf values with their parts, and the scatter between plates.
    unmatched : tuple of str
        Samples whose spots cannot be followed, with the reason.
    level : float
        Coverage probability of the intervals.
    """

    systems: tuple[str, ...]
    dyes: pd.DataFrame
    differences: pd.DataFrame
    summaries: tuple[SystemSummary, ...]
    means: Means
    unmatched: tuple[str, ...]
    level: float


def compare(measurement: Measurement) -> Comparison:
    """Compare the solvent systems of a measurement, dye by dye.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`, with plates in at least two systems.

    Returns
    -------
    Comparison
        Differences carry the covariance of shared readings and, where plates were repeated, the scatter between
        plates; without repeats they carry reading errors alone. Spots at the origin or with the front enter as bounds,
        never as numbers.

    Raises
    ------
    AnalysisError
        If there are fewer than two systems.
    """
    systems = systems_of(measurement)
    if len(systems) < 2:
        raise AnalysisError(
            f"wanted plates in at least two solvent systems to compare, given only {systems[0]!r}. Use `spread` for "
            "one system."
        )
    named = name_dyes(measurement)
    means = mean_rf(measurement, named.names)
    dyes = dye_table(measurement, named.names, means, systems)
    return Comparison(
        systems=systems,
        dyes=dyes,
        differences=_differences(dyes, means, systems, measurement.level),
        summaries=tuple(_summaries(measurement, named, dyes, systems)),
        means=means,
        unmatched=named.unmatched,
        level=measurement.level,
    )


def spread(measurement: Measurement) -> tuple[SystemSummary, ...]:
    """Sum up how each system spreads the dyes over the run; one system is enough.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.

    Returns
    -------
    tuple of SystemSummary
        One a system, in the order of the table of spots.
    """
    named, systems = name_dyes(measurement), systems_of(measurement)
    dyes = dye_table(measurement, named.names, mean_rf(measurement, named.names), systems)
    return tuple(_summaries(measurement, named, dyes, systems))


def systems_of(measurement: Measurement) -> tuple[str, ...]:
    """Give the names of the systems in the order of the table of spots."""
    """Give the names of the systems in the order of the table of spots."""
    return tuple(texts(measurement.spots["system"], NOT_STATED).unique())


def dye_table(measurement: Measurement, names: pd.Series[str], means: Means, systems: tuple[str, ...]) -> pd.DataFrame:
    """Give each dye in each system its state and its value or bounds."""
    spots = measurement.spots
    spots = spots.assign(dye=names, system=texts(spots["system"], NOT_STATED), plate=texts(spots["plate"]))
    spots = spots[spots["dye"] != ""]
    lows, highs = _mean_ends(means, measurement.level)
    groups = dict(tuple(spots[spots["rf_high"].notna()].groupby(["dye", "system"], sort=False)))
    rows = []
    for dye, system in product(spots["dye"].unique(), systems):
        group = groups.get((dye, system))
        state = "no reading" if group is None else _state(group)
        numbers = [np.nan] * 4
        if state in VALUED:
            cell = means.cell(dye, system)
            numbers = [float(column[cell]) for column in (means.rf.values, means.rf.u, lows, highs)]
        elif group is not None and state in CENSORED:
            numbers[2:] = [group["rf_low"].min(), group["rf_high"].max()]
        rows.append((dye, system, 0 if group is None else group["plate"].nunique(), state, *numbers))
    return pd.DataFrame(rows, columns=["dye", "system", "plates", "state", "rf", "u_rf", "rf_low", "rf_high"])


def _mean_ends(means: Means, level: float) -> tuple[Floats, Floats]:
    """Ends of the intervals of the means, which do not leave 0 to 1.

    Few degrees of freedom stretch the standard uncertainty by the ratio of the two coverage factors; then the bounds
    are taken into account as for a normal quantity.
    """
    stretched = means.rf.u * coverage_factor(effective_dof(means.rf), level) / coverage_factor(np.inf, level)
    below, above = bounded_multipliers(means.rf.values, stretched, 0.0, 1.0, level)
    low, high = means.rf.values - below * stretched, means.rf.values + above * stretched
    return np.clip(low, 0.0, 1.0), np.clip(high, 0.0, 1.0)


def _state(group: pd.DataFrame) -> str:
    """Give the state that the plates agree on; a streak on one plate makes the dye a streak."""
    states = set(group["state"].astype(str))
    if states <= set(VALUED):
        return "streak" if "streak" in states else "measured"
    return states.pop() if len(states) == 1 else "not alike"


def _differences(dyes: pd.DataFrame, means: Means, systems: tuple[str, ...], level: float) -> pd.DataFrame:
    rows = []
    for dye, table in dyes.groupby("dye", sort=False):
        side = {row["system"]: row for row in table.to_dict("records")}
        rows += [(dye, a, b, *_difference(side[a], side[b], means, level)) for a, b in combinations(systems, 2)]
    columns = ["dye", "system_a", "system_b", "delta_rf", "u_delta_rf", "low", "high", "verdict"]
    return pd.DataFrame(rows, columns=columns)


def _difference(
    a: Mapping[Hashable, Any], b: Mapping[Hashable, Any], means: Means, level: float
) -> tuple[float, float, float, float, str]:
    """Difference b minus a of one dye: value, uncertainty, ends, verdict."""
    low, high = b["rf_low"] - a["rf_high"], b["rf_high"] - a["rf_low"]
    value = u = np.nan
    if a["state"] in VALUED and b["state"] in VALUED:
        gap = means.rf[means.cell(b["dye"], b["system"])] - means.rf[means.cell(a["dye"], a["system"])]
        value, u = float(gap.values[0]), float(gap.u[0])
        reach = u * float(coverage_factor(effective_dof(gap), level)[0])
        low, high = value - reach, value + reach
    if low > 0:
        return value, u, low, high, "farther in b"
    if high < 0:
        return value, u, low, high, "farther in a"
    return value, u, low, high, "no difference shown" if np.isfinite(value) else "cannot be compared"


def _summaries(
    measurement: Measurement, named: Dyes, dyes: pd.DataFrame, systems: tuple[str, ...]
) -> Iterator[SystemSummary]:
    """Sum up each system; within one, spots that cannot be followed to another count as dyes by their numbers."""
    if named.unmatched:
        dyes = dye_table(measurement, named.within, mean_rf(measurement, named.within), systems)
    marks = measurement.marks
    system_of = texts(measurement.spots["system"], NOT_STATED).to_numpy()
    layer_of = texts(marks.get("layer", pd.Series("", index=marks.index))).to_numpy()
    for system in systems:
        rows = dyes[dyes["system"] == system]
        layers = set(layer_of[system_of == system])
        layer = layers.pop() if len(layers) == 1 else ""
        at_origin, with_front = (int((rows["state"] == state).sum()) for state in CENSORED)
        yield summarise(system, rows["rf"].dropna().tolist(), at_origin, with_front, layer)

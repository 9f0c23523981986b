"""Which system, and which two systems together, tell a list of dyes apart; how sure the order is; what each leaves."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.compare import CENSORED, VALUED, dye_table, systems_of
from lanewise.analyses.contrasts import MARGIN
from lanewise.analyses.criteria import ALONE, TOGETHER, Chromatograms, alone, gaps, resolutions, together
from lanewise.analyses.dyes import name_dyes
from lanewise.analyses.measure import Measurement
from lanewise.analyses.replicates import Means, mean_of, mean_rf
from lanewise.analyses.separations import TOUCHING
from lanewise.analyses.wording import texts
from lanewise.errors import AnalysisError
from lanewise.uncertainty.inputs import exact
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.montecarlo import draw
from lanewise.uncertainty.sources import Floats, renumber, union

TRIALS = 10_000
MOST_NUMBERS = 2_000_000  # trials times pairs of dyes: more dyes get fewer trials
LEAST_TRIALS = 1_000
SURE = 0.95
FAILED, UNSURE, APART = "not separated", "not sure", "separated"


@dataclass(frozen=True, eq=False)
class Ranking:
    """Systems in order, with the chance that the order is right.

    Attributes
    ----------
    dyes : tuple of str
        Dyes that are to be told apart, and that every system shows.
    left_out : tuple of str
        Dyes that were asked for and that a system does not show, each with the reason, as sentences.
    criterion, pair_criterion : str
        By which the order of systems, and that of pairs of systems, was made.
    systems : DataFrame
        One row for each system and criterion: system, criterion, value, low, high. nan where the criterion needs
        lengths of spots that were not read, or has no finite value, as where two dyes coincide.
    pairs : DataFrame
        The same for each two systems: system_a, system_b, criterion, value, low, high.
    order : DataFrame
        Systems and pairs of systems, the best first: place, system_a, system_b (empty for one alone), value, low,
        high, best (probability that it is the best of its kind), above_next (that it is better than the next of its
        kind; nan for the last).
    dye_pairs : DataFrame
        One row for each system and two dyes: system, dye_a, dye_b, gap, rs, rs_low, rs_high, apart (probability that
        they are told apart), finding. ``rs`` is nan where lengths were not read, and between one dye at the origin and
        one with the front.
    level : float
        Coverage probability of the intervals.
    trials : int
        Trials behind the intervals and probabilities.
    """

    dyes: tuple[str, ...]
    left_out: tuple[str, ...]
    criterion: str
    pair_criterion: str
    systems: pd.DataFrame
    pairs: pd.DataFrame
    order: pd.DataFrame
    dye_pairs: pd.DataFrame
    level: float
    trials: int


def rank_systems(
    measurement: Measurement,
    *,
    dyes: Sequence[str] | None = None,
    criterion: str = "",
    trials: int = TRIALS,
    seed: int = 1,
) -> Ranking:
    """Rank the systems of a measurement, and each two of them, by how they tell dyes apart.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`; one system is enough to learn what it leaves together.
    dyes : sequence of str, optional
        Dyes to tell apart, by the names that `lanewise.compare` gives them. By default the standards where there are
        two or more, else all dyes that can be followed.
    criterion : str
        One of the keys of `lanewise.analyses.criteria.ALONE`; by default ``worst resolution``, or ``smallest gap``
        where a length of a spot was not read.
    trials : int
        How many trials, at least 100; with many dyes fewer are made, 1000 at least.
    seed : int
        Same seed, same result.

    Returns
    -------
    Ranking
        Intervals and probabilities come from trials in which readings that several spots share, and the shift of a
        plate, are drawn once for all of them: what moves two systems alike changes no order. Two dyes are told apart
        by a resolution of 1, or where lengths were not read by 0.05 in Rf (both common practice, no source).

    Raises
    ------
    AnalysisError
        If a dye or the criterion is not known, fewer than two dyes are seen in every system, or there are too few
        trials.

    Notes
    -----
    The resolution is an apparent one, of mean places and mean lengths as if all dyes had run in one lane. A dye at the
    origin or with the front lies somewhere within its bound: two at one end are not told apart, and one is taken to be
    as near to another as its bound allows. Criteria that are defined over the whole run count it as Rf 0 or 1. Pairs
    of systems are two plates, each run on its own, so that two dyes are told apart where either does it; pairs have an
    order of their own, by the same criterion where it has a meaning for them, else by the worst resolution or the
    smallest gap.
    """
    if trials < 100:
        raise AnalysisError(f"trials: wanted at least 100, given {trials}")
    if criterion and criterion not in ALONE:
        raise AnalysisError(f"criterion: wanted one of {', '.join(ALONE)}, given {criterion!r}")
    named, systems = name_dyes(measurement), systems_of(measurement)
    means = mean_rf(measurement, named.names)
    table = dye_table(measurement, named.names, means, systems)
    chosen, left_out = _chosen(measurement, named.names, table, dyes)
    pairs = len(chosen) * (len(chosen) - 1) // 2
    trials = min(trials, max(LEAST_TRIALS, MOST_NUMBERS // pairs))
    runs, middle = _runs(measurement, named.names, means, table, systems, chosen, trials, seed)
    ends = ((1.0 - measurement.level) / 2.0, (1.0 + measurement.level) / 2.0)
    values, here = {name: alone(run) for name, run in runs.items()}, {name: alone(run) for name, run in middle.items()}
    two = list(combinations(systems, 2))
    both = {pair: together(runs[pair[0]], runs[pair[1]]) for pair in two}
    here_both = {pair: together(middle[pair[0]], middle[pair[1]]) for pair in two}
    by = criterion or _default(here)
    by_two = by if by in TOGETHER else _default(here)
    order = [
        *_order(
            {(name, ""): item[by] for name, item in values.items()}, {(n, ""): v[by] for n, v in here.items()}, ends
        ),
        *_order(
            {pair: v[by_two] for pair, v in both.items()}, {pair: v[by_two] for pair, v in here_both.items()}, ends
        ),
    ]
    single = [{"system": n} | row for n in systems for row in _rows(values[n], here[n], ends)]
    double = [{"system_a": a, "system_b": b} | row for a, b in two for row in _rows(both[a, b], here_both[a, b], ends)]
    columns = ["system_a", "system_b", "criterion", "value", "low", "high"]
    return Ranking(
        dyes=chosen,
        left_out=left_out,
        criterion=by,
        pair_criterion=by_two,
        systems=pd.DataFrame(single),
        pairs=pd.DataFrame(double, columns=columns),
        order=pd.DataFrame(order),
        dye_pairs=pd.DataFrame([row for n in systems for row in _dye_pairs(n, runs[n], middle[n], chosen, ends)]),
        level=measurement.level,
        trials=trials,
    )


def _chosen(
    measurement: Measurement, names: pd.Series[str], table: pd.DataFrame, wanted: Sequence[str] | None
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Give the dyes to tell apart that every system shows, and why others are left out."""
    known = list(dict.fromkeys(table["dye"]))
    if wanted is None:
        roles = texts(measurement.marks.get("role", pd.Series("", index=measurement.marks.index))).to_numpy()
        standards = list(dict.fromkeys(names.to_numpy()[(roles == "standard") & (names != "").to_numpy()]))
        wanted = standards if len(standards) > 1 else known
    unknown = [name for name in wanted if name not in known]
    if unknown:
        raise AnalysisError(f"dyes: {unknown[0]!r} is none of the dyes that can be followed: {', '.join(known)}")
    state = table.set_index(["dye", "system"])["state"]
    shown, left_out = [], []
    for name in dict.fromkeys(wanted):
        missing = [f"{system} ({text})" for system, text in state[name].items() if text not in (*VALUED, *CENSORED)]
        if missing:
            left_out.append(f"{name} is left out of the order: it has no place in {', '.join(missing)}.")
        else:
            shown.append(name)
    if len(set(wanted)) < 2 <= len(known):
        raise AnalysisError(f"dyes: wanted at least two to tell apart, given {len(set(wanted))}. Name more of them.")
    if len(shown) < 2:
        raise AnalysisError(
            f"wanted at least two dyes that every system shows, found {len(shown)} of {len(known)}. "
            + (left_out[0] if left_out else "Name the dyes of each plate in the same way.")
        )
    return tuple(shown), tuple(left_out)


def _runs(
    measurement: Measurement,
    names: pd.Series[str],
    means: Means,
    table: pd.DataFrame,
    systems: tuple[str, ...],
    dyes: tuple[str, ...],
    trials: int,
    seed: int,
) -> tuple[dict[str, Chromatograms], dict[str, Chromatograms]]:
    """Give each system over the trials, and as it stands."""
    widths = mean_of(measurement, means, names, measurement.quantity("width"))
    both = _stacked(means.rf, widths)
    if not len(both):  # nothing but bounds
        both = exact(np.full(2, np.nan))
    drawn = draw(both, trials, seed)
    half = len(both) // 2
    side = {(row["dye"], row["system"]): row for row in table.to_dict("records")}
    runs: dict[str, Chromatograms] = {}
    middle: dict[str, Chromatograms] = {}
    for system in systems:
        rows = [side[dye, system] for dye in dyes]
        end = np.array([{"at origin": -1, "with front": 1}.get(row["state"], 0) for row in rows], dtype=np.int64)
        bound = np.array([row["rf_high"] if row["state"] == "at origin" else row["rf_low"] for row in rows])
        cell = np.array([-1 if at else means.cell(dye, system) for dye, at in zip(dyes, end, strict=True)], dtype=int)
        for made, source in ((runs, drawn), (middle, both.values[None, :])):
            rf = np.where(end[None, :] == 0, source[:, np.maximum(cell, 0)], bound[None, :])
            wide = np.where(cell[None, :] >= 0, source[:, half + np.maximum(cell, 0)], np.nan)
            made[system] = Chromatograms(np.clip(rf, 0.0, 1.0), end, wide)
    return runs, middle


def _stacked(first: Measured, second: Measured) -> Measured:
    """Put two rows of values behind each other, with the sources they share."""
    groups = union(first.groups, second.groups)
    size = max(first.parts.shape[1], second.parts.shape[1])
    parts, ids = [], []
    for one in (first, second):
        fill = ((0, 0), (0, size - one.parts.shape[1]))
        parts.append(np.pad(one.parts, fill))
        ids.append(np.pad(renumber(one.ids, one.groups, groups), fill))
    return Measured(np.concatenate([first.values, second.values]), np.concatenate(parts), np.concatenate(ids), groups)


def _default(middle: dict[str, dict[str, Floats]]) -> str:
    known = all(np.isfinite(item["worst resolution"]).all() for item in middle.values())
    return "worst resolution" if known else "smallest gap"


def _rows(drawn: dict[str, Floats], here: dict[str, Floats], ends: tuple[float, float]) -> list[dict[str, Any]]:
    rows = []
    for name, trial in drawn.items():
        low, high = _interval(trial, ends)
        rows.append({"criterion": name, "value": _finite(here[name][0]), "low": low, "high": high})
    return rows


def _finite(number: float) -> float:
    return float(number) if np.isfinite(number) else float("nan")


def _interval(trial: Floats, ends: tuple[float, float]) -> tuple[float, float]:
    """Give both ends of the interval of trials; nan where the quantity is not known."""
    if np.isnan(trial).any():
        return float("nan"), float("nan")
    low, high = np.quantile(trial, ends, method="inverted_cdf")
    return _finite(low), _finite(high)


def _order(
    drawn: dict[tuple[str, str], Floats], here: dict[tuple[str, str], Floats], ends: tuple[float, float]
) -> list[dict[str, Any]]:
    """Sort choices by their value and say how sure each place is."""
    if not drawn:
        return []
    keys = sorted(drawn, key=lambda key: -np.nan_to_num(here[key][0], nan=-np.inf))
    stack = np.stack([drawn[key] for key in keys])
    best = stack == stack.max(axis=0)
    shares = (best / best.sum(axis=0)).mean(axis=1) if not np.isnan(stack).any() else np.full(len(keys), np.nan)
    rows = []
    for place, key in enumerate(keys):
        low, high = _interval(drawn[key], ends)
        above = chance_above(stack[place], stack[place + 1]) if place + 1 < len(keys) else float("nan")
        numbers = {"value": _finite(here[key][0]), "low": low, "high": high}
        last = {"best": float(shares[place]), "above_next": above}
        rows.append({"place": place + 1, "system_a": key[0], "system_b": key[1]} | numbers | last)
    return rows


def chance_above(first: Floats, second: Floats) -> float:
    """Share of the trials in which the first is larger; a tie counts half, and nan leaves it unknown.

    Examples
    --------
    >>> chance_above(np.array([1.0, 2.0, 3.0, 0.0]), np.array([0.0, 1.0, 3.0, 1.0]))
    0.625
    """
    if np.isnan(first).any() or np.isnan(second).any():
        return float("nan")
    return float(((first > second) + 0.5 * (first == second)).mean())


def _dye_pairs(
    system: str, run: Chromatograms, middle: Chromatograms, dyes: tuple[str, ...], ends: tuple[float, float]
) -> list[dict[str, Any]]:
    """Say of each two dyes whether the system tells them apart, the worst first."""
    first, second = np.triu_indices(len(dyes), k=1)
    drawn, apart, rs, gap = resolutions(run), gaps(run), resolutions(middle)[0], gaps(middle)[0]
    rows = []
    for place, (a, b) in enumerate(zip(first, second, strict=True)):
        known = not np.isnan(drawn[:, place]).any()
        chance = float((drawn[:, place] >= TOUCHING).mean() if known else (apart[:, place] >= MARGIN).mean())
        low, high = _interval(drawn[:, place], ends)
        row = {"system": system, "dye_a": dyes[a], "dye_b": dyes[b], "gap": float(gap[place])}
        finding = APART if chance >= SURE else FAILED if chance <= 1.0 - SURE else UNSURE
        numbers = {"rs": _finite(rs[place]), "rs_low": low, "rs_high": high, "apart": chance}
        rows.append(row | numbers | {"finding": finding})
    return sorted(rows, key=lambda row: (row["apart"], row["gap"]))

"""Do two systems sort the dyes alike: correlation of their Rf and R_M, and how much of the plane of both is used."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.compare import CENSORED, VALUED, Comparison
from lanewise.stats.correlation import (
    Correlation,
    Floats,
    kendall,
    kendall_rows,
    pearson,
    pearson_rows,
    ranks,
    spearman,
)
from lanewise.uncertainty.montecarlo import draw

TRIALS = 1_000
ALIKE, UNLIKE = 0.8, 0.5
SAME, PARTLY, OTHER = "much the same order", "partly the same order", "another order"
NOT_SURE, TOO_FEW = ", of other dyes not sure", "too few dyes"
NEARLY = 1e-6  # nearest to 0 and 1 that a drawn Rf may come, so that it has an R_M


@dataclass(frozen=True, eq=False)
class Correlations:
    """How far two systems go together.

    Attributes
    ----------
    coefficients : DataFrame
        One row for each two systems, scale (``rf`` or ``r_m``) and kind (pearson, spearman, kendall): system_a,
        system_b, scale, kind, dyes, limited, value, low, high, u_value. The interval is that of other dyes like these;
        ``u_value`` is what the uncertainty of these Rf does to the coefficient. ``limited`` dyes are known only by a
        bound and enter Kendall's coefficient alone.
    planes : DataFrame
        One row for each two systems: system_a, system_b, dyes, area (share of the unit square within the outline of the
        dyes), nearest (mean distance of each dye from the nearest other), closest (smallest distance of two dyes),
        finding.
    level : float
        Coverage probability of the intervals.
    """

    coefficients: pd.DataFrame
    planes: pd.DataFrame
    level: float


def correlate(comparison: Comparison, *, trials: int = TRIALS, seed: int = 1) -> Correlations:
    """Correlate each two systems over the dyes that both moved.

    Parameters
    ----------
    comparison : Comparison
        From `lanewise.compare`.
    trials : int
        Trials behind ``u_value``; sources that dyes share are drawn once for all.
    seed : int
        Same seed, same result.

    Returns
    -------
    Correlations
        A coefficient is nan with fewer than two dyes. The finding is ``much the same order`` where Spearman's
        coefficient is at least 0.8, ``another order`` where it is below 0.5, else ``partly the same order``; it adds
        ``of other dyes not sure`` where the interval reaches below 0.5, or beyond 0.8. The limits are ours (no source).

    Notes
    -----
    R_M stretches the ends of the run; ranks are the same on both scales, so that Spearman's and Kendall's coefficients
    stand once, under ``rf``. Two systems that sort the dyes alike leave the plane of both empty beside a line, and a
    second run adds nothing.
    """
    means = comparison.means
    drawn = draw(means.rf, trials, seed) if len(means.rf) else np.zeros((trials, 0))
    sides = {(row["dye"], row["system"]): row for row in comparison.dyes.to_dict("records")}
    names = list(dict.fromkeys(comparison.dyes["dye"]))
    rows: list[dict[str, Any]] = []
    planes: list[dict[str, Any]] = []
    for a, b in combinations(comparison.systems, 2):
        both = [(sides[name, a], sides[name, b]) for name in names]
        valued = [pair for pair in both if {pair[0]["state"], pair[1]["state"]} <= set(VALUED)]
        seen = [pair for pair in both if {pair[0]["state"], pair[1]["state"]} <= {*VALUED, *CENSORED}]
        cells = [[means.cell(side["dye"], side["system"]) for side in pair] for pair in valued]
        index = np.array(cells, dtype=int).reshape(-1, 2)
        x, y = (means.rf.values[index[:, side]] for side in (0, 1))
        trial = (drawn[:, index[:, 0]], drawn[:, index[:, 1]])
        head = {"system_a": a, "system_b": b}
        found = list(_coefficients(x, y, trial, seen, comparison.level))
        rows += [head | row for row in found]
        order = next(row for row in found if row["kind"] == "spearman")
        planes.append(head | _plane(x, y) | {"finding": _finding(order)})
    return Correlations(pd.DataFrame(rows), pd.DataFrame(planes), comparison.level)


def _coefficients(
    x: Floats, y: Floats, trial: tuple[Floats, Floats], seen: list[Any], level: float
) -> Iterator[dict[str, Any]]:
    yield _row("rf", pearson(x, y, level), 0, pearson_rows(*trial)) if len(x) > 1 else _none("rf", "pearson", len(x))
    logs = [_r_m(side) for side in (x, y, *trial)]
    if len(x) > 1:
        yield _row("r_m", pearson(logs[0], logs[1], level), 0, pearson_rows(logs[2], logs[3]))
        yield _row("rf", spearman(x, y, level), 0, pearson_rows(ranks(trial[0]), ranks(trial[1])))
    else:
        yield _none("r_m", "pearson", len(x))
        yield _none("rf", "spearman", len(x))
    if len(seen) > 1:
        ends = [_ends(seen, side, end) for side in (0, 1) for end in ("rf_low", "rf_high")]
        limited = len(seen) - len(x)
        scatter = kendall_rows(trial[0], trial[1], *trial) if not limited else np.full(2, np.nan)
        yield _row("rf", kendall(ends[0], ends[2], ends[1], ends[3], level), limited, scatter)
    else:
        yield _none("rf", "kendall", len(x))


def _ends(seen: list[Any], side: int, end: str) -> Floats:
    """Values as they are, bounds as the ends they leave."""
    return np.array([pair[side]["rf"] if pair[side]["state"] in VALUED else pair[side][end] for pair in seen])


def _row(scale: str, found: Correlation, limited: int, trials: Floats) -> dict[str, Any]:
    u = float(np.nanstd(trials, ddof=1)) if np.isfinite(trials).sum() > 1 else float("nan")
    numbers = {"value": found.value, "low": found.low, "high": found.high, "u_value": u}
    return {"scale": scale, "kind": found.kind, "dyes": found.n - limited, "limited": limited} | numbers


def _none(scale: str, kind: str, dyes: int) -> dict[str, Any]:
    blank = dict.fromkeys(("value", "low", "high", "u_value"), float("nan"))
    return {"scale": scale, "kind": kind, "dyes": dyes, "limited": 0} | blank


def _r_m(rf: Floats) -> Floats:
    inside = np.clip(rf, NEARLY, 1.0 - NEARLY)
    return np.asarray(np.log10(1.0 / inside - 1.0))


def _plane(x: Floats, y: Floats) -> dict[str, Any]:
    n = len(x)
    if n < 2:
        return {"dyes": n} | dict.fromkeys(("area", "nearest", "closest"), float("nan"))
    apart = np.hypot(x[:, None] - x[None, :], y[:, None] - y[None, :])
    np.fill_diagonal(apart, np.inf)
    nearest = apart.min(axis=1)
    return {"dyes": n, "area": outline_area(x, y), "nearest": float(nearest.mean()), "closest": float(nearest.min())}


def outline_area(x: Floats, y: Floats) -> float:
    """Area within the outline (convex hull) of points in the plane of two Rf; 0 below three points or on one line.

    Examples
    --------
    >>> float(outline_area(np.array([0.2, 0.8, 0.2, 0.4]), np.array([0.2, 0.2, 0.8, 0.4])).__round__(3))
    0.18
    """
    from scipy.spatial import ConvexHull, QhullError

    if len(x) < 3:
        return 0.0
    try:
        return float(ConvexHull(np.stack([x, y], axis=1)).volume)
    except QhullError:
        return 0.0


def _finding(order: dict[str, Any]) -> str:
    """Say how alike the order of these dyes is, and whether that can be said of others like them."""
    value, low, high = order["value"], order["low"], order["high"]
    if np.isnan(value):
        return TOO_FEW
    if value >= ALIKE:
        return SAME if low > UNLIKE else f"{SAME}{NOT_SURE}"
    if value < UNLIKE:
        return OTHER if high < ALIKE else f"{OTHER}{NOT_SURE}"
    return PARTLY

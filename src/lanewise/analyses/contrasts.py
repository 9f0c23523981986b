"""Two systems against each other over all their dyes: tests, equivalence, effect sizes, corrected for their number.

Two questions are kept apart. Did *this* dye run farther in one system: that is answered from the uncertainty of its own
two means. Do dyes *in general* run farther there: that is answered from the scatter between the dyes, which stand for
others like them.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.compare import CENSORED, VALUED, Comparison
from lanewise.errors import AnalysisError
from lanewise.stats.multiple import holm
from lanewise.stats.paired import equivalence_p, paired_t, sign_test_p, signed_rank, two_sided_p
from lanewise.uncertainty.budget import coverage_factor, effective_dof
from lanewise.uncertainty.measured import Measured

MARGIN = 0.05
"""Difference of Rf from which two round spots are told apart by eye (common practice, no source)."""

DIFFERS, ALIKE, BOTH, OPEN = "differs", "alike within the margin", "differs, within the margin", "not shown"
BY_BOUND = ", by its bound"


@dataclass(frozen=True, eq=False)
class Contrasts:
    """What tests say of each two systems, dye by dye and over all dyes.

    Attributes
    ----------
    dyes : DataFrame
        One row for each dye and two systems: dye, system_a, system_b, delta_rf (b minus a), u_delta_rf, dof, low, high,
        p, p_holm, p_alike, p_alike_holm, finding. p is two-sided against no difference, p_alike against a difference
        of the margin or more; both are nan where one side is a bound, and the finding then rests on the bounds alone.
    systems : DataFrame
        One row for each two systems. ``dyes`` with a value on both sides, ``limited`` of which a bound tells the sign,
        ``left_out`` of which nothing tells it. ``mean`` of the differences with ``u_mean``, ``mean_low``, ``mean_high``
        and ``p_mean``: these dyes on these plates, with what their readings and plates share. ``least`` and ``most``:
        between what the mean lies when the dyes with bounds are counted too. ``t``, ``t_dof``, ``t_low``, ``t_high``,
        ``p_t``, ``p_t_holm``, ``d_z``, ``d_z_low``, ``d_z_high``: dyes like these. ``p_alike``, ``p_alike_holm``: that
        their mean lies within the margin. ``w_plus``, ``w_minus``, ``p_rank``, ``p_rank_holm``, ``rank_biserial``,
        ``shift``, ``shift_low``, ``shift_high`` and ``p_sign``: by ranks and by signs, with bounds.
    margin : float
        Difference of Rf below which two systems are called alike. [1]
    level : float
        Coverage probability of the intervals; a finding holds at one less it, corrected for the number of tests.
    """

    dyes: pd.DataFrame
    systems: pd.DataFrame
    margin: float
    level: float


def contrast(comparison: Comparison, *, margin: float = MARGIN) -> Contrasts:
    """Test each two systems of a comparison against each other.

    Parameters
    ----------
    comparison : Comparison
        From `lanewise.compare`.
    margin : float
        Difference of Rf, above 0 and below 1, that does not matter: equivalence is tested against it. [1]

    Returns
    -------
    Contrasts
        Spots at the origin or with the front are never turned into numbers. Their bounds may tell the sign of a
        difference, and then they enter the signed ranks and the signs as values known only within limits; the t test
        leaves them out, says how many, and gives the limits between which they leave the mean.

    Raises
    ------
    AnalysisError
        If the margin is not between 0 and 1.

    Notes
    -----
    P values are corrected by Holm's method: those of dyes over all dyes and systems, those of systems over all pairs
    of systems. Without repeated plates the p values of dyes rest on reading errors alone.

    Examples
    --------
    >>> import pandas as pd
    >>> from lanewise.analyses.compare import compare
    >>> from lanewise.analyses.measure import measure
    >>> marks = pd.DataFrame({"plate": list("PPPQQQ"), "system": list("AAABBB"), "lane": list("123123"),
    ...     "sample": ["red", "blue", "green"] * 2, "front_mm": 80.0, "centre_mm": [20.0, 32, 48, 30, 43, 60]})
    >>> found = contrast(compare(measure(marks)))
    >>> found.dyes["finding"].tolist(), [round(float(found.systems[name][0]), 3) for name in ("mean", "p_t")]
    (['differs', 'differs', 'differs'], [0.137, 0.003])
    """
    if not 0.0 < margin < 1.0:
        raise AnalysisError(f"margin: wanted a difference of Rf between 0 and 1, given {margin}. Choose 0.05, say.")
    sides = comparison.dyes.set_index(["dye", "system"])["state"].to_dict()
    rows = comparison.differences
    gaps, valued = _gaps(comparison)
    dof = np.full(len(rows), np.nan)
    dof[valued] = effective_dof(gaps)
    dyes = _dye_table(rows, sides, dof, margin, comparison.level)
    place = np.cumsum(valued) - 1  # among the rows that have a value
    made = [
        _two_systems(rows, gaps[place[rows.index[rows["delta_rf"].notna()]]], margin, comparison.level)
        for _, rows in dyes.groupby(["system_a", "system_b"], sort=False)
    ]
    systems = pd.DataFrame(made)
    for name in ("p_t", "p_alike", "p_rank"):
        systems.insert(list(systems).index(name) + 1, f"{name}_holm", holm(systems[name]))
    return Contrasts(dyes.drop(columns=["bounded"]), systems, margin, comparison.level)


def _gaps(comparison: Comparison) -> tuple[Measured, np.ndarray[tuple[int], np.dtype[np.bool_]]]:
    """Give the differences that have a value with their sources, and which rows they are."""
    means, rows = comparison.means, comparison.differences
    valued = rows["delta_rf"].notna().to_numpy()
    some = rows[valued]
    first, second = (
        np.array([means.cell(dye, system) for dye, system in zip(some["dye"], some[name], strict=True)], dtype=int)
        for name in ("system_a", "system_b")
    )
    return means.rf[second] - means.rf[first], valued


def _dye_table(
    rows: pd.DataFrame,
    sides: Mapping[Hashable, Any],
    dof: np.ndarray[tuple[int], np.dtype[np.float64]],
    margin: float,
    level: float,
) -> pd.DataFrame:
    value, u = (rows[name].to_numpy(dtype=float) for name in ("delta_rf", "u_delta_rf"))
    used = np.where(np.isnan(dof), np.inf, dof)
    states = [
        {sides[dye, a], sides[dye, b]}
        for dye, a, b in zip(rows["dye"], rows["system_a"], rows["system_b"], strict=True)
    ]
    bounded = np.array([bool(state & set(CENSORED)) and state <= {*VALUED, *CENSORED} for state in states], dtype=bool)
    p, alike = two_sided_p(value, u, used), equivalence_p(value, u, margin, used)
    table = rows[["dye", "system_a", "system_b", "delta_rf", "u_delta_rf"]].reset_index(drop=True)
    table["dof"] = dof
    table[["low", "high"]] = rows[["low", "high"]].to_numpy(dtype=float)
    table["p"], table["p_holm"] = p, holm(p)
    table["p_alike"], table["p_alike_holm"] = alike, holm(alike)
    table["bounded"] = bounded
    table["finding"] = [_finding(row, margin, 1.0 - level) for row in table.to_dict("records")]
    return table


def _finding(row: Mapping[Hashable, Any], margin: float, alpha: float) -> str:
    if row["bounded"]:
        if row["low"] > 0 or row["high"] < 0:
            return DIFFERS + BY_BOUND
        return ALIKE + BY_BOUND if -margin < row["low"] and row["high"] < margin else OPEN
    differs, alike = row["p_holm"] < alpha, row["p_alike_holm"] < alpha
    return BOTH if differs and alike else DIFFERS if differs else ALIKE if alike else OPEN


def _two_systems(rows: pd.DataFrame, gaps: Measured, margin: float, level: float) -> dict[str, Any]:
    """Everything that is said of two systems over their dyes."""
    values = rows.loc[rows["delta_rf"].notna(), "delta_rf"].to_numpy(dtype=float)
    bounds = rows.loc[rows["bounded"], ["low", "high"]].to_numpy(dtype=float)
    low, high = (np.concatenate([values, bounds[:, end]]) for end in (0, 1))
    t, rank = paired_t(values, level), signed_rank(low, high, level=level)
    alike = equivalence_p([t.mean], [t.sd / np.sqrt(t.n) if t.n else np.nan], margin, max(t.n - 1.0, 1.0))
    both = [end.mean() if len(end) else np.nan for end in (low, high)]
    found = {"system_a": rows["system_a"].iloc[0], "system_b": rows["system_b"].iloc[0], "dyes": t.n}
    found |= {"limited": rank.limited, "left_out": len(rows) - t.n - rank.limited}
    found |= dict(_mean(gaps, level)) | {"least": float(both[0]), "most": float(both[1])}
    found |= {"t": t.t, "t_dof": t.dof, "t_low": t.low, "t_high": t.high, "sd": t.sd, "p_t": t.p}
    found |= {"d_z": t.d_z, "d_z_low": t.d_z_low, "d_z_high": t.d_z_high, "p_alike": float(alike[0])}
    found |= {"w_plus": rank.w_plus, "w_minus": rank.w_minus, "p_rank": rank.p, "rank_biserial": rank.rank_biserial}
    found |= {"shift": rank.shift, "shift_low": rank.shift_low, "shift_high": rank.shift_high}
    return found | {"p_sign": sign_test_p(int((low > 0).sum()), int((high < 0).sum()))}


def _mean(gaps: Measured, level: float) -> Iterator[tuple[str, float]]:
    """Mean of the differences of these dyes, with what their lines and plates share."""
    if not len(gaps):
        yield from dict.fromkeys(("mean", "u_mean", "mean_low", "mean_high", "p_mean"), float("nan")).items()
        return
    mean = gaps.combined(np.full(len(gaps), 1.0 / len(gaps)))
    value, u, dof = float(mean.values[0]), float(mean.u[0]), effective_dof(mean)
    reach = u * float(coverage_factor(dof, level)[0])
    yield from (("mean", value), ("u_mean", u), ("mean_low", value - reach), ("mean_high", value + reach))
    yield "p_mean", float(two_sided_p([value], [u], dof)[0])

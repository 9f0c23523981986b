"""Paired differences: t, equivalence, signed ranks with values known only within limits, and effect sizes."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

DUST = 1e-9
MOST_WALSH = 2_000  # differences up to which the averages of each two of them are formed


@dataclass(frozen=True, slots=True)
class PairedT:
    """What the t test says of n differences.

    Attributes
    ----------
    n : int
        Differences that entered.
    mean, sd : float
        Mean and standard deviation of the differences.
    t, dof, p : float
        Statistic, degrees of freedom and two-sided p value against a mean of zero.
    low, high : float
        Ends of the interval of the mean.
    d_z, d_z_low, d_z_high : float
        Standardised mean difference, mean over standard deviation, with its interval.
    """

    n: int
    mean: float
    sd: float
    t: float
    dof: float
    p: float
    low: float
    high: float
    d_z: float
    d_z_low: float
    d_z_high: float


@dataclass(frozen=True, slots=True)
class SignedRank:
    """What the signed rank test says of differences of which some are known only within limits.

    Attributes
    ----------
    n : int
        Differences with a known sign.
    limited : int
        Those among them that are known only within limits.
    left_out : int
        Differences of zero, or whose sign the limits do not tell.
    w_plus, w_minus : float
        Sums of the ranks of the positive and of the negative differences.
    p : float
        Two-sided p value, exact given the ranks; nan without differences.
    rank_biserial : float
        (w_plus - w_minus) over their sum, -1 to 1; nan without differences.
    shift, shift_low, shift_high : float
        Median of the averages of each two differences, and its interval; nan where one is known only within limits,
        and the ends where there are too few differences for an interval of that level.
    """

    n: int
    limited: int
    left_out: int
    w_plus: float
    w_minus: float
    p: float
    rank_biserial: float
    shift: float
    shift_low: float
    shift_high: float


def paired_t(differences: ArrayLike, level: float = 0.95) -> PairedT:
    """Test paired differences against a mean of zero with Student's t.

    Parameters
    ----------
    differences : array of shape (N,)
        Finite differences, in any unit.
    level : float
        Coverage probability of the intervals, between 0 and 1.

    Returns
    -------
    PairedT
        nan throughout for fewer than two differences but for their mean. Where all are equal, t is infinite and p zero,
        or nan where they are all zero.

    References
    ----------
    t = mean / (sd / sqrt n) with n - 1 degrees of freedom: common to all textbooks. Interval of the standardised
    difference by the non-central t distribution (Cumming and Finch 2001, from memory).

    Examples
    --------
    >>> found = paired_t([0.02, 0.04, 0.03, 0.05])
    >>> round(found.t, 3), found.dof, round(found.p, 4), round(found.d_z, 2)
    (5.422, 3.0, 0.0123, 2.71)
    """
    from scipy.special import stdtr, stdtrit

    values = np.asarray(differences, dtype=float)
    n, nan = len(values), float("nan")
    mean = float(values.mean()) if n else nan
    if n < 2:
        return PairedT(n, mean, *[nan] * 9)
    sd, dof = float(values.std(ddof=1)), float(n - 1)
    if sd <= DUST * max(1e-300, float(np.abs(values).max())):
        t = nan if mean == 0 else float(np.copysign(np.inf, mean))
        return PairedT(n, mean, 0.0, t, dof, nan if mean == 0 else 0.0, mean, mean, t, nan, nan)
    t = mean / (sd / np.sqrt(n))
    reach = float(stdtrit(dof, (1.0 + level) / 2.0)) * sd / np.sqrt(n)
    low, high = noncentral_ends(t, dof, level)
    return PairedT(
        n, mean, sd, float(t), dof, float(2.0 * stdtr(dof, -abs(t))), mean - reach, mean + reach,
        mean / sd, low / np.sqrt(n), high / np.sqrt(n),
    )  # fmt: skip


def noncentral_ends(t: float, dof: float, level: float = 0.95) -> tuple[float, float]:
    """Ends of the interval of the noncentrality behind a t value: where t is a quantile of either tail.

    Examples
    --------
    >>> low, high = noncentral_ends(2.0, 9.0)
    >>> round(low, 3), round(high, 3)
    (-0.206, 4.116)
    """
    from scipy.special import nctdtrinc

    tail = (1.0 - level) / 2.0
    return float(nctdtrinc(dof, 1.0 - tail, t)), float(nctdtrinc(dof, tail, t))


def two_sided_p(estimate: ArrayLike, u: ArrayLike, dof: ArrayLike = np.inf) -> Floats:
    """Two-sided p value of estimates against zero, from their standard uncertainties.

    Parameters
    ----------
    estimate, u : arrays of shape (N,)
        Estimates and standard uncertainties, in one unit; a p value is nan where either is nan, 0 where u is zero and
        the estimate is not.
    dof : float or array of shape (N,)
        Degrees of freedom of u.

    Returns
    -------
    array of shape (N,)

    Examples
    --------
    >>> two_sided_p([0.03, 0.0], [0.01, 0.01], 5).round(4).tolist()
    [0.0301, 1.0]
    """
    estimate = np.asarray(estimate, dtype=float)
    return 2.0 * _tail(-np.abs(estimate), np.asarray(u, dtype=float), np.asarray(dof, dtype=float))


def equivalence_p(estimate: ArrayLike, u: ArrayLike, margin: float, dof: ArrayLike = np.inf) -> Floats:
    """P value of two one-sided tests that an estimate lies within a margin of zero.

    Parameters
    ----------
    estimate, u : arrays of shape (N,)
        Estimates and standard uncertainties, in one unit.
    margin : float
        Largest difference, above zero, that does not matter.
    dof : float or array of shape (N,)
        Degrees of freedom of u.

    Returns
    -------
    array of shape (N,)
        The larger of the two one-sided p values: small where both limits are excluded.

    Raises
    ------
    ValueError
        If the margin is not above zero.

    References
    ----------
    Schuirmann 1987 (from memory): the interval of coverage 1 - 2 alpha lies within the margin exactly where p < alpha.

    Examples
    --------
    >>> equivalence_p([0.01, 0.04], [0.01, 0.01], 0.05, 10).round(4).tolist()
    [0.0013, 0.1704]
    """
    if not margin > 0.0:
        raise ValueError(f"wanted a margin above zero, given {margin}")
    estimate, u, dof = (np.asarray(item, dtype=float) for item in (estimate, u, dof))
    return np.maximum(_tail(-(margin + estimate), u, dof), _tail(-(margin - estimate), u, dof))


def signed_rank(
    low: ArrayLike, high: ArrayLike | None = None, *, resolution: float = DUST, level: float = 0.95
) -> SignedRank:
    """Test paired differences by signed ranks; some of them may be known only within limits.

    Parameters
    ----------
    low : array of shape (N,)
        Differences, or the lower limits of those that are known only within limits.
    high : array of shape (N,), optional
        Upper limits; equal to `low` where a difference is known. Without it all are.
    resolution : float
        Differences are rounded to a multiple of it before they are ranked, so that binary dust breaks no tie.
    level : float
        Coverage probability of the interval of the shift.

    Returns
    -------
    SignedRank
        A difference of zero, or one whose limits hold zero, is left out and counted.

    Notes
    -----
    The rank of a magnitude is one half plus the number of magnitudes that are surely smaller, plus half of those that
    cannot be told from it, itself among them: with known values these are the usual mid-ranks, with limits those of
    Gehan's scores. Under the hypothesis that the two sides could be exchanged within every pair each sign is as likely
    as the other whatever the magnitudes and limits are, so the distribution of the sum of ranks over all signs is
    exact, ties and limits included. The exchange must hold for the limits too: both sides have to be limited in the
    same way.

    References
    ----------
    Wilcoxon 1945; Gehan 1965 for the scores; Hodges and Lehmann 1963 for the shift (all from memory).

    Examples
    --------
    Three known differences, and one that is known to be larger than 0.2:

    >>> found = signed_rank([0.03, 0.05, -0.01, 0.2], [0.03, 0.05, -0.01, 1.0])
    >>> found.w_plus, found.w_minus, found.p, found.limited
    (9.0, 1.0, 0.25, 1)
    """
    ends = [np.round(np.asarray(low if end is None else end, dtype=float) / resolution) for end in (low, high)]
    below, above = (end * resolution for end in ends)
    known = (below > 0.0) | (above < 0.0)
    sign = np.where(below[known] > 0.0, 1, -1)
    magnitudes = np.sort(np.abs(np.stack([below[known], above[known]])), axis=0)
    smaller, larger = magnitudes
    surely = larger[None, :] < smaller[:, None]  # j smaller than i
    ranks = 0.5 + surely.sum(axis=1) + 0.5 * (~surely & ~surely.T).sum(axis=1)
    doubled = np.round(2.0 * ranks).astype(np.int64)
    plus, minus = float(ranks[sign > 0].sum()), float(ranks[sign < 0].sum())
    n, limited = int(known.sum()), int((larger > smaller).sum())
    shift = (np.nan,) * 3 if limited or not n else _shift(below[known], level)
    return SignedRank(
        n, limited, len(known) - n, plus, minus, _exact_p(doubled, round(2.0 * plus)),
        (plus - minus) / (plus + minus) if n else float("nan"), *shift,
    )  # fmt: skip


def sign_test_p(positive: int, negative: int) -> float:
    """Two-sided p value of the sign test: signs alone, which limits may tell as well as values.

    Examples
    --------
    >>> sign_test_p(8, 1)
    0.0390625
    """
    from scipy.special import bdtr

    n = positive + negative
    return min(1.0, 2.0 * float(bdtr(min(positive, negative), n, 0.5))) if n else float("nan")


def _tail(distance: Floats, u: Floats, dof: Floats) -> Floats:
    """Lower tail of Student's t at a distance over its uncertainty."""
    from scipy.special import ndtr, stdtr

    with np.errstate(divide="ignore", invalid="ignore"):
        t = np.where(u > 0.0, distance / u, np.where(distance == 0.0, 0.0, np.copysign(np.inf, distance)))
        t = np.where(np.isnan(u) | np.isnan(distance), np.nan, t)
        tail = np.where(np.isinf(dof), ndtr(t), stdtr(np.where(np.isinf(dof), 1.0, dof), t))
    return np.asarray(tail, dtype=float)


def _null(doubled: NDArray[np.int64]) -> Floats:
    """Probability of each value of the sum over positive signs, for ranks that are given twofold."""
    chance = np.ones(1)
    for rank in doubled:
        longer = np.zeros(len(chance) + int(rank))
        longer[: len(chance)] += 0.5 * chance
        longer[int(rank) :] += 0.5 * chance
        chance = longer
    return chance


def _exact_p(doubled: NDArray[np.int64], plus: int) -> float:
    if not len(doubled):
        return float("nan")
    chance = _null(doubled)
    return float(min(1.0, 2.0 * min(chance[: plus + 1].sum(), chance[plus:].sum())))


def _shift(values: Floats, level: float) -> tuple[float, float, float]:
    """Hodges-Lehmann estimate with its interval from the ordered averages of each two differences."""
    n = len(values)
    if n > MOST_WALSH:
        return (float("nan"),) * 3
    first, second = np.triu_indices(n)
    walsh = np.sort((values[first] + values[second]) / 2.0)
    below = np.cumsum(_null(2 * np.arange(1, n + 1))[::2])
    cut = int(np.searchsorted(below, (1.0 - level) / 2.0 * (1.0 + 1e-12), side="right"))
    estimate = float(np.median(walsh))
    if cut == 0:
        return estimate, float("nan"), float("nan")
    return estimate, float(walsh[cut - 1]), float(walsh[len(walsh) - cut])

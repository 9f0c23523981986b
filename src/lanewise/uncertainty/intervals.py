"""Coverage intervals in closed form, for ratios and for quantities that cannot leave a range."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from lanewise.uncertainty.budget import check_level
from lanewise.uncertainty.sources import Floats

FAR = 5.0  # a bound this many standard uncertainties beyond the usual end moves it by less than 1e-7 of one


def bounded_multipliers(
    values: ArrayLike, u: ArrayLike, lower: ArrayLike, upper: ArrayLike, level: float = 0.95
) -> tuple[Floats, Floats]:
    """How many standard uncertainties below and above each value its shortest interval reaches, given bounds.

    The value is taken as normal about the estimate, and what is impossible is cut away: the quantity lies between
    `lower` and `upper` although the estimate may not. Far from the bounds both multipliers are 1.96 (at 95 %).

    Parameters
    ----------
    values, u : arrays of shape (N,)
        Estimates, which may lie outside the bounds, and their standard uncertainties (positive; where one is 0 or
        nan the bounds are not looked at).
    lower, upper : float or array of shape (N,)
        The bounds; either may be infinite.
    level : float
        Coverage probability, between 0 and 1.

    Returns
    -------
    below, above : arrays of shape (N,)
        The interval is value - below * u to value + above * u; an end that rests on a bound gives that bound, but
        for rounding. Outside the bounds one of the two is negative.

    Raises
    ------
    ValueError
        If the level is not between 0 and 1.

    References
    ----------
    Truncated-normal posterior with a uniform prior: Eurachem/CITAC QUAM:2012, appendix F (from memory).

    Examples
    --------
    An estimate of 0.005 with u = 0.010, of a quantity that cannot be negative, reaches from 0 to 0.023:

    >>> below, above = bounded_multipliers([0.005], [0.010], 0.0, 1.0)
    >>> below.round(3).tolist(), above.round(3).tolist()
    ([0.5], [1.817])
    """
    from scipy.special import log_ndtr, ndtr, ndtri, ndtri_exp

    check_level(level)
    x, s, low, high = (np.atleast_1d(item).astype(float) for item in np.broadcast_arrays(values, u, lower, upper))
    usual = float(ndtri((1.0 + level) / 2.0))
    below, above = np.full(x.shape, usual), np.full(x.shape, usual)
    with np.errstate(divide="ignore", invalid="ignore"):
        to_low, to_high = (x - low) / s, (high - x) / s  # in standard uncertainties; negative beyond the bound
        near = np.flatnonzero((s > 0) & (np.minimum(to_low, to_high) < usual + FAR))
    if not near.size:
        return below, above
    low_is_nearer = to_low[near] <= to_high[near]
    close = np.where(low_is_nearer, to_low[near], to_high[near])
    far = np.where(low_is_nearer, to_high[near], to_low[near])
    possible = ndtr(close) - ndtr(-far)
    half = -ndtri((1.0 - level * possible) / 2.0)
    # The share `level` of what is possible, counted from the nearer bound; by logarithms, for beyond it all is tiny.
    share = -np.expm1(log_ndtr(-far) - log_ndtr(close))
    from_bound = -ndtri_exp(log_ndtr(close) + np.log1p(-level * share))
    inside = half < close
    towards, away = np.where(inside, half, close), np.where(inside, half, from_bound)
    below[near] = np.where(low_is_nearer, towards, away)
    above[near] = np.where(low_is_nearer, away, towards)
    return below, above


def ratio_end(
    numerator: ArrayLike,
    denominator: ArrayLike,
    var_numerator: ArrayLike,
    var_denominator: ArrayLike,
    covariance: ArrayLike,
    multiplier: ArrayLike,
) -> Floats:
    """One end of the interval of a ratio of two normal quantities.

    The probability that N/D stays below r is that of N - r D staying below 0, a normal one; setting it to the wanted
    multiplier gives a quadratic for r. A negative multiplier gives the lower end, a positive one the upper end.

    Parameters
    ----------
    numerator, denominator : arrays of shape (N,)
        Estimates, of either sign; the denominator must be more than abs(multiplier) of its standard uncertainties
        from zero.
    var_numerator, var_denominator, covariance : arrays of shape (N,)
        Their variances and covariance.
    multiplier : array of shape (N,)
        Standard uncertainties from the estimate, signed.

    Returns
    -------
    array of shape (N,)
        The end; nan where the denominator is not shown to differ from zero, so that no such end exists.

    References
    ----------
    Fieller 1954 and Geary 1930 (names from memory; the algebra is derived in the tests).

    Examples
    --------
    A distance of 40 mm over one of 80 mm, each with u = 0.25 mm and independent:

    >>> round(float(ratio_end(40.0, 80.0, 0.0625, 0.0625, 0.0, -1.959964)), 6)
    0.493171
    """
    n, d, t = (np.asarray(item, dtype=float) for item in (numerator, denominator, multiplier))
    vn, vd, c = (np.asarray(item, dtype=float) for item in (var_numerator, var_denominator, covariance))
    square = t * t
    a = d * d - square * vd
    b = n * d - square * c
    # The root b*b - a*(n*n - t*t*vn), written out so that nothing cancels for small uncertainties.
    root = vn * d * d - 2.0 * c * n * d + vd * n * n - square * (vn * vd - c * c)
    with np.errstate(invalid="ignore", divide="ignore"):
        end = (b + t * np.sqrt(np.maximum(root, 0.0))) / a
        return np.where(a > 0, end, np.nan)


def ratio_ends(
    ratio: Floats,
    u: Floats,
    denominator: Floats,
    var_numerator: Floats,
    var_denominator: Floats,
    covariance: Floats,
    multiplier: float,
) -> tuple[Floats, Floats]:
    """Both ends of the interval of a ratio, from the ratio and its first-order standard uncertainty.

    The same ends as two calls of `ratio_end`, at a third of the cost, for tables of many rows.

    Parameters
    ----------
    ratio, u : arrays of shape (N,)
        N/D and the standard uncertainty of first order.
    denominator, var_numerator, var_denominator, covariance : arrays of shape (N,)
        As in `ratio_end`.
    multiplier : float
        Standard uncertainties from the estimate, positive.

    Returns
    -------
    low, high : arrays of shape (N,)
        Ends; nan where the denominator is not shown to differ from zero.
    """
    with np.errstate(invalid="ignore", divide="ignore", over="ignore"):
        per = 1.0 / (denominator * denominator)
        share = (multiplier * multiplier) * per
        a = 1.0 - share * var_denominator
        a = 1.0 / (a if a.min(initial=1.0) > 0.0 else np.where(a > 0.0, a, np.nan))
        middle = (ratio - share * covariance) * a
        spread = var_numerator * var_denominator - covariance * covariance
        half = multiplier * np.sqrt(np.maximum(u * u - share * per * spread, 0.0)) * a
    return middle - half, middle + half


def ratio_interval(
    numerator: ArrayLike,
    denominator: ArrayLike,
    var_numerator: ArrayLike,
    var_denominator: ArrayLike,
    covariance: ArrayLike,
    *,
    lower: float = -np.inf,
    upper: float = np.inf,
    level: float = 0.95,
) -> tuple[Floats, Floats]:
    """Interval of a ratio of two normal quantities that lies between bounds, though its estimate may not.

    `ratio_end` with the multipliers of `bounded_multipliers`, the distance of each bound being measured on the
    ratio's own scale: (N - bound D) over its standard uncertainty. So the interval stays within the bounds, and an
    end that rests on a bound is that bound exactly. (First-order distances, (ratio - bound) / u, are a little
    longer than these and would let the interval out.)

    Parameters
    ----------
    numerator, denominator, var_numerator, var_denominator, covariance : arrays of shape (N,)
        As in `ratio_end`.
    lower, upper : float
        The bounds of the ratio.
    level : float
        Coverage probability, between 0 and 1.

    Returns
    -------
    low, high : arrays of shape (N,)
        Ends; nan where the denominator is not shown to differ from zero and no bound holds.

    Raises
    ------
    ValueError
        If the level is not between 0 and 1.

    Examples
    --------
    A spot read 0.2 mm behind the origin, the front 80 mm in front of it, each reading with u = 0.25 mm:

    >>> low, high = ratio_interval([-0.2], [80.0], [0.125], [0.125], [0.0625], lower=0.0, upper=1.0)
    >>> low.tolist(), high.round(4).tolist()
    ([0.0], [0.0071])
    """
    n, d, vn, vd, c = np.broadcast_arrays(
        *(
            np.atleast_1d(np.asarray(item, dtype=float))
            for item in (numerator, denominator, var_numerator, var_denominator, covariance)
        )
    )
    to_low, to_high = _distance(n, d, vn, vd, c, lower), _distance(-n, d, vn, vd, -c, -upper)
    below, above = bounded_multipliers(0.0, 1.0, -to_low, to_high, level)
    low, high = ratio_end(n, d, vn, vd, c, -below), ratio_end(n, d, vn, vd, c, above)
    return np.where(below == to_low, lower, low), np.where(above == to_high, upper, high)


def _distance(n: Floats, d: Floats, vn: Floats, vd: Floats, c: Floats, lower: float) -> Floats:
    """Standard uncertainties from a lower bound up to n / d; infinite without a bound or without uncertainty."""
    distance = np.full(n.shape, np.inf)
    if np.isfinite(lower):
        u = np.sqrt(np.maximum(vn - 2.0 * lower * c + lower**2 * vd, 0.0))
        np.divide(np.sign(d) * (n - lower * d), u, out=distance, where=u > 0.0)
    return distance

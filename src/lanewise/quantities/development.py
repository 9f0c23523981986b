"""Several developments of one sheet in the same direction, dried in between.

While the front passes from the spot to the top, the spot makes Rf of the way that is left; everything
here follows from that one sentence. It holds for a dry layer, the same solvent and the same vapour in each run.
"""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from lanewise.quantities._elementwise import Values, quietly


@quietly
def rf_after(rf: Values, n: Values) -> Values:
    """Apparent Rf after n developments over the same distance.

    Parameters
    ----------
    rf : float or array, shapes that broadcast
        Retardation factor in a single development, 0 to 1. [1]
    n : float or array, shapes that broadcast
        Number of developments, 0 or more; planning may use fractions. [1]

    Returns
    -------
    float or array of the broadcast shape
        Distance from the origin after n developments over the run length. [1]

    Notes
    -----
    1 - (1 - Rf)^n. It is not comparable with a single-run Rf, so n is to be recorded. A spot at the origin stays at
    0, one with the front at 1. An Rf above 1 gives nan for a fractional n.

    References
    ----------
    Derived in closed form from z(i) = z(i-1) + Rf (L - z(i-1)); the formula is standard (from memory).

    Examples
    --------
    >>> print(f"{rf_after(0.30, 2):.2f}")
    0.51
    """
    return 1.0 - np.float_power(1.0 - rf, n)


@quietly
def rf_single(rf_n: Values, n: Values) -> Values:
    """Single-run Rf that belongs to an apparent Rf after n developments.

    Parameters
    ----------
    rf_n : float or array, shapes that broadcast
        Apparent Rf after n developments over the same distance, 0 to 1. [1]
    n : float or array, shapes that broadcast
        Number of developments, 1 or more. [1]

    Returns
    -------
    float or array of the broadcast shape
        Retardation factor in one development, 0 to 1. [1]

    Notes
    -----
    1 - (1 - Rf(n))^(1/n), the inverse of `rf_after`. The closer to the front, the less is left of the difference
    between single-run values: an apparent Rf of 1 gives 1, which is only a bound, as is 0 for a spot at the origin.
    With n = 0 the result has no meaning.

    References
    ----------
    `rf_after`, solved for Rf.

    Examples
    --------
    >>> print(f"{rf_single(0.51, 2):.2f}")
    0.30
    """
    return 1.0 - np.float_power(1.0 - rf_n, np.divide(1.0, n))


@quietly
def position_after(rf: Values, distances: Iterable[Values], start: Values = 0.0) -> Values:
    """Distance of a spot from the origin after developments of different lengths.

    Parameters
    ----------
    rf : float or array, shapes that broadcast
        Retardation factor in each of the developments, 0 to 1. [1]
    distances : iterable of float or array
        Distance of the front from the origin in each development, in order. [mm]
    start : float or array, shapes that broadcast, optional
        Distance of the spot from the origin before the first of them. Developments in different
        solvents are joined by it. [mm]

    Returns
    -------
    float or array of the broadcast shape
        Distance of the spot from the origin. [mm]

    Notes
    -----
    z(i) = z(i-1) + Rf max(L(i) - z(i-1), 0): a spot beyond the front of a run does not move. A spot at the origin
    stays there, one with the front ends at the longest run. Without any run the spot is where it started.

    References
    ----------
    Derived in closed form; the sentence at the head of this module, run by run.

    Examples
    --------
    >>> print(f"{position_after(0.30, [30.0, 45.0, 60.0]):.2f}")
    31.86
    """
    position = start
    for distance in distances:
        position = position + rf * np.maximum(distance - position, 0.0)
    return position


@quietly
def best_number(rf_slow: Values, rf_fast: Values) -> Values:
    """Number of developments after which two spots are farthest apart.

    Parameters
    ----------
    rf_slow, rf_fast : float or array, shapes that broadcast
        Retardation factors in a single development, 0 to 1. [1]

    Returns
    -------
    float or array of the broadcast shape
        Real number, above 0; of its two whole neighbours `gap_after` tells the better one. Below 1 for pairs that
        a single run already takes too far. [1]

    Notes
    -----
    n = ln[ln(1 - Rf(fast)) / ln(1 - Rf(slow))] / ln[(1 - Rf(slow)) / (1 - Rf(fast))], where the derivative of the
    gap with respect to n is zero. For a close pair n is about -1 / ln(1 - Rf), and the pair then sits near
    1 - 1/e = 0.632. A slower spot at the origin gives inf, since the gap then never stops growing; a faster one with
    the front gives nan, as do two equal Rf values.

    References
    ----------
    Derived in closed form; Thoma and others (from memory).

    Examples
    --------
    >>> print(f"{best_number(0.20, 0.25):.2f}")
    3.94
    """
    slow, fast = 0.0 - np.log1p(-rf_slow), 0.0 - np.log1p(-rf_fast)  # 0.0 -: a plain 0 for Rf 0, never -0.0
    return np.divide(np.log(np.divide(fast, slow)), fast - slow)


@quietly
def gap_after(rf_slow: Values, rf_fast: Values, n: Values) -> Values:
    """Gap between two spots after n developments over the same distance, as a share of the run.

    Parameters
    ----------
    rf_slow, rf_fast : float or array, shapes that broadcast
        Retardation factors in a single development, 0 to 1. [1]
    n : float or array, shapes that broadcast
        Number of developments, 0 or more. [1]

    Returns
    -------
    float or array of the broadcast shape
        Difference of the apparent Rf values, faster minus slower, 0 to 1. [1]

    Notes
    -----
    (1 - Rf(slow))^n - (1 - Rf(fast))^n. It grows up to `best_number` and shrinks beyond, as both spots gather at the
    front. A spot at the origin or with the front stays there.

    References
    ----------
    Difference of two `rf_after`.

    Examples
    --------
    >>> print(f"{gap_after(0.20, 0.25, 4):.4f}")
    0.0932
    """
    return np.float_power(1.0 - rf_slow, n) - np.float_power(1.0 - rf_fast, n)


@quietly
def reconcentrated_length(length: Values, rf: Values) -> Values:
    """Length of a spot along its lane after a front has crossed it from behind.

    Parameters
    ----------
    length : float or array, shapes that broadcast
        Length along the lane before. [mm]
    rf : float or array, shapes that broadcast
        Retardation factor, 0 to 1. [1]

    Returns
    -------
    float or array of the broadcast shape
        Length along the lane just after, before new broadening. [mm]

    Notes
    -----
    length (1 - Rf) for each crossing: the rear moves Rf times the length by the time the front reaches the leading
    edge. Only the length along the lane shrinks, so spots become bands across it. A spot at the origin (Rf 0) keeps
    its length; one with the front would shrink to nothing.

    References
    ----------
    Derived in closed form; the effect is known from the literature on multiple development (from memory).

    Examples
    --------
    >>> print(f"{reconcentrated_length(4.0, rf=0.30):.1f}")
    2.8
    """
    return length * (1.0 - rf)

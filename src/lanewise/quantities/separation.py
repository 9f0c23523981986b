"""How far two spots of one lane are apart: gap, separation factor, resolution, depth of the valley between them.

Slow is the spot nearer the origin, fast the one nearer the front; given the other way round, gaps and resolutions
come out negative and the separation factor below 1. Where a formula has no finite value it gives inf or nan without
a warning; the analyses turn that into bounds with a state.
"""

from __future__ import annotations

import numpy as np

from lanewise.quantities._derivatives import with_derivatives
from lanewise.quantities._elementwise import Values, quietly

_HALF_HEIGHT_FACTOR = np.sqrt(2.0 * np.log(2.0))
"""Half the width at half height of a Gaussian over its standard deviation, 1.177410; printed as 1.18."""


@with_derivatives(lambda rf_slow, rf_fast: (-1.0, 1.0))
@quietly
def delta_rf(rf_slow: Values, rf_fast: Values) -> Values:
    """Difference of two retardation factors, faster minus slower.

    Parameters
    ----------
    rf_slow, rf_fast : float or array, shapes that broadcast
        Retardation factors, 0 to 1. [1]

    Returns
    -------
    float or array of the broadcast shape
        Delta Rf, 0 to 1; in hundredths, 100 times that. [1]

    Notes
    -----
    delta Rf = Rf(fast) - Rf(slow). With one spot at the origin or with the front the difference is a bound, with
    both there it says nothing, though it is a plain 0.

    References
    ----------
    Common practice, no source.

    Examples
    --------
    >>> print(f"{delta_rf(0.40, 0.46):.2f}")
    0.06
    """
    return rf_fast - rf_slow


@with_derivatives(
    lambda rf_slow, rf_fast: (
        -rf_fast / (np.square(rf_slow) * (1 - rf_fast)),
        (1 - rf_slow) / (rf_slow * np.square(1 - rf_fast)),
    )
)
@quietly
def separation_factor(rf_slow: Values, rf_fast: Values) -> Values:
    """Separation factor alpha: ratio of two retention factors, slower over faster.

    Parameters
    ----------
    rf_slow, rf_fast : float or array, shapes that broadcast
        Retardation factors, 0 to 1. [1]

    Returns
    -------
    float or array of the broadcast shape
        alpha, 1 to inf. [1]

    Notes
    -----
    alpha = k(slow) / k(fast) = Rf(fast) (1 - Rf(slow)) / [Rf(slow) (1 - Rf(fast))], and
    log10 alpha = R_M(slow) - R_M(fast). Neither the ratio of two Rf values nor that of two distances is alpha.

    A slower spot at the origin or a faster one with the front gives inf, both spots at the same end nan, without a
    warning; the analyses turn these into a bound or a state.

    References
    ----------
    Ratio of retention factors: Ettre, Pure Appl. Chem. 65 (1993) 819 (from memory); in Rf by putting
    k = 1 / Rf - 1 into it.

    Examples
    --------
    >>> print(f"{separation_factor(0.40, 0.46):.4f}")
    1.2778
    """
    return np.divide(rf_fast * (1.0 - rf_slow), rf_slow * (1.0 - rf_fast))


@with_derivatives(
    lambda position_slow, position_fast, width_slow, width_fast: (
        -2 / (width_slow + width_fast),
        2 / (width_slow + width_fast),
        -2 * (position_fast - position_slow) / np.square(width_slow + width_fast),
        -2 * (position_fast - position_slow) / np.square(width_slow + width_fast),
    )
)
@quietly
def resolution(position_slow: Values, position_fast: Values, width_slow: Values, width_fast: Values) -> Values:
    """Resolution Rs from positions and base widths.

    Parameters
    ----------
    position_slow, position_fast : float or array, shapes that broadcast
        Positions of the two spots in one lane, from any common zero, counted towards the front. [mm]
    width_slow, width_fast : float or array, shapes that broadcast
        Widths at the base, 4 standard deviations of a Gaussian spot, along the lane. [mm]

    Returns
    -------
    float or array of the broadcast shape
        Rs, 0 to inf; from 1.0 usable by eye, from 1.5 "baseline" (common practice). [1]

    Notes
    -----
    Rs = 2 (position(fast) - position(slow)) / (width(slow) + width(fast)). Lengths of outlines drawn by eye
    are not 4 standard deviations: with them the result is an apparent resolution. Widths that add up to 0 give inf
    or nan, a spot at an end or a streak has no width of its own; the analyses turn these into a state.

    References
    ----------
    IUPAC Gold Book P04465 and, in distances, R05317, after Ettre, Pure Appl. Chem. 65 (1993) 819, p. 847.

    Examples
    --------
    >>> print(f"{resolution(32.0, 38.0, width_slow=4.0, width_fast=5.0):.2f}")
    1.33
    """
    return np.divide(2.0 * (position_fast - position_slow), width_slow + width_fast)


@with_derivatives(
    lambda position_slow, position_fast, width_slow, width_fast: (
        -_HALF_HEIGHT_FACTOR / (width_slow + width_fast),
        _HALF_HEIGHT_FACTOR / (width_slow + width_fast),
        -_HALF_HEIGHT_FACTOR * (position_fast - position_slow) / np.square(width_slow + width_fast),
        -_HALF_HEIGHT_FACTOR * (position_fast - position_slow) / np.square(width_slow + width_fast),
    )
)
@quietly
def resolution_half_height(
    position_slow: Values, position_fast: Values, width_slow: Values, width_fast: Values
) -> Values:
    """Resolution Rs from positions and widths at half height.

    Parameters
    ----------
    position_slow, position_fast : float or array, shapes that broadcast
        Positions of the two spots in one lane, from any common zero, counted towards the front. [mm]
    width_slow, width_fast : float or array, shapes that broadcast
        Widths at half height, along the lane. [mm]

    Returns
    -------
    float or array of the broadcast shape
        Rs, 0 to inf; the same as `resolution` for Gaussian spots. [1]

    Notes
    -----
    Rs = sqrt(2 ln 2) (position(fast) - position(slow)) / (width(slow) + width(fast)). The factor is 1.177410,
    printed as 1.18 in pharmacopoeias; the exact one is used here. Widths that add up to 0 give inf or nan, which
    the analyses turn into a state.

    References
    ----------
    European Pharmacopoeia 2.2.46 (the form with 1.18, from memory); the exact factor is half the width at half
    height of a Gaussian in standard deviations.

    Examples
    --------
    >>> print(f"{resolution_half_height(32.0, 38.0, width_slow=2.4, width_fast=2.9):.2f}")
    1.33
    """
    return np.divide(_HALF_HEIGHT_FACTOR * (position_fast - position_slow), width_slow + width_fast)


@quietly
def planar_resolution(rf_slow: Values, rf_fast: Values, plate_number: Values) -> Values:
    """Resolution to expect on a layer of constant plate height; an estimate for planning.

    Parameters
    ----------
    rf_slow, rf_fast : float or array, shapes that broadcast
        Retardation factors, 0 to 1. [1]
    plate_number : float or array, shapes that broadcast
        Plate number of the whole run, run length over plate height. [1]

    Returns
    -------
    float or array of the broadcast shape
        Rs, 0 to inf. [1]

    Notes
    -----
    Where the plate height H is the same for all spots and the applied spot has no width, a spot that ran d is
    4 sqrt(H d) wide at its base. Put into `resolution` for a run of length L = N H, that is

    Rs = (sqrt(N) / 4) (Rf(fast) - Rf(slow)) / [(sqrt(Rf(slow)) + sqrt(Rf(fast))) / 2]
    = (sqrt(N) / 2) (sqrt(Rf(fast)) - sqrt(Rf(slow))),

    exact within the model. A spot at the origin has no width in it, so real resolutions near Rf 0 are smaller; two
    spots at the same end give 0. An Rf below 0 gives nan.

    References
    ----------
    Derived in closed form as above from N = 16 (d / w)^2 and the definition of Rs.

    Examples
    --------
    >>> print(f"{planar_resolution(0.40, 0.46, plate_number=1000):.4f}")
    0.7238
    """
    return 0.5 * np.sqrt(plate_number) * (np.sqrt(rf_fast) - np.sqrt(rf_slow))


@quietly
def planar_resolution_approximate(rf_slow: Values, rf_fast: Values, plate_number: Values) -> Values:
    """Resolution to expect on a layer, in the form usually quoted; `planar_resolution` is the exact one.

    Parameters
    ----------
    rf_slow, rf_fast : float or array, shapes that broadcast
        Retardation factors, 0 to 1. [1]
    plate_number : float or array, shapes that broadcast
        Plate number of the whole run, run length over plate height. [1]

    Returns
    -------
    float or array of the broadcast shape
        Rs, 0 to inf; more than 10 % too high at Rf gaps of 0.05. [1]

    Notes
    -----
    Rs = (1/4) (alpha - 1) sqrt(N Rf(fast)) (1 - Rf(fast)), good for separation factors close to 1. It shows where
    the three levers are: selectivity, efficiency, place on the plate; sqrt(Rf) (1 - Rf) is largest at
    Rf 1/3. A slower spot at the origin gives inf, a faster one with the front nan, both at one end nan.

    References
    ----------
    Snyder; Poole: planar form of the resolution equation (from memory).

    Examples
    --------
    >>> print(f"{planar_resolution_approximate(0.40, 0.46, plate_number=1000):.4f}")
    0.8043
    """
    return 0.25 * (separation_factor(rf_slow, rf_fast) - 1.0) * np.sqrt(plate_number * rf_fast) * (1.0 - rf_fast)


@quietly
def gaussian_valley_to_peak(rs: Values) -> Values:
    """Depth of the valley to expect between two equal Gaussian spots.

    Parameters
    ----------
    rs : float or array
        Resolution, 0 to inf. [1]

    Returns
    -------
    float or array of the same shape
        Height half-way between the centres over the height at a centre, 1 (no valley) to 0. [1]

    Notes
    -----
    2 exp(-2 Rs^2) / (1 + exp(-8 Rs^2)), and 1 where that is larger: at Rs 0.5 and below there is no valley.
    Tops of overlapping spots lie a little inside the centres and are a little higher: at Rs 0.6 the ratio to
    the true top is 0.911 where the formula says 0.922, from Rs 0.75 on the two agree to 0.0005.

    References
    ----------
    Derived in closed form: two unit Gaussians 4 Rs standard deviations apart, added.

    Examples
    --------
    >>> print(f"{gaussian_valley_to_peak(1.0):.3f}")
    0.271
    """
    return np.minimum(np.divide(2.0 * np.exp(-2.0 * np.square(rs)), 1.0 + np.exp(-8.0 * np.square(rs))), 1.0)


@quietly
def gaussian_overlap(rs: Values) -> Values:
    """Share of each of two equal Gaussian spots that lies beyond the line half-way between them.

    Parameters
    ----------
    rs : float or array
        Resolution, 0 to inf. [1]

    Returns
    -------
    float or array of the same shape
        Share, 0.5 (one on the other) to 0. [1]

    Notes
    -----
    0.5 erfc(2 Rs / sqrt(2)): the tail of a Gaussian beyond 2 Rs standard deviations.

    References
    ----------
    Derived in closed form from the Gaussian integral.

    Examples
    --------
    >>> print(f"{gaussian_overlap(1.0):.4f}")
    0.0228
    """
    from scipy.special import erfc

    return 0.5 * erfc(np.sqrt(2.0) * rs)


@quietly
def valley_to_peak_ratio(valley_height: Values, peak_height: Values) -> Values:
    """Ratio of valley to peak, v/p, from measured heights.

    Parameters
    ----------
    valley_height : float or array, shapes that broadcast
        Height above the baseline of the lowest point between two spots, 0 or more. [any, the same for both]
    peak_height : float or array, shapes that broadcast
        Height above the baseline of the smaller of the two, above 0. [any, the same for both]

    Returns
    -------
    float or array of the broadcast shape
        v/p, 0 (separated to the baseline) to 1 (no valley). [1]

    Notes
    -----
    v/p = Hv / Hp. Its inverse is the peak-to-valley ratio of the pharmacopoeias, which is infinite
    where the valley reaches the baseline. A peak of no height gives inf or nan, which the analyses turn into a state.

    References
    ----------
    European Pharmacopoeia 2.2.46 (formula from memory).

    Examples
    --------
    >>> print(valley_to_peak_ratio(10.0, peak_height=40.0))
    0.25
    """
    return np.divide(valley_height, peak_height)


@quietly
def discrimination_factor(valley_height: Values, peak_height: Values) -> Values:
    """Discrimination factor d0: depth of the valley as a share of the smaller peak.

    Parameters
    ----------
    valley_height : float or array, shapes that broadcast
        Height above the baseline of the lowest point between two spots, 0 or more. [any, the same for both]
    peak_height : float or array, shapes that broadcast
        Height above the baseline of the smaller of the two, above 0. [any, the same for both]

    Returns
    -------
    float or array of the broadcast shape
        d0, 0 (no valley) to 1 (separated to the baseline). [1]

    Notes
    -----
    d0 = (Hp - Hv) / Hp = 1 - v/p. A peak of no height gives -inf or nan, which the analyses turn into a state.

    References
    ----------
    From memory, not checked against a source.

    Examples
    --------
    >>> print(discrimination_factor(10.0, peak_height=40.0))
    0.75
    """
    return np.divide(peak_height - valley_height, peak_height)

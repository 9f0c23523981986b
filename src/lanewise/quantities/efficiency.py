"""How narrow spots stay: plate number, plate height, and how many spots fit on a run.

Widths are along the lane. Where a formula has no finite value (no width, no distance) it gives inf or nan without
a warning; the analyses turn that into a state.
"""

from __future__ import annotations

import numpy as np

from lanewise.quantities._derivatives import with_derivatives
from lanewise.quantities._elementwise import Values, quietly

_EIGHT_LN_2 = 8.0 * np.log(2.0)
"""Square of the width at half height of a Gaussian in standard deviations, 5.545177; often printed 5.54."""


@with_derivatives(
    lambda distance, base_width: (
        32 * distance / np.square(base_width),
        -32 * np.square(distance) / (base_width * np.square(base_width)),
    )
)
@quietly
def plate_number(distance: Values, base_width: Values) -> Values:
    """Plate number of one spot from its width at the base.

    Parameters
    ----------
    distance : float or array, shapes that broadcast
        Distance of the spot from the origin. [mm]
    base_width : float or array, shapes that broadcast
        Width at the base, 4 standard deviations of a Gaussian spot. [mm]

    Returns
    -------
    float or array of the broadcast shape
        N of this spot, 0 to inf. [1]

    Notes
    -----
    N = 16 (distance / width)^2. The width of the applied spot counts in; subtract its variance first where it is
    known. A spot at the origin gives 0, a statement about nothing; no width gives inf or nan.
    The plate number of the whole run is `plate_number_of_run`.

    References
    ----------
    Ettre, Pure Appl. Chem. 65 (1993) 819 (column form, from memory); with distances as taught on plates.

    Examples
    --------
    >>> print(plate_number(40.0, base_width=5.0))
    1024.0
    """
    return 16.0 * np.square(np.divide(distance, base_width))


@quietly
def plate_number_half_height(distance: Values, half_height_width: Values) -> Values:
    """Plate number of one spot from its width at half height.

    Parameters
    ----------
    distance : float or array, shapes that broadcast
        Distance of the spot from the origin. [mm]
    half_height_width : float or array, shapes that broadcast
        Width at half height. [mm]

    Returns
    -------
    float or array of the broadcast shape
        N of this spot, 0 to inf; the same as `plate_number` for a Gaussian spot. [1]

    Notes
    -----
    N = 8 ln 2 (distance / width)^2, the factor being 5.545177 (often printed 5.54). Edges as for `plate_number`.

    References
    ----------
    European Pharmacopoeia 2.2.46 (the form with 5.54, from memory); the exact factor is the square of the width at
    half height of a Gaussian in standard deviations.

    Examples
    --------
    >>> print(f"{plate_number_half_height(40.0, half_height_width=3.0):.0f}")
    986
    """
    return _EIGHT_LN_2 * np.square(np.divide(distance, half_height_width))


@quietly
def plate_height(distance: Values, plate_number: Values) -> Values:
    """Plate height: length of layer for one plate.

    Parameters
    ----------
    distance : float or array, shapes that broadcast
        Distance that belongs to the plate number: of the spot from the origin for the N of a spot, the
        run length for the N of a run. [mm]
    plate_number : float or array, shapes that broadcast
        N, above 0. [1]

    Returns
    -------
    float or array of the broadcast shape
        H, above 0. [mm]

    Notes
    -----
    H = distance / N. The run length over the N of a *spot* is a mistake met in print. A spot at the
    origin (0 over 0) gives nan.

    References
    ----------
    Ettre, Pure Appl. Chem. 65 (1993) 819 (column form, from memory).

    Examples
    --------
    >>> print(f"{plate_height(40.0, plate_number=1024.0):.4f}")
    0.0391
    """
    return np.divide(distance, plate_number)


@quietly
def plate_number_of_run(plate_number: Values, rf: Values) -> Values:
    """Plate number of the whole run, from that of one spot.

    Parameters
    ----------
    plate_number : float or array, shapes that broadcast
        N of the spot. [1]
    rf : float or array, shapes that broadcast
        Retardation factor of the spot, 0 to 1. [1]

    Returns
    -------
    float or array of the broadcast shape
        Run length over plate height. [1]

    Notes
    -----
    N(run) = N / Rf, for a plate height that is the same all along. A spot at the origin gives inf or nan, one
    with the front gives its own N.

    References
    ----------
    Derived in closed form: N = d / H, N(run) = L / H, d = Rf L.

    Examples
    --------
    >>> print(plate_number_of_run(1024.0, rf=0.5))
    2048.0
    """
    return np.divide(plate_number, rf)


@quietly
def separation_number(run_length: Values, width_at_origin: Values, width_at_front: Values) -> Values:
    """Separation number: spots that fit between the one at the origin and the one at the front.

    Parameters
    ----------
    run_length : float or array, shapes that broadcast
        Distance of the front from the origin. [mm]
    width_at_origin, width_at_front : float or array, shapes that broadcast
        Widths at half height, extrapolated along a straight line to Rf 0 and Rf 1. [mm]

    Returns
    -------
    float or array of the broadcast shape
        SN, not rounded; by convention the whole number below is quoted. [1]

    Notes
    -----
    SN = run length / (width at origin + width at front) - 1. Neighbours then lie at a resolution of
    about 1.18. Widths that add up to 0 give inf or nan.

    References
    ----------
    Kaiser, planar form (from memory); gas chromatographic form in IUPAC Gold Book S05616.

    Examples
    --------
    >>> print(f"{separation_number(80.0, width_at_origin=1.5, width_at_front=5.5):.2f}")
    10.43
    """
    return np.divide(run_length, width_at_origin + width_at_front) - 1.0


@quietly
def spot_capacity(run_length: Values, plate_height: Values, start_width: Values = 0.0) -> Values:
    """Spot capacity: number of spots side by side along one run, each resolved from the next with Rs = 1.

    Parameters
    ----------
    run_length : float or array, shapes that broadcast
        Distance of the front from the origin. [mm]
    plate_height : float or array, shapes that broadcast
        H, the same all along the run. [mm]
    start_width : float or array, shapes that broadcast, optional
        Width of the applied spot along the lane. [mm]

    Returns
    -------
    float or array of the broadcast shape
        n, 1 or more; not rounded. [1]

    Notes
    -----
    A spot that ran d is sqrt(start^2 + 16 H d) wide at its base. Then n = 1 + integral of dd / width from 0 to L
    = 1 + [sqrt(start^2 + 16 H L) - start] / (8 H) = 1 + 2 L / [sqrt(start^2 + 16 H L) + start]. Without a start
    width this is 1 + sqrt(L / H) / 2. The two dimensions of a sheet multiply. Neither start width nor
    plate height gives inf.

    References
    ----------
    Derived in closed form as above.

    Examples
    --------
    >>> print(f"{spot_capacity(80.0, plate_height=0.08, start_width=3.0):.1f}")
    12.8
    """
    return 1.0 + np.divide(
        2.0 * run_length, np.sqrt(np.square(start_width) + 16.0 * plate_height * run_length) + start_width
    )

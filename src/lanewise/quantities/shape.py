"""The shape of a spot along its lane: symmetric, tailing or fronting.

Leading is the side nearer the solvent front, rear the side nearer the origin: a scan that starts at the origin
meets the tail first.
"""

from __future__ import annotations

import numpy as np

from lanewise.quantities._elementwise import Values, quietly


@quietly
def asymmetry(rear_half_width: Values, leading_half_width: Values) -> Values:
    """Asymmetry factor As at 10 % of the height.

    Parameters
    ----------
    rear_half_width, leading_half_width : float or array, shapes that broadcast
        Distances from the maximum to the flank nearer the origin and to the flank nearer the front, at
        10 % of the height. [mm]

    Returns
    -------
    float or array of the broadcast shape
        As, 0 to inf: 1 symmetric, above 1 tailing (towards the origin), below 1 fronting. [1]

    Notes
    -----
    As = rear / leading. A leading half-width of 0 gives inf or nan without a warning, which the analyses turn into
    a state; a streak has no As.

    References
    ----------
    From memory (As = b / a); common practice.

    Examples
    --------
    >>> print(asymmetry(3.0, leading_half_width=2.0))
    1.5
    """
    return np.divide(rear_half_width, leading_half_width)


@quietly
def tailing_factor(width_5: Values, leading_half_width_5: Values) -> Values:
    """Tailing factor T at 5 % of the height; also called symmetry factor.

    Parameters
    ----------
    width_5 : float or array, shapes that broadcast
        Whole width at 5 % of the height. [mm]
    leading_half_width_5 : float or array, shapes that broadcast
        Distance from the maximum to the flank nearer the front at 5 % of the height. [mm]

    Returns
    -------
    float or array of the broadcast shape
        T, 0.5 to inf: 1 symmetric, above 1 tailing (towards the origin), below 1 fronting. [1]

    Notes
    -----
    T = width / (2 leading half-width). A leading half-width of 0 gives inf or nan without a warning, which the
    analyses turn into a state; a streak has no T.

    References
    ----------
    USP 28 <621>, glossary (f is measured to the leading edge); the same number as the symmetry factor of
    European Pharmacopoeia 2.2.46 (from memory).

    Examples
    --------
    >>> print(tailing_factor(5.0, leading_half_width_5=2.0))
    1.25
    """
    return np.divide(width_5, 2.0 * leading_half_width_5)

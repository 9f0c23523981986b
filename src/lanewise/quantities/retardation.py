"""The retardation factor and its relatives: Rf, hRf, corrected Rf, k, R_M, relative retardation.

In all of them 0 is a spot that stayed at the origin and 1 a spot that ran with the front. Both are censored: a
smallest noticeable movement gives a bound there, not a value. The formulas say what plain arithmetic gives,
inf or nan included and without a warning; the analyses turn that into bounds with a state.
"""

from __future__ import annotations

import numpy as np

from lanewise.quantities._derivatives import with_derivatives
from lanewise.quantities._elementwise import Values, quietly

_LN_10 = np.log(10.0)


@with_derivatives(
    lambda spot, front, origin: (
        1 / (front - origin),
        -(spot - origin) / np.square(front - origin),
        (spot - front) / np.square(front - origin),
    )
)
@quietly
def rf(spot: Values, front: Values, origin: Values) -> Values:
    """Retardation factor: how far a spot ran, as a share of how far the solvent ran.

    Parameters
    ----------
    spot, front, origin : float or array, shapes that broadcast
        Positions in the spot's own lane along the direction of development, from any common zero and in
        either sense. [mm]

    Returns
    -------
    float or array of the broadcast shape
        Rf; 0 at the origin, 1 at the front. [1]

    Notes
    -----
    Rf = (spot - origin) / (front - origin). Only differences enter, so neither the zero of the ruler nor
    the scale of a photograph matters; a unit shared by all three cancels.

    A value outside 0 to 1 comes from a reading error and is left as it is. A front at the origin gives
    inf or nan, which the analyses turn into a state. A streak has no single Rf: its trailing edge, darkest
    point and leading edge have one each. A front that ran off the sheet leaves only `relative_rf`.

    References
    ----------
    IUPAC Gold Book R05353, after Ettre, Pure Appl. Chem. 65 (1993) 819, p. 845.

    Examples
    --------
    A spot at 7.3 cm, the front at 9.0 cm, the origin line at 1.0 cm:

    >>> print(f"{rf(7.3, front=9.0, origin=1.0):.4f}")
    0.7875
    """
    return np.divide(spot - origin, front - origin) + 0.0  # + 0.0: no -0.0 where positions count backwards


@with_derivatives(lambda rf: (100.0,))
@quietly
def hrf(rf: Values) -> Values:
    """Rf in hundredths.

    Parameters
    ----------
    rf : float or array
        Retardation factor, 0 to 1. [1]

    Returns
    -------
    float or array of the same shape
        hRf, 0 to 100, not rounded: it is printed as a whole number and kept in full. [1]

    Notes
    -----
    hRf = 100 Rf; 0 for a spot at the origin, 100 for one with the front.

    References
    ----------
    IUPAC Gold Book R05353, after Ettre, Pure Appl. Chem. 65 (1993) 819, p. 845.

    Examples
    --------
    >>> hrf(0.25)
    25.0
    """
    return 100.0 * rf


@with_derivatives(lambda rf, xi: (xi, rf))
@quietly
def corrected_rf(rf: Values, xi: Values) -> Values:
    """Corrected (thermodynamic) Rf, for a visible front that ran ahead of the liquid that counts.

    Parameters
    ----------
    rf : float or array
        Observed retardation factor, 0 to 1. [1]
    xi : float or array, shapes that broadcast
        Correction of the front: 1 where nothing is known, usually 1.0 to 1.2. [1]

    Returns
    -------
    float or array of the broadcast shape
        Corrected Rf, to be put into `retention_factor` and `r_m` in place of Rf. [1]

    Notes
    -----
    Rf' = xi Rf. A spot at the origin keeps 0. A value above 1 means that xi is too large for this spot: the
    observed Rf cannot exceed 1 / xi.

    References
    ----------
    Soczewinski, *A simple molecular model of adsorption chromatography XIV*, Chromatographia,
    doi 10.1007/BF02262058 (formula); the usual size of xi is from memory.

    Examples
    --------
    >>> print(f"{corrected_rf(0.40, xi=1.1):.2f}")
    0.44
    """
    return xi * rf


@with_derivatives(lambda rf: (-1 / np.square(rf),))
@quietly
def retention_factor(rf: Values) -> Values:
    """Retention factor k: time spent in the layer over time spent in the mobile phase.

    Parameters
    ----------
    rf : float or array
        Retardation factor, 0 to 1. [1]

    Returns
    -------
    float or array of the same shape
        k, 0 to inf; 1 at Rf 0.5. [1]

    Notes
    -----
    k = (1 - Rf) / Rf = 1 / Rf - 1. A spot with the front gives 0 and one at the origin gives inf, both
    without a warning; the analyses turn them into an upper and a lower bound with a state. An Rf outside
    0 to 1 gives a negative k, which has no meaning.

    References
    ----------
    IUPAC Gold Book R05359 (k in general); in distances, (L - d) / d, as taught on plates.

    Examples
    --------
    >>> print(f"{retention_factor(0.25):.1f}")
    3.0
    >>> print(retention_factor(0.0))
    inf
    """
    return np.divide(1.0 - rf, rf)


@quietly
def rf_from_retention_factor(k: Values) -> Values:
    """Rf that belongs to a retention factor.

    Parameters
    ----------
    k : float or array
        Retention factor, 0 to inf. [1]

    Returns
    -------
    float or array of the same shape
        Rf, 1 to 0. [1]

    Notes
    -----
    Rf = 1 / (1 + k), the inverse of `retention_factor`: k = 0 gives 1 (with the front), k = inf gives 0
    (at the origin).

    References
    ----------
    IUPAC Gold Book R05359, solved for Rf.

    Examples
    --------
    >>> print(f"{rf_from_retention_factor(3.0):.2f}")
    0.25
    """
    return np.divide(1.0, 1.0 + k)


@with_derivatives(lambda rf: (-1 / (_LN_10 * rf * (1 - rf)),))
@quietly
def r_m(rf: Values) -> Values:
    """R_M value: decimal logarithm of the retention factor.

    Parameters
    ----------
    rf : float or array
        Retardation factor, 0 to 1. [1]

    Returns
    -------
    float or array of the same shape
        R_M, inf to -inf; 0 at Rf 0.5. [1]

    Notes
    -----
    R_M = log10(1 / Rf - 1), never the natural logarithm. Antisymmetric: R_M(1 - Rf) = -R_M(Rf). A spot at
    the origin gives inf, one with the front -inf, an Rf outside 0 to 1 nan, all without a warning; the
    analyses turn them into bounds with a state.

    References
    ----------
    Bate-Smith and Westall, Biochim. Biophys. Acta 4 (1950) 427 (citation from memory); formula in
    Soczewinski, doi 10.1007/BF02262058.

    Examples
    --------
    >>> print(f"{r_m(0.20):.4f}")
    0.6021
    """
    return np.log10(np.divide(1.0 - rf, rf))


@quietly
def rf_from_r_m(r_m: Values) -> Values:
    """Rf that belongs to an R_M value.

    Parameters
    ----------
    r_m : float or array
        R_M, -inf to inf. [1]

    Returns
    -------
    float or array of the same shape
        Rf, 1 to 0. [1]

    Notes
    -----
    Rf = 1 / (1 + 10^R_M), the inverse of `r_m`: -inf gives 1 (with the front), inf gives 0 (at the origin).

    References
    ----------
    As for `r_m`, solved for Rf.

    Examples
    --------
    >>> print(f"{rf_from_r_m(0.0):.1f}")
    0.5
    """
    return np.divide(1.0, 1.0 + np.float_power(10.0, r_m))


@with_derivatives(lambda rf, rf_standard: (1 / rf_standard, -rf / np.square(rf_standard)))
@quietly
def relative_rf(rf: Values, rf_standard: Values) -> Values:
    """Relative retardation R_rel: Rf as a multiple of the Rf of a standard.

    Parameters
    ----------
    rf, rf_standard : float or array, shapes that broadcast
        Retardation factors of the substance and of the standard, 0 to 1. Distances from the origin do as
        well, where both ran to one common front or the solvent ran off the sheet. [1, or mm for both]

    Returns
    -------
    float or array of the broadcast shape
        R_rel, 0 to inf; 1 for the standard itself. [1]

    Notes
    -----
    R_rel = Rf / Rf(standard). A substance at the origin gives 0. A standard at the origin gives inf or nan
    without a warning; the analyses turn it into a state. A substance or standard with the front gives a
    bound, though the number looks like any other. R_rel is not the separation factor.

    References
    ----------
    IUPAC Gold Book R05276, after Ettre, Pure Appl. Chem. 65 (1993) 819, p. 845.

    Examples
    --------
    >>> print(f"{relative_rf(0.30, rf_standard=0.40):.2f}")
    0.75
    """
    return np.divide(rf, rf_standard)

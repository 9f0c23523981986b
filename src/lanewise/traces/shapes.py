"""The shape of a spot along its lane: Gaussian, and Gaussian with an exponential tail.

Tails lie towards the origin for a positive `tau`, towards the front (fronting) for a negative one.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from lanewise.traces._grids import Floats

_LARGE = 30.0  # where the asymptotic series of Mills' ratio is better than differences of rounded numbers
_LEAST_RATIO = 1e-9  # of tau to sigma: a shorter tail moves nothing, and its square would vanish


class Zone(NamedTuple):
    """A zone of unit area and its derivatives, arrays of one shape."""

    value: Floats
    first: Floats
    """By position."""
    second: Floats
    """By position, twice; the derivative by sigma is sigma times this."""
    by_tau: Floats


def gaussian(x: ArrayLike, height: ArrayLike, centre: ArrayLike, sigma: ArrayLike) -> Floats:
    """Gaussian zone.

    Parameters
    ----------
    x : array, shapes that broadcast
        Positions. [mm]
    height : array
        Height of the peak, in the unit of the signal.
    centre, sigma : array
        Centre and standard deviation, the latter positive. [mm]

    Returns
    -------
    array of the broadcast shape
        Signal. Its area is sqrt(2 pi) height sigma, its base width (between the tangents at the points of inflection)
        4 sigma, its width at half height 2 sqrt(2 ln 2) sigma.

    References
    ----------
    Derived in closed form; the relations are common to all textbooks.

    Examples
    --------
    >>> print(gaussian(34.0, height=0.30, centre=32.0, sigma=2.0).round(4))
    0.182
    """
    at, top, middle, s = (np.asarray(one, dtype=float) for one in (x, height, centre, sigma))
    return np.asarray(top * np.exp(-0.5 * np.square((at - middle) / s)))


def emg(x: ArrayLike, area: ArrayLike, mu: ArrayLike, sigma: ArrayLike, tau: ArrayLike) -> Floats:
    """Exponentially modified Gaussian zone: a Gaussian that leaves a tail behind.

    Parameters
    ----------
    x : array, shapes that broadcast
        Positions. [mm]
    area : array
        Area, unit of the signal times mm.
    mu, sigma : array
        Mean and standard deviation of the Gaussian, the latter positive. [mm]
    tau : array
        Length of the exponential [mm]: positive for a tail towards the origin, negative for one towards the front,
        0 for none.

    Returns
    -------
    array of the broadcast shape
        Signal. Its mean is mu - tau, its variance sigma^2 + tau^2, its skewness -2 tau^3 / variance^1.5; the darkest
        point lies between mean and mu.

    Notes
    -----
    For tau > 0, with z = sigma / tau + (x - mu) / sigma and g the Gaussian of unit area:
    f = g sqrt(pi / 2) (sigma / tau) erfcx(z / sqrt 2) where z > 0, and the form with erfc elsewhere, so that nothing
    overflows at small tau. tau f' = f - g, and the derivative by sigma is sigma f''.

    References
    ----------
    Foley and Dorsey, Anal. Chem. 55 (1983) 730, and Kalambet et al., J. Chemometrics 25 (2011) 352 (both from memory);
    derivatives in closed form.

    Examples
    --------
    >>> import numpy as np
    >>> print(emg(np.array([24.0, 32.0, 34.0]), area=1.0, mu=32.0, sigma=1.0, tau=3.0).round(4))
    [0.0245 0.1302 0.0067]
    """
    at, whole, *shape = (np.asarray(one, dtype=float) for one in (x, area, mu, sigma, tau))
    return np.asarray(whole * zone(at, *shape).value)


def zone(x: Floats, mu: Floats, sigma: Floats, tau: Floats) -> Zone:
    """Zone of unit area with its derivatives; shapes broadcast. Where tau is 0 it is the Gaussian itself.

    With Mills' ratio R, D = 1 - z R and E = R - z D, all of z: f' = -g (u R + D) / t, df/dt = -g (E + u D) sigma / t^2
    and f'' = g [(u t / sigma)(u R + D) - D] / t^2, for u = (x - mu) / sigma and t = tau > 0; no term cancels another.
    """
    plain = np.equal(tau, 0.0)
    side = np.where(tau < 0.0, -1.0, 1.0)
    u = side * (x - mu) / sigma
    g = np.exp(-0.5 * u * u) / (np.sqrt(2.0 * np.pi) * sigma)
    if plain.any():
        slope = -side * u * g / sigma
        upright = Zone(g, slope, (u * u - 1.0) * g / (sigma * sigma), slope)
        if plain.all():
            return upright
    k = np.maximum(np.abs(tau) / sigma, _LEAST_RATIO)
    t = k * sigma
    r, d, e = _mills(1.0 / k + u, u, k, g, sigma)
    slope = u * r + d
    leaning = Zone(r / k, -side * slope / t, (u * k * slope - d) / (t * t), -side * (e + u * d) / (k * t))
    return Zone(*(np.where(plain, *both) for both in zip(upright, leaning, strict=True))) if plain.any() else leaning


def _mills(z: Floats, u: Floats, k: Floats, g: Floats, s: Floats) -> tuple[Floats, Floats, Floats]:
    """Give g R, g D and g E at z, see `zone`; each accurate where it is small."""
    from scipy.special import erfc, erfcx

    ahead = np.sqrt(np.pi / 2.0) * g * erfcx(np.maximum(z, 0.0) / np.sqrt(2.0))
    behind = 0.5 / s * np.exp(np.minimum((u + 0.5 / k) / k, 0.0)) * erfc(np.minimum(z, 0.0) / np.sqrt(2.0))
    r = np.where(z > 0.0, ahead, behind)
    d = g - z * r
    e = r - z * d
    far = (z > _LARGE) & (g > 0.0)
    if far.any():
        w = 1.0 / np.square(np.maximum(z, _LARGE))
        d = np.where(far, g * w * (1.0 - w * (3.0 - w * (15.0 - w * (105.0 - w * 945.0)))), d)
        series = 2.0 - w * (12.0 - w * (90.0 - w * (840.0 - w * 9450.0)))
        e = np.where(far, g * w * np.sqrt(w) * series, e)
    return r, d, e

"""The shape of a spot along its lane: a Gaussian whose one side may run out into an exponential tail."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]

LEAST = 1e-3
"""Least divisor of the exponent; beyond it lies the steep end of a tailed spot, where nothing is left."""


def shape(y: Array, mu: float, s: float, tau: float) -> Array:
    """Give the shape of a spot, of height 1.

    Parameters
    ----------
    y : array of shape (N,)
        Positions along the run. [mm]
    mu : float
        Darkest point. [mm]
    s : float
        Standard deviation near it, above zero. [mm]
    tau : float
        Length of the tail, towards the origin where positive, towards the front where negative, none where 0. [mm]

    Returns
    -------
    array of shape (N,)

    Notes
    -----
    The exponential-Gaussian hybrid exp(-z^2 / (2 s^2 + tau z)) of Lan and Jorgenson, J. Chromatogr. A 915 (2001) 1
    (from memory), with z counted towards the origin. Unlike the convolution of the two it is highest at mu whatever
    the tail, and it passes smoothly from one side to the other through the Gaussian.

    Examples
    --------
    >>> shape(np.array([10.0, 12.0]), 10.0, 2.0, 0.0).round(4).tolist()
    [1.0, 0.6065]
    """
    return _exponential((mu - y) / s, tau / s)[0]


def _exponential(z: Array, skew: float) -> tuple[Array, Array]:
    """Give the shape, and the divisor of its exponent, at distances in standard deviations."""
    below = 2.0 + skew * z
    divisor = np.maximum(below, LEAST)
    return np.where(below > LEAST, np.exp(-np.minimum(z * z / divisor, 700.0)), 0.0), divisor


def slopes(y: Array, mu: float, s: float, tau: float) -> tuple[Array, Array]:
    """Give the shape, and its slopes in place, logarithm of the standard deviation and tau / s, shape (3, N).

    Examples
    --------
    >>> value, slope = slopes(np.array([9.0]), 10.0, 1.0, 0.5)
    >>> step = (shape(np.array([9.0]), 10.0 + 1e-6, 1.0, 0.5) - value) / 1e-6
    >>> bool(abs(step - slope[0])[0] < 1e-5)
    True
    """
    z = (mu - y) / s
    value, divisor = _exponential(z, tau / s)
    turn = value * z * (4.0 + (tau / s) * z) / divisor**2
    return value, np.stack([-turn / s, turn * z, value * z**3 / divisor**2])


def edges(mu: float, s: float, tau: float, share: float = 0.1) -> tuple[float, float]:
    """Give the two places where the shape has fallen to a share of its height, lower one first. [mm].

    Examples
    --------
    >>> [round(one, 3) for one in edges(10.0, 1.0, 0.0)]
    [7.854, 12.146]
    """
    depth = -float(np.log(share))
    middle, reach = 0.5 * depth * tau, float(np.sqrt((0.5 * depth * tau) ** 2 + 2.0 * depth * s * s))
    return mu - middle - reach, mu - middle + reach

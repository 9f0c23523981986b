"""The shape across a tide line: what the liquid carried is heaped up at its end and runs out below."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
import numpy.typing as npt

Array: TypeAlias = npt.NDArray[np.float64]


def heap(away: Array, width: float, tail: float) -> Array:
    """Give the shape across a line whose darkest place is at 0, of height about 1.

    Parameters
    ----------
    away : array of shape (N,)
        Distances from the line, positive towards the front. [mm]
    width : float
        Standard deviation of the blur. [mm]
    tail : float
        Length of the exponential below; 0 for a line alike on either side. [mm]

    Returns
    -------
    array of shape (N,)
        An exponentially modified Gaussian.

    Examples
    --------
    >>> heap(np.array([-1.0, 0.0, 1.0]), 0.5, 0.0).round(3).tolist()
    [0.135, 1.0, 0.135]
    >>> below, top, above = heap(np.array([-1.0, 0.0, 1.0]), 0.3, 1.2)
    >>> bool(above < below < top)
    True
    """
    if tail <= 0.0:
        return np.asarray(np.exp(-0.5 * (away / width) ** 2))
    grid = np.linspace(-tail - 3.0 * width, width, 401)
    course = _modified(grid, width, tail)
    top = int(np.argmax(course))
    return np.asarray(_modified(away + grid[top], width, tail) / course[top])


def _modified(z: Array, width: float, tail: float) -> Array:
    from scipy.special import erfc, erfcx

    argument = (width / tail + z / width) / np.sqrt(2.0)
    far = argument < -5.0
    near = np.exp(-0.5 * (z / width) ** 2) * erfcx(np.where(far, 0.0, argument))
    run = np.exp(np.where(far, 0.5 * (width / tail) ** 2 + z / tail, 0.0)) * erfc(np.where(far, argument, 0.0))
    return np.asarray(np.where(far, run, near), dtype=float)

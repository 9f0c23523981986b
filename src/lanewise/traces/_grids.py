"""What the whole room shares: arrays checked once, and a roughness penalty for even and uneven positions alike."""

from __future__ import annotations

from math import factorial
from typing import TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats: TypeAlias = NDArray[np.float64]
Counts: TypeAlias = NDArray[np.int64]

FEWEST = 8  # points: below that nothing here can tell a spot from its surroundings


def checked(positions: ArrayLike, values: ArrayLike, fewest: int = FEWEST) -> tuple[Floats, Floats]:
    """Give positions and values as arrays of shape (N,), or say what is wrong with them."""
    x, y = np.asarray(positions, dtype=float), np.asarray(values, dtype=float)
    if x.ndim != 1 or x.shape != y.shape:
        raise ValueError(f"wanted as many positions as values, each in one row; given shapes {x.shape} and {y.shape}")
    if len(x) < fewest:
        raise ValueError(f"a trace wants at least {fewest} points, given {len(x)}")
    for name, column in (("positions", x), ("values", y)):
        if not np.isfinite(column).all():
            place = int(np.argmin(np.isfinite(column)))
            raise ValueError(f"{name}[{place}] is {column[place]}: wanted a finite number; leave that point out")
    if not (np.diff(x) > 0).all():
        place = int(np.argmin(np.diff(x) > 0)) + 1
        raise ValueError(
            f"positions[{place}] = {x[place]:g} after {x[place - 1]:g}: positions must rise from origin to front; "
            "sort the points, and give one value a position"
        )
    return x, y


def level_of(baseline: ArrayLike, x: Floats) -> Floats:
    """Give a baseline, one number or one a position, as an array of shape (N,), or say what is wrong with it."""
    level = np.asarray(baseline, dtype=float)
    if level.shape not in ((), x.shape) or not np.isfinite(level).all():
        raise ValueError(
            f"a baseline is one finite number, or one for each of the {len(x)} positions; given shape {level.shape}"
        )
    return np.broadcast_to(level, x.shape)


def spacing(x: Floats) -> float:
    """Mean step between neighbours [mm]."""
    return float(x[-1] - x[0]) / (len(x) - 1)


def penalty(x: Floats, order: int, length: float) -> Floats:
    """Bands, shape (order + 1, N), of a penalty on the derivative of that order.

    Added to a diagonal of weights it makes a smoother that passes waves much longer than 2 pi `length` and stops
    shorter ones (Whittaker; half of the amplitude where the wavelength is 2 pi `length`). For even positions it is
    (length / step)^(2 order) times the product of difference matrices; for uneven ones divided differences stand in.
    """
    u = x / spacing(x)
    count = len(u) - order
    places = [u[k : k + count] for k in range(order + 1)]
    rows = []
    for k, own in enumerate(places):
        product = np.ones(count)
        for other in places[:k] + places[k + 1 :]:
            product *= own - other
        rows.append(factorial(order) / product)
    weight = (places[-1] - places[0]) / order * (length / spacing(x)) ** (2 * order)
    bands = np.zeros((order + 1, len(u)))
    for a, row in enumerate(rows):
        weighted = weight * row
        for b in range(a, order + 1):
            bands[b - a, a : a + count] += weighted * rows[b]
    return bands


def solve(bands: Floats, weights: Floats | float, right: Floats) -> Floats:
    """Solve (penalty + diagonal of weights) s = right, for right-hand sides of shape (N,) or (N, M)."""
    from scipy.linalg.lapack import dpbsv

    matrix = bands.copy()
    matrix[0] += weights
    _, solution, info = dpbsv(matrix, right, lower=1, overwrite_ab=1)
    if info:
        raise ValueError(
            f"the smoother of {len(matrix[0])} points cannot be solved in double precision: leave out positions that "
            "all but coincide, or average neighbours where there are more than 20 000"
        )
    return np.asarray(solution)

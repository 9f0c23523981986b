"""Where uncertainty enters: from a stated uncertainty, limits, repeats, a covariance, or a ruler's division."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
from numpy.typing import ArrayLike

from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.sources import Floats, Ids, Shape, SourceGroup

DIVISORS: dict[str, float] = {
    "rectangular": float(np.sqrt(3.0)),
    "triangular": float(np.sqrt(6.0)),
    "arcsine": float(np.sqrt(2.0)),
}


def exact(values: ArrayLike) -> Measured:
    """Take values as known without uncertainty, shape (N,)."""
    array = np.atleast_1d(np.array(values, dtype=float))
    return Measured(array, np.zeros((len(array), 0)), np.zeros((len(array), 0), dtype=np.int64), ())


def from_standard(
    values: ArrayLike,
    u: ArrayLike,
    name: str,
    *,
    source: ArrayLike | None = None,
    shape: Shape = "normal",
    dof: float = np.inf,
    joint: bool = False,
    label: Callable[[int], str] | None = None,
) -> Measured:
    """Take values with a stated standard uncertainty.

    Parameters
    ----------
    values : array of shape (N,)
        The estimates; nan where one is not known.
    u : float or array of shape (N,)
        Standard uncertainties, not negative, in the unit of the values.
    name : str
        Name of the source group, its line in a budget.
    source : integer array of shape (N,), optional
        Number of the source behind each value, from 0; equal numbers mean one common error. Without it each value
        has its own.
    shape, dof, joint, label
        As in `SourceGroup`. Set `joint` where all the uncertainties come from one estimate of spread.

    Returns
    -------
    Measured
        N values with one part each.

    Raises
    ------
    ValueError
        If an uncertainty is negative or not finite, or `source` is not one whole number a value.

    Examples
    --------
    >>> front = from_standard([85.0, 85.0], 0.3, "front reading", source=[0, 0])
    >>> front.correlation_matrix().tolist()
    [[1.0, 1.0], [1.0, 1.0]]
    """
    array = np.atleast_1d(np.array(values, dtype=float))
    part = _not_negative(u, array.shape, name, "a standard uncertainty")
    ids = np.arange(len(array)) if source is None else _numbers(source, array.shape, name)
    group = SourceGroup(name, int(ids.max(initial=-1)) + 1, shape=shape, dof=dof, joint=joint, label=label)
    return Measured(array, part[:, None], ids[:, None], (group,))


def from_limits(
    values: ArrayLike, half_width: ArrayLike, name: str, *, shape: Shape = "rectangular", dof: float = np.inf
) -> Measured:
    """Take values known to lie within limits, each with its own error.

    The standard uncertainty is the half-width divided by sqrt(3) for a rectangular, sqrt(6) for a triangular and
    sqrt(2) for an arcsine shape (JCGM 100:2008, 4.3.7 and 4.3.9; clause numbers from memory).

    Parameters
    ----------
    values : array of shape (N,)
        The middles of the limits.
    half_width : float or array of shape (N,)
        Half the distance of the limits, not negative, in the unit of the values.
    name : str
        Name of the source group.
    shape : {"rectangular", "triangular", "arcsine"}
        Anywhere within the limits alike; rather near the middle; rather near the limits, as of something that swings.
    dof : float
        As in `SourceGroup`.

    Returns
    -------
    Measured
        N values with one part each.

    Raises
    ------
    ValueError
        If a half-width is negative or not finite, or the shape has no limits.

    Examples
    --------
    >>> round(float(from_limits([20.0], 0.5, "temperature").u[0]), 4)
    0.2887
    """
    if shape not in DIVISORS:
        raise ValueError(f"{name}: limits want a shape among {', '.join(DIVISORS)}, given {shape!r}")
    array = np.atleast_1d(np.array(values, dtype=float))
    u = _not_negative(half_width, array.shape, name, "a half-width") / DIVISORS[shape]
    return from_standard(array, u, name, shape=shape, dof=dof)


def ruler_uncertainty(division: ArrayLike) -> Floats:
    """Standard uncertainty of one reading taken to the nearest division of a scale, division / sqrt(12).

    The reading lies anywhere within half a division: a rectangular distribution (JCGM 100:2008, F.2.2.1;
    clause number from memory). For a millimetre ruler it is 0.289 mm.

    Parameters
    ----------
    division : float or array
        Distance of neighbouring marks, or of the steps to which readings are rounded. [mm]

    Returns
    -------
    array
        Standard uncertainty, nan where the division is. [mm]

    Raises
    ------
    ValueError
        If a division is zero or negative.

    Examples
    --------
    >>> round(float(ruler_uncertainty(1.0)), 3)
    0.289
    """
    array = np.asarray(division, dtype=float)
    if np.any(array <= 0.0):
        raise ValueError(f"wanted a division of the ruler above 0 mm, given {array[array <= 0.0].flat[0]:g}")
    return np.asarray(array / np.sqrt(12.0))


def from_readings(readings: ArrayLike, name: str) -> Measured:
    """Take the mean of n independent repeats: one value, u = s / sqrt(n), n - 1 degrees of freedom.

    Trials are drawn from the scaled and shifted t distribution (JCGM 101:2008, 6.4.9; clause number from memory).
    Its standard deviation is u sqrt((n - 1) / (n - 3)): below four repeats it has none, and trials do not settle.

    Parameters
    ----------
    readings : array of shape (n,)
        At least two repeats of one reading.
    name : str
        Name of the source group.

    Returns
    -------
    Measured
        One value.

    Raises
    ------
    ValueError
        If there are fewer than two readings, or one is not finite.

    Examples
    --------
    >>> repeats = from_readings([41.0, 41.5, 42.0, 41.5], "spot reading")
    >>> float(repeats.values[0]), round(float(repeats.u[0]), 3)
    (41.5, 0.204)
    """
    array = _observed(readings, 1, name)
    u = float(array.std(ddof=1)) / np.sqrt(len(array))
    return from_standard([array.mean()], u, name, shape="t", dof=float(len(array) - 1))


def from_observations(observations: ArrayLike, name: str) -> Measured:
    """Take the means of M quantities that were observed together n times.

    Each observation is a source of its own, so the covariance of the means is exactly the one of
    JCGM 100:2008, 5.2.3 (clause number from memory): sum of (q - mean)(r - mean) / (n (n - 1)). Trials are drawn from
    the joint t distribution with n - 1 degrees of freedom.

    Parameters
    ----------
    observations : array of shape (n, M)
        One row an observation, one column a quantity; at least two rows.
    name : str
        Name of the source group.

    Returns
    -------
    Measured
        M means, correlated as the observations were.

    Raises
    ------
    ValueError
        If it is no table of at least two rows, or a cell is not finite.

    Examples
    --------
    >>> pair = from_observations([[10.0, 85.0], [10.5, 85.5], [10.2, 85.1]], "both lines read together")
    >>> round(float(pair.correlation_matrix()[0, 1]), 3)
    0.976
    """
    table = _observed(observations, 2, name)
    n, m = table.shape
    parts = ((table - table.mean(axis=0)) / np.sqrt(n * (n - 1.0))).T
    ids = np.tile(np.arange(n, dtype=np.int64), (m, 1))
    group = SourceGroup(name, n, shape="t", dof=float(n - 1), joint=True)
    return Measured(table.mean(axis=0), parts, ids, (group,))


def from_covariance(values: ArrayLike, covariance: ArrayLike, name: str) -> Measured:
    """Take M values with a given covariance matrix, split into independent sources by its eigenvectors.

    Parameters
    ----------
    values : array of shape (M,)
        The estimates.
    covariance : array of shape (M, M)
        Their covariances, in the products of their units.
    name : str
        Name of the source group; its sources are directions of the matrix and have no meaning one by one.

    Returns
    -------
    Measured
        M values with M parts each.

    Raises
    ------
    ValueError
        If the matrix is not symmetric, or is the covariance of no quantities (a negative variance or eigenvalue
        beyond rounding).

    Examples
    --------
    >>> line = from_covariance([1.2, 0.05], [[0.04, -0.003], [-0.003, 0.0004]], "fit")
    >>> line.u.round(6).tolist()
    [0.2, 0.02]
    """
    array = np.atleast_1d(np.array(values, dtype=float))
    matrix = np.asarray(covariance, dtype=float)
    if matrix.shape != (len(array), len(array)):
        raise ValueError(f"{name}: wanted a covariance of shape ({len(array)}, {len(array)}), given {matrix.shape}")
    # A variance of zero is scaled up as well, so that a covariance it cannot have shows as a negative eigenvalue.
    scale = np.sqrt(np.diag(matrix).clip(min=np.finfo(float).tiny))
    unit = matrix / np.outer(scale, scale)
    if not np.allclose(unit, unit.T, rtol=1e-9, atol=1e-9):
        raise ValueError(f"{name}: wanted a symmetric covariance of finite numbers")
    weights, vectors = np.linalg.eigh(unit)
    if weights.min(initial=0.0) < -1e-9:
        raise ValueError(
            f"{name}: wanted the covariance of some quantities; this matrix has a negative eigenvalue "
            f"({weights.min():g} in units of the variances), so one of their sums would have a negative variance"
        )
    parts = vectors * np.sqrt(weights.clip(min=0.0)) * scale[:, None]
    ids = np.tile(np.arange(len(array), dtype=np.int64), (len(array), 1))
    return Measured(array, parts, ids, (SourceGroup(name, len(array)),))


def _not_negative(given: ArrayLike, shape: tuple[int, ...], name: str, wanted: str) -> Floats:
    array = np.array(np.broadcast_to(np.asarray(given, dtype=float), shape))
    bad = np.flatnonzero(~(np.isfinite(array) & (array >= 0.0)))
    if bad.size:
        raise ValueError(f"{name}: wanted {wanted} of zero or more, given {array[bad[0]]:g} for value {bad[0]}")
    return array


def _numbers(source: ArrayLike, shape: tuple[int, ...], name: str) -> Ids:
    array = np.array(source)
    whole = np.issubdtype(array.dtype, np.integer) or array.size == 0
    if array.shape != shape or not whole or array.min(initial=0) < 0:
        raise ValueError(
            f"{name}: wanted a whole source number, 0 or more, for each of {shape[0]} values; "
            f"given {array.dtype} of shape {array.shape} from {array.min(initial=0)}"
        )
    return array.astype(np.int64)


def _observed(given: ArrayLike, ndim: int, name: str) -> Floats:
    array = np.asarray(given, dtype=float)
    if array.ndim != ndim or len(array) < 2 or not np.isfinite(array).all():
        kind = "readings in one list" if ndim == 1 else "observations, each a row of a table"
        raise ValueError(
            f"{name}: wanted two or more {kind}, all of them finite; "
            f"given shape {array.shape} with {np.count_nonzero(~np.isfinite(array))} not finite"
        )
    return array

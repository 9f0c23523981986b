"""The noise of a trace, neighbours that err together included.

The texture of paper and layers is not white: what one point shows too much, its neighbour often shows too much as well.
Uncertainties that take the points for independent are then several times too small. Here noise is a sum of
independent parts, a white one and some whose correlation falls off as exp(-distance / length).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lanewise.traces._grids import Floats, checked, spacing


@dataclass(frozen=True, slots=True, eq=False)
class Noise:
    """Noise of a trace as a sum of K independent parts.

    Attributes
    ----------
    lengths : array of shape (K,)
        Correlation length of each part [mm]; 0 is white noise.
    variances : array of shape (K,)
        Variance of each part, in the squared unit of the values; none is negative.

    Examples
    --------
    Grain of the sensor of 0.003, and texture of the paper of 0.004 over half a millimetre:

    >>> import numpy as np
    >>> noise = Noise(np.array([0.0, 0.5]), np.array([0.003, 0.004]) ** 2)
    >>> round(noise.sd, 6)
    0.005
    >>> noise.covariance([0.0, 0.5]).round(8).tolist()
    [[2.5e-05, 5.89e-06], [5.89e-06, 2.5e-05]]
    """

    lengths: Floats
    variances: Floats

    @property
    def sd(self) -> float:
        """Standard deviation of one point, in the unit of the values."""
        return float(np.sqrt(self.variances.sum()))

    def covariance(self, positions: ArrayLike) -> Floats:
        """Covariance matrix of points at N rising positions [mm], shape (N, N)."""
        x = np.asarray(positions, dtype=float)
        return self.times(x, np.eye(len(x)))

    def times(self, x: Floats, columns: Floats) -> Floats:
        """Covariance matrix at N rising positions times columns of shape (N, M), in a time that grows as N M."""
        total = np.zeros_like(columns)
        for length, variance in zip(self.lengths, self.variances, strict=True):
            if variance > 0.0:
                total += variance * _correlated(x, length, columns)
        return total

    def effective_points(self, x: Floats) -> float:
        """How many independent points would fix the mean of the trace as well as these N do; at most N."""
        of_sum = float(self.times(x, np.ones((len(x), 1))).sum())
        return len(x) ** 2 * self.sd**2 / of_sum if of_sum else float(len(x))


def white_noise(sd: float) -> Noise:
    """Noise whose points are independent.

    Parameters
    ----------
    sd : float
        Standard deviation, in the unit of the values.

    Returns
    -------
    Noise
        Of one part.

    Examples
    --------
    >>> white_noise(0.003).sd
    0.003
    """
    return Noise(np.zeros(1), np.array([float(sd) ** 2]))


def blank_noise(positions: ArrayLike, values: ArrayLike, degree: int = 3) -> Noise:
    """Noise from one or several lanes on which nothing ran, read in the same way and from the same sheet.

    This is the best that can be had: texture that is as long as a spot cannot be told from spots in a lane that has
    some.

    Parameters
    ----------
    positions : array of shape (N,)
        Rising positions. [mm]
    values : array of shape (N,) or (B, N)
        The signal of B blanks.
    degree : int
        Degree of the polynomial that is taken for their baseline.

    Returns
    -------
    Noise
        See `residual_noise` for how.

    Raises
    ------
    ValueError
        If positions do not rise or a number is not finite.

    Examples
    --------
    >>> import numpy as np
    >>> x = np.linspace(0.0, 80.0, 401)
    >>> blanks = 0.05 + np.random.default_rng(3).normal(0.0, 0.003, (4, 401))
    >>> print(f"{blank_noise(x, blanks).sd:.3f}")
    0.003
    """
    rows = np.atleast_2d(np.asarray(values, dtype=float))
    for row in rows:
        x, _ = checked(positions, row)
    basis = np.linalg.qr(np.polynomial.chebyshev.chebvander(2.0 * (x - x[0]) / (x[-1] - x[0]) - 1.0, degree))[0]
    return residual_noise(x, rows.T - basis @ (basis.T @ rows.T), basis)


def residual_noise(x: Floats, residuals: Floats, basis: Floats) -> Noise:
    """Noise from what a linear fit has left over, freed of what the fit has swallowed.

    Parameters
    ----------
    x : array of shape (N,)
        Rising positions. [mm]
    residuals : array of shape (N,) or (N, B)
        Left over by one fit, or by B fits of the same model to traces of the same noise.
    basis : array of shape (N, P)
        Orthonormal columns that span what the model can follow.

    Returns
    -------
    Noise
        White noise and parts of 1.5, 6, 24, ... mean steps, up to a sixteenth of the trace; white noise alone
        where fewer than 30 degrees of freedom are left.

    Notes
    -----
    With M = I - basis basis', residuals r have the covariance M C M, and C = sum of variances times known correlations
    C_k. The variances are those that bring M C M nearest to r r' (least squares over all elements), none below 0: an
    estimate without bias but for that last. Its normal equations are r' C_k r = sum_j v_j tr(C_k M C_j M).

    References
    ----------
    Minimum norm quadratic estimation of variance components: C. R. Rao 1971 (from memory).

    Examples
    --------
    >>> import numpy as np
    >>> x = np.linspace(0.0, 80.0, 401)
    >>> r = np.random.default_rng(3).normal(0.0, 1.0, 401)
    >>> print(f"{residual_noise(x, r - r.mean(), np.full((401, 1), 401**-0.5)).sd:.1f}")
    1.0
    """
    from scipy.optimize import nnls

    r = residuals.reshape(len(x), -1)
    blanks, lengths = r.shape[1], _lengths(x, len(x) - basis.shape[1])
    moved = [_correlated(x, length, np.column_stack([r, basis])) for length in lengths]
    swallowed = [basis.T @ column[:, blanks:] for column in moved]
    left = np.array([np.sum(r * column[:, :blanks]) / blanks for column in moved])
    size = len(lengths)
    matrix = np.empty((size, size))
    for i in range(size):
        for j in range(i, size):
            both = lengths[i] * lengths[j]  # the product of two exponentials is an exponential
            both = both and both / (lengths[i] + lengths[j])
            whole = _correlated(x, both, np.ones((len(x), 1))).sum()
            part = np.sum(moved[i][:, blanks:] * moved[j][:, blanks:])
            matrix[i, j] = matrix[j, i] = whole - 2.0 * part + np.sum(swallowed[i] * swallowed[j])
    sizes, turned = np.linalg.eigh(matrix)
    kept = sizes > 1e-10 * sizes[-1]
    root = np.sqrt(sizes[kept])
    scale = float(left[0]) or 1.0
    variances, _ = nnls(root[:, None] * turned[:, kept].T, turned[:, kept].T @ left / root / scale)
    return Noise(np.array(lengths), variances * scale)


def _lengths(x: Floats, dof: int) -> list[float]:
    """Correlation lengths to try, in mean steps 0, 1.5, 6, 24, ...; 0 alone where little is left over to judge by."""
    longest = (len(x) - 1) / 16.0
    if dof < 30 or longest < 1.5:
        return [0.0]
    count = 1 + int(np.log(longest / 1.5) / np.log(4.0) + 1e-9)
    return [0.0, *(1.5 * spacing(x) * 4.0 ** np.arange(count))]


def _correlated(x: Floats, length: float, columns: Floats) -> Floats:
    """Matrix exp(-|x_i - x_j| / length) times columns of shape (N, M); its inverse has three diagonals."""
    if length == 0.0:
        return columns
    from scipy.linalg.lapack import dptsv

    decay = np.exp(-np.diff(x) / length)
    share = decay / (1.0 - decay**2)
    diagonal = np.ones(len(x))
    diagonal[:-1] += decay * share
    diagonal[1:] += decay * share
    return np.asarray(dptsv(diagonal, -share, columns, overwrite_d=1, overwrite_e=1)[2])

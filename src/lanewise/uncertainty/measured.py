"""Values with their parts by independent source; covariances come from the parts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from lanewise.uncertainty.sources import Floats, Ids, SourceGroup, offsets, renumber, union


@dataclass(frozen=True, eq=False)
class Measured:
    """N values, each with up to K parts of uncertainty by source.

    Memory grows with N times K, never with N times the number of sources, so a million values with all their
    covariances fit. The three arrays are kept as read-only views; whoever hands them in must not change them
    afterwards. A value may be nan (not known): its row stays, and what is formed from it is nan.

    Attributes
    ----------
    values : array of shape (N,)
        The values, in whatever unit they have.
    parts : array of shape (N, K)
        Change of the value when the source moves by one standard uncertainty; same unit, signed.
    ids : integer array of shape (N, K)
        Which source each part belongs to. No source stands twice in a row unless with a zero part.
    groups : tuple of SourceGroup
        The sources, numbered through in this order.

    Examples
    --------
    >>> from lanewise.uncertainty.inputs import from_standard
    >>> front = from_standard([85.0], 0.3, "front reading")
    >>> spot = from_standard([40.0], 0.4, "spot reading")
    >>> rest = front - spot
    >>> float(rest.values[0]), round(float(rest.u[0]), 3)
    (45.0, 0.5)
    """

    values: Floats
    parts: Floats
    ids: Ids
    groups: tuple[SourceGroup, ...]

    __array_ufunc__ = None  # an array on the left of + or - leaves the sum to us

    def __post_init__(self) -> None:
        if self.values.ndim != 1 or self.parts.shape != self.ids.shape or len(self.parts) != len(self.values):
            raise ValueError(
                "a Measured wants values of shape (N,) with parts and ids of shape (N, K); "
                f"given {self.values.shape}, {self.parts.shape} and {self.ids.shape}"
            )
        for name in ("values", "parts", "ids"):
            view = getattr(self, name).view()
            view.flags.writeable = False
            object.__setattr__(self, name, view)

    def __reduce__(self) -> tuple[Any, ...]:
        return Measured, (self.values, self.parts, self.ids, self.groups)

    def __len__(self) -> int:
        return len(self.values)

    def __repr__(self) -> str:
        names = ", ".join(group.name for group in self.groups)
        return f"<Measured: {len(self)} values, sources: {names or 'none'}>"

    @property
    def u(self) -> Floats:
        """Standard uncertainty of each value, shape (N,)."""
        return np.asarray(np.sqrt(np.einsum("ij,ij->i", self.parts, self.parts)))

    def __getitem__(self, index: Any) -> Measured:
        """Choose values by a slice, an integer, a boolean mask or an array of positions."""
        if isinstance(index, int | np.integer):
            index = [int(index)]
        return Measured(self.values[index], self.parts[index], self.ids[index], self.groups)

    def scaled(self, factor: ArrayLike, values: ArrayLike | None = None) -> Measured:
        """Multiply the parts by a factor for each value; the values too, unless new ones are given.

        This is a step of first-order propagation through a formula of one input, the factor its derivative.
        """
        column = np.broadcast_to(np.asarray(factor, dtype=float), self.values.shape)
        new = self.values * column if values is None else np.array(values, dtype=float)
        return Measured(new, self.parts * column[:, None], self.ids, self.groups)

    def __neg__(self) -> Measured:
        return self.scaled(-1.0)

    def __add__(self, other: Measured | ArrayLike) -> Measured:
        if not isinstance(other, Measured):
            return joined(self.values + np.asarray(other, dtype=float), [(self, 1.0)])
        return joined(self.values + other.values, [(self, 1.0), (other, 1.0)])

    def __radd__(self, other: ArrayLike) -> Measured:
        return self + other

    def __sub__(self, other: Measured | ArrayLike) -> Measured:
        return self + (-other if isinstance(other, Measured) else np.negative(other))

    def __rsub__(self, other: ArrayLike) -> Measured:
        return -self + other

    def covariance_matrix(self, other: Measured | None = None) -> Floats:
        """Give the covariances of all values, or of all values with all of another.

        The result is dense: choose the values first (``measured[rows]``). Covariances come from the shared
        sources, whatever calls the two results were made by.

        Parameters
        ----------
        other : Measured, optional
            M further values.

        Returns
        -------
        array of shape (N, N) or (N, M)
            In the product of the two units.
        """
        groups = self.groups if other is None else union(self.groups, other.groups)
        left = _loads(self, groups)
        right = left if other is None else _loads(other, groups)
        return np.asarray((left @ right.T).toarray(), dtype=float)

    def covariance(self, other: Measured) -> Floats:
        """Give the covariance of value i with value i of another of the same length, shape (N,)."""
        if len(other) != len(self):
            raise ValueError(f"wanted two results of one length, given {len(self)} and {len(other)}")
        groups = union(self.groups, other.groups)
        a, b = renumber(self.ids, self.groups, groups), renumber(other.ids, other.groups, groups)
        total = np.zeros(len(self))
        for column in range(a.shape[1]):
            same = b == a[:, column, None]
            total += self.parts[:, column] * np.where(same, other.parts, 0.0).sum(axis=1)
        return total

    def correlation_matrix(self) -> Floats:
        """Give the correlations of all values, shape (N, N); nan where a value has no uncertainty."""
        u = self.u
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(self.covariance_matrix() / np.outer(u, u), dtype=float)

    def combined(self, weights: Any) -> Measured:
        """Form weighted sums of the values: means, differences, fits.

        Memory grows with M times the largest number of sources that one of the sums inherits.

        Parameters
        ----------
        weights : array or sparse matrix of shape (M, N), or array of shape (N,) for one sum
            Row m holds the weight of each value in sum m.

        Returns
        -------
        Measured
            M values, with the sources they inherit.

        Examples
        --------
        >>> from lanewise.uncertainty.inputs import from_standard
        >>> repeats = from_standard([41.0, 41.5, 42.0, 41.5], 0.3, "spot reading")
        >>> mean = repeats.combined([0.25, 0.25, 0.25, 0.25])
        >>> float(mean.values[0]), round(float(mean.u[0]), 3)
        (41.5, 0.15)
        """
        from scipy import sparse

        if not sparse.issparse(weights):
            weights = np.atleast_2d(np.asarray(weights, dtype=float))
        matrix = sparse.csr_array(weights)
        if matrix.shape[1] != len(self):
            raise ValueError(f"wanted weights with {len(self)} columns, given shape {matrix.shape}")
        parts, ids = _table(matrix @ _loads(self, self.groups))
        return Measured(np.asarray(matrix @ self.values, dtype=float), parts, ids, self.groups)


def joined(values: Floats, terms: Sequence[tuple[Measured, ArrayLike]]) -> Measured:
    """Make new values whose parts are the sum of the terms' parts, each times its factor.

    Parameters
    ----------
    values : array of shape (N,)
        The new values.
    terms : sequence of (Measured, factor)
        Inputs of N values each, or of one value that serves all rows, and the derivative of the new
        value with respect to each.

    Returns
    -------
    Measured
        Sources that several terms share stand once in each row, with the sum of their parts.
    """
    count = len(values)
    groups = union(*(term.groups for term, _ in terms))
    parts, ids = [np.zeros((count, 0))], [np.zeros((count, 0), dtype=np.int64)]
    for term, factor in terms:
        shape = (count, term.parts.shape[1])
        column = np.broadcast_to(np.asarray(factor, dtype=float), (count,))
        parts.append(np.broadcast_to(term.parts, shape) * column[:, None])
        ids.append(np.broadcast_to(renumber(term.ids, term.groups, groups), shape))
    result = Measured(values, np.concatenate(parts, axis=1), np.concatenate(ids, axis=1), groups)
    if len(groups) == sum(len(term.groups) for term, _ in terms):
        return result  # nothing is shared
    return Measured(values, *_table(_loads(result, groups)), groups)


def _loads(measured: Measured, groups: tuple[SourceGroup, ...]) -> Any:
    """Give the parts as a sparse matrix of shape (N, number of sources), each source once and no zeros."""
    from scipy import sparse

    count, width = measured.parts.shape
    ids = renumber(measured.ids, measured.groups, groups)
    content = (measured.parts.ravel(), ids.ravel(), np.arange(count + 1) * width)
    matrix = sparse.csr_array(content, shape=(count, int(offsets(groups)[-1])), copy=True)
    matrix.sum_duplicates()
    matrix.eliminate_zeros()
    return matrix


def _table(loads: Any) -> tuple[Floats, Ids]:
    """Give a sparse matrix back as parts and ids of shape (N, K), filled up with zero parts."""
    lengths = np.diff(loads.indptr)
    width = int(lengths.max(initial=0))
    filled = np.arange(width) < lengths[:, None]
    parts, ids = np.zeros(filled.shape), np.zeros(filled.shape, dtype=np.int64)
    parts[filled], ids[filled] = loads.data, loads.indices
    return parts, ids

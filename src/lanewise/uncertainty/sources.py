"""Independent sources of uncertainty, in named groups."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Literal, TypeAlias
from uuid import uuid4

import numpy as np
from numpy.typing import NDArray

Shape: TypeAlias = Literal["normal", "rectangular", "triangular", "arcsine", "t"]
SHAPES: tuple[Shape, ...] = ("normal", "rectangular", "triangular", "arcsine", "t")

Floats: TypeAlias = NDArray[np.float64]
Ids: TypeAlias = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class SourceGroup:
    """Independent sources of one kind, such as the front readings of all lanes.

    Two groups are the same sources only if they carry the same token; a name may be used again.

    Attributes
    ----------
    name : str
        The line it has in a budget: ``"front reading"``.
    size : int
        Number of independent sources in the group.
    shape : {"normal", "rectangular", "triangular", "arcsine", "t"}
        Distribution used when trials are drawn. ``"t"`` takes its degrees of freedom from `dof`; it is drawn with
        scale 1, so that its standard deviation is the root of dof / (dof - 2).
    dof : float
        Degrees of freedom of each source's standard uncertainty; infinite where it is taken as known.
    joint : bool
        True where one estimate of spread serves all sources of the group, such as the simultaneous observations of
        one sample, or readings that share a pooled standard deviation: they have `dof` together, not each.
    label : callable or None
        ``label(i)`` names source i of the group; made only when a person asks. A function defined at the top
        of a module can be pickled, a lambda cannot.
    token : str
        What makes the group itself; made anew for each group, and kept by a pickled copy.

    References
    ----------
    Shapes and divisors: JCGM 100:2008, 4.3.7 to 4.3.9; JCGM 101:2008, 6.4 (clause numbers from memory).
    """

    name: str
    size: int
    shape: Shape = "normal"
    dof: float = np.inf
    joint: bool = False
    label: Callable[[int], str] | None = None
    token: str = field(default_factory=lambda: uuid4().hex)

    def __post_init__(self) -> None:
        if self.size < 0:
            raise ValueError(f"source group {self.name!r}: size must not be negative, given {self.size}")
        if self.shape not in SHAPES:
            raise ValueError(f"source group {self.name!r}: shape must be one of {SHAPES}, given {self.shape!r}")
        if not self.dof > 0:
            raise ValueError(f"source group {self.name!r}: degrees of freedom must be positive, given {self.dof}")

    def describe(self, index: int) -> str:
        """Name one source: the group's name and, where there is one, the source's own label."""
        if self.label is None:
            return self.name if self.size == 1 else f"{self.name} {index + 1}"
        return f"{self.name}, {self.label(index)}"


def offsets(groups: Sequence[SourceGroup]) -> Ids:
    """Give the number of the first source of each group, and after them the number of all sources."""
    return np.concatenate([[0], np.cumsum([group.size for group in groups])]).astype(np.int64)


def union(*tuples: tuple[SourceGroup, ...]) -> tuple[SourceGroup, ...]:
    """Give every group once, in the order of first appearance."""
    seen: dict[str, SourceGroup] = {}
    for groups in tuples:
        for group in groups:
            seen.setdefault(group.token, group)
    return tuple(seen.values())


def group_of(ids: Ids, groups: Sequence[SourceGroup]) -> Ids:
    """Give the place in `groups` of the group that each source belongs to, in the shape of `ids`."""
    return np.asarray(np.searchsorted(offsets(groups), ids, side="right") - 1, dtype=np.int64)


def renumber(ids: Ids, old: tuple[SourceGroup, ...], new: tuple[SourceGroup, ...]) -> Ids:
    """Translate source numbers from one tuple of groups to another that holds them all."""
    tokens = [group.token for group in new]
    if [group.token for group in old] == tokens[: len(old)]:
        return ids
    start = dict(zip(tokens, offsets(new), strict=False))
    shift = np.array([start[group.token] for group in old]) - offsets(old)[:-1]
    return np.asarray(ids + shift[group_of(ids, old)], dtype=np.int64)

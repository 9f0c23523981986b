"""The spots of one lane explained together: no two of them are the same dye."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lanewise.uncertainty.sources import Floats


@dataclass(frozen=True, eq=False)
class Joint:
    """Chances of the explanations of the spots of one lane, taken together.

    Attributes
    ----------
    chances : list of arrays of shape (C + 1,)
        Posterior of each spot over C candidates and none of them, its sum 1.
    log_total : float
        Logarithm of the sum over all explanations.
    sets : dict of tuple of int to float
        Posterior of each set of candidates that explains the lane together.
    exact : bool
        False where there are too many explanations: then the spots are taken one by one, and the sets are few.
    """

    chances: list[Floats]
    log_total: float
    sets: dict[tuple[int, ...], float]
    exact: bool


def joint_chances(weights: Sequence[Floats], limit: int = 50_000) -> Joint:
    """Weigh the explanations of several spots of one lane, of which none shows the same dye twice.

    Parameters
    ----------
    weights : sequence of arrays of shape (C + 1,)
        For each spot the prior times the factor of each of C candidates, and last of none of them.
    limit : int
        Most explanations that are gone through.

    Returns
    -------
    Joint

    Examples
    --------
    Two spots that both look like the first dye cannot both be it.

    >>> found = joint_chances([np.array([0.9, 0.1]), np.array([0.6, 0.4])])
    >>> [one.round(2).tolist() for one in found.chances]
    [[0.78, 0.22], [0.13, 0.87]]
    """
    scaled = [one / one.sum() for one in weights]
    log_scale = float(sum(math.log(one.sum()) for one in weights))
    none = len(scaled[0]) - 1
    options = [np.flatnonzero(one > 1e-7) for one in scaled]
    if math.prod(len(one) for one in options) > limit:
        return one_by_one(weights)
    choice = np.stack([grid.ravel() for grid in np.meshgrid(*options, indexing="ij")], axis=1)
    ordered = np.sort(choice, axis=1)
    once = ((np.diff(ordered, axis=1) > 0) | (ordered[:, 1:] == none)).all(axis=1)
    choice, ordered = choice[once], ordered[once]
    weight = np.prod([one[choice[:, place]] for place, one in enumerate(scaled)], axis=0)
    total = float(weight.sum())
    if not total > 0.0:
        return one_by_one(weights)
    chances = [np.bincount(choice[:, place], weight, minlength=none + 1) / total for place in range(len(scaled))]
    sets: dict[tuple[int, ...], float] = {}
    for row, share in zip(ordered.tolist(), (weight / total).tolist(), strict=True):
        key = tuple(place for place in row if place != none)
        sets[key] = sets.get(key, 0.0) + share
    return Joint(chances, log_scale + math.log(total), sets, True)


def one_by_one(weights: Sequence[Floats]) -> Joint:
    """Take the spots by themselves; the only set is that of the most probable candidate of each."""
    chances = [one / one.sum() for one in weights]
    none = len(chances[0]) - 1
    best = [int(np.argmax(one)) for one in chances]
    probability = math.prod(float(one[place]) for one, place in zip(chances, best, strict=True))
    key = tuple(sorted({place for place in best if place != none}))
    return Joint(chances, float(sum(math.log(one.sum()) for one in weights)), {key: probability}, False)

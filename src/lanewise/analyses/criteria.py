"""Criteria of whole chromatograms over many trials at once, and of two systems used one beside the other.

The closed forms are those of `lanewise.quantities.criteria`, written for all trials together; the tests hold the two
together. A place in a chromatogram is a number, or an end of the run: a spot at the origin counts as Rf 0 in the
criteria that are defined so, and as lying no farther than its bound where the distance from another is asked.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from lanewise.uncertainty.sources import Floats, Ids

IDEAL = 1.5

ALONE: Mapping[str, str] = {
    "worst resolution": "smallest resolution of two dyes, as if all ran in one lane",
    "smallest gap": "smallest distance of two dyes in Rf",
    "retention uniformity": "RU, nearness to equally spread spots",
    "retention distance": "RD, geometric mean of all gaps against equal ones",
    "multispot response": "MRF, product of all gaps against equal ones",
    "product of gaps": "product of the distances of neighbours in Rf",
    "sum of resolutions": "sum of the resolutions of neighbours",
    "resolution product": "normalised product of the resolutions of neighbours: how alike they are",
    "optimisation function": "COF, what is missing to a resolution of 1.5 of neighbours, at most 0",
}
"""Criteria of one system; in all of them more is better."""

TOGETHER: Mapping[str, str] = {
    "worst resolution": "smallest over each two dyes of the better of their two resolutions",
    "smallest gap": "smallest over each two dyes of the larger of their two distances in Rf",
    "closest pair": "smallest distance of two dyes in the plane of both Rf",
    "inverse square distances": "D_A over the plane of both Rf; less is better",
}
"""Criteria of two systems; in all but the last more is better."""


@dataclass(frozen=True, eq=False)
class Chromatograms:
    """One system over T trials, with D dyes.

    Attributes
    ----------
    rf : array of shape (T, D)
        Places of the dyes; those at an end have the bound that they do not leave.
    end : integer array of shape (D,)
        -1 at the origin, 1 with the front, 0 anywhere else.
    width : array of shape (T, D)
        Lengths of the spots over the run; nan where not read.
    """

    rf: Floats
    end: Ids
    width: Floats


def gaps(run: Chromatograms) -> Floats:
    """Distance of each two dyes in Rf, shape (T, P) with P = D (D - 1) / 2.

    Two at the same end are not shown to lie apart: 0. One at an end is as near to another as its bound allows.
    """
    first, second = np.triu_indices(len(run.end), k=1)
    apart = np.abs(run.rf[:, second] - run.rf[:, first])
    a, b = run.end[first], run.end[second]
    apart[:, (a == b) & (a != 0)] = 0.0
    low, high = np.where(a < b, first, second), np.where(a < b, second, first)
    ended = a != b
    signed = run.rf[:, high] - run.rf[:, low]
    return np.where(ended[None, :], np.maximum(signed, 0.0), apart)


def resolutions(run: Chromatograms) -> Floats:
    """Resolution of each two dyes as if they ran in one lane, shape (T, P): twice the gap over the sum of the widths.

    A dye at an end, whose spot has no length of its own there, is taken to be as long as the other.
    """
    first, second = np.triu_indices(len(run.end), k=1)
    wide = np.where(run.end[None, :] != 0, np.nan, run.width)
    a, b = wide[:, first], wide[:, second]
    a, b = np.where(np.isnan(a) & (run.end[first] != 0), b, a), np.where(np.isnan(b) & (run.end[second] != 0), a, b)
    both = (run.end[first] != 0) & (run.end[second] != 0)
    with np.errstate(invalid="ignore", divide="ignore"):
        found = 2.0 * gaps(run) / np.where(a + b > 0.0, a + b, np.nan)
    found[:, both & (run.end[first] == run.end[second])] = 0.0
    found[:, both & (run.end[first] != run.end[second])] = np.inf
    return np.asarray(found)


def alone(run: Chromatograms) -> dict[str, Floats]:
    """Criteria of one system, shape (T,) each, under the names of `ALONE`."""
    count = len(run.end)
    placed = np.where(run.end[None, :] == 0, np.clip(run.rf, 0.0, 1.0), (run.end[None, :] + 1.0) / 2.0)
    order = np.argsort(placed, axis=1, kind="stable")
    rf = np.take_along_axis(placed, order, axis=1)
    inner = np.diff(rf, axis=1)
    whole = np.diff(rf, axis=1, prepend=0.0, append=1.0) * (count + 1)
    ideal = np.arange(1, count + 1) / (count + 1)
    scale = 6.0 * (count + 1) / (count * (2 * count + 1))
    pairs = _neighbours(order)
    each = resolutions(run)
    rs = np.take_along_axis(each, pairs, axis=1)
    with np.errstate(divide="ignore", invalid="ignore"):
        logs = np.log(whole).sum(axis=1)
        missing = np.minimum(np.log(rs / IDEAL), 0.0).sum(axis=1)
        product = np.prod(rs / rs.mean(axis=1, keepdims=True), axis=1)
    return {
        "worst resolution": each.min(axis=1),
        "smallest gap": gaps(run).min(axis=1),
        "retention uniformity": 1.0 - np.sqrt(scale * ((rf - ideal) ** 2).sum(axis=1)),
        "retention distance": np.exp(logs / count),
        "multispot response": np.exp(logs),
        "product of gaps": inner.prod(axis=1),
        "sum of resolutions": rs.sum(axis=1),
        "resolution product": product,
        "optimisation function": missing,
    }


def together(first: Chromatograms, second: Chromatograms) -> dict[str, Floats]:
    """Criteria of two systems, each run on a plate of its own, shape (T,) each, under the names of `TOGETHER`."""
    a, b = gaps(first), gaps(second)
    plane = a**2 + b**2
    with np.errstate(divide="ignore"):
        inverse = (1.0 / plane).sum(axis=1)
    return {
        "worst resolution": np.fmax(resolutions(first), resolutions(second)).min(axis=1),
        "smallest gap": np.maximum(a, b).min(axis=1),
        "closest pair": np.sqrt(plane.min(axis=1)),
        "inverse square distances": inverse,
    }


def _neighbours(
    order: np.ndarray[tuple[int, int], np.dtype[np.int64]],
) -> np.ndarray[tuple[int, int], np.dtype[np.int64]]:
    """Give the places of neighbours among all pairs, shape (T, D - 1), from the order of the dyes in each trial."""
    count = order.shape[1]
    low, high = np.sort(np.stack([order[:, :-1], order[:, 1:]]), axis=0)
    return np.asarray(low * count - low * (low + 1) // 2 + high - low - 1)

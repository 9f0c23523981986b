"""Scatter of Rf from lane to lane of a plate: what bench custom expects, and what repeats of the study show."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from lanewise.uncertainty.sources import Floats, Ids


@dataclass(frozen=True, slots=True)
class Scatter:
    """Scatter of Rf from lane to lane of a plate, beyond what the readings explain.

    Attributes
    ----------
    sigma : float
        Standard deviation. [1]
    dof : float
        Degrees of freedom: those of the assumption and those of the repeats together.
    repeats : int
        Degrees of freedom that came from repeats of this study.
    """

    sigma: float
    dof: float
    repeats: int


PRIOR_SIGMA, PRIOR_DOF = 0.01, 2.0
"""Before any repeat is looked at: 0.005 to 0.01 for one substance in several lanes of a plate and 0.01 between two
readers (common practice, no source), known no better than from two repeats."""


def pooled_scatter(squares: float, expected: float, dof: int) -> Scatter:
    """Combine the assumed scatter with what repeats show.

    Parameters
    ----------
    squares : float
        Sum of squared residuals of repeats.
    expected : float
        What the readings alone would make of it: sum of their variances over the degrees of freedom.
    dof : int
        Degrees of freedom of the squares.

    Returns
    -------
    Scatter
        Variances averaged with their degrees of freedom, as for a variance with a scaled inverse chi-squared prior.

    Examples
    --------
    >>> pooled_scatter(0.0, 0.0, 0)
    Scatter(sigma=0.01, dof=2.0, repeats=0)
    """
    excess = max(0.0, squares - expected)
    variance = (PRIOR_DOF * PRIOR_SIGMA**2 + excess) / (PRIOR_DOF + dof)
    return Scatter(math.sqrt(variance), PRIOR_DOF + dof, dof)


def repeat_squares(values: Floats, own: Floats, dye: Ids, plate: Ids, system: Ids) -> tuple[float, float, int]:
    """Residuals of dyes that were run again, free of what a whole plate does.

    Parameters
    ----------
    values, own : arrays of shape (N,)
        Rf, and the variance that no other reading shares.
    dye, plate, system : integer arrays of shape (N,)
        Numbers from 0.

    Returns
    -------
    squares, expected : float
        Sum of squares, and what the readings alone lead to expect.
    dof : int

    Notes
    -----
    Two kinds. Lanes of one plate with the same dye differ about their mean. Plates of one system with three or more
    dyes in common: each plate's values are fitted by a straight line against the dyes' means over the plates, which
    takes out the plate's shift and stretch; D dyes on P plates leave (D - 2)(P - 1) degrees of freedom (derived).
    """
    cell, size = _numbered(plate, dye)
    count = np.bincount(cell, minlength=size)
    mean = np.bincount(cell, values, minlength=size) / count
    variance = np.bincount(cell, own, minlength=size) / count
    squares = float(((values - mean[cell]) ** 2).sum())
    expected = float((variance * (count - 1)).sum())
    dof = int((count - 1).sum())
    first = np.unique(cell, return_index=True)[1]
    for one in np.unique(system):
        inside = np.flatnonzero(system[first] == one)
        found = _two_way(mean[inside], (variance / count)[inside], dye[first][inside], plate[first][inside])
        squares, expected, dof = squares + found[0], expected + found[1], dof + found[2]
    return squares, expected, dof


def _two_way(mean: Floats, variance: Floats, dye: Ids, plate: Ids) -> tuple[float, float, int]:
    """Residuals of the dyes that all plates of a system have, each plate fitted by a line."""
    plates = len(np.unique(plate))
    labels, place, held = np.unique(dye, return_inverse=True, return_counts=True)
    whole = held == plates
    if plates < 2 or whole.sum() < 3:
        return 0.0, 0.0, 0
    keep = whole[place]
    order = np.lexsort((plate[keep], dye[keep]))
    table = mean[keep][order].reshape(int(whole.sum()), plates)
    centre = table.mean(axis=1)
    design = np.stack([np.ones_like(centre), centre], axis=1)
    residual = table - design @ np.linalg.lstsq(design, table, rcond=None)[0]
    dof = (len(labels[whole]) - 2) * (plates - 1)
    return float((residual**2).sum()), dof * float(variance[keep].mean()), dof


def _numbered(first: Ids, second: Ids) -> tuple[npt.NDArray[np.intp], int]:
    pairs = first * (int(second.max(initial=0)) + 1) + second
    labels, place = np.unique(pairs, return_inverse=True)
    return place, len(labels)

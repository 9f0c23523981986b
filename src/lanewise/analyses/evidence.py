"""How strongly the readings of a spot speak for one dye, against a dye that is none of the candidates.

The measure is a Bayes factor. For a candidate the differences between the spot and what is expected of it are normal
about zero, with all covariances: lanes of one plate share front and origin as the record says, several lanes are
compared with the same standard, a library value stands behind all plates of its system. Their scatter is not known
but estimated, which makes the distribution Student's t. For an unknown dye any Rf from 0 to 1 is as likely in each
system, so its density is 1 there.

With several readings in a system, the differences are first averaged with their covariances (generalised least
squares); what the readings disagree about among themselves says the same under either explanation and drops out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from lanewise.uncertainty.sources import Floats, Ids

TAIL_DOF = 12.0
"""The tails are never lighter than Student's with 12 degrees of freedom: now and then a centre is misjudged or a number
mistyped by more than any estimate of scatter knows (common practice, no source)."""
WEAKEST = 3.0
"""Agreement at the origin or with the front counts threefold at most: whatever is insoluble, or too soluble, lies
there together (common practice, no source for the number)."""
LEAST = math.log(1e-12)


@dataclass(frozen=True, eq=False)
class Differences:
    """M differences between the readings of a spot and what is expected of one candidate.

    Attributes
    ----------
    values : array of shape (M,)
        Reading minus expectation. [1]
    covariance : array of shape (M, M)
    scatter : array of shape (M, M)
        The part of the covariance that comes from the estimated scatter.
    system : integer array of shape (M,)
        Number of the solvent system of each.
    dof : float
        Degrees of freedom of the scatter.
    """

    values: Floats
    covariance: Floats
    scatter: Floats
    system: Ids
    dof: float


@dataclass(frozen=True, eq=False)
class Agreement:
    """What several differences say together, S systems.

    Attributes
    ----------
    systems : integer array of shape (S,)
        Numbers of the systems.
    delta : array of shape (S,)
        Mean difference in each system. [1]
    covariance : array of shape (S, S)
    dof : float
        Effective degrees of freedom.
    log_factor : float
        Natural logarithm of the Bayes factor against an unknown dye.
    """

    systems: Ids
    delta: Floats
    covariance: Floats
    dof: float
    log_factor: float


def agreement(differences: Differences) -> Agreement:
    """Weigh the differences of one spot and one candidate.

    Parameters
    ----------
    differences : Differences
        At least one.

    Returns
    -------
    Agreement
        One mean difference a system, and the factor of all together.

    Notes
    -----
    Averages are x = (X'V^-1 X)^-1 X'V^-1 d with X the indicator of the systems; x = 0 if the spot is the candidate.
    Its density there, Student's t in S dimensions, against the density 1 of an unknown dye in each system, is the
    factor. Degrees of freedom follow Welch and Satterthwaite from the part of the variance that was estimated (JCGM
    100:2008, G.4.1, clause from memory).

    Examples
    --------
    One difference of nothing with a standard uncertainty of 0.01 speaks about 40 to 1 for the candidate.

    >>> one = np.array([[1e-4]])
    >>> found = agreement(Differences(np.zeros(1), one, 0 * one, np.zeros(1, dtype=np.int64), np.inf))
    >>> round(math.exp(found.log_factor), 1)
    39.1
    """
    systems, place = np.unique(differences.system, return_inverse=True)
    if len(differences.values) == 1:
        delta, covariance = differences.values, differences.covariance
    else:
        design = (place[:, None] == np.arange(len(systems))).astype(float)
        weighted = np.linalg.solve(differences.covariance, design)
        covariance = np.linalg.inv(design.T @ weighted)
        delta = covariance @ (weighted.T @ differences.values)
    share = float(np.trace(differences.scatter)) / float(np.trace(differences.covariance))
    dof = TAIL_DOF if share <= 0.0 else min(TAIL_DOF, differences.dof / share**2)
    return Agreement(systems, delta, covariance, dof, log_t_density(delta, covariance, dof))


def log_t_density(at: Floats, covariance: Floats, dof: float) -> float:
    """Give the logarithm of the density of Student's t in S dimensions about 0, with a scale matrix.

    Examples
    --------
    >>> one = np.ones((1, 1))
    >>> round(math.exp(log_t_density(np.zeros(1), one, 1.0)), 4), round(1 / math.pi, 4)
    (0.3183, 0.3183)
    """
    size = len(at)
    sign, log_determinant = np.linalg.slogdet(covariance)
    distance = float(at @ np.linalg.solve(covariance, at))
    gamma = math.lgamma(0.5 * (dof + size)) - math.lgamma(0.5 * dof)
    density = gamma - 0.5 * size * math.log(dof * math.pi) - 0.5 * float(log_determinant)
    return max(density - 0.5 * (dof + size) * math.log1p(distance / dof), LEAST) if sign > 0 else LEAST


def interval_factor(spot: tuple[float, float], expected: tuple[float, float], u: float) -> float:
    """Bayes factor where one of the two, or both, are known as an interval only.

    Parameters
    ----------
    spot, expected : (float, float)
        Ends of the interval in which the spot's Rf lies, and the candidate's; both the same for a value. [1]
    u : float
        Standard uncertainty of the difference, above 0. [1]

    Returns
    -------
    float
        Chance that a dye of the expected place shows in the spot's interval, over that of an unknown dye.

    Notes
    -----
    Both are taken as even over their intervals and blurred by u. Derived: the density of the difference of two even
    quantities, integrated; done numerically on 64 points of the expected interval.

    Examples
    --------
    >>> round(interval_factor((0.3, 0.5), (0.4, 0.4), 0.01), 3)
    5.0
    >>> interval_factor((0.3, 0.5), (0.8, 0.8), 0.01) < 1e-6
    True
    """
    low, high = spot
    steps = 64 if expected[1] > expected[0] else 1
    share = (np.arange(steps) + 0.5) / steps
    at = expected[0] + share * (expected[1] - expected[0])
    if high > low:
        upper, lower = ((end - at) / (u * math.sqrt(2.0)) for end in (high, low))
        chance = np.mean([0.5 * (math.erf(a) - math.erf(b)) for a, b in zip(upper, lower, strict=True)])
        return max(float(chance) / (high - low), 1e-12)
    density = np.exp(-0.5 * ((low - at) / u) ** 2) / (u * math.sqrt(2.0 * math.pi))
    return max(float(density.mean()), 1e-12)


def end_factor(spot: tuple[float, float], expected: tuple[float, float], u: float) -> float:
    """Bayes factor of a spot at the origin or with the front, or of a candidate there: weak if it agrees."""
    return min(interval_factor(spot, expected, u), WEAKEST)

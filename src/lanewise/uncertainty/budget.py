"""Who brings how much: budgets by source, effective degrees of freedom, expanded uncertainty."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.sources import Floats, group_of, offsets


@dataclass(frozen=True, slots=True)
class BudgetLine:
    """One line of a budget.

    Attributes
    ----------
    source : str
        Name of the source or of its group.
    u : float
        Standard uncertainty that it brings to the result, in the unit of the result.
    share : float
        Its share of the variance, 0 to 1.
    dof : float
        Effective degrees of freedom of `u`.
    """

    source: str
    u: float
    share: float
    dof: float


def group_variances(measured: Measured) -> Floats:
    """Give the variance that each source group brings to each value, shape (N, G)."""
    count, groups = len(measured), len(measured.groups)
    cells = np.arange(count)[:, None] * groups + group_of(measured.ids, measured.groups)
    sums = np.bincount(cells.ravel(), weights=(measured.parts**2).ravel(), minlength=count * groups)
    return np.asarray(sums, dtype=float).reshape(count, groups)


def budget(measured: Measured, *, each: bool = False) -> tuple[BudgetLine, ...]:
    """Give the budget of one result, the largest share first.

    Parameters
    ----------
    measured : Measured
        One value (choose it first: ``measured[3]``).
    each : bool
        True for a line each source, False for a line each group. Sources or groups of one name share a line.

    Returns
    -------
    tuple of BudgetLine
        Lines that bring nothing are left out.

    Raises
    ------
    ValueError
        If more or fewer than one value is given.

    References
    ----------
    JCGM 100:2008, 5.1.3 (clause number from memory).

    Examples
    --------
    >>> from lanewise.uncertainty.inputs import from_standard
    >>> rest = from_standard([85.0], 0.3, "front reading") - from_standard([40.0], 0.4, "spot reading")
    >>> [(line.source, round(line.u, 2), round(line.share, 2)) for line in budget(rest)]
    [('spot reading', 0.4, 0.64), ('front reading', 0.3, 0.36)]
    """
    if len(measured) != 1:
        raise ValueError(f"a budget is made for one value, given {len(measured)}; choose one: measured[0]")
    first, places = offsets(measured.groups), group_of(measured.ids[0], measured.groups)
    columns: dict[str, list[int]] = {}
    for column in np.flatnonzero(measured.parts[0]):
        group = measured.groups[places[column]]
        name = group.describe(int(measured.ids[0, column] - first[places[column]])) if each else group.name
        columns.setdefault(name, []).append(int(column))
    total = float(measured.u[0]) ** 2
    lines = []
    for name, chosen in columns.items():
        line = Measured(measured.values, measured.parts[:, chosen], measured.ids[:, chosen], measured.groups)
        u = float(line.u[0])
        lines.append(BudgetLine(name, u, u**2 / total, float(effective_dof(line)[0])))
    return tuple(sorted(lines, key=lambda line: -line.share))


def effective_dof(measured: Measured) -> Floats:
    """Effective degrees of freedom of each value by the Welch-Satterthwaite formula.

    Parameters
    ----------
    measured : Measured
        N values.

    Returns
    -------
    array of shape (N,)
        u**4 over the sum of (part**4 / dof); infinite where every source is taken as known. The sources of a joint
        group, which rest on one estimate of spread, count as one source. Not rounded.

    Notes
    -----
    The formula wants independent sources, which parts are by construction.

    References
    ----------
    JCGM 100:2008, G.4.1 (clause number from memory).

    Examples
    --------
    >>> from lanewise.uncertainty.inputs import from_readings
    >>> first, second = from_readings([9.8, 10.0, 10.2], "first"), from_readings([4.9, 5.0, 5.1], "second")
    >>> effective_dof(first + second).round(2).tolist()
    [2.94]
    """
    total = np.zeros(len(measured))
    places = group_of(measured.ids, measured.groups)
    for place, group in enumerate(measured.groups):
        if not np.isfinite(group.dof):
            continue
        squares = np.where(places == place, measured.parts, 0.0) ** 2
        fourth = squares.sum(axis=1) ** 2 if group.joint else (squares**2).sum(axis=1)
        total += fourth / group.dof
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(total > 0, measured.u**4 / total, np.inf)


def coverage_factor(dof: ArrayLike, level: float = 0.95) -> Floats:
    """Factor k of the expanded uncertainty: the two-sided quantile of Student's t.

    Parameters
    ----------
    dof : float or array
        Effective degrees of freedom, at least 1; finite ones are cut to the whole number below
        (JCGM 100:2008, G.4.1; clause number from memory).
    level : float
        Coverage probability, between 0 and 1.

    Returns
    -------
    array
        1.96 for infinite degrees of freedom at 95 %.

    Raises
    ------
    ValueError
        If there is less than 1 degree of freedom, or the level is not between 0 and 1.

    Examples
    --------
    >>> round(float(coverage_factor(16, 0.99)), 2), round(float(coverage_factor(float("inf"))), 2)
    (2.92, 1.96)
    """
    from scipy.special import ndtri, stdtrit

    check_level(level)
    array = np.asarray(dof, dtype=float) * (1.0 + 1e-9)  # 3.9999999999999996 are 4 degrees of freedom
    if not np.all(array >= 1.0):
        raise ValueError(f"wanted at least 1 degree of freedom, given {np.min(dof)}")
    upper = (1.0 + level) / 2.0
    finite = np.isfinite(array)
    whole = np.floor(np.where(finite, array, 1.0))
    return np.where(finite, stdtrit(whole, upper), ndtri(upper))


def expanded(measured: Measured, level: float = 0.95) -> Floats:
    """Expanded uncertainty U = k u of each value for a coverage probability, shape (N,)."""
    return measured.u * coverage_factor(effective_dof(measured), level)


def check_level(level: float) -> None:
    """Refuse a coverage probability that is not between 0 and 1."""
    if not 0.0 < level < 1.0:
        raise ValueError(f"wanted a coverage probability between 0 and 1, given {level}")

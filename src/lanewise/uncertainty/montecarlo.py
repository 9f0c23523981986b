"""Propagation of distributions by trials, stopped when the result has settled (JCGM 101)."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from math import ceil
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from lanewise.uncertainty.budget import check_level
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.propagation import matched
from lanewise.uncertainty.rounding import decimals_for, to_digits
from lanewise.uncertainty.sources import Floats, Ids, SourceGroup, group_of, renumber, union

LEAST_BLOCK = 10_000


@dataclass(frozen=True, slots=True)
class Sampled:
    """What trials gave for N results.

    Attributes
    ----------
    values, u : arrays of shape (N,)
        Mean and standard deviation of the trials.
    low, high : arrays of shape (N,)
        Ends of the shortest coverage interval.
    level : float
        Coverage probability.
    trials : integer array of shape (N,)
        How many were drawn.
    undefined : array of shape (N,)
        Share of the trials for which the formula gave no finite number, such as the logarithm of a negative one. They
        are left out, so that the other results hold on condition that the quantity exists.
    settled : boolean array of shape (N,)
        True where the results were shown to be stable to the wanted digits.
    """

    values: Floats
    u: Floats
    low: Floats
    high: Floats
    level: float
    trials: Ids
    undefined: Floats
    settled: np.ndarray[tuple[int], np.dtype[np.bool_]]


def sample(
    formula: Callable[..., Any],
    *inputs: Measured | ArrayLike,
    level: float = 0.95,
    digits: int | None = None,
    trials: int | None = None,
    most: int = 2_000_000,
    seed: int = 1,
) -> Sampled:
    """Apply a formula value by value to trials drawn from the inputs' own sources.

    A source that several inputs share is drawn once for each trial, so correlations are kept.

    Parameters
    ----------
    formula : callable
        As for `propagation.propagate`: plain array arithmetic, row by row.
    *inputs : Measured or array
        Each of N values, or of one value that serves all.
    level : float
        Coverage probability of the shortest interval, between 0 and 1.
    digits : int, optional
        Significant digits of each standard uncertainty that must be stable, 1 or 2; without it those that are
        printed, see `rounding.decimals_for`.
    trials : int, optional
        Draw exactly this many instead of stopping when settled.
    most : int
        Never draw more than this.
    seed : int
        Same seed, same result.

    Returns
    -------
    Sampled
        Of N values. Where fewer than 1 / (1 - level) trials gave a number the row is nan.

    Raises
    ------
    ValueError
        If the level is not between 0 and 1, the inputs have different lengths, fewer than two trials are asked for,
        or the formula does not give one value a trial.

    Notes
    -----
    Blocks of max(10 000, 100 / (1 - level)) trials are drawn, row by row, until twice the standard deviation of the
    mean over the blocks of value, uncertainty and both ends is within the numerical tolerance of u
    (JCGM 101:2008, 7.9.4; clause number from memory). All trials of the row then go into the result together. A
    distribution without a standard deviation does not settle, and says so; its ends are still meaningful.

    Examples
    --------
    First order says that the square of 0 ± 1 is 0 ± 0. Trials know better:

    >>> from lanewise.uncertainty.inputs import from_standard
    >>> square = sample(lambda x: x**2, from_standard([0.0], 1.0, "reading"))
    >>> square.values.round(0).tolist(), square.u.round(1).tolist(), square.settled.tolist()
    ([1.0], [1.4], [True])
    """
    check_level(level)
    terms, count = matched(inputs)
    wanted = most if trials is None else trials
    if wanted < 2:
        raise ValueError(f"wanted at least 2 trials, given {wanted}")
    block = max(LEAST_BLOCK, ceil(round(100.0 / (1.0 - level), 6)))
    found, drawn = np.empty((count, 4)), np.zeros(count, dtype=np.int64)
    undefined, settled = np.zeros(count), np.zeros(count, dtype=bool)
    for row in range(count):
        chosen = [term[row] if len(term) == count else term for term in terms]
        block_of = partial(_block, formula, chosen, np.random.Generator(np.random.SFC64([seed, row])))
        found[row], drawn[row], undefined[row], settled[row] = _one_row(
            block_of, level, digits, block, wanted, stop=trials is None
        )
    values, u, low, high = found.T.copy()
    return Sampled(values, u, low, high, level, drawn, undefined, settled)


def draw(measured: Measured, trials: int, seed: int = 1) -> Floats:
    """Draw all values together, so that sources they share move them together in each trial.

    Parameters
    ----------
    measured : Measured
        N values. One that is nan stays nan.
    trials : int
        How many trials, at least 1.
    seed : int
        Same seed, same trials.

    Returns
    -------
    array of shape (trials, N)
        Values of the same unit. The sources of a joint group with few degrees of freedom share one estimate of spread
        in each trial.

    Raises
    ------
    ValueError
        If fewer than one trial is asked for.

    Examples
    --------
    >>> from lanewise.uncertainty.inputs import from_standard
    >>> two = from_standard([10.0, 20.0], 0.5, "front reading", source=[0, 0])
    >>> apart = draw(two, 1000)
    >>> apart.shape, bool(abs((apart[:, 1] - apart[:, 0] - 10.0)).max() < 1e-12)
    ((1000, 2), True)
    """
    if trials < 1:
        raise ValueError(f"wanted at least 1 trial, given {trials}")
    rng = np.random.Generator(np.random.SFC64([seed]))
    used, place = np.unique(measured.ids, return_inverse=True)
    of_group = group_of(used, measured.groups)
    deviations = np.empty((len(used), trials))
    for number in np.unique(of_group):
        rows = np.flatnonzero(of_group == number)
        deviations[rows] = _deviations(rng, measured.groups[number], (len(rows), trials))
    result = np.repeat(measured.values[:, None], trials, axis=1)
    for column, sources in enumerate(place.reshape(measured.ids.shape).T):
        result += measured.parts[:, column, None] * deviations[sources]
    return np.ascontiguousarray(result.T)


def tolerances(u: Floats, digits: int | None = None) -> Floats:
    """Numerical tolerance of each standard uncertainty: half a unit of its last significant digit.

    Writing u as c times 10**l with c a whole number of `digits` digits, it is 10**l / 2 (JCGM 101:2008, 7.9.2;
    clause number from memory).

    Parameters
    ----------
    u : array of shape (N,)
        Standard uncertainties.
    digits : int, optional
        Significant digits; without it those that are printed, see `rounding.decimals_for`.

    Returns
    -------
    array of shape (N,)
        In the unit of u. 0 gives 0: such a result is settled at once. One that is not finite gives nan: it never is.

    Examples
    --------
    >>> import numpy as np
    >>> tolerances(np.array([0.00035, 0.0754, 35.8]), 2).tolist()
    [5e-06, 0.0005, 0.5]
    >>> tolerances(np.array([0.00035, 0.0754, 35.8])).tolist()
    [5e-05, 0.005, 5.0]
    """
    result = np.where(np.isfinite(u), 0.0, np.nan)
    for row in np.flatnonzero(np.isfinite(u) & (u > 0.0)):
        value = float(u[row])
        last = -decimals_for(value) if digits is None else to_digits(value, digits).adjusted() + 1 - digits
        result[row] = float(f"5e{last - 1}")
    return result


def shortest_interval(results: Floats, level: float) -> tuple[Floats, Floats]:
    """Shortest interval that holds a share `level` of T trials, for each of N columns.

    Parameters
    ----------
    results : array of shape (T, N)
        Trials, at least about 1 / (1 - level).
    level : float
        Share of the trials, between 0 and 1.

    Returns
    -------
    low, high : arrays of shape (N,)
        Ends, both of them trials.

    Raises
    ------
    ValueError
        If there are too few trials for one of them to lie outside.

    References
    ----------
    JCGM 101:2008, 7.7 (clause number from memory).

    Examples
    --------
    >>> import numpy as np
    >>> low, high = shortest_interval(np.array([[0.0], [1.0], [1.5], [2.0], [9.0]]), 0.6)
    >>> low.tolist(), high.tolist()
    ([0.0], [2.0])
    """
    check_level(level)
    inside = int(level * len(results) + 0.5)
    if inside >= len(results):
        raise ValueError(f"{len(results)} trials are too few for an interval that holds {level:g} of them")
    ordered = np.sort(results, axis=0)
    start = np.argmin(ordered[inside:] - ordered[: len(ordered) - inside], axis=0)[None, :]
    low, high = (np.take_along_axis(ordered, place, axis=0)[0] for place in (start, start + inside))
    return low, high


def _block(formula: Callable[..., Any], terms: list[Measured], rng: np.random.Generator, trials: int) -> Floats:
    """Draw the sources of one row, each once, and put them through the formula, shape (trials,)."""
    groups = union(*(term.groups for term in terms))
    numbers = [renumber(term.ids[0], term.groups, groups) for term in terms]
    used = np.unique(np.concatenate([np.zeros(0, dtype=np.int64), *numbers]))
    places = group_of(used, groups)
    deviations = np.empty((len(used), trials))
    for place in np.unique(places):
        rows = np.flatnonzero(places == place)
        deviations[rows] = _deviations(rng, groups[place], (len(rows), trials))
    drawn = [
        term.values[0] + term.parts[0] @ deviations[np.searchsorted(used, ids)]
        for term, ids in zip(terms, numbers, strict=True)
    ]
    with np.errstate(all="ignore"):
        results = np.asarray(formula(*drawn), dtype=float)
    if results.shape != (trials,):
        raise ValueError(f"the formula must give one value a trial: wanted shape ({trials},), given {results.shape}")
    return results


def _deviations(rng: np.random.Generator, group: SourceGroup, size: tuple[int, int]) -> Floats:
    """Draw sources of one group in units of their parts, shape (sources, trials)."""
    if group.shape == "rectangular":
        return rng.uniform(-np.sqrt(3.0), np.sqrt(3.0), size)
    if group.shape == "triangular":
        return rng.triangular(-np.sqrt(6.0), 0.0, np.sqrt(6.0), size)
    if group.shape == "arcsine":
        return np.asarray(np.sqrt(2.0) * np.sin(rng.uniform(-np.pi, np.pi, size)))
    normal = rng.standard_normal(size)
    if group.shape == "normal" or np.isinf(group.dof):
        return normal
    estimates = (1, size[1]) if group.joint else size  # one estimate of spread for all, or one each
    return np.asarray(normal * np.sqrt(group.dof / rng.chisquare(group.dof, estimates)))


def _one_row(
    block_of: Callable[[int], Floats], level: float, digits: int | None, block: int, wanted: int, *, stop: bool
) -> tuple[Floats, int, float, bool]:
    """Give the summary of one row, the number of trials, the share without a number and whether it settled."""
    results: list[Floats] = []
    summaries: list[Floats] = []
    drawn, settled = 0, False
    while drawn < wanted and not (stop and settled):
        size = min(block, wanted - drawn)
        found = block_of(size)
        results.append(found[np.isfinite(found)])
        drawn += size
        if size == block:
            summaries.append(_summary(results[-1], level))
            settled = _settled(np.array(summaries), digits)
    pooled = np.concatenate(results)
    return _summary(pooled, level), drawn, 1.0 - len(pooled) / drawn, settled


def _summary(results: Floats, level: float) -> Floats:
    """Mean, standard deviation, and both ends of the shortest interval; nan where there are too few trials."""
    if int(level * len(results) + 0.5) >= len(results):
        return np.full(4, np.nan)
    low, high = shortest_interval(results[:, None], level)
    return np.array([results.mean(), results.std(ddof=1), low[0], high[0]])


def _settled(summaries: Floats, digits: int | None) -> bool:
    """Compare twice the standard deviation of each mean over the blocks with the tolerance of u of all trials."""
    if len(summaries) < 2:
        return False
    drift = 2.0 * summaries.std(axis=0, ddof=1) / np.sqrt(len(summaries))
    u = np.sqrt((summaries[:, 1] ** 2).mean() + summaries[:, 0].var())
    return bool(np.all(drift <= tolerances(np.array([u]), digits)))

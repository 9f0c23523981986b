"""First-order propagation: carry a plain array formula through, parts and all."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from lanewise.uncertainty.inputs import exact
from lanewise.uncertainty.measured import Measured, joined
from lanewise.uncertainty.sources import Floats

STEP = 0.01  # of a standard uncertainty: the formula is straight over that much, or first order is no use
LEAST_STEP = 1e-6  # of the value: below that, rounding spoils the difference


def propagate(formula: Callable[..., Any], *inputs: Measured | ArrayLike) -> Measured:
    """Apply a formula value by value and carry the uncertainty through to first order.

    The formula is plain array arithmetic and knows nothing of uncertainty. Where it carries exact derivatives (an
    attribute ``derivatives`` that takes the same arguments and gives one array an argument) they are used; otherwise
    each is found by a five-point difference. First order is doubtful where the formula bends within one
    standard uncertainty: there use `montecarlo.sample` or a closed-form interval of `intervals`.

    Parameters
    ----------
    formula : callable
        Row i of its result depends on row i of its inputs alone.
    *inputs : Measured or array
        Each of N values, or of one value that serves all; a plain array is taken as exact.

    Returns
    -------
    Measured
        N values; sources shared by the inputs stay shared, so covariances with any other result remain exact.

    Raises
    ------
    ValueError
        If the inputs have different lengths, or the formula does not give one value a row (or its derivatives not
        one array an input).

    References
    ----------
    JCGM 100:2008, 5.1 and 5.2 (clause numbers from memory).

    Examples
    --------
    >>> from lanewise.uncertainty.inputs import from_standard
    >>> def share(part, whole):
    ...     return part / whole
    >>> part, whole = from_standard([40.0], 0.3, "reading"), from_standard([80.0], 0.4, "other reading")
    >>> result = propagate(share, part, whole)
    >>> float(result.values[0]), round(float(result.u[0]), 6)
    (0.5, 0.004507)
    """
    terms, count = matched(inputs)
    columns = [np.broadcast_to(term.values, (count,)) for term in terms]
    values = np.array(formula(*columns), dtype=float)
    if values.shape != (count,):
        raise ValueError(f"the formula must give one value a row: wanted shape ({count},), given {values.shape}")
    known = getattr(formula, "derivatives", None)
    slopes = _slopes(formula, columns, terms) if known is None else list(known(*columns))
    if len(slopes) != len(terms):
        raise ValueError(f"the formula's derivatives must give {len(terms)} arrays, one an input; given {len(slopes)}")
    return joined(values, list(zip(terms, slopes, strict=True)))


def propagate_jointly(formula: Callable[..., Any], *inputs: Measured | ArrayLike) -> Measured:
    """Apply a formula whose results depend on all rows at once: a fit, a criterion for a whole chromatogram.

    Parameters
    ----------
    formula : callable
        Takes whole arrays, of any lengths, and gives a number or an array of M numbers.
    *inputs : Measured or array
        A plain array is taken as exact.

    Returns
    -------
    Measured
        M values. The derivatives are found by five-point differences, one input value at a time.

    Examples
    --------
    >>> import numpy as np
    >>> from lanewise.uncertainty.inputs import from_standard
    >>> readings = from_standard([20.0, 44.0, 61.0], 0.3, "spot reading")
    >>> widest = propagate_jointly(lambda x: np.diff(x).max(), readings)
    >>> float(widest.values[0]), round(float(widest.u[0]), 3)
    (24.0, 0.424)
    """
    terms = [as_measured(item) for item in inputs]
    columns = [term.values for term in terms]
    values = np.atleast_1d(np.array(formula(*columns), dtype=float))
    moved = []
    for position, term in enumerate(terms):
        u = term.u
        steps = _steps(term.values, u)
        jacobian = np.zeros((len(values), len(term)))
        for row in np.flatnonzero(u):
            shift = np.zeros(len(term))
            shift[row] = steps[row]
            jacobian[:, row] = _five_points(formula, columns, position, shift) / steps[row]
        moved.append((term.combined(jacobian), 1.0))
    return joined(values, moved)


def as_measured(item: Measured | ArrayLike) -> Measured:
    """Take a plain array as exact; leave a `Measured` as it is."""
    return item if isinstance(item, Measured) else exact(item)


def matched(inputs: tuple[Measured | ArrayLike, ...]) -> tuple[list[Measured], int]:
    """Give the inputs of a formula as `Measured`, and how many rows they make together."""
    terms = [as_measured(item) for item in inputs]
    count = next((len(term) for term in terms if len(term) != 1), min(len(terms), 1))
    for position, term in enumerate(terms, start=1):
        if len(term) not in (1, count):
            raise ValueError(f"input {position} has {len(term)} values; wanted {count} or one")
    return terms, count


def _slopes(formula: Callable[..., Any], columns: list[Floats], terms: list[Measured]) -> list[ArrayLike]:
    slopes: list[ArrayLike] = []
    for position, term in enumerate(terms):
        if term.parts.size == 0:
            slopes.append(0.0)
            continue
        steps = np.broadcast_to(_steps(term.values, term.u), columns[position].shape)
        slopes.append(_five_points(formula, columns, position, steps) / steps)
    return slopes


def _steps(values: Floats, u: Floats) -> Floats:
    """Choose steps by the uncertainty, so that the zero from which positions count plays no part."""
    steps = np.maximum(STEP * u, LEAST_STEP * np.abs(values))
    return np.where(steps > 0.0, steps, 1.0)


def _five_points(formula: Callable[..., Any], columns: list[Floats], position: int, shift: Floats) -> Floats:
    """Change of the formula along one input, to the fourth power of the shift."""

    def at(multiple: float) -> Floats:
        moved = list(columns)
        moved[position] = columns[position] + multiple * shift
        return np.atleast_1d(np.asarray(formula(*moved), dtype=float))

    return np.asarray((8.0 * (at(1.0) - at(-1.0)) - (at(2.0) - at(-2.0))) / 12.0, dtype=float)

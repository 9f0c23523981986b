"""Exact partial derivatives, carried by the formula they belong to."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import ParamSpec, Protocol, TypeAlias, TypeVar, cast

import numpy as np
import numpy.typing as npt

from lanewise.quantities._elementwise import Values

Partials: TypeAlias = Callable[..., Iterable[Values]]
Derivatives: TypeAlias = Callable[..., tuple[npt.NDArray[np.float64], ...]]

Inputs = ParamSpec("Inputs")
Result = TypeVar("Result", covariant=True)


class DifferentiableFormula(Protocol[Inputs, Result]):
    """A formula that knows its partial derivatives.

    Attributes
    ----------
    derivatives : callable
        ``derivatives(*inputs)`` gives one array an input, in the order of the formula's positional
        parameters, each of the shape to which the inputs broadcast (read-only views). Where the formula
        has no finite derivative the array holds inf or nan; no warning is given.
    """

    derivatives: Derivatives

    def __call__(self, *args: Inputs.args, **kwargs: Inputs.kwargs) -> Result:
        """Evaluate the formula."""


def with_derivatives(
    partials: Partials,
) -> Callable[[Callable[Inputs, Result]], DifferentiableFormula[Inputs, Result]]:
    """Make a decorator that gives a formula its partial derivatives.

    Parameters
    ----------
    partials : callable
        ``partials(*inputs)`` gives one derivative an input, in the order of the formula's positional
        parameters; a constant derivative may be given as a plain number.

    Returns
    -------
    callable
        The decorator; it returns the formula itself, with the attribute ``derivatives``.

    Examples
    --------
    >>> @with_derivatives(lambda length, width: (width, length))
    ... def area(length, width):
    ...     return length * width
    >>> area(3.0, 2.0)
    6.0
    >>> [d.tolist() for d in area.derivatives([3.0, 5.0], 2.0)]
    [[2.0, 2.0], [3.0, 5.0]]
    """

    def derivatives(*inputs: npt.ArrayLike) -> tuple[npt.NDArray[np.float64], ...]:
        arrays = [np.asarray(values, dtype=float) for values in inputs]
        shape = np.broadcast_shapes(*(array.shape for array in arrays))
        with np.errstate(all="ignore"):
            return tuple(np.broadcast_to(partial, shape) for partial in partials(*arrays))

    def attach(formula: Callable[Inputs, Result]) -> DifferentiableFormula[Inputs, Result]:
        differentiable = cast("DifferentiableFormula[Inputs, Result]", formula)
        differentiable.derivatives = derivatives
        return differentiable

    return attach

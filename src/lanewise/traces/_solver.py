"""Least squares for sums of shapes: amounts are solved for, only what bends the shapes is searched.

A model is y = sum of amount_l times shape_l(x; theta), where each element of theta bends one shape. For given theta the
amounts follow by linear least squares, so that they need no start (variable projection: Golub and Pereyra 1973; the
approximate derivative of Kaufman 1975; both from memory). Steps are Gauss and Newton's, damped after Marquardt where
they do not lead down.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import TypeAlias

import numpy as np

from lanewise.errors import AnalysisError
from lanewise.traces._grids import Counts, Floats

Model: TypeAlias = Callable[[Floats], tuple[Floats, Floats]]
"""Takes theta, (K,); gives the shapes, (N, L), and for each element of theta the derivative of its shape, (N, K)."""

ROUNDS = 200
AT_RIGHT_ANGLES = 1e-12  # cosine between residuals and any derivative: the sum of squares cannot be told from its least
ROUNDING = 1e-14  # of the sum of squares: a smaller gain cannot be seen in it
EXACT = 1e-8  # of the values: residuals smaller than that are none
NEARLY = 1e-8  # of the sum of squares: a step that gains less moves nothing by a hundredth of its uncertainty


@dataclass(frozen=True, eq=False)
class Solution:
    """Where the sum of squares is least."""

    amounts: Floats
    theta: Floats
    residuals: Floats
    jacobian: Floats
    """Derivatives of the model by all amounts, then by all of theta, shape (N, L + K)."""

    @property
    def dof(self) -> int:
        """Degrees of freedom: points less parameters."""
        points, parameters = self.jacobian.shape
        return int(points - parameters)

    @property
    def residual_sd(self) -> float:
        """Residual standard deviation."""
        return float(np.sqrt(np.sum(self.residuals**2) / self.dof))

    @cached_property
    def orthonormal(self) -> tuple[Floats, Floats]:
        """Basis of what the model can follow, (N, P), and how each parameter moves with each value, (P, N)."""
        sizes = np.linalg.norm(self.jacobian, axis=0)
        if not sizes.all():
            raise AnalysisError("one of the shapes has vanished: nothing of it is seen in the trace")
        basis, triangle = np.linalg.qr(self.jacobian / sizes)
        across = np.abs(np.diagonal(triangle))
        if across.min() < 1e-9 * across.max():
            raise AnalysisError(
                "two of the shapes cannot be told apart: the same curve follows from other numbers; "
                "leave out a spot, or take a baseline of lower degree"
            )
        return basis, np.linalg.solve(triangle, basis.T) / sizes[:, None]


def least_squares(model: Model, bends: Counts, start: Floats, values: Floats) -> Solution:
    """Fit a model to N values.

    Parameters
    ----------
    model : callable
        See `Model`.
    bends : integer array of shape (K,)
        Which shape each element of theta bends.
    start : array of shape (K,)
        First guess of theta.
    values : array of shape (N,)
        What is to be followed.

    Returns
    -------
    Solution
        The nearest least sum of squares.

    Raises
    ------
    AnalysisError
        If none is reached.
    """
    theta, state, damping = start.astype(float), _State(model, bends, start.astype(float), values), 1e-3
    if not np.isfinite(state.squares):
        raise AnalysisError("the shapes cannot be told apart where the fit begins: begin elsewhere")
    for _ in range(ROUNDS):
        if state.skew <= AT_RIGHT_ANGLES or state.squares <= (EXACT * np.linalg.norm(values)) ** 2:
            return state.solution(theta)
        matrix = state.slopes.T @ state.slopes
        while damping < 1e12:
            step = np.linalg.solve(matrix + damping * np.eye(len(theta)), state.pull)
            tried = _State(model, bends, theta + step / state.scale, values)
            foreseen, gained = float(step @ state.pull), state.squares - tried.squares
            gain = (1.0 + damping) * min(foreseen, abs(gained)) / state.squares  # what a whole step might bring
            if gain < NEARLY and not tried.skew < state.skew / 3.0:  # it would go on for long, and to no end
                return state.solution(theta)
            there = foreseen < ROUNDING * state.squares
            if there and not np.isfinite(tried.squares):  # a step of no size, to where the shapes are lost
                return state.solution(theta)
            if there or gained > 0.0:
                break
            damping *= 10.0
        else:
            break
        theta, state, damping = theta + step / state.scale, tried, max(damping / 10.0, 1e-12)
    raise AnalysisError(f"the fit did not settle in {ROUNDS} rounds: begin nearer, or with fewer shapes")


class _State:
    """Everything at one theta; `squares` is infinite where the model cannot be followed."""

    @np.errstate(all="ignore")
    def __init__(self, model: Model, bends: Counts, theta: Floats, values: Floats) -> None:
        self.squares = self.skew = np.inf
        self.shapes, self.derivatives = model(theta)
        if not np.isfinite(np.sum(self.shapes**2) + np.sum(self.derivatives**2)):
            return
        basis, triangle = np.linalg.qr(self.shapes)
        across = np.abs(np.diagonal(triangle))
        if not across.min() > 1e-12 * across.max():
            return
        along = basis.T @ values
        self.amounts = np.linalg.solve(triangle, along)
        self.residuals = values - basis @ along
        self.squares = float(self.residuals @ self.residuals)
        self.moved = self.derivatives * self.amounts[bends]
        slopes = self.moved - basis @ (basis.T @ self.moved)
        self.scale = np.sqrt(np.sum(slopes**2, axis=0))
        self.scale[self.scale == 0.0] = 1.0
        self.slopes = slopes / self.scale
        self.pull = self.slopes.T @ self.residuals
        self.skew = float(np.abs(self.pull).max(initial=0.0)) / np.sqrt(self.squares) if self.squares else 0.0

    def solution(self, theta: Floats) -> Solution:
        """Give what is worth keeping."""
        return Solution(self.amounts, theta, self.residuals, np.concatenate([self.shapes, self.moved], axis=1))

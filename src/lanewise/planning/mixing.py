"""Amounts of a recipe: exact ones, the scale that suits the glassware, and what is mixed in the end."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np
from numpy.typing import NDArray

from lanewise.errors import PlanError
from lanewise.planning.glassware import Glassware, Taken, measure_out
from lanewise.uncertainty.inputs import from_limits, from_standard
from lanewise.uncertainty.propagation import propagate_jointly

Floats = NDArray[np.float64]

LABEL = 0.005
"""Half of the last digit of a strength in whole per cent, the limits between which it lies. [1]"""

HIT = 5e-4
"""Relative error of a part that is printed as none. [1]"""

NEAR = 0.01
"""Relative error of a part below which less liquid counts for more (common practice, no source). [1]"""


@dataclass(frozen=True)
class Liquids:
    """The N liquids of a mixture.

    Attributes
    ----------
    names : tuple of str
    parts : array of shape (N,)
        Parts by volume of the pure substances.
    strengths : array of shape (N,)
        Volume of pure substance in one volume of what is poured; the rest of it is water. [1]
    water : int or None
        Place of the water among the liquids, which the water of the others counts for.
    """

    names: tuple[str, ...]
    parts: Floats
    strengths: Floats
    water: int | None

    def exact(self, total: float) -> Floats:
        """Volumes to pour for a total, the water of diluted ones taken off the water. [mL].

        Raises
        ------
        PlanError
            If a liquid brings more water than the mixture has.
        """
        pure = total * self.parts / self.parts.sum()
        poured = np.array(pure / self.strengths)
        brought = float((poured - pure).sum())
        if brought > 0.0:
            if self.water is None:
                weak = ", ".join(n for n, s in zip(self.names, self.strengths, strict=True) if s < 1.0)
                raise PlanError(
                    f"recipe: wanted {weak} free of water, for the system has no water; its strength says otherwise. "
                    "Use the pure liquid, or name a system with water."
                )
            poured[self.water] -= brought
            if poured[self.water] < -1e-9 * total:
                raise PlanError(
                    f"recipe: wanted {100 * pure[self.water] / total:.3g} % of water, but the diluted liquids bring "
                    f"{100 * brought / total:.3g} % with them. Use a stronger liquid, or a system with more water."
                )
        return np.where(np.abs(poured) < 1e-9 * total, 0.0, poured)

    def shares(self, poured: Floats, strengths: Floats) -> Floats:
        """Shares by volume of the pure substances in what was poured, shape (N,); they add up to 1."""
        pure = poured * strengths
        if self.water is not None:
            pure[self.water] += float((poured - pure).sum())
        return np.asarray(pure / poured.sum())


@dataclass(frozen=True)
class Mixed:
    """What is measured out, and what comes of it; arrays of shape (N,)."""

    taken: tuple[Taken | None, ...]
    exact: Floats
    shares: Floats
    u_shares: Floats

    @property
    def total(self) -> float:
        """Sum of the volumes. [mL]."""
        return sum(one.volume for one in self.taken if one is not None)


def mix(liquids: Liquids, volume: float, glassware: Sequence[Glassware], spare: float) -> Mixed:
    """Measure the liquids out, making up to `spare` more where that comes nearer to the parts.

    Of the totals tried, each gives every part as near as the glass can. The smallest that hits every part is taken; of
    those that do not, the smallest whose parts are all within 1 %; of the others the one with the smallest worst error.
    Shares count the volumes before mixing, which may shrink.
    """
    wanted = liquids.parts / liquids.parts.sum()
    best: tuple[int, float, float] | None = None
    for total in _totals(liquids, volume, glassware, spare):
        exact = liquids.exact(total)
        poured = np.array([measure_out(float(one), glassware).volume if one > 0.0 else 0.0 for one in exact])
        if poured.sum() < volume * (1.0 - 1e-9):
            continue
        worst = float(np.max(np.abs(liquids.shares(poured, liquids.strengths) / wanted - 1.0)))
        rank = 0 if worst <= HIT else 1 if worst <= NEAR else 2
        best = min(best or (3, 0.0, 0.0), (rank, round(worst, 9) if rank == 2 else 0.0, total))
    exact = liquids.exact(volume * (1.0 + spare) if best is None else best[2])
    taken = tuple(measure_out(float(one), glassware) if one > 0.0 else None for one in exact)
    poured = np.array([0.0 if one is None else one.volume for one in taken])
    u = np.array([0.0 if one is None else one.u for one in taken])
    found = propagate_jointly(
        liquids.shares,
        from_standard(poured, u, "volume"),
        from_limits(liquids.strengths, np.where(liquids.strengths < 1.0, LABEL, 0.0), "strength"),
    )
    return Mixed(taken, exact, found.values, found.u)


def _totals(liquids: Liquids, volume: float, glassware: Sequence[Glassware], spare: float) -> list[float]:
    """Totals worth trying: an even grid, and those that bring the smallest part to a mark."""
    tried = {volume * (1.0 + spare * number / 20.0) for number in range(21)}
    exact = liquids.exact(volume)
    for part in {float(one) for one in exact if one > 0.0}:
        for step in {glass.division or glass.capacity for glass in glassware}:
            first = ceil(part / step - 1e-9)
            tried |= {volume * step * number / part for number in range(first, first + 12)}
    return sorted(total for total in tried if volume <= total <= volume * (1.0 + spare) * (1.0 + 1e-12))

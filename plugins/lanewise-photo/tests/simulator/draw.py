"""Random choices of one picture, each with a stream of its own.

Changing one choice leaves all others as they were, so that two pictures of one seed differ in what was changed alone.
"""

from __future__ import annotations

import zlib
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np


class Draw:
    """Draws values by name; a value in `changes` takes the place of a drawn one.

    Parameters
    ----------
    kind : str
        Kind of picture; pictures of two kinds share nothing.
    seed : int
        Not below zero.
    changes : mapping of str to object
        Values that are given and not drawn.
    fault : mapping of str to object
        The same, for what a fault fixes; `changes` go before it.
    """

    def __init__(
        self, kind: str, seed: int, changes: Mapping[str, Any], fault: Mapping[str, Any] | None = None
    ) -> None:
        self.kind, self.seed, self._own = kind, seed, set(changes)
        self.changes = {**(fault or {}), **changes}
        self._asked: set[str] = set()

    def rng(self, name: str) -> np.random.Generator:
        """Give the stream of random numbers that belongs to a name."""
        return np.random.default_rng([zlib.crc32(f"{self.kind}/{name}".encode()), self.seed])

    def given(self, name: str, value: Any) -> Any:
        """Give the change of that name, or the value where there is none."""
        self._asked.add(name)
        return self.changes.get(name, value)

    def uniform(self, name: str, low: float, high: float) -> float:
        """Draw evenly between two numbers."""
        return float(self.given(name, self.rng(name).uniform(low, high)))

    def normal(self, name: str, mean: float, sd: float) -> float:
        """Draw from a normal distribution, cut at two and a half standard deviations."""
        return float(self.given(name, mean + sd * np.clip(self.rng(name).standard_normal(), -2.5, 2.5)))

    def whole(self, name: str, low: int, high: int) -> int:
        """Draw a whole number, both ends included."""
        return int(self.given(name, int(self.rng(name).integers(low, high + 1))))

    def chance(self, name: str, probability: float) -> bool:
        """Draw yes or no."""
        return bool(self.given(name, bool(self.rng(name).random() < probability)))

    def choice(self, name: str, options: Sequence[Any] | Mapping[Any, float]) -> Any:
        """Draw one of several, with weights where a mapping gives them."""
        weights = (
            np.array(list(options.values()), dtype=float) if isinstance(options, Mapping) else np.ones(len(options))
        )
        place = int(self.rng(name).choice(len(weights), p=weights / weights.sum()))
        return self.given(name, list(options)[place])

    def refuse_unknown(self) -> None:
        """Raise TypeError if a change was given that nothing in this picture asked for."""
        unknown = sorted(self._own - self._asked)
        if unknown:
            known = ", ".join(sorted(self._asked))
            raise TypeError(f"without effect on this picture: {', '.join(unknown)}. What can be changed in it: {known}")

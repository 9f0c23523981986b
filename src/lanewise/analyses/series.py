"""Solvent systems that differ in strength alone: the same components, one of them in another part."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import groupby

import numpy as np
import pandas as pd

from lanewise.reference.strengths import mixture_polarity, strength
from lanewise.uncertainty.sources import Floats

SAME = 1e-6
REACH = 0.5
"""How far beyond the observed compositions a prediction may go, as a share of their span (ours, no source)."""


@dataclass(frozen=True, eq=False)
class Series:
    """Systems on one line from weak to strong.

    Attributes
    ----------
    axis : {"fraction", "polarity"}
        What is counted along the line: the volume fraction of one component, or where several change at once the
        polarity index of the mixture.
    component : str
        The component that changes; empty on the axis of polarity.
    rest : dict of str to float
        What it is mixed with, as fractions of the rest; empty on the axis of polarity.
    systems : tuple of str
        In order of `at`.
    at : array of shape (S,)
        Where they stand on the axis. [1]
    """

    axis: str
    component: str
    rest: Mapping[str, float]
    systems: tuple[str, ...]
    at: Floats

    @property
    def name(self) -> str:
        """What changes: ``acetone in heptane``."""
        return f"{self.component} in {' and '.join(self.rest)}" if self.component else "polarity index"

    @property
    def ends(self) -> tuple[float, float]:
        """Between what a prediction is given."""
        return self.reach(float(self.at.min()), float(self.at.max()))

    def reach(self, low: float, high: float) -> tuple[float, float]:
        """Give the ends that observations from `low` to `high` carry: half their span beyond, and never more than that.

        Of a fraction the span counts in two ways, of the fraction and of its logarithm, since R_M may follow either;
        the nearer end holds.
        """
        beyond = REACH * (high - low)
        if self.axis == "polarity":
            return low - beyond, high + beyond
        if low <= 0.0:
            return 0.0, min(high + beyond, 1.0)
        factor = (high / low) ** REACH
        return max(low - beyond, low / factor), min(high + beyond, high * factor, 1.0)

    def polarity(self, at: float) -> float | None:
        """Polarity index at a place of the axis; None where it is not known or means nothing, as with water."""
        if self.axis == "polarity":
            return at
        parts = {self.component: at} | {name: share * (1.0 - at) for name, share in self.rest.items()}
        known = [strength(name) for name in parts]
        return None if any(item is not None and item.name == "water" for item in known) else mixture_polarity(parts)


def find_series(compositions: pd.DataFrame, layers: Mapping[str, str]) -> tuple[tuple[Series, ...], tuple[str, ...]]:
    """Find the systems that differ in strength alone.

    Parameters
    ----------
    compositions : DataFrame
        From `lanewise.composition_table`.
    layers : mapping of str to str
        Stationary phase of each system; systems on different ones are kept apart.

    Returns
    -------
    tuple of Series
        Each of two systems or more at different places, one of them a mixture at least. Of two components both could be
        counted: the one that is written last is taken, as mixtures are written from weak to strong.
    tuple of str
        Systems that could not be placed, with the reason, as sentences.
    """
    liquids, left_out = {}, []
    for system, layer in layers.items():
        rows = compositions[compositions["system"] == system]
        if rows.empty:
            left_out.append(f"{system}: its components are not known, so it has no place in a series.")
        elif (rows["phase"] != "").any():
            left_out.append(f"{system}: of a mixture that parts in two, the composition of one phase is not known.")
        else:
            salts = rows[rows["grams_per_litre"].notna()]
            key = (layer, tuple(sorted(zip(salts["substance"], salts["grams_per_litre"], strict=True))))
            wet = rows[rows["fraction"].notna()]
            liquids[system] = key, dict(zip(wet["substance"], wet["fraction"].astype(float), strict=True))
    found: list[Series] = []
    for _, group in groupby(sorted(liquids, key=lambda name: repr(liquids[name][0])), lambda name: liquids[name][0]):
        found += _lines({name: liquids[name][1] for name in group})
    return tuple(found), tuple(left_out)


def _lines(parts: Mapping[str, Mapping[str, float]]) -> list[Series]:
    """Find the lines among systems of one layer and one salt."""
    made: list[Series] = []
    names = list(dict.fromkeys(name for part in parts.values() for name in part))
    for component in reversed(names):
        rests: list[tuple[dict[str, float], dict[str, float]]] = []
        alone = {system: 1.0 for system, part in parts.items() if set(part) == {component}}
        for system, part in parts.items():
            rest = {name: share for name, share in part.items() if name != component}
            total = sum(rest.values())
            if total <= SAME:
                continue
            rest = {name: share / total for name, share in rest.items()}
            place = next((line for known, line in rests if _equal(known, rest)), None)
            if place is None:
                rests.append((rest, place := dict(alone)))
            place[system] = part.get(component, 0.0)
        for rest, line in rests:
            mixed = any(SAME < at < 1.0 - SAME for at in line.values())
            if mixed and len({round(at, 6) for at in line.values()}) > 1 and not _known(made, set(line)):
                made.append(_series("fraction", component, rest, line))
    for components in {frozenset(part) for part in parts.values()}:
        some = {system: mixture_polarity(part) for system, part in parts.items() if frozenset(part) == components}
        line = {system: value for system, value in some.items() if value is not None}
        covered = any(set(line) <= set(one.systems) for one in made)
        if not covered and "water" not in components and len({round(at, 6) for at in line.values()}) > 1:
            made.append(_series("polarity", "", {}, line))
    return made


def _series(axis: str, component: str, rest: Mapping[str, float], line: Mapping[str, float]) -> Series:
    systems = tuple(sorted(line, key=lambda name: line[name]))
    return Series(axis, component, rest, systems, np.array([line[name] for name in systems]))


def _known(made: list[Series], systems: set[str]) -> bool:
    return any(systems <= set(one.systems) for one in made)


def _equal(first: Mapping[str, float], second: Mapping[str, float]) -> bool:
    return set(first) == set(second) and all(abs(first[name] - second[name]) < SAME for name in first)

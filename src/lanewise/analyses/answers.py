"""The answer for one sample: its spots and their links weighed together, the verdict on each, the mixture they make."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TypeAlias

import numpy as np

from lanewise.analyses.bench import Bench
from lanewise.analyses.expectation import Expectations
from lanewise.analyses.following import Item, Sample
from lanewise.analyses.joint import Joint, joint_chances, one_by_one
from lanewise.analyses.weighing import Weighed, colour_of, set_scales, weigh
from lanewise.tables.rf_library import LibraryEntry
from lanewise.uncertainty.sources import Floats

EXCLUDED = 0.01
"""Up to this probability a candidate is called excluded."""


@dataclass(frozen=True, eq=False)
class Answer:
    """Rows of the tables about one sample, and the library entries that it rests on."""

    sample: Sample
    spots: list[tuple[object, ...]]
    candidates: list[tuple[object, ...]]
    mixture: tuple[object, ...]
    entries: frozenset[LibraryEntry]


def answer(expectations: Expectations, sample: Sample, prior: Floats, claim: float) -> Answer:
    """Weigh all candidates for all spots of one sample.

    Parameters
    ----------
    expectations : Expectations
        Of C candidates.
    sample : Sample
    prior : array of shape (C + 1,)
        Of the candidates, and last of none of them.
    claim : float
        Probability from which a verdict is given.

    Returns
    -------
    Answer
    """
    bench, dyes = expectations.bench, expectations.candidates
    rows = np.concatenate([item.rows for item in sample.items])
    scales = set_scales(expectations, rows)
    weighed: dict[tuple[int, ...], list[Weighed]] = {}

    def of(chain: tuple[int, ...]) -> list[Weighed]:
        if chain not in weighed:
            joined = np.concatenate([sample.items[number].rows for number in chain])
            weighed[chain] = [weigh(expectations, scales, dye, joined) for dye in dyes]
        return weighed[chain]

    linked = _over_linkings(sample, of, prior)
    spots: list[tuple[object, ...]] = []
    candidates: list[tuple[object, ...]] = []
    for number, item in enumerate(sample.items):
        chances = linked.posterior[number]
        names, verdict, probability = _verdict(dyes, chances, claim)
        system = "" if len(sample.linkings) == 1 and sample.complete else bench.systems[bench.system[item.rows[0]]]
        plates = len(np.unique(bench.plate[item.rows]))
        best = of(next(chain for chain in linked.chains if number in chain))
        bases = dict.fromkeys(basis for dye in names for basis in best[dyes.index(dye)].bases)
        spots.append(
            (
                sample.name,
                item.label,
                system,
                plates,
                colour_of(bench, item.rows),
                verdict,
                names,
                probability,
                float(chances[-1]),
                "; ".join(bases),
                tuple(item.rows.tolist()),
            )
        )
        for place, dye in enumerate(dyes):
            row = _candidate(bench, dye, best[place], float(chances[place]), claim)
            candidates.append((sample.name, item.label, system, *row))
    entries = frozenset(
        entry for chain in weighed.values() for one in chain for entry in one.entries if isinstance(entry, LibraryEntry)
    )
    return Answer(sample, spots, candidates, _mixture(expectations, sample, linked), entries)


Weigh: TypeAlias = Callable[[tuple[int, ...]], list[Weighed]]


@dataclass(frozen=True, eq=False)
class _Linked:
    """What all ways to link the items of a sample say together.

    Attributes
    ----------
    posterior : list of arrays of shape (C + 1,)
        One an item.
    chains : tuple of tuples of int
        The most probable way to link them.
    sets : dict of tuple of int to float
        Posterior of each set of dyes.
    exact : bool
        Whether all explanations were gone through.
    """

    posterior: list[Floats]
    chains: tuple[tuple[int, ...], ...]
    sets: dict[tuple[int, ...], float]
    exact: bool


def _over_linkings(sample: Sample, of: Weigh, prior: Floats) -> _Linked:
    """Average over all ways to link the items of a sample, each weighed by how well it explains the readings."""
    found: list[Joint] = []
    for linking in sample.linkings:
        weights = [prior * np.exp([*(one.log_factor for one in of(chain)), 0.0]) for chain in linking]
        found.append(joint_chances(weights) if sample.complete else one_by_one(weights))
    totals = np.array([one.log_total for one in found])
    shares = np.exp(totals - totals.max())
    shares /= shares.sum()
    posterior = [np.zeros(len(prior)) for _ in sample.items]
    sets: dict[tuple[int, ...], float] = {}
    for linking, one, share in zip(sample.linkings, found, shares.tolist(), strict=True):
        for chain, chances in zip(linking, one.chances, strict=True):
            for number in chain:
                posterior[number] += share * chances
        for key, probability in one.sets.items():
            sets[key] = sets.get(key, 0.0) + share * probability
    chains = sample.linkings[int(np.argmax(shares))]
    return _Linked(posterior, chains, sets, all(one.exact for one in found))


def _verdict(dyes: Sequence[str], chances: Floats, claim: float) -> tuple[tuple[str, ...], str, float]:
    """Give the dyes of which the verdict speaks, the verdict, and its probability."""
    if chances[-1] >= claim:
        return (), "none of these", float(chances[-1])
    order = np.argsort(-chances[:-1], kind="stable")
    total, chosen = 0.0, []
    for place in order:
        if chances[place] <= EXCLUDED:
            break
        total += float(chances[place])
        chosen.append(dyes[place])
        if total >= claim:
            break
    if total < claim:
        return tuple(chosen), "not decided", total
    return tuple(chosen), "consistent with" if len(chosen) == 1 else "cannot tell between", total


def _candidate(bench: Bench, dye: str, one: Weighed, chance: float, claim: float) -> tuple[object, ...]:
    standing = "consistent with" if chance >= claim else "excluded" if chance <= EXCLUDED else "open"
    place = one.place
    worst, u, where = np.nan, np.nan, ""
    if place is not None:
        spread = np.sqrt(np.diag(place.covariance))
        at = int(np.argmax(np.abs(place.delta) / spread))
        worst, u, where = float(place.delta[at]), float(spread[at]), bench.systems[place.systems[at]]
    log10 = [value / math.log(10.0) for value in one.parts.values()]
    factor = math.exp(min(one.log_factor, 700.0))
    return (dye, standing, chance, factor, "; ".join(one.bases), where, worst, u, *log10)


def _mixture(expectations: Expectations, sample: Sample, linked: _Linked) -> tuple[object, ...]:
    """Say what explains a sample, what is left over, and which other spots of its dyes' standards are missing."""
    dyes = expectations.candidates
    key = max(linked.sets, key=lambda one: linked.sets[one])
    named = tuple(dyes[place] for place in key)
    left = tuple(
        _item_name(item)
        for item, chances in zip(sample.items, linked.posterior, strict=True)
        if int(np.argmax(chances)) == len(dyes)
    )
    return (sample.name, named, linked.sets[key], left, _missing_parts(expectations, named), linked.exact)


def _missing_parts(expectations: Expectations, named: Sequence[str]) -> tuple[str, ...]:
    """Give the other spots of a standard that shows several, where one of them was found and they were not."""
    parent = {
        name: str(expectations.bench.sample[rows[0]])
        for name, rows in expectations.standards.items()
        if name.startswith(f"{expectations.bench.sample[rows[0]]} (")
    }
    wanted = {parent[name] for name in named if name in parent}
    return tuple(name for name, whole in parent.items() if whole in wanted and name not in named)


def _item_name(item: Item) -> str:
    return item.label or "its spot"

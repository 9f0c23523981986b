"""Which spots of a sample belong together from plate to plate, as items, and the ways in which items may be linked.

Where the record decides (`lanewise.analyses.dyes`), a dye's spots on all plates are one item. Where it does not, the
spots of each system are items of their own, by their order from the origin, and any of one system may be any of
another: all ways to link them are weighed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import permutations, product

import numpy as np

from lanewise.analyses.bench import NOTHING, Bench
from lanewise.uncertainty.sources import Ids

MOST_LINKINGS = 2_000


@dataclass(frozen=True, eq=False)
class Item:
    """Rows of a sample that are taken as one dye.

    Attributes
    ----------
    label : str
        What tells it from other items of the sample: its colour, name or number; empty where it is the only one.
    rows : integer array of shape (R,)
    layer : int
        Number of the set of items of which no two are the same dye.
    """

    label: str
    rows: Ids
    layer: int


@dataclass(frozen=True, eq=False)
class Sample:
    """Items of one sample.

    Attributes
    ----------
    name : str
    items : tuple of Item
    linkings : tuple of tuples of tuples of int
        Each a way to link: the items, by number, that are taken as one dye. One where the record decides.
    complete : bool
        False where there are too many ways: then each system stands alone.
    """

    name: str
    items: tuple[Item, ...]
    linkings: tuple[tuple[tuple[int, ...], ...], ...]
    complete: bool


def follow(bench: Bench) -> Iterator[Sample]:
    """Give the samples with their items, in the order of the table."""
    names, within = bench.dyes.names.to_numpy(), bench.dyes.within.to_numpy()
    wanted = (bench.role != "standard") & (bench.role != "blank") & (bench.kind != NOTHING)
    for name in dict.fromkeys(bench.sample[wanted]):
        rows = np.flatnonzero(wanted & (bench.sample == name))
        if (names[rows] != "").all():
            items = tuple(
                Item(_label(str(dye), str(name)), rows[names[rows] == dye], 0) for dye in dict.fromkeys(names[rows])
            )
            yield Sample(str(name), items, (tuple((number,) for number in range(len(items))),), True)
        else:
            items = tuple(_items(bench, str(name), rows, within))
            linkings = _linkings(items)
            alone = (tuple((number,) for number in range(len(items))),)
            yield Sample(str(name), items, linkings or alone, bool(linkings))


def _label(dye: str, sample: str) -> str:
    return dye.removeprefix(sample).strip().removeprefix("(").removesuffix(")")


def _items(bench: Bench, sample: str, rows: Ids, within: object) -> Iterator[Item]:
    """Make items of spots that cannot be followed: by number in a system, or in a plate where counts differ."""
    labels = np.asarray(within, dtype=object)
    layer = 0
    for system in dict.fromkeys(bench.system[rows]):
        here = rows[bench.system[rows] == system]
        by_plate = [here[bench.plate[here] == plate] for plate in dict.fromkeys(bench.plate[here])]
        alike = len({tuple(labels[some]) for some in by_plate}) == 1
        for group in [here] if alike else by_plate:
            for label in dict.fromkeys(labels[group]):
                where = "" if alike else f" on plate {bench.plates[bench.plate[group[0]]]}"
                yield Item(f"{_label(str(label), sample)}{where}", group[labels[group] == label], layer)
            layer += 1


def _linkings(items: tuple[Item, ...]) -> tuple[tuple[tuple[int, ...], ...], ...]:
    """Give all ways in which items of different layers may be the same dyes; none where there are too many."""
    layers: list[list[int]] = []
    for number, item in enumerate(items):
        if item.layer == len(layers):
            layers.append([])
        layers[item.layer].append(number)
    widest = max(layers, key=len)
    others = [layer for layer in layers if layer is not widest]
    size = len(widest)
    count = math.prod(math.perm(size, len(layer)) for layer in others)
    if count > MOST_LINKINGS:
        return ()
    ways = [list(permutations(range(size), len(layer))) for layer in others]
    found = []
    for choice in product(*ways):
        chains = [[number] for number in widest]
        for layer, places in zip(others, choice, strict=True):
            for number, place in zip(layer, places, strict=True):
                chains[place].append(number)
        found.append(tuple(tuple(chain) for chain in chains))
    return tuple(found)

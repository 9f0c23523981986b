"""Which lane holds what: standards beside samples, replicates in blocks, the order drawn with a seed."""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import Literal, NamedTuple, TypeAlias

Role: TypeAlias = Literal["sample", "standard", "blank"]
BLANK = "blank"


class Content(NamedTuple):
    """What one lane holds: the name, the role, and which replicate it is, counted from 1."""

    sample: str
    role: Role
    replicate: int


def shuffled(items: Sequence[Content], draw: random.Random) -> list[Content]:
    """Put items into random order, each order as likely as another.

    Notes
    -----
    The exchange of Fisher and Yates (from memory) on `random.Random.random`, the one sequence that Python promises to
    keep for a seed; its own ``shuffle`` may change between versions.

    Examples
    --------
    >>> five = [Content(name, "sample", 1) for name in "abcde"]
    >>> "".join(one.sample for one in shuffled(five, random.Random(7)))
    'cdeab'
    """
    order = list(items)
    for last in range(len(order) - 1, 0, -1):
        other = int(draw.random() * (last + 1))
        order[last], order[other] = order[other], order[last]
    return order


def lane_order(
    samples: Sequence[str],
    standards: Sequence[str],
    *,
    replicates: int = 1,
    standard_replicates: int = 1,
    blank: bool = False,
    seed: int | None = None,
) -> tuple[Content, ...]:
    """Say what each lane holds, from left to right.

    Parameters
    ----------
    samples, standards : sequence of str
        Their names.
    replicates, standard_replicates : int
        Lanes of each sample and of each standard.
    blank : bool
        Whether one lane stays without sample, so that one sees what the sheet itself shows.
    seed : int or None
        The same seed gives the same order on any machine; None for the order as given.

    Returns
    -------
    tuple of Content

    Notes
    -----
    Replicates are blocks: each block holds every sample once, in an order of its own, so that the lanes of one sample
    are spread over the sheet. Standards are then put between the samples so that as many samples as possible have one
    beside them. The blank comes last: at any place where it does not part a sample from a standard.

    Examples
    --------
    >>> [one.sample for one in lane_order(["U1", "U2", "U3", "U4"], ["A", "B"])]
    ['U1', 'A', 'U2', 'U3', 'B', 'U4']
    """
    draw = None if seed is None else random.Random(seed)
    unknown: list[Content] = []
    for number in range(1, replicates + 1):
        block = [Content(name, "sample", number) for name in samples]
        unknown += block if draw is None else shuffled(block, draw)
    known: list[Content] = []
    for number in range(1, standard_replicates + 1):
        block = [Content(name, "standard", number) for name in standards]
        known += block if draw is None else shuffled(block, draw)
    order = _interleaved(unknown, known)
    if blank:
        order.insert(_place_of_blank(order, draw), Content(BLANK, "blank", 1))
    return tuple(order)


def _interleaved(unknown: Sequence[Content], known: Sequence[Content]) -> list[Content]:
    """Put standards between the others: a group at the outside holds one of them, one inside two, as far as it goes."""
    sizes = _group_sizes(len(unknown), len(known))
    order: list[Content] = []
    start = 0
    for place, size in enumerate(sizes):
        order += unknown[start : start + size]
        order += known[place : place + 1]
        start += size
    return order


def _place_of_blank(order: Sequence[Content], draw: random.Random | None) -> int:
    """Draw a place where the blank parts no sample from a standard; without a seed, the right end."""
    if draw is None:
        return len(order)
    inner = [
        place for place in range(1, len(order)) if {order[place - 1].role, order[place].role} != {"sample", "standard"}
    ]
    places = [0, *inner, len(order)]
    return places[int(draw.random() * len(places))]


def _group_sizes(count: int, separators: int) -> list[int]:
    """Share lanes out to the groups before, between and after the standards, inner groups twice as large.

    Examples
    --------
    >>> _group_sizes(4, 2), _group_sizes(2, 3), _group_sizes(3, 0)
    ([1, 2, 1], [0, 1, 1, 0], [3])
    """
    if separators == 0:
        return [count]
    sizes = [0] * (separators + 1)
    weights = [1, *([2] * (separators - 1)), 1]
    for _ in range(count):
        # the group that is emptiest for its weight; an inner one and the leftmost where several are
        place = min(range(len(sizes)), key=lambda one: (sizes[one] / weights[one], -weights[one], one))
        sizes[place] += 1
    return sizes

"""Which lane holds what: reproducible, fair, standards beside samples."""

from __future__ import annotations

import random
import subprocess
import sys
from collections import Counter
from itertools import combinations

import pytest

from lanewise.planning.randomising import Content, lane_order, shuffled

FOUR = [Content(name, "sample", 1) for name in "abcd"]


def beside(roles):
    """How many samples have a standard beside them."""
    padded = ["", *roles, ""]
    return sum(
        role == "sample" and "standard" in (padded[place], padded[place + 2]) for place, role in enumerate(roles)
    )


@pytest.mark.parametrize("samples", range(1, 8), ids=lambda count: f"{count} samples")
@pytest.mark.parametrize("standards", range(1, 5), ids=lambda count: f"{count} standards")
def test_as_many_samples_as_possible_have_a_standard_beside_them(samples, standards):
    """The best there is, by trying every way to choose the lanes of the standards."""
    total = samples + standards
    best = max(
        beside(["standard" if place in chosen else "sample" for place in range(total)])
        for chosen in combinations(range(total), standards)
    )
    order = lane_order([f"s{n}" for n in range(samples)], [f"k{n}" for n in range(standards)])
    assert beside([one.role for one in order]) == best


def test_the_order_follows_the_numbers_that_python_promises_for_a_seed():
    """Exchange by exchange, from the published sequence of `random.Random(7).random()`."""
    numbers, expected = random.Random(7), list("abcd")
    for last in (3, 2, 1):
        other = int(numbers.random() * (last + 1))
        expected[last], expected[other] = expected[other], expected[last]
    assert [one.sample for one in lane_order(list("abcd"), (), seed=7)] == expected


def test_the_same_seed_gives_the_same_order_in_another_process():
    code = (
        "from lanewise.planning.randomising import lane_order;"
        "print([one.sample for one in lane_order(list('abcdefgh'), ['k', 'l'], replicates=2, blank=True, seed=11)])"
    )
    printed = {
        subprocess.run(
            [sys.executable, "-c", code], env={"PYTHONHASHSEED": seed, "PYTHONPATH": ":".join(sys.path)},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in ("0", "123")
    }  # fmt: skip
    here = [one.sample for one in lane_order(list("abcdefgh"), ["k", "l"], replicates=2, blank=True, seed=11)]
    assert printed == {f"{here}\n"}


def test_every_order_is_as_likely_as_another():
    """Chi-squared on 24 orders of four, 4800 draws: 23 degrees of freedom, 99.9 % point 49.7 (table, from memory)."""
    counts = Counter(tuple(one.sample for one in shuffled(FOUR, random.Random(seed))) for seed in range(4800))
    assert len(counts) == 24
    assert sum((count - 200) ** 2 / 200 for count in counts.values()) < 49.7


def test_replicates_are_blocks_of_their_own_order():
    order = [one for one in lane_order(list("abcd"), (), replicates=3, seed=2) if one.role == "sample"]
    blocks = [order[start : start + 4] for start in (0, 4, 8)]
    assert all(sorted(one.sample for one in block) == list("abcd") for block in blocks)
    assert [one.replicate for one in order] == [1] * 4 + [2] * 4 + [3] * 4
    assert len({tuple(one.sample for one in block) for block in blocks}) > 1


def test_without_a_seed_the_order_is_the_one_given():
    order = lane_order(["x", "y"], ["k"], blank=True)
    assert [one.sample for one in order if one.role != "standard"] == ["x", "y", "blank"]
    assert Counter(one.role for one in order) == {"sample": 2, "standard": 1, "blank": 1}


@pytest.mark.parametrize("seed", range(20))
def test_the_blank_parts_no_sample_from_a_standard(seed):
    with_blank, without = (lane_order(list("abcdef"), ["k", "l"], blank=blank, seed=seed) for blank in (True, False))
    roles = [one.role for one in with_blank]
    assert roles.count("blank") == 1
    assert beside(roles) == beside([one.role for one in without]) == 4


def test_the_blank_is_not_always_in_one_place():
    places = {
        [one.role for one in lane_order(list("abcdef"), ["k", "l"], blank=True, seed=seed)].index("blank")
        for seed in range(40)
    }
    assert len(places) > 3

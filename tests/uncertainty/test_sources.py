"""Groups of sources: what they refuse, and that they stay the same sources through copies and joins."""

from __future__ import annotations

import pickle

import numpy as np
import pytest

from lanewise.uncertainty.sources import SourceGroup, group_of, offsets, renumber, union


def name_of_lane(number: int) -> str:
    return f"lane {number + 1}"


@pytest.mark.parametrize(
    ("faults", "message"),
    [
        ({"size": -1}, "source group 'front': size must not be negative, given -1"),
        ({"shape": "square"}, "source group 'front': shape must be one of .*'normal'.*, given 'square'"),
        ({"dof": 0.0}, "source group 'front': degrees of freedom must be positive, given 0.0"),
        ({"dof": float("nan")}, "degrees of freedom must be positive, given nan"),
    ],
    ids=["size", "shape", "no dof", "dof not a number"],
)
def test_refuses(faults: dict, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        SourceGroup(**{"name": "front", "size": 1, **faults})


@pytest.mark.parametrize(
    ("group", "text"),
    [
        (SourceGroup("temperature", 1), "temperature"),
        (SourceGroup("spot reading", 3), "spot reading 2"),
        (SourceGroup("front reading", 3, label=name_of_lane), "front reading, lane 2"),
    ],
    ids=["single", "numbered", "labelled"],
)
def test_describes_one_source(group: SourceGroup, text: str) -> None:
    assert group.describe(group.size // 2) == text


def test_offsets_and_group_of_skip_an_empty_group() -> None:
    groups = (SourceGroup("a", 2), SourceGroup("nobody", 0), SourceGroup("b", 3))
    assert offsets(groups).tolist() == [0, 2, 2, 5]
    assert group_of(np.array([[0, 1], [2, 4]]), groups).tolist() == [[0, 0], [2, 2]]


def test_a_name_may_be_used_again() -> None:
    first, second = SourceGroup("reading", 1), SourceGroup("reading", 1)
    assert len(union((first,), (second,))) == 2
    assert len(union((first,), (first, second))) == 2


def test_a_pickled_copy_is_the_same_group() -> None:
    group = SourceGroup("front reading", 3, label=name_of_lane)
    copy = pickle.loads(pickle.dumps(group))
    assert copy is not group
    assert union((group,), (copy,)) == (group,)
    assert copy.describe(2) == "front reading, lane 3"


def test_renumbering_keeps_every_source() -> None:
    """Each number names the same member of the same group before and after."""
    a, b, c = SourceGroup("a", 2), SourceGroup("b", 3), SourceGroup("c", 1)
    old, new = (b, c), (a, c, b)
    ids = np.arange(4)
    moved = renumber(ids, old, new)
    assert moved.tolist() == [3, 4, 5, 2]
    before = [(old[place].name, i - offsets(old)[place]) for i, place in zip(ids, group_of(ids, old), strict=True)]
    after = [(new[place].name, i - offsets(new)[place]) for i, place in zip(moved, group_of(moved, new), strict=True)]
    assert before == after


def test_renumbering_is_free_where_the_order_holds() -> None:
    a, b = SourceGroup("a", 2), SourceGroup("b", 3)
    ids = np.array([[0, 3]])
    assert renumber(ids, (a, b), (a, b, SourceGroup("c", 1))) is ids

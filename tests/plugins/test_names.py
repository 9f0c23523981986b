"""Names: which are allowed, how they are compared, how long a line gets."""

from __future__ import annotations

import pytest

from lanewise.plugins.names import fault_of_name, nearest, one_line, same_form


@pytest.mark.parametrize("name", ["a", "0", "ink-sheet", "a" * 40, "2-inks"])
def test_names_that_are_allowed(name):
    assert fault_of_name(name) == ""


@pytest.mark.parametrize(
    "name", ["", "-a", "a-", "a--b", "A", "a_b", "a.b", "a b", "größe", "a\n", "a" * 41, None, 3, b"a"], ids=repr
)
def test_names_that_are_not(name):
    assert fault_of_name(name).endswith(f"given {name!r}")


@pytest.mark.parametrize(
    # the examples of the Python packaging specification "names and normalization" (from memory)
    "name",
    [
        "friendly-bard",
        "Friendly-Bard",
        "FRIENDLY-BARD",
        "friendly.bard",
        "friendly_bard",
        "friendly--bard",
        "FrIeNdLy-._.-bArD",
    ],
)
def test_names_of_distributions_are_compared_in_one_form(name):
    assert same_form(name) == "friendly-bard"


def test_the_nearest_name_is_the_same_whatever_the_order():
    assert nearest("ink-a", ["ink-b", "ink-c"]) == nearest("ink-a", ["ink-c", "ink-b"])
    assert nearest("INK-B", ["ink-b"]) == " Did you mean 'ink-b'?"


def test_a_line_is_cut_where_it_is_too_long():
    assert one_line("a" * 10, longest=10) == "a" * 10
    assert one_line("a" * 11, longest=10) == "aaaaaaa..."

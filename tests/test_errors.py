"""The tree of errors: what each is, and what a list of problems says."""

from __future__ import annotations

import inspect

import pytest

from lanewise import errors
from lanewise.errors import LanewiseError, OutdatedPluginWarning, PluginProblemWarning, Problem, ReadingsError

EXCEPTIONS = [
    value
    for _, value in inspect.getmembers(errors, inspect.isclass)
    if issubclass(value, Exception) and value.__module__ == errors.__name__
]


WARNINGS = (PluginProblemWarning, OutdatedPluginWarning)


@pytest.mark.parametrize("kind", EXCEPTIONS, ids=lambda kind: kind.__name__)
def test_every_error_is_of_the_family_and_in_the_tree(kind):
    assert issubclass(kind, LanewiseError) or kind in WARNINGS
    assert kind.__name__ in errors.__doc__
    if kind not in (LanewiseError, *WARNINGS):
        assert issubclass(kind, ValueError)


@pytest.mark.parametrize("kind", WARNINGS, ids=lambda kind: kind.__name__)
def test_a_plugin_warning_is_shown_by_default(kind):
    assert issubclass(kind, FutureWarning)


@pytest.mark.parametrize(
    ("row", "column", "where"),
    [
        pytest.param(7, "front_mm", "inks.csv, row 7, column front_mm", id="a cell"),
        pytest.param(7, "", "inks.csv, row 7", id="a row"),
        pytest.param(None, "front_mm", "inks.csv, column front_mm", id="a column"),
        pytest.param(None, "", "inks.csv", id="the file"),
    ],
)
def test_a_problem_says_where_wanted_given_and_what_to_do(row, column, where):
    problem = Problem("inks.csv", row, column, "a number in mm", "'abc'", "Write 73.5.")
    assert str(problem) == f"{where}: wanted a number in mm, given 'abc'. Write 73.5."


@pytest.mark.parametrize(("count", "head"), [(1, "1 problem,"), (2, "2 problems,")], ids=["one", "two"])
def test_readings_error_holds_and_prints_every_problem(count, head):
    problems = [Problem("inks.csv", row, "", "a lane", "nothing", "Fill it in.") for row in range(count)]
    error = ReadingsError(problems)
    assert error.problems == tuple(problems)
    assert str(error).startswith(f"{head} nothing was read:")
    assert str(error).count("wanted a lane") == count

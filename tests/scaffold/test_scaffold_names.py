"""Names of new plugins: refusals say what is wrong, and the name they propose will do."""

from __future__ import annotations

import re
import sys
from types import ModuleType

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise.errors import LanewiseError
from lanewise.hooks import ImportFormat, hookimpl
from lanewise.plugins.registry import make_registry
from lanewise.scaffold.names import Names, check_name

BARE = make_registry(discover=False)


@pytest.fixture
def registry():
    """Give a registry in which a plugin `our-lab` offers the format `bench-card`."""
    plugin = ModuleType("our_lab")

    @hookimpl
    def lanewise_import_formats():
        return [ImportFormat("bench-card", "Bench card", read="our_lab:read")]

    plugin.lanewise_import_formats = lanewise_import_formats
    return make_registry(discover=False, plugins={"our-lab": plugin})


def test_all_names_follow_from_one():
    assert check_name("ink-sheet", BARE) == Names("ink-sheet", "ink_sheet", "ink-sheet", "Ink sheet")


def test_prefix_of_the_library_is_no_part_of_the_format():
    assert check_name("lanewise-ink-sheet", BARE).offer == "ink-sheet"


# What is wanted of the name of a distribution is the normal form of PEP 503: lower case, single hyphens.
@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("Ink Sheet", "ASCII words joined by hyphens, at most 40 characters, given 'Ink Sheet'. Write 'ink-sheet'."),
        ("ink_sheet", "Write 'ink-sheet'."),
        ("ink.sheet", "Write 'ink-sheet'."),
        ("-ink--sheet-", "Write 'ink-sheet'."),
        ("Tinten-Blätter", "Write 'tinten-blatter'."),
        ("", "given ''. Write 'ink-sheet'."),
        ("墨", "Write 'ink-sheet'."),
        ("a" * 41, f"Write '{'a' * 40}'."),
        ("../ink", "Write 'ink'."),
        ("2nd-bench", "'2nd_bench' begins with a digit. Write 'lanewise-2nd-bench'."),
        ("import", "'import' is a keyword of Python. Write 'lanewise-import'."),
        ("calendar", "'calendar' is a module of Python itself. Write 'lanewise-calendar'."),
        ("conftest", "a file conftest.py would be taken for tests or set-up. Write 'lanewise-conftest'."),
        ("test-contract", "file test_contract.py would be taken for tests or set-up. Write 'lanewise-test-contract'."),
        ("markdown", "the name of the report style 'markdown' that is built in. Write 'my-markdown'."),
        ("lanewise-html", "the report style 'html' that is built in. Write 'my-html'."),
        ("lanewise", "the name of the plugin formats-builtin of lanewise"),
        ("pluggy", "the name of the installed package pluggy"),
        ("dateutil", "the name of the installed module 'dateutil'. Write 'lanewise-dateutil'."),
    ],
    ids=lambda value: value[:16] or "nothing",
)  # fmt: skip
def test_refusals(name, said):
    with pytest.raises(LanewiseError, match=f"^name of the plugin: .*{re.escape(said)}"):
        check_name(name, BARE)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("bench-card", "the import format 'bench-card' of our-lab. Write 'my-bench-card'."),
        ("lanewise-bench-card", "the import format 'bench-card' of our-lab. Write 'my-bench-card'."),
        ("our-lab", "the plugin our-lab. Write 'my-our-lab'."),
        ("lanewise-our-lab", "the plugin our-lab. Write 'my-our-lab'."),
    ],
    ids=["format", "format with prefix", "distribution", "entry point"],
)
def test_names_of_a_plugin_in_use(name, said, registry):
    with pytest.raises(LanewiseError, match=re.escape(said)):
        check_name(name, registry)


def test_names_of_what_is_switched_off_are_in_use(registry):
    registry = make_registry(discover=False, without=["marks-table"])
    with pytest.raises(LanewiseError, match=r"the format 'marks-table' of built in, which is not in use"):
        check_name("marks-table", registry)


@given(st.one_of(st.text(), st.sampled_from(sorted(sys.stdlib_module_names)), st.from_regex(r"[a-z0-9-]{1,50}")))
def test_the_name_proposed_will_do(name):
    try:
        check_name(name, BARE)
    except LanewiseError as refusal:
        proposed = re.search(r"Write '([^']*)'\.$", str(refusal))[1]
        assert check_name(proposed, BARE).distribution == proposed

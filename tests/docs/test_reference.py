"""Every public function and class has its entry, every public name stands on the overview, every source on its page."""

from __future__ import annotations

import inspect
import pkgutil
import re
from importlib import import_module
from pathlib import Path

import pytest

import lanewise
from lanewise import document, errors, hooks, quantities, traces, uncertainty

ROOT = Path(__file__).parents[2]
REFERENCE = ROOT / "docs" / "reference"
PUBLIC = [
    *(import_module(f"{room.__name__}.{found.name}") for room in (quantities, traces, uncertainty)
      for found in pkgutil.iter_modules(room.__path__) if not found.name.startswith("_")),
    document,
    errors,
    hooks,
]  # fmt: skip
NOT_FOR_USERS = {"hookspec", "hookimpl"}  # markers, not functions of the library


def defined_in(module):
    return sorted(
        name
        for name, value in vars(module).items()
        if not name.startswith("_")
        and (inspect.isclass(value) or callable(value))
        and getattr(value, "__module__", "") == module.__name__
        and not hasattr(value, f"{hooks.PROJECT}_spec")
    )


NAMES = [f"{module.__name__}.{name}" for module in PUBLIC for name in defined_in(module) if name not in NOT_FOR_USERS]


def entries():
    pages = [*REFERENCE.glob("*.md"), *(ROOT / "docs" / "hooks").glob("*.md")]
    text = "\n".join(path.read_text(encoding="utf-8") for path in pages)
    return re.findall(r"^\.\. auto(?:function|class|exception):: (lanewise\.\S+)$", text, re.MULTILINE)


@pytest.mark.parametrize("name", NAMES)
def test_public_name_has_one_entry(name):
    assert entries().count(name) == 1, f"{name} wants one entry in docs/reference or docs/hooks"


def test_every_entry_exists():
    for entry in entries():
        module, _, name = entry.rpartition(".")
        assert hasattr(import_module(module), name), entry


def test_overview_has_every_public_name():
    page = (REFERENCE / "face.md").read_text(encoding="utf-8")
    assert [name for name in lanewise.__all__ if f"`{name}`" not in page] == []
    listed = set(re.findall(r"`(\w+)`", page.split("| --- |")[1]))
    assert listed - set(lanewise.__all__) == set()


def test_sources_page_has_every_source_with_a_code():
    """Gold Book entries, digital object identifiers, guides on uncertainty, standards."""
    coded = re.compile(r"\b(?:[PRS]\d{5}|10\.\d{4,}/[\w./-]*\w|JCGM \d+:\d+|QUAM:\d+|IEC [\d-]+\d)\b")
    page = (REFERENCE / "sources.md").read_text(encoding="utf-8")
    files = [*(ROOT / "src").rglob("*.py"), *(ROOT / "src").rglob("*.csv")]
    found = {code for path in files for code in coded.findall(path.read_text(encoding="utf-8"))}
    assert {"R05353", "JCGM 100:2008"} <= found
    assert sorted(code for code in found if code not in page) == []

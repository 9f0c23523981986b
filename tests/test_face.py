"""The public face: what is listed is there, is typed, is documented, and costs nothing until it is used."""

from __future__ import annotations

import ast
import subprocess
import sys
from pathlib import Path

import pytest

import lanewise

FACE = Path(lanewise.__file__)
REFERENCE = Path(__file__).parents[1] / "docs" / "reference"
HEAVY = (
    "numpy",
    "pandas",
    "xarray",
    "scipy",
    "matplotlib",
    "msgspec",
    "jinja2",
    "pluggy",
    "importlib.metadata",
    "typing",
)


def test_names_are_sorted_and_listed_by_dir():
    assert lanewise.__all__ == sorted(lanewise.__all__)
    assert set(lanewise.__all__) <= set(dir(lanewise))


@pytest.mark.parametrize("name", lanewise.__all__)
def test_name_exists_and_says_what_it_is(name):
    value = getattr(lanewise, name)
    assert value.__name__ == name
    assert value.__module__.startswith("lanewise.")
    assert (value.__doc__ or "").strip()


def test_type_checkers_see_the_same_names():
    tree = ast.parse(FACE.with_suffix(".pyi").read_text(encoding="utf-8"))
    seen = {
        (alias.asname, node.module)
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for alias in node.names
    }
    assert seen == {(name, f"lanewise.{home}") for name, home in lanewise._HOME.items()}


@pytest.mark.parametrize("name", lanewise.__all__)
def test_name_has_a_reference_entry(name):
    pages = "\n".join(path.read_text(encoding="utf-8") for path in sorted(REFERENCE.glob("*.md")))
    assert f"lanewise.{lanewise._HOME[name]}.{name}\n" in pages, f"{name} is missing in docs/reference"


def test_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match=r"module 'lanewise' has no attribute 'rate'"):
        _ = lanewise.rate


def test_version_is_the_installed_one():
    from importlib.metadata import version

    assert lanewise.__version__ == version("lanewise")


def test_import_loads_nothing_heavy():
    code = "import sys; before = set(sys.modules); import lanewise; print(*sorted(set(sys.modules) - before))"
    done = subprocess.run([sys.executable, "-I", "-c", code], capture_output=True, text=True, check=True)
    assert not {name for name in done.stdout.split() if name.startswith(HEAVY)}

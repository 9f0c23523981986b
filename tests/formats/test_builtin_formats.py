"""The built-in formats as a plugin: light to register, and named as the hooks demand."""

from __future__ import annotations

import subprocess
import sys
from importlib import import_module

import pytest

from lanewise.formats.builtin import lanewise_import_formats

FORMATS = lanewise_import_formats()


def test_names():
    assert [one.name for one in FORMATS] == ["marks-table", "study-record"]


@pytest.mark.parametrize("one", FORMATS, ids=lambda one: one.name)
def test_readers_exist_and_are_found_late(one):
    module, _, name = one.read.partition(":")
    assert callable(getattr(import_module(module), name))
    assert one.description
    assert one.title


def test_registering_loads_nothing_heavy():
    code = (
        "import sys; import lanewise.formats.builtin as b; b.lanewise_import_formats();"
        "print(*sorted(set(sys.modules) & {'numpy', 'pandas', 'xarray', 'scipy', 'msgspec', 'matplotlib'}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == ""

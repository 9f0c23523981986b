"""Pages taken apart into their code blocks."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).parents[2]

_BLOCK = re.compile(r"^```(?:\{code-block\} )?([\w-]+)\n(?::caption: ([^\n]+)\n)?(.*?)^```$", re.MULTILINE | re.DOTALL)


class Block(NamedTuple):
    """One code block: its language, its caption (a file name, or empty) and its text."""

    language: str
    caption: str
    text: str


@pytest.fixture(scope="session")
def root():
    return ROOT


@pytest.fixture(scope="session")
def blocks_of():
    """Give the code blocks of a page, by its path from the top of the project."""

    def blocks(page):
        text = (ROOT / page).read_text(encoding="utf-8")
        return [Block(*found.groups(default="")) for found in _BLOCK.finditer(text)]

    return blocks

"""The prompts of these pages run in a folder of their own that holds the examples; so they may write files."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[1] / "examples"


@pytest.fixture(autouse=True)
def _beside_the_examples(tmp_path, monkeypatch):
    shutil.copytree(EXAMPLES, tmp_path / "examples", ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.chdir(tmp_path)

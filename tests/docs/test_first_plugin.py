"""The plugin that the tutorial builds: its code is what stands on the page, and it does what the page says."""

from __future__ import annotations

import doctest
import importlib.util
import re
import shlex
from pathlib import Path

import pytest

PAGE = "docs/tutorial/first-plugin.md"
PLUGIN = "run-card"
PRETENDED = Path(__file__).parents[1] / "scaffold" / "pretended.py"
FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def load():
    spec = importlib.util.spec_from_file_location("lanewise_pretended", PRETENDED)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


pretended = load()


def play(blocks, work, site):
    """Follow a page: write its files and run its commands in their order; give the commands and their faults.

    Once there is a plugin, it counts as installed in its newest state.
    """
    checker, ran, faults = doctest.OutputChecker(), [], []
    for block in blocks:
        if block.caption:
            assert "/" not in block.caption or (work / block.caption).is_file()  # it takes the place of one
            (work / block.caption).write_text(block.text, encoding="utf-8")
        elif block.language == "console":
            for part in block.text.split("$ lanewise ")[1:]:
                command, _, expected = part.partition("\n")
                if (work / PLUGIN).exists():
                    pretended.install(work / PLUGIN, site)
                done = pretended.run(site, work, "lanewise", *shlex.split(command))
                given = done.stdout  # what is said of other plugins stands on the other stream
                ran.append(command)
                if done.returncode not in (0, 1) or not checker.check_output(expected.strip(), given.strip(), FLAGS):
                    faults.append(f"lanewise {command}\nwanted:\n{expected}\ngiven:\n{given}{done.stderr}")
    return ran, faults


@pytest.fixture
def folders(tmp_path):
    work, site = tmp_path / "work", tmp_path / "site"
    work.mkdir()
    site.mkdir()
    return work, site


def test_module_has_fewer_than_40_lines(blocks_of):
    (module,) = [block for block in blocks_of(PAGE) if block.caption == f"{PLUGIN}/run_card.py"]
    assert 10 < len(module.text.splitlines()) < 40


def test_page_works_from_top_to_bottom(blocks_of, folders):
    work, site = folders
    ran, faults = play(blocks_of(PAGE), work, site)
    assert faults == []
    assert {command.split()[0] for command in ran} == {"new-plugin", "plugins", "formats", "check", "measure"}
    done = pretended.run_tests(site, work / PLUGIN)
    assert done.returncode == 0, done.stdout + done.stderr


def test_a_wrong_output_would_be_seen(blocks_of, folders):
    """The check itself bites."""
    blocks = [block._replace(text=block.text.replace("begins with RUN", "starts")) for block in blocks_of(PAGE)]
    (fault,) = play([block for block in blocks if not block.caption], *folders)[1][:1]
    assert "formats --explain" in fault


def test_rf_worked_on_the_page(root):
    text = (root / PAGE).read_text(encoding="utf-8")
    *lengths, rf = re.search(r"\(([\d.]+) − ([\d.]+)\)/\(([\d.]+) − ([\d.]+)\), or ([\d.]+)\.\n", text).groups()
    spot, origin, front, again = map(float, lengths)
    assert origin == again
    assert (spot - origin) / (front - origin) == pytest.approx(float(rf), abs=0.0005)

"""Every ``lanewise`` command in the pages prints what stands below it."""

from __future__ import annotations

import doctest
import re
import shlex
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

import lanewise
from lanewise.cli.main import app

ROOT = Path(__file__).parents[2]
PAGES = sorted(
    path.relative_to(ROOT).as_posix()
    for path in (ROOT / "docs").rglob("*.md")
    if "```console" in path.read_text(encoding="utf-8")
)
FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def play(blocks, folder):
    """Write the files of a page and run its commands, in the order of the page; give how many commands ran."""
    checker, count = doctest.OutputChecker(), 0
    for block in blocks:
        if ", row " in block.caption:  # one row of a file that stands further up
            name, row = block.caption.split(", row ")
            lines = (folder / name).read_text(encoding="utf-8").splitlines(keepends=True)
            lines[int(row) - 1] = block.text
            (folder / name).write_text("".join(lines), encoding="utf-8")
        elif block.caption:
            (folder / block.caption).write_text(block.text, encoding="utf-8")
        elif block.language == "console":
            for part in block.text.split("$ lanewise ")[1:]:
                command, _, expected = part.partition("\n")
                done = CliRunner().invoke(app, shlex.split(command))
                assert done.exit_code in (0, 1), done.output
                assert isinstance(done.exception, SystemExit | None), done.exception
                assert checker.check_output(expected.strip(), done.output.strip(), FLAGS), (
                    f"lanewise {command}\nwanted:\n{expected}\ngiven:\n{done.output}"
                )
                count += 1
    return count


def test_pages_with_commands_are_found():
    assert "docs/how-to/marks-table.md" in PAGES
    assert "docs/tutorial/first-report.md" in PAGES


@pytest.mark.parametrize("page", PAGES)
def test_commands_print_what_stands_below_them(page, blocks_of, tmp_path, monkeypatch):
    shutil.copytree(ROOT / "examples", tmp_path / "examples", ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.chdir(tmp_path)
    assert play(blocks_of(page), tmp_path) > 0


def test_a_wrong_output_would_be_seen(tmp_path, monkeypatch, blocks_of):
    """The check itself bites."""
    monkeypatch.chdir(tmp_path)
    (console,) = [b for b in blocks_of("docs/how-to/marks-table.md") if "check smallest.csv\n" in b.text]
    with pytest.raises(AssertionError, match=r"lanewise check smallest\.csv"):
        play([console], tmp_path)


def test_sections_of_the_report_are_those_that_the_tutorial_names():
    """The list under "Read it" speaks of sections that a report has."""
    page = (ROOT / "docs" / "tutorial" / "first-report.md").read_text(encoding="utf-8")
    named = re.findall(r"\*\*(.+?)\*\*", page.split("## Read it")[1].split("\n## ")[0])
    report = lanewise.study_report(lanewise.read(ROOT / "examples" / "writing_inks.csv"))
    titles = {section.title for section in report.sections} | {"Summary"}
    assert len(named) >= 5
    assert [name for name in named if name not in titles] == []

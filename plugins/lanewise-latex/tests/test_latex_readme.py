from __future__ import annotations

import dataclasses
import re
from importlib import resources
from pathlib import Path

import pytest

from lanewise_latex.columns import TALLEST_ROW
from lanewise_latex.plugin import LatexOptions
from lanewise_latex.style import _PAPERS

README = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
PREAMBLE = resources.files("lanewise_latex").joinpath("preamble.tex").read_text("utf-8")


def test_the_readme_lists_every_option_with_its_default():
    listed = dict(re.findall(r"^\| `(\w+)` \| `(\w+)` \|", README, re.MULTILINE))
    defaults = {field.name: field.default for field in dataclasses.fields(LatexOptions)}
    assert listed == {name: {True: "yes"}.get(value, str(value)) for name, value in defaults.items()}


def test_the_readme_says_what_stands_in_the_preamble():
    (line,) = re.findall(r"^% \\newfontfamily.*$", PREAMBLE, re.MULTILINE)
    assert f"`{line}`" in README
    assert f"{TALLEST_ROW} lines" in README


def test_the_size_of_the_text_follows_from_paper_and_margins():
    margins = dict(re.findall(r"(hmargin|top|bottom)=(\d+)mm", PREAMBLE))
    sides, ends = 2 * int(margins["hmargin"]), int(margins["top"]) + int(margins["bottom"])
    assert _PAPERS["a4"] == pytest.approx((210 - sides, 297 - ends))  # ISO 216; from memory
    assert _PAPERS["letter"] == pytest.approx(
        (215.9 - sides, 279.4 - ends)
    )  # ANSI/ASME Y14.1, size A: 8.5 in by 11 in; from memory

"""Text that fits: widths against the font file itself, labels against a general solver."""

from __future__ import annotations

import matplotlib
import numpy as np
import pytest
from fontTools.ttLib import TTFont
from scipy.optimize import minimize

from lanewise.figures.lettering import (
    MM_PER_POINT,
    MORE,
    STAND_IN,
    printable,
    shorten,
    size_that_fits,
    spread,
    text_width,
    wrap,
)


@pytest.mark.parametrize("text", ["ink", "rhodamine B", "0.475", "WWW", "dark blue"], ids=str)
def test_width_is_that_of_the_font(text: str) -> None:
    """Advance widths from the font file, read with fontTools; the ink is narrower by the side bearings and kerning."""
    with TTFont(f"{matplotlib.get_data_path()}/fonts/ttf/DejaVuSans.ttf") as file:
        glyphs, widths, em = file.getBestCmap(), file["hmtx"], file["head"].unitsPerEm
        expected = sum(widths[glyphs[ord(sign)]][0] for sign in text) / em * 7.0 * MM_PER_POINT
    assert text_width(text, 7.0) == pytest.approx(expected, abs=0.15 * 7.0 * MM_PER_POINT)


@pytest.mark.parametrize(
    ("text", "shown"),
    [
        ("plain", "plain"),
        ("$x_ \\frac <b>", "$x_ \\frac <b>"),
        (" a\n\tb  c ", "a b c"),
        ("a\x00b", f"a{STAND_IN}b"),
        ("\u202eevil", f"{STAND_IN}evil"),
        ("👩\u200d🔬", STAND_IN * 2),
        ("✒\ufe0f", "✒"),
        ("\ud800", STAND_IN),
        ("墨", STAND_IN),
        ("שחור", "שחור"),
        ("", ""),
    ],
    ids=[
        "plain",
        "formula",
        "breaks",
        "NUL",
        "override",
        "joiner",
        "selector",
        "surrogate",
        "no glyph",
        "Hebrew",
        "empty",
    ],
)
def test_printable(text: str, shown: str) -> None:
    assert printable(text) == shown


def test_lines_fit_and_hold_the_whole_text() -> None:
    text = "a long sample name with blue-green words and oneverylongwordthatdoesnotfitthewidth in it"
    lines = wrap(text, 20.0, 7.0)
    assert all(text_width(line, 7.0) <= 20.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


def test_hyphens_allow_a_break() -> None:
    assert wrap("yellow-green", 8.5, 6.2) == ("yellow-", "green")


def test_what_does_not_fit_is_marked() -> None:
    lines = wrap("one two three four five six", 8.0, 7.0, most=2)
    assert len(lines) == 2
    assert lines[-1].endswith(MORE)
    assert text_width(lines[-1], 7.0) <= 8.0
    assert shorten("short", 50.0, 7.0) == "short"


def test_an_empty_text_is_one_empty_line() -> None:
    assert wrap("", 10.0, 7.0) == ("",)


def test_size_shrinks_to_the_width_but_not_below_the_least() -> None:
    assert size_that_fits("0.475", 50.0, 7.0, 4.0) == 7.0
    shrunk = size_that_fits("0.475", 6.0, 7.0, 4.0)
    assert text_width("0.475", shrunk) == pytest.approx(6.0)
    assert size_that_fits("0.475", 1.0, 7.0, 4.0) == 4.0


@pytest.mark.parametrize("seed", range(6))
def test_labels_move_as_little_as_possible(seed: int) -> None:
    """Least squares with the same limits by a general solver (SLSQP of scipy)."""
    random = np.random.default_rng(seed)
    wanted, heights = np.sort(random.uniform(0, 30, 6)), random.uniform(2, 6, 6)
    found = np.array(spread(list(wanted), list(heights), 0.0, 40.0))
    gaps = (heights[1:] + heights[:-1]) / 2
    limits = [
        {"type": "ineq", "fun": lambda y: np.diff(y) - gaps},
        {"type": "ineq", "fun": lambda y: np.concatenate([y - heights / 2, 40.0 - y - heights / 2])},
    ]
    start = np.cumsum(heights) - heights / 2
    best = minimize(lambda y: np.sum((y - wanted) ** 2), start, constraints=limits, method="SLSQP", tol=1e-10)
    assert best.success
    assert found == pytest.approx(best.x, abs=1e-3)


def test_labels_that_do_not_fit_are_not_placed() -> None:
    assert spread([1.0, 2.0], [3.0, 3.0], 0.0, 5.9) is None
    assert spread([], [], 0.0, 1.0) == []

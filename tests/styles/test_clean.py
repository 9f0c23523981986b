from __future__ import annotations

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise.document import clean
from lanewise.styles._clean import heading, isolate

ANY = st.text(st.characters(exclude_categories=()))

# Unicode Standard Annex 9, table 4 ("Bidirectional Character Types"), explicit formatting characters.
EXPLICIT = ("LRE", "RLE", "LRO", "RLO", "PDF", "LRI", "RLI", "FSI", "PDI")


@pytest.mark.parametrize(
    ("given_text", "expected"),
    [
        pytest.param("0.43 ± 0.02", "0.43 ± 0.02", id="ordinary text stays"),
        pytest.param("a\tb\nc\r\nd\u2028e\x85f", "a b c d e f", id="breaks become spaces"),
        pytest.param("a\x00b", "a⟨U+0000⟩b", id="NUL"),
        pytest.param("\x1b[31m", "⟨U+001B⟩[31m", id="escape sequence of a terminal"),
        pytest.param("\x9b31m", "⟨U+009B⟩31m", id="C1 control"),
        pytest.param("a\u202eb", "a⟨U+202E⟩b", id="right-to-left override"),
        pytest.param("\u2066a\u2069", "⟨U+2066⟩a⟨U+2069⟩", id="isolate from outside"),
        pytest.param("\ud800", "⟨U+D800⟩", id="half of a surrogate pair"),
        pytest.param("\ufeffa", "⟨U+FEFF⟩a", id="byte-order mark"),
        pytest.param("\U0010ffff", "⟨U+10FFFF⟩", id="no character"),
        pytest.param("👩🏽‍🔬", "👩🏽‍🔬", id="joined emoji stays"),
        pytest.param("می‌خواهم", "می‌خواهم", id="non-joiner of Persian stays"),
        pytest.param("a\u00a0b\u00adc", "a\u00a0b\u00adc", id="fixed space and soft hyphen stay"),
    ],
)
def test_clean_shows_what_is_not_text(given_text, expected):
    assert clean(given_text) == expected


@given(ANY)
def test_clean_leaves_nothing_that_acts(text):
    cleaned = clean(text)
    cleaned.encode("utf-8")
    assert not [c for c in cleaned if unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp")]
    assert not [c for c in cleaned if unicodedata.bidirectional(c) in EXPLICIT]
    assert clean(cleaned) == cleaned


@given(st.text(st.characters(exclude_categories=("C", "Z"), include_characters=" ")))
def test_clean_changes_no_visible_character(text):
    assert clean(text) == text


def test_a_heading_is_never_empty():
    assert heading("\t \n") == "(untitled)"
    assert heading(" Inks ") == "Inks"


@pytest.mark.parametrize(
    ("text", "enclosed"),
    [
        pytest.param("ink 0.25", False, id="left to right"),
        pytest.param("דיו", True, id="Hebrew"),
        pytest.param("حبر", True, id="Arabic"),
        pytest.param("٠٫٢٥", True, id="Arabic digits"),
        pytest.param("a\u200fb", True, id="right-to-left mark"),
        pytest.param("", False, id="empty"),
    ],
)
def test_isolate_encloses_what_runs_from_right_to_left(text, enclosed):
    assert isolate(text) == (f"\u2068{text}\u2069" if enclosed else text)

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise_latex.escape import clean, escape, pdf_text, wrap
from lanewise_latex.signs import COVERED, in_words, width, width_of


@pytest.mark.parametrize(
    ("text", "written"),
    [
        pytest.param("5 % of A & B", r"5 \% of A \& B", id="percent and ampersand"),
        pytest.param("$x_1^2$ #1", r"\$x\_1\textasciicircum{}2\$ \#1", id="formula"),
        pytest.param(r"\input{/etc/passwd}", r"\textbackslash{}input\{/etc/passwd\}", id="command"),
        pytest.param("^^41 ~", r"\textasciicircum{}\textasciicircum{}41 \textasciitilde{}", id="caret notation"),
        pytest.param("[2mm]", "{[}2mm]", id="bracket after the end of a row"),
        pytest.param(" \u2003*a", "{*}a", id="star after the end of a row"),
        pytest.param("-- ``a''", "-- ``a''", id="no ligatures"),
        pytest.param("two\r\nlines\n\n\tand\u2029more", "two lines and more", id="breaks"),
        pytest.param("1\u202f000\xa0mm", "1~000~mm", id="spaces that hold together"),
        pytest.param(
            "a\x00 \u202eb \ud800 \ue000 \xad", "a⟨U+0000⟩ ⟨U+202E⟩b ⟨U+D800⟩ ⟨U+E000⟩ ⟨U+00AD⟩", id="not text"
        ),
        pytest.param("ΔRf 0.50 ± 0.02, α < 1", "ΔRf 0.50 ± 0.02, α < 1", id="signs of the trade"),
        pytest.param("墨\u0327", r"\unicode{58A8}\unicode{0327}", id="not in the font"),
        pytest.param("e\u0301 A\u030a", "é Å", id="composed"),
        pytest.param("H₂O m⁻¹ ᵢ", r"H\textsubscript{2}O m\textsuperscript{−}¹ \textsubscript{i}", id="small figures"),
        pytest.param("", "", id="empty"),
    ],
)
def test_a_text_is_written_so_that_nothing_of_it_acts(text, written):
    assert escape(text) == written


@given(st.one_of(st.text(alphabet="\\{}$&#^_~%[]*-a1 \n"), st.text(st.characters(exclude_categories=()))))
def test_the_source_of_any_text_reads_as_this_text(readback, text):
    for longest in (1.0, 20.0):
        assert readback.shows(readback.unescaped(escape(text, longest)), text)


@given(st.text(st.characters(exclude_categories=())))
def test_only_known_commands_and_printable_characters_are_written(text):
    source = escape(text, 2.0)
    known = (
        r"\\textbackslash\{\}|\\textascii(circum|tilde)\{\}|\\unicode\{[0-9A-F]{4,6}\}|\\text(sub|super)script\{"
        r"|\\cut |\\chop |\\[{}$&#%_]"
    )
    without = re.sub(known, "", source)
    assert not re.search(r"[\\$&#%_^{]", without.replace("{[}", "").replace("{*}", ""))
    assert all(sign in COVERED or sign == " " for sign in source)
    assert not source.startswith(("[", "*"))


def test_long_words_may_be_broken_where_they_would_not_fit_and_best_after_punctuation():
    assert r"\c" not in escape("ethyl acetate:ethanol:water 70:35:30")
    assert escape("yellow-green-blue", 5.0) == r"yellow-\cut green-\cut blue"
    assert escape("a" * 12, 5.0) == r"aaa\chop aaa\chop aaa\chop aaa"
    assert escape("\x00\x01", 7.0) == r"⟨U+0000⟩\cut ⟨U+0001⟩"


@given(st.text(st.characters(exclude_categories=()), max_size=60), st.floats(2.0, 20.0))
def test_foretold_lines_hold_the_whole_text(text, room):
    line = clean(text)
    lines = list(wrap(line, room))
    assert "".join(lines).replace(" ", "") == line.replace(" ", "")
    for each in lines:
        assert width(each) <= room + 1e-9 or len(each) == 1


def test_bookmarks_keep_characters_that_no_font_has():
    assert pdf_text("墨 50 % {a}\x00") == r"墨 50 \% \{a\}⟨U+0000⟩"


def test_a_character_that_is_named_is_as_wide_as_its_name():
    assert width_of("墨") == pytest.approx(width("⟨U+58A8⟩"))
    assert in_words("🖋") == "⟨U+1F58B⟩"

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from rich.cells import cell_len

from lanewise.document import clean
from lanewise.styles._columns import table_blocks, text_width, wrap

TEXTS = st.text(st.characters(exclude_categories=()), max_size=60).map(clean)


@pytest.mark.parametrize(
    "text",
    [
        pytest.param("Rf 0.43 ± 0.02", id="Latin"),
        pytest.param("墨水", id="wide"),
        pytest.param("ｉｎｋ", id="full width"),
        pytest.param("e\u0301", id="combining accent"),
        pytest.param("דיו", id="Hebrew"),
        pytest.param("🖋", id="narrow emoji"),
        pytest.param("🧪", id="wide emoji"),
        pytest.param("⟨U+202E⟩", id="shown control"),
    ],
)
def test_text_width_agrees_with_a_terminal_library(text):
    assert text_width(text) == cell_len(text)


def test_isolates_take_no_room():
    assert text_width("\u2068דיו\u2069") == 3


@given(TEXTS, st.integers(2, 80))
def test_wrap_keeps_every_character_and_the_limit(text, limit):
    lines = wrap(text, limit)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(text_width(line) <= limit for line in lines)
    assert all(lines) or lines == [""]


def test_wrap_keeps_words_whole_where_they_fit():
    assert wrap("one two three four", 9) == ["one two", "three", "four"]


def test_wrap_cuts_no_accent_off_its_letter():
    assert wrap("a\u0301b\u0301c\u0301", 2) == ["a\u0301b\u0301", "c\u0301"]


def test_a_narrow_table_is_set_as_it_is():
    (block,) = table_blocks(["dye", "Rf"], [["violet", "0.43"], ["", "0.5"]], [False, True], 1, 40)
    assert block == ["dye       Rf", "------  ----", "violet  0.43", "         0.5"]


def test_long_texts_are_wrapped_before_a_table_is_split():
    rows = [["A", "0.43", "a tail towards the origin that makes the centre doubtful"], ["B", "0.5", ""]]
    (block,) = table_blocks(["lane", "Rf", "remark"], rows, [False, True, False], 1, 40)
    assert block == [
        "lane    Rf  remark",
        "----  ----  ----------------------------",
        "A     0.43  a tail towards the origin",
        "            that makes the centre",
        "            doubtful",
        "",
        "B      0.5",
    ]


def test_a_split_table_repeats_the_row_names():
    header = ["lane", *(f"quantity{n}" for n in range(8))]
    rows = [[lane, *(f"{n}.00" for n in range(8))] for lane in "AB"]
    blocks = table_blocks(header, rows, [False] + [True] * 8, 1, 40)
    assert [line.split()[0] for block in blocks for line in block] == ["lane", "----", "A", "B"] * 3
    assert [name for block in blocks for name in block[0].split()[1:]] == header[1:]


def test_a_number_stays_on_one_line_with_its_uncertainty():
    header = ["lane", *(f"quantity{n}" for n in range(4))]
    cells = [f"{n}.43125 ± 0.00212 mm" for n in range(4)]
    blocks = table_blocks(header, [["A", *cells]], [False] + [True] * 4, 1, 60)
    assert [block[2:] for block in blocks] == [
        [f"A     {cells[0]}  {cells[1]}"],
        [f"A     {cells[2]}  {cells[3]}"],
    ]


def test_row_names_that_would_fill_the_line_are_not_repeated():
    header = ["first name of row", "second name of row", "Rf"]
    rows = [["n" * 16, "m" * 16, "0.123456"]]
    blocks = table_blocks(header, rows, [False, False, True], 2, 40)
    assert [block[-1].split() for block in blocks] == [["n" * 16, "m" * 16], ["n" * 16, "0.123456"]]


@pytest.mark.parametrize(
    ("header", "rows", "expected"),
    [
        pytest.param([], [], [], id="no columns"),
        pytest.param(["Rf"], [], [["Rf", "--"]], id="no rows"),
        pytest.param([""], [[""]], [["", "-", ""]], id="empty cells"),
    ],
)
def test_tables_with_nothing_in_them(header, rows, expected):
    assert table_blocks(header, rows, [True] * len(header), 1, 40) == expected


@given(st.data(), st.integers(1, 9), st.integers(0, 3), st.integers(0, 9), st.integers(40, 200))
def test_no_line_of_a_table_is_longer_than_the_limit(data, columns, rows, keys, limit):
    row = st.lists(TEXTS, min_size=columns, max_size=columns)
    header, *cells = data.draw(st.lists(row, min_size=rows + 1, max_size=rows + 1))
    numeric = data.draw(st.lists(st.booleans(), min_size=columns, max_size=columns))
    for block in table_blocks(header, cells, numeric, keys, limit):
        assert all(text_width(line) <= limit for line in block)

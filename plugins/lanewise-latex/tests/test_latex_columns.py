from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise_latex.columns import deal_out, divided, heading_repeats, lines_of

CELLS = st.text(alphabet="aW .-墨", max_size=40).map(lambda text: " ".join(text.split(" ")).strip())


@st.composite
def tables(draw):
    columns = draw(st.integers(1, 12))
    row = st.lists(CELLS, min_size=columns, max_size=columns)
    numeric = draw(st.lists(st.booleans(), min_size=columns, max_size=columns))
    return draw(row), draw(st.lists(row, max_size=4)), numeric, draw(st.integers(0, columns))


@given(tables(), st.floats(25.0, 60.0))
def test_parts_fit_the_page_and_hold_every_column_in_order(table, room):
    header, rows, numeric, keys = table
    parts = deal_out(header, rows, numeric, keys, room, 1.0)
    seen = []
    for part in parts:
        assert sum(part.widths) + (len(part.widths) - 1) <= room + 1e-6
        assert part.columns == sorted(part.columns)
        seen += [column for column in part.columns if column not in seen]
    assert seen == list(range(len(header)))


def test_a_table_that_fits_is_not_changed():
    (part,) = deal_out(["ink", "Rf"], [["violet", "0.43 ± 0.01"]], [False, True], 1, 40.0, 1.0)
    assert sum(part.widths) < 20.0
    assert lines_of(["violet", "0.43 ± 0.01"], part.widths) == 1


def test_headings_are_wrapped_before_cells_and_cells_before_a_table_is_parted():
    header, row = ["dye", "Rf in the system with ethanol"], ["correction red", "0.43"]
    (narrow,) = deal_out(header, [row], [False, True], 1, 16.0, 1.0)
    assert lines_of(row, narrow.widths) == 1
    assert lines_of(header, narrow.widths) > 1
    (narrower,) = deal_out(header, [row], [False, True], 1, 9.5, 1.0)
    assert lines_of(row, narrower.widths) == 2


def test_a_table_without_columns_has_no_parts():
    assert deal_out([], [], [], 0, 40.0, 1.0) == []


@given(st.lists(CELLS, min_size=1, max_size=3), st.integers(1, 60))
def test_a_tall_row_is_divided_and_nothing_of_it_lost(cells, times):
    cells = [" ".join([cell] * times) for cell in cells]
    widths = [6.0] * len(cells)
    rows = divided(cells, widths)
    for column, cell in zip(zip(*rows, strict=True), cells, strict=True):
        assert "".join(column).replace(" ", "") == cell.replace(" ", "")
    assert all(lines_of(row, widths) <= 40 for row in rows)


@pytest.mark.parametrize(("title", "repeats"), [("Rf", True), ("a word " * 40, False)], ids=["short", "tall"])
def test_tall_headings_stand_once(title, repeats):
    assert heading_repeats([title, "n"], [8.0, 2.0]) is repeats

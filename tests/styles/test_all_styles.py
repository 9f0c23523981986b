"""What every built-in style keeps beside the contract of `lanewise.testing`, to which they are held as well."""

from __future__ import annotations

import re
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jinja2 import UndefinedError

from lanewise.document import Figure, Report, Section, Table, clean
from lanewise.styles import html, markdown, text
from lanewise.styles.builtin import HtmlOptions, MarkdownOptions, TextOptions

LAYOUTS = {
    "html": (html.render, HtmlOptions()),
    "html without contents": (html.render, HtmlOptions(contents=False, figures="png")),
    "markdown": (markdown.render, MarkdownOptions()),
    "markdown with png": (markdown.render, MarkdownOptions(figures="png")),
    "text": (text.render, TextOptions()),
    "narrow text": (text.render, TextOptions(width=40)),
}
STYLES = pytest.mark.parametrize("layout", LAYOUTS.values(), ids=LAYOUTS)


@STYLES
def test_no_character_acts(layout, report):
    render, options = layout
    page = render(report, options).main.decode("utf-8")
    assert {c for c in page if unicodedata.category(c) in ("Cc", "Cs")} == {"\n"}
    # right-to-left cells stand between U+2068 and U+2069, always in pairs and never nested
    for line in page.split("\n"):
        marks = re.sub("[^\u202a-\u202e\u2066-\u2069]", "", line)
        assert re.fullmatch("(\u2068\u2069)*", marks)


@STYLES
def test_an_empty_report_can_be_laid_out(layout):
    render, options = layout
    assert b"(untitled)" in render(Report("", (), ()), options).main


@pytest.mark.parametrize(
    ("render", "options"),
    [
        pytest.param(html.render, HtmlOptions(figures="none"), id="html"),
        pytest.param(markdown.render, MarkdownOptions(figures="none"), id="markdown"),
        pytest.param(text.render, TextOptions(), id="text"),
    ],
)
def test_pictures_left_out_are_not_drawn(render, options):
    def draw(kind):
        raise AssertionError("drawn")

    figure = Figure("plate-1", "One lane.", ("Lane A: Rf 0.50.",), draw, 80.0, 50.0)
    rendered = render(Report("Inks", (), (Section("Sheet", (figure,)),)), options)
    assert b"Lane A: Rf 0.50." in rendered.main
    assert not rendered.extras


@STYLES
def test_a_block_of_an_unknown_kind_is_not_passed_over(layout):
    render, options = layout
    report = Report("Inks", (), (Section("s", (object(),)),))
    with pytest.raises((AssertionError, UndefinedError), match=r"unreachable.*object|object.*has no attribute"):
        render(report, options)


MARKUP = st.text(alphabet="|\\`*_[]<>&#;-+=:./ $@!(){}~^%\"'\n1a", max_size=14)
ANY = st.text(st.characters(exclude_categories=()), max_size=14)
NUMBERS = st.decimals(-1000, 1000, places=3).map(str)


@st.composite
def tables(draw):
    columns = draw(st.integers(1, 6))
    cells = st.lists(st.one_of(MARKUP, ANY, NUMBERS), min_size=columns, max_size=columns)
    return Table(
        caption="t",
        header=tuple(f"h{index}" for index in range(columns)),
        rows=tuple(map(tuple, draw(st.lists(cells, max_size=4)))),
        numeric=tuple(draw(st.lists(st.booleans(), min_size=columns, max_size=columns))),
        key_columns=draw(st.integers(0, columns)),
    )


@given(tables())
def test_every_cell_of_any_table_comes_out_unchanged(readback, table):
    report = Report("Inks", (), (Section("s", (table,)),))
    cells = [list(table.header), *([clean(cell) for cell in row] for row in table.rows)]

    assert readback.html_tables(html.render(report, HtmlOptions()).main) == [cells]

    stripped = [[cell.strip() for cell in row] for row in cells]
    assert readback.markdown_tables(markdown.render(report, MarkdownOptions()).main) == [stripped]

    columns = {title: readback.squeezed("".join(column)) for title, *column in zip(*cells, strict=True)}
    for width in (40, 78):
        assert readback.text_columns(text.render(report, TextOptions(width=width)).main) == columns


def test_every_cell_of_the_sample_comes_out_unchanged(readback, sample):
    tables = [sample.results(), sample.readings(), sample.hostile()]
    report = Report("Inks", (), tuple(Section("s", (table,)) for table in tables))
    cells = [[[clean(cell) for cell in row] for row in (table.header, *table.rows)] for table in tables]
    assert readback.html_tables(html.render(report, HtmlOptions()).main) == cells
    stripped = [[[cell.strip() for cell in row] for row in table] for table in cells]
    assert readback.markdown_tables(markdown.render(report, MarkdownOptions()).main) == stripped


def test_numbers_of_the_sample_stand_whole_and_in_order_in_plain_text(sample):
    table = sample.readings()
    page = text.render(Report("Inks", (), (Section("s", (table,)),)), TextOptions()).main.decode("utf-8")
    for index, row in enumerate(table.rows):
        lines = [
            line for line in page.split("\n") if line.startswith(f"bench {1 + index // 8}  {'ABCDEFGH'[index % 8]} ")
        ]
        found = " ".join(lines)
        for cell, number in zip(row, table.numeric, strict=True):
            assert not number or f" {cell} " in f"{found} "

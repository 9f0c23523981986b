"""Readers and finders of the style checks, on files made by general libraries and by hand."""

from __future__ import annotations

import io
import json
import zipfile

import pytest

from lanewise.testing import acting, pages
from lanewise.testing.reports import ACTING, FORMULAS, UNSEEN

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@pytest.fixture
def workbook():
    """Make a workbook with cells as a general library writes them."""
    xlsxwriter = pytest.importorskip("xlsxwriter")

    def make(write):
        held = io.BytesIO()
        with xlsxwriter.Workbook(held, {"in_memory": True}) as book:
            write(book.add_worksheet("Marks"))
        return held.getvalue()

    return make


def archive(name, text):
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as made:
        made.writestr(name, text)
    return held.getvalue()


class TestText:
    def test_of_a_page(self):
        page = b"<style>p{}</style><p>a&nbsp;&lt;b&gt;</p><img alt='one spot'><script>x</script>"
        assert pages.text_of(page, "text/html").split() == ["a", "<b>", "one", "spot"]

    def test_of_a_workbook(self, workbook):
        main = workbook(lambda sheet: sheet.write_string(0, 0, "=1+1 <ink>"))
        assert "=1+1 <ink>" in pages.text_of(main, XLSX)

    def test_of_a_notebook_whose_texts_stand_as_lines(self):
        held = {"cells": [{"cell_type": "markdown", "source": ["Rf \n", "0.50"]}]}
        assert "Rf \n0.50" in pages.text_of(json.dumps(held).encode(), "application/x-ipynb+json")

    def test_of_a_table(self):
        assert pages.text_of(b'a,"b ""c"""\n', "text/csv") == 'a\nb "c"'

    @pytest.mark.parametrize(("name", "text"), UNSEEN.items(), ids=UNSEEN)
    @pytest.mark.parametrize(
        "shown", ["[U+{:04X}]", "⟨U+{:04X}⟩", "<0x{:x}>", ""], ids=["square", "angle", "hex", "none"]
    )
    def test_characters_that_steer_may_be_shown_in_another_form(self, name, text, shown):
        seen = "".join(sign if sign.isprintable() or sign.isspace() else shown.format(ord(sign)) for sign in text)
        assert list(pages.missing([text], f"before {seen} after")) == []

    def test_what_is_missing_is_missing(self):
        assert list(pages.missing(["a\x00b"], "a and nothing more of it; c")) == ["a\x00b"]
        assert list(pages.missing(["ink", "ink"], "one ink")) == ["ink"]

    def test_composed_and_combining_letters_are_the_same_text(self):
        assert list(pages.missing(["Tinte für Z\u00fcge"], "Tinte fu\u0308r Zu\u0308ge")) == []


class TestFormulas:
    def test_written_as_text_they_are_harmless(self, workbook):
        main = workbook(lambda sheet: [sheet.write_string(row, 0, text) for row, text in enumerate(FORMULAS.values())])
        assert list(acting.acting_formulas(main, XLSX)) == []

    def test_written_carelessly_they_are_found(self, workbook):
        main = workbook(lambda sheet: [sheet.write(row, 0, text) for row, text in enumerate(FORMULAS.values())])
        found = list(acting.acting_formulas(main, XLSX))
        assert found
        assert "the formula '1234+4321'" in found[0]

    def test_formulas_of_the_style_itself_are_its_own(self, workbook):
        main = workbook(lambda sheet: sheet.write_formula(0, 0, "=B2/C2", None, 0.5))
        assert list(acting.acting_formulas(main, XLSX)) == []

    def test_of_an_open_document(self):
        cell = '<c xmlns:table="urn:t" table:formula="of:=1234+4321"/>'
        assert len(list(acting.acting_formulas(archive("content.xml", cell), "application/x"))) == 1

    @pytest.mark.parametrize("cell", ["-0.25", "+1e3", "0", "", "'=1+1", "ink"])
    def test_cells_that_are_harmless(self, cell):
        assert list(acting.acting_formulas(f"{cell},x\n".encode(), "text/csv")) == []

    @pytest.mark.parametrize("cell", ["=1+1", "@A1", "+a", "-a", "\tb"])
    def test_cells_that_act(self, cell):
        assert len(list(acting.acting_formulas(f'"{cell}"\tx\n'.encode(), "text/tab-separated-values"))) == 1


class TestMarkup:
    @pytest.mark.parametrize(
        "page",
        [
            "<script>1</script>",
            "<p onclick='x'>a</p>",
            "<a href=' JavaScript:x'>a</a>",
            "<iframe></iframe>",
            "<meta http-equiv='Refresh' content='0'>",
            "<b class='kit-hostile'>a</b>",
            "<form action='javascript:x'></form>",
        ],
    )
    def test_what_acts_in_a_page(self, page):
        assert len(list(acting.acting_markup(page.encode(), "text/html"))) == 1

    @pytest.mark.parametrize(("name", "text"), ACTING.items(), ids=ACTING)
    def test_escaped_labels_are_harmless(self, name, text):
        import html
        import re

        page = f"<p title='{html.escape(text)}'>{html.escape(text)}</p>"
        assert list(acting.acting_markup(page.encode(), "text/html")) == []
        markdown = re.sub(r"([\\`*_{}\[\]<>()#+.!|$&-])", r"\\\1", text)
        assert list(acting.acting_markup(markdown.encode(), "text/markdown")) == []

    @pytest.mark.parametrize(
        "text",
        ["a <b>c</b>", "[x](javascript:y)", "[x]: javascript:y", "| a | b |\n|---|---|\n| a|b | c |", "<!-- x"],
    )
    def test_what_acts_in_markdown(self, text):
        assert list(acting.acting_markup(text.encode(), "text/markdown"))
        held = {"cells": [{"cell_type": "markdown", "source": text.splitlines(keepends=True)}]}
        assert list(acting.acting_markup(json.dumps(held).encode(), "application/x-ipynb+json"))

    @pytest.mark.parametrize("text", ["`<b>`", "```\n<b>\n```\n", r"\<b>", "a < b", "1 <2> 3"])
    def test_what_does_not_act_in_markdown(self, text):
        assert list(acting.acting_markup(text.encode(), "text/markdown")) == []

    @pytest.mark.parametrize("text", [r"\input{secret}", "$x_1^2$"])
    def test_what_acts_in_tex(self, text):
        assert list(acting.acting_markup(text.encode(), "application/x-tex"))

    @pytest.mark.parametrize("text", [r"\textbackslash input\{secret\}", r"\$x\_1\^{}2\$"])
    def test_what_does_not_act_in_tex(self, text):
        assert list(acting.acting_markup(text.encode(), "application/x-tex")) == []


class TestLoading:
    @pytest.mark.parametrize(
        "page",
        [
            "<img src='http://x.invalid/a.png'>",
            "<img src='//x.invalid/a.png'>",
            "<img src='missing.png'>",
            "<a href='https://x.invalid'>a</a>",
            "<style>@import 'https://x.invalid/a.css';</style>",
            '<p style="background: url(https://x.invalid/a.png)">a</p>',
            "<svg><image xlink:href='http://x.invalid/a.png'/></svg>",
        ],
    )
    def test_what_a_page_would_load(self, page):
        assert len(list(acting.loading(page.encode(), "text/html", frozenset()))) == 1

    @pytest.mark.parametrize(
        "page", ["<img src='data:image/png;base64,AA=='>", "<a href='#s1'>a</a>", "<img src='a.svg'>"]
    )
    def test_what_is_at_hand(self, page):
        assert list(acting.loading(page.encode(), "text/html", frozenset({"a.svg"}))) == []

    def test_of_markdown(self):
        text = b"![a](a.svg) ![b](b.svg) [c](https://x.invalid)"
        assert len(list(acting.loading(text, "text/markdown", frozenset({"a.svg"})))) == 2

    def test_of_a_workbook(self, workbook):
        main = workbook(lambda sheet: sheet.write_url(0, 0, "https://x.invalid/"))
        assert len(list(acting.loading(main, XLSX, frozenset()))) == 1


class TestWordless:
    @pytest.mark.parametrize(
        "page",
        [
            "<img src='a.png'>",
            "<img src='a.png' alt=' '>",
            "<svg><circle r='1'/></svg>",
            "<td style='background-color: red'></td>",
            "<span style='color:#a00'>●</span>",
            "<td bgcolor='red'> </td>",
        ],
    )
    def test_found(self, page):
        assert len(list(acting.wordless(page.encode(), "text/html"))) == 1

    @pytest.mark.parametrize(
        "page",
        [
            "<img src='a.png' alt='One spot.'>",
            "<svg aria-label='One spot.'></svg>",
            "<svg><title>One spot.</title></svg>",
            "<svg aria-hidden='true'></svg>",
            "<td style='color: red'>apart</td>",
            "<td style='width: 3em'></td>",
            "<td></td>",
        ],
    )
    def test_passed_over(self, page):
        assert list(acting.wordless(page.encode(), "text/html")) == []

    def test_of_markdown(self):
        assert len(list(acting.wordless(b"![](a.svg) ![One spot.](b.svg)", "text/markdown"))) == 1


@pytest.mark.parametrize(
    ("text", "count"), [("a\x1b[31m", 1), ("a\u202eb\u202c", 2), ("a\u2068b\u2069\n\t", 0), ("\x9b", 1)]
)
def test_characters_that_steer(text, count):
    assert len(list(acting.steering(text))) == count

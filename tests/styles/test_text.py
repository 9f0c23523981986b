from __future__ import annotations

import pytest

from lanewise.document import Bullets, Figure, Paragraph, Report, Section, Table
from lanewise.styles import text
from lanewise.styles._columns import text_width
from lanewise.styles.builtin import TextOptions


def lay_out(*blocks, width=78):
    report = Report("Inks", (), (Section("Sheet", blocks),))
    return text.render(report, TextOptions(width=width)).main.decode("utf-8")


def test_a_whole_report_in_plain_text(sample):
    report = sample.plain_report()
    page = text.render(Report(report.title, report.summary, report.sections[:2]), TextOptions()).main
    assert page.decode("utf-8") == (
        "Do two <writing> inks share a dye?\n"
        "==================================\n"
        "\n"
        "Summary\n"
        "-------\n"
        "\n"
        "The two inks can be told apart: violet (Rf 0.62 ± 0.02) is in the black ink\n"
        "only.\n"
        "\n"
        "One dye of the brown ink stayed at the origin; nothing can be said about it.\n"
        "\n"
        "What was found\n"
        "--------------\n"
        "\n"
        "The black and the brown ink share no dye that this solvent system can show.\n"
        "\n"
        "- Violet and orange differ by 0.03 in Rf.\n"
        "- One brown dye did not move.\n"
        "\n"
        "Table: Retardation factors of the dyes in two writing inks (invented data).\n"
        "\n"
        "Ink    Colour of the spot      Rf  U (k = 2)  n\n"
        "-----  --------------------  ----  ---------  -\n"
        "black  blue                  0.50       0.02  4\n"
        "black  violet                0.62       0.02  4\n"
        "brown  orange                0.65       0.03  3\n"
        "brown  stayed at the origin                   3\n"
        "\n"
        "The sheet\n"
        "---------\n"
        "\n"
        "Figure: Sheet 1 as it was read, lanes A and B.\n"
        "\n"
        "- Sheet of 80 mm by 50 mm; origin line 8 mm from the lower edge, front 34 mm\n"
        "  above it.\n"
        "- Lane A, black ink: one spot, blue, round, centre 17.0 mm above the origin,\n"
        "  Rf 0.50 ± 0.02.\n"
        "- Lane B, brown ink: one spot, orange, square, centre 22.0 mm above the\n"
        "  origin, Rf 0.65 ± 0.02.\n"
    )


@pytest.mark.parametrize("width", [40, 78, 200])
def test_no_line_is_longer_than_asked(report, width):
    page = text.render(report, TextOptions(width=width)).main.decode("utf-8")
    assert max(map(text_width, page.split("\n"))) <= width


def test_a_split_table_says_so():
    table = Table("t", ("lane", *(f"quantity{n}" for n in range(9))), (("A", *["1.0"] * 9),), (False, *[True] * 9))
    assert lay_out(table).count("\n(the same rows, further columns)\n\nlane  ") == 1


def test_the_second_line_of_an_item_is_indented():
    assert lay_out(Bullets(("word " * 12,)), width=40).endswith(
        "- word word word word word word word\n  word word word word word\n"
    )


def test_what_holds_nothing_leaves_no_gap():
    figure = Figure("plate-1", "One lane.", (), lambda kind: b"", 10.0, 10.0)
    assert lay_out(Paragraph(" "), Bullets(()), figure) == "Inks\n====\n\nSheet\n-----\n\nFigure: One lane.\n"


def test_a_right_to_left_cell_cannot_move_the_number_beside_it():
    table = Table("t", ("ink", "Rf"), (("דיו", "0.25"),), (False, True))
    assert lay_out(table).endswith("\u2068דיו\u2069  0.25\n")


def test_a_long_title_is_wrapped_and_underlined():
    page = text.render(Report("word " * 10, (), ()), TextOptions(width=40)).main.decode("utf-8")
    assert page.split("\n")[:3] == ["word word word word word word word word", "word word", "=" * 39]

"""What comes out of the engine, read back from the PDF file; see the README for what has to be installed."""

from __future__ import annotations

import re
import subprocess
import unicodedata
from pathlib import Path

import matplotlib
import pypdf
import pytest
from fontTools.ttLib import TTFont

import lanewise
from lanewise.document import Bullets, Figure, Paragraph, Report, Section, Table
from lanewise.hooks import Rendered
from lanewise_latex.plugin import LatexOptions
from lanewise_latex.signs import _MATH, _ROMAN, _WIDTH_OF, BOLD, COVERED, _points
from lanewise_latex.style import render

INKS = """\
plate,lane,sample,origin_mm,front_mm,center_mm,color
1,1,"50 % blue_black & \\input{x}",10,70,31.5,blue
1,1,"50 % blue_black & \\input{x}",10,70,52,violet
1,2,墨水,10,70,31,blue
"""
SIGNS = "ΔRf αβγ µm ± × ÷ ° − – — ≤ ≥ ≈ ≠ → ″ ′ … √ ∞ “a” ‘b’ „c“ «d» <<e>> --- -- ``f'' ,,g ?` !` \"h\" 'i' fi ffi"
MARGIN, FOOT = 20.0, 24.0  # of the page [mm]


def pdf_drawing(kind, width=80.0, height=50.0):
    assert kind == "pdf"
    from io import BytesIO

    from matplotlib.figure import Figure as Canvas

    canvas = Canvas(figsize=(width / 25.4, height / 25.4))
    canvas.text(0.1, 0.5, "drawn here")
    file = BytesIO()
    canvas.savefig(file, format="pdf", metadata={"CreationDate": None})
    return file.getvalue()


def figure(name="plate-1", width=80.0, height=50.0):
    words = ("Lane A: one spot, Rf 0.50 ± 0.02.", "[Lane B]: none.")
    return Figure(name, "Sheet 1, scale 1:1.", words, lambda kind: pdf_drawing(kind, width, height), width, height)


def report(*blocks, title="Inks", **more):
    return Report(title, ("Summary of it.",), (Section("Findings", blocks),), **more)


def marked(texts):
    """Set the texts as paragraphs, list items and cells, each followed by its number."""
    yield Paragraph("⟦start⟧")
    for number, text in enumerate(texts):
        yield from (Paragraph(text), Paragraph(f"⟦p{number}⟧"))
    yield Bullets(tuple(item for number, text in enumerate(texts) for item in (text, f"⟦b{number}⟧")))
    rows = tuple((text, text, f"⟦c{number}⟧") for number, text in enumerate(texts))
    yield Table("⟦⟧", ("⟦h⟧", "⟦h⟧", "⟦h⟧"), rows, (False, True, False), 0)


def between(found):
    """Give what stands before each mark."""
    return {mark: text for text, mark in re.findall(r"([^⟦⟧]*)⟦(\w+)⟧", found)}


@pytest.mark.parametrize("kind", ["any", "markup"])
def test_any_text_is_printed_whole_in_paragraphs_lists_and_cells(tex, gathered, readback, kind):
    texts = gathered(getattr(readback, kind), 300)
    assert len(set(texts)) > 200
    pages = tex(render(report(*marked(texts)), LatexOptions(contents=False)))
    assert "Missing character" not in pages.log
    assert "Overfull" not in pages.log
    found = between(pages.text().replace("•", ""))
    for number, text in enumerate(texts):
        text = text.replace("•", "")
        assert readback.shows(found[f"p{number}"], text), text
        assert readback.shows(found[f"b{number}"], text), text
        assert readback.shows(found[f"c{number}"], f"{text} {text}"), text


def test_any_text_is_printed_whole_in_headings_captions_and_bookmarks(tex, gathered, readback):
    texts = [text for text in gathered(readback.any, 60) + gathered(readback.markup, 60) if not text.isspace()]
    drawn = figure()
    sections = tuple(
        Section(
            text,
            (
                Paragraph(f"⟦s{number}⟧"),
                Table(text, (text, text), ((f"⟦t{number}⟧", ""),), (False, True)),
                Figure(f"a{number}", text, (text,), drawn.draw, 8.0, 5.0),
                Paragraph(f"⟦f{number}⟧"),
            ),
        )
        for number, text in enumerate(texts)
    )
    pages = tex(render(Report("⟦⟧", (), sections), LatexOptions(contents=False, descriptions="below")), runs=2)
    assert "Missing character" not in pages.log
    assert "Overfull" not in pages.log
    printed = pages.text().replace("•", "").replace("drawn here", "")
    found = between(printed)
    bookmarks = pypdf.PdfReader(pages.pdf).outline
    for number, text in enumerate(texts):
        shown = text.replace("•", "") if readback.squeezed(text) else "(untitled)"
        place = str(number + 1)
        assert readback.shows(found[f"s{number}"], f"{place} {shown}"), text
        text = text.replace("•", "")
        assert readback.shows(found[f"t{number}"], f"Table {place}. {text} {text} {text}"), text
        assert readback.shows(found[f"f{number}"], f"Figure {place}. {text} {text}"), text
        assert readback.shows(bookmarks[number].title, f"{place} {shown}"), text


def test_signs_of_the_trade_and_typing_are_printed_as_they_are(tex, readback):
    ascii_signs = " ".join(map(chr, range(33, 127)))
    pages = tex(render(report(Paragraph(SIGNS), Paragraph(f"⟦⟧ {ascii_signs} ⟦⟧")), LatexOptions()))
    assert readback.squeezed(SIGNS) in readback.squeezed(pages.text())
    assert readback.squeezed(ascii_signs) in readback.squeezed(pages.text())


def test_every_character_that_is_not_named_is_in_the_fonts_and_printed(tex, readback):
    fonts = {}
    for name in ("lmroman10-regular", "lmroman10-bold", "latinmodern-math"):
        path = subprocess.run(["kpsewhich", f"{name}.otf"], capture_output=True, text=True, check=True).stdout.strip()
        fonts[name] = TTFont(path)
    roman, bold, mathematics = (font.getBestCmap() for font in fonts.values())
    assert _points(_ROMAN) <= set(roman) & set(bold)
    assert _points(_MATH) <= set(mathematics)
    left_out = [chr(point) for point in set(roman) | set(mathematics) if point < 0x2C00 and chr(point) not in COVERED]
    assert {unicodedata.category(sign) for sign in left_out} <= {
        "Zs",
        "Cf",
        "Mn",
        "Me",
        "Lm",
        "Lu",
        "Ps",
        "Pe",
        "Co",
        "Cc",
    }
    assert all(unicodedata.normalize("NFC", sign) != sign for sign in left_out if unicodedata.category(sign)[0] in "LP")
    widths = [fonts["lmroman10-regular"]["hmtx"].metrics[roman[ord(sign)]][0] / 1000 for sign in _WIDTH_OF]
    assert widths == list(_WIDTH_OF.values())
    letters = "etaoinshrdlucmfwypvbgkqjxz"
    wider = [sum(font["hmtx"].metrics[sign][0] for sign in letters) for font in list(fonts.values())[:2]]
    assert wider[1] / wider[0] <= BOLD

    signs = sorted(COVERED)
    rows = tuple((f"⟦{sign}⟧", "") for sign in signs)
    table = Table("", ("bold ⟦" + "⟧⟦".join(signs) + "⟧", ""), rows, (False, False))
    printed = readback.squeezed(tex(render(report(table), LatexOptions())).text())
    assert [sign for sign in signs if printed.count(f"⟦{readback.squeezed(sign)}⟧") < 2] == []


def test_a_font_of_ones_own_shows_what_the_others_lack(tex, readback):
    font = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    rendered = render(report(Paragraph("Чернила 墨")), LatexOptions())
    assert "⟨U+0427⟩" in tex(rendered).text()
    line = rb"% \newfontfamily\sparefont{Name of the font}"
    assert rendered.main.count(line) == 1
    named = rb"\newfontfamily\sparefont{DejaVuSans.ttf}[Path=./]"
    extras = {"DejaVuSans.ttf": (font / "DejaVuSans.ttf").read_bytes()}
    pages = tex(Rendered(rendered.main.replace(line, named), extras))
    assert "Чернила ⟨U+58A8⟩" in pages.text()


def numbered_table(columns, rows):
    cells = tuple(tuple(f"{row}.{column:03d}" for column in range(columns)) for row in range(rows))
    header = tuple(f"column {column} [mm]" for column in range(columns))
    return Table("Wide.", header, cells, (False, *[True] * (columns - 1)), 1)


TALL = Table(
    "A caption of one tint " * 150,
    ("heading " * 300, "a" * 300, "b"),
    (("tint " * 3000, "x" * 3000, "end"), ("W" * 500, "墨" * 200, "[1]"), ("*", "", "2")),
    (False, False, True),
)


@pytest.mark.parametrize(("paper", "size"), [("a4", 10), ("letter", 12)], ids=["A4, 10 pt", "letter, 12 pt"])
def test_no_word_leaves_the_page(tex, readback, paper, size):
    blocks = (
        numbered_table(10, 80),
        numbered_table(40, 30),
        TALL,
        figure("large", 400.0, 300.0),
        figure("high", 100.0, 900.0),
        Paragraph("Tinte" * 300 + " 墨" * 50 + "墨" * 100 + "." * 900 + "\xa0" * 300 + "end"),
        Bullets(("1" * 400, "two")),
    )
    made = report(*blocks, title="Title " + "W" * 100 + " tint" * 600, date="2026-01-05")
    sections = (*made.sections, Section("W" * 400, blocks[-1:]), Section("heading " * 500, blocks[-2:-1]))
    pages = tex(render(Report(made.title, made.summary, sections), LatexOptions(paper=paper, size=size)), runs=2)
    assert "Overfull" not in pages.log
    width, height = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}[paper]
    foot = height - FOOT + 5.0
    words = list(pages.words())
    assert len(words) > 5000
    for word, left, top, right, bottom in words:
        assert left > MARGIN - 0.5, word
        assert right < width - MARGIN + 0.5, word
        assert top > 15.0, word
        assert bottom < (height - FOOT + 2.0 if top < foot else height - 8.0), word
    cells = set(pages.text(height).split())
    assert {f"{row}.{column:03d}" for row in range(30) for column in range(40)} <= cells
    printed = readback.squeezed(pages.text(height - FOOT + 3.0))
    assert printed.count("x") == 3000
    assert printed.count("tint") == 3000 + 150 + 600
    assert printed.count("⟨U+58A8⟩") == 200 + 2 * 150
    assert 800 < printed.count("heading") < 850  # the section's stands in the contents too, cut


def test_headings_of_a_long_table_stand_on_each_of_its_pages(tex):
    pages = tex(render(report(numbered_table(4, 200)), LatexOptions(contents=False)))
    texts = [page.extract_text() for page in pypdf.PdfReader(pages.pdf).pages]
    assert len(texts) >= 4
    assert all("column 3 [mm]" in text for text in texts)
    assert ["(Table 1, continued)" in text for text in texts] == [False, *[True] * (len(texts) - 1)]


def test_pictures_keep_their_size_where_they_fit_and_say_so_where_not(tex):
    rendered = render(report(figure(), figure("large", 340.0, 100.0)), LatexOptions())
    assert rb"width=80.00mm,height=50.00mm" in rendered.main
    assert rb"width=170.00mm,height=50.00mm" in rendered.main
    assert list(rendered.extras) == ["figure-1-plate-1.pdf", "figure-2-large.pdf"]
    text = tex(rendered, runs=2).text()
    assert text.count("drawn here") == 2
    assert text.count("Printed at 50 % of its size.") == 1
    assert "Figure 2, in words" in text
    assert len(re.findall(r"\(In words: page \d\.\)", text)) == 2


def test_no_file_outside_is_read_or_written(tex, readback):
    hostile = (
        r"\input{/etc/passwd}",
        r"\openout1=x.txt",
        r"\directlua{os.exit()}",
        r"^^5cinput{/etc/passwd}",
        r"\write18{ls}",
    )
    pages = tex(render(report(*map(Paragraph, hostile), figure(), title=hostile[0]), LatexOptions()), runs=2)
    trees = subprocess.run(["kpsewhich", "-var-value=TEXMF"], capture_output=True, text=True, check=True).stdout
    trees = [tree.strip(" !{}") for tree in trees.strip().split(",")]
    for line in (pages.folder / "report.fls").read_text("utf-8").splitlines():
        kind, _, name = line.partition(" ")
        path = pages.folder / name
        own = path.is_relative_to(pages.folder) or path.is_relative_to(tex.cache)
        assert own or (kind == "INPUT" and any(tree and path.is_relative_to(tree) for tree in trees)), line
    assert {path.name for path in pages.folder.iterdir()} == {
        "figure-1-plate-1.pdf",
        *(f"report.{ending}" for ending in ("aux", "fls", "log", "out", "pdf", "tex", "toc")),
    }
    assert all(readback.squeezed(text) in readback.squeezed(pages.text()) for text in hostile)


def test_the_same_report_gives_the_same_pdf_file_on_another_day(tex):
    rendered = render(report(figure(), numbered_table(4, 5), Paragraph("α 墨")), LatexOptions())
    first = tex(rendered, runs=2)
    second = tex(rendered, runs=2, SOURCE_DATE_EPOCH="86400", FORCE_SOURCE_DATE="1")
    assert first.pdf.read_bytes() == second.pdf.read_bytes()


def test_the_pdf_file_says_its_title_and_language(tex):
    pages = tex(render(report(title=r"A_b \ {c} 墨 & 50 %", language="de-CH"), LatexOptions(paper="letter")))
    read = pypdf.PdfReader(pages.pdf)
    assert read.metadata.title == r"A_b \ {c} 墨 & 50 %"
    assert read.trailer["/Root"]["/Lang"] == "de-CH"
    assert [round(float(edge)) for edge in read.pages[0].mediabox[2:]] == [612, 792]


@pytest.mark.parametrize("descriptions", ["below", "appendix"])
def test_a_real_report_keeps_every_cell_and_sentence(tex, readback, tmp_path, descriptions):
    readings = tmp_path / "inks.csv"
    readings.write_text(INKS, encoding="utf-8")
    made = lanewise.study_report(lanewise.read(readings))
    pages = tex(lanewise.render(made, "latex", options={"descriptions": descriptions}))
    assert "Overfull" not in pages.log
    assert "Missing character" not in pages.log
    printed = readback.squeezed(pages.text().replace("墨", "?")).replace("⟨U+58A8⟩⟨U+6C34⟩", "墨水")
    for section in made.sections:
        for block in section.blocks:
            match block:
                case Paragraph():
                    texts = [block.text]
                case Bullets():
                    texts = block.items
                case Table():
                    texts = [block.caption, *(cell for row in block.rows for cell in row)]
                case Figure():
                    texts = [block.caption, *block.description]
            for text in texts:
                assert readback.squeezed(text) in printed, text

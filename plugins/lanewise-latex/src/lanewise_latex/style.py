"""A report as LaTeX source for LuaLaTeX, its pictures in PDF files beside it.

The preamble is ``preamble.tex`` beside this module: packages, fonts, and a command for each part of a report. What is
written here is the document itself, in these commands, so that somebody can go on writing in it.
"""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field
from importlib import resources
from typing import assert_never

from lanewise.document import Block, Bullets, Figure, Paragraph, Report, Section, Table
from lanewise.hooks import Rendered
from lanewise_latex.columns import TALLEST_ROW, Part, bold, deal_out, divided, heading_repeats, lines_of
from lanewise_latex.escape import LONGEST_WORD, clean, escape, pdf_text, wrap
from lanewise_latex.plugin import LatexOptions
from lanewise_latex.signs import width

_TIES = re.compile(r"(?<=\bRf) (?=[\d<>])|(?<=\d) (?=±|mm\b|%)|(?<=[±<>]) (?=\d)")
_MM = 25.4 / 72.27  # a printer's point [mm]
_PAPERS = {"a4": (170.0, 253.0), "letter": (175.9, 235.4)}  # width and height of the text, as in the preamble [mm]
_SMALLER = {10: (8.5, 10.5), 11: (9.0, 11.2), 12: (10.0, 12.4)}  # type of tables and captions, and its lines [pt]
_LEADING = {10: 12.0, 11: 13.6, 12: 14.5}  # lines of the text [pt]
_GAP = 3.0  # between the columns of a table [mm]
_ROW = 1.1  # height of a row of one line, in lines
_RULES = 4.0  # rules of a table with the space around them [mm]
_HEADING = 16.0  # height of a heading with the space around it, of which some is lost at the top of a page [mm]
_TOGETHER = 90.0  # tables up to this height stay on one page [mm]
_LONGEST_HEADING = 120.0  # the rest of a longer heading is printed below it [em]
_LONGEST_RUNNING_TITLE = 36.0  # a longer title does not stand at the foot of each page [em]
_LONGEST_TITLE_WORD = 15.0  # the title is set in large type [em]


def render(report: Report, options: LatexOptions) -> Rendered:
    r"""Lay out a report as LaTeX.

    Parameters
    ----------
    report : Report
        Finished text, tables and figures; the data behind them are not used.
    options : LatexOptions
        Paper, size of type, contents, and where the pictures are described in words.

    Returns
    -------
    Rendered
        The source in UTF-8; as extras one PDF file a figure, numbered and named after it: ``figure-1-plate-1.pdf``.

    Examples
    --------
    >>> from lanewise.document import Report
    >>> source = render(Report("Inks", ("Both hold 50 % of it.",), ()), LatexOptions()).main.decode()
    >>> print(source[source.index(r"\begin{document}"):])
    \begin{document}
    \reporttitle{Inks}
    <BLANKLINE>
    \begin{summary}
    Both hold 50~\% of it.
    \end{summary}
    <BLANKLINE>
    \end{document}
    <BLANKLINE>
    """
    layout = _Layout(options)
    parts = [_head(report, options), *_opening(report, options)]
    for section in report.sections:
        parts += layout.section(section)
    parts += layout.appendix()
    return Rendered(main="\n\n".join([*parts, "\\end{document}\n"]).encode("utf-8"), extras=layout.extras)


def _head(report: Report, options: LatexOptions) -> str:
    """Give all that stands before the document."""
    title = clean(report.title) or "(untitled)"
    preamble = resources.files("lanewise_latex").joinpath("preamble.tex").read_text("utf-8")
    small, line = _SMALLER[options.size]
    lines = [
        "% Laid out by lanewise in the style latex. Compile it in its folder with lualatex, three times:",
        "% the contents and the numbers of pages are right only then.",
        rf"\documentclass[{options.size}pt,{options.paper}paper]{{article}}",
        preamble,
        rf"\newcommand{{\smaller}}{{\fontsize{{{small:g}}}{{{line:g}}}\selectfont}}",
        rf"\hypersetup{{pdftitle={{{pdf_text(title)}}}, pdflang={{{pdf_text(report.language)}}}}}",
    ]
    if width(title) <= _LONGEST_RUNNING_TITLE:
        lines.append(rf"\renewcommand{{\runningtitle}}{{{escape(title)}}}")
    return "\n".join([*lines, "", r"\begin{document}", rf"\reporttitle{{{escape(title, _LONGEST_TITLE_WORD)}}}"])


def _opening(report: Report, options: LatexOptions) -> list[str]:
    """Give the date, the summary and the contents."""
    parts = []
    if date := escape(report.date):
        parts.append(rf"\reportdate{{{date}}}")
    if summary := [text for text in map(_paragraph, report.summary) if text]:
        parts.append("\n".join([r"\begin{summary}", "\n\n".join(summary), r"\end{summary}"]))
    if options.contents and report.sections:
        parts.append("\\begin{contents}\n\\end{contents}")
    return parts


def _paragraph(text: str) -> str:
    """Write a text in lines that are easy to compare; what belongs to a number stays with it on the page."""
    return textwrap.fill(escape(_TIES.sub("\xa0", text)), 100, break_long_words=False, break_on_hyphens=False)


def _points(items: Sequence[str]) -> str:
    if not items:
        return ""
    return "\n".join([r"\begin{points}", *(rf"\item {_paragraph(item)}" for item in items), r"\end{points}"])


@dataclass(slots=True)
class _Layout:
    """Lays out section by section; keeps the pictures and what is to be said of them in the appendix."""

    options: LatexOptions
    extras: dict[str, bytes] = field(default_factory=dict)
    described: list[str] = field(default_factory=list)

    @property
    def page(self) -> tuple[float, float]:
        """Width and height of the text, in millimetres."""
        return _PAPERS[self.options.paper]

    @property
    def em(self) -> float:
        """Size of the type of tables and captions, in millimetres."""
        return _SMALLER[self.options.size][0] * _MM

    @property
    def line(self) -> float:
        """Height of a line of tables and captions, in millimetres."""
        return _SMALLER[self.options.size][1] * _MM

    def section(self, section: Section) -> list[str]:
        """Give a section, on a new page where its heading would stand alone."""
        first, *others = wrap(clean(section.title) or "(untitled)", _LONGEST_HEADING)
        need = _HEADING + self._need(section.blocks)
        parts = [
            rf"\room{{{min(need, self.page[1]):.0f}mm}}"
            "\n"
            rf"\section{{\texorpdfstring{{{escape(first)}}}{{{pdf_text(first)}}}}}"
        ]
        if others:
            parts.append(rf"\textbf{{{escape(' '.join(others))}}}")
        for place, block in enumerate(section.blocks):
            parts += filter(None, self._block(block, self._need(section.blocks[place:])))
        return parts

    def appendix(self) -> list[str]:
        """Give the descriptions that were put off."""
        if not self.described:
            return []
        return ["\\appendix\n\\section{Pictures in words}\n\\smaller", *self.described]

    def _block(self, block: Block, need: float) -> list[str]:
        match block:
            case Paragraph():
                return [_paragraph(block.text)]
            case Bullets():
                return [_points(block.items)]
            case Table():
                return self._table(block, need)
            case Figure():
                return self._figure(block, need)
            case _:
                assert_never(block)

    def _need(self, blocks: Sequence[Block]) -> float:
        """Foretell how many millimetres the first block takes, with what is not to be parted from it."""
        match blocks:
            case [Table() as table, *_]:
                return self._table_need(table, self._parts(table)[:1])
            case [Figure() as figure, *others]:
                alone = self._scaled(figure)[1] + self._caption_need(figure.caption)
                parted = figure.description and self.options.descriptions == "below"
                pair = alone + self._need(others) if others and isinstance(others[0], Table) and not parted else alone
                return pair if pair + 0.6 * _HEADING <= self.page[1] else alone
            case _:
                return 3 * self.line

    def _caption_need(self, caption: str) -> float:
        lines = sum(1 for _ in wrap(clean(caption), 0.95 * self.page[0] / self.em))
        return (lines + 1) * self.line

    def _figure(self, figure: Figure, need: float) -> list[str]:
        """Give a picture, its caption and, if it is to stand here, its description."""
        number = len(self.extras) + 1
        name = "-".join(filter(None, (f"figure-{number}", re.sub("[^A-Za-z0-9]+", "-", figure.name).strip("-")[:60])))
        self.extras[f"{name}.pdf"] = figure.draw("pdf")
        wide, high = self._scaled(figure)
        caption = escape(figure.caption)
        if wide < figure.width:
            caption += rf" (Printed at {100 * wide / figure.width:.0f}\,\% of its size.)"
        label, words = f"figure-{number}", _points(figure.description)
        if words and self.options.descriptions == "appendix":
            caption += rf"\wordsonpage{{{label}-words}}"
            self.described.append(rf"\inwords{{{label}}}\label{{{label}-words}}" "\n" f"{words}")
            words = ""
        picture = [
            rf"\room{{{need:.0f}mm}}",
            rf"\drawing{{width={wide:.2f}mm,height={high:.2f}mm,keepaspectratio}}{{{name}.pdf}}",
            rf"\figurecaption{{{caption}}}\label{{{label}}}",
        ]
        return ["\n".join(picture), words]

    def _scaled(self, figure: Figure) -> tuple[float, float]:
        """Give the size in millimetres at which a picture fits the page with its caption."""
        wide, high = self.page
        tallest = max(high / 3, high - 30.0 - self._caption_need(figure.caption))
        scale = min(1.0, wide / figure.width, tallest / figure.height)
        return scale * figure.width, scale * figure.height

    def _table(self, table: Table, need: float) -> list[str]:
        """Give the caption and the parts of a table."""
        parts = self._parts(table)
        written = [rf"\room{{{need:.0f}mm}}" "\n" rf"\tablecaption{{{escape(table.caption)}}}"]
        for place, part in enumerate(parts):
            if place:
                written.append(
                    rf"\room{{{self._table_need(table, [part]):.0f}mm}}"
                    "\n"
                    r"\tablepart{the same rows, further columns}"
                )
            written.append(_tabular(table, part, self.em))
        return written

    def _parts(self, table: Table) -> list[Part]:
        header, rows = [clean(title) for title in table.header], [[clean(cell) for cell in row] for row in table.rows]
        return deal_out(header, rows, table.numeric, table.key_columns, self.page[0] / self.em, _GAP / self.em)

    def _table_need(self, table: Table, parts: Sequence[Part]) -> float:
        """Foretell the height in millimetres of a small table, or of the beginning of a large one."""
        need = self._caption_need(table.caption)
        for part in parts:
            lines = [lines_of([clean(table.header[index]) for index in part.columns], bold(part.widths))]
            for row in table.rows[:30]:
                lines.append(lines_of([clean(row[index]) for index in part.columns], part.widths))
            heights = [min(TALLEST_ROW, count) * _ROW * self.line for count in lines]
            whole = _RULES + sum(heights)
            small = len(table.rows) <= 30 and whole <= _TOGETHER
            need += whole if small else max(sum(heights[:2]), min(_TOGETHER, sum(heights[:5])))
        return min(need, self.page[1])


def _tabular(table: Table, part: Part, em: float) -> str:
    """Write one part of a table; its headings are repeated on every page if they are not too tall."""
    kinds = "".join(
        f"{'R' if table.numeric[index] else 'L'}{{{wide * em:.2f}mm}}"
        for index, wide in zip(part.columns, part.widths, strict=True)
    )
    titles = [clean(table.header[index]) for index in part.columns]
    rows = [[clean(row[index]) for index in part.columns] for row in table.rows]
    apart = any(lines_of(row, part.widths) > 1 for row in rows)
    heading = [
        " & ".join(
            rf"\textbf{{{escape(cell, min(wide, LONGEST_WORD))}}}"
            for cell, wide in zip(cells, bold(part.widths), strict=True)
        )
        + r" \\"
        for cells in divided(titles, bold(part.widths))
    ]
    spanning = rf"\multicolumn{{{len(titles)}}}{{@{{}}l@{{}}}}"
    lines = [rf"\begin{{reporttable}}{{{kinds}}}", r"\toprule"]
    if heading_repeats(titles, part.widths):
        lines += [*heading, r"\midrule", r"\endfirsthead", rf"{spanning}{{\continued}} \\", r"\toprule", *heading]
        lines += [r"\midrule", r"\endhead", r"\midrule", r"\endfoot", r"\bottomrule", r"\endlastfoot"]
    else:
        lines += [r"\endhead", r"\bottomrule", r"\endfoot", *heading, r"\midrule"]
    written = []
    for row in rows:
        for cells in divided(row, part.widths):
            pairs = zip(cells, part.widths, strict=True)
            written.append(" & ".join(escape(cell, wide) for cell, wide in pairs) + r" \\")
    if not written:
        written = [rf"{spanning}{{\makebox[0pt][l]{{(no rows)}}}} \\"]
    lines.append(("\n\\addlinespace[0.8mm]\n" if apart else "\n").join(written))
    return "\n".join([*lines, r"\end{reporttable}"])

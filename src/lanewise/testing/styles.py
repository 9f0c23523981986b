"""The contract of report styles."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import TypeVar

from lanewise.document import Bullets, Figure, Paragraph, Report, Section, Table
from lanewise.errors import StyleError
from lanewise.files.naming import check_extras
from lanewise.testing import acting, digests, pages
from lanewise.testing.contracts import Unmet, check, said, skip
from lanewise.testing.layouts import Layouts
from lanewise.testing.reports import standard_reports

AFTER = ("descriptor", "renders")

T = TypeVar("T")


class ReportStyleContract(Layouts):
    """What a report style has to keep; subclass it in the tests of a plugin.

    Attributes
    ----------
    plugin : module
        The module that the entry point names.
    style : str
        Short name of the style.
    options : mapping of str to object
        Options to lay reports out with.
    not_applicable : mapping of str to str
        Checks that do not apply, by name without ``test_``, each with the reason.

    Examples
    --------
    >>> from lanewise.styles import builtin
    >>> class TestMarkdown(ReportStyleContract):
    ...     plugin = builtin
    ...     style = "markdown"
    >>> TestMarkdown().test_cells()
    """

    @check("Write a file that a strict reader of its media type accepts.", after=AFTER)
    def test_opens(self) -> None:
        """Every standard report opens in a reader of its kind, or what the author gives as one."""
        for name in self._reports:
            try:
                self.opens(self._rendered(name))
            except (Exception, SystemExit) as fault:
                raise Unmet(f"the report {name!r} to open", said(fault)) from fault

    @check("Write the title first and every sentence of the summary, as they stand.", after=AFTER)
    def test_summary(self) -> None:
        """Title and summary of every report are there."""
        for name, report in self._reports.items():
            for text in pages.missing([report.title, *report.summary], self._seen_text(name)):
                raise Unmet(f"{text[:80]!r} of title or summary of the report {name!r}", "no such text")

    @check("Write the title of every section, every paragraph and every bullet.", after=AFTER)
    def test_words(self) -> None:
        """Every title of a section, paragraph and bullet is there."""
        self._find(_words, "the text", (Paragraph, Bullets))

    @check("Write the caption and every cell of every table, and split a wide table rather than cut it.", after=AFTER)
    def test_cells(self) -> None:
        """Every caption, heading and cell of a table is there, of wide tables and hostile labels too."""
        self._find(lambda report: [text for table in _tables(report) for text in _cells(table)], "the cell", (Table,))

    def _find(self, texts_of: Callable[[Report], Iterable[str]], what: str, kinds: tuple[type, ...]) -> None:
        """Look for texts in reports that hold these kinds of blocks alone, so that none is found elsewhere."""
        for name, report in self._reports.items():
            for text in pages.missing(texts_of(report), self._text_of(self._lay_out(_only(report, kinds)))):
                raise Unmet(f"{what} {text[:80]!r} as often as the report {name!r} has it", "fewer, or none")

    @check("Write numbers as they stand: they are rounded already. Compute nothing.", after=AFTER)
    def test_numbers(self) -> None:
        """Every number of a table stands unchanged, with all its digits and its sign."""
        for name, report in self._reports.items():
            seen = " ".join(self._seen_text(name).split())
            for table in _tables(report):
                for text in _numbers(table):
                    if not re.search(rf"(?<![\d.,]){re.escape(text)}(?![\d]|[.,]\d)", seen):
                        raise Unmet(f"the number {text} of the report {name!r}", "no such number")

    @check("Write Figure.caption, and Figure.description beside the picture or as its alternative text.", after=AFTER)
    def test_descriptions(self) -> None:
        """Caption and description of every figure are there in words."""

        def described(report: Report) -> Iterable[str]:
            return [text for figure in _blocks(report, Figure) for text in (figure.caption, *figure.description)]

        self._find(described, "the description", (Figure,))

    @check("Say in words what a colour says, and give each picture an alternative text.", after=AFTER)
    def test_colour(self) -> None:
        """Nothing is said by colour or picture alone."""
        for name in self._reports:
            for fault in acting.wordless(self._rendered(name).main, self._media_type):
                raise Unmet(f"words in the report {name!r}", fault)
        texts = {}
        for verdict in ("together", "apart"):
            table = Table("Verdict.", ("Inks", "Verdict"), (("1 and 2", verdict),), (False, False))
            report = Report("Inks", (), (Section("Verdict", (table,)),))
            texts[verdict] = pages.squeezed(self._text_of(self._lay_out(report)))
        if texts["together"] == texts["apart"]:
            raise Unmet("another text where a cell says 'apart' instead of 'together'", "the same text")

    @check(
        "Escape every text of the report for the kind of file: html.escape(text, quote=True), a backslash before the "
        "marks of Markdown and TeX.",
        after=AFTER,
    )
    def test_markup(self) -> None:
        """Labels that are markup stay text: no script, no handler, no link that acts, no broken table."""
        for name in ("hostile", "labels", "ordinary"):
            for fault in acting.acting_markup(self._rendered(name).main, self._media_type):
                raise Unmet(f"labels of the report {name!r} that stay text", fault)

    @check(
        "Write cells as text: a text cell in a workbook, an apostrophe in front in CSV. Numbers stay numbers.",
        after=AFTER,
    )
    def test_formulas(self) -> None:
        """Labels that begin like a formula are not worked out by a spreadsheet."""
        rendered = self._rendered("hostile")
        files = {"the main file": (rendered.main, self._media_type)}
        for name, data in rendered.extras.items():
            kind = {".csv": "text/csv", ".tsv": "text/tab-separated-values"}.get(name[-4:].lower(), "")
            files[name] = (data, kind)
        looked = {n: f for n, f in files.items() if pages.is_table(f[1]) or pages.is_archive(f[0])}
        if not looked:
            skip("nothing that a spreadsheet opens")
        for where, (data, kind) in looked.items():
            for fault in acting.acting_formulas(data, kind):
                raise Unmet(f"labels that stay text in {where}", fault)

    @check(
        "Show control characters, direction overrides and halves of characters in a harmless form, such as ⟨U+202E⟩.",
        after=AFTER,
    )
    def test_control_characters(self) -> None:
        """No control character or direction override of a label acts."""
        for name in self._reports:
            texts = [self._seen_text(name)]
            if self._media_type.startswith("text/"):
                texts.append(self._rendered(name).main.decode("utf-8"))
            for text in texts:
                for fault in acting.steering(text):
                    raise Unmet(f"harmless characters in the report {name!r}", fault)

    @check("Put everything into the file or into extras: style sheets, fonts, pictures (data: addresses).", after=AFTER)
    def test_offline(self) -> None:
        """The report opens without network: nothing is loaded from outside, nothing beside it is missing."""
        for name in self._reports:
            rendered = self._rendered(name)
            for fault in acting.loading(rendered.main, self._media_type, frozenset(rendered.extras)):
                raise Unmet(f"everything at hand in the report {name!r}", fault)

    @check("Name extras plainly and differently: letters, digits, hyphens, one ending; no folder.", after=AFTER)
    def test_extras(self) -> None:
        """Files beside the main one have plain names and hold bytes."""
        for name in self._reports:
            rendered = self._rendered(name)
            for file, data in rendered.extras.items():
                if not isinstance(data, bytes):
                    raise Unmet(f"bytes for {file!r}", type(data).__name__)
            try:
                check_extras(rendered.extras, f"report{self._item.suffix}")
            except StyleError as error:
                raise Unmet(f"plain names in the report {name!r}", str(error)) from None

    @check("Take the day from report.date; no clock, no random number, no id, no order of a set.", after=AFTER)
    def test_same_twice(self) -> None:
        """The same report gives the same bytes each time."""
        for name, report in self._reports.items():
            if self._lay_out(report) != self._rendered(name):
                raise Unmet(f"the same bytes for the report {name!r}", "others at the second time")

    @check("Do not let the order of a set, a hash or an id decide; sort first.", after=AFTER)
    def test_hash_seed(self) -> None:
        """Another process, with another seed of hashes, gives the same bytes."""
        told = self._elsewhere
        if told["fault"]:
            raise Unmet("the reports laid out in a process of its own", told["fault"])
        for name, there in zip(self._reports, told["digests"], strict=True):
            if digests.of_rendered(self._rendered(name)) != there:
                raise Unmet(f"the same bytes for the report {name!r} in another process", "others")

    @check("Let figures draw themselves; draw without matplotlib.pyplot, on a Figure of your own.", after=AFTER)
    def test_headless(self) -> None:
        """Reports are laid out without a display, and matplotlib.pyplot is not loaded."""
        told = self._elsewhere
        if told["fault"]:
            raise Unmet("the reports laid out without a display", told["fault"])
        if told["pyplot"]:
            raise Unmet("no matplotlib.pyplot", "it was loaded")

    @check("Copy what you want to change; a report may be laid out in several styles.", after=AFTER)
    def test_report_unchanged(self) -> None:
        """The report is the same after it was laid out."""
        before = standard_reports()
        for name, report in standard_reports().items():
            self._lay_out(report)
            if report != before[name]:
                raise Unmet(f"the report {name!r} as it was", "a changed one")


def _only(report: Report, kinds: tuple[type, ...]) -> Report:
    """Leave of a report the blocks of some kinds; titles of sections are left where paragraphs are."""
    sections = tuple(
        Section(
            section.title if Paragraph in kinds else f"Part {number}",
            tuple(block for block in section.blocks if isinstance(block, kinds)),
        )
        for number, section in enumerate(report.sections, start=1)
    )
    return replace(report, sections=sections)


def _blocks(report: Report, kind: type[T]) -> Iterator[T]:
    for section in report.sections:
        for block in section.blocks:
            if isinstance(block, kind):
                yield block


def _tables(report: Report) -> Iterator[Table]:
    return _blocks(report, Table)


def _cells(table: Table) -> Iterator[str]:
    yield from (table.caption, *table.header)
    for row in table.rows:
        yield from row


def _numbers(table: Table) -> Iterator[str]:
    for row in table.rows:
        yield from (cell for cell, numeric in zip(row, table.numeric, strict=True) if numeric and cell)


def _words(report: Report) -> Iterator[str]:
    for section in report.sections:
        yield section.title
        for block in section.blocks:
            if isinstance(block, Paragraph):
                yield block.text
            elif isinstance(block, Bullets):
                yield from block.items

"""What an author tells about a style, and how its checks lay out the standard reports."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator, Mapping
from typing import Any, ClassVar, cast
from xml.etree import ElementTree

from lanewise.document import Report
from lanewise.hooks import Rendered, ReportStyle
from lanewise.testing import digests, pages
from lanewise.testing.contracts import NOTHING, Unmet, check, said
from lanewise.testing.effects import Effects
from lanewise.testing.offering import Offering
from lanewise.testing.reports import standard_reports


class Layouts(Offering, Effects):
    """The part of the contract of a style that its author fills in."""

    _kind: ClassVar[str] = "style"
    _works: ClassVar[str] = "renders"
    style: ClassVar[str]
    options: ClassVar[Mapping[str, object]] = NOTHING

    def text(self, rendered: Rendered) -> str:
        """Give the text that a reader sees; override it for binary files.

        Parameters
        ----------
        rendered : Rendered
            One of the standard reports, laid out.

        Returns
        -------
        str
            By itself, what `lanewise.testing.pages.text_of` makes of the main file.
        """
        return pages.text_of(rendered.main, self._media_type)

    def opens(self, rendered: Rendered) -> None:
        """Raise where the file does not open; override it with an independent reader.

        Parameters
        ----------
        rendered : Rendered
            One of the standard reports, laid out.

        Notes
        -----
        By itself it parses JSON, XML, text tables and zip archives, looks at both ends of PDF, and decodes text.
        """
        main, media_type = rendered.main, self._media_type
        if pages.is_json(media_type):
            json.loads(main)
        elif pages.is_xml(media_type):
            ElementTree.fromstring(main)
        elif pages.is_archive(main):
            with zipfile.ZipFile(io.BytesIO(main)) as archive:
                if bad := archive.testzip():
                    raise ValueError(f"the member {bad} is damaged")
        elif media_type == "application/pdf":
            if not main.startswith(b"%PDF-") or b"%%EOF" not in main[-1024:]:
                raise ValueError("no head or no end of a PDF file")
        elif pages.is_table(media_type):
            list(pages.rows_of(main, media_type))
        elif media_type.startswith("text/"):
            main.decode("utf-8")

    @property
    def _given(self) -> Mapping[str, object]:  # type: ignore[override]
        return self.options

    @property
    def _item(self) -> ReportStyle:
        return cast(ReportStyle, self._entry.item)

    @property
    def _media_type(self) -> str:
        return self._item.media_type

    @property
    def _reports(self) -> dict[str, Report]:
        return self._kept("reports", standard_reports)

    def _lay_out(self, report: Report, options: Mapping[str, object] | None = None) -> Rendered:
        """Lay out a report with the style's own function."""
        render, made = digests.ready(self._entry, self.options if options is None else options)
        rendered = render(report, made)
        if not isinstance(rendered, Rendered):
            raise TypeError(f"the renderer wanted to return Rendered, returned {type(rendered).__name__}")
        return rendered

    def _rendered(self, name: str) -> Rendered:
        """Give one of the standard reports, laid out once."""
        return self._kept(f"rendered {name}", lambda: self._lay_out(self._reports[name]))

    def _text_of(self, rendered: Rendered) -> str:
        """Give the text that a reader sees, and help the author of a binary format."""
        try:
            return self.text(rendered)
        except UnicodeDecodeError as fault:
            given = f"bytes that are no text: {fault}"
            raise Unmet(
                "the text of a report", given, "Override text(rendered) with a reader of such files."
            ) from fault

    def _seen_text(self, name: str) -> str:
        return self._kept(f"text {name}", lambda: self._text_of(self._rendered(name)))

    def _used_with(self, options: Mapping[str, object]) -> Iterator[Any]:
        for name in ("ordinary", "wide"):
            rendered = self._lay_out(self._reports[name], {**self.options, **options})
            yield digests.of_rendered(rendered)

    def _exercise(self) -> None:
        for report in self._reports.values():
            self._lay_out(report)

    def _task(self) -> dict[str, Any]:
        return {"use": "render", "offer": self._name, "options": dict(self.options)}

    def _changes_elsewhere(self) -> list[str]:
        found: list[str] = self._elsewhere["changes"]
        return found

    @check(
        "Return Rendered(main=...) with the bytes of the file for any Report: empty ones, wide ones, odd labels.",
        after=("descriptor",),
        essential=True,
    )
    def test_renders(self) -> None:
        """Every standard report is laid out: ordinary, empty, one lane, 40 lanes, labels of all kinds."""
        for name in self._reports:
            try:
                main = self._rendered(name).main
                if not isinstance(main, bytes) or not main:
                    raise TypeError(f"main wanted to be bytes, is {type(main).__name__} {main!r:.40}")
            except (Exception, SystemExit) as fault:
                raise Unmet(f"the report {name!r} laid out", said(fault)) from fault

"""The sheets of a file with their values, each looked through before its values are read."""

from __future__ import annotations

import io
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from lanewise.errors import OptionError
from lanewise.hooks import Source
from lanewise_spreadsheet import ods_content, xlsx_parts
from lanewise_spreadsheet.archive import Archive, refusal
from lanewise_spreadsheet.markup import check_markup
from lanewise_spreadsheet.survey import Survey, too_large

if TYPE_CHECKING:
    from python_calamine import CalamineWorkbook

_LEFT_OUT = (
    ("xl/media/", "pictures"),
    ("pictures/", "pictures"),
    ("xl/charts/", "charts"),
    ("xl/comments", "comments on cells"),
    ("xl/threadedcomments/", "comments on cells"),
    ("xl/externallinks/", "links to other workbooks, whose values were taken as saved"),
    ("xl/embeddings/", "embedded objects"),
    ("object ", "embedded objects or charts"),
)
_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet.

    Attributes
    ----------
    name : str
        As its tab says.
    rows : sequence of sequences
        Values from cell A1 on: text, float, bool, dates and times; an empty text where nothing stands.
    survey : Survey
        What the values do not tell.
    """

    name: str
    rows: Sequence[Sequence[object]]
    survey: Survey


class SheetFile:
    """An xlsx or ods file, once it has been found harmless.

    Parameters
    ----------
    source : Source
        The file.

    Attributes
    ----------
    names : list of str
        Names of the sheets, in the order of their tabs.
    hidden : set of str
        Those that are hidden.

    Raises
    ------
    UnreadableFile
        If the file is damaged, locked, could do harm, or reaches too far.
    """

    def __init__(self, source: Source) -> None:
        self.file = source.name
        data = source.bytes()
        self._archive = Archive(source.name, data)
        self._surveys: list[Survey] | None = None
        self._parts: list[str] = []
        if self._archive.kind == "ods":
            ods_content.refuse_locked(self._archive)
            self._surveys = ods_content.survey_content(self._archive)
            check_markup(self._archive, but={ods_content.CONTENT})
        else:
            named = xlsx_parts.sheet_parts(self._archive)
            self._parts = [part for _, part in named]
            self._units = xlsx_parts.units_of_styles(self._archive)
            check_markup(self._archive, but=set(self._parts))
        self._book = self._load(data)
        kinds = self._book.sheets_metadata
        self.names = [one.name for one in kinds]
        self._tables = {one.name for one in kinds if str(one.typ).endswith("WorkSheet")}
        self.hidden = {one.name for one in kinds if not str(one.visible).endswith(".Visible")}
        known = self._parts if self._surveys is None else self._surveys
        if len(known) != len(self.names):
            given = f"{len(self.names)} in its list and {len(known)} in its parts"
            raise refusal(self.file, "", "as many sheets as the file lists", given, "Save the file anew.")

    def sheet(self, name: str) -> Sheet:
        """Read one sheet; without rows where it is a chart or has no values."""
        place = self.names.index(name)
        if self._surveys is not None:
            survey = self._surveys[place]
        elif name in self._tables and self._parts[place]:
            survey = xlsx_parts.survey_sheet(self._archive, self._parts[place], self._units)
            self._check_reach(name, survey)
        else:
            survey = Survey()
        if not survey.rows:
            return Sheet(name, [], survey)
        rows = self._guarded(lambda: list(self._book.get_sheet_by_index(place).iter_rows()))
        return Sheet(name, rows, survey)

    def chosen(self, wanted: str, hidden: bool) -> list[str]:
        """Give the names of the sheets to read.

        Parameters
        ----------
        wanted : str
            Name or number of one sheet; empty for all.
        hidden : bool
            Whether hidden ones are meant, too.

        Raises
        ------
        OptionError
            If there is no such sheet.
        """
        if not wanted:
            return [name for name in self.names if hidden or name not in self.hidden]
        if wanted in self.names:
            return [wanted]
        if wanted.isdecimal() and 0 < int(wanted) <= len(self.names):
            return [self.names[int(wanted) - 1]]
        there = "; ".join(f"{number} {name!r}" for number, name in enumerate(self.names, start=1))
        raise OptionError(
            f"{self.file}: option sheet: wanted the name or the number of a sheet, given {wanted!r}. "
            f"The file has {there}."
        )

    def left_out(self) -> Iterator[str]:
        """Say which things the file holds that are no cells."""
        parts = [part.lower() for part in self._archive.parts]
        for what in dict.fromkeys(what for _, what in _LEFT_OUT):
            starts = tuple(start for start, one in _LEFT_OUT if one == what)
            count = sum(part.startswith(starts) and not part.endswith((".rels", "/")) for part in parts)
            if count:
                yield f"{what} were left out"

    def _load(self, data: bytes) -> CalamineWorkbook:
        from python_calamine import CalamineWorkbook

        if self._surveys is not None:
            for number, survey in enumerate(self._surveys, start=1):
                self._check_reach(str(number), survey)
        return self._guarded(lambda: CalamineWorkbook.from_filelike(io.BytesIO(data)))

    def _check_reach(self, name: str, survey: Survey) -> None:
        if survey.too_large():
            raise too_large(self.file, name, survey)

    def _guarded(self, call: Callable[[], _T]) -> _T:
        """Call the reader of cells; whatever it raises over a damaged file, panics too, is one kind of error."""
        try:
            return call()
        except (KeyboardInterrupt, SystemExit, MemoryError):
            raise
        except BaseException as fault:
            todo = "Open it in a spreadsheet program and save it anew."
            raise refusal(self.file, "", "cells that can be read", f"a fault among them ({fault})", todo) from fault

"""The report as a document: finished text, tables of finished cells, figures that can draw themselves.

This is the second waist of the library. Analyses end here and report styles start here: digits are
rounded before a text gets into a document, so every style shows the same ones, and a style only lays out.
A figure carries its description in words, with the numbers, so that nobody depends on the picture.

Behind the text a report carries the same numbers unrounded, as `DataTable`, for styles that hand data on: a workbook, a
paper's supplement.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

FigureKind: TypeAlias = Literal["svg", "png", "pdf"]

_BREAKS = re.compile("\r\n|[\t\n\v\f\r\x85\u2028\u2029]")

_UNSAFE = re.compile(
    "["
    "\x00-\x1f\x7f-\x9f"  # C0 and C1 controls; the breaks among them are gone by then
    "\u202a-\u202e\u2066-\u2069\u206a-\u206f"  # embeddings, overrides, isolates, deprecated format controls
    "\ufeff\ufff9-\ufffb"  # byte-order mark, interlinear annotation
    "\ufdd0-\ufdef" + "".join(chr(0x10000 * plane + low) for plane in range(17) for low in (0xFFFE, 0xFFFF)) +
    # no characters at all (Unicode, chapter 23.7), and halves of surrogate pairs, which UTF-8 cannot hold
    "\ud800-\udfff"
    "]"
)


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A paragraph of plain text."""

    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list of plain texts, one an item."""

    items: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table of finished text cells.

    Attributes
    ----------
    caption : str
        What the table shows, as a sentence.
    header : tuple of str, length C
        Column headings.
    rows : tuple of tuples of str, R rows of length C
        The cells; an empty text is an empty cell.
    numeric : tuple of bool, length C
        True for the columns that hold numbers (a style sets them flush right).
    key_columns : int
        How many columns from the left name the row; a style makes header cells of them.
    """

    caption: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numeric: tuple[bool, ...]
    key_columns: int = 1

    def __post_init__(self) -> None:
        width = len(self.header)
        if len(self.numeric) != width:
            raise ValueError(f"table {self.caption!r}: numeric wants {width} entries, given {len(self.numeric)}")
        for number, row in enumerate(self.rows, start=1):
            if len(row) != width:
                raise ValueError(f"table {self.caption!r}, row {number}: wants {width} cells, given {len(row)}")


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its description in words.

    Attributes
    ----------
    name : str
        Short ASCII name, used for file names: ``plate-1``.
    caption : str
        One sentence under the picture.
    description : tuple of str
        What the picture shows, numbers included, as sentences in reading order.
    draw : callable
        ``draw("svg")``, ``draw("png")`` or ``draw("pdf")`` gives the picture as bytes, the same bytes each time.
    width, height : float
        Size on paper. [mm]
    """

    name: str
    caption: str
    description: tuple[str, ...]
    draw: Callable[[FigureKind], bytes]
    width: float
    height: float


Block: TypeAlias = Paragraph | Bullets | Table | Figure


@dataclass(frozen=True, slots=True)
class Section:
    """A heading and what stands under it."""

    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class DataColumn:
    """One column of a table of numbers and texts.

    Attributes
    ----------
    name : str
        Short ASCII name, as in the tables of the library: ``front_mm``.
    kind : {"text", "number"}
        What its values are.
    unit : str
        Unit of the numbers, ``1`` for a pure number; empty for text.
    meaning : str
        What it holds, in one line.
    values : tuple, length R
        Texts, or finite numbers; None where there is no value.
    """

    name: str
    kind: Literal["text", "number"]
    unit: str
    meaning: str
    values: tuple[str | float | None, ...]


@dataclass(frozen=True, slots=True)
class DataTable:
    """Numbers behind a report, not rounded, column by column.

    Attributes
    ----------
    name : str
        Short ASCII name, fit for a file: ``spots``.
    meaning : str
        What a row of it is, as a sentence.
    columns : tuple of DataColumn
        All of one length R; names are unique.
    keys : tuple of str
        Columns that together name a row, each row differently; empty where none do.
    """

    name: str
    meaning: str
    columns: tuple[DataColumn, ...]
    keys: tuple[str, ...] = ()

    def __post_init__(self) -> None:
        names = [column.name for column in self.columns]
        lengths = {len(column.values) for column in self.columns}
        if len(lengths) > 1:
            raise ValueError(f"data table {self.name!r}: wants columns of one length, given {sorted(lengths)}")
        if len(set(names)) < len(names):
            double = next(name for name in names if names.count(name) > 1)
            raise ValueError(f"data table {self.name!r}: wants columns of different names, given {double!r} twice")
        for key in self.keys:
            if key not in names:
                raise ValueError(f"data table {self.name!r}: wants keys among its columns, given {key!r}")

    def column(self, name: str) -> DataColumn:
        """Give a column by its name.

        Raises
        ------
        KeyError
            If there is none of that name.
        """
        for column in self.columns:
            if column.name == name:
                return column
        raise KeyError(name)

    def __len__(self) -> int:
        return len(self.columns[0].values) if self.columns else 0


@dataclass(frozen=True, slots=True)
class Report:
    """A whole report: a title, a summary that stands first, and sections.

    Attributes
    ----------
    title : str
        The heading of the report.
    summary : tuple of str
        The conclusion in a few sentences, for a reader who reads no further.
    sections : tuple of Section
        In the order in which they are read.
    language : str
        Language tag of the text (BCP 47).
    data : tuple of DataTable
        The numbers behind the text, not rounded; names are unique. A style that gives text alone passes them over.
    record : bytes
        The study as its JSON record; empty where the report is not that of one study.
    date : str
        Day on which the report was made, ``YYYY-MM-DD``; empty where it is not stated. A style reads no clock.
    """

    title: str
    summary: tuple[str, ...]
    sections: tuple[Section, ...]
    language: str = "en-GB"
    data: tuple[DataTable, ...] = ()
    record: bytes = b""
    date: str = ""


def clean(text: str) -> str:
    r"""Give a text of the document as one harmless line, as the built-in styles do with every text.

    Labels come from spreadsheets, other people's files and typing errors. Line breaks and tabs become a space, because
    a text of the document is one line. Control characters, marks that turn the reading direction of everything after
    them, lone surrogates and code points that are no characters are shown as ``⟨U+202E⟩``: nothing is dropped in
    silence, and none of them can act. Everything else stays as it is: what could act in one kind of file alone, such as
    ``<`` in a web page, is for its style to escape.

    Parameters
    ----------
    text : str
        Any text, whatever its origin.

    Returns
    -------
    str
        Without line breaks, control characters and direction overrides, fit for UTF-8.

    Examples
    --------
    >>> clean("blue\nink")
    'blue ink'
    >>> clean("blue \x00 \u202e ink")
    'blue ⟨U+0000⟩ ⟨U+202E⟩ ink'
    """
    return _UNSAFE.sub(lambda found: f"⟨U+{ord(found[0]):04X}⟩", _BREAKS.sub(" ", text))

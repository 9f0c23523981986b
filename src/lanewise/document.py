"""The report as a document: finished text, tables of finished cells, figures that can draw themselves.

This is the second waist of the library. Analyses end here and report styles start here: digits are
rounded before a text gets into a document, so every style shows the same ones, and a style only lays out.
A figure carries its description in words, with the numbers, so that nobody depends on the picture.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal, TypeAlias

FigureKind: TypeAlias = Literal["svg", "png", "pdf"]


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
    """

    title: str
    summary: tuple[str, ...]
    sections: tuple[Section, ...]
    language: str = "en-GB"

"""What a plugin author writes against: two hooks and the small records they return.

A hook registers and never acts. ``lanewise_import_formats`` returns `ImportFormat` records and
``lanewise_report_styles`` returns `ReportStyle` records: names, endings, a cheap recogniser, and the reader
or renderer as ``"module:function"``, which is imported when it is first needed. The library chooses
among them, converts units, checks, adds provenance and writes files; a plugin does none of that.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any, BinaryIO, Literal, Protocol, TypeAlias

import pluggy

if TYPE_CHECKING:
    from lanewise.document import Report
    from lanewise.model.studies import Study

PROJECT = "lanewise"
API_LEVEL = 1

hookspec = pluggy.HookspecMarker(PROJECT)
hookimpl = pluggy.HookimplMarker(PROJECT)


@dataclass(frozen=True, slots=True)
class Sample:
    """The first part of a file, shown to recognisers.

    Attributes
    ----------
    name : str
        File name without its folder.
    head : bytes
        The first 64 KiB at most.
    size : int
        Length of the whole file in bytes.
    text : str or None
        The head as text (byte-order mark, UTF-8, UTF-16, else Windows-1252); None where it holds NUL bytes
        and is not UTF-16.
    """

    name: str
    head: bytes
    size: int
    text: str | None


@dataclass(frozen=True, slots=True)
class Recognition:
    """A recogniser's answer, with its reason; made with `yes`, `maybe` or `no`."""

    claim: Literal["no", "maybe", "yes"]
    because: str

    @classmethod
    def yes(cls, because: str) -> Recognition:
        """The file carries this format's own signature."""
        return cls("yes", because)

    @classmethod
    def maybe(cls, because: str) -> Recognition:
        """The file could be of this format, but also of another."""
        return cls("maybe", because)

    @classmethod
    def no(cls, because: str) -> Recognition:
        """The file is not of this format."""
        return cls("no", because)


class Source(Protocol):
    """What a reader reads from; made by the library for a path, bytes or an open file alike."""

    @property
    def name(self) -> str:
        """File name without its folder."""

    @property
    def size(self) -> int:
        """Length in bytes."""

    def open(self) -> BinaryIO:
        """Open the content at its start; the library closes it."""

    def bytes(self) -> bytes:
        """Give the whole content."""

    def text(self) -> str:
        """Give the whole content as text (byte-order mark, UTF-8, UTF-16, else Windows-1252)."""


@dataclass(frozen=True, slots=True)
class Readings:
    """Readings as written: a table of cells with the units and places they had in the file.

    An importer neither converts nor judges. The library maps headings to the columns of the marks
    table, converts units, checks every cell and reports all faults at once with the places given here.

    Attributes
    ----------
    columns : mapping of heading to cells, each of length N
        Headings as they stand in the file (``front_cm``, ``front [in]``); cells as text, number or None.
    places : sequence of int, length N
        Line or row of the file for each row of cells, counted from 1.
    units : mapping of heading to unit
        For headings that do not carry their unit; without either, millimetres.
    defaults : mapping of column name to text
        Values for whole columns that the file lacks, for instance ``{"plate": "1"}``.
    note : str
        Free text of the file, kept with the study.
    division : float or None
        Division of the ruler, where the file or an option states it. [mm]
    unread : sequence of str
        What the reader saw and left out, in words.
    parts : sequence of str, length N or 0
        Where a file has parts that are counted each from 1, such as sheets: for each row the one it stands in, as
        messages name it (``sheet 'bench 2'``).
    decimal : {".", ","}
        Decimal sign of the numbers among the cells.
    """

    columns: Mapping[str, Sequence[object]]
    places: Sequence[int]
    units: Mapping[str, str] = field(default_factory=dict)
    defaults: Mapping[str, str] = field(default_factory=dict)
    note: str = ""
    division: float | None = None
    unread: Sequence[str] = ()
    parts: Sequence[str] = ()
    decimal: Literal[".", ","] = "."


Reader: TypeAlias = "Callable[[Source, Any], Readings | Study]"
Recogniser: TypeAlias = Callable[[Sample], Recognition]


@dataclass(frozen=True, slots=True)
class ImportFormat:
    """One way in which readings arrive.

    Attributes
    ----------
    name : str
        Lower-case ASCII words joined by hyphens, at most 40 characters: ``bench-sheet``.
    title : str
        One line for lists.
    read : callable or str
        ``read(source, options) -> Readings`` (or a finished `Study`), or ``"module:function"`` for it.
    suffixes : tuple of str
        File endings in lower case with the dot; compound ones are allowed (``.bench.json``).
    recognise : callable or None
        ``recognise(sample) -> Recognition``; standard library only, under 5 ms. Without one, a
        fitting ending counts as *maybe*.
    options : type or None
        A frozen standard-library dataclass whose fields are made with `option`.
    description : str
        What the format is and where it comes from.
    needs : tuple of str
        Distributions that the reader imports, named in the hint when one is missing.
    api : int
        Level of this interface that the plugin was written for.
    """

    name: str
    title: str
    read: Reader | str
    suffixes: tuple[str, ...] = ()
    recognise: Recogniser | None = None
    options: type | None = None
    description: str = ""
    needs: tuple[str, ...] = ()
    api: int = API_LEVEL


@dataclass(frozen=True, slots=True)
class Rendered:
    """A laid-out report: the bytes of the main file, and of files that belong beside it.

    Attributes
    ----------
    main : bytes
        The report itself.
    extras : mapping of str to bytes
        Further files by plain name (no folder), written beside the main one.
    """

    main: bytes
    extras: Mapping[str, bytes] = field(default_factory=dict)


Renderer: TypeAlias = "Callable[[Report, Any], Rendered]"


@dataclass(frozen=True, slots=True)
class ReportStyle:
    """One way in which a report is laid out.

    Attributes
    ----------
    name : str
        Lower-case ASCII words joined by hyphens, at most 40 characters.
    title : str
        One line for lists.
    render : callable or str
        ``render(report, options) -> Rendered``, or ``"module:function"`` for it. It opens no file and
        reads no clock; the library writes what it returns.
    suffix : str
        File ending in lower case with the dot.
    media_type : str
        Such as ``text/html``.
    options, description, needs, api
        As in `ImportFormat`.
    """

    name: str
    title: str
    render: Renderer | str
    suffix: str
    media_type: str
    options: type | None = None
    description: str = ""
    needs: tuple[str, ...] = ()
    api: int = API_LEVEL


def option(
    default: Any,
    *,
    help: str,
    unit: str = "",
    choices: Sequence[object] = (),
    minimum: float | None = None,
    maximum: float | None = None,
) -> Any:
    """Declare one option of a format or style, as a field of a frozen dataclass.

    Parameters
    ----------
    default : object
        Value where the user gives none; its type is the option's type (text, int, float or bool).
    help : str
        What the option does, in one line.
    unit : str, optional
        Unit of the value.
    choices : sequence, optional
        The allowed values, where they are few.
    minimum, maximum : float, optional
        Limits of a number, both allowed themselves.

    Returns
    -------
    dataclasses.Field
        To be assigned to an annotated class attribute.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> @dataclass(frozen=True)
    ... class SheetOptions:
    ...     division: float = option(1.0, help="division of the ruler", unit="mm", minimum=0)
    >>> SheetOptions().division
    1.0
    """
    metadata = {"help": help, "unit": unit, "choices": tuple(choices), "minimum": minimum, "maximum": maximum}
    return field(default=default, metadata=metadata)


@hookspec
def lanewise_import_formats() -> Sequence[ImportFormat]:
    """Return the import formats of this plugin; called once, when formats are first asked for."""
    return ()


@hookspec
def lanewise_report_styles() -> Sequence[ReportStyle]:
    """Return the report styles of this plugin; called once, when styles are first asked for."""
    return ()

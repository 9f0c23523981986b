"""The XML parts of a spreadsheet, read as a stream; declarations of entities are refused before they can grow."""

from __future__ import annotations

from collections.abc import Callable, Collection
from xml.parsers import expat

from lanewise.errors import UnreadableFile
from lanewise_spreadsheet.archive import Archive, refusal

Attributes = dict[str, str]
_MARKUP = (".xml", ".rels", ".vml", ".rdf")


def parser_for(archive: Archive, part: str) -> expat.XMLParserType:
    """Make a parser that refuses a document type declaration, and with it every entity that a part could declare.

    Parameters
    ----------
    archive : Archive
        The file.
    part : str
        Name of the part that it will read, for messages.

    Returns
    -------
    pyexpat.XMLParser
        Without other handlers.

    References
    ----------
    ECMA-376 part 2 (5th edition), 9.1.7: no part of an xlsx package holds a document type declaration. From memory.
    """
    parser = expat.ParserCreate()
    parser.buffer_text = True

    def refuse(*_: object) -> None:
        todo = "No spreadsheet program writes one, and such parts are made to do harm: leave the file out."
        raise refusal(archive.file, part, "XML without declarations", "a document type declaration (DTD)", todo)

    parser.StartDoctypeDeclHandler = refuse
    parser.EntityDeclHandler = refuse
    return parser


def feed(archive: Archive, part: str, parser: expat.XMLParserType) -> None:
    """Read a part through a parser.

    Raises
    ------
    UnreadableFile
        If it is not well-formed, or declares entities.
    """
    try:
        for piece in archive.pieces(part):
            parser.Parse(piece, False)
        parser.Parse(b"", True)
    except UnreadableFile:
        raise
    except (expat.ExpatError, LookupError, ValueError) as fault:  # not well-formed, or in an encoding that is none
        todo = "Open the file in a spreadsheet program and save it anew."
        raise refusal(archive.file, part, "well-formed XML", f"a fault in it ({fault})", todo) from fault


def check_markup(archive: Archive, but: Collection[str] = ()) -> None:
    """Look through every XML part, except those that are looked through elsewhere.

    Drawings of the old kind (VML) are often not well-formed, and nothing reads them; but they may declare nothing.
    """
    for part in archive.parts:
        if part.lower().endswith(_MARKUP) and part not in but:
            parser = parser_for(archive, part)
            try:
                feed(archive, part, parser)
            except UnreadableFile as fault:
                if not part.lower().endswith(".vml") or not isinstance(fault.__cause__, expat.ExpatError):
                    raise


def elements(archive: Archive, part: str, handle: Callable[[str, Attributes], object]) -> None:
    """Read a part and give each element that opens, by its name without prefix and its attributes."""
    parser = parser_for(archive, part)
    parser.StartElementHandler = lambda name, attributes: handle(name.rpartition(":")[2], attributes)
    feed(archive, part, parser)

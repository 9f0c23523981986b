"""A report as Markdown: CommonMark with pipe tables, the pictures in files beside it.

Every text is escaped with backslashes, which CommonMark (version 0.31.2, section 2.4) allows before any ASCII
punctuation, so that a label never becomes markup, a link or a formula, and digits stay as they are.
"""

from __future__ import annotations

import re
from typing import assert_never, cast

from lanewise.document import Block, Bullets, Figure, FigureKind, Paragraph, Report, Table, clean
from lanewise.errors import StyleError
from lanewise.hooks import Rendered
from lanewise.styles._clean import heading, isolate
from lanewise.styles.builtin import MarkdownOptions

# Marks that act anywhere in a line: emphasis, code, the end of a link's text, HTML, tables, formulas, templates,
# addresses, entities, and number signs that would close a heading.
_ANYWHERE = re.compile(r"[\\`*_{\]<|~$@]|&(?=#?\w+;)|#(?=#*$)")
# Marks that act at the start of a line: lists, rules, headings, quotations, definitions.
_AT_START = re.compile(r"^(?:(?=[-+](?:\s|$)|-[-\s]*$|#{1,6}\s|[>:])|(\d{1,9})(?=[.)](?:\s|$)))")
# Addresses that some readers turn into links by themselves.
_ADDRESS = re.compile(r"(?<=\w)(?=://)|(?<=\bwww)(?=\.)", re.IGNORECASE)

_FILE_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,63}")
_RESERVED = re.compile(r"con|prn|aux|nul|com\d|lpt\d", re.IGNORECASE)


def render(report: Report, options: MarkdownOptions) -> Rendered:
    r"""Lay out a report as Markdown.

    Parameters
    ----------
    report : Report
        Finished text, tables and figures.
    options : MarkdownOptions
        Which kind of picture files to make.

    Returns
    -------
    Rendered
        The text in UTF-8; as extras one picture a figure, named after it: ``plate-1.svg``.

    Raises
    ------
    StyleError
        Where the name of a figure cannot be a file name, or two figures would share a file.

    Examples
    --------
    >>> print(render(Report("Inks", ("Both inks hold *one* dye.",), ()), MarkdownOptions()).main.decode())
    # Inks
    <BLANKLINE>
    ## Summary
    <BLANKLINE>
    Both inks hold \*one\* dye.
    <BLANKLINE>
    """
    extras: dict[str, bytes] = {}
    parts = [f"# {escape(heading(report.title))}"]
    if report.summary:
        parts += ["## Summary", *map(escape, report.summary)]
    for section in report.sections:
        parts.append(f"## {escape(heading(section.title))}")
        for block in section.blocks:
            parts += _block(block, options.figures, extras)
    return Rendered(main=("\n\n".join(filter(None, parts)) + "\n").encode("utf-8"), extras=extras)


def escape(text: str) -> str:
    r"""Give a text as one line of Markdown that shows exactly this text.

    Parameters
    ----------
    text : str
        Any text of the document.

    Returns
    -------
    str
        Cleaned, without spaces at its ends, every mark that could act escaped.

    Examples
    --------
    >>> print(escape("1. a|b <i>"))
    1\. a\|b \<i>
    >>> print(escape("-0.25"))
    -0.25
    """
    line = _ANYWHERE.sub(r"\\\g<0>", clean(text).strip())
    return _ADDRESS.sub(r"\\", _AT_START.sub(r"\1\\", line))


def _block(block: Block, figures: str, extras: dict[str, bytes]) -> list[str]:
    """Give a block as pieces, to be set apart by empty lines; pictures go to the extras."""
    match block:
        case Paragraph():
            return [escape(block.text)]
        case Bullets():
            return [_list(block.items, "-")]
        case Table():
            return [_emphasised(block.caption), _table(block)]
        case Figure():
            return _figure(block, figures, extras)
        case _:
            assert_never(block)


def _list(items: tuple[str, ...], mark: str) -> str:
    return "\n".join(f"{mark} {escape(item)}".rstrip(" ") for item in items)


def _emphasised(text: str) -> str:
    line = escape(text)
    return f"*{line}*" if line else ""


def _table(table: Table) -> str:
    """Set a pipe table; one without columns gives nothing."""
    if not table.header:
        return ""
    rule = ["---:" if number else "---" for number in table.numeric]
    rows = [[isolate(escape(cell)) for cell in row] for row in (table.header, *table.rows)]
    return "\n".join(f"| {' | '.join(row)} |" for row in (rows[0], rule, *rows[1:]))


def _figure(figure: Figure, kind: str, extras: dict[str, bytes]) -> list[str]:
    """Set the caption and the description, the latter with a list mark of its own to stay a list of its own."""
    words = [_emphasised(figure.caption), _list(figure.description, "*")]
    if kind == "none":
        return words
    file = _file_name(figure.name, kind, extras)
    extras[file] = figure.draw(cast(FigureKind, kind))
    alternative = f"Picture {figure.name}, described in words below" if figure.description else figure.caption
    inside_brackets = escape(alternative).replace("[", r"\[")
    return [f"![{inside_brackets}]({file})", *words]


def _file_name(name: str, kind: str, taken: dict[str, bytes]) -> str:
    """Make the file name of a picture, or say why there is none."""
    if not _FILE_NAME.fullmatch(name) or _RESERVED.fullmatch(name):
        raise StyleError(
            "a picture cannot be named after its figure: wanted 1 to 64 ASCII letters, digits, hyphens or "
            f"underscores that are not a device name, given {name!r}. Rename the figure, or lay the report out "
            "with figures='none'."
        )
    file = f"{name}.{kind}"
    for other in taken:
        if other.lower() == file.lower():
            raise StyleError(
                f"figure {name!r}: its picture would overwrite {other!r} of an earlier figure of this report. "
                "Give each figure a name of its own (capitals do not count), or use figures='none'."
            )
    return file

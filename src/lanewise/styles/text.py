"""A report as plain text: wrapped lines, aligned columns, figures by their descriptions."""

from __future__ import annotations

from typing import assert_never

from lanewise.document import Block, Bullets, Figure, Paragraph, Report, Table, clean
from lanewise.hooks import Rendered
from lanewise.styles._clean import heading
from lanewise.styles._columns import table_blocks, text_width, wrap
from lanewise.styles.builtin import TextOptions


def render(report: Report, options: TextOptions) -> Rendered:
    """Lay out a report as plain text.

    Parameters
    ----------
    report : Report
        Finished text, tables and figures; the pictures are not drawn.
    options : TextOptions
        The longest line.

    Returns
    -------
    Rendered
        The text in UTF-8 with a line feed after each line; no extras.

    Examples
    --------
    >>> print(render(Report("Inks", ("Both inks hold one dye.",), ()), TextOptions()).main.decode())
    Inks
    ====
    <BLANKLINE>
    Summary
    -------
    <BLANKLINE>
    Both inks hold one dye.
    <BLANKLINE>
    """
    width = options.width
    parts = [_underlined(report.title, "=", width)]
    if report.summary:
        parts.append(_underlined("Summary", "-", width))
        parts.extend(_paragraph(sentence, width) for sentence in report.summary)
    for section in report.sections:
        parts.append(_underlined(section.title, "-", width))
        for block in section.blocks:
            parts.extend(_block(block, width))
    lines = [line for part in parts if part for line in [*part, ""]]
    return Rendered(main="\n".join(lines).encode("utf-8"))


def _block(block: Block, width: int) -> list[list[str]]:
    """Give a block as groups of lines, to be set apart by empty lines."""
    match block:
        case Paragraph():
            return [_paragraph(block.text, width)]
        case Bullets():
            return [_bullets(block.items, width)]
        case Table():
            return _table(block, width)
        case Figure():
            return [_paragraph(f"Figure: {block.caption}", width), _bullets(block.description, width)]
        case _:
            assert_never(block)


def _underlined(title: str, stroke: str, width: int) -> list[str]:
    lines = wrap(heading(title), width)
    return [*lines, stroke * max(1, *map(text_width, lines))]


def _paragraph(text: str, width: int) -> list[str]:
    """Wrap a text; one that holds nothing gives no lines."""
    lines = wrap(clean(text), width)
    return lines if any(lines) else []


def _bullets(items: tuple[str, ...], width: int) -> list[str]:
    lines = []
    for item in items:
        first, *others = wrap(clean(item), width - 2)
        lines += [f"- {first}".rstrip(" "), *(f"  {other}" for other in others)]
    return lines


def _table(table: Table, width: int) -> list[list[str]]:
    rows = [[clean(cell) for cell in row] for row in table.rows]
    header = [clean(title) for title in table.header]
    blocks = table_blocks(header, rows, table.numeric, table.key_columns, width)
    parts = [_paragraph(f"Table: {table.caption}", width)]
    for number, block in enumerate(blocks):
        if number:
            parts.append(["(the same rows, further columns)"])
        parts.append(block)
    return parts

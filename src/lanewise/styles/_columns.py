"""Lines of plain text: how wide a text is on a character grid, wrapped text, tables in aligned columns."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence

from lanewise.styles._clean import isolate

GAP = 2
_KEPT_WHOLE = 16  # texts up to this width are not broken to make a table fit


def text_width(text: str) -> int:
    r"""Count the columns that a text takes on a character grid.

    Parameters
    ----------
    text : str
        One line, cleaned.

    Returns
    -------
    int
        2 for each wide or full-width character (Unicode Standard Annex 11), 0 for combining and invisible
        ones, otherwise 1.

    Examples
    --------
    >>> text_width("ink"), text_width("墨"), text_width("e\u0301")
    (3, 2, 1)
    """
    if text.isascii():
        return len(text)
    return sum(map(_character_width, text))


def _character_width(character: str) -> int:
    if unicodedata.category(character) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if unicodedata.east_asian_width(character) in ("W", "F") else 1


def wrap(text: str, limit: int) -> list[str]:
    """Break a text at its spaces into lines; a word longer than a line is cut.

    Parameters
    ----------
    text : str
        One line, cleaned.
    limit : int
        Longest line, at least 2. [characters]

    Returns
    -------
    list of str
        At least one line; an empty text gives one empty line.

    Examples
    --------
    >>> wrap("two dyes were found", 9)
    ['two dyes', 'were', 'found']
    """
    lines = [""]
    for word in re.split(" +", text.strip(" ")):
        for piece in _cut(word, limit):
            longer = f"{lines[-1]} {piece}" if lines[-1] else piece
            if text_width(longer) <= limit:
                lines[-1] = longer
            else:
                lines.append(piece)
    return lines


def _cut(word: str, limit: int) -> list[str]:
    """Cut a word into pieces that fit; combining characters stay with the one before them."""
    pieces, used = [""], 0
    for character in word:
        width = _character_width(character)
        if used + width > limit:
            pieces.append("")
            used = 0
        pieces[-1] += character
        used += width
    return pieces


def table_blocks(
    header: Sequence[str],
    rows: Sequence[Sequence[str]],
    numeric: Sequence[bool],
    key_columns: int,
    limit: int,
) -> list[list[str]]:
    """Set a table in aligned columns, numbers to the right.

    A table that is too wide is first wrapped inside its text cells; where that is not enough it is split
    into blocks of columns, each of which repeats the columns that name the row.

    Parameters
    ----------
    header : sequence of str, length C
        Column headings, cleaned.
    rows : sequence of sequences of str, R of length C
        Cells, cleaned.
    numeric : sequence of bool, length C
        The columns to set to the right.
    key_columns : int
        How many columns from the left name the row.
    limit : int
        Longest line. [characters]

    Returns
    -------
    list of lists of str
        The lines of each block: the headings, a rule, the rows. No columns give no block.

    Examples
    --------
    >>> for line in table_blocks(["dye", "Rf"], [["violet", "0.43"], ["red", "0.7"]], [False, True], 1, 40)[0]:
    ...     print(line)
    dye       Rf
    ------  ----
    violet  0.43
    red      0.7
    """
    columns = [[title, *(row[index] for row in rows)] for index, title in enumerate(header)]
    natural = [max(1, *map(text_width, column)) for column in columns]
    floors = [min(full, _floor(column, number)) for full, column, number in zip(natural, columns, numeric, strict=True)]
    keys = _repeated(floors, key_columns, limit)
    blocks = []
    for chosen in _split(floors, keys, limit):
        widths = _shrink([natural[index] for index in chosen], [floors[index] for index in chosen], limit)
        blocks.append(_lines([columns[index] for index in chosen], [numeric[index] for index in chosen], widths))
    return blocks


def _floor(column: Sequence[str], number: bool) -> int:
    """Tell how narrow a column may become: numbers and short cells stay whole, headings break between words."""
    title, *cells = column
    cell = max(map(text_width, cells), default=0)
    word = max(map(text_width, title.split(" ")))
    return max(2, min(_KEPT_WHOLE, word), cell if number else min(_KEPT_WHOLE, cell))


def _repeated(floors: Sequence[int], key_columns: int, limit: int) -> list[int]:
    """Choose the columns that each block repeats: as many row names as take half the line at most."""
    kept: list[int] = []
    for index in range(min(key_columns, len(floors))):
        if sum(floors[column] + GAP for column in kept) + floors[index] > limit // 2:
            break
        kept.append(index)
    return kept


def _split(floors: Sequence[int], keys: list[int], limit: int) -> list[list[int]]:
    """Deal the columns out to blocks whose floors fit into the line."""
    blocks: list[list[int]] = []
    room = 0
    for index in range(len(keys), len(floors)):
        if not blocks or floors[index] + GAP > room:
            blocks.append([*keys])
            room = limit + GAP - sum(floors[key] + GAP for key in keys)
        blocks[-1].append(index)
        room -= floors[index] + GAP
    return blocks or ([keys] if keys else [])


def _shrink(natural: Sequence[int], floors: Sequence[int], limit: int) -> list[int]:
    """Narrow the widest columns until the block fits; a lone column wider than the line is cut to it."""
    widths = list(natural)
    room = limit - GAP * (len(widths) - 1)
    while sum(widths) > room:
        able = [index for index, floor in enumerate(floors) if widths[index] > floor]
        widest = max(able or range(len(widths)), key=widths.__getitem__)
        widths[widest] -= 1
    return widths


def _lines(columns: Sequence[Sequence[str]], numeric: Sequence[bool], widths: Sequence[int]) -> list[str]:
    """Set one block; rows are set apart by empty lines where any of them takes several."""
    wrapped = [[wrap(cell, width) for cell in column] for column, width in zip(columns, widths, strict=True)]
    header, *rows = (_row(cells, numeric, widths) for cells in zip(*wrapped, strict=True))
    rule = (" " * GAP).join("-" * width for width in widths)
    apart = any(len(row) > 1 for row in rows)
    body = [line for row in rows for line in ([*row, ""] if apart else row)]
    return [*header, rule, *(body[:-1] if apart else body)]


def _row(cells: Sequence[Sequence[str]], numeric: Sequence[bool], widths: Sequence[int]) -> list[str]:
    """Set the lines of one row."""
    lines = []
    for number in range(max(map(len, cells))):
        parts = []
        for cell, right, width in zip(cells, numeric, widths, strict=True):
            piece = cell[number] if number < len(cell) else ""
            padding = " " * (width - text_width(piece))
            parts.append(padding + isolate(piece) if right else isolate(piece) + padding)
        lines.append((" " * GAP).join(parts).rstrip(" "))
    return lines

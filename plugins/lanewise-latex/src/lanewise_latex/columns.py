"""How wide the columns of a table are, and into which parts a table is dealt out that is wider than the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import zip_longest

from lanewise_latex.escape import wrap
from lanewise_latex.signs import BOLD, width

SPARE = 0.1  # added to the foretold width of a column, against rounding and kerning [em]
_KEPT_WHOLE = 9.0  # words and numbers up to this width are not broken to make a table fit [em]
_TALLEST_HEADING = 8  # a heading of more lines stands once, not on every page
TALLEST_ROW = 40  # lines of a row that may not be divided between pages


@dataclass(frozen=True, slots=True)
class Part:
    """Some columns of a table, side by side.

    Attributes
    ----------
    columns : list of int, length P
        Their places in the table, from the left.
    widths : list of float, length P
        Their widths. [em]
    """

    columns: list[int]
    widths: list[float]


def deal_out(
    header: Sequence[str],
    rows: Sequence[Sequence[str]],
    numeric: Sequence[bool],
    key_columns: int,
    room: float,
    gap: float,
) -> list[Part]:
    """Find the widths of the columns of a table.

    Where it is too wide, first headings and then the cells of text columns are wrapped; where that is not enough it is
    dealt out to parts, each of which repeats the columns that name the row.

    Parameters
    ----------
    header : sequence of str, length C
        Column headings, cleaned; printed in bold.
    rows : sequence of sequences of str, R of length C
        Cells, cleaned.
    numeric : sequence of bool, length C
        The columns that hold numbers, which are kept whole.
    key_columns : int
        How many columns from the left name the row.
    room : float
        Width of the page. [em]
    gap : float
        Space between two columns. [em]

    Returns
    -------
    list of Part
        At least one where there are columns; each fits into the room.

    Examples
    --------
    >>> wide = deal_out(["ink", "Rf", ""], [["violet", "0.43", "a streak " * 9]], [False, True, False], 1, 20.0, 1.0)
    >>> wide[0].columns, [round(width) for width in wide[0].widths]
    ([0, 1, 2], [3, 2, 14])
    >>> [part.columns for part in deal_out(["ink"] * 7, [["violet"] * 7], [False] * 7, 1, 12.0, 1.0)]
    [[0, 1, 2], [0, 3, 4], [0, 5, 6]]
    """
    columns = [[title, *(row[index] for row in rows)] for index, title in enumerate(header)]
    natural = [max(1.0, BOLD * width(title), *map(width, cells)) + SPARE for title, *cells in columns]
    floors = [min(full, _floor(column, number)) for full, column, number in zip(natural, columns, numeric, strict=True)]
    bodies = [
        max(least, SPARE + max(map(width, column[1:]), default=0.0))
        for column, least in zip(columns, floors, strict=True)
    ]
    keys = _repeated(floors, key_columns, room, gap)
    parts = []
    for chosen in _split(floors, keys, room, gap):
        space = room - gap * (len(chosen) - 1)
        full, body, least = ([widths[index] for index in chosen] for widths in (natural, bodies, floors))
        parts.append(Part(chosen, _shrunk(full, body, least, space)))
    return parts


def _floor(column: Sequence[str], number: bool) -> float:
    """Tell how narrow a column may become: numbers and short words stay whole, headings break between words."""
    title, *cells = column
    words = cells if number else [word for cell in cells for word in cell.split(" ")]
    widest = max(map(width, words), default=0.0)
    heading = max(BOLD * width(word) for word in title.split(" "))
    return max(1.0, min(_KEPT_WHOLE, widest), min(_KEPT_WHOLE, heading)) + SPARE


def _repeated(floors: Sequence[float], key_columns: int, room: float, gap: float) -> list[int]:
    """Choose the columns that each part repeats: as many row names as take half the page at most."""
    kept: list[int] = []
    used = 0.0
    for index in range(min(key_columns, len(floors))):
        used += floors[index] + gap
        if used > room / 2:
            break
        kept.append(index)
    return kept


def _split(floors: Sequence[float], keys: list[int], room: float, gap: float) -> list[list[int]]:
    """Deal the columns out to parts whose floors fit into the room."""
    parts: list[list[int]] = []
    left = 0.0
    for index in range(len(keys), len(floors)):
        if not parts or floors[index] + gap > left:
            parts.append([*keys])
            left = room + gap - sum(floors[key] + gap for key in keys)
        parts[-1].append(index)
        left -= floors[index] + gap
    return parts or ([keys] if keys else [])


def _shrunk(natural: Sequence[float], bodies: Sequence[float], floors: Sequence[float], space: float) -> list[float]:
    """Narrow columns until the part fits: those with long headings first, then those with long cells."""
    if sum(natural) <= space:
        return list(natural)
    return _capped(natural, bodies, space) if sum(bodies) <= space else _capped(bodies, floors, space)


def _capped(widest: Sequence[float], narrowest: Sequence[float], space: float) -> list[float]:
    """Cap the columns at one width, but none below its narrowest, so that they fill the space."""
    low, high = 0.0, max(widest)
    for _ in range(40):
        cap = (low + high) / 2
        widths = [max(least, min(most, cap)) for most, least in zip(widest, narrowest, strict=True)]
        low, high = (low, cap) if sum(widths) > space else (cap, high)
    return [max(least, min(most, low)) for most, least in zip(widest, narrowest, strict=True)]


def bold(widths: Sequence[float]) -> list[float]:
    """Give the widths that columns have in terms of ordinary letters, where bold ones stand in them."""
    return [wide / BOLD for wide in widths]


def heading_repeats(titles: Sequence[str], widths: Sequence[float]) -> bool:
    """Tell whether the headings are short enough to be printed on every page of a table."""
    return lines_of(titles, bold(widths)) <= _TALLEST_HEADING


def lines_of(cells: Sequence[str], widths: Sequence[float]) -> int:
    """Foretell how many lines a row will take."""
    return max(sum(1 for _ in wrap(cell, wide)) for cell, wide in zip(cells, widths, strict=True))


def divided(cells: Sequence[str], widths: Sequence[float]) -> list[list[str]]:
    """Divide a row that is taller than is good for a page into rows that follow one another.

    Parameters
    ----------
    cells : sequence of str, length P
        The cells of the row, cleaned.
    widths : sequence of float, length P
        Widths of their columns. [em]

    Returns
    -------
    list of lists of str, each of length P
        Mostly the row alone; otherwise each cell goes on in the next row.

    Examples
    --------
    >>> len(divided(["ink", "a streak " * 100], [3.0, 3.5]))
    3
    """
    if lines_of(cells, widths) <= TALLEST_ROW:
        return [list(cells)]
    columns = []
    for cell, wide in zip(cells, widths, strict=True):
        lines = list(wrap(cell, wide))
        columns.append([lines[start : start + TALLEST_ROW] for start in range(0, len(lines), TALLEST_ROW)])
    return [[" ".join(lines) for lines in row] for row in zip_longest(*columns, fillvalue=[])]

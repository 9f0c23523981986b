"""What the library makes of a text: a heading of one of its columns, a unit, or neither."""

from __future__ import annotations

import re
from functools import lru_cache

from lanewise import known_column

POSITIONS = ("origin_mm", "front_mm", "trailing_mm", "centre_mm", "leading_mm")
_OF_UNITS = {"mm": "front", "ug": "amount"}  # a heading with a unit of that kind, to ask the library about others
_BRACKETED = re.compile(r"[\[(]\s*([^\[\]()]+?)\s*[\])]$")
_STATED = re.compile(r"(?:/|\bin)\s+(\S+)$|/(\S+)$")


@lru_cache(maxsize=4096)
def column_of(cell: object) -> str:
    """Give the column that a cell is a heading of; empty where the library knows none.

    Examples
    --------
    >>> column_of("Solvent front (cm)"), column_of("bench"), column_of(8.5)
    ('front_mm', '', '')
    """
    if not isinstance(cell, str) or not 0 < len(cell) <= 200 or cell[0] in "0123456789+-":
        return ""
    return known_column(tidy(cell))[0]


def tidy(text: str) -> str:
    r"""Give a heading as one line.

    Examples
    --------
    >>> tidy("front\n (cm) ")
    'front (cm)'
    """
    return " ".join(text.split())


def holds_numbers(column: str) -> bool:
    """Tell whether a column of the library holds numbers: its name ends in their unit, but for two.

    Examples
    --------
    >>> holds_numbers("front_mm"), holds_numbers("minutes"), holds_numbers("lane")
    (True, True, False)
    """
    return kind_of(column) != "" or column in ("runs", "minutes")


def kind_of(column: str) -> str:
    """Give the unit of a column of the library, which stands for all units of its kind; empty for texts.

    Examples
    --------
    >>> kind_of("front_mm"), kind_of("amount_ug"), kind_of("sample")
    ('mm', 'ug', '')
    """
    return next((unit for unit in _OF_UNITS if column.endswith(f"_{unit}")), "")


def unit_of(heading: str) -> str:
    """Give the unit that a heading of the library states; empty where it states none.

    Examples
    --------
    >>> unit_of("front_mm"), unit_of("Front [inches]"), unit_of("front"), unit_of("amount (ng)")
    ('mm', 'in', '', 'ng')
    """
    return known_column(heading)[1]


@lru_cache(maxsize=4096)
def unit_named(text: str, kind: str = "mm") -> str:
    """Give the unit of length that a text names, or of mass for the kind ``ug``; else empty.

    Examples
    --------
    >>> unit_named("cm"), unit_named("Inches"), unit_named("85"), unit_named("µg", "ug")
    ('cm', 'in', '', 'ug')
    """
    return known_column(f"{_OF_UNITS[kind]} [{text}]")[1] if kind in _OF_UNITS and 0 < len(text) <= 20 else ""


def unit_cell(cell: object, kind: str) -> str:
    """Give the unit that a cell consists of, brackets and strokes round it left out; else empty.

    Examples
    --------
    >>> unit_cell(" (cm)", "mm"), unit_cell("in mm", "mm"), unit_cell("cmx", "mm")
    ('cm', 'mm', '')
    """
    if not isinstance(cell, str):
        return ""
    return unit_named(re.sub(r"^(?:/|in\b(?=\s))", "", tidy(cell).strip("[]()")).strip(" []()"), kind)


def unit_stated(text: str) -> str:
    """Give the unit of length that a title states in brackets, behind a stroke or behind *in*; else empty.

    Examples
    --------
    >>> unit_stated("positions (cm)"), unit_stated("all lengths in mm"), unit_stated("put in")
    ('cm', 'mm', '')
    """
    plain = tidy(text)
    found = _BRACKETED.search(plain) or _STATED.search(plain)
    return unit_named(next((group for group in found.groups() if group), "")) if found else ""

"""Cells of a table as clean texts, and the small parts that sentences are put together from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import pandas as pd

from lanewise.uncertainty.rounding import decimals_for, plus_minus, round_half_up

EXACT = 3  # decimals of a value without uncertainty


def texts(column: pd.Series[Any], default: pd.Series[Any] | str = "") -> pd.Series[str]:
    """Give the cells of a column as texts, with a default for empty ones; a whole number loses its point.

    Examples
    --------
    >>> texts(pd.Series(["ink", None, " "]), "no name").tolist(), texts(pd.Series([1.0, None])).tolist()
    (['ink', 'no name', 'no name'], ['1', ''])
    """
    made = pd.Series([_text(cell) for cell in column.tolist()], index=column.index, dtype=object)
    return made.where(made != "", default)


def _text(cell: Any) -> str:
    if pd.isna(cell):
        return ""
    return f"{cell:g}" if isinstance(cell, float) else str(cell).strip()


def capital(text: str) -> str:
    """Begin a text with a capital letter.

    Examples
    --------
    >>> capital("system A is best"), capital("")
    ('System A is best', '')
    """
    return text[:1].upper() + text[1:]


def shown_as(name: object, short: Mapping[str, str] | None) -> str:
    """Give the name to print for a system: a short one where there is one.

    Examples
    --------
    >>> shown_as("water", {"water": "system A"}), shown_as("water", None)
    ('system A', 'water')
    """
    return (short or {}).get(str(name), str(name))


def listed(items: Sequence[str]) -> str:
    """Join words as a sentence does.

    Examples
    --------
    >>> listed(["red"]), listed(["red", "blue"]), listed(["red", "blue", "black"])
    ('red', 'red and blue', 'red, blue and black')
    """
    return items[0] if len(items) == 1 else f"{', '.join(items[:-1])} and {items[-1]}"


def plates(labels: Iterable[str]) -> str:
    """Name one plate or several, each once.

    Examples
    --------
    >>> plates(["1"]), plates(["1", "2", "2"])
    ('plate 1', 'plates 1 and 2')
    """
    different = list(dict.fromkeys(labels))
    return f"plate{'' if len(different) == 1 else 's'} {listed(different)}"


def counted(count: int, one: str) -> str:
    """Give a number of things, the word in the singular or the plural.

    Examples
    --------
    >>> counted(1, "dye"), counted(2, "dye")
    ('1 dye', '2 dyes')
    """
    return f"{count} {one}{'' if count == 1 else 's'}"


def decimals(u: float) -> int:
    """Decimals to print beside a standard uncertainty, which may be zero."""
    return decimals_for(u) if u > 0 else EXACT


def with_u(value: float, u: float) -> str:
    """Give ``value ± u``, or the value alone where it is taken as known exactly."""
    return plus_minus(value, u) if u > 0 else round_half_up(value, EXACT)

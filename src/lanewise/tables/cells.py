"""Cells as people write them: one cell of text to a number in the library's unit, or the reason why not.

Understood are ``5.2``, ``.5``, ``21.5mm``, ``5.2 cm``, ``2"``, numbers in quotes, with a real minus sign or with blanks
of any width, and ``5,2`` where the file uses the decimal comma. An empty cell, ``-``, a dash and ``n/a`` mean that
nothing was read. Two values in one cell, separators of thousands, words, NaN and infinity are refused.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import isfinite
from numbers import Real
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lanewise.tables.units import unit_named

Floats = npt.NDArray[np.float64]
Texts = npt.NDArray[np.object_]

MISSING = frozenset({"", "-", "–", "—", "n/a", "na", "n.a."})
"""What stands in a cell where nothing was read, in small letters."""

_PLAIN = re.compile(r"[0-9]+(?:\.[0-9]*)?")
_BLANKS = re.compile(r"[\s\u00a0\u2000-\u200a\u202f\u205f\ufeff]+")
_CELL = re.compile(r"([+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?) ?(.*)")
_DIGITS = re.compile(r"[0-9]+(?:[.,][0-9]+)*|[.,][0-9]+")
_BETWEEN = re.compile(r" ?((?!and\b)[^\W\d_]+\.?|\"|) ?(?:[;&/|,+–-]|and|) ?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Fault:
    """Why a cell was refused: what was wanted, and what to do."""

    wanted: str
    todo: str


@dataclass(frozen=True, slots=True)
class Numbers:
    """A column of numbers in the library's unit.

    Attributes
    ----------
    values : array of shape (N,)
        NaN where nothing was read, and where the cell was refused.
    faults : dict of row to Fault
        The refused cells, by their place in the column, counted from 0.
    mixed : tuple of (int, int) or None
        A row without and a row with a unit, where the heading states none and cells differ in that.
    """

    values: Floats
    faults: dict[int, Fault] = field(default_factory=dict)
    mixed: tuple[int, int] | None = None


def read_number(text: str, decimal: str = ".") -> tuple[float, str] | Fault | None:
    """Read one cell.

    Parameters
    ----------
    text : str
        The cell.
    decimal : {".", ","}, optional
        Decimal sign of the file.

    Returns
    -------
    (float, str), None or Fault
        The number with the unit that stands behind it (empty where none does); None where nothing was read; else
        why the cell is refused.

    Examples
    --------
    >>> read_number("5.2 cm"), read_number("21,5mm", decimal=","), read_number("n/a")
    ((5.2, 'cm'), (21.5, 'mm'), None)
    >>> read_number("0.39 & 0.98").todo
    'Write one row a spot: repeat the row, once with 0.39 and once with 0.98.'
    """
    plain = _BLANKS.sub(" ", text).strip().replace("\u2212", "-")
    if len(plain) > 1 and plain[0] == plain[-1] and plain[0] in "\"'":
        plain = plain[1:-1].strip()
    if plain.lower() in MISSING:
        return None
    fault = _thousands(plain) or _several(plain) or _wrong_sign(plain, decimal)
    if fault is not None:
        return fault
    found = _CELL.fullmatch(plain.replace(",", "."))
    if found is None:
        return Fault("a number", "Correct it, or leave the cell empty where nothing was read.")
    value = float(found[1]) + 0.0
    unit = unit_named(found[2])
    if not isfinite(value):
        return _not_finite()
    if found[2] and not unit:
        return Fault("a number, with a known unit or none", f"Remove {found[2]!r}, or correct the unit.")
    return value, unit


def numbers(cells: Sequence[object], unit: str, units: Mapping[str, float], decimal: str = ".") -> Numbers:
    """Read a column of numbers.

    Parameters
    ----------
    cells : sequence of length N
        Text, numbers or None.
    unit : str
        Unit that the heading states; empty where it states none.
    units : mapping of unit to float
        What may stand in the cells, and how many of the library's unit each one is; empty for pure numbers.
    decimal : {".", ","}, optional
        Decimal sign of the file.

    Returns
    -------
    Numbers
        In the library's unit. Each different text is read once, so that long columns are quick.

    Notes
    -----
    Cells without a unit have that of the heading, and the first of `units` without one. A cell with another unit than
    the heading's is refused, and so is a column in which only some cells have a unit: never mixed in silence.

    Examples
    --------
    >>> numbers(["5.2", None, "7 cm"], "cm", {"mm": 1.0, "cm": 10.0}).values.tolist()
    [52.0, nan, 70.0]
    """
    plain = _plain_list(cells)
    if set(map(type, plain)) <= {float, type(None)}:
        return _read_floats(plain, units.get(unit, 1.0))
    codes, distinct = _distinct(plain)
    raw = np.full(len(distinct) + 1, np.nan)
    factor = np.full(len(raw), units.get(unit, 1.0))
    stated = np.zeros(len(raw), dtype=bool)
    wrong: dict[int, Fault] = {}
    for code in _read_plain(distinct, decimal, raw):
        read = _read_cell(distinct[code], decimal)
        if isinstance(read, tuple):
            raw[code], named = read
            stated[code] = bool(named)
            factor[code] = units.get(named or unit, 1.0)
            read = _unit_fault(named, unit, units)
        if read is not None:
            raw[code] = np.nan
            wrong[code] = read
    faults = {}
    for row in np.flatnonzero(np.isin(codes, list(wrong))).tolist() if wrong else ():
        faults[row] = wrong[int(codes[row])]
    return Numbers(convert(raw, factor)[codes], faults, None if unit else _mixed(codes, raw, stated))


def convert(values: Floats, factor: Floats | float) -> Floats:
    """Multiply by a factor so that decimal numbers stay what they are on paper: 0.7 in is 17.78 mm.

    Parameters
    ----------
    values : array of shape (N,)
        Numbers as written.
    factor : float or array of shape (N,)
        Library's units in one of the written ones.

    Returns
    -------
    array of shape (N,)
        The product; where it lies within rounding of a number with at most ten decimals, that number.

    Examples
    --------
    >>> convert(np.array([0.7, 5.2]), 25.4).tolist()
    [17.78, 132.08]
    """
    product = np.asarray(values * factor, dtype=np.float64)
    tidy = np.round(product, 10)
    exact = np.abs(tidy - product) <= 4 * np.spacing(np.abs(product))
    return np.where((factor == 1.0) | ~exact, product, tidy)


def texts(cells: Sequence[object]) -> Texts:
    """Read a column of text.

    Parameters
    ----------
    cells : sequence of length N
        Text, numbers or None.

    Returns
    -------
    array of str, shape (N,)
        Without blanks at the ends; None is empty, and a whole number has no decimals (lane 3, not 3.0).

    Examples
    --------
    >>> texts([" A ", 3.0, None]).tolist()
    ['A', '3', '']
    """
    made = [cell.strip() if type(cell) is str else _text(cell) for cell in _plain_list(cells)]
    array = np.empty(len(made), dtype=object)
    array[:] = made
    return array


def _text(cell: object) -> str:
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()


def _plain_list(cells: Sequence[object]) -> list[Any]:
    """Give the cells as a list of plain Python values."""
    return cells.tolist() if hasattr(cells, "tolist") else list(cells)


def _distinct(plain: list[Any]) -> tuple[npt.NDArray[np.intp], list[Any]]:
    """Give a number for each cell and the distinct cells in that numbering; -1 stands for None."""
    if set(map(type, plain)) <= {str, type(None)}:
        array = np.empty(len(plain), dtype=object)
        array[:] = plain
        found, distinct = pd.factorize(array)
        return found, list(distinct)
    known: dict[Any, int] = {}
    held: list[Any] = []
    codes = []
    for cell in plain:
        comparable = cell if isinstance(cell, (str, Real)) else id(cell)
        codes.append(known.setdefault((type(cell), comparable), len(held)))
        if len(known) > len(held):
            held.append(cell)
    return np.array(codes, dtype=np.intp), held


def _read_floats(plain: list[Any], factor: float) -> Numbers:
    """Read a column that holds numbers, or nothing, and no text."""
    values = np.array(plain, dtype=np.float64)
    wrong = [row for row in np.flatnonzero(~np.isfinite(values)).tolist() if plain[row] is not None]
    values[wrong] = np.nan
    return Numbers(convert(values, factor), dict.fromkeys(wrong, _not_finite()))


def _read_plain(distinct: list[Any], decimal: str, raw: Floats) -> list[int]:
    """Read the cells of digits and a decimal point alone into `raw`; give the codes of the others."""
    if decimal != ".":
        return list(range(len(distinct)))
    fits = _PLAIN.fullmatch
    raw[:-1] = [float(cell) if type(cell) is str and fits(cell) else np.nan for cell in distinct]
    raw[np.isinf(raw)] = np.nan
    return [int(code) for code in np.flatnonzero(np.isnan(raw[:-1]))]


def _read_cell(cell: object, decimal: str) -> tuple[float, str] | Fault | None:
    if isinstance(cell, str):
        return read_number(cell, decimal)
    if cell is None:
        return None
    if isinstance(cell, bool) or not isinstance(cell, Real):
        return Fault("a number", "Correct it, or leave the cell empty where nothing was read.")
    try:
        value = float(cell) + 0.0
    except OverflowError:
        return _not_finite()
    return (value, "") if isfinite(value) else _not_finite()


def _not_finite() -> Fault:
    return Fault("a finite number", "Correct it, or leave the cell empty where nothing was read.")


def _several(plain: str) -> Fault | None:
    """Refuse two values in one cell, and show how to write them."""
    found = list(_DIGITS.finditer(plain))
    between = [plain[one.end() : other.start()] for one, other in pairwise(found)]
    if not between or not all(map(_parts_values, between)):
        return None
    once = " and ".join([", ".join(f"once with {one[0]}" for one in found[:-1]), f"once with {found[-1][0]}"])
    todo = f"Write one row a spot: repeat the row, {once}."
    if between == [" "] and re.fullmatch(r"[0-9]{3}", found[1][0]):
        todo = f"Write {found[0][0]}{found[1][0]} if it is one number, else one row a spot."
    return Fault("one number in the cell", todo)


def _parts_values(gap: str) -> bool:
    """Tell whether what stands between two numbers parts two values: a sign or a blank, perhaps behind a unit."""
    found = _BETWEEN.fullmatch(gap)
    return found is not None and bool(unit_named(found[1]) if found[1] else gap)


def _thousands(plain: str) -> Fault | None:
    """Refuse more than one sign between the digits of a number."""
    signs = re.match(r"[+-]?[0-9.,]*", plain)
    if signs is None or len(re.findall("[.,]", signs[0])) < 2:
        return None
    return Fault("a number without separators of thousands", "Write the digits together, with one decimal sign.")


def _wrong_sign(plain: str, decimal: str) -> Fault | None:
    """Refuse a decimal sign that the file does not use."""
    if decimal == "." and re.search(r"[0-9],|,[0-9]", plain):
        return Fault(
            "a number with a decimal point",
            f"Write {plain.replace(',', '.')}; a decimal comma is understood where semicolons or tabs part the cells.",
        )
    if decimal == "," and re.search(r"[0-9]\.|\.[0-9]", plain):
        return Fault("a number with a decimal comma, as elsewhere in the file", "Use one decimal sign throughout.")
    return None


def _unit_fault(unit: str, stated: str, units: Mapping[str, float]) -> Fault | None:
    """Refuse a unit of another kind than the column's, or another than the heading's."""
    if not unit:
        return None
    if unit not in units:
        wanted = f"a unit out of {', '.join(units)}" if units else "a number without a unit"
        return Fault(wanted, "Correct the cell.")
    if stated and unit != stated:
        return Fault(f"a number in {stated}, as the heading says", "Convert it, or correct the heading.")
    return None


def _mixed(codes: npt.NDArray[np.intp], raw: Floats, stated: npt.NDArray[np.bool_]) -> tuple[int, int] | None:
    """Find a row without and a row with a unit, where there are both."""
    bare = np.flatnonzero((~np.isnan(raw) & ~stated)[codes])
    united = np.flatnonzero(stated[codes])
    return (int(bare[0]), int(united[0])) if len(bare) and len(united) else None

"""Headings as people write them: which column is meant, and in which unit.

A heading is understood when it is one of the names in `SPELLINGS`, in capitals or not, with blanks, hyphens or
underscores, alone or with a unit: ``front_mm``, ``Front (cm)``, ``solvent front [in]``, ``front / mm``. A heading that
is not understood becomes a factor, a column of the reader's own such as ``bench``, unless it looks like a slip of the
pen: that is a fault, with the right name. ``factor:place`` makes a factor of any word.

Only the standard library is used here, since recognisers look at headings too.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches

from lanewise.errors import Problem
from lanewise.tables.columns import CONTEXT, MARKS, PAIRS, SPOTS, shared_error
from lanewise.tables.units import unit_named, units_of

SPELLINGS: Mapping[str, tuple[str, ...]] = {
    "plate": ("plate", "plate label", "sheet", "sheet label"),
    "system": ("system", "solvent system", "solvent", "eluent", "mobile phase", "developing solvent"),
    "lane": ("lane", "lane label", "lane number", "track"),
    "sample": ("sample",),
    "role": ("role", "lane role"),
    "spot": ("spot", "spot label", "spot number", "spot name"),
    "origin_mm": ("origin", "origin line", "start line", "baseline"),
    "front_mm": ("front", "front line", "solvent front"),
    "trailing_mm": ("trailing", "trailing edge", "rear", "rear edge"),
    "centre_mm": (
        *("centre", "center", "spot centre", "spot center", "centre of spot", "center of spot"),
        *("darkest", "darkest point"),
    ),
    "leading_mm": ("leading", "leading edge"),
    "state": ("state", "spot state"),
    "colour": ("colour", "color", "spot colour", "spot color"),
    "note": ("note", "notes", "remark", "remarks", "comment", "comments"),
    "u_origin_mm": ("u origin", "u(origin)"),
    "u_front_mm": ("u front", "u(front)"),
    "u_trailing_mm": ("u trailing", "u(trailing)"),
    "u_centre_mm": ("u centre", "u center", "u(centre)", "u(center)"),
    "u_leading_mm": ("u leading", "u(leading)"),
    "layer": ("layer", "stationary phase"),
    "height_mm": ("height", "sheet height", "height of sheet", "height of the sheet"),
    "zero": ("zero", "ruler zero", "zero of ruler", "zero of the ruler"),
    "point": ("point", "point read"),
    "origin_read": ("origin read",),
    "front_read": ("front read",),
    "division_mm": ("division", "ruler division"),
    "u_reading_mm": ("u reading", "u(reading)"),
    "noticeable_mm": ("noticeable",),
    "runs": ("runs", "developments"),
    "minutes": ("minutes", "run time", "running time"),
    "amount_ug": ("amount", "amount applied"),
    "area_mm": ("area", "spot area", "peak area", "area under spot"),
    "u_area_mm": ("u area", "u(area)"),
}
"""For each column, the names under which it is understood, without unit."""

_COLUMNS = {column.name: column for column in (*MARKS, *CONTEXT)}
_MEANT = {spelling: name for name, spellings in SPELLINGS.items() for spelling in spellings}
_RESULTS = {column.name for column in (*SPOTS, *PAIRS)} - set(_COLUMNS)
_RIGHT = frozenset({"weight"})  # words that look like a column and are right
_UNCLEAR = frozenset(
    stem.format(what).strip()
    for stem in ("distance {}", "{} distance", "distance of {}", "position {}", "{} position", "height {}")
    for what in ("", "spot", "solvent")
) | {"distances", "positions", "front distance", "distance front", "distance of front"}
_BRACKETED = re.compile(r"^(.+?)\s*[\[(]\s*([^\[\]()]*?)\s*[\])]$")
_TRAILED = (re.compile(r"^(.+?)\s*/\s*(\S+)$"), re.compile(r"^(.+?),?\s+(?:in\s+)?(\S+)$"))


@dataclass(frozen=True, slots=True)
class Heading:
    """What a heading was understood to be.

    Attributes
    ----------
    written : str
        The heading as it stands in the file.
    column : str
        Name of the column that is meant, or that it looks like; empty for a factor.
    unit : str
        Unit that the heading states; empty where it states none.
    factor : str
        Name of the factor, where it is one.
    point : str
        Point of the spot that the heading implies (``darkest``); else empty.
    wanted, todo : str
        What would be right and what to do, where the heading is at fault; else empty.
    """

    written: str
    column: str = ""
    unit: str = ""
    factor: str = ""
    point: str = ""
    wanted: str = ""
    todo: str = ""


def known_column(text: str) -> tuple[str, str]:
    """Give the column and the unit of a heading that is written without fault.

    Parameters
    ----------
    text : str
        The heading.

    Returns
    -------
    column, unit : str
        Both empty where the heading is not understood.

    Examples
    --------
    >>> known_column("Solvent front [in]"), known_column("bench")
    (('front_mm', 'in'), ('', ''))
    """
    found = read_heading(text, suggest=False)
    return (found.column, found.unit) if not found.wanted else ("", "")


def read_heading(text: str, *, suggest: bool = True) -> Heading:
    """Understand one heading.

    Parameters
    ----------
    text : str
        As written.
    suggest : bool, optional
        Whether to look for slips of the pen.

    Returns
    -------
    Heading
        With `wanted` and `todo` where it is at fault.

    Examples
    --------
    >>> read_heading("frnt_mm").todo
    "Write 'front_mm'; or, if it is a factor of your own, 'factor:frnt_mm'."
    >>> read_heading("bench").factor
    'bench'
    """
    written = text.strip()
    if written.lower().startswith("factor:"):
        return Heading(text, factor=written[len("factor:") :].strip())
    if shared_error(written)[0]:
        todo = "Read the study from its record (JSON), which holds them, or leave the column out."
        return Heading(text, wanted="no column of errors that readings share", todo=todo)
    plain = _plain(written)
    if plain in _MEANT:
        return _meant(text, plain, "")
    base, unit_text = _split(plain)
    unit = unit_named(unit_text)
    if base in _MEANT:
        return _meant(text, base, unit, unit_text)
    if plain in _UNCLEAR or (unit and base in _UNCLEAR):
        return Heading(
            text,
            wanted="a heading that says what lies there",
            todo="Positions are counted from one zero: write 'centre_mm' for the spot, 'front_mm' for the front, "
            f"'factor:{written}' for a factor of your own.",
        )
    near = get_close_matches(base if unit else plain, _MEANT, n=1, cutoff=0.8) if suggest and base not in _RIGHT else []
    if near:
        right = _named(_MEANT[near[0]], unit)
        return Heading(
            text,
            _MEANT[near[0]],
            wanted=f"{right!r}, which it looks like",
            todo=f"Write {right!r}; or, if it is a factor of your own, 'factor:{written}'.",
        )
    name = written if plain.replace(" ", "_") not in _RESULTS else f"{written} as written"
    return Heading(text, factor=name)


@dataclass(frozen=True, slots=True)
class Headings:
    """What the headings of a table were understood to be.

    Attributes
    ----------
    columns : dict of column name to Heading
        The columns of the library that are there.
    factors : tuple of Heading
        The others, in their order.
    suspected : frozenset of str
        Columns of the library that a heading at fault may have meant.
    problems : tuple of Problem
        Headings at fault: slips of the pen, unknown units, two for one column.
    """

    columns: dict[str, Heading]
    factors: tuple[Heading, ...]
    suspected: frozenset[str]
    problems: tuple[Problem, ...]


def resolve(written: Iterable[str], units: Mapping[str, str], file: str) -> Headings:
    """Understand all headings of a table.

    Parameters
    ----------
    written : iterable of str
        The headings.
    units : mapping of heading to unit
        Units for headings that state none.
    file : str
        Name of the file, for the faults.

    Returns
    -------
    Headings
        With every fault among them.

    Examples
    --------
    >>> found = resolve(["lane", "front", "bench"], {"front": "cm"}, "inks.csv")
    >>> found.columns["front_mm"].unit, [heading.factor for heading in found.factors], found.problems
    ('cm', ['bench'], ())
    """
    columns: dict[str, Heading] = {}
    factors: dict[str, Heading] = {}
    suspected: set[str] = set()
    problems: list[Problem] = []
    for text in written:
        heading = _with_unit(read_heading(text), units.get(text, ""))
        fault = _fault(heading, columns, factors)
        if fault is not None:
            problems.append(Problem(file, None, heading.written, *fault))
            suspected.add(heading.column)
        elif heading.column:
            columns[heading.column] = heading
        else:
            factors[heading.factor] = heading
    return Headings(columns, tuple(factors.values()), frozenset(suspected - {""}), tuple(problems))


def _fault(
    heading: Heading, columns: Mapping[str, Heading], factors: Mapping[str, Heading]
) -> tuple[str, str, str] | None:
    """Say what is wrong with a heading beside those before it: wanted, given, what to do."""
    if heading.wanted:
        return heading.wanted, repr(heading.written), heading.todo
    if not heading.column and not heading.factor:
        return "a heading", "an empty one", "Name the column."
    if heading.column in columns:
        both = f"{columns[heading.column].written!r} and {heading.written!r}"
        return f"one column for {heading.column}", both, "Keep one of them."
    if heading.factor in factors:
        return "factors of different names", f"{heading.factor!r} twice", "Rename one of them."
    return None


def _plain(text: str) -> str:
    return re.sub(r"[\s_-]+", " ", text).strip().strip("\"'").strip().lower()


def _split(plain: str) -> tuple[str, str]:
    """Part a heading into its name and what may be a unit."""
    bracketed = _BRACKETED.match(plain)
    if bracketed is not None:
        return bracketed[1], bracketed[2]
    for pattern in _TRAILED:
        trailed = pattern.match(plain)
        if trailed is not None and (unit_named(trailed[2]) or _unit_like(*trailed.groups())):
            return trailed[1], trailed[2]
    return plain, ""


def _unit_like(base: str, tail: str) -> bool:
    """Tell whether a short word behind the name of a quantity can only be a unit (``front_px``)."""
    return len(tail) <= 3 and base in _MEANT and bool(units_of(_COLUMNS[_MEANT[base]].unit))


def _meant(text: str, spelling: str, unit: str, unit_text: str = "") -> Heading:
    """Make the heading of a known column, once its unit has been looked at."""
    name = _MEANT[spelling]
    point = "darkest" if spelling.startswith("darkest") else ""
    allowed = units_of(_COLUMNS[name].unit)
    if not unit_text or unit in allowed:
        return Heading(text, name, unit, point=point)
    if allowed:
        wanted, todo = f"a unit out of {', '.join(allowed)}", f"Write {_named(name, '')!r}, for instance."
    elif name == "spot":
        wanted, todo = "'spot' without a unit, since it is a label", "Write 'centre_mm' for the position of the spot."
    else:
        wanted, todo = f"{name!r} without a unit", f"Write {name!r}; or, for a factor of your own, 'factor:{text}'."
    return Heading(text, name, wanted=wanted, todo=todo)


def _with_unit(heading: Heading, stated: str) -> Heading:
    """Add the unit that the reader states for a heading."""
    if not stated or not heading.column or heading.wanted:
        return heading
    unit, allowed = unit_named(stated), units_of(_COLUMNS[heading.column].unit)
    if unit in allowed and heading.unit in ("", unit):
        return Heading(heading.written, heading.column, unit, point=heading.point)
    wanted = f"the unit {heading.unit}" if heading.unit and unit in allowed else f"a unit out of {', '.join(allowed)}"
    return Heading(
        heading.written,
        heading.column,
        wanted=wanted if allowed else "no unit",
        todo=f"The unit {stated!r} was stated for it apart: correct one of the two.",
    )


def _named(column: str, unit: str) -> str:
    """Name a column with the unit that was written, or with its own."""
    own = _COLUMNS[column].unit
    named = column.endswith(f"_{own}") and unit in units_of(own)
    return f"{column.removesuffix(own)}{unit}" if named else column

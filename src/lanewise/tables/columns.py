"""The one page that gives each column its name, unit and meaning.

Three tables pass through the library: the *marks* (what was read, one row a spot), the *spots* (what follows
for each spot) and the *pairs* (what follows for each two neighbours in a lane). Every column of the three is
declared here once; headings, labelled arrays, checks and the documentation page are made from this list.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Literal, TypeAlias

Kind: TypeAlias = Literal["text", "length", "number"]


@dataclass(frozen=True, slots=True)
class Column:
    """One column: its name, its kind, its unit and what it means.

    Attributes
    ----------
    name : str
        Name in the table.
    kind : {"text", "length", "number"}
        A length is in millimetres in the library and may arrive in another unit.
    unit : str
        ``mm``, ``ug``, ``min``, ``1`` for a pure number, empty for text.
    meaning : str
        One line, also the ``long_name`` of labelled arrays.
    """

    name: str
    kind: Kind
    unit: str
    meaning: str


def _text(name: str, meaning: str) -> Column:
    return Column(name, "text", "", meaning)


def _length(name: str, meaning: str) -> Column:
    return Column(name, "length", "mm", meaning)


def _number(name: str, meaning: str) -> Column:
    return Column(name, "number", "1", meaning)


NOT_STATED = "not stated"  # the system, layer or zero of plates for which none is given
ORIGIN_LINE, SHEET_EDGE = "origin line", "sheet edge"
STATES = ("measured", "at origin", "with front", "streak", "unread", "absent")
ROLES = ("sample", "standard", "blank")
POINTS = ("centre", "darkest", "leading edge", "trailing edge")
AWAY = (SHEET_EDGE, "liquid level")  # zeros that are not on the origin line, which then must have been read
ZEROS = (NOT_STATED, ORIGIN_LINE, *AWAY)

MARKS: tuple[Column, ...] = (
    _text("plate", "label of the plate or sheet"),
    _text("system", "solvent system it was developed in"),
    _text("lane", "label of the lane"),
    _text("sample", "what was spotted there"),
    _text("role", "sample, standard or blank"),
    _text("spot", "name or number of the spot in its lane, counted from the origin"),
    _length("origin_mm", "position of the origin line in this lane"),
    _length("front_mm", "position of the solvent front in this lane"),
    _length("trailing_mm", "position of the spot's edge nearer the origin"),
    _length("centre_mm", "position of the point read: centre or darkest point of the spot"),
    _length("leading_mm", "position of the spot's edge nearer the front"),
    _text("state", "measured, at origin, with front, streak, unread or absent"),
    _text("colour", "colour of the spot, as a word"),
    _text("note", "remark of the reader"),
    _length("u_origin_mm", "standard uncertainty of the origin reading"),
    _length("u_front_mm", "standard uncertainty of the front reading"),
    _length("u_trailing_mm", "standard uncertainty of the trailing edge"),
    _length("u_centre_mm", "standard uncertainty of the point read"),
    _length("u_leading_mm", "standard uncertainty of the leading edge"),
)

CONTEXT: tuple[Column, ...] = (
    _text("layer", "stationary phase of the sheet"),
    _length("height_mm", "height of the sheet, along the run"),
    _text("zero", "where the zero of the ruler lay: origin line, sheet edge, liquid level or not stated"),
    _text("point", "point of the spot that was read: centre, darkest, leading edge or trailing edge"),
    _text("origin_read", "whether the origin was read once for the plate or for each lane"),
    _text("front_read", "whether the front was read once for the plate or for each lane; empty where it was not seen"),
    _length("division_mm", "division of the ruler"),
    _length("u_reading_mm", "standard uncertainty of one reading, where it is stated and not left to the division"),
    _length("noticeable_mm", "smallest movement of a spot that would have been noticed"),
    _number("runs", "number of developments, one after the other"),
    Column("minutes", "number", "min", "time from dipping to taking out"),
    Column("amount_ug", "number", "ug", "mass of the substance that was applied"),
    _length("area_mm", "area under the spot in the trace of its lane: optical density times length"),
    _length("u_area_mm", "standard uncertainty of the area"),
)

SPOTS: tuple[Column, ...] = (
    *MARKS[:4],
    MARKS[5],
    MARKS[11],
    _number("rf", "retardation factor"),
    _number("u_rf", "standard uncertainty of rf"),
    _number("rf_low", "lower end of the coverage interval of rf, or lower bound"),
    _number("rf_high", "upper end of the coverage interval of rf, or upper bound"),
    _number("hrf", "100 times rf, as a whole number"),
    _number("k", "retention factor"),
    _number("u_k", "standard uncertainty of k"),
    _number("k_low", "lower end of the coverage interval of k, or lower bound"),
    _number("k_high", "upper end of the coverage interval of k, or upper bound"),
    _number("r_m", "decimal logarithm of k"),
    _number("u_r_m", "standard uncertainty of r_m"),
    _length("width_mm", "length of the spot along the lane, edge to edge"),
    _text("flags", "what to bear in mind about this row, separated by semicolons"),
)

PAIRS: tuple[Column, ...] = (
    MARKS[0],
    MARKS[2],
    _text("spot_a", "the slower spot of the pair"),
    _text("spot_b", "the faster spot of the pair"),
    _number("delta_rf", "rf of the faster spot minus rf of the slower"),
    _number("u_delta_rf", "standard uncertainty of delta_rf"),
    _number("alpha", "separation factor, k of the slower over k of the faster"),
    _number("u_alpha", "standard uncertainty of alpha"),
    _number("rs", "resolution from positions and base widths"),
    _number("u_rs", "standard uncertainty of rs"),
)


_ALL = {column.name: column for column in (*PAIRS, *SPOTS, *CONTEXT, *MARKS)}

SHARED_POINTS = ("origin", "front", "trailing", "centre", "leading")
_SHARED = re.compile(rf"shared_({'|'.join(SHARED_POINTS)})_mm:(.+)", re.DOTALL)


def shared_columns(error: str) -> tuple[Column, ...]:
    """Give the columns of the marks that hold one error which the readings of a plate share.

    Examples
    --------
    >>> names(shared_columns("lens"))[:2]
    ['shared_origin_mm:lens', 'shared_front_mm:lens']
    """
    said = {"origin": "the origin", "front": "the front", "centre": "the point read"}
    return tuple(
        _length(f"shared_{point}_mm:{error}", f"shift of {said.get(point, f'the {point} edge')} by one u of {error}")
        for point in SHARED_POINTS
    )


def shared_error(column: str) -> tuple[str, str]:
    """Give the point and the error that a column of the marks is about; both empty where it is about none.

    Examples
    --------
    >>> shared_error("shared_centre_mm:lens"), shared_error("bench")
    (('centre', 'lens'), ('', ''))
    """
    found = _SHARED.fullmatch(column)
    return (found[1], found[2]) if found else ("", "")


def described(name: str) -> Column | None:
    """Give the column of that name in any of the tables; None for a factor."""
    point, error = shared_error(name)
    if point:
        return next(column for column in shared_columns(error) if column.name == name)
    return _ALL.get(name)


def names(columns: tuple[Column, ...]) -> list[str]:
    """Give the names of columns, in their order.

    Examples
    --------
    >>> names(PAIRS)[:4]
    ['plate', 'lane', 'spot_a', 'spot_b']
    """
    return [column.name for column in columns]

"""What must hold between the cells of a marks table: rules on whole columns, with a fault for each row that breaks one.

The rules are those of the record (`lanewise.model.checks`), and a test holds the two together; here they work on
arrays and go on after the first fault.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt
import pandas as pd

from lanewise.model.checks import BEYOND, mm, ruler_uncertainty
from lanewise.tables.cells import Floats, Texts
from lanewise.tables.columns import AWAY, ORIGIN_LINE
from lanewise.tables.draft import NOT_SEEN, Draft, Mask

Ids = npt.NDArray[np.int64]

LANE_FACTS = ("sample", "role", "origin_mm", "front_mm", "u_origin_mm", "u_front_mm", "origin_read", "front_read")
"""Columns with one value a lane."""

PLATE_FACTS = (
    *("system", "layer", "height_mm", "zero", "division_mm", "u_reading_mm", "noticeable_mm"),
    *("runs", "minutes"),
)
"""Columns with one value a plate."""

_SPOT_POSITIONS = ("trailing_mm", "centre_mm", "leading_mm")


def numbered(*columns: Texts | Ids | Floats) -> Ids:
    """Number the different combinations of columns, in the order of appearance.

    Parameters
    ----------
    *columns : arrays of shape (N,)
        Texts or numbers; an empty number equals another empty one.

    Returns
    -------
    array of int, shape (N,)
        Equal where all columns are equal.

    Examples
    --------
    >>> numbered(np.array(["a", "b", "a"], dtype=object), np.array([0, 0, 0])).tolist()
    [0, 1, 0]
    >>> numbered(np.array([0, 0, 1, 1]), np.array([7.0, np.nan, np.nan, np.nan])).tolist()
    [0, 1, 2, 2]
    """
    codes = np.zeros(len(columns[0]), dtype=np.int64)
    for column in columns:
        found, distinct = pd.factorize(column, use_na_sentinel=False)
        codes = pd.factorize(codes * max(len(distinct), 1) + found)[0].astype(np.int64)
    return codes


def groups(draft: Draft) -> tuple[Ids, Ids]:
    """Number the plates and the lanes of a draft; a row without a lane is a lane of its own."""
    plate = numbered(draft.text["plate"])
    lane = numbered(plate, draft.text["lane"])
    loose = np.flatnonzero(draft.text["lane"] == "")
    lane[loose] = len(lane) + np.arange(len(loose))
    return plate, numbered(lane)


def check_lanes_named(draft: Draft) -> None:
    """Find rows without a lane."""
    if "lane" in draft.headings.columns:
        for row in np.flatnonzero(draft.text["lane"] == "").tolist():
            draft.fault(row, "lane", "the label of a lane", "an empty cell", "Name the lane in every row.")
    elif "lane" not in draft.headings.suspected and (draft.text["lane"] == "").any():
        _no_column(draft, "lane", "the label of the lane")


def settle(draft: Draft, columns: Sequence[str], group: Ids, kind: str) -> None:
    """Find groups with two values of a fact, and fill the cells that are left empty beside a value.

    Parameters
    ----------
    draft : Draft
        Its columns are filled where a row of the same lane or plate has the value.
    columns : sequence of str
        The facts.
    group : array of int, shape (N,)
        Number of the lane or plate of each row.
    kind : {"lane", "plate"}
        What the groups are.
    """
    for column in columns:
        held: Texts | Floats | None = draft.text.get(column, draft.number.get(column))
        if held is None:
            continue
        keys, missing = _keys(held)
        first = _first_rows(~missing, group)
        source = first[group]
        usable = (source >= 0) & ~missing
        for row in np.flatnonzero(usable & (keys != keys[source])).tolist():
            other = int(source[row])
            draft.fault(
                row,
                column,
                f"one value for {_where(draft, row, kind)}, as in {draft.row_named(other)}: {_said(held[other])}",
                _said(held[row]),
                f"Correct one of them, or give the {kind}s different labels.",
            )
        empty = missing & (source >= 0) & ~draft.was_refused(column)
        if column == "front_mm":
            empty &= ~draft.unseen
        held[empty] = held[source[empty]]


def fill_origins(draft: Draft, lane: Ids) -> Mask:
    """Put 0 where no origin was given, and find lanes whose zero lay elsewhere, so that theirs is needed.

    Returns
    -------
    array of bool, shape (N,)
        Rows whose origin was assumed, since nothing says where the zero lay.
    """
    origin = draft.number["origin_mm"]
    zero: Texts = draft.text.get("zero", np.full(len(draft), "", dtype=object))
    missing: Mask = np.isnan(origin) & ~draft.was_refused("origin_mm")
    needed = missing & np.isin(zero, AWAY)
    origin[missing & ~needed] = 0.0
    if "origin_mm" in draft.headings.columns:
        for row in _first_of_each(np.flatnonzero(needed), lane):
            wanted = f"the origin of {_where(draft, row, 'lane')}, since the zero lay at the {zero[row]}"
            draft.fault(row, "origin_mm", wanted, "nothing", "Give it.")
    elif needed.any() and "origin_mm" not in draft.headings.suspected:
        row = int(np.argmax(needed))
        _no_column(draft, "origin_mm", f"the position of the origin line, since the zero lay at the {zero[row]}")
    assumed: Mask = missing & ~needed & (zero != ORIGIN_LINE)
    return assumed


def check_zeros(draft: Draft, plate: Ids, division: float) -> None:
    """Find origins away from 0 where the zero of the ruler is said to have lain on the origin line."""
    if "zero" not in draft.text:
        return
    origin = draft.number["origin_mm"]
    u_origin = _or(draft.values("u_origin_mm"), _usual(draft, division))
    away = np.flatnonzero((draft.text["zero"] == ORIGIN_LINE) & (np.abs(origin) > BEYOND * u_origin))
    for row in _first_of_each(away, numbered(plate[away], origin[away]), away):
        wanted = "the origin at 0 mm, since the zero lay on the origin line"
        under = f"under {draft.written('zero')}"
        todo = f"Write 'sheet edge' or 'liquid level' {under} if positions were read from there, or correct them."
        draft.fault(row, "origin_mm", wanted, mm(origin[row]), todo)


def check_shared(draft: Draft, plate: Ids) -> None:
    """Find plates whose origin or front was read once, and yet differs."""
    for line in ("origin", "front"):
        once = draft.text.get(f"{line}_read")
        if once is None or not (once == "plate").any():
            continue
        for column in (f"{line}_mm", f"u_{line}_mm"):
            values = draft.values(column)
            source = _first_rows(once == "plate", plate)[plate]
            with np.errstate(invalid="ignore"):
                same = (values == values[source]) | (np.isnan(values) & np.isnan(values[source]))
            for row in np.flatnonzero((once == "plate") & ~same & ~draft.was_refused(column)).tolist():
                draft.fault(
                    row,
                    column,
                    f"the {line} that was read once for the plate, as in {draft.row_named(int(source[row]))}",
                    _said(values[row]),
                    f"Correct one of them, or write 'lane' under {draft.written(f'{line}_read')}.",
                )
        if line == "front":
            for row in np.flatnonzero(draft.unseen & (source >= 0)).tolist():
                todo = f"Give it, or write 'lane' under {draft.written('front_read')} in every row of the plate."
                draft.fault(row, "front_mm", "the front that was read once for the plate", f"'{NOT_SEEN}'", todo)


def check_fronts(draft: Draft, lane: Ids) -> None:
    """Find lanes without a front, with a front and the word that there is none, or with a front below the origin."""
    front, origin = draft.number["front_mm"], draft.number["origin_mm"]
    unseen = np.zeros(int(lane.max(initial=-1)) + 1, dtype=bool)
    unseen[lane[draft.unseen]] = True
    rows = np.flatnonzero(np.isnan(front) & ~unseen[lane] & ~draft.was_refused("front_mm"))
    if "front_mm" in draft.headings.columns:
        for row in _first_of_each(rows, lane):
            todo = f"Give it, or write '{NOT_SEEN}' where no front was seen."
            draft.fault(row, "front_mm", f"the front of {_where(draft, row, 'lane')}", "nothing", todo)
    elif len(rows) and "front_mm" not in draft.headings.suspected:
        _no_column(draft, "front_mm", "the position of the front")
    for row in _first_of_each(np.flatnonzero(~np.isnan(front) & unseen[lane]), lane):
        todo = "Keep one of them for the whole lane."
        draft.fault(row, "front_mm", f"a front, or '{NOT_SEEN}'", f"both in {_where(draft, row, 'lane')}", todo)
    low = np.flatnonzero(front <= origin)
    for row in _first_of_each(low, numbered(lane[low], front[low], origin[low]), low):
        wanted = f"a front above the origin at {mm(origin[row])}"
        draft.fault(row, "front_mm", wanted, mm(front[row]), "Correct one of them, or the unit.")


def check_spots(draft: Draft) -> None:
    """Find spots that lack the positions of their state, or have them out of order."""
    trailing, centre, leading = (draft.values(column) for column in _SPOT_POSITIONS)
    has = {column: ~np.isnan(draft.values(column)) | draft.was_refused(column) for column in _SPOT_POSITIONS}
    edges = has["trailing_mm"] & has["leading_mm"]
    state = draft.text["state"]
    bare = np.flatnonzero((state == "measured") & ~has["centre_mm"] & ~edges & ~draft.was_refused("state"))
    columns = draft.headings.columns.keys() | draft.headings.suspected
    if len(bare) and "centre_mm" not in columns and not {"trailing_mm", "leading_mm"} <= columns:
        _no_column(draft, "centre_mm", "the position of the spot (or both 'trailing_mm' and 'leading_mm')")
    elif len(bare):
        for row in bare.tolist():
            todo = "Give it, or say under 'state' why there is no position (unread, absent, at origin, with front)."
            draft.fault(row, "centre_mm", "the position of the spot, or both its edges", "nothing", todo)
    for row in np.flatnonzero((state == "streak") & ~edges).tolist():
        column = "leading_mm" if has["trailing_mm"][row] else "trailing_mm"
        draft.fault(row, column, "both edges of a streak", "one missing", "Give it, or call the spot 'unread'.")
    there = has["trailing_mm"] | has["centre_mm"] | has["leading_mm"]
    for row in np.flatnonzero((state == "absent") & there).tolist():
        todo = "Leave the positions out, or call it 'measured'."
        draft.fault(row, "state", "no position of an absent spot", "'absent' and a position", todo)
    low = np.where(np.isnan(centre), leading, centre)
    _out_of_order(draft, "trailing_mm", trailing > low)
    _out_of_order(draft, "leading_mm", (centre > leading) & ~(trailing > low))


def _out_of_order(draft: Draft, column: str, wrong: Mask) -> None:
    for row in np.flatnonzero(wrong).tolist():
        given = ", ".join(
            f"{name.removesuffix('_mm')} {mm(draft.values(name)[row])}"
            for name in _SPOT_POSITIONS
            if not np.isnan(draft.values(name)[row])
        )
        todo = "Trailing is the edge nearer the origin: swap or correct them."
        draft.fault(row, column, "trailing, centre and leading in this order", given, todo)


def check_double(draft: Draft, lane: Ids) -> None:
    """Find spots that come twice in a lane."""
    spot = draft.text["spot"]
    named = spot != ""
    pair = numbered(lane, spot)
    source = _first_rows(named, pair)[pair]
    for row in np.flatnonzero(named & (source != np.arange(len(draft)))).tolist():
        first = int(source[row])
        draft.fault(
            row,
            "spot",
            f"a spot of another name than in {draft.row_named(first)}",
            f"{spot[row]!r} again in {_where(draft, row, 'lane')}",
            "Rename it, or remove one of the rows.",
        )
    _check_repeated(draft, lane, ~named)


def _check_repeated(draft: Draft, lane: Ids, unnamed: Mask) -> None:
    """Find rows without a spot name that repeat another row of their lane, position and colour and all."""
    positions = [draft.values(column) for column in _SPOT_POSITIONS]
    placed = unnamed & ~np.isnan(positions).all(axis=0)
    look = numbered(lane, *positions, draft.text["colour"])
    source = _first_rows(placed, look)[look]
    for row in np.flatnonzero(placed & (source != np.arange(len(draft)))).tolist():
        draft.fault(
            row,
            "centre_mm",
            f"a spot at another place, or of another colour, than in {draft.row_named(int(source[row]))}",
            f"the same spot again in {_where(draft, row, 'lane')}",
            "Remove one of the rows, or give both spots names in a column 'spot'.",
        )


def check_places(draft: Draft, division: float) -> None:
    """Find spots beyond the front, below the origin, or elsewhere than their state says."""
    usual = _usual(draft, division)
    noticeable = _or(draft.values("noticeable_mm"), 1.0)
    u_centre, u_leading, u_origin, u_front = (
        _or(draft.values(f"u_{name}_mm"), usual) for name in ("centre", "leading", "origin", "front")
    )
    trailing, centre, leading = (draft.values(column) for column in _SPOT_POSITIONS)
    origin, front = draft.values("origin_mm"), draft.values("front_mm")
    state = draft.text["state"]
    by_centre = ~np.isnan(centre)
    at = np.where(by_centre, centre, trailing + (leading - trailing) / 2)
    placed = ~(front <= origin)
    near = BEYOND * np.hypot(u_centre, u_origin)

    def fault(wrong: Mask, column: str | None, wanted: str, line: Floats, todo: str) -> None:
        for row in np.flatnonzero(wrong & placed).tolist():
            name = column or ("centre_mm" if by_centre[row] else "leading_mm")
            value = at[row] if column is None else leading[row]
            what = "leading edge" if column else ("centre" if by_centre[row] else "middle")
            draft.fault(row, name, wanted.format(what, mm(line[row])), f"{what} {mm(value)}", todo)

    below = at < origin - near
    fault(below, None, "a {} not below the origin at {}", origin, "Correct the mark or the origin.")
    moved = (state == "at origin") & (at > origin + near + noticeable)
    fault(
        moved,
        None,
        "a spot at the origin at {1}",
        origin,
        "Correct it, or call it 'measured'.",
    )
    todo = f"Correct the mark or the front, or write '{NOT_SEEN}' for the front."
    past = at > front + BEYOND * np.hypot(u_centre, u_front)
    fault(past, None, "a {} not beyond the front at {}", front, todo)
    past_edge = leading > front + BEYOND * np.hypot(u_leading, u_front)
    past_edge &= (state != "with front") & ~past
    fault(past_edge, "leading_mm", "a {} not beyond the front at {}", front, todo)
    short = (state == "with front") & (leading + BEYOND * np.hypot(u_leading, u_front) + noticeable < front)
    fault(short, "leading_mm", "a spot that reaches the front at {1}", front, "Correct it, or call it 'measured'.")


def _usual(draft: Draft, division: float) -> Floats:
    """Give the standard uncertainty of a reading that states none, shape (N,), in mm."""
    return _or(draft.values("u_reading_mm"), ruler_uncertainty(1.0) * _or(draft.values("division_mm"), division))


def _or(values: Floats, default: Floats | float) -> Floats:
    return np.where(np.isnan(values), default, values)


def _keys(held: Texts | Floats) -> tuple[Floats | Ids, Mask]:
    """Give something to compare for each cell, and which are empty."""
    if held.dtype == object:
        return pd.factorize(held)[0].astype(np.int64), held == ""
    return held.astype(np.float64), np.isnan(held.astype(np.float64))


def _first_rows(present: Mask, group: Ids) -> Ids:
    """Give for each group its first row among those that are present; -1 where there is none."""
    first = np.full(int(group.max(initial=-1)) + 1, -1, dtype=np.int64)
    rows = np.flatnonzero(present)[::-1]
    first[group[rows]] = rows
    return first


def _first_of_each(rows: npt.NDArray[np.intp], group: Ids, within: npt.NDArray[np.intp] | None = None) -> list[int]:
    """Keep of some rows the first of each group; `group` belongs to all rows, or to `within` alone."""
    keys = group[rows] if within is None else group
    _, first = np.unique(keys, return_index=True)
    return sorted(rows[first].tolist())


def _no_column(draft: Draft, column: str, what: str) -> None:
    headings = [*draft.headings.columns.values(), *draft.headings.factors]
    given = ", ".join(repr(heading.written) for heading in headings) or "none"
    draft.fault(-1, "", f"a column with {what}", f"the columns {given}", f"Add a column {column!r}.")


def _where(draft: Draft, row: int, kind: str) -> str:
    plate = f"plate {draft.text['plate'][row]!r}"
    return plate if kind == "plate" else f"lane {draft.text['lane'][row]!r} on {plate}"


def _said(value: str | np.float64) -> str:
    if isinstance(value, str):
        return repr(value)
    return "nothing" if np.isnan(value) else f"{value:.10g}"

"""Random records and reports for property tests, as hypothesis strategies; each one possible, all invented.

The only module of the kit that needs hypothesis.

Examples
--------
>>> from hypothesis import given, settings
>>> @settings(max_examples=5, database=None)
... @given(studies(min_spots=1))
... def every_lane_has_a_spot(study):
...     assert all(lane.spots for plate in study.plates for lane in plate.lanes)
>>> every_lane_has_a_spot()
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

from hypothesis import strategies as st

from lanewise.document import Block, Bullets, DataColumn, DataTable, Figure, Paragraph, Report, Section, Table
from lanewise.model.plates import (
    NOT_STATED,
    Development,
    Lane,
    Plate,
    Point,
    Reading,
    Role,
    SharedError,
    Sheet,
    Spot,
    State,
    Trace,
    Zero,
)
from lanewise.model.solvents import Component, Phase, SolventSystem
from lanewise.model.studies import Input, Study
from lanewise.testing.pictures import sheet_figure
from lanewise.testing.reports import ACTING, FORMULAS, PLAIN, UNSEEN

FACTORS = ("bench", "day", "operator", "pen")


def texts(max_size: int = 12) -> st.SearchStrategy[str]:
    """Draw texts that a record can hold: no NUL, no half characters."""
    return st.text(st.characters(codec="utf-8", exclude_characters="\0"), max_size=max_size)


def labels() -> st.SearchStrategy[str]:
    """Labels: texts with something to read in them."""
    return texts().filter(str.strip)


def positions(low: float, high: float) -> st.SearchStrategy[float]:
    """Positions on a sheet, in millimetres."""
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def uncertainties() -> st.SearchStrategy[float | None]:
    """Standard uncertainties in millimetres, or none."""
    return st.none() | st.floats(0.0, 5.0)


def factors() -> st.SearchStrategy[dict[str, str]]:
    """Factors of a plate, a lane or a spot."""
    return st.dictionaries(st.sampled_from(FACTORS), labels(), max_size=2)


@st.composite
def spots(draw: st.DrawFn, label: str, origin: float, front: float | None) -> Spot:
    """Draw a spot of any state.

    Parameters
    ----------
    draw : callable
        Given by hypothesis, not by the caller.
    label : str
        Its label.
    origin, front : float
        Between which its marks lie; with None for the front, up to 100 mm above the origin. [mm]

    Returns
    -------
    strategy of Spot
    """
    top = origin + 100.0 if front is None else front
    marks = sorted(draw(st.lists(positions(origin, top), min_size=3, max_size=3)))
    trailing, centre, leading = (draw(st.none() | st.just(mark)) for mark in marks)
    state: State = draw(st.sampled_from(get_args(State)))
    if state == "measured" and centre is None:
        trailing, leading = marks[0], marks[2]
    if state == "streak":
        trailing, leading = marks[0], marks[2]
    if state in ("at origin", "with front"):
        at = origin if state == "at origin" else top
        trailing, centre, leading = (draw(st.none() | st.just(at)) for _ in range(3))
    if state == "absent":
        trailing = centre = leading = None
    return Spot(
        label=label,
        state=state,
        trailing=trailing,
        centre=centre,
        leading=leading,
        point=draw(st.sampled_from(get_args(Point))),
        u_trailing=draw(uncertainties()),
        u_centre=draw(uncertainties()),
        u_leading=draw(uncertainties()),
        colour=draw(texts()),
        amount=draw(st.none() | st.floats(0.0, 100.0)),
        area=draw(st.none() | st.floats(0.0, 1e3)),
        u_area=draw(uncertainties()),
        factors=draw(factors()),
        note=draw(texts()),
    )


@st.composite
def traces(draw: st.DrawFn) -> Trace:
    """Draw a short trace along a lane, at two to eight positions that rise."""
    places = sorted(draw(st.lists(positions(-50.0, 300.0), min_size=2, max_size=8, unique=True)))
    signal = st.floats(-1e6, 1e6, allow_nan=False)
    return Trace(
        channel=draw(texts()),
        positions=tuple(places),
        values=tuple(draw(st.lists(signal, min_size=len(places), max_size=len(places)))),
        unit=draw(st.just("1") | labels()),
        note=draw(texts()),
    )


@st.composite
def shared_errors(draw: st.DrawFn) -> SharedError:
    """A cause that moves all positions of a plate together."""
    places = sorted(draw(st.lists(positions(-50.0, 300.0), min_size=1, max_size=4, unique=True)))
    shifts = draw(st.lists(positions(-1.0, 1.0), min_size=len(places), max_size=len(places)))
    return SharedError(name=draw(labels()), positions=tuple(places), shifts=tuple(shifts))


@st.composite
def lanes(
    draw: st.DrawFn, label: str, origin: float, front: float | None, own: Sequence[str] = (), min_spots: int = 0
) -> Lane:
    """Draw a lane between an origin and a front.

    Parameters
    ----------
    draw : callable
        Given by hypothesis, not by the caller.
    label : str
        Its label.
    origin, front : float
        Between which its spots lie; the front may be None. [mm]
    own : sequence of {"origin", "front"}, optional
        Those of the two that the lane has read itself.
    min_spots : int, optional
        Spots that it has at least.

    Returns
    -------
    strategy of Lane
    """
    names = draw(st.lists(labels(), unique=True, min_size=min_spots, max_size=3))
    read = {line: at for line, at in (("origin", origin), ("front", front)) if line in own and at is not None}
    return Lane(
        label=label,
        sample=draw(texts()),
        role=draw(st.sampled_from(get_args(Role))),
        origin=read.get("origin"),
        front=read.get("front"),
        u_origin=draw(uncertainties()) if "origin" in read else None,
        u_front=draw(uncertainties()) if "front" in read else None,
        spots=tuple(draw(spots(name, origin, front)) for name in names),
        traces=tuple(draw(st.lists(traces(), max_size=2, unique_by=lambda one: one.channel))),
        factors=draw(factors()),
        note=draw(texts()),
    )


@st.composite
def plates(draw: st.DrawFn, label: str, system: str = "water", min_spots: int = 0, shared: bool = False) -> Plate:
    """Draw a plate whose origin and front were read once, or lane by lane, or whose front was not seen.

    Parameters
    ----------
    draw : callable
        Given by hypothesis, not by the caller.
    label, system : str
        Its label, and the name of its solvent system.
    min_spots, shared
        As in `studies`.

    Returns
    -------
    strategy of Plate
    """
    zero = draw(st.sampled_from(get_args(Zero)))
    on_line = zero == "origin line"
    origin = 0.0 if on_line else draw(positions(-50.0, 50.0))
    front = draw(st.none() | positions(origin + 5.0, origin + 200.0))
    once = draw(st.sets(st.sampled_from(["origin", "front"])))
    read = {line: at for line, at in (("origin", origin), ("front", front)) if line in once and at is not None}
    made = []
    for name in draw(st.lists(labels(), unique=True, min_size=min(min_spots, 1), max_size=3)):
        own = {"origin", "front"} - once | draw(st.sets(st.sampled_from(["origin", "front"])))
        held = draw(positions(origin, origin + 2.0)) if "origin" in own and not on_line else origin
        top = front if "front" not in own or front is None else front + draw(st.floats(0.0, 3.0))
        made.append(draw(lanes(name, held, top, sorted(own), min_spots)))
    return Plate(
        label=label,
        system=system,
        sheet=draw(st.none() | sheets()),
        development=draw(developments()),
        reading=draw(readings(zero)),
        origin=read.get("origin"),
        front=read.get("front"),
        u_origin=draw(uncertainties()) if "origin" in read else None,
        u_front=draw(uncertainties()) if "front" in read else None,
        shared_errors=tuple(
            draw(st.lists(shared_errors(), max_size=2 if shared else 0, unique_by=lambda one: one.name))
        ),
        lanes=tuple(made),
        factors=draw(factors()),
        note=draw(texts()),
    )


def sheets() -> st.SearchStrategy[Sheet]:
    """Sheets and plates before anything was put on them."""
    size = st.none() | st.floats(1.0, 500.0)
    return st.builds(Sheet, stationary_phase=labels() | st.just(NOT_STATED), width=size, height=size)


def developments() -> st.SearchStrategy[Development]:
    """Developments."""
    return st.builds(
        Development,
        runs=st.integers(1, 5),
        temperature=st.none() | st.floats(-10.0, 60.0),
        saturated=st.none() | st.booleans(),
        minutes=st.none() | st.floats(0.5, 600.0),
        note=texts(),
    )


def readings(zero: Zero) -> st.SearchStrategy[Reading]:
    """Ways in which positions were read from a zero."""
    return st.builds(
        Reading,
        instrument=labels(),
        division=st.floats(0.01, 5.0),
        u=uncertainties(),
        noticeable=st.floats(0.0, 5.0),
        reader=texts(),
        zero=st.just(zero),
    )


def components() -> st.SearchStrategy[Component]:
    """Liquids by parts and salts by mass."""
    amount = st.floats(0.01, 1000.0)
    return st.builds(Component, substance=labels(), parts=amount) | st.builds(
        Component, substance=labels(), grams_per_litre=amount
    )


@st.composite
def systems(draw: st.DrawFn, name: str) -> SolventSystem:
    """Draw a solvent system of a given name, mixed or only named."""
    parts = draw(st.lists(components(), max_size=4, unique_by=lambda one: one.substance))
    if all(one.parts is None for one in parts):
        parts = []
    return SolventSystem(
        name=name, components=tuple(parts), phase=draw(st.sampled_from(get_args(Phase))), note=draw(texts())
    )


def inputs() -> st.SearchStrategy[Input]:
    """Files that readings came from."""
    return st.builds(
        Input,
        name=labels(),
        sha256=st.text("0123456789abcdef", min_size=64, max_size=64),
        size=st.integers(0, 1 << 40),
        format=labels(),
        options=st.dictionaries(texts(), texts(), max_size=2),
        unread=st.lists(texts(), max_size=2),
    )


@st.composite
def studies(draw: st.DrawFn, min_spots: int = 0, shared: bool = False) -> Study:
    """Draw a study with up to two plates of up to three lanes.

    Parameters
    ----------
    draw : callable
        Given by hypothesis, not by the caller.
    min_spots : int, optional
        Spots that each lane has at least; with 1 or more there is a plate with a lane at least.
    shared : bool, optional
        Whether plates may have errors that all their positions share; a marks table cannot be read back with them.

    Returns
    -------
    strategy of Study
    """
    used = draw(st.lists(labels(), unique=True, min_size=1, max_size=2))
    names = draw(st.lists(labels(), unique=True, min_size=min(min_spots, 1), max_size=2))
    made = [draw(plates(name, draw(st.sampled_from(used)), min_spots, shared)) for name in names]
    return Study(
        title=draw(texts()),
        question=draw(texts()),
        systems=tuple(draw(systems(name)) for name in used) if draw(st.booleans()) else (),
        plates=tuple(made),
        note=draw(texts()),
        inputs=tuple(draw(st.lists(inputs(), max_size=2))),
    )


def hostile_texts() -> st.SearchStrategy[str]:
    """Draw texts as labels bring them: any characters, halves of characters too, markup, formulas and the like."""
    known = st.sampled_from([*ACTING.values(), *FORMULAS.values(), *UNSEEN.values(), *PLAIN.values()])
    signs = st.text("|\\`*_[]<>&#;-+=:./ $@!(){}~^%\"'\n1a", max_size=14)
    return known | signs | st.text(st.characters(exclude_categories=()), max_size=14)


def numbers() -> st.SearchStrategy[str]:
    """Numbers as cells hold them: rounded, as text."""
    return st.decimals(-1000, 1000, places=3).map(str)


@st.composite
def tables(draw: st.DrawFn, cells: st.SearchStrategy[str] | None = None) -> Table:
    """Draw a table of up to six columns and four rows; columns of numbers hold numbers or nothing.

    Parameters
    ----------
    draw : callable
        Given by hypothesis, not by the caller.
    cells : strategy of str, optional
        What texts are drawn from; `hostile_texts` if left out.

    Returns
    -------
    strategy of Table
    """
    texts_of = hostile_texts() if cells is None else cells
    numeric = tuple(draw(st.lists(st.booleans(), min_size=1, max_size=6)))
    columns = [numbers() | st.just("") if one else texts_of for one in numeric]
    return Table(
        caption=draw(texts_of),
        header=tuple(draw(texts_of) for _ in numeric),
        rows=tuple(draw(st.lists(st.tuples(*columns), max_size=4))),
        numeric=numeric,
        key_columns=draw(st.integers(0, len(numeric))),
    )


@st.composite
def data_tables(draw: st.DrawFn, name: str) -> DataTable:
    """A table of unrounded numbers and texts, with gaps."""
    rows = draw(st.integers(0, 4))
    columns = []
    for title in draw(st.lists(st.from_regex(r"[a-z][a-z_]{0,8}", fullmatch=True), max_size=4, unique=True)):
        number = draw(st.booleans())
        value: st.SearchStrategy[str | float] = (
            st.floats(allow_nan=False, allow_infinity=False) if number else hostile_texts()
        )
        held = draw(st.lists(st.none() | value, min_size=rows, max_size=rows))
        columns.append(
            DataColumn(title, "number" if number else "text", "1" if number else "", draw(texts()), tuple(held))
        )
    return DataTable(name, draw(texts()), tuple(columns))


@st.composite
def reports(draw: st.DrawFn, texts_of: st.SearchStrategy[str] | None = None) -> Report:
    """Draw a report of up to three sections; its figures draw a small real picture in each kind.

    Parameters
    ----------
    draw : callable
        Given by hypothesis, not by the caller.
    texts_of : strategy of str, optional
        What texts and cells are drawn from; `hostile_texts` if left out.

    Returns
    -------
    strategy of Report
    """
    words = hostile_texts() if texts_of is None else texts_of
    figure_names = iter(range(1, 100))
    sections = []
    for _ in range(draw(st.integers(0, 3))):
        blocks: list[Block] = []
        for kind in draw(st.lists(st.sampled_from([Paragraph, Bullets, Table, Figure]), max_size=4)):
            if kind is Paragraph:
                blocks.append(Paragraph(draw(words)))
            elif kind is Bullets:
                blocks.append(Bullets(tuple(draw(st.lists(words, max_size=3)))))
            elif kind is Table:
                blocks.append(draw(tables(words)))
            else:
                said = tuple(draw(st.lists(words, max_size=3)))
                blocks.append(sheet_figure(f"plate-{next(figure_names)}", said))
        sections.append(Section(draw(words), tuple(blocks)))
    return Report(
        title=draw(words),
        summary=tuple(draw(st.lists(words, max_size=3))),
        sections=tuple(sections),
        data=tuple(draw(data_tables(name)) for name in ("marks", "spots")[: draw(st.integers(0, 2))]),
        date=draw(st.just("") | st.dates().map(str)),
    )

"""Random records for property tests, each one possible. All of them are invented."""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args

from hypothesis import strategies as st

from lanewise.model.plates import NOT_STATED, Development, Lane, Plate, Point, Reading, Role, Sheet, Spot, Zero
from lanewise.model.solvents import Component, Phase, SolventSystem
from lanewise.model.studies import Input, Study

FACTORS = ("bench", "day", "operator", "pen")


def texts(max_size: int = 12) -> st.SearchStrategy[str]:
    """Texts that a record can hold: no NUL, no half characters."""
    return st.text(st.characters(exclude_categories=("Cs",), exclude_characters="\0"), max_size=max_size)


def labels() -> st.SearchStrategy[str]:
    """Labels: texts with something to read in them."""
    return texts().filter(str.strip)


def positions(low: float, high: float) -> st.SearchStrategy[float]:
    """Positions on a sheet. [mm]"""
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def uncertainties() -> st.SearchStrategy[float | None]:
    """Standard uncertainties, or none. [mm]"""
    return st.none() | st.floats(0.0, 5.0)


def factors() -> st.SearchStrategy[dict[str, str]]:
    """Factors of a plate, a lane or a spot."""
    return st.dictionaries(st.sampled_from(FACTORS), labels(), max_size=2)


@st.composite
def spots(draw: st.DrawFn, label: str, origin: float, front: float | None) -> Spot:
    """A spot whose marks lie between the origin and the front."""
    top = origin + 100.0 if front is None else front
    marks = sorted(draw(st.lists(positions(origin, top), min_size=3, max_size=3)))
    trailing, centre, leading = (draw(st.none() | st.just(mark)) for mark in marks)
    state = draw(st.sampled_from(["measured", "at origin", "with front", "streak", "unread", "absent"]))
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
        factors=draw(factors()),
        note=draw(texts()),
    )


@st.composite
def lanes(
    draw: st.DrawFn, label: str, origin: float, front: float | None, own: Sequence[str] = (), min_spots: int = 0
) -> Lane:
    """A lane between an origin and a front; `own` names those of the two that it has read itself."""
    names = draw(st.lists(labels(), unique=True, min_size=min_spots, max_size=3))
    read = {line: at for line, at in (("origin", origin), ("front", front)) if line in own and at is not None}
    return Lane(
        label=label,
        sample=draw(texts()),
        role=draw(st.sampled_from(get_args(Role))),
        **read,
        **{f"u_{line}": draw(uncertainties()) for line in read},
        spots=[draw(spots(name, origin, front)) for name in names],
        factors=draw(factors()),
        note=draw(texts()),
    )


@st.composite
def plates(draw: st.DrawFn, label: str, system: str = "water", min_spots: int = 0) -> Plate:
    """A plate whose origin and front were read once, or lane by lane, or whose front was not seen."""
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
        **read,
        **{f"u_{line}": draw(uncertainties()) for line in read},
        lanes=made,
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
    """A solvent system, mixed or only named."""
    parts = draw(st.lists(components(), max_size=4, unique_by=lambda one: one.substance))
    if all(one.parts is None for one in parts):
        parts = []
    return SolventSystem(name=name, components=parts, phase=draw(st.sampled_from(get_args(Phase))), note=draw(texts()))


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
def studies(draw: st.DrawFn, min_spots: int = 0) -> Study:
    """A study with some plates; with `min_spots`, every lane has so many spots at least."""
    used = draw(st.lists(labels(), unique=True, min_size=1, max_size=2))
    names = draw(st.lists(labels(), unique=True, min_size=min(min_spots, 1), max_size=2))
    made = [draw(plates(name, draw(st.sampled_from(used)), min_spots)) for name in names]
    return Study(
        title=draw(texts()),
        question=draw(texts()),
        systems=[draw(systems(name)) for name in used] if draw(st.booleans()) else (),
        plates=made,
        note=draw(texts()),
        inputs=draw(st.lists(inputs(), max_size=2)),
    )

"""Where everything goes on the page of a printed sheet, worked out before anything is drawn.

The sheet itself is never scaled: it fits the page at full size, or it is refused with the largest that does.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor
from typing import Literal, TypeAlias

from lanewise.errors import PlanError
from lanewise.figures.lettering import STAND_IN, line_height, printable, shorten, spread, text_width, wrap
from lanewise.figures.look import SMALL, TEXT, TITLE
from lanewise.figures.words import millimetres
from lanewise.planning.plans import Plan, PlannedLane

Page: TypeAlias = Literal["A4", "Letter", "A3"]
Kind: TypeAlias = Literal["guide", "outline"]

PAGES: dict[str, tuple[float, float]] = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4), "A3": (297.0, 420.0)}
"""Width and height of an upright page: ISO 216 (from memory) and 8.5 in by 11 in. [mm]"""

KINDS: tuple[Kind, ...] = ("guide", "outline")

MARGIN = 7.0  # printers leave an edge blank (common practice, no source)
LEFT, RIGHT = 18.0, 25.0  # room beside the sheet: check bar and scale; scale and names of the lines
ABOVE, BELOW = 7.0, 9.0  # room for the pointers at the lanes
GAP, TICKS = 1.0, (1.5, 2.5, 4.0)  # from the sheet to the scale; lengths of ticks of 1, 5 and 10 mm
BAR, BAR_END, BAR_AT = 100.0, 2.0, -13.0
KEY_ROW, KEY_SYMBOL, KEY_COLUMN = 4.0, 5.0, 48.0

MARK_CENTRES = ((3.0, 3.0), (7.0, 3.0), (3.0, 7.0))
MARK_SIZE = 2.0
MARK_ROOM = 12.0
"""The orientation mark: three discs of four, from the lower left corner of the sheet; this corner is kept bare. [mm]"""

ROLE_WORDS = {"sample": "circle: sample", "standard": "square: standard", "blank": "triangle: blank"}


@dataclass(frozen=True, slots=True)
class LineLabel:
    """A line across the sheet and its name beside it.

    Attributes
    ----------
    name : str
        Which line: ``origin``, ``front-target``, ``liquid``.
    y : float
        Height above the lower edge of the sheet. [mm]
    words : tuple of str
        Lines of its name.
    middle : float
        Height at which the name stands. [mm]
    """

    name: str
    y: float
    words: tuple[str, ...]
    middle: float


@dataclass(frozen=True, slots=True)
class SheetLayout:
    """Everything that is drawn, and where.

    Attributes
    ----------
    plan : Plan
        What is drawn.
    kind : {"guide", "outline"}
    width, height : float
        Size of the page as it lies. [mm]
    left, bottom : float
        Lower left corner of the sheet on the page. [mm]
    title : str
    subtitle, notes : tuple of str
        Lines of text.
    lines : tuple of LineLabel
    key : tuple of (PlannedLane, str)
        Each lane with its name.
    columns : int
        Columns of the key.
    """

    plan: Plan
    kind: Kind
    width: float
    height: float
    left: float
    bottom: float
    title: str
    subtitle: tuple[str, ...]
    notes: tuple[str, ...]
    lines: tuple[LineLabel, ...]
    key: tuple[tuple[PlannedLane, str], ...]
    columns: int

    @property
    def marked(self) -> bool:
        """Whether the sheet is large enough to carry the orientation mark."""
        return self.plan.wanted.width >= 2 * MARK_ROOM and self.plan.wanted.height >= 2 * MARK_ROOM


@dataclass(frozen=True, slots=True)
class _Frame:
    """Texts about a sheet on a page that lies one way, and the room that they leave for it. [mm]."""

    width: float
    height: float
    title: str
    subtitle: tuple[str, ...]
    notes: tuple[str, ...]
    key: tuple[tuple[PlannedLane, str], ...]
    columns: int

    @property
    def foot(self) -> float:
        rows = ceil(len(self.key) / self.columns)
        return MARGIN + len(self.notes) * line_height(SMALL) + 2.0 + rows * KEY_ROW + 1.0 + BELOW

    @property
    def head(self) -> float:
        return MARGIN + line_height(TITLE) + len(self.subtitle) * line_height(TEXT) + ABOVE

    @property
    def room(self) -> tuple[float, float]:
        """Width and height of the largest sheet; 0 where not even the check bar fits."""
        width, height = self.width - 2 * MARGIN - LEFT - RIGHT, self.height - self.head - self.foot
        return (max(0.0, width), height) if height >= BAR else (0.0, 0.0)


def check_page(page: str, kind: str) -> None:
    """Refuse a page or a kind of sheet that there is not."""
    if page not in PAGES:
        raise PlanError(f"printed sheet, page: wanted one of {', '.join(PAGES)}, given {page!r}. Correct it.")
    if kind not in KINDS:
        raise PlanError(f"printed sheet, kind: wanted one of {', '.join(KINDS)}, given {kind!r}. Correct it.")


def lay_out_sheet(plan: Plan, page: Page = "A4", kind: Kind = "guide") -> SheetLayout:
    """Place a sheet on a page, upright where it fits so, else lying.

    Raises
    ------
    PlanError
        If page or kind is unknown, or the sheet does not fit at full size.
    """
    check_page(page, kind)
    frames = _frames(plan, page, kind)
    frame = next((one for one in frames if _fits(plan, one)), None)
    if frame is None:
        raise _too_large(plan, page, kind, frames)
    wanted = plan.wanted
    free = frame.width - 2 * MARGIN - LEFT - RIGHT - wanted.width
    return SheetLayout(
        plan=plan,
        kind=kind,
        width=frame.width,
        height=frame.height,
        left=MARGIN + LEFT + floor(free / 2),
        bottom=frame.height - frame.head - max(wanted.height, BAR),
        title=frame.title,
        subtitle=frame.subtitle,
        notes=frame.notes,
        lines=_lines(plan),
        key=frame.key,
        columns=frame.columns,
    )


def _fits(plan: Plan, frame: _Frame) -> bool:
    width, height = frame.room
    return plan.wanted.width <= width and plan.wanted.height <= height


def _frames(plan: Plan, page: str, kind: Kind) -> tuple[_Frame, _Frame]:
    short, long = PAGES[page]
    return _frame(plan, kind, short, long), _frame(plan, kind, long, short)


def _frame(plan: Plan, kind: Kind, width: float, height: float) -> _Frame:
    wanted, inner = plan.wanted, width - 2 * MARGIN
    columns = max(1, floor(inner / KEY_COLUMN))
    room = inner / columns - KEY_SYMBOL - 1.0
    key = tuple((lane, shorten(_lane_words(lane), room, TEXT)) for lane in plan.lanes)
    about = [f"Sheet {millimetres(wanted.width)} mm wide, {millimetres(wanted.height)} mm high, {way_words(plan)}"]
    about += [text for text in (wanted.system, wanted.stationary_phase) if text != "not stated"]
    if plan.volume is not None:
        about.append(f"liquid {millimetres(plan.levels.depth)} mm deep, {plan.volume:.0f} mL")
    about.append("order as given" if wanted.seed is None else f"order drawn with seed {wanted.seed}")
    title = f"Plate {wanted.plate}" + (f": {wanted.title}" if wanted.title else "")
    return _Frame(
        width=width,
        height=height,
        title=shorten(printable(title), inner, TITLE, "bold"),
        subtitle=wrap(printable("; ".join(about)), inner, TEXT, most=2),
        notes=tuple(line for note in _notes(plan, kind) for line in wrap(note, inner, SMALL)),
        key=key,
        columns=columns,
    )


def way_words(plan: Plan) -> str:
    """Say how the sheet stands.

    Examples
    --------
    >>> from lanewise.planning.plans import plan
    >>> way_words(plan(["U"], width=80, height=80, standing="folded"))
    'folded into 2 panels'
    """
    wanted = plan.wanted
    return f"folded into {wanted.panels} panels" if plan.folds else wanted.standing


def _lane_words(lane: PlannedLane) -> str:
    name = printable(lane.sample)
    words = f"{lane.label}  {name}" + (f" ({lane.role})" if lane.role == "standard" else "")
    return f"{words}, no. {lane.replicate}" if lane.replicate > 1 else words


def _notes(plan: Plan, kind: Kind) -> list[str]:
    wanted = plan.wanted
    roles = [ROLE_WORDS[role] for role in ROLE_WORDS if any(lane.role == role for lane in plan.lanes)]
    notes = [
        f"Key to the lanes: {'; '.join(roles)}.",
        "Print at 100 %, not fitted to the page. Measure the check bar: where it is not 100 mm, lengths read on the "
        "printed scale are corrected by it; Rf does not depend on it.",
    ]
    if kind == "guide":
        notes.append("Lay this page under the sheet, edge on edge; draw the origin line and the lane marks in pencil.")
    else:
        notes.append("Lay the sheet on the outline, or cut along it; draw between the pointers in pencil.")
    if plan.folds:
        notes.append("Fold along the dotted lines, in turn to one side and the other.")
    if wanted.standing == "rolled":
        notes.append(f"Roll it so that the ends stay {wanted.distances.seam:g} mm apart, and clip it at the top.")
    notes.append("Solvents burn and their vapours harm: local rules and the supplier's safety data sheets decide.")
    if STAND_IN in "".join(_lane_words(lane) for lane in plan.lanes):
        notes.append(f"{STAND_IN} stands for a sign that this font lacks.")
    return notes


def _lines(plan: Plan) -> tuple[LineLabel, ...]:
    """Name the lines from the lowest up, the names moved apart where lines are close."""
    levels = plan.levels
    lines = [("liquid", "liquid", levels.depth), ("origin", "origin", levels.origin)]
    lines.append(("front-target", "front target", levels.front))
    pitch = line_height(SMALL)
    heights = [2 * pitch + 0.6] * len(lines)
    ends = (-BELOW, plan.wanted.height + ABOVE)
    middles: Sequence[float] = spread([y for *_, y in lines], heights, *ends) or [y for *_, y in lines]
    return tuple(
        LineLabel(name, y, (words, f"{millimetres(y)} mm"), middle)
        for (name, words, y), middle in zip(lines, middles, strict=True)
    )


def label_fits(lane: PlannedLane, pitch: float) -> bool:
    """Tell whether the label of a lane is narrower than the lanes are apart."""
    return text_width(lane.label, TEXT, "bold") + 0.6 <= pitch


def _too_large(plan: Plan, page: str, kind: Kind, frames: Sequence[_Frame]) -> PlanError:
    wanted = plan.wanted
    ways = [
        f"{floor(one.room[0])} mm by {floor(one.room[1])} mm on a page that {way}"
        for one, way in zip(frames, ("stands", "lies"), strict=True)
        if one.room[0] > 0
    ]
    larger = [name for name in PAGES if any(_fits(plan, one) for one in _frames(plan, name, kind))]
    todo = f"Print on {larger[0]}" if larger else "Draw it with a ruler from the lane positions"
    return PlanError(
        f"printed sheet: wanted a sheet of at most {' or '.join(ways) or 'nothing'} at full size on {page}, given "
        f"{millimetres(wanted.width)} mm by {millimetres(wanted.height)} mm. {todo}, or plan a smaller one."
    )

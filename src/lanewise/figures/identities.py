"""Which spot is consistent with which dye: one row a spot, one column a candidate, the probability in each cell."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial

from matplotlib.axes import Axes
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import FancyBboxPatch, Rectangle

from lanewise.analyses.answers import EXCLUDED
from lanewise.analyses.identify import Identification
from lanewise.analyses.identity_words import chance_text
from lanewise.document import Figure
from lanewise.errors import AnalysisError
from lanewise.figures.lettering import printable, shorten, text_width
from lanewise.figures.look import (
    BAND,
    FAINT,
    INK,
    PAGE_WIDTH,
    PENCIL,
    SMALL,
    SYSTEM_COLOURS,
    TEXT,
    add_area,
    as_document_figure,
    spot_fill,
    write,
)

MOST = 9  # columns of candidates
SAMPLES, SPOTS, EDGE = 36.0, 34.0, 1.0  # widths, mm
ROW, GAP, HEAD, MOST_HEAD, LEGEND = 5.4, 1.2, 5.0, 34.0, 14.0  # heights, mm
BOX = (10.4, 3.9)
CLAIMED, NEITHER = SYSTEM_COLOURS[0], PENCIL
NONE = "none of these"


@dataclass(frozen=True, slots=True)
class _Row:
    sample: str
    spot: str
    colour: str
    chances: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class _Matrix:
    """What is drawn: rows in order, columns with `NONE` last, the probability of a claim, candidates left out."""

    rows: tuple[_Row, ...]
    columns: tuple[str, ...]
    claim: float
    left_out: int


def identities_figure(found: Identification, name: str) -> Figure:
    """Draw which spot is consistent with which dye.

    Parameters
    ----------
    found : Identification
        From `lanewise.identify`.
    name : str
        Short ASCII name of the figure, used for file names.

    Returns
    -------
    Figure
        A filled box is a claim, an outlined one is open, a dot is excluded; each box says its probability. Candidates
        that every spot excludes are left out and counted, and of the rest the nine most probable are drawn.

    Raises
    ------
    AnalysisError
        If there is no spot.
    """
    if not len(found.spots):
        raise AnalysisError(f"figure {name!r}: wanted at least one spot, given none")
    matrix = _matrix(found)
    samples = len({row.sample for row in matrix.rows})
    gaps = GAP * (samples - 1)
    size = (PAGE_WIDTH, _head(matrix.columns) + ROW * len(matrix.rows) + gaps + LEGEND)
    caption = f"Which spots of {samples} {'sample' if samples == 1 else 'samples'} are consistent with which dye."
    return as_document_figure(name, caption, _describe(found, matrix), size, partial(paint_identities, matrix=matrix))


def _matrix(found: Identification) -> _Matrix:
    best = found.candidates.groupby("candidate", sort=False)["probability"].max()
    drawn = [dye for dye in found.dyes if float(best[dye]) > EXCLUDED]
    drawn = [dye for dye in drawn if dye in set(sorted(drawn, key=lambda dye: -float(best[dye]))[:MOST])]
    chances = found.candidates["probability"].to_numpy(dtype=float).reshape(len(found.spots), len(found.dyes))
    places = [found.dyes.index(dye) for dye in drawn]
    rows = tuple(
        _Row(
            str(row["sample"]),
            " in ".join(part for part in (str(row["spot"]), str(row["system"])) if part),
            str(row["colour"]),
            (*(float(chances[number, place]) for place in places), float(row["none"])),
        )
        for number, row in enumerate(found.spots.to_dict("records"))
    )
    return _Matrix(rows, (*drawn, NONE), found.claim, len(found.dyes) - len(drawn))


def _describe(found: Identification, matrix: _Matrix) -> tuple[str, ...]:
    sentences = [
        f"Each box gives the probability that a spot is the dye of its column; {matrix.claim:g} and more is a claim."
    ]
    for row in matrix.rows:
        said = [
            f"{column} {chance_text(chance)}"
            for column, chance in zip(matrix.columns, row.chances, strict=True)
            if chance > EXCLUDED
        ]
        head = ", ".join(part for part in (row.sample, row.spot) if part)
        sentences.append(f"{head}: {', '.join(said)}; the rest is excluded.")
    if matrix.left_out:
        sentences.append(f"{matrix.left_out} of {len(found.dyes)} candidates are not drawn.")
    return tuple(sentences)


def paint_identities(figure: Canvas, matrix: _Matrix) -> None:
    """Draw the whole picture on an empty figure of its size."""
    height = float(figure.get_size_inches()[1]) * 25.4
    page = add_area(figure, 0, 0, PAGE_WIDTH, height)
    step, head, upright = _step(matrix.columns), _head(matrix.columns), _upright(matrix.columns)
    left = SAMPLES + SPOTS
    last = Rectangle(
        (left + step * (len(matrix.columns) - 1), LEGEND),
        step,
        height - LEGEND,
        facecolor=BAND,
        edgecolor="none",
        zorder=0,
    )
    page.add_patch(last)
    for place, column in enumerate(matrix.columns):
        _paint_heading(page, left + (place + 0.5) * step, height - head, column, upright)
    y, before = height - head, ""
    for row in matrix.rows:
        if row.sample != before:
            y -= GAP if before else 0.0
            page.plot([EDGE, PAGE_WIDTH - EDGE], [y + GAP / 2 * bool(before)] * 2, color=FAINT, linewidth=0.6)
            write(page, EDGE, y - ROW / 2, shorten(printable(row.sample), SAMPLES - 2.0, TEXT, "bold"), style="bold")
            before = row.sample
        _paint_row(page, row, y - ROW / 2, left, step, matrix.claim)
        y -= ROW
    page.plot([EDGE, PAGE_WIDTH - EDGE], [y, y], color=PENCIL, linewidth=0.6)
    _paint_legend(page, matrix)


def _step(columns: tuple[str, ...]) -> float:
    return (PAGE_WIDTH - EDGE - SAMPLES - SPOTS) / len(columns)


def _upright(columns: tuple[str, ...]) -> bool:
    """Whether a heading is too wide for its column, so that all of them are written upwards."""
    return max(text_width(printable(column), SMALL, "bold") for column in columns) > _step(columns) - 1.0


def _head(columns: tuple[str, ...]) -> float:
    """Height of the headings. [mm]."""
    widest = max(text_width(printable(column), SMALL, "bold") for column in columns)
    return min(MOST_HEAD, widest + 3.0) if _upright(columns) else HEAD


def _paint_heading(page: Axes, x: float, y: float, column: str, upright: bool) -> None:
    if upright:
        text = shorten(printable(column), MOST_HEAD - 2.0, SMALL, "bold")
        write(page, x, y + 1.5, text, size=SMALL, style="bold", ha="center", va="bottom", rotation=90)
    else:
        write(page, x, y + 2.2, printable(column), size=SMALL, style="bold", ha="center")


def _paint_row(page: Axes, row: _Row, y: float, left: float, step: float, claim: float) -> None:
    x = SAMPLES
    if row.colour:
        fill, hatch = spot_fill(row.colour)
        swatch = Rectangle((x, y - 1.1), 2.6, 2.2, facecolor=fill, edgecolor=INK, linewidth=0.5, hatch=hatch or None)
        page.add_patch(swatch)
    words = row.spot or row.colour or "the only spot"
    write(page, x + 3.8, y, shorten(printable(words), SPOTS - 5.0, SMALL), size=SMALL, va="center_baseline")
    for place, chance in enumerate(row.chances):
        none = place == len(row.chances) - 1
        paint_box(page, left + (place + 0.5) * step, y, chance, claim, none=none, room=step)


def paint_box(page: Axes, x: float, y: float, chance: float, claim: float, *, none: bool, room: float = 99.0) -> None:
    """Draw one probability: a filled box for a claim, an outlined one if open, a dot if excluded."""
    if chance <= EXCLUDED:
        page.plot([x], [y], marker="o", markersize=1.6, color=PENCIL, linestyle="none")
        return
    claimed = chance >= claim
    colour = NEITHER if none else CLAIMED
    width, height = min(BOX[0], room - 1.0), BOX[1]
    box = FancyBboxPatch(
        (x - width / 2 + 0.6, y - height / 2 + 0.6), width - 1.2, height - 1.2, boxstyle="round,pad=0.6",
        facecolor=colour if claimed else "#ffffff", edgecolor=colour, linewidth=0.9,
    )  # fmt: skip
    page.add_patch(box)
    text = chance_text(chance).replace("above ", ">").replace("below ", "<")
    write(
        page, x, y, text, size=SMALL, style="bold" if claimed else "regular", ha="center", va="center_baseline",
        color="#ffffff" if claimed else INK,
    )  # fmt: skip


def _paint_legend(page: Axes, matrix: _Matrix) -> None:
    x = EDGE + BOX[0] / 2
    shown = max(matrix.claim, 0.95)
    paint_box(page, x, LEGEND - 4.2, shown, matrix.claim, none=False)
    write(page, x + 7.0, LEGEND - 4.2, f"claim: probability {matrix.claim:g} or more", size=SMALL, va="center_baseline")
    paint_box(page, x + 62.0, LEGEND - 4.2, 0.3, matrix.claim, none=False)
    write(page, x + 69.0, LEGEND - 4.2, "open", size=SMALL, va="center_baseline")
    paint_box(page, x + 88.0, LEGEND - 4.2, 0.0, matrix.claim, none=False)
    write(page, x + 91.0, LEGEND - 4.2, f"excluded: {EXCLUDED:g} or less", size=SMALL, va="center_baseline")
    note = "A spot that is consistent with a dye is not proved to be that dye."
    if matrix.left_out:
        note = f"{matrix.left_out} candidates are not drawn, the less probable ones. {note}"
    write(page, EDGE, LEGEND - 10.4, note, size=SMALL, color=PENCIL)

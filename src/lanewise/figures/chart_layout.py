"""Where everything goes in the picture of Rf by dye and system, worked out before anything is drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from lanewise.figures.lettering import STAND_IN, STAND_IN_NOTE, line_height, printable, wrap
from lanewise.figures.look import PAGE_HEIGHT, PAGE_WIDTH, SMALL, TEXT
from lanewise.figures.seen import SpotSeen
from lanewise.tables.columns import NOT_STATED

SAMPLES, DYES, RIGHT = 32.0, 21.0, 17.5  # widths: names of samples, of dyes, what could not be drawn
HEAD, AXIS = 5.0, 9.0
MARK_STEP, ROW_PADDING, LEAST_ROW = 1.45, 2.4, 5.4
MOST_PLATES = 8  # more are not listed one by one
DRAWN_STATES = ("measured", "streak", "at origin", "with front")


@dataclass(frozen=True, slots=True)
class Row:
    """One dye of one sample: the marks that belong together.

    Attributes
    ----------
    sample, role, dye, colour : str
        What stands at the left, and the word from which its swatch is filled.
    drawn : tuple of SpotSeen
        Those with a value or a bound, by system and then plate.
    left_out : tuple of str
        What was seen or looked for and has no value, in words.
    """

    sample: str
    role: str
    dye: str
    colour: str
    drawn: tuple[SpotSeen, ...]
    left_out: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ChartLayout:
    """Everything that is drawn, and where; sizes in millimetres of paper.

    Attributes
    ----------
    rows : tuple of Row
        From top to bottom.
    heights : tuple of float
        Their heights.
    systems, plates : tuple of str
        In order of appearance: the number of a system chooses its marker, that of a plate its place in a row.
    names : tuple of tuples of str
        Name of the sample of each row, in lines; empty where the row above has the same sample.
    legend : tuple of pairs
        Kind (number of a system, or ``interval``, ``bound``, ``streak``, ``band``) and lines of text.
    notes : tuple of str
        Lines at the foot.
    width, height : float
        Size of the picture.
    """

    rows: tuple[Row, ...]
    heights: tuple[float, ...]
    systems: tuple[str, ...]
    plates: tuple[str, ...]
    names: tuple[tuple[str, ...], ...]
    legend: tuple[tuple[str | int, tuple[str, ...]], ...]
    notes: tuple[str, ...]
    width: float
    height: float


def chart_rows(spots: Sequence[SpotSeen]) -> tuple[Row, ...]:
    """Gather spots by sample and dye, in order of appearance.

    A dye is known by its colour word within its sample. Where two spots of one lane share a word, or have none, the
    name of the spot tells them apart; whether spot 2 is the same dye on another plate is then for the reader to judge.
    """
    repeated = Counter((spot.plate, spot.system, spot.lane, spot.colour) for spot in spots)
    doubtful = {
        (spot.name, spot.colour) for spot in spots if repeated[spot.plate, spot.system, spot.lane, spot.colour] > 1
    }
    systems = list(dict.fromkeys(spot.system for spot in spots))
    groups: dict[str, dict[str, list[SpotSeen]]] = {}
    for spot in spots:
        dye = spot.colour
        if not dye or (spot.name, spot.colour) in doubtful:
            dye = ", ".join(part for part in (spot.colour, f"spot {spot.spot}" if spot.spot else "") if part)
        if spot.state == "absent" and not spot.colour:
            dye = ""
        groups.setdefault(spot.name, {}).setdefault(dye, []).append(spot)
    rows = []
    for sample, dyes in groups.items():
        if len(dyes) > 1:
            dyes.pop("", None)  # nothing found and nothing named, beside dyes that were found
        for dye, group in dyes.items():
            group.sort(key=lambda spot: systems.index(spot.system))
            drawn = tuple(spot for spot in group if is_drawn(spot))
            others = Counter("not found" if s.state == "absent" else "no Rf" for s in group if not is_drawn(s))
            left_out = tuple(f"{word}: {count}" for word, count in others.items())
            rows.append(Row(sample, group[0].role, dye or "no spot", group[0].colour, drawn, left_out))
    return tuple(rows)


def is_drawn(spot: SpotSeen) -> bool:
    """Tell whether a spot has a value or a bound to draw."""
    if spot.state == "at origin":
        return spot.high is not None
    if spot.state == "with front":
        return spot.low is not None
    return spot.state in DRAWN_STATES and spot.rf is not None


def lay_out_chart(spots: Sequence[SpotSeen], level: float | None) -> ChartLayout:
    """Choose rows, heights and texts."""
    rows = chart_rows(spots)
    systems = tuple(dict.fromkeys(spot.system for spot in spots))
    plates = tuple(dict.fromkeys(spot.plate for spot in spots))
    names = _names(rows)
    legend = _legend(rows, systems, level)
    notes = _notes(rows, plates, systems)
    legend_height = sum(legend_entry_height(lines) for _, lines in legend)
    frame = HEAD + AXIS + 3.0 + legend_height + len(notes) * line_height(SMALL) + 3.0
    heights = _heights(rows, names, PAGE_HEIGHT - frame)
    return ChartLayout(
        rows=rows,
        heights=tuple(heights),
        systems=systems,
        plates=plates,
        names=names,
        legend=legend,
        notes=notes,
        width=PAGE_WIDTH,
        height=frame + sum(heights),
    )


def _heights(rows: Sequence[Row], names: Sequence[tuple[str, ...]], room: float) -> list[float]:
    """Give every mark its own line where that fits the page, else let marks of a row overlap."""
    wished = [len(row.drawn) * MARK_STEP + ROW_PADDING for row in rows]
    least = [LEAST_ROW] * len(rows)
    for number, lines in enumerate(names):  # a long name needs the rows of its sample
        if lines:
            end = next((n for n in range(number + 1, len(rows)) if names[n]), len(rows))
            least[number] = max(LEAST_ROW, len(lines) * line_height(TEXT) + 2.0 - LEAST_ROW * (end - number - 1))
    share = 1.0
    for _ in range(20):
        heights = [max(low, share * height) for low, height in zip(least, wished, strict=True)]
        if sum(heights) <= room:
            break
        share *= 0.98 * room / sum(heights)
    return heights


def legend_entry_height(lines: Sequence[str]) -> float:
    """Height of one entry of the legend. [mm]."""
    return max(4.2, len(lines) * line_height(SMALL) + 1.0)


def _names(rows: Sequence[Row]) -> tuple[tuple[str, ...], ...]:
    names: list[tuple[str, ...]] = []
    for number, row in enumerate(rows):
        if number and rows[number - 1].sample == row.sample:
            names.append(())
            continue
        role = f" ({row.role})" if row.role in ("standard", "blank") and row.role != row.sample else ""
        names.append(wrap(printable(row.sample + role), SAMPLES - 2.5, TEXT, "bold", most=3))
    return tuple(names)


def _legend(
    rows: Sequence[Row], systems: Sequence[str], level: float | None
) -> tuple[tuple[str | int, tuple[str, ...]], ...]:
    drawn = [spot for row in rows for spot in row.drawn]
    share = f"{100 * level:g} % " if level is not None else ""
    texts: list[tuple[str | int, str]] = list(enumerate(printable(system) or NOT_STATED for system in systems))
    if any(spot.state == "measured" for spot in drawn):
        texts.append(("interval", f"marker: Rf; bar: its {share}coverage interval, where wider than the marker"))
    if any(spot.state == "streak" for spot in drawn):
        texts.append(
            ("streak", "streak, from its rear edge to its front edge; white marker: Rf of its darkest point or middle")
        )
    if any(spot.state in ("at origin", "with front") for spot in drawn):
        texts.append(
            (
                "bound",
                "stayed at the origin or ran with the front: no value, Rf lies beyond the white marker, on the arrow",
            )
        )
    texts.append(("band", "Rf 0.1 to 0.9: outside it a value is weak evidence (common practice)"))
    return tuple((kind, wrap(text, PAGE_WIDTH - 16, SMALL, most=2)) for kind, text in texts)


def _notes(rows: Sequence[Row], plates: Sequence[str], systems: Sequence[str]) -> tuple[str, ...]:
    notes = []
    if len(plates) > 1:
        order = ", ".join(map(printable, plates)) if len(plates) <= MOST_PLATES else f"{len(plates)} in table order"
        notes.append(f"Within a row, from top to bottom: by system, then one line for each spot by plate ({order}).")
    if any(row.left_out for row in rows):
        notes.append(
            "At the right: how many spots of the row were looked for and not found, or were seen and have no Rf."
        )
    if STAND_IN in "".join(map(printable, (*plates, *systems, *(row.sample + row.dye for row in rows)))):
        notes.append(STAND_IN_NOTE)
    return tuple(line for note in notes for line in wrap(note, PAGE_WIDTH - 2, SMALL, most=4))

"""A plate as it was seen, true to scale, with its description lane by lane."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import pandas as pd

from lanewise.analyses.wording import counted
from lanewise.document import Figure
from lanewise.errors import AnalysisError
from lanewise.figures.look import as_document_figure, plain_settings
from lanewise.figures.plate_drawing import paint_plate
from lanewise.figures.plate_layout import lay_out, scale_words, uneven
from lanewise.figures.seen import LaneSeen, SpotSeen, lanes_seen, spots_seen
from lanewise.figures.words import millimetres, place_words, rf_words
from lanewise.tables.columns import NOT_STATED


def plate_figure(marks: pd.DataFrame, spots: pd.DataFrame, name: str) -> Figure:
    """Draw one plate as it was seen.

    Parameters
    ----------
    marks : DataFrame
        N rows of one plate, columns ``MARKS`` and ``CONTEXT`` of `lanewise.tables.columns`. [mm]
    spots : DataFrame
        N rows with the same index, columns ``SPOTS``.
    name : str
        Short ASCII name of the figure, used for file names.

    Returns
    -------
    Figure
        True to scale (1 mm on paper is 1 mm along the run) where that fits 170 mm by 240 mm, otherwise at the
        scale stated in it. Lanes stand in order of appearance, 12 mm apart on paper, since their places were not
        read. Each spot is drawn from its trailing to its leading edge; a spot at the origin or with the front has a
        symbol on that line; a streak tapers from its darkest point; a spot seen but not measured is a dashed outline;
        one not found is not drawn.

    Raises
    ------
    AnalysisError
        If there is no row, rows of several plates, or marks and spots do not belong together.

    Examples
    --------
    >>> import pandas as pd
    >>> marks = pd.DataFrame({"plate": ["1"], "system": ["water"], "lane": ["A"], "sample": ["blue pen"],
    ...     "role": ["sample"], "spot": ["1"], "origin_mm": [10.0], "front_mm": [70.0], "centre_mm": [40.0],
    ...     "state": ["measured"], "colour": ["blue"]})
    >>> spots = pd.DataFrame({"rf": [0.5], "u_rf": [0.006], "rf_low": [0.488], "rf_high": [0.512]})
    >>> figure = plate_figure(marks, spots, "plate-1")
    >>> figure.description[-1]
    'Lane A, blue pen, spot 1, blue: centre at 40 mm, Rf 0.500 ± 0.006.'
    >>> figure.draw("svg")[:5]
    b'<?xml'
    """
    rows = spots_seen(marks, spots)
    plates = list(dict.fromkeys(row.plate for row in rows))
    if len(plates) != 1:
        given = "no row" if not plates else f"rows of {len(plates)} plates: {', '.join(map(repr, plates[:5]))}"
        raise AnalysisError(f"figure {name!r}: wanted the rows of one plate, given {given}")
    lanes = lanes_seen(rows)
    with plain_settings():
        layout = lay_out(plates[0], _several(rows, "system"), _several(rows, "layer"), lanes)
    scale = scale_words(layout.scale)
    caption = f"Plate {plates[0]} as it was seen. {scale}"
    size = (layout.width, layout.height)
    return as_document_figure(name, caption, _describe(rows, lanes), size, partial(paint_plate, layout=layout))


def _several(rows: Sequence[SpotSeen], what: str) -> str:
    return "; ".join(dict.fromkeys(text for row in rows if (text := getattr(row, what))))


def _describe(rows: Sequence[SpotSeen], lanes: Sequence[LaneSeen]) -> tuple[str, ...]:
    """Say what the picture shows: the plate, its lines, then the lanes in order, each from the origin to the front."""
    system, layer = _several(rows, "system"), _several(rows, "layer")
    head = f"Plate {rows[0].plate}, {counted(len(lanes), 'lane')}"
    head += f", developed in {system}" if system not in ("", NOT_STATED) else ", solvent system not stated"
    head += f" on {layer}" if layer else ""
    sentences = [f"{head}.", _line_words(lanes, "origin"), _line_words(lanes, "front")]
    for lane in lanes:
        sentences.extend(_lane_words(lane, [line for line in ("origin", "front") if uneven(lanes, line)]))
    return tuple(sentences)


def _line_words(lanes: Sequence[LaneSeen], line: str) -> str:
    title = "origin line" if line == "origin" else "solvent front"
    values = sorted({value for lane in lanes if (value := getattr(lane, line)) is not None})
    if not values:
        return f"The {title} was not read."
    missing = [lane.label for lane in lanes if getattr(lane, line) is None]
    but = f"; it was not read in {'lane' if len(missing) == 1 else 'lanes'} {', '.join(missing)}" if missing else ""
    if len(values) == 1:
        return f"The {title} lies at {millimetres(values[0])} mm{but}."
    between = f"between {millimetres(values[0])} and {millimetres(values[-1])} mm"
    return f"The {title} differs by lane, {between}{but}."


def _lane_words(lane: LaneSeen, uneven_lines: Sequence[str]) -> list[str]:
    role = f" ({lane.role})" if lane.role in ("standard", "blank") and lane.role != lane.sample else ""
    head = f"Lane {lane.label}" + (f", {lane.sample}{role}" if lane.sample not in ("", lane.label) else role)
    own = [f"{line} at {millimetres(value)} mm" for line in uneven_lines if (value := getattr(lane, line)) is not None]
    sentences = [f"{head}: {' and '.join(own)}."] if own else []
    if all(spot.state == "absent" and not spot.colour for spot in lane.spots):
        return [*sentences, f"{head}: no spot found."]
    for spot in lane.spots:
        which = ", ".join(part for part in (head, f"spot {spot.spot}" if spot.spot else "", spot.colour) if part)
        value = "" if spot.state == "absent" else f", {rf_words(spot)}"
        sentences.append(f"{which}: {place_words(spot)}{value}.")
    return sentences

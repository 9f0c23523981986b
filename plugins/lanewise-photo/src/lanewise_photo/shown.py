"""What pictures and pages for people share: a reduced photograph, the shapes of marks, and readings in words."""

from __future__ import annotations

import base64
from dataclasses import dataclass
from io import BytesIO
from typing import Final

from lanewise_photo.picture import PictureFile
from lanewise_photo.reading import LaneReading, PhotoReading, SheetReading, SpotReading

SHAPES: Final[dict[str, str]] = {
    "measured": "M-1 0a1 1 0 1 0 2 0a1 1 0 1 0-2 0Z",
    "at origin": "M-.9-.9h1.8v1.8h-1.8Z",
    "with front": "M0-1.1L1.05.8H-1.05Z",
    "streak": "M0-1.35L.95 0 0 1.35-.95 0Z",
    "unread": "M-1-1L1 1M1-1L-1 1",
}
"""Outline of the mark of each state, within about one unit of its darkest point."""

MEANINGS: Final[dict[str, str]] = {
    "measured": "measured",
    "at origin": "at the origin: a limit only",
    "with front": "with the front: a limit only",
    "streak": "streak, its darkest point",
    "unread": "seen, too faint to be measured",
}

QUALITY: Final = 82


@dataclass(frozen=True)
class Photograph:
    """A reduced photograph and where it lies in the full picture.

    Attributes
    ----------
    href : str
        ``data:`` address of a JPEG, or the address that was given.
    width, height : int
        Size of the full picture, the right way up. [px]
    box : tuple of four float
        Left, top, width and height of the reduced one in full-size pixels; the first pixel has its centre at (0, 0).
    """

    href: str
    width: int
    height: int
    box: tuple[float, float, float, float]


def photograph(data: bytes, most: int, link: str = "") -> Photograph:
    """Reduce a photograph for showing.

    Parameters
    ----------
    data : bytes
        Content of the picture's file.
    most : int
        Longer side, at most. [px]
    link : str
        Address to link to instead of embedding the picture; it is shown in full, the right way up.
    """
    from PIL import Image

    file = PictureFile(data)
    facts = file.facts
    if link:
        return Photograph(link, facts.width, facts.height, (-0.5, -0.5, facts.width, facts.height))
    picture = file.decode(most)
    image = Image.fromarray(picture.pixels)
    rows, columns = picture.pixels.shape[:2]
    box = (picture.left - picture.step / 2, picture.top - picture.step / 2, columns * picture.step, rows * picture.step)
    if max(image.size) > most:
        share = most / max(image.size)
        image = image.resize((round(columns * share), round(rows * share)), Image.Resampling.BOX, reducing_gap=2.0)
    made = BytesIO()
    image.save(made, "JPEG", quality=QUALITY, optimize=True)
    href = "data:image/jpeg;base64," + base64.b64encode(made.getvalue()).decode("ascii")
    return Photograph(href, facts.width, facts.height, box)


def spot_in_words(spot: SpotReading) -> str:
    """Say what was read of a spot in one sentence without a full stop."""
    parts = [f"spot {spot.label}"]
    if spot.colour is not None and spot.colour.word:
        parts.append(spot.colour.word)
    if spot.state == "unread":
        parts.append(f"{MEANINGS['unread']}, near {spot.centre:.1f} mm")
    elif spot.state in {"at origin", "with front"}:
        parts.append(MEANINGS[spot.state])
    else:
        reach = f"from {spot.trailing:.1f} mm to {spot.leading:.1f} mm"
        parts.append(f"{spot.state}, darkest at {spot.centre:.2f} mm, {reach}")
    if spot.flags:
        parts.append("; ".join(flag.sentence for flag in spot.flags))
    if spot.by:
        parts.append(f"marked by {spot.by}")
    return ", ".join(parts)


def lane_in_words(lane: LaneReading) -> str:
    """Say what was read of a lane in sentences."""
    named = f" ({lane.sample})" if lane.sample else ""
    front = "no front" if lane.front is None else f"front at {lane.front:.2f} mm"
    spots = "; ".join(spot_in_words(spot) for spot in lane.spots) or "no spot"
    return f"Lane {lane.label}{named}: origin at {lane.origin:.2f} mm, {front}; {spots}."


def sheet_in_words(sheet: SheetReading) -> str:
    """Say what was read of a sheet in sentences."""
    head = f"Sheet {sheet.label}, {sheet.mapping.width:.0f} x {sheet.mapping.height:.0f} mm."
    flags = [f"{flag.sentence[0].upper()}{flag.sentence[1:]}. {flag.advice}".strip() for flag in sheet.flags]
    return " ".join([head, *(lane_in_words(lane) for lane in sheet.lanes), *flags])


def reading_in_words(reading: PhotoReading) -> str:
    """Say all that was read of a picture; heights are counted from the lower edge of a sheet."""
    return " ".join(["Heights are counted from the lower edge of the sheet.", *map(sheet_in_words, reading.sheets)])

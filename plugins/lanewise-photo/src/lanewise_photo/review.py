"""One page, without network, on which a person sees, corrects or makes the marks on a photograph."""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from html import escape
from importlib.resources import files
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import numpy.typing as npt

from lanewise.errors import UnreadableFile
from lanewise_photo.applying import ACCURACY, NEAR
from lanewise_photo.by_hand import blur_at, read_corrected
from lanewise_photo.corrections import NOT_STATED, Corrections, written
from lanewise_photo.mapping import CORNER_U, flat_values
from lanewise_photo.marking import TENTH
from lanewise_photo.measuring import measure
from lanewise_photo.picture import Facts, PictureFile
from lanewise_photo.placing import outlines
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.reading import LaneReading, PhotoReading, SheetReading, SpotReading
from lanewise_photo.settings import Settings, settings_of
from lanewise_photo.shown import MEANINGS, SHAPES, photograph
from lanewise_photo.spots import CENSORED
from lanewise_photo.study import study_of

if TYPE_CHECKING:
    import lanewise
    from lanewise_photo.lines import Line

MOST: Final = 2000
"""Longer side of the photograph on the page. [px]"""

SCRIPTS: Final = ("geometry", "numbers", "file", "steps", "picture", "table", "chosen", "hands")
"""Parts of the script of the page, in their order."""

COURSE: Final = 65
"""Places at which the course of a line is told to the page."""


@dataclass(frozen=True, eq=False)
class Tried:
    """What came of reading a picture that a person is to review.

    Attributes
    ----------
    reading : PhotoReading or None
        What was read; also of a picture that was refused, where what is missing can be set by hand.
    refused : str
        Why it was refused; empty where it was not.
    corners : tuple of arrays of shape (4, 2)
        Lower left, lower right, upper right, upper left of each sheet of a picture that was not read, where its outline
        was found. [px]
    """

    reading: PhotoReading | None
    refused: str = ""
    corners: tuple[npt.NDArray[np.float64], ...] = ()


def tried(data: bytes, name: str, settings: Settings) -> Tried:
    """Read a picture for review; one that is refused is read as far as it goes.

    Parameters
    ----------
    data : bytes
        Content of the picture's file.
    name : str
        Its name.
    settings : Settings
        What the user said.
    """
    try:
        return Tried(measure(data, name, settings))
    except UnreadableFile as why:
        refused = str(why)
    try:  # with corrections to come, what is missing may be set by hand
        return Tried(measure(data, name, replace(settings, corrections="to come")), refused)
    except UnreadableFile:
        pass
    try:
        found = outlines(PictureFile(data), settings)
    except UnreadableFile:
        found = []
    return Tried(None, refused, tuple(np.asarray(corners, dtype=float)[[3, 2, 1, 0]] for corners in found))


def review_page(
    reading: PhotoReading | None,
    data: bytes,
    *,
    name: str = "",
    refused: str = "",
    settings: Settings | None = None,
    corrections: Corrections | None = None,
    corners: Sequence[npt.NDArray[np.float64]] = (),
    most: int = MOST,
) -> bytes:
    """Make the page on which a picture is reviewed, or measured by hand.

    Parameters
    ----------
    reading : PhotoReading or None
        What was read, not corrected yet; None for a picture that was refused: then all is set by hand on the page.
    data : bytes
        Content of the picture's file.
    name : str
        Its name; by default that of the reading.
    refused : str
        Why the picture was refused, to be shown.
    settings : Settings or None
        What the user said; the uncertainties that no picture shows are taken from it.
    corrections : Corrections or None
        Made before: the page begins with them.
    corners : sequence of arrays of shape (4, 2)
        Where nothing was read: corners to begin with, one array a sheet. [px]
    most : int
        Longer side of the photograph on the page, at most. [px]

    Returns
    -------
    bytes
        HTML in UTF-8, the same for the same input. It loads nothing, and nothing can be loaded into it: its own style
        and script are named by their hashes in its security policy.

    Raises
    ------
    UnreadableFile
        If the data are no picture that can be opened.
    OptionError
        If the corrections belong to another picture, or cannot be made.
    """
    settings = settings or settings_of(PhotographOptions())
    file = PictureFile(data)
    facts = file.facts
    photo = photograph(data, most)
    name = name or (reading.name if reading is not None else "picture")
    sheets = _blank_sheets(facts, corners, settings) if reading is None else _sheets(reading, settings)
    started = _started(reading, data, name, settings, corrections) if corrections and corrections.steps else {}
    for sheet in (*sheets, *started.get("start", ())):
        sheet["blur"] = blur_at(file, np.array(sheet["corners"])) if sheet["corners"] else 0.0
    told: dict[str, Any] = {
        "name": name,
        "sha256": hashlib.sha256(data).hexdigest(),
        "width": facts.width,
        "height": facts.height,
        "photo": {"href": photo.href, "box": photo.box},
        "unit": float(max(facts.width, facts.height)),
        "centre": [(facts.width - 1) / 2, (facts.height - 1) / 2],
        "accuracy": ACCURACY,
        "near": NEAR,
        "censored": CENSORED,
        "tenth": TENTH,
        "uCorner": CORNER_U,
        "definitions": [settings.origin_definition, settings.front_definition],
        "shapes": SHAPES,
        "meanings": MEANINGS,
        "sheets": sheets,
        **started,
    }
    warning = f"{refused} {_OFFERS[reading is not None]}" if refused else ""
    return _page(name, warning, told)


_OFFERS: Final = {
    True: "What was found is shown: set what is missing, and see whether the rest is right.",
    False: "Nothing was read: measure it by hand here.",
}


def _page(name: str, warning: str, told: dict[str, Any]) -> bytes:
    folder = files("lanewise_photo") / "templates"
    parts = {ending: (folder / f"review.{ending}").read_text(encoding="utf-8") for ending in ("html", "css")}
    parts["js"] = "\n".join((folder / f"review_{part}.js").read_text(encoding="utf-8") for part in SCRIPTS)
    text = json.dumps(told, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    filled = {
        "name": escape(name),
        "refused": f'<p class="warn">Refused as it is. {escape(warning)}</p>' if warning else "",
        "style": parts["css"],
        "script": parts["js"],
        "style_hash": _hash(parts["css"]),
        "script_hash": _hash(parts["js"]),
        "data": text.replace("<", "\\u003c"),  # so that no text can end the block
    }
    made, rest = [], parts["html"]
    while "{{" in rest:
        before, _, rest = rest.partition("{{")
        key, _, rest = rest.partition("}}")
        made += [before, filled[key]]
    return "".join([*made, rest]).encode()


def _hash(text: str) -> str:
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode()).digest()).decode("ascii")


def _blank_sheets(facts: Facts, corners: Sequence[npt.NDArray[np.float64]], settings: Settings) -> list[dict[str, Any]]:
    """Tell sheets of which nothing is known but perhaps their outline."""
    if not corners:
        return [_blank("1", None, facts, settings)]
    return [_blank(str(number), one, facts, settings) for number, one in enumerate(corners, start=1)]


def _blank(label: str, found: npt.NDArray[np.float64] | None, facts: Facts, settings: Settings) -> dict[str, Any]:
    """Tell one of them; corners that are not known stand where they can be taken hold of."""
    shape = np.array([facts.width - 1, facts.height - 1])
    share = np.array([[0.2, 0.85], [0.8, 0.85], [0.8, 0.15], [0.2, 0.15]])
    corners = np.rint(np.clip(found, 0, shape) if found is not None else share * shape)
    at = (corners - shape / 2) / float(max(facts.width, facts.height))
    return {
        "label": label,
        "byHand": True,
        "cornersSet": found is not None,
        "size": list(settings.size or (0.0, 0.0)),
        "corners": [] if found is None else corners.tolist(),
        "values": flat_values(at, facts.focal).tolist(),
        "origin": None,
        "front": None,
        "lanes": [],
        "flags": [],
        "shared": [],
    }


def _started(
    reading: PhotoReading | None, data: bytes, name: str, settings: Settings, corrections: Corrections
) -> dict[str, Any]:
    """Tell sheets as corrected before, and who did it; each mark keeps the name under which it was read."""
    corrected = read_corrected(data, name, settings, corrections)
    sheets = _sheets(corrected, settings)
    for sheet in sheets:
        steps = [one for one in corrections.steps if one.sheet == sheet["label"]]
        kinds = {one.kind for one in steps}
        sheet["byHand"] = "by hand" in kinds
        sheet["sure"] = sheet["sure"] or "orientation" in kinds
        sheet["kept"] = [] if sheet["byHand"] else [written(one) for one in steps if one.kind in {"size", "corners"}]
        read = [] if reading is None or sheet["byHand"] else reading.sheets[int(sheet["label"]) - 1].lanes
        names = {(one.lane, one.text): one.spot for one in steps if one.kind == "rename"}
        new = {one.lane for one in steps if one.kind == "new lane"}
        for lane in sheet["lanes"]:
            old = next((one for one in read if one.label == lane["label"] and one.label not in new), None)
            lane["added"] = old is None
            labels = {spot.label for spot in old.spots} if old is not None else set()
            for spot in lane["spots"]:
                was = names.get((lane["label"], spot["label"]), spot["label"])
                spot["was"] = was if was in labels else ""
    earlier = [[one.sheet, written(replace(one, near=None)), one.by, one.on] for one in corrections.steps]
    last = corrections.steps[-1].by
    return {
        "start": sheets,
        "earlier": earlier,
        "given": corrections.accuracy,
        "by": "" if last == NOT_STATED else last,
    }


def _sheets(reading: PhotoReading, settings: Settings) -> list[dict[str, Any]]:
    plates = study_of(reading, settings).plates
    return [_sheet(sheet, plate, settings) for sheet, plate in zip(reading.sheets, plates, strict=True)]


def _sheet(sheet: SheetReading, plate: lanewise.Plate, settings: Settings) -> dict[str, Any]:
    mapping = sheet.mapping
    return {
        "label": sheet.label,
        "byHand": False,
        "cornersSet": True,
        "size": [mapping.width, mapping.height],
        "assumed": sheet.scale == "assumed",
        "values": mapping.values.tolist(),
        "corners": sheet.corners.tolist(),
        "side": _side(sheet),
        "sure": bool(settings.orientation),
        "origin": _course(sheet.origin, mapping.width),
        "front": _course(sheet.front, mapping.width),
        "shared": [{"positions": list(one.positions), "shifts": list(one.shifts)} for one in plate.shared_errors],
        "flags": [_said(flag.sentence, flag.advice) for flag in sheet.flags],
        "lanes": [_lane(lane, kept) for lane, kept in zip(sheet.lanes, plate.lanes, strict=True)],
    }


def _side(sheet: SheetReading) -> str:
    """Where in the picture the front is."""
    corners = sheet.corners
    x, y = corners[2] + corners[3] - corners[0] - corners[1]
    if abs(x) > abs(y):
        return "right" if x > 0 else "left"
    return "down" if y > 0 else "up"


def _course(line: Line | None, width: float) -> dict[str, Any] | None:
    if line is None:
        return None
    x = np.linspace(0.0, width, COURSE)
    return {"mid": float(line.at(width / 2)), "course": np.broadcast_to(line.at(x), x.shape).tolist()}


def _lane(lane: LaneReading, kept: lanewise.Lane) -> dict[str, Any]:
    return {
        "label": lane.label,
        "sample": lane.sample,
        "x": lane.x,
        "origin": lane.origin,
        "front": lane.front,
        "added": False,
        "u_origin": kept.u_origin,
        "u_front": kept.u_front or 0.0,
        "flags": [_said(flag.sentence, flag.advice) for flag in lane.flags],
        "spots": [_spot(spot) for spot in lane.spots],
    }


def _spot(spot: SpotReading) -> dict[str, Any]:
    return {
        "was": spot.label,
        "label": spot.label,
        "state": spot.state,
        "x": spot.x,
        "trailing": spot.trailing,
        "centre": spot.centre,
        "leading": spot.leading,
        "u": spot.u_centre,
        "sigma": spot.sigma,
        "colour": spot.colour.word if spot.colour is not None else "",
        "flags": [flag.sentence for flag in spot.flags if flag.code not in {"at_origin", "with_front"}],
    }


def _said(sentence: str, advice: str) -> str:
    return f"{sentence[0].upper()}{sentence[1:]}. {advice}".strip()

"""From a picture and a corrections file to a corrected reading, also where nothing is read and all is set by hand."""

from __future__ import annotations

import hashlib
import re
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np

import lanewise
from lanewise_photo.applying import ACCURACY, apply, told
from lanewise_photo.corrections import FIRST_WORDS, Corrections, Point, composed, fault, parse
from lanewise_photo.edges import Points, find_edges
from lanewise_photo.mapping import CORNER_U, through_corners
from lanewise_photo.measuring import measure
from lanewise_photo.picture import Facts, PictureFile
from lanewise_photo.reading import PhotoReading, SheetReading, SpotReading
from lanewise_photo.records import changed
from lanewise_photo.settings import Settings

MOST: Final = 2400
"""Longer side of the picture in which its blur is judged. [px]"""


def corrections_of(given: str) -> Corrections:
    r"""Read the option ``corrections``: the text itself, or the path of a file that holds it.

    Raises
    ------
    OptionError
        If there is no such file, it is no UTF-8 text, or a line in it is not understood.

    Examples
    --------
    >>> corrections_of("")
    Corrections(picture='', sha256='', accuracy=None, steps=())
    >>> len(corrections_of("drop lane 1 spot 2\ndrop lane 1 spot 3").steps)
    2
    >>> corrections_of("inks.corrections.txt")
    Traceback (most recent call last):
    lanewise.errors.OptionError: option 'corrections': wanted corrections or the path of a file that holds them, given
    'inks.corrections.txt': No such file or directory
    """
    if not given.strip():
        return Corrections()
    if "\n" in given or re.split(r"[\s:]", given.strip(), maxsplit=1)[0] in {"#", *FIRST_WORDS}:
        return parse(given)
    try:
        return parse(Path(given).read_text(encoding="utf-8-sig"))
    except UnicodeDecodeError as why:
        wanted, reason = "a file of UTF-8 text", why.reason
    except OSError as why:
        wanted, reason = "corrections or the path of a file that holds them", why.strerror or str(why)
    raise lanewise.OptionError(f"option 'corrections': wanted {wanted}, given {given!r}: {reason}")


def read_corrected(data: bytes, name: str, settings: Settings, corrections: Corrections) -> PhotoReading:
    """Read a picture, or not where all is set by hand, and correct what was read.

    Parameters
    ----------
    data : bytes
        Content of the picture's file.
    name : str
        Its name.
    settings : Settings
        What the user said; size, corners and orientation of the corrections go before it.
    corrections : Corrections

    Raises
    ------
    OptionError
        If the corrections belong to another picture, or cannot be made.
    UnreadableFile
        If the picture cannot be read, and not all is set by hand.
    """
    check_picture(data, name, corrections)
    by_hand = [sheet for sheet in corrections.sheets if corrections.of("by hand", sheet)]
    if not by_hand:
        reading = measure(data, name, told_before(settings, corrections))
    elif len(by_hand) == len(corrections.sheets):
        reading = empty_reading(PictureFile(data, settings.page).facts, name, corrections)
    else:
        missing = next(sheet for sheet in corrections.sheets if sheet not in by_hand)
        raise fault(0, f"sheet {missing} is not measured by hand, but others are. Give 'measure: by hand' for all.")
    if corrections.steps and corrections.accuracy is None:
        corrections = replace(corrections, accuracy=usual_accuracy(data, reading))
    return apply(reading, corrections)


def usual_accuracy(data: bytes, reading: PhotoReading) -> float:
    """Give the standard uncertainty with which a mark is set on this picture where nobody stated another.

    Parameters
    ----------
    data : bytes
        Content of the picture's file.
    reading : PhotoReading
        Its sheets, of which the mappings are used.

    Returns
    -------
    float
        Root of the sum of squares of `lanewise_photo.applying.ACCURACY` and of the blur of the picture, which is taken
        from the edges of its most blurred sheet: within its standard deviation a blur hides where a mark belongs. [mm]
    """
    file = PictureFile(data)
    blurs = [blur_at(file, sheet.corners) / sheet.mapping.scale for sheet in reading.sheets]
    return round(float(np.hypot(ACCURACY, max(blurs, default=0.0))), 2)


def blur_at(file: PictureFile, corners: Points) -> float:
    """Give the standard deviation of the blur at the edges of a sheet, 0 where no edge is seen. [px]."""
    around = np.asarray(corners)[[3, 2, 1, 0]]  # clockwise from the upper left, with the front up
    length = float(np.linalg.norm(np.roll(around, -1, axis=0) - around, axis=1).mean())
    picture = file.decode(MOST)
    edges = find_edges(picture, around, max(4.0, 0.01 * length))
    widths = [edge.width for edge in edges if edge.found > 0.5 and np.isfinite(edge.width)]
    return float(np.median(widths)) if widths else 0.0


def check_picture(data: bytes, name: str, corrections: Corrections) -> None:
    """Refuse corrections that were made for another picture.

    Raises
    ------
    OptionError
        If the SHA-256 of the content differs, or, where none is given, the name.
    """
    found, name = hashlib.sha256(data).hexdigest(), composed(name)
    made_for = f"the corrections were made for {corrections.picture or 'another picture'}"
    if corrections.sha256 and corrections.sha256 != found:
        digits = f"with SHA-256 {corrections.sha256[:12]}..., given {name} with {found[:12]}..."
        raise fault(0, f"{made_for} {digits}. Review this picture anew.")
    if not corrections.sha256 and corrections.picture and corrections.picture != name:
        raise fault(0, f"{made_for}, given {name}. Correct the line 'picture:' if it is the same picture.")


def told_before(settings: Settings, corrections: Corrections) -> Settings:
    """Put size, corners and orientation of the corrections in place of the options."""
    made = settings
    size = corrections.of("size", "1")
    if size is not None and size.at is not None and size.leading is not None:
        made = replace(made, size=(size.at, size.leading))
    side = corrections.of("orientation", "1")
    if side is not None:
        made = replace(made, orientation=side.text)
    corners = [corrections.of("corners", str(number)) for number in range(1, settings.plates + 1)]
    given = [one for one in corners if one is not None]
    if given and len(given) < settings.plates:
        raise fault(given[0].line, f"corners: wanted them for each of {settings.plates} sheets, given for {len(given)}")
    if given:
        made = replace(made, corners=tuple(np.array(one.points) for one in given))
    return made


def empty_reading(facts: Facts, name: str, corrections: Corrections) -> PhotoReading:
    """Place sheets by their corners alone, with nothing on them yet.

    Raises
    ------
    OptionError
        If a sheet has no corners, no size or no origin, or its corners do not go round.
    """
    shape = (facts.width, facts.height)
    sheets = []
    for sheet in corrections.sheets:
        needed = {"corners": "corners: x,y; x,y; x,y; x,y", "size": "size: 80 x 100", "origin": "move origin to 15"}
        for kind, example in needed.items():
            if corrections.of(kind, sheet) is None:
                raise fault(0, f"sheet {sheet} is measured by hand: wanted a line such as '{example}', given none")
        corners, size = corrections.of("corners", sheet), corrections.of("size", sheet)
        assert corners is not None
        assert size is not None
        wide, high = size.at or 0.0, size.leading or 0.0
        if not (10 <= wide <= 1000 and 10 <= high <= 1000):
            raise fault(size.line, "size: wanted width x height in millimetres, 10 to 1000 each")
        if not goes_round(corners.points):
            wanted = "lower left, lower right, upper right, upper left of the sheet, with the front up"
            raise fault(corners.line, f"corners: wanted {wanted}")
        sheets.append(
            SheetReading(
                label=sheet,
                mapping=through_corners(
                    np.array(corners.points, dtype=float), (wide, high), shape, facts.focal, CORNER_U
                ),
                scale="given",
                scanned=False,
                corners=np.array(corners.points),
                origin=None,
                front=None,
                lanes=(),
                flags=(),
            )
        )
    return PhotoReading(name, facts.width, facts.height, tuple(sheets))


def goes_round(points: tuple[Point, ...]) -> bool:
    """Whether four corners bound a sheet without a dent, seen from its face: lower left, lower right and so on.

    Examples
    --------
    >>> goes_round(((0, 9), (9, 9), (9, 0), (0, 0))), goes_round(((0, 0), (9, 0), (9, 9), (0, 9)))
    (True, False)
    """
    at = np.array(points, dtype=float)
    sides = np.roll(at, -1, axis=0) - at
    after = np.roll(sides, -1, axis=0)
    return bool(np.all(sides[:, 0] * after[:, 1] - sides[:, 1] * after[:, 0] < 0))


def recorded(study: lanewise.Study, reading: PhotoReading, corrections: Corrections) -> lanewise.Study:
    """Finish the study of a corrected reading: say who corrected what, and leave out what nobody measured.

    Parameters
    ----------
    study : Study
        From `lanewise_photo.study.study_of`.
    reading : PhotoReading
        Corrected.
    corrections : Corrections
        What it was corrected by.

    Returns
    -------
    Study
        Without areas, colour values and traces of spots and lanes that were set by hand and not measured in the
        picture; the note of a plate says who corrected it.
    """
    if not corrections.steps:
        return study
    plates = []
    for plate, sheet in zip(study.plates, reading.sheets, strict=True):
        lanes = []
        for lane, read in zip(plate.lanes, sheet.lanes, strict=True):
            pairs = zip(lane.spots, read.spots, strict=True)
            spots = tuple(_bare(spot) if _unmeasured(its) else spot for spot, its in pairs)
            traces = lane.traces if read.density.any() else ()
            lanes.append(changed(lane, spots=spots, traces=traces))
        by_hand = "Measured by hand on the picture." if corrections.of("by hand", sheet.label) else ""
        note = "\n".join(part for part in (plate.note, by_hand, told(sheet.label, corrections)) if part)
        plates.append(changed(plate, lanes=tuple(lanes), note=note))
    return changed(study, plates=tuple(plates))


def _bare(spot: lanewise.Spot) -> lanewise.Spot:
    return changed(spot, area=None, u_area=None, factors={})


def _unmeasured(spot: SpotReading) -> bool:
    return bool(spot.by) and spot.strength == 0.0

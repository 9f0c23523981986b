"""From what was read to a study: plates, lanes, spots and traces, with every doubt in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

import lanewise
from lanewise_photo.flags import Flag
from lanewise_photo.reading import CHANNELS, LaneReading, PhotoReading, SheetReading, SpotReading
from lanewise_photo.settings import Settings

Array: TypeAlias = npt.NDArray[np.float64]

NOTICEABLE = 1.5
"""Nearer to a line than this, a spot has no number. [mm]"""

SIZE_U = {"given": 0.004, "bar": 0.003, "resolution": 0.005, "assumed": 0.3}
"""Relative standard uncertainty of the sheet's height, by where it is known from; it cancels in Rf."""

SCANNER = 0.0008
"""Uneven travel of a scanner's carriage, as a share of the length (0.9 to 4 pixels at 300 dpi, ACRS 1997)."""

BULGE_SHARE = 0.25
"""Share of a bulge that was undone which is taken as its standard uncertainty: edges do not show how far what lies
between them stands off, which is taken to be known to a quarter (estimate)."""

ACROSS = (0.1, 0.3, 0.5, 0.7, 0.9)
"""Places across the sheet over which the mean square of what a bulge leaves open is taken, as shares of its width."""


def study_of(reading: PhotoReading, settings: Settings) -> lanewise.Study:
    """Make a study of what was read.

    Parameters
    ----------
    reading : PhotoReading
        One sheet or several.
    settings : Settings
        What the user said.

    Returns
    -------
    Study
    """
    return lanewise.Study(
        plates=tuple(_plate(sheet, reading, settings) for sheet in reading.sheets),
        note=f"Read from the picture {reading.name}, {reading.width} x {reading.height} pixels.",
    )


def _plate(sheet: SheetReading, reading: PhotoReading, settings: Settings) -> lanewise.Plate:
    mapping = sheet.mapping
    per_mm = mapping.scale
    return lanewise.Plate(
        label=sheet.label,
        system=settings.system or "not stated",
        sheet=lanewise.Sheet(
            stationary_phase=settings.layer or "not stated",
            width=_mm(mapping.width) if sheet.scale != "assumed" else None,
            height=_mm(mapping.height) if sheet.scale != "assumed" else None,
        ),
        reading=lanewise.Reading(
            instrument="photograph",
            division=_mm(1.0 / per_mm),
            u=_mm(0.3 / per_mm + 0.02),
            noticeable=NOTICEABLE,
            zero="sheet edge",
        ),
        origin=None if sheet.origin is None else _mm(float(sheet.origin.at(mapping.width / 2))),
        u_origin=None
        if sheet.origin is None
        else _mm(float(np.hypot(sheet.origin.u + 0.01, settings.origin_definition))),
        shared_errors=_shared_errors(sheet),
        lanes=tuple(_lane(lane, settings) for lane in sheet.lanes),
        note=_plate_note(sheet, settings),
    )


def _plate_note(sheet: SheetReading, settings: Settings) -> str:
    lines = [str(flag) for flag in sheet.flags]
    if sheet.front is not None:
        lines.append(f"The front was read as a {sheet.front.kind}.")
    lines.append(
        f"Standard uncertainties that no picture shows are included: {settings.origin_definition:g} mm for where on "
        f"the origin line a drop sat, {settings.front_definition:g} mm for where the front was when the run ended."
    )
    return "\n".join(lines)


def _shared_errors(sheet: SheetReading) -> tuple[lanewise.SharedError, ...]:
    mapping = sheet.mapping
    y = np.linspace(0.0, mapping.height, 17)
    x = mapping.width / 2
    made = [
        lanewise.SharedError(
            name="sheet size",
            positions=(0.0, _mm(mapping.height)),
            shifts=(0.0, _mm(SIZE_U[sheet.scale] * mapping.height)),
        )
    ]
    rectification = main_mode(mapping.shift_along(x, y), y)
    made.append(lanewise.SharedError(name="rectification", positions=_mms(y), shifts=_mms(rectification)))
    if sheet.scanned:
        made.append(
            lanewise.SharedError(
                name="scanner",
                positions=_mms(y),
                shifts=_mms(SCANNER * mapping.height * np.sin(np.pi * y / mapping.height)),
            )
        )
    courses = np.stack([mapping.bulge_along(share * mapping.width, y) for share in ACROSS])
    bulge = main_mode(BULGE_SHARE * courses / np.sqrt(len(ACROSS)), y)
    if np.abs(bulge).max() > 0.005:
        made.append(lanewise.SharedError(name="bulge", positions=_mms(y), shifts=_mms(bulge)))
    return tuple(made)


def main_mode(modes: Array, y: Array) -> Array:
    """Give the one course along the run that stands for most of several independent ones.

    Parameters
    ----------
    modes : array of shape (K, N)
        Each moves all positions together by so much at one standard uncertainty. [mm]
    y : array of shape (N,)
        Positions. [mm]

    Returns
    -------
    array of shape (N,)
        What they have beyond a shift and a stretch, which cancel in Rf, in the direction where it is largest, made
        as large as all of it. [mm]
    """
    plain = np.stack([np.ones_like(y), y / max(float(y[-1]), 1e-9)], axis=1)
    q, _ = np.linalg.qr(plain)
    bent = modes - (modes @ q) @ q.T
    _, size, direction = np.linalg.svd(bent, full_matrices=False)
    total = float(np.sqrt((size**2).sum()))
    sign = 1.0 if direction[0][len(y) // 2] >= 0 else -1.0
    return np.asarray(sign * total * direction[0])


def _lane(lane: LaneReading, settings: Settings) -> lanewise.Lane:
    front = None if lane.front is None else _mm(lane.front)
    return lanewise.Lane(
        label=lane.label,
        sample=lane.sample,
        origin=_mm(lane.origin),
        front=front,
        u_origin=_mm(float(np.hypot(lane.u_origin, settings.origin_definition))),
        u_front=None if front is None else _mm(float(np.hypot(lane.u_front, settings.front_definition))),
        spots=tuple(_spot(spot, lane) for spot in lane.spots),
        traces=_traces(lane),
        note=_note(lane.flags),
    )


def _traces(lane: LaneReading) -> tuple[lanewise.Trace, ...]:
    positions = _mms(lane.heights)
    return tuple(
        lanewise.Trace(
            channel=f"optical density, {name}",
            positions=positions,
            values=tuple(round(float(one), 5) for one in lane.density[:, number]),
        )
        for number, name in enumerate(CHANNELS)
    )


def _spot(spot: SpotReading, lane: LaneReading) -> lanewise.Spot:
    note = _note(spot.flags)
    if spot.by:
        note = f"{note}\nMarked by {spot.by}.".strip()
    common: dict[str, Any] = {
        "label": spot.label,
        "state": spot.state,
        "colour": spot.colour.word if spot.colour else "",
        "note": note,
        "area": round(spot.area, 5),
        "u_area": round(spot.u_area, 5),
        "factors": _factors(spot),
    }
    if spot.state == "at origin":
        leading = max(lane.origin, spot.centre)
        return lanewise.Spot(**common, leading=_mm(leading + spot.sigma), u_leading=_mm(spot.u_leading))
    if spot.state == "with front":
        assert lane.front is not None
        return lanewise.Spot(**common, trailing=_mm(min(spot.trailing, lane.front)), u_trailing=_mm(spot.u_trailing))
    leading, u_leading = spot.leading, spot.u_leading
    if lane.front is not None and leading > lane.front:  # the density fades beyond the front that the dye cannot pass
        leading, u_leading = max(lane.front, spot.centre), max(u_leading, 0.3)
    return lanewise.Spot(
        **common,
        trailing=_mm(spot.trailing),
        centre=_mm(spot.centre),
        leading=_mm(leading),
        point="darkest",
        u_trailing=_mm(spot.u_trailing),
        u_centre=_mm(spot.u_centre),
        u_leading=_mm(u_leading),
    )


def _factors(spot: SpotReading) -> dict[str, str]:
    if spot.colour is None:
        return {}
    r, g, b = spot.colour.srgb
    lightness, across, along = spot.colour.lab
    return {
        "srgb": f"#{r:02x}{g:02x}{b:02x}",
        "cielab": f"{lightness:.1f} {across:.1f} {along:.1f}",
        "optical density": " ".join(f"{one:.3f}" for one in spot.density),
    }


def _note(flags: Sequence[Flag]) -> str:
    return "\n".join(str(flag) for flag in flags)


def _mm(value: float) -> float:
    return round(float(value), 4)


def _mms(values: Array) -> tuple[float, ...]:
    return tuple(round(float(one), 4) for one in values)

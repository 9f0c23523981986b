"""What a plan says beforehand of the picture of its sheet: size, origin, lanes, and what was run in what."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import lanewise
from lanewise_photo.records import changed
from lanewise_photo.settings import Settings


def plan_of(given: str) -> lanewise.Study | None:
    """Read the option ``plan``: the text of a blank record, or the path of a file that holds it; None for none.

    Raises
    ------
    OptionError
        If there is no such file, it is no record, or it has no plates with lanes.

    Examples
    --------
    >>> plan_of("") is None
    True
    >>> plan_of("plan.json")
    Traceback (most recent call last):
    lanewise.errors.OptionError: option 'plan': wanted a blank record, or the path of a file that holds one, given
    'plan.json': No such file or directory
    """
    if not given.strip():
        return None
    try:
        data = given.encode() if given.lstrip().startswith("{") else Path(given).read_bytes()
        study = lanewise.read(data, name="plan.json", format="study-record")
    except OSError as why:
        raise _not_a_plan(given, why.strerror or str(why)) from None
    except lanewise.LanewiseError as why:
        raise _not_a_plan(given, str(why)) from None
    if not study.plates or not all(plate.lanes for plate in study.plates):
        raise _not_a_plan(given, "it has no plate with lanes")
    return study


def _not_a_plan(given: str, why: str) -> lanewise.OptionError:
    shown = given if len(given) < 60 else f"{given[:57]}..."
    return lanewise.OptionError(
        f"option 'plan': wanted a blank record, or the path of a file that holds one, given {shown!r}: {why}"
    )


def settings_with(settings: Settings, plan: lanewise.Study | None) -> Settings:
    """Fill in what the user did not say from the first plate of a plan."""
    if plan is None:
        return settings
    if len(plan.plates) != settings.plates:
        raise lanewise.OptionError(
            f"option 'plan': wanted one plate for each of the {settings.plates} in the picture, "
            f"given {len(plan.plates)}. Give 'plates', or the plan of this picture."
        )
    plate = plan.plates[0]
    width, height = (None, None) if plate.sheet is None else (plate.sheet.width, plate.sheet.height)
    alike = all(len(other.lanes) == len(plate.lanes) for other in plan.plates)
    return replace(
        settings,
        size=settings.size or (None if width is None or height is None else (width, height)),
        origin=plate.origin if settings.origin is None else settings.origin,
        lanes=settings.lanes or (len(plate.lanes) if alike else None),
        names=settings.names or (tuple(lane.sample for lane in plate.lanes) if settings.plates == 1 else ()),
    )


def as_planned(study: lanewise.Study, plan: lanewise.Study | None, settings: Settings) -> lanewise.Study:
    """Give what was read the names, roles and systems of its plan.

    Lanes are met in their order; where their number is not the planned one, which the reading flags, they stay as
    they are.
    """
    if plan is None:
        return study
    plates = []
    for plate, planned in zip(study.plates, plan.plates, strict=True):
        lanes = plate.lanes
        if len(lanes) == len(planned.lanes):
            told = zip(lanes, planned.lanes, strict=True)
            lanes = tuple(changed(lane, sample=own.sample, role=own.role, factors=own.factors) for lane, own in told)
        layer = settings.layer or (planned.sheet.stationary_phase if planned.sheet else "not stated")
        plates.append(
            changed(
                plate,
                label=planned.label,
                system=settings.system or planned.system,
                sheet=changed(plate.sheet, stationary_phase=layer),
                development=planned.development,
                factors=planned.factors,
                lanes=lanes,
            )
        )
    kept = tuple(one for one in plan.systems if any(one.name == plate.system for plate in plates))
    return changed(study, plates=tuple(plates), systems=kept, title=plan.title, question=plan.question)

"""Times of earlier runs, taken from a study: plates whose front was read and whose minutes were noted."""

from __future__ import annotations

from lanewise.errors import PlanError
from lanewise.model.plates import Plate
from lanewise.model.studies import Study
from lanewise.planning.fronts import Observation


def observations_of(
    study: Study, *, system: str | None = None, depth: float | None = None, gap: float | None = None
) -> tuple[Observation, ...]:
    """Take fronts and times out of a study, one observation a plate.

    Parameters
    ----------
    study : Study
        Plates count whose minutes were noted, that were developed once, and whose front was read.
    system : str or None
        Name of the solvent system, as the plates have it; None for all. Times of different systems do not mix.
    depth : float or None
        Depth of the liquid, zero or more: for plates whose zero is the lower edge of the sheet. [mm]
    gap : float or None
        Height of the origin line above the liquid, zero or more: for plates with another zero, or an unknown one. [mm]

    Returns
    -------
    tuple of Observation
        In the order of the plates, the label of the plate as run. Where the lanes have fronts of their own, their mean.

    Raises
    ------
    PlanError
        If no plate gives one; the text says what each lacks.

    Examples
    --------
    >>> from lanewise.model.plates import Development, Plate, Reading
    >>> plate = Plate(label="1", system="water", development=Development(minutes=12), origin=15, front=88,
    ...               reading=Reading(zero="sheet edge"))
    >>> observations_of(Study(plates=[plate]), depth=8)
    (Observation(front=80.0, minutes=12.0, run='1'),)
    """
    for name, value in (("depth", depth), ("gap", gap)):
        if value is not None and not 0.0 <= value < 1e4:
            raise PlanError(f"observations, {name}: wanted a length of 0 mm or more, given {value:g} mm. Correct it.")
    plates = [plate for plate in study.plates if system is None or plate.system == system]
    if not plates:
        held = ", ".join(sorted({plate.system for plate in study.plates})) or "none"
        raise PlanError(f"observations: wanted plates developed in {system or 'any system'}, given {held}. Correct it.")
    seen, lacking = [], []
    for plate in plates:
        found = _observation(plate, depth, gap)
        if isinstance(found, Observation):
            seen.append(found)
        else:
            lacking.append(f"plate {plate.label}: {found}")
    if not seen:
        raise PlanError(
            f"observations: wanted a plate with a time and a front above the liquid, given none. {'; '.join(lacking)}."
        )
    return tuple(seen)


def _observation(plate: Plate, depth: float | None, gap: float | None) -> Observation | str:
    """Give the observation of a plate, or what it lacks."""
    minutes = plate.development.minutes
    if minutes is None:
        return "no minutes were noted"
    if plate.development.runs != 1:
        return f"it was developed {plate.development.runs} times"
    fronts = _lines(plate, "front")
    if not fronts:
        return "no front was read"
    front, zero = sum(fronts) / len(fronts), plate.reading.zero
    if zero == "sheet edge" and depth is not None:
        front -= depth
    elif zero != "liquid level":
        if gap is None:
            if zero == "sheet edge":
                return "the depth of the liquid is not known, give it"
            return "the height of the origin above the liquid is not known, give it as the gap"
        origins = _lines(plate, "origin") or ([0.0] if zero == "origin line" else [])
        if not origins:
            return "no origin was read"
        front += gap - sum(origins) / len(origins)
    if not front > 0.0:
        return f"its front lies at {front:g} mm above the liquid"
    return Observation(front, minutes, plate.label)


def _lines(plate: Plate, name: str) -> list[float]:
    """Positions of a line: those of the lanes, and the plate's own where a lane has none. [mm]."""
    whole = getattr(plate, name)
    held = [getattr(lane, name) if getattr(lane, name) is not None else whole for lane in plate.lanes] or [whole]
    return [float(value) for value in held if value is not None]

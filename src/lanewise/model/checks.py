"""What must hold between the values of a record: one small function a rule."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from math import hypot, inf, sqrt
from typing import TYPE_CHECKING, NamedTuple

from lanewise.errors import RecordError
from lanewise.model.fields import Record, refusal, which

if TYPE_CHECKING:
    from lanewise.model.plates import Lane, Plate, Reading, Spot
    from lanewise.model.solvents import Component, SolventSystem
    from lanewise.model.studies import Study

BEYOND = 3.0
"""How many combined standard uncertainties a mark may lie on the wrong side of a line (common practice, no source)."""


class Lines(NamedTuple):
    """Origin and front that hold for a lane, with their standard uncertainties.

    All in millimetres. `own_origin` and `own_front` tell whether the lane has its own reading or shares the plate's.
    """

    origin: float
    u_origin: float
    own_origin: bool
    front: float | None
    u_front: float
    own_front: bool


def ruler_uncertainty(division: float) -> float:
    """Standard uncertainty of a reading taken to the nearest division: the division over sqrt(12).

    Parameters
    ----------
    division : float
        Smallest division of the scale. [mm]

    Returns
    -------
    float
        Standard deviation of a rectangular distribution one division wide. [mm]

    References
    ----------
    JCGM 100:2008, 4.3.7 (half-width a gives a / sqrt(3); here a is half a division). From memory.

    Examples
    --------
    >>> round(ruler_uncertainty(1.0), 4)
    0.2887
    """
    return division / sqrt(12)


def standard_uncertainty(reading: Reading) -> float:
    """Standard uncertainty of one reading: as stated, else from the division of the scale.

    Parameters
    ----------
    reading : Reading
        How positions were read.

    Returns
    -------
    float
        Standard uncertainty. [mm]

    Examples
    --------
    >>> from lanewise.model.plates import Reading
    >>> standard_uncertainty(Reading(u=0.2)), round(standard_uncertainty(Reading(division=0.5)), 4)
    (0.2, 0.1443)
    """
    return ruler_uncertainty(reading.division) if reading.u is None else reading.u


def lines(plate: Plate, lane: Lane) -> Lines:
    """Give the origin and the front that hold for a lane: its own readings, else the plate's.

    Raises
    ------
    RecordError
        If neither the lane nor the plate has an origin.

    Examples
    --------
    >>> from lanewise.model.plates import Lane, Plate
    >>> plate = Plate(label="1", origin=10, front=85, lanes=[Lane(label="A"), Lane(label="B", front=84)])
    >>> lines(plate, plate.lanes[1]).front, lines(plate, plate.lanes[0]).own_front
    (84.0, False)
    """
    own_origin, own_front = lane.origin is not None, lane.front is not None
    origin = lane.origin if own_origin else plate.origin
    front = lane.front if own_front else plate.front
    u_origin = lane.u_origin if own_origin else plate.u_origin
    u_front = lane.u_front if own_front else plate.u_front
    if origin is None:
        raise refusal(
            _lane_on(plate, lane),
            "a position of the origin",
            "none for the lane and none for the plate",
            "Give origin, 0.0 where the zero of the ruler lay on the origin line.",
        )
    usual = standard_uncertainty(plate.reading)
    return Lines(
        origin,
        usual if u_origin is None else u_origin,
        own_origin,
        front,
        usual if u_front is None else u_front,
        own_front,
    )


def check_unique(record: Record, field: str, labels: Sequence[str]) -> None:
    """Refuse two parts of one name."""
    if len(set(labels)) == len(labels):
        return
    double = next(label for number, label in enumerate(labels) if label in labels[:number])
    raise refusal(f"{which(record)}, {field}", "names that differ", f"{double!r} twice", "Rename one of them.")


def check_component(component: Component) -> None:
    """Refuse a component with both or neither of parts and grams per litre."""
    given = [component.parts, component.grams_per_litre]
    if given.count(None) != 1:
        raise refusal(
            which(component),
            "exactly one of parts and grams_per_litre",
            "neither" if given.count(None) == 2 else "both",
            "Give parts for a liquid, grams_per_litre for what is weighed in.",
        )


def check_system(system: SolventSystem) -> None:
    """Refuse a substance that comes twice, and salts without a liquid."""
    check_unique(system, "components", [component.substance for component in system.components])
    if system.components and all(component.parts is None for component in system.components):
        raise refusal(
            which(system),
            "a liquid with its parts",
            "only substances in grams per litre",
            "Add what they are dissolved in, for instance water with parts=1.",
        )


def check_curve(record: Record, positions: Sequence[float], values: Sequence[float], least: int) -> None:
    """A value at each of some positions, which rise."""
    where, count = which(record), len(positions)
    if count < least:
        wanted = {1: "one position", 2: "two positions"}[least]
        raise refusal(where, f"{wanted} at least", str(count), "Give what is known along the run, or leave it out.")
    if len(values) != count:
        raise refusal(where, f"{count} values, one a position", str(len(values)), "Give one value for each position.")
    for number, (before, here) in enumerate(pairwise(positions), start=2):
        if here <= before:
            wanted = f"one above the position before it, {mm(before)}"
            raise refusal(f"{where}, position {number}", wanted, mm(here), "Give positions in rising order, each once.")


def check_order(spot: Spot) -> None:
    """Refuse edges and point read that are out of order along the run."""
    if spot.trailing is None and spot.leading is None:
        return
    given = [
        (name, value)
        for name, value in (("trailing", spot.trailing), ("centre", spot.centre), ("leading", spot.leading))
        if value is not None
    ]
    for (near, low), (far, high) in pairwise(given):
        if low > high:
            raise refusal(
                which(spot),
                f"{near} not above {far}",
                f"{near} {mm(low)}, {far} {mm(high)}",
                "Trailing is the edge nearer the origin: swap or correct them.",
            )


def check_state(spot: Spot) -> None:
    """Refuse positions that do not fit the state of a spot."""
    edges = {"trailing": spot.trailing, "leading": spot.leading}
    seen = {name: value for name, value in edges.items() if value is not None}
    if spot.state == "measured" and spot.centre is None and len(seen) < 2:
        raise refusal(
            which(spot),
            "a centre or both edges",
            _positions(seen),
            "Give centre, or trailing and leading, or say in state why there is no position.",
        )
    if spot.state == "streak" and len(seen) < 2:
        raise refusal(
            which(spot),
            "both edges of a streak",
            _positions(seen),
            "Give trailing and leading, or call it 'unread'.",
        )
    if spot.state == "absent" and (seen or spot.centre is not None):
        raise refusal(
            which(spot),
            "no position of an absent spot",
            _positions(seen if spot.centre is None else {"centre": spot.centre}),
            "Leave the positions out, or call it 'measured'.",
        )


def check_lines(record: Lane | Plate) -> None:
    """Refuse the uncertainty of a line that was not read."""
    for name, value, u in (
        ("origin", record.origin, record.u_origin),
        ("front", record.front, record.u_front),
    ):
        if u is not None and value is None:
            raise refusal(
                f"{which(record)}, u_{name}",
                f"the uncertainty of a {name} that is given here",
                f"{mm(u)} without {name}",
                f"Give {name} as well, or leave u_{name} out.",
            )


def check_zero(plate: Plate) -> None:
    """Refuse an origin away from 0 where the zero of the ruler is said to have lain on the origin line."""
    if plate.reading.zero != "origin line":
        return
    usual = standard_uncertainty(plate.reading)
    read = [(which(plate), plate.origin, plate.u_origin)]
    read += [(_lane_on(plate, lane), lane.origin, lane.u_origin) for lane in plate.lanes]
    for where, origin, u in read:
        if origin is not None and abs(origin) > BEYOND * (usual if u is None else u):
            raise refusal(
                where,
                "the origin at 0 mm, since the zero lay on the origin line",
                mm(origin),
                "Call the zero 'sheet edge' or 'liquid level' if positions were read from there, or correct them.",
            )


def check_plate(plate: Plate) -> None:
    """Refuse lanes whose lines cross, and spots that lie outside their run."""
    usual = standard_uncertainty(plate.reading)
    for lane in plate.lanes:
        held = lines(plate, lane)
        if held.front is not None and held.front <= held.origin:
            raise refusal(
                _lane_on(plate, lane),
                f"a front above the origin at {mm(held.origin)}",
                mm(held.front),
                "Correct one of them, or give no front if it was not seen.",
            )
        for spot in lane.spots:
            fault = outside(spot, held, usual, plate.reading.noticeable)
            if fault is not None:
                raise RecordError(f"{_lane_on(plate, lane)}: {fault}")


def outside(spot: Spot, held: Lines, usual: float, noticeable: float) -> RecordError | None:
    """Find what is wrong with the place of a spot in its run.

    Parameters
    ----------
    spot : Spot
        The spot.
    held : Lines
        Origin and front of its lane.
    usual : float
        Standard uncertainty of a reading that states none. [mm]
    noticeable : float
        Smallest movement that would have been noticed. [mm]

    Returns
    -------
    RecordError or None
        The first fault; None where there is none, and for a spot without a position.
    """
    read, at = spot_point(spot)
    if at is None:
        return _beyond(spot, held, usual, noticeable)
    u_read = usual if spot.u_centre is None else spot.u_centre
    near = BEYOND * hypot(u_read, held.u_origin)
    if at < held.origin - near:
        return refusal(
            which(spot),
            f"a {read} not below the origin at {mm(held.origin)}",
            mm(at),
            "Correct the mark or the origin.",
        )
    if spot.state == "at origin" and at > held.origin + near + noticeable:
        return refusal(
            which(spot),
            f"a spot at the origin at {mm(held.origin)}",
            f"{read} {mm(at)}",
            "Correct it, or call it 'measured'.",
        )
    return _beyond(spot, held, usual, noticeable)


def _beyond(spot: Spot, held: Lines, usual: float, noticeable: float) -> RecordError | None:
    if held.front is None:
        return None
    u_leading = usual if spot.u_leading is None else spot.u_leading
    u_centre = usual if spot.u_centre is None else spot.u_centre
    read, at = spot_point(spot)
    marks = [(read, at, u_centre)]
    if spot.leading is not None and spot.state != "with front":
        marks.append(("leading edge", spot.leading, u_leading))
    for name, value, u in marks:
        if value is not None and value > held.front + BEYOND * hypot(u, held.u_front):
            return refusal(
                which(spot),
                f"a {name} not beyond the front at {mm(held.front)}",
                mm(value),
                "Correct the mark or the front, or give no front if it was not seen.",
            )
    top = -inf if spot.leading is None else spot.leading + BEYOND * hypot(u_leading, held.u_front) + noticeable
    if spot.state == "with front" and -inf < top < held.front:
        return refusal(
            which(spot),
            f"a spot that reaches the front at {mm(held.front)}",
            f"leading edge {mm(spot.leading)}",
            "Correct it, or call it 'measured'.",
        )
    return None


def spot_point(spot: Spot) -> tuple[str, float | None]:
    """Give the point of a spot by which it is placed: the point read, else the middle between its edges."""
    if spot.centre is not None:
        return "centre", spot.centre
    if spot.trailing is not None and spot.leading is not None:
        return "middle", spot.trailing + (spot.leading - spot.trailing) / 2
    return "middle", None


def check_systems(study: Study) -> None:
    """Refuse a plate whose solvent system is not among those that the study lists."""
    listed = {system.name for system in study.systems}
    for plate in study.plates:
        if listed and plate.system not in listed:
            raise refusal(
                f"{which(plate)}, system",
                "one of " + ", ".join(sorted(map(repr, listed))),
                repr(plate.system),
                "Correct the name, or list the system in the study.",
            )


def check_version(where: str, given: int, known: int) -> None:
    """Refuse a record of a newer version than the one that this library knows."""
    if given > known:
        raise refusal(
            where,
            f"at most {known}, the newest that this version of lanewise knows",
            str(given),
            "The record is newer: update lanewise to read it.",
        )


def mm(value: float | None) -> str:
    """Write a length for an error text.

    Examples
    --------
    >>> mm(25.0), mm(None)
    ('25 mm', 'nothing')
    """
    return "nothing" if value is None else f"{value:.10g} mm"


def _positions(seen: dict[str, float]) -> str:
    words = [f"a centre at {mm(at)}" if name == "centre" else f"a {name} edge at {mm(at)}" for name, at in seen.items()]
    return " and ".join(words) or "no position"


def _lane_on(plate: Plate, lane: Lane) -> str:
    return f"{which(lane)} on {which(plate)}"

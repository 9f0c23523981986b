"""What keeps a plan from working, and what is only tighter than usual, lane by lane."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias

import numpy as np

from lanewise.planning.lanes import DUST, Floats, least_room, least_width, panels_of, usual_room
from lanewise.planning.wanted import Wanted

Kind: TypeAlias = Literal["pitch", "lanes", "liquid", "level", "top", "run", "width", "height"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One reason why a plan cannot work.

    Attributes
    ----------
    kind : str
        What it is about.
    wanted, given : str
        What would have been right, and what is.
    """

    kind: Kind
    wanted: str
    given: str


def faults(wanted: Wanted) -> tuple[Fault, ...]:
    """List every reason why a plan cannot work; empty where it can."""
    return (*_faults_across(wanted), *_faults_along(wanted), *_faults_in_vessel(wanted))


def _faults_across(wanted: Wanted) -> list[Fault]:
    found: list[Fault] = []
    keep, spot = wanted.distances, wanted.spot
    if wanted.pitch is not None and wanted.pitch < keep.least_pitch * spot - DUST:
        least = f"lanes at least {keep.least_pitch * spot:.4g} mm apart, {keep.least_pitch:g} spots of {spot:.4g} mm"
        found.append(Fault("pitch", least, f"{wanted.pitch:.4g} mm"))
    need = least_width(wanted)
    if wanted.width < need - DUST:
        way = f" in {wanted.panels} panels" if wanted.standing == "folded" else ""
        lanes = counted_lanes(wanted.count)
        found.append(Fault("lanes", f"a sheet at least {need:.4g} mm wide for {lanes}{way}", f"{wanted.width:.4g} mm"))
    return found


def _faults_along(wanted: Wanted) -> list[Fault]:
    found: list[Fault] = []
    keep, (origin, front, depth) = wanted.distances, wanted.levels()
    gap = liquid_gap(wanted)
    if depth > origin - gap + DUST:
        found.append(
            Fault(
                "liquid",
                f"the liquid at least {gap:.4g} mm below the origin line",
                f"the line at {origin:.4g} mm and liquid {depth:.4g} mm deep",
            )
        )
    if wanted.vessel is not None and depth >= wanted.vessel.height:
        found.append(
            Fault("level", "liquid lower than the vessel", f"{depth:.4g} mm in one {wanted.vessel.height:.4g} mm high")
        )
    if front > wanted.height - keep.least_top + DUST:
        most = f"a front target at least {keep.least_top:g} mm below the upper edge at {wanted.height:.4g} mm"
        found.append(Fault("top", most, f"{front:.4g} mm"))
    if front < origin + keep.least_run - DUST:
        least = f"a front target at least {keep.least_run:g} mm above the origin line at {origin:.4g} mm"
        found.append(Fault("run", least, f"{front:.4g} mm"))
    return found


def _faults_in_vessel(wanted: Wanted) -> list[Fault]:
    found: list[Fault] = []
    vessel = wanted.vessel
    if vessel is None:
        return found
    most = vessel.most_width(wanted.standing, wanted.panels, wanted.distances)
    if wanted.width > most + DUST:
        way = {"flat": "", "folded": f", folded into {wanted.panels} panels", "rolled": ", rolled"}[wanted.standing]
        found.append(
            Fault("width", f"a sheet at most {most:.4g} mm wide{way}, for a vessel {vessel}", f"{wanted.width:.4g} mm")
        )
    if vessel.lid and wanted.height > vessel.height - wanted.distances.headroom + DUST:
        highest = vessel.height - wanted.distances.headroom
        found.append(
            Fault(
                "height",
                f"a sheet at most {highest:.4g} mm high under the lid of the vessel",
                f"{wanted.height:.4g} mm",
            )
        )
    return found


def counted_lanes(number: int) -> str:
    """Give a number of lanes in words.

    Examples
    --------
    >>> counted_lanes(1), counted_lanes(8)
    ('1 lane', '8 lanes')
    """
    return "1 lane" if number == 1 else f"{number} lanes"


def liquid_gap(wanted: Wanted) -> float:
    """Distance from the level of the liquid up to the origin line that must be kept. [mm]."""
    return max(wanted.distances.least_liquid, wanted.spot / 2 + wanted.distances.clear_liquid)


def lane_warnings(wanted: Wanted, places: Floats) -> list[tuple[str, ...]]:
    """Say for each lane what is tighter than usual: an edge, a fold, a neighbour, the liquid.

    Parameters
    ----------
    wanted : Wanted
        What was asked for.
    places : array of shape (N,)
        Where the lanes lie. [mm]

    Returns
    -------
    list of tuple of str, length N
        Sentences; empty where a lane keeps all usual distances.
    """
    origin, _, depth = wanted.levels()
    said: list[tuple[str, ...]] = []
    start = 0
    for panel in panels_of(wanted):
        usual, least = usual_room(panel, wanted), least_room(panel, wanted.spot, wanted.distances)
        on_panel = places[start : start + panel.lanes]
        start += panel.lanes
        for x in on_panel:
            found: list[str] = []
            sides = (
                (x - panel.left, usual.left, panel.folded_left),
                (panel.right - x, usual.right, panel.folded_right),
            )
            found += dict.fromkeys(
                f"{distance:.1f} mm from {'a fold' if folded else 'the edge'}, usually {most:.4g} mm"
                for distance, most, folded in sides
                if distance < most - 1e-6
            )
            gaps = np.abs(places - x)
            near = float(np.min(gaps[gaps > 0], initial=np.inf))
            if near < max(usual.pitch, least.pitch) - 1e-6:
                found.append(f"{near:.1f} mm from the next lane, usually {usual.pitch:.4g} mm")
            if origin - depth < wanted.distances.usual_liquid - 1e-6:
                found.append(f"{origin - depth:.1f} mm above the liquid, usually {wanted.distances.usual_liquid:g} mm")
            said.append(tuple(found))
    return said


def plan_warnings(wanted: Wanted) -> tuple[str, ...]:
    """Say what of the sheet as a whole is not as usual."""
    keep, (origin, front, depth) = wanted.distances, wanted.levels()
    found: list[str] = []
    run = front - origin
    if run < keep.usual_run - DUST:
        found.append(
            f"The run is {run:.4g} mm, usually at least {keep.usual_run:g} mm: a reading 0.5 mm off moves Rf by up to "
            f"{0.5 / run:.3f}."
        )
    if wanted.height - front < keep.usual_top - DUST:
        left = f"{wanted.height - front:.4g} mm below the upper edge"
        found.append(f"The front target lies {left}, usually {keep.usual_top:g} mm: watch the end of the run.")
    if not keep.shallow - DUST <= depth <= keep.deep + DUST:
        found.append(f"The liquid is {depth:.4g} mm deep, usually {keep.shallow:g} to {keep.deep:g} mm.")
    if wanted.width < keep.strip - DUST:
        found.append(f"The sheet is {wanted.width:.4g} mm wide, usually at least {keep.strip:g} mm.")
    if wanted.vessel is not None and not wanted.vessel.lid:
        found.append(
            "The vessel has no lid: the front runs slower and bends, Rf shifts, and vapour gets out. Cover it."
        )
        if wanted.height > wanted.vessel.height:
            found.append("The sheet stands out of the vessel.")
    if wanted.count > 1 and wanted.seed is None and wanted.replicates > 1:
        found.append("The order of the lanes is not drawn at random: give a seed.")
    if not wanted.standards:
        found.append("No standard is on the sheet: spots cannot be compared with a known substance.")
    return tuple(found)

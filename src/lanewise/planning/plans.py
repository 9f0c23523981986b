"""The plan of one sheet: where everything lies, what each lane holds, and what to bear in mind."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np

from lanewise.errors import PlanError
from lanewise.model.studies import Study
from lanewise.planning import blanks
from lanewise.planning.checking import counted_lanes, faults, lane_warnings, plan_warnings
from lanewise.planning.distances import USUAL, Distances
from lanewise.planning.lanes import Floats, panels_of, place_lanes
from lanewise.planning.nearest import changes, nearest, some
from lanewise.planning.randomising import Role, lane_order
from lanewise.planning.vessels import Standing, Vessel
from lanewise.planning.wanted import NOT_STATED, Levels, Wanted, names_of

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True, slots=True)
class PlannedLane:
    """One lane of a plan.

    Attributes
    ----------
    label : str
        Its number from the left, 1 for the first.
    x : float
        Middle of the lane from the left side of the sheet. [mm]
    sample : str
        What is spotted there.
    role : {"sample", "standard", "blank"}
    replicate : int
        Which lane of that sample it is, from 1.
    panel : int
        Panel of a folded sheet that it is on, from 1.
    warnings : tuple of str
        What is tighter than usual.
    """

    label: str
    x: float
    sample: str
    role: Role
    replicate: int
    panel: int
    warnings: tuple[str, ...]


@dataclass(frozen=True)
class Plan:
    """A sheet that can work.

    Attributes
    ----------
    wanted : Wanted
        What it was made for.
    lanes : tuple of PlannedLane
        From left to right.
    warnings : tuple of str
        What of the sheet as a whole is not as usual, as sentences.
    """

    wanted: Wanted
    lanes: tuple[PlannedLane, ...]
    warnings: tuple[str, ...]

    @property
    def levels(self) -> Levels:
        """Heights of the origin line and the front target, and depth of the liquid. [mm]."""
        return self.wanted.levels()

    @property
    def positions(self) -> Floats:
        """Middles of the N lanes from the left side, array of shape (N,). [mm]."""
        return np.array([lane.x for lane in self.lanes])

    @property
    def folds(self) -> tuple[float, ...]:
        """Where the sheet is folded, from its left side. [mm]."""
        return self.wanted.folds

    @property
    def volume(self) -> float | None:
        """Volume of liquid that stands as deep as planned; None where the vessel is not known. [mL]."""
        return None if self.wanted.vessel is None else self.wanted.vessel.volume(self.levels.depth)

    def to_frame(self) -> pd.DataFrame:
        """Give the lanes as a table, one row each: lane, x_mm, sample, role, replicate, panel, warnings."""
        import pandas as pd

        rows = [
            (one.label, one.x, one.sample, one.role, one.replicate, one.panel, "; ".join(one.warnings))
            for one in self.lanes
        ]
        names = ("lane", "x_mm", "sample", "role", "replicate", "panel", "warnings")
        return pd.DataFrame(rows, columns=list(names))

    def to_json(self) -> str:
        """Give all of the plan as JSON text: sizes in millimetres, volume in mL, the lanes from left to right."""
        wanted, vessel, levels = self.wanted, self.wanted.vessel, self.levels
        content: dict[str, Any] = {
            "kind": "lanewise plan",
            "plate": wanted.plate,
            "system": wanted.system,
            "stationary_phase": wanted.stationary_phase,
            "sheet": {"width_mm": wanted.width, "height_mm": wanted.height, "standing": wanted.standing},
            "origin_mm": levels.origin,
            "front_target_mm": levels.front,
            "depth_mm": levels.depth,
            "volume_ml": self.volume,
            "folds_mm": list(self.folds),
            "spot_mm": wanted.spot,
            "seed": wanted.seed,
            "vessel": None
            if vessel is None
            else {
                "diameter_mm": vessel.diameter,
                "width_mm": vessel.width,
                "breadth_mm": vessel.breadth,
                "height_mm": vessel.height,
                "lid": vessel.lid,
            },
            "lanes": [
                {
                    "lane": one.label,
                    "x_mm": one.x,
                    "sample": one.sample,
                    "role": one.role,
                    "replicate": one.replicate,
                    "panel": one.panel,
                    "warnings": list(one.warnings),
                }
                for one in self.lanes
            ],
            "warnings": list(self.warnings),
        }
        return json.dumps(content, ensure_ascii=False, indent=1) + "\n"

    def record(self) -> Study:
        """Give the blank record: the plate with its lanes named and nothing read yet.

        The origin is the planned one; the zero of the ruler is the lower edge of the sheet.
        """
        return blanks.record(self.wanted, self.lanes)

    def marks_table(self, spots: int = 1) -> str:
        """Give a blank marks table as CSV text, with the lanes named, to be filled in and read back by `lanewise.read`.

        Parameters
        ----------
        spots : int
            Rows for each lane, one a spot.

        Raises
        ------
        PlanError
            If that is no whole number from 1 to 50.
        """
        return blanks.marks_table(self.wanted, self.lanes, spots)

    def __str__(self) -> str:
        wanted, (origin, front, depth) = self.wanted, self.levels
        way = wanted.standing + (f" into {wanted.panels} panels" if self.folds else "")
        lines = [
            f"Plate {wanted.plate}: {counted_lanes(len(self.lanes))} on a sheet {wanted.width:g} mm wide and "
            f"{wanted.height:g} mm high, {way}",
            f"origin line at {origin:g} mm, front target at {front:g} mm, liquid {depth:g} mm deep"
            + ("" if self.volume is None else f" ({self.volume:.0f} mL)"),
        ]
        if self.folds:
            lines.append("fold at " + ", ".join(f"{x:.1f}" for x in self.folds) + " mm from the left")
        lines += [
            f"lane {one.label} at {one.x:.1f} mm: {one.sample} ({one.role})" + "".join(f"; {w}" for w in one.warnings)
            for one in self.lanes
        ]
        return "\n".join([*lines, *self.warnings])


def plan(
    samples: Sequence[str],
    standards: Sequence[str] = (),
    *,
    width: float,
    height: float,
    replicates: int = 1,
    standard_replicates: int = 1,
    blank: bool = False,
    seed: int | None = None,
    spot: float = 3.0,
    pitch: float | None = None,
    origin: float | None = None,
    front: float | None = None,
    depth: float | None = None,
    vessel: Vessel | None = None,
    standing: Standing = "flat",
    panels: int = 2,
    system: str = NOT_STATED,
    stationary_phase: str = NOT_STATED,
    plate: str = "1",
    title: str = "",
    distances: Distances = USUAL,
) -> Plan:
    """Plan a sheet: lanes, lines, liquid, folds.

    Parameters
    ----------
    samples, standards : sequence of str
        What is to be spotted. Standards are put beside samples.
    width, height : float
        Size of the sheet, the height along the run. [mm]
    replicates, standard_replicates : int
        Lanes of each sample and of each standard.
    blank : bool
        True for one lane without sample.
    seed : int or None
        Draws the order of the lanes; the same seed gives the same plan on any machine. None for the order as given.
    spot : float
        Diameter of a spot as it is applied. [mm]
    pitch : float or None
        Distance of neighbouring lanes; None to use the room there is. [mm]
    origin, front, depth : float or None
        Height of the origin line and of the front target, depth of the liquid; None for the usual. [mm]
    vessel : Vessel or None
        Inner size of the vessel and whether it has a lid; None where that is not known.
    standing : {"flat", "folded", "rolled"}
        How the sheet stands in it.
    panels : int
        Panels of a folded sheet; folds run along the lanes and part it evenly.
    system, stationary_phase, plate, title : str
        For the record.
    distances : Distances
        Least and usual distances.

    Returns
    -------
    Plan
        Which can work; what is tighter than usual stands in the warnings of the lanes and of the plan.

    Raises
    ------
    PlanError
        If it cannot work: the text gives every reason, the nearest plan that works and others near to it; attribute
        `nearest` is that plan. Also if a value is not possible by itself.

    Examples
    --------
    >>> beaker = Vessel(diameter=120, height=120)
    >>> found = plan(["U1", "U2", "U3"], ["blue", "red"], width=100, height=100, vessel=beaker)
    >>> [(lane.sample, lane.x) for lane in found.lanes]
    [('U1', 10.0), ('blue', 30.0), ('U2', 50.0), ('red', 70.0), ('U3', 90.0)]
    >>> found.levels, round(found.volume)
    (Levels(origin=15.0, front=90.0, depth=10.0), 113)
    >>> plan(["U1", "U2", "U3"], ["blue", "red"], width=30, height=100)
    Traceback (most recent call last):
    lanewise.errors.PlanError: plan: wanted a sheet at least 31 mm wide for 5 lanes, given 30 mm. The nearest plan that
    works: a sheet 31 mm wide instead of 30 mm. Others near: spots of 2.8 mm instead of 3 mm; or 2 samples instead of 3.
    """
    wanted = Wanted(
        samples=names_of("samples", samples),
        standards=names_of("standards", standards),
        replicates=replicates,
        standard_replicates=standard_replicates,
        blank=blank,
        seed=seed,
        width=width,
        height=height,
        spot=spot,
        pitch=pitch,
        origin=origin,
        front=front,
        depth=depth,
        vessel=vessel,
        standing=standing,
        panels=panels,
        distances=distances,
        plate=plate,
        title=title,
        system=system,
        stationary_phase=stationary_phase,
    )
    return plan_of(wanted)


def plan_of(wanted: Wanted) -> Plan:
    """Plan what is wanted, or refuse it; `plan` says the same with its parts named."""
    wrong = faults(wanted)
    if wrong:
        raise _refusal(wanted, "; ".join(f"wanted {one.wanted}, given {one.given}" for one in wrong))
    places = place_lanes(wanted)
    warned = lane_warnings(wanted, places)
    contents = lane_order(
        wanted.samples,
        wanted.standards,
        replicates=wanted.replicates,
        standard_replicates=wanted.standard_replicates,
        blank=wanted.blank,
        seed=wanted.seed,
    )
    panels = [number for number, panel in enumerate(panels_of(wanted), start=1) for _ in range(panel.lanes)]
    lanes = tuple(
        PlannedLane(str(number), float(x), content.sample, content.role, content.replicate, panel, said)
        for number, (x, content, panel, said) in enumerate(zip(places, contents, panels, warned, strict=True), start=1)
    )
    return Plan(wanted, lanes, (*plan_warnings(wanted), *_alone(lanes, bool(wanted.standards))))


def _alone(lanes: Sequence[PlannedLane], any_standard: bool) -> tuple[str, ...]:
    """Name the lanes of samples that have no standard beside them, where there are standards at all."""
    if not any_standard:
        return ()
    roles = ["", *(lane.role for lane in lanes), ""]
    alone = [
        lane.label
        for place, lane in enumerate(lanes)
        if lane.role == "sample" and "standard" not in (roles[place], roles[place + 2])
    ]
    if not alone:
        return ()
    return (f"No standard stands beside {'lane' if len(alone) == 1 else 'lanes'} {', '.join(alone)}.",)


def _refusal(wanted: Wanted, reasons: str) -> PlanError:
    found, best = nearest(wanted), "The nearest plan that works"
    if not found:
        one = some(wanted)
        if one is None:
            return PlanError(f"plan: {reasons}. No plan near to it was found that works: change several of these.")
        found, best = [one], "A plan that works, perhaps not the nearest"
    said = [" and ".join(changes(wanted, one)) for one in found]
    others = f" Others near: {'; or '.join(said[1:])}." if said[1:] else ""
    refused = PlanError(f"plan: {reasons}. {best}: {said[0]}.{others}")
    refused.nearest = plan_of(found[0])
    return refused

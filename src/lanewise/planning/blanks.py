"""Blank forms of a plan: a record and a marks table in which the lanes are named and nothing is read yet."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence
from typing import Protocol

from lanewise.errors import PlanError
from lanewise.model.notation import parse_system
from lanewise.model.plates import Lane, Plate, Reading, Role, Sheet, Zero
from lanewise.model.solvents import SolventSystem
from lanewise.model.studies import Study
from lanewise.planning.salts import molar_system
from lanewise.planning.wanted import NOT_STATED, Wanted

MOST_SPOTS = 50
ZERO: Zero = "sheet edge"

COLUMNS = (
    *("lane", "sample", "role", "spot", "origin_mm", "front_mm", "trailing_mm", "centre_mm", "leading_mm"),
    *("state", "colour", "note", "plate", "system", "layer", "height_mm", "zero", "minutes"),
)
"""Headings of the marks table, as `lanewise.read` understands them; the lane first, lest a row begin with ``#``."""

HOW_TO = (
    "Fill in origin_mm, front_mm and centre_mm (or trailing_mm and leading_mm), in mm from the lower edge.",
    "Under minutes write how long the run took, from dipping to taking out; once is enough.",
    "One row a spot: copy a row for each further spot and number it; remove rows that are left over.",
    "Under state write 'absent' where a lane shows no spot, 'at origin' or 'with front' where one stayed with a line.",
)


class NamedLane(Protocol):
    """What a blank form says of a lane."""

    @property
    def label(self) -> str:
        """Name of the lane."""
        ...

    @property
    def x(self) -> float:
        """Where it lies. [mm]."""
        ...

    @property
    def sample(self) -> str:
        """What is spotted there."""
        ...

    @property
    def role(self) -> Role:
        """What the lane is for."""
        ...

    @property
    def replicate(self) -> int:
        """Which lane of its sample it is."""
        ...


def planned_words(wanted: Wanted) -> str:
    """Say what was planned, in one line for a note."""
    origin, front, depth = wanted.levels()
    drawn = "order as given" if wanted.seed is None else f"order drawn with seed {wanted.seed}"
    return (
        f"Planned: origin line at {origin:g} mm, front target at {front:g} mm, liquid {depth:g} mm deep, "
        f"spots of {wanted.spot:g} mm, sheet {wanted.standing}, {drawn}."
    )


def record(wanted: Wanted, lanes: Sequence[NamedLane]) -> Study:
    """Make the blank record of a plan; see `lanewise.planning.plans.Plan.record`."""
    plate = Plate(
        label=wanted.plate,
        system=wanted.system,
        sheet=Sheet(stationary_phase=wanted.stationary_phase, width=wanted.width, height=wanted.height),
        reading=Reading(zero=ZERO),
        origin=wanted.levels().origin,
        lanes=tuple(
            Lane(
                label=lane.label,
                sample=lane.sample,
                role=lane.role,
                factors=_factors(wanted, lane),
                note=f"planned {lane.x:.1f} mm from the left side",
            )
            for lane in lanes
        ),
        note=f"{planned_words(wanted)} The origin is the planned one: put in what was read.",
    )
    systems = () if wanted.system == NOT_STATED else (_system(wanted.system),)
    return Study(title=wanted.title, systems=systems, plates=(plate,))


def _system(text: str) -> SolventSystem:
    """Take a solvent system apart; amounts of substance too, where the molar mass is known."""
    try:
        return molar_system(text) or parse_system(text)
    except PlanError:
        return parse_system(text)


def marks_table(wanted: Wanted, lanes: Sequence[NamedLane], spots: int) -> str:
    """Make the blank marks table of a plan; see `lanewise.planning.plans.Plan.marks_table`."""
    if not isinstance(spots, int) or isinstance(spots, bool) or not 1 <= spots <= MOST_SPOTS:
        number = f"a whole number from 1 to {MOST_SPOTS}"
        raise PlanError(f"marks table, spots: wanted {number}, given {spots!r}. Correct it.")
    factors = _factor_names(wanted)
    out = io.StringIO()
    out.write(f"# {planned_words(wanted)}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow((*COLUMNS, *factors))
    out.writelines(f"# {line}\n" for line in HOW_TO)
    for lane in lanes:
        held = {
            "plate": wanted.plate,
            "system": wanted.system,
            "lane": lane.label,
            "sample": lane.sample,
            "role": lane.role,
            "layer": wanted.stationary_phase,
            "height_mm": f"{wanted.height:g}",
            "zero": ZERO,
            **_factors(wanted, lane),
        }
        for spot in range(1, spots + 1):
            writer.writerow([str(spot) if name == "spot" else held.get(name, "") for name in (*COLUMNS, *factors)])
    return out.getvalue()


def _factor_names(wanted: Wanted) -> tuple[str, ...]:
    return ("replicate",) if wanted.replicates > 1 or wanted.standard_replicates > 1 else ()


def _factors(wanted: Wanted, lane: NamedLane) -> dict[str, str]:
    return {name: str(lane.replicate) for name in _factor_names(wanted)}

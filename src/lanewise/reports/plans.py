"""The report of a plan: what to do on the bench, lane by lane, and what to bear in mind."""

from __future__ import annotations

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import fields, replace

from lanewise.document import Block, Bullets, DataColumn, DataTable, Paragraph, Report, Section, Table
from lanewise.errors import PlanError
from lanewise.figures.sheet_layout import Kind, Page, check_page, way_words
from lanewise.figures.sheets import sheet_figure
from lanewise.figures.words import millimetres
from lanewise.model.record import encode
from lanewise.planning.cautions import cautions
from lanewise.planning.checking import counted_lanes
from lanewise.planning.distances import Distances
from lanewise.planning.plans import Plan
from lanewise.reports.recipes import cautions_section
from lanewise.reports.tables import make_table

SHEET_CAPTION = "The sheet to print; it is true to scale in its own file, printed at 100 %"

ORDER_DRAWN = (
    "The order of the lanes was drawn with seed {seed}; the same seed draws it again. Whoever reads the sheet need not "
    "know it beforehand."
)


def plan_report(
    plan: Plan,
    *,
    title: str = "",
    page: Page = "A4",
    kind: Kind = "guide",
    sections: Sequence[Section] = (),
    codes: Mapping[str, str] | None = None,
    date: str = "",
) -> Report:
    """Make the report of a plan.

    Parameters
    ----------
    plan : Plan
        From `lanewise.plan`.
    title : str
        Heading; by default the plan's own title.
    page, kind
        Of the printed sheet, see `lanewise.sheet_figure`. Where it does not fit, the report says so in its place.
    sections : sequence of Section
        More to say before the cautions, such as how the solvent system is mixed.
    codes : mapping of str to str
        Hazard statement codes from your supplier's data sheet, as for `lanewise.cautions`.
    date : str
        Day on which the report is made, ``YYYY-MM-DD``, for styles that state it.

    Returns
    -------
    Report
        Ready for any report style; its data table ``lanes`` has one row a lane, its record is the blank one.

    Raises
    ------
    PlanError
        If page or kind is unknown, or a code or its component is none.
    ValueError
        If the date is no date of that form.
    """
    if date and datetime.date.fromisoformat(date).isoformat() != date:
        raise ValueError(f"date: wanted YYYY-MM-DD, given {date!r}")
    check_page(page, kind)
    wanted = plan.wanted
    study = plan.record()
    tight = _tight(plan)
    remarks = [*plan.warnings, *([f"{tight} The table of the lanes says by how much."] if tight else [])]
    found: list[Section] = [
        Section("The lanes", _lanes(plan)),
        Section("Lines, liquid and vessel", _lines(plan)),
        Section("The sheet to print", (_sheet(plan, page, kind),)),
        Section("On the bench", (Bullets(_steps(plan)),)),
        *sections,
        Section("What to bear in mind", (Bullets(tuple(remarks)) if remarks else Paragraph("All is as usual."),)),
        Section("Distances that were kept", (_distances(wanted.distances),)),
        cautions_section(cautions(study.systems, codes=codes)),
    ]
    return Report(
        title or wanted.title or f"Plan of plate {wanted.plate}",
        _summary(plan),
        tuple(found),
        data=(_data(plan),),
        record=encode(study),
        date=date,
    )


def _summary(plan: Plan) -> tuple[str, ...]:
    wanted, levels = plan.wanted, plan.levels
    size = f"{millimetres(wanted.width)} mm wide and {millimetres(wanted.height)} mm high"
    first = f"{counted_lanes(len(plan.lanes))} on a sheet {size}, {way_words(plan)}"
    liquid = f"Liquid {millimetres(levels.depth)} mm deep" + (
        "." if plan.volume is None else f", {plan.volume:.0f} mL in this vessel."
    )
    return tuple(
        text
        for text in (
            f"{first}; developed in {wanted.system}." if wanted.system != "not stated" else f"{first}.",
            f"Origin line at {millimetres(levels.origin)} mm and front target at {millimetres(levels.front)} mm above "
            f"the lower edge, a run of {millimetres(levels.front - levels.origin)} mm.",
            liquid,
            _tight(plan),
        )
        if text
    )


def _tight(plan: Plan) -> str:
    """Name the lanes that are tighter than usual; empty where none is."""
    tight = [lane.label for lane in plan.lanes if lane.warnings]
    return f"Tighter than usual: {'lane' if len(tight) == 1 else 'lanes'} {', '.join(tight)}." if tight else ""


def _lanes(plan: Plan) -> tuple[Block, ...]:
    rows = [
        (
            one.label,
            f"{one.x:.1f}",
            one.sample,
            one.role + (f", no. {one.replicate}" if one.replicate > 1 else ""),
            "; ".join(one.warnings),
        )
        for one in plan.lanes
    ]
    header = "Lane | From the left [mm] | What is spotted | Role | Tighter than usual"
    table = make_table("The lanes from left to right.", header, rows, "From the left [mm]")
    seed = plan.wanted.seed
    drawn = "The lanes are in the order given." if seed is None else ORDER_DRAWN.format(seed=seed)
    return (table, Paragraph(drawn))


def _lines(plan: Plan) -> tuple[Block, ...]:
    wanted, levels = plan.wanted, plan.levels
    rows = [
        ("origin line", millimetres(levels.origin)),
        ("front target", millimetres(levels.front)),
        ("level of the liquid", millimetres(levels.depth)),
    ]
    lines = Table("Heights above the lower edge of the sheet.", ("Line", "Height [mm]"), tuple(rows), (False, True))
    blocks: list[Block] = [lines]
    if plan.folds:
        places = ", ".join(millimetres(x) for x in plan.folds)
        blocks.append(Paragraph(f"Folded into {wanted.panels} panels, at {places} mm from the left side."))
    if wanted.vessel is not None:
        blocks.append(
            Paragraph(
                f"Vessel: {wanted.vessel}. {plan.volume:.0f} mL stand {millimetres(levels.depth)} mm deep in it; what "
                "the sheet soaks up is not counted."
            )
        )
    return tuple(blocks)


def _sheet(plan: Plan, page: Page, kind: Kind) -> Block:
    try:
        return replace(sheet_figure(plan, page, kind), caption=f"{SHEET_CAPTION} on {page}.")
    except PlanError as refused:
        return Paragraph(f"No sheet to print: {refused}")


def _steps(plan: Plan) -> tuple[str, ...]:
    wanted = plan.wanted
    origin, front, depth = (millimetres(height) for height in plan.levels)
    steps = [
        f"Draw the origin line {origin} mm above the lower edge and mark the lanes, in pencil: ink runs.",
        f"Spot each lane, at most {millimetres(wanted.spot)} mm across, with the same number of coats in each; dry "
        "between coats.",
        f"Pour the liquid {depth} mm deep before the sheet goes in; the origin line stays above it.",
    ]
    if wanted.vessel is None or wanted.vessel.lid:
        steps.append("Keep the lid on, do not move the vessel, and let the sheet touch no wall.")
    steps += [
        f"Take the sheet out when the front reaches {front} mm and mark the front at once, lane by lane.",
        "Let it dry where vapours are drawn off, outline the spots, and read all positions from the lower edge, with "
        "one ruler.",
    ]
    return tuple(steps)


def _distances(distances: Distances) -> Block:
    rows = [
        (
            one.metadata["meaning"],
            f"{getattr(distances, one.name):g}",
            one.metadata["source"] if getattr(distances, one.name) == one.default else "set by the user",
        )
        for one in fields(distances)
    ]
    return Table(
        "Distances, in millimetres where nothing else is said.",
        ("What", "Value", "Where it comes from"),
        tuple(rows),
        (False, True, False),
    )


def _data(plan: Plan) -> DataTable:
    lanes = plan.lanes
    return DataTable(
        "lanes",
        "One lane of the plan.",
        (
            DataColumn("lane", "text", "", "label of the lane", tuple(one.label for one in lanes)),
            DataColumn("x_mm", "number", "mm", "middle of the lane from the left side", tuple(one.x for one in lanes)),
            DataColumn("sample", "text", "", "what is spotted there", tuple(one.sample for one in lanes)),
            DataColumn("role", "text", "", "sample, standard or blank", tuple(one.role for one in lanes)),
            DataColumn(
                "replicate", "number", "1", "which lane of its sample", tuple(float(one.replicate) for one in lanes)
            ),
            DataColumn("panel", "number", "1", "panel of a folded sheet", tuple(float(one.panel) for one in lanes)),
        ),
        keys=("lane",),
    )

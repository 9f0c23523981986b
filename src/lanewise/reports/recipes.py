"""The report of a recipe: what to measure, how to mix, how long the run takes, and what to bear in mind."""

from __future__ import annotations

import datetime
from collections.abc import Sequence

from lanewise.document import Block, Bullets, DataColumn, DataTable, Paragraph, Report, Section, Table
from lanewise.planning.cautions import LOCAL_RULES, NOT_THE_SUM, Cautions
from lanewise.planning.fronts import Observation
from lanewise.planning.kitchen import KitchenSolution
from lanewise.planning.parts import amount, error_words, found_words
from lanewise.planning.recipes import Recipe, volume_words
from lanewise.planning.running import RunningTime
from lanewise.uncertainty.rounding import decimals_for, round_half_up


def recipe_report(
    recipe: Recipe,
    cautions: Cautions,
    *,
    running: RunningTime | None = None,
    kitchen: KitchenSolution | None = None,
    traps: Sequence[str] = (),
    title: str = "",
    date: str = "",
) -> Report:
    """Make the report of a recipe.

    Parameters
    ----------
    recipe : Recipe
        From `lanewise.recipe`.
    cautions : Cautions
        From `lanewise.cautions`; no recipe is reported without them.
    running : RunningTime or None
        From `lanewise.running_time`, where a run was observed.
    kitchen : KitchenSolution or None
        The same salt water in kitchen measures.
    traps : sequence of str
        More remarks on the recipe.
    title : str
        Heading; by default the name of the system.
    date : str
        Day on which the report is made, ``YYYY-MM-DD``, for styles that state it.

    Returns
    -------
    Report
        Ready for any report style; its data table ``parts`` has one row a component.

    Raises
    ------
    ValueError
        If the date is no date of that form.
    """
    if date and datetime.date.fromisoformat(date).isoformat() != date:
        raise ValueError(f"date: wanted YYYY-MM-DD, given {date!r}")
    sections = [*recipe_sections(recipe, kitchen=kitchen, traps=traps)]
    sections += [running_section(running)] if running is not None else []
    sections.append(cautions_section(cautions))
    return Report(
        title or f"Recipe: {recipe.system.name}",
        _summary(recipe, running, traps),
        tuple(sections),
        data=(_data(recipe),),
        date=date,
    )


def recipe_sections(
    recipe: Recipe, *, kitchen: KitchenSolution | None = None, traps: Sequence[str] = ()
) -> tuple[Section, ...]:
    """Give the sections that say what to measure and how to mix, for a report of their own or that of a plan."""
    found = [Section("What to measure", (_table(recipe),)), Section("How to mix", (Bullets(recipe.steps),))]
    if kitchen is not None:
        found.append(Section("In kitchen measures", (Paragraph(f"{kitchen}."), Bullets(_kitchen(kitchen)))))
    remarks = (*traps, *recipe.remarks)
    if remarks:
        found.append(Section("Remarks on the recipe", (Bullets(remarks),)))
    return tuple(found)


def running_section(running: RunningTime) -> Section:
    """Give the section on the time of the run."""
    first, *rest = str(running).split("\n")
    blocks: list[Block] = [Paragraph(first), _seen(running.observations)]
    if running.basis != "several sheets":
        lag = f", after a lag of {round_half_up(running.lag, 1)} min" if running.lag else ""
        blocks.append(Paragraph(f"Square of the front over time: {round_half_up(running.kappa, 0)} mm²/min{lag}."))
    return Section("How long it runs", (*blocks, Bullets(tuple(rest))))


def cautions_section(cautions: Cautions) -> Section:
    """Give the section of cautions, with its sources."""
    blocks: list[Block] = [Paragraph(LOCAL_RULES)]
    if cautions.about:
        blocks.append(Bullets(cautions.about))
    blocks.append(Bullets(cautions.general))
    sources = f" Sources: {'; '.join(cautions.sources)}." if cautions.sources else ""
    blocks.append(Paragraph(NOT_THE_SUM + sources))
    return Section("Cautions", tuple(blocks))


def _summary(recipe: Recipe, running: RunningTime | None, traps: Sequence[str]) -> tuple[str, ...]:
    taken = ", ".join(f"{amount(one.take)} {one.unit} {one.substance}" for one in recipe.parts if one.take > 0.0)
    layer = f" of the {recipe.system.phase} phase" if recipe.system.phase else ""
    said = [f"{taken}: {amount(recipe.total)} mL are mixed, for {volume_words(recipe)} mL{layer} that are wanted."]
    if running is not None:
        said.append(str(running).split("\n", maxsplit=1)[0])
    return (*said, *traps)


def _table(recipe: Recipe) -> Table:
    rows = []
    for one in recipe.parts:
        u = round_half_up(one.u, max(0, decimals_for(one.u))) if one.u > 0.0 else ""
        rows.append(
            (
                one.substance,
                f"{amount(one.take)} {one.unit}",
                f"{u} {one.unit}" if u else "",
                one.how,
                found_words(one),
                error_words(one),
            )
        )
    return Table(
        "What to measure; u: standard uncertainty; error: what rounding to the marks changes.",
        ("Component", "Take", "u", "With", "Comes to", "Error"),
        tuple(rows),
        (False, True, True, False, True, True),
    )


def _kitchen(kitchen: KitchenSolution) -> tuple[str, ...]:
    said = ["Spoons are level, of fine table salt: coarse salt may weigh half as much."]
    if kitchen.kind != "fine table salt":
        said = [f"Spoons are level, of {kitchen.kind}: fine table salt weighs more."]
    if kitchen.wanted is not None:
        off = round_half_up(100 * (kitchen.grams_per_litre / kitchen.wanted - 1.0), 1)
        said.append(f"Chosen from whole spoons and quarter cups; {off} % off what is wanted.")
    return tuple(said)


def _seen(observations: Sequence[Observation]) -> Table:
    runs = any(one.run for one in observations)
    rows = [(*([one.run] if runs else []), f"{one.front:g}", f"{one.minutes:g}") for one in observations]
    header = (*(["Run"] if runs else []), "Front above the liquid [mm]", "Time [min]")
    return Table("What was observed.", header, tuple(rows), (*([False] if runs else []), True, True))


def _data(recipe: Recipe) -> DataTable:
    parts = recipe.parts
    return DataTable(
        "parts",
        "One component of the recipe.",
        (
            DataColumn("component", "text", "", "name of the component", tuple(one.substance for one in parts)),
            DataColumn("unit", "text", "", "unit of what is taken", tuple(one.unit for one in parts)),
            DataColumn("take", "number", "1", "what is taken, in its unit", tuple(one.take for one in parts)),
            DataColumn("u_take", "number", "1", "its standard uncertainty", tuple(one.u for one in parts)),
            DataColumn(
                "wanted",
                "number",
                "1",
                "share by volume, or g/L for what is weighed",
                tuple(one.wanted for one in parts),
            ),
            DataColumn("found", "number", "1", "what is taken comes to", tuple(one.found for one in parts)),
            DataColumn("u_found", "number", "1", "its standard uncertainty", tuple(one.u_found for one in parts)),
        ),
        keys=("component",),
    )

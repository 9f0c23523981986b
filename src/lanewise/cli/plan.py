"""The command ``lanewise plan``: its options."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from lanewise.cli.calling import (
    Codes,
    StyleOption,
    Without,
    codes_of,
    refusals_as_exit,
    registry_without,
    settings,
    waiting,
)


def plan(
    sheet: Annotated[str, typer.Option("--sheet", metavar="WIDTHxHEIGHT", help="Size of the sheet, in mm.")],
    sample: Annotated[
        list[str] | None, typer.Option("--sample", metavar="NAME", help="Name of a sample; may be repeated.")
    ] = None,
    standard: Annotated[
        list[str] | None, typer.Option("--standard", metavar="NAME", help="Name of a standard; may be repeated.")
    ] = None,
    blank: Annotated[bool, typer.Option("--blank", help="Leave one lane without sample.")] = False,
    replicates: Annotated[int, typer.Option(help="Lanes of each sample.")] = 1,
    standard_replicates: Annotated[int, typer.Option(help="Lanes of each standard.")] = 1,
    seed: Annotated[int | None, typer.Option(help="Draw the order of the lanes; the same seed draws the same.")] = None,
    vessel: Annotated[
        str,
        typer.Option(metavar="SIZE", help="Inner size in mm: diameter x height, or width x breadth x height."),
    ] = "",
    no_lid: Annotated[bool, typer.Option("--no-lid", help="The vessel is not covered.")] = False,
    standing: Annotated[str, typer.Option(help="How the sheet stands: flat, folded or rolled.")] = "flat",
    panels: Annotated[int, typer.Option(help="Panels of a folded sheet.")] = 2,
    system: Annotated[
        str, typer.Option(help="Solvent system; with its parts and --vessel, the report says how to mix it.")
    ] = "not stated",
    layer: Annotated[str, typer.Option(help="Stationary phase: the paper or layer.")] = "not stated",
    spot: Annotated[float, typer.Option(help="Diameter of a spot, in mm.")] = 3.0,
    pitch: Annotated[float | None, typer.Option(help="Distance of lanes, in mm; by default as there is room.")] = None,
    origin: Annotated[float | None, typer.Option(help="Height of the origin line, in mm.")] = None,
    front: Annotated[float | None, typer.Option(help="Height of the front target, in mm.")] = None,
    depth: Annotated[float | None, typer.Option(help="Depth of the liquid, in mm.")] = None,
    codes: Codes = None,
    plate: Annotated[str, typer.Option(help="Label of the plate.")] = "1",
    title: Annotated[str, typer.Option(help="Title of the study.")] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", help="File to write: the lanes as .csv, the plan as .json, else a report by its ending."),
    ] = None,
    style: Annotated[str | None, typer.Option(help="Report style of --out, or of what is printed.")] = None,
    style_option: StyleOption = None,
    print_to: Annotated[
        list[Path] | None,
        typer.Option("--print", metavar="PATH", help="Sheet to print true to scale, .pdf or .svg; may be repeated."),
    ] = None,
    page: Annotated[str, typer.Option(help="Paper for --print: A4, Letter or A3.")] = "A4",
    kind: Annotated[
        str, typer.Option(help="Sheet of --print: guide (lines across, to lay under) or outline (pointers round it).")
    ] = "guide",
    table: Annotated[Path | None, typer.Option("--table", help="Blank table of marks to fill in, .csv.")] = None,
    spots: Annotated[int, typer.Option(help="Rows of --table for each lane.")] = 1,
    record: Annotated[Path | None, typer.Option("--record", help="Blank record, .json.")] = None,
    without_plugin: Without = None,
) -> None:
    """Plan a sheet: lanes, lines, liquid, folds; print it true to scale; write blank forms with the lanes named.

    Example: lanewise plan --sheet 100x100 --sample "blue pen" --standard "dye A" --print sheet.pdf --table blank.csv
    """
    with refusals_as_exit(), waiting("planning"):
        from lanewise.cli import planning

        width, height = planning.sheet_size(sheet)
        registry = registry_without(without_plugin)
        found = planning.make_plan(
            sample or (),
            standard or (),
            width=width,
            height=height,
            blank=blank,
            replicates=replicates,
            standard_replicates=standard_replicates,
            seed=seed,
            vessel=planning.vessel_size(vessel, not no_lid),
            standing=standing,  # type: ignore[arg-type]
            panels=panels,
            system=system,
            stationary_phase=layer,
            spot=spot,
            pitch=pitch,
            origin=origin,
            front=front,
            depth=depth,
            plate=plate,
            title=title,
        )
        drawn = planning.Drawn(print_to or (), page, kind)  # type: ignore[arg-type]
        files = planning.forms(found, drawn, table=table, spots=spots, record=record)
        options = settings(style_option, "--style-option")
        planning.deliver_plan(found, files, drawn, out, style, options, registry, codes_of(codes))

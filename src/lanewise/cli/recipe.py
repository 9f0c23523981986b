"""The command ``lanewise recipe``: its options, and what it does with them."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

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
from lanewise.errors import OptionError

if TYPE_CHECKING:
    from lanewise.planning.cautions import Cautions
    from lanewise.planning.fronts import Observation
    from lanewise.planning.glassware import Glassware
    from lanewise.planning.kitchen import KitchenSolution
    from lanewise.planning.recipes import Recipe
    from lanewise.planning.running import RunningTime

CHOOSE = "choose"


def recipe(
    system: Annotated[str, typer.Argument(metavar="SYSTEM", help="Solvent system with its parts.")],
    volume: Annotated[float | None, typer.Option(help="Volume that is wanted, in mL.")] = None,
    vessel: Annotated[
        str,
        typer.Option(
            metavar="SIZE", help="Or the vessel, in mm: diameter x height, or width x breadth x height, with --depth."
        ),
    ] = "",
    depth: Annotated[float | None, typer.Option(help="Depth of the liquid in the vessel, in mm.")] = None,
    cylinder: Annotated[
        list[str] | None,
        typer.Option(
            "--cylinder",
            metavar="CAPACITY/DIVISION/TOLERANCE",
            help="Graduated cylinder at hand, in mL; the tolerance may be left out; may be repeated.",
        ),
    ] = None,
    pipette: Annotated[
        list[str] | None,
        typer.Option(
            "--pipette",
            metavar="CAPACITY/DIVISION/TOLERANCE",
            help="Pipette at hand, in mL; with one mark CAPACITY/TOLERANCE; may be repeated.",
        ),
    ] = None,
    balance: Annotated[float, typer.Option(help="Step of the balance, in g.")] = 0.01,
    strength: Annotated[
        list[str] | None,
        typer.Option(
            "--strength",
            metavar="NAME=PERCENT",
            help="Liquid bought diluted with water, by the per cent by volume on its label; may be repeated.",
        ),
    ] = None,
    phase_share: Annotated[
        float | None,
        typer.Option("--phase-share", help="Share of a mixture of two layers that becomes the one used, 0 to 1."),
    ] = None,
    spare: Annotated[float, typer.Option(help="Share that may be made in excess for rounder parts.")] = 0.2,
    molar_mass: Annotated[
        list[str] | None,
        typer.Option("--molar-mass", metavar="NAME=VALUE", help="Molar mass of a salt, in g/mol; may be repeated."),
    ] = None,
    spotted_from: Annotated[str, typer.Option("--spotted-from", help="Liquid in which the samples are spotted.")] = "",
    kitchen: Annotated[
        str,
        typer.Option(
            metavar="TEXT",
            help="Salt water in kitchen measures: 'choose', or measures to check, such as '1/8 teaspoon in 3 cups'.",
        ),
    ] = "",
    salt: Annotated[
        str, typer.Option(help="Kind of salt for --kitchen: fine table salt, fine sea salt or coarse salt.")
    ] = "fine table salt",
    front: Annotated[
        float | None, typer.Option(help="Height of the front target above the liquid, in mm, for the time of the run.")
    ] = None,
    observed: Annotated[
        list[str] | None,
        typer.Option(
            "--observed",
            metavar="FRONT:MINUTES:RUN",
            help="Front above the liquid in mm and its time; the name of the run may be left out; may be repeated.",
        ),
    ] = None,
    earlier: Annotated[
        list[Path] | None,
        typer.Option(
            "--earlier",
            metavar="PATH",
            help="Readings of earlier plates in this system, with their minutes; may be repeated.",
        ),
    ] = None,
    earlier_depth: Annotated[
        float | None, typer.Option("--earlier-depth", help="Depth of the liquid in those runs, in mm.")
    ] = None,
    same_sheet: Annotated[bool, typer.Option("--same-sheet", help="The times are of the sheet that runs now.")] = False,
    level: Annotated[float, typer.Option(help="Coverage probability of the interval of the time.")] = 0.95,
    codes: Codes = None,
    title: Annotated[str, typer.Option(help="Heading of the report.")] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", help="File to write: the parts as .csv, all as .json, else a report by its ending."),
    ] = None,
    style: Annotated[str | None, typer.Option(help="Report style of --out, or of what is printed.")] = None,
    style_option: StyleOption = None,
    without_plugin: Without = None,
) -> None:
    """Work out what to measure for a solvent system, how to mix it, how long it runs, and its cautions.

    Example: lanewise recipe "ethyl acetate:ethanol:water 70:35:30" --volume 40 --front 85 --observed 40:6 --out r.html
    """
    with refusals_as_exit(), waiting("working out"):
        from lanewise.planning.cautions import cautions
        from lanewise.planning.recipes import recipe as make_recipe

        wanted, said = _volume(volume, vessel, depth)
        found = make_recipe(
            system,
            wanted,
            glassware=_glassware(cylinder or (), pipette or ()),
            balance=balance,
            strengths=_numbers(strength, "--strength", "2-propanol=70"),
            phase_share=phase_share,
            spare=spare,
            molar_masses=_numbers(molar_mass, "--molar-mass", "'potassium chloride=74.55'"),
            applied_in=spotted_from,
        )
        measures, wrong = _kitchen(kitchen, salt, found)
        running = _running(
            front,
            [*map(_observation, observed or ()), *_earlier(earlier or (), system, earlier_depth)],
            level,
            same_sheet,
        )
        careful = cautions(found.system, codes=codes_of(codes))
        _deliver(
            found,
            careful,
            running,
            measures,
            [text for text in (said, wrong) if text],
            title=title,
            out=out,
            style=style,
            style_options=settings(style_option, "--style-option"),
            without=without_plugin,
        )


def _volume(volume: float | None, vessel: str, depth: float | None) -> tuple[float, str]:
    """Give the volume that is wanted, and what is to be said where it hardly covers the floor of the vessel."""
    from lanewise.cli.planning import vessel_size
    from lanewise.planning.traps import volume_for_depth

    holder = vessel_size(vessel, True)
    if (volume is None) == (depth is None):
        given = "neither" if volume is None else "both"
        raise OptionError(f"wanted one of --volume and --depth (with --vessel), given {given}.")
    if volume is not None:
        return volume, "" if holder is None or not volume > 0.0 else volume_for_depth(volume, holder)
    assert depth is not None
    if holder is None:
        raise OptionError("--depth: wanted the size of the vessel with it, given none. Add --vessel, such as 70x95.")
    if not 0.0 < depth < holder.height:
        raise OptionError(f"--depth: wanted above 0 mm and below the height of the vessel, given {depth:g} mm.")
    return holder.volume(depth), ""


def _glassware(cylinders: Sequence[str], pipettes: Sequence[str]) -> tuple[Glassware, ...]:
    from lanewise.planning.glassware import USUAL_GLASSWARE, parse_glassware

    named = [parse_glassware("cylinder", text) for text in cylinders]
    return (*named, *(parse_glassware("pipette", text) for text in pipettes)) or USUAL_GLASSWARE


def _numbers(given: Sequence[str] | None, flag: str, example: str) -> dict[str, float]:
    numbers = {}
    for name, text in settings(given, flag, example).items():
        try:
            numbers[name] = float(str(text).strip().removesuffix("%"))
        except ValueError:
            raise OptionError(f"{flag}: wanted a number for {name}, given {text!r}. Correct it.") from None
    return numbers


def _kitchen(text: str, kind: str, found: Recipe) -> tuple[KitchenSolution | None, str]:
    """Give the kitchen measures that were asked for or chosen, and what is wrong with them."""
    if not text.strip():
        return None, ""
    from lanewise.planning.kitchen import kitchen_recipe, kitchen_solution
    from lanewise.planning.traps import parts_of, usual_name, wrong_percentage

    salts = [one for one in found.system.components if one.grams_per_litre is not None]
    names = [usual_name(one.substance) for one in salts]
    if names != ["sodium chloride"] or set(parts_of(found.system)) - {"water", "tap water"}:
        raise OptionError("--kitchen: wanted a system of sodium chloride in water, given another. Leave it out.")
    grams = salts[0].grams_per_litre
    assert grams is not None
    if text.strip().lower() == CHOOSE:
        return kitchen_recipe(grams, found.volume, kind=kind), ""
    spoons, inside, water = text.partition(" in ")
    if not inside:
        raise OptionError(f"--kitchen: wanted '1/8 teaspoon in 3 cups' or 'choose', given {text!r}.")
    measures = kitchen_solution(spoons, water, kind=kind)
    return measures, wrong_percentage(measures, grams / 10.0)


def _running(
    front: float | None, observed: Sequence[Observation], level: float, same_sheet: bool
) -> RunningTime | None:
    from lanewise.planning.running import running_time

    if front is None:
        if observed:
            raise OptionError("--observed, --earlier: wanted --front with it, given none. Say how far it is to run.")
        return None
    return running_time(front, observed, level=level, same_sheet=same_sheet)


def _earlier(files: Sequence[Path], system: str, depth: float | None) -> tuple[Observation, ...]:
    """Take the times of earlier runs out of files of readings, which are read as one study."""
    if not files:
        return ()
    from lanewise.files.reading import read
    from lanewise.planning.observed import observations_of

    return observations_of(read(files), system=system, depth=depth)


def _observation(text: str) -> Observation:
    from lanewise.planning.fronts import Observation

    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*:\s*(\d+(?:\.\d+)?)\s*(?::(.*))?", text)
    if found is None:
        raise OptionError(f"--observed: wanted FRONT:MINUTES or FRONT:MINUTES:RUN, such as 40:6.5, given {text!r}.")
    return Observation(float(found[1]), float(found[2]), (found[3] or "").strip())


def _deliver(
    found: Recipe,
    careful: Cautions,
    running: RunningTime | None,
    measures: KitchenSolution | None,
    traps: Sequence[str],
    *,
    title: str,
    out: Path | None,
    style: str | None,
    style_options: Mapping[str, object],
    without: Sequence[str] | None,
) -> None:
    """Write the recipe in the form that the ending asks for, or print it."""
    from lanewise.cli.tasks import deliver_report, style_for
    from lanewise.files.rendering import render
    from lanewise.files.writing import write_together
    from lanewise.reports.recipes import recipe_report

    if out is not None and style is None and out.suffix.lower() in (".csv", ".json"):
        text = (
            _json(found, careful, running, measures, traps)
            if out.suffix.lower() == ".json"
            else found.to_frame().to_csv(index=False, lineterminator="\n")
        )
        for path in write_together([(out, text.encode())]):
            typer.echo(f"Wrote {path}")
        return
    registry = registry_without(without)
    style = style or style_for(out, registry)
    registry.style(style)
    report = recipe_report(
        found,
        careful,
        running=running,
        kitchen=measures,
        traps=traps,
        title=title,
        date=date.today().isoformat(),
    )
    deliver_report(render(report, style, options=style_options, registry=registry), out)


def _json(
    found: Recipe,
    careful: Cautions,
    running: RunningTime | None,
    measures: KitchenSolution | None,
    traps: Sequence[str],
) -> str:
    content = json.loads(found.to_json())
    content["remarks"] = [*traps, *content["remarks"]]
    content["kitchen"] = None if measures is None else str(measures)
    content["running_time"] = None if running is None else json.loads(running.to_json())
    content["cautions"] = json.loads(careful.to_json())
    return json.dumps(content, ensure_ascii=False, indent=1) + "\n"

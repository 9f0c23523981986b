"""What ``lanewise plan`` does, without its options: plan, print, and write what was asked for."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

import typer

from lanewise.cli.tasks import deliver_report, style_for
from lanewise.document import Paragraph, Section
from lanewise.errors import OptionError, PlanError
from lanewise.files.rendering import render
from lanewise.files.writing import write_together
from lanewise.model.record import encode
from lanewise.planning.plans import Plan
from lanewise.planning.plans import plan as make_plan
from lanewise.planning.vessels import Vessel
from lanewise.plugins.registry import Registry

if TYPE_CHECKING:
    from lanewise.figures.sheet_layout import Kind, Page

__all__ = ["Drawn", "deliver_plan", "forms", "make_plan", "sheet_size", "vessel_size"]


_NUMBER = r"\s*(\d+(?:\.\d+)?)\s*"
_BY = "[x×]"


def sheet_size(text: str) -> tuple[float, float]:
    """Take the size of a sheet apart.

    Examples
    --------
    >>> sheet_size("80 x 100")
    (80.0, 100.0)
    """
    found = re.fullmatch(f"{_NUMBER}{_BY}{_NUMBER}", text)
    if not found:
        raise OptionError(f"--sheet: wanted width x height in millimetres, such as 80x100, given {text!r}")
    return float(found[1]), float(found[2])


def vessel_size(text: str, lid: bool) -> Vessel | None:
    """Take the inner size of a vessel apart: diameter x height, or width x breadth x height; empty for none.

    Examples
    --------
    >>> vessel_size("70x95", True).diameter, vessel_size("120x60x110", True).breadth
    (70.0, 60.0)
    """
    if not text.strip():
        return None
    parts = re.split(_BY, text)
    if len(parts) not in (2, 3) or not all(re.fullmatch(_NUMBER, part) for part in parts):
        raise OptionError(
            "--vessel: wanted diameter x height of a round one, or width x breadth x height, in millimetres, such as "
            f"70x95 or 120x60x110, given {text!r}"
        )
    sizes = [float(part) for part in parts]
    if len(sizes) == 2:
        return Vessel(diameter=sizes[0], height=sizes[1], lid=lid)
    return Vessel(width=sizes[0], breadth=sizes[1], height=sizes[2], lid=lid)


class Drawn(NamedTuple):
    """Where the sheet to print goes, on which paper, and of which kind."""

    files: Sequence[Path]
    page: Page
    kind: Kind


def forms(
    found: Plan, drawn: Drawn, *, table: Path | None, spots: int, record: Path | None
) -> list[tuple[Path, bytes]]:
    """Make the sheet and the blank forms that were asked for."""
    files = [(path, _sheet(found, path, drawn)) for path in drawn.files]
    if table is not None:
        _ending(table, "--table", (".csv",))
        files.append((table, found.marks_table(spots).encode()))
    if record is not None:
        _ending(record, "--record", (".json",))
        files.append((record, encode(found.record())))
    return files


def deliver_plan(
    found: Plan,
    files: Sequence[tuple[Path, bytes]],
    drawn: Drawn,
    out: Path | None,
    style: str | None,
    style_options: Mapping[str, object],
    registry: Registry,
    codes: Mapping[str, str],
) -> None:
    """Write the plan and its forms, all made before the first is written; print the report where no file is wanted."""
    whole = list(files)
    paths = [path for path, _ in files] + ([out] if out is not None else [])
    twice = next((path for place, path in enumerate(paths) if path in paths[:place]), None)
    if twice is not None:
        raise OptionError(f"wanted a name of its own for each file, given {str(twice)!r} twice. Rename one of them.")
    rendered = None
    if out is not None and style is None and out.suffix.lower() in (".csv", ".json"):
        as_json = out.suffix.lower() == ".json"
        text = found.to_json() if as_json else found.to_frame().to_csv(index=False, lineterminator="\n")
        whole.append((out, text.encode()))
    elif out is not None or style is not None or not files:
        style = style or style_for(out, registry)
        registry.style(style)
        from lanewise.reports.plans import plan_report

        sections = _mixing(found)
        report = plan_report(
            found, page=drawn.page, kind=drawn.kind, sections=sections, codes=codes, date=date.today().isoformat()
        )
        rendered = render(report, style, options=style_options, registry=registry)
    for path in write_together(whole) if whole else ():
        typer.echo(f"Wrote {path}")
    if rendered is not None:
        deliver_report(rendered, out)


def _mixing(found: Plan) -> tuple[Section, ...]:
    """Say how the solvent system is mixed with usual glassware, where its parts and the vessel are known."""
    from lanewise.planning.recipes import recipe
    from lanewise.reports.recipes import recipe_sections

    if found.volume is None or not found.record().systems:
        return ()
    try:
        return recipe_sections(recipe(found.wanted.system, found.volume))
    except PlanError as refused:
        return (Section("How to mix", (Paragraph(f"No recipe was made: {refused}"),)),)


def _sheet(found: Plan, path: Path, drawn: Drawn) -> bytes:
    from lanewise.figures.sheets import sheet_figure

    _ending(path, "--print", (".pdf", ".svg"))
    return sheet_figure(found, drawn.page, drawn.kind).draw("pdf" if path.suffix.lower() == ".pdf" else "svg")


def _ending(path: Path, flag: str, endings: Sequence[str]) -> None:
    if path.suffix.lower() not in endings:
        raise OptionError(f"{flag}: wanted a file ending in {' or '.join(endings)}, given {path.name!r}")

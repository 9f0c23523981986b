"""What the commands do, without their options: read, measure, report, write."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from lanewise.errors import OptionError, Problem, StyleError
from lanewise.files.reading import check, read
from lanewise.files.rendering import render
from lanewise.files.writing import write, write_together
from lanewise.hooks import Rendered
from lanewise.plugins.registry import Registry

if TYPE_CHECKING:
    import pandas as pd

    from lanewise.analyses.measure import Measurement
    from lanewise.model.studies import Study

PRINTED_STYLE = "text"


def make_report(
    files: Sequence[Path],
    *,
    style: str | None,
    out: Path | None,
    title: str,
    level: float,
    format: str | None,
    options: Mapping[str, object],
    style_options: Mapping[str, object],
    registry: Registry,
    check_bar: str = "",
) -> Rendered:
    """Read the files and lay their report out; the style is known to exist before anything is read."""
    style = style or style_for(out, registry)
    registry.style(style)
    study = _corrected(read(files, format=format, options=options, registry=registry), check_bar)
    from lanewise.reports.study import study_report

    report = study_report(study, title=title, level=level, date=date.today().isoformat())
    return render(report, style, options=style_options, registry=registry)


def deliver_report(rendered: Rendered, out: Path | None) -> None:
    """Write a report and the files beside it, or print it."""
    if out is None:
        sys.stdout.buffer.write(rendered.main)
        if rendered.extras:
            typer.echo("The pictures of this style are written only with --out.", err=True)
        return
    for path in write(out, rendered):
        typer.echo(f"Wrote {path}")


def measure_files(
    files: Sequence[Path],
    *,
    level: float,
    format: str | None,
    options: Mapping[str, object],
    registry: Registry,
    check_bar: str = "",
) -> Measurement:
    """Read the files and measure them."""
    study = _corrected(read(files, format=format, options=options, registry=registry), check_bar)
    from lanewise.analyses.measure import measure
    from lanewise.tables.marks import to_frame

    return measure(to_frame(study), level=level)


def _corrected(study: Study, check_bar: str) -> Study:
    """Correct readings that were taken on a printed scale, by the length of its check bar; as they are without one."""
    if not check_bar:
        return study
    from lanewise.planning.printing import scale_of_print

    found = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*(?::\s*(\d+(?:\.\d+)?)\s*)?", check_bar)
    if found is None:
        raise OptionError(
            f"--check-bar: wanted LENGTH or LENGTH:U in mm, such as 99.2 or 99.2:0.2, given {check_bar!r}"
        )
    return scale_of_print(float(found[1]), None if found[2] is None else float(found[2])).correct(study)


def deliver_measurement(found: Measurement, out: Path | None, *, pairs: bool) -> None:
    """Write the tables in the form that the ending of the file asks for, or print one of them as CSV."""
    if out is None:
        typer.echo(_csv(found.pairs if pairs else found.spots), nl=False)
        return
    ending = out.suffix.lower()
    if ending == ".csv":
        beside = out.with_name(f"{out.stem}-pairs.csv")
        content = [(beside, _csv(found.pairs).encode()), (out, _csv(found.spots).encode())]
    elif ending == ".json":
        content = [(out, _json(found))]
    elif ending == ".nc":
        content = [(out, _netcdf(found))]
    else:
        raise OptionError(f"--out: wanted a file ending in .csv, .json or .nc, given {out.name!r}")
    for path in write_together(content):
        typer.echo(f"Wrote {path}")


def check_files(
    files: Sequence[Path], *, format: str | None, options: Mapping[str, object], registry: Registry
) -> tuple[Problem, ...]:
    """List every problem of the files."""
    return check(files, format=format, options=options, registry=registry)


def make_plugin(name: str, *, import_format: bool, report_style: bool, into: Path | None) -> list[Path]:
    """Write a plugin package of the one kind that was asked for."""
    if import_format == report_style:
        given = "both" if import_format else "neither"
        raise OptionError(f"wanted one of --import-format and --report-style, given {given}.")
    from lanewise.scaffold.packages import new_plugin

    return new_plugin(name, "import-format" if import_format else "report-style", into)


def style_for(out: Path | None, registry: Registry) -> str:
    """Choose the style whose ending the output file has."""
    if out is None:
        return PRINTED_STYLE
    fitting = [entry.name for entry in registry.styles.values() if entry.item.suffix == out.suffix.lower()]
    if len(fitting) == 1:
        return fitting[0]
    if fitting:
        raise StyleError(
            f"several report styles write {out.suffix} files: {', '.join(fitting)}. Name one: --style {fitting[0]}"
        )
    endings = ", ".join(sorted(entry.item.suffix for entry in registry.styles.values()))
    raise StyleError(
        f"no report style writes {out.suffix or 'files without an ending'}. Wanted one of {endings}, or --style"
    )


def _csv(frame: pd.DataFrame) -> str:
    return frame.to_csv(index=False, lineterminator="\n")


def _json(found: Measurement) -> bytes:
    """Both tables, row by row, with the meaning of their columns; an empty cell is null."""
    from lanewise.tables.columns import PAIRS, SPOTS

    columns = {item.name: {"unit": item.unit, "meaning": item.meaning} for item in (*SPOTS, *PAIRS)}
    tables = {
        name: json.loads(frame.to_json(orient="records", double_precision=15))
        for name, frame in (("spots", found.spots), ("pairs", found.pairs))
    }
    content = {"level": found.level, "columns": columns, **tables}
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()


def _netcdf(found: Measurement) -> bytes:
    """Both tables in one netCDF file with CF attributes."""
    import xarray as xr

    from lanewise.tables.marks import to_xarray

    both = xr.merge(
        [to_xarray(found.spots), to_xarray(found.pairs).rename({name: f"pair_{name}" for name in found.pairs})]
    )
    return bytes(both.to_netcdf(engine="scipy"))

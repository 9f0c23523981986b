"""What `lanewise identify` and `lanewise library` do, without their options."""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from lanewise.cli import findings
from lanewise.cli.tasks import style_for
from lanewise.files.libraries import read_library, write_library
from lanewise.files.reading import read
from lanewise.files.writing import write_together
from lanewise.plugins.registry import Registry

if TYPE_CHECKING:
    import pandas as pd

    from lanewise.analyses.identify import Identification
    from lanewise.analyses.sharing import SharedDyes
    from lanewise.model.studies import Study
    from lanewise.tables.rf_library import RfLibrary

TABLES = ("identities", "candidates", "mixtures", "shared")


def identify_files(
    files: Sequence[Path],
    *,
    library: Path | None,
    printed: bool,
    none: float,
    claim: float,
    same: float,
    title: str,
    style: str | None,
    out: Path | None,
    format: str | None,
    options: Mapping[str, object],
    style_options: Mapping[str, object],
    registry: Registry,
) -> None:
    """Identify the spots of the files, and print the answer or write it as tables or as a report."""
    if style is None and out is not None and not findings.writes_tables(out, style):
        style = style_for(out, registry)
    if style is not None:
        registry.style(style)
    study = read(files, format=format, options=options, registry=registry)
    known = _library(library, printed)
    if style is not None:
        from lanewise.reports.identification import identification_report

        report = identification_report(
            study, known, title=title, none=none, claim=claim, same=same, date=date.today().isoformat()
        )
        findings.deliver_report(report, out, style, dict(style_options), registry)
        return
    found, shared = _identified(study, known, none, claim, same)
    if out is None:
        typer.echo("\n".join(_lines(found, shared)))
        return
    for path in write_together(_contents(found, shared, out)):
        typer.echo(f"Wrote {path}")


def tend_library(
    files: Sequence[Path],
    *,
    readings: bool,
    source: str,
    out: Path | None,
    window: float | None,
    format: str | None,
    options: Mapping[str, object],
    registry: Registry,
) -> None:
    """Put libraries together, or make one of the standards of readings; write it, or say what it tells apart."""
    if readings:
        library = _of_readings(files, source, format, options, registry)
    else:
        library = read_library(files[0])
        for path in files[1:]:
            library = library.with_entries(read_library(path).entries)
    typer.echo(str(library))
    for sentence in library.disagreements():
        typer.echo(sentence)
    if out is not None:
        typer.echo(f"Wrote {write_library(library, out)}")
        return
    from lanewise.analyses.discrimination import discrimination

    found = discrimination(library, window=window)
    for row in found.systems.to_dict("records"):
        where = str(row["system"]) if row["layer"] == "all" else f"{row['system']} on {row['layer']}"
        bits = "" if row["bits"] != row["bits"] else f", {row['bits']:.2f} bits"
        typer.echo(
            f"{where}: {row['dyes']} dyes, discriminating power {row['power']:.2f}, mean list length "
            f"{row['list_length']:.2f}{bits}"
        )
    typer.echo(str(found))


def _library(path: Path | None, printed: bool) -> RfLibrary | None:
    from lanewise.tables.rf_library import RfLibrary, printed_library

    library = read_library(path) if path is not None else RfLibrary()
    if printed:
        library = printed_library().with_entries(library.entries)
    return library if len(library) else None


def _of_readings(
    files: Sequence[Path], source: str, format: str | None, options: Mapping[str, object], registry: Registry
) -> RfLibrary:
    from lanewise.analyses.measure import measure
    from lanewise.analyses.own_library import library_of
    from lanewise.tables.marks import to_frame

    if not source:
        source = ", ".join(path.name for path in files)
    study = read(files, format=format, options=options, registry=registry)
    return library_of(measure(to_frame(study)), source)


def _identified(
    study: Study, library: RfLibrary | None, none: float, claim: float, same: float
) -> tuple[Identification, SharedDyes]:
    from lanewise.analyses.identify import identify
    from lanewise.analyses.measure import measure
    from lanewise.analyses.sharing import shared_dyes
    from lanewise.tables.marks import to_frame

    measurement = measure(to_frame(study))
    found = identify(measurement, library, none=none, claim=claim)
    return found, shared_dyes(measurement, found, same=same, claim=claim)


def _lines(found: Identification, shared: SharedDyes) -> Iterator[str]:
    yield str(found)
    yield ""
    yield from shared.sentences()
    yield ""
    yield from found.notes
    yield shared.note


def _frames(found: Identification, shared: SharedDyes) -> dict[str, pd.DataFrame]:
    from lanewise.reports.identification import plain

    tables = (found.to_frame(), found.candidates, found.mixtures, shared.groups.drop(columns="rows"))
    return {name: plain(frame) for name, frame in zip(TABLES, tables, strict=True)}


def _contents(found: Identification, shared: SharedDyes, out: Path) -> list[tuple[Path, bytes]]:
    """Give the files to write: tables beside one another, or all in one JSON object."""
    frames = _frames(found, shared)
    if out.suffix.lower() == ".csv":
        paths = {name: out.with_name(f"{out.stem}-{name}.csv") for name in TABLES} | {"identities": out}
        made = [
            (paths[name], frame.to_csv(index=False, lineterminator="\n").encode()) for name, frame in frames.items()
        ]
        return [*made[1:], made[0]]
    tables = {name: json.loads(frame.to_json(orient="records", double_precision=15)) for name, frame in frames.items()}
    content = {
        "none": found.none,
        "claim": found.claim,
        "same": shared.same,
        "scatter": {"sigma": found.scatter.sigma, "dof": found.scatter.dof, "repeats": found.scatter.repeats},
        "notes": found.notes,
        **tables,
    }
    return [(out, (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode())]

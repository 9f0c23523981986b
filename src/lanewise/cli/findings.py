"""Findings as text, as tables or as a report: one report document behind all three."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import typer

from lanewise.cli import tasks
from lanewise.document import DataTable, Report
from lanewise.files.rendering import render
from lanewise.files.writing import write_together
from lanewise.plugins.registry import Registry

TABLES = (".csv", ".json")


def writes_tables(out: Path | None, style: str | None) -> bool:
    """Whether the file asks for the numbers, and not for a laid-out report."""
    return out is not None and style is None and out.suffix.lower() in TABLES


def deliver_tables(report: Report, out: Path) -> None:
    """Write the numbers behind a report: CSV files, the first under the name given, or one JSON file."""
    if out.suffix.lower() == ".json":
        content = [(out, _json(report))]
    else:
        first, *others = report.data
        content = [(out.with_name(f"{out.stem}-{table.name.replace('_', '-')}.csv"), _csv(table)) for table in others]
        content.append((out, _csv(first)))
    for path in write_together(content):
        typer.echo(f"Wrote {path}")


def deliver_report(
    report: Report, out: Path | None, style: str, options: dict[str, object], registry: Registry
) -> None:
    """Lay the report out and write or print it."""
    tasks.deliver_report(render(report, style, options=options, registry=registry), out)


def _csv(table: DataTable) -> bytes:
    held = io.StringIO()
    writer = csv.writer(held, lineterminator="\n")
    writer.writerow([column.name for column in table.columns])
    for row in zip(*(column.values for column in table.columns), strict=True):
        writer.writerow(["" if value is None else value for value in row])
    return held.getvalue().encode()


def _json(report: Report) -> bytes:
    """All tables row by row, with the meaning of their columns; an empty cell is null."""
    tables = {
        table.name: {
            "meaning": table.meaning,
            "columns": {column.name: {"unit": column.unit, "meaning": column.meaning} for column in table.columns},
            "rows": [
                dict(zip([column.name for column in table.columns], row, strict=True))
                for row in zip(*(column.values for column in table.columns), strict=True)
            ],
        }
        for table in report.data
    }
    content = {"title": report.title, "summary": list(report.summary), "tables": tables}
    return (json.dumps(content, ensure_ascii=False, indent=1) + "\n").encode()

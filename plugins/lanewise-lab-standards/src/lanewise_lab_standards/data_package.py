"""A report's numbers as a Data Package: tables in CSV, and a descriptor that says what each column is."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping, Sequence
from typing import Any

import lanewise
from lanewise.document import Report
from lanewise.errors import StyleError
from lanewise.hooks import Rendered
from lanewise_lab_standards.archive import Part, archive, slug, to_json
from lanewise_lab_standards.readme import made_with, readme
from lanewise_lab_standards.results_options import NO_LICENCE, PackageOptions
from lanewise_lab_standards.tables_in_csv import DIALECT, schema, written

_PROFILE = "https://datapackage.org/profiles/2.0/datapackage.json"
_RESOURCE_PROFILE = "https://datapackage.org/profiles/2.0/dataresource.json"
_WEB = re.compile(r"""https?://[^\s<>"{}|\\^`]+""")
_SPDX = re.compile("[A-Za-z0-9][A-Za-z0-9.+-]*")


def render(report: Report, options: PackageOptions) -> Rendered:
    """Lay out a report as a Data Package in one zip archive.

    Parameters
    ----------
    report : Report
        Its tables of numbers become CSV files; its text goes along as a web page, its figures in words.
    options : PackageOptions
        Title, licence, authors, and whether texts are guarded against spreadsheets.

    Returns
    -------
    Rendered
        The archive, ``datapackage.json`` first; no extras.

    Raises
    ------
    StyleError
        If a number is not finite, or two tables would share a file.
    """
    return Rendered(archive(package_parts(report, options, [page(report, figures="none")])))


def package_parts(
    report: Report, options: PackageOptions, documents: Sequence[Part], beside: Mapping[str, str] | None = None
) -> list[Part]:
    """Make the files of a Data Package.

    Parameters
    ----------
    report : Report
        What to hand on.
    options : PackageOptions
        As in `render`.
    documents : sequence of Part
        Files that belong to it beside the tables.
    beside : mapping of path to str, optional
        What the text for readers says of files that are not part of the package.

    Returns
    -------
    list of Part
        The descriptor, the text for readers, the documents, the study's record where there is one, the tables.
    """
    documents = [*documents, *_record(report)]
    resources, tables = _tables(report, options.guard)
    title, licence = title_of(report, options), licence_of(options)
    about = "The tables and the documents of a report, described for programs (Data Package 2)."
    described = Part("datapackage.json", b"", "application/json", "Descriptor of the tables", about)
    listed = {part.path: _in_short(part) for part in (described, *documents, *tables)}
    explained = Part(
        "README.txt",
        readme(report, title, licence, {**(beside or {}), **listed}, bool(tables), options.guard),
        "text/plain",
        "Read this first",
        "What each file is, and what to bear in mind when the numbers are used.",
    )
    plain = [_resource(part, slug(part.path)) for part in (explained, *documents)]
    descriptor = to_json({**_package(report, title, licence, options), "resources": [*resources, *plain]})
    first = Part(described.path, descriptor, described.media_type, described.title, described.description)
    return [first, explained, *documents, *tables]


def page(report: Report, figures: str) -> Part:
    """Make the report as a web page, its figures as pictures (``svg``) or in words alone (``none``)."""
    made = lanewise.render(report, "lanewise:html", options={"figures": figures})
    told = "" if figures == "svg" else " Figures are given in words."
    about = f"The whole report to read: what was done, what follows, how sure it is, cautions.{told}"
    return Part("report.html", made.main, "text/html", "Report", about)


def title_of(report: Report, options: PackageOptions) -> str:
    """Give the title of the whole, which is never empty."""
    return options.title.strip() or report.title.strip() or "Results of planar chromatography"


def licence_of(options: PackageOptions) -> str:
    """Give the licence as it was stated, or say that none was."""
    return options.licence.strip() or NO_LICENCE


def is_address(text: str) -> bool:
    """Tell whether a text is an address of the web and nothing else."""
    return _WEB.fullmatch(text) is not None


def authors_of(options: PackageOptions) -> list[str]:
    """Give the names of the authors, none where none were stated."""
    return [name.strip() for name in options.authors.split(";") if name.strip()]


def inputs_of(report: Report) -> list[dict[str, Any]]:
    """Give what the record says of the files that were read."""
    return json.loads(report.record).get("inputs", []) if report.record else []


def _in_short(part: Part) -> str:
    """Say what a file is; the description of a picture is too long for a list."""
    return part.title if part.media_type.startswith("image/") else part.description


def _record(report: Report) -> list[Part]:
    if not report.record:
        return []
    about = "What was planned and seen: the record from which lanewise can measure and report anew."
    return [Part("study.json", report.record, "application/json", "Record of the study", about)]


def _tables(report: Report, guard: bool) -> tuple[list[dict[str, Any]], list[Part]]:
    """Make the tables, each with its resource."""
    resources, parts = [], []
    done: dict[str, Any] = {}
    for table in report.data:
        name = slug(table.name)
        if not name or name in done:
            raise StyleError(
                f"table {table.name!r} cannot be a file of its own: wanted a name with letters or digits that no "
                f"other table has, given one that gives {f'{name}.csv'!r}. Rename the table."
            )
        csv_table = written(table, guard)
        part = Part(f"data/{name}.csv", csv_table.encode(), "text/csv", f"Table {table.name}", table.meaning)
        described = {"type": "table", "dialect": DIALECT, "schema": schema(csv_table, list(done.items()))}
        resources.append({**_resource(part, name), **described})
        parts.append(part)
        done[name] = csv_table
    return resources, parts


def _resource(part: Part, name: str) -> dict[str, Any]:
    """Describe a file, with its size and hash, so that a damaged one is noticed."""
    return {
        "$schema": _RESOURCE_PROFILE,
        "name": name,
        "path": part.path,
        "title": part.title,
        "description": part.description,
        "format": part.path.rpartition(".")[2],
        "mediatype": part.media_type,
        "encoding": "utf-8",
        "bytes": len(part.data),
        "hash": f"sha256:{part.sha256}",
    }


def _package(report: Report, title: str, licence: str, options: PackageOptions) -> dict[str, Any]:
    """Describe the whole. The standard's ``created`` wants a time of day, which nobody knows, so the day is told."""
    sentences = [*report.summary, made_with(report)]
    described: dict[str, Any] = {"$schema": _PROFILE, "name": slug(title) or "results", "title": title}
    if is_address(licence):
        described["licenses"] = [{"path": licence}]
    elif _SPDX.fullmatch(licence):
        described["licenses"] = [{"name": licence}]
    else:
        sentences.append(licence)
    described["description"] = " ".join(sentences)
    if authors := authors_of(options):
        described["contributors"] = [{"title": name, "roles": ["author"]} for name in authors]
    if inputs := inputs_of(report):
        described["sources"] = [{"title": item["name"]} for item in inputs]
    return described

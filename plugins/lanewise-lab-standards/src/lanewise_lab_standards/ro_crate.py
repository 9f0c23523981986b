"""A report as an RO-Crate: page, pictures, tables and record, each described, and how they came about."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import date
from functools import cache
from typing import Any

import lanewise
from lanewise.document import Figure, Report
from lanewise.errors import StyleError
from lanewise.hooks import Rendered
from lanewise_lab_standards.archive import Part, archive, slug, to_json
from lanewise_lab_standards.data_package import (
    authors_of,
    inputs_of,
    is_address,
    licence_of,
    package_parts,
    page,
    title_of,
)
from lanewise_lab_standards.results_options import CrateOptions

Entity = dict[str, Any]

METADATA = "ro-crate-metadata.json"
_ABOUT_METADATA = "All files and how they came about, described for programs (RO-Crate 1.1)."
_CRATE = "https://w3id.org/ro/crate/1.1"
_CONTEXT = [f"{_CRATE}/context", {"sha256": "http://schema.org/sha256"}]  # newer than 1.1 (from memory)
_PROCESS = "https://w3id.org/ro/wfrun/process/0.5"
_MAKING, _SOFTWARE = "#making-of-the-report", "#lanewise"


def render(report: Report, options: CrateOptions) -> Rendered:
    """Lay out a report as an RO-Crate in one zip archive.

    Parameters
    ----------
    report : Report
        Its text, figures, tables of numbers and record go into the crate.
    options : CrateOptions
        What the report does not know of its publication.

    Returns
    -------
    Rendered
        The archive, ``ro-crate-metadata.json`` first; no extras.

    Raises
    ------
    StyleError
        If no day of publication is known, a number is not finite, or two tables would share a file.
    """
    published = _published(report, options)
    report = _drawn_once(report)
    documents = [page(report, figures="svg"), *_pictures(report)]
    parts = package_parts(report, options, documents, {METADATA: _ABOUT_METADATA})
    graph = [_descriptor(), *_root(report, options, published, parts), *map(_file, parts), *_provenance(report, parts)]
    metadata = to_json({"@context": _CONTEXT, "@graph": graph})
    return Rendered(archive([Part(METADATA, metadata, "application/ld+json", "Metadata", _ABOUT_METADATA), *parts]))


def _published(report: Report, options: CrateOptions) -> str:
    given = options.published.strip() or report.date
    wanted = "ro-crate wanted a day of publication as YYYY-MM-DD, which every RO-Crate states, given"
    todo = (
        "Give it with the option published: --style-option published=2026-01-31 on the command line, "
        'options={"published": "2026-01-31"} in Python.'
    )
    if not given:
        raise StyleError(f"{wanted} none. {todo}")
    try:
        return date.fromisoformat(given).isoformat()
    except ValueError:
        raise StyleError(f"{wanted} {given!r}. {todo}") from None


def _figures(report: Report) -> list[Figure]:
    return [block for section in report.sections for block in section.blocks if isinstance(block, Figure)]


def _drawn_once(report: Report) -> Report:
    """Let each figure keep its picture, which goes into the page and into a file of its own."""
    drawn = {id(figure): replace(figure, draw=cache(figure.draw)) for figure in _figures(report)}
    sections = tuple(
        replace(section, blocks=tuple(drawn.get(id(block), block) for block in section.blocks))
        for section in report.sections
    )
    return replace(report, sections=sections)


def _pictures(report: Report) -> list[Part]:
    """Make the pictures, numbered in the order of the report, each with its description in words."""
    return [
        Part(
            f"figures/{number}-{slug(figure.name) or 'figure'}.svg",
            figure.draw("svg"),
            "image/svg+xml",
            figure.caption,
            " ".join(figure.description) or figure.caption,
        )
        for number, figure in enumerate(_figures(report), start=1)
    ]


def _descriptor() -> Entity:
    return {"@id": METADATA, "@type": "CreativeWork", "about": {"@id": "./"}, "conformsTo": {"@id": _CRATE}}


def _root(report: Report, options: CrateOptions, published: str, parts: list[Part]) -> list[Entity]:
    """Describe the whole, with its licence and whoever was named as author or publisher."""
    title, licence = title_of(report, options), licence_of(options)
    address = licence if is_address(licence) else "#licence"
    terms = {"@id": address, "@type": "CreativeWork", "name": licence, "description": f"Terms of use: {licence}"}
    authors = [
        {"@id": f"#author-{number}", "@type": "Person", "name": name}
        for number, name in enumerate(authors_of(options), start=1)
    ]
    root: Entity = {
        "@id": "./",
        "@type": "Dataset",
        "name": title,
        "description": " ".join(report.summary).strip() or title,
        "datePublished": published,
        "license": {"@id": address},
        "inLanguage": report.language,
        "conformsTo": {"@id": _PROCESS},
        "hasPart": _links(part.path for part in parts),
        "mentions": {"@id": _MAKING},
    }
    if authors:
        root["author"] = _links(author["@id"] for author in authors)
    entities = [root, terms, *authors]
    if name := options.publisher.strip():
        root["publisher"] = {"@id": "#publisher"}
        entities.append({"@id": "#publisher", "@type": "Organization", "name": name})
    return entities


def _links(names: Iterable[str]) -> Entity | list[Entity]:
    """Point to entities; where there is only one, the standard wants it by itself."""
    links: list[Entity] = [{"@id": name} for name in names]
    return links[0] if len(links) == 1 else links


def _file(part: Part) -> Entity:
    return {
        "@id": part.path,
        "@type": "File",
        "name": part.title,
        "description": part.description,
        "encodingFormat": part.media_type,
        "contentSize": str(len(part.data)),
        "sha256": part.sha256,
    }


def _provenance(report: Report, parts: list[Part]) -> list[Entity]:
    """Say which program made the files of the crate out of which files of readings.

    The files of readings are not in the crate. They are named works with size and hash, and no data entities, because
    those must lie in the crate or on the web.
    """
    inputs = [
        {
            "@id": f"#input-{number}",
            "@type": "CreativeWork",
            "name": item["name"],
            "description": f"File of readings, read as {item['format']}. It is not in this crate.",
            "contentSize": str(item["size"]),
            "sha256": item["sha256"],
        }
        for number, item in enumerate(inputs_of(report), start=1)
    ]
    making: Entity = {
        "@id": _MAKING,
        "@type": "CreateAction",
        "name": "Making of the report",
        "description": "The readings were measured, and the results laid out as report, pictures and tables.",
        "instrument": {"@id": _SOFTWARE},
        "result": _links(part.path for part in parts),
    }
    if inputs:
        making["object"] = _links(item["@id"] for item in inputs)
    if report.date:
        making["endTime"] = report.date
    software = {
        "@id": _SOFTWARE,
        "@type": "SoftwareApplication",
        "name": "lanewise",
        "description": "Python library for planar chromatography: from readings on a sheet to Rf with uncertainty.",
        "softwareVersion": lanewise.__version__,
    }
    profile = {"@id": _PROCESS, "@type": "CreativeWork", "name": "Process Run Crate", "version": "0.5"}
    return [making, software, profile, *inputs]

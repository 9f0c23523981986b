"""A report as one HTML page: no network, no script, the same bytes each time.

The layout is ``report.html.jinja`` and ``report.css`` beside this module. Every text passes `clean` and is
then escaped, in one place for the whole template. A content security policy allows nothing but this one style
sheet, by its hash, and pictures held in the page itself.
"""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable
from functools import cache
from importlib import resources
from typing import cast

import jinja2
from markupsafe import Markup

from lanewise.document import Bullets, Figure, FigureKind, Paragraph, Report, Section, Table, clean
from lanewise.hooks import Rendered
from lanewise.styles._clean import heading
from lanewise.styles.builtin import HtmlOptions

_MEDIA_TYPES = {"svg": "image/svg+xml", "png": "image/png"}
_PIXELS_PER_MM = 96 / 25.4  # CSS Values and Units Module, absolute lengths
_SHORT, _LONG = 16, 40  # cells of up to 16 characters stay on one line, those of more than 40 get a wider column
_WIDE = 120  # characters of 8 pt that stand side by side on upright A4 paper with few cells wrapped


def _harmless(value: object) -> object:
    """Clean every text on its way into the template; jinja2 escapes it afterwards."""
    return clean(value) if type(value) is str else value


def _picture(figure: Figure, kind: str) -> str:
    """Give the picture as a data address."""
    content = base64.b64encode(figure.draw(cast(FigureKind, kind))).decode("ascii")
    return f"data:{_MEDIA_TYPES[kind]};base64,{content}"


def _is_wide(table: Table) -> bool:
    """Tell whether a table wants paper turned sideways, judged by its longest cells."""
    columns = zip(table.header, *table.rows, strict=True)
    return sum(3 + min(24, max(len(cell) for cell in column)) for column in columns) > _WIDE


def _opens_wide(section: Section) -> bool:
    """Tell whether a wide table follows the heading, which then goes to the same paper."""
    first = section.blocks[0] if section.blocks else None
    return isinstance(first, Table) and _is_wide(first)


def _classes(**chosen: bool) -> Markup:
    """Write the class attribute that holds the chosen names; none at all if there are none."""
    names = [name for name, wanted in chosen.items() if wanted]
    return Markup(' class="{}"').format(" ".join(names)) if names else Markup()


def _tests() -> dict[str, Callable[..., bool]]:
    """Give what the template asks about blocks, tables and cells."""
    return {
        "paragraph": lambda block: isinstance(block, Paragraph),
        "bullets": lambda block: isinstance(block, Bullets),
        "table": lambda block: isinstance(block, Table),
        "wide": _is_wide,
        "opening_wide": _opens_wide,
        "blank": lambda cell: not clean(cell).strip(),
        "short": lambda cell: len(clean(cell)) <= _SHORT,
        "long": lambda cell: len(cell) > _LONG,
    }


def _pixels(millimetres: float) -> int:
    return round(millimetres * _PIXELS_PER_MM)


@cache
def _layout() -> tuple[jinja2.Template, Markup, str]:
    """Load the template, the style sheet and the hash by which the page allows it."""
    environment = jinja2.Environment(
        loader=jinja2.PackageLoader("lanewise", "styles"),
        autoescape=True,
        undefined=jinja2.StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_harmless,
    )
    environment.tests.update(_tests())
    environment.globals.update(classes=_classes)
    environment.filters.update(heading=heading, picture=_picture, pixels=_pixels)
    style = resources.files("lanewise.styles").joinpath("report.css").read_text(encoding="utf-8")
    digest = base64.b64encode(hashlib.sha256(style.encode("utf-8")).digest()).decode("ascii")
    return environment.get_template("report.html.jinja"), Markup(style), f"sha256-{digest}"


def render(report: Report, options: HtmlOptions) -> Rendered:
    r"""Lay out a report as one HTML page.

    Parameters
    ----------
    report : Report
        Finished text, tables and figures.
    options : HtmlOptions
        Whether to list the sections, and which kind of picture to put in.

    Returns
    -------
    Rendered
        The page in UTF-8; no extras.

    Examples
    --------
    >>> page = render(Report("Inks", ("Both inks hold one dye.",), ()), HtmlOptions()).main
    >>> page[:33]
    b'<!DOCTYPE html>\n<html lang="en-GB'
    """
    template, style, digest = _layout()
    page = template.render(report=report, options=options, style=style, digest=digest)
    return Rendered(main=page.encode("utf-8"))

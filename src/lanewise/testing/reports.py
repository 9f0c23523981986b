"""The reports on which a style is tried: one of everything, nothing at all, very wide, and labels that try to act."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from lanewise.document import Block, Bullets, Paragraph, Report, Section, Table
from lanewise.testing.pictures import sheet_figure
from lanewise.testing.report_data import SYSTEM, data_tables

LANES = 40
DATE = "2024-02-29"

ACTING: Mapping[str, str] = MappingProxyType(
    {
        "script": "<script>alert('ink')</script>",
        "markup": '<b class="kit-hostile">bold</b> <img src="http://x.invalid/a.png" onerror="alert(1)">',
        "way out of a quote": "\"' onmouseover='alert(1)' x=\"",
        "end of a comment": "--> ]]> </td></style></textarea>",
        "link": "[ink](javascript:alert(1))",
        "picture": "![ink](http://x.invalid/b.png)",
        "pipes": "a|b||c|",
        "backticks": "``` `a` ```",
        "TeX": r"\input{secret} $x_1^2$ 50 % #1 & ~ {} \\",
        "template": "{{ 7*7 }} {% raw %} {# x #}",
        "entity": "&lt;b&gt; &copy; &#65;",
        "JSON": '"}, {"kind": "x',
    }
)
"""Texts that are markup somewhere. In a report they are labels, and have to be read as they stand."""

FORMULAS: Mapping[str, str] = MappingProxyType(
    {
        "equals": "=1234+4321",
        "address": '=HYPERLINK("http://x.invalid/","kit-hostile")',
        "at": "@SUM(1234+4321)",
        "plus": "+1234+4321",
        "minus": "-1234+4321",
        "tab": "\t=1234+4321",
    }
)
"""Labels that a spreadsheet takes for formulas."""

UNSEEN: Mapping[str, str] = MappingProxyType(
    {
        "control characters": "a\x00b\x07c\x1b[31m",
        "line breaks": "two\nlines\r\nand\ta tab\u2028end",
        "override": "ink \u202e12.34\u202c end",
        "isolates": "ink \u2067 12 \u2066 34",
        "half a character": "a\ud800b",
        "no character": "a\ufffeb",
    }
)
"""Characters that steer instead of being read. A style may show them in another form, and may not let them act."""

PLAIN: Mapping[str, str] = MappingProxyType(
    {
        "right to left": "דיו כחול 0.25",
        "right to left, digits": "حبر ٣ أزرق",
        "emoji": "🖋️ 👩🏽‍🔬 墨水",
        "combining": "Z\u0335a\u0300\u0301l",
        "long": "Tintenfarbstoff" * 33 + "ender",
        "negative number": "-0.25",
        "looks like a number": "007",
        "looks like a gap": "NA",
        "empty": "",
    }
)
"""Labels that are harmless and easily spoilt."""


def standard_reports() -> dict[str, Report]:
    """Make the standard set of reports.

    Returns
    -------
    dict of str to Report
        By name: ``ordinary``, ``empty``, ``one lane``, ``wide`` (40 lanes), ``labels`` (harmless and easily spoilt),
        ``hostile`` (labels that are markup or formulas) and ``unseen`` (characters that steer). All data are invented.

    Notes
    -----
    In title and summary stand labels that are markup, but none that steer.

    Examples
    --------
    >>> list(standard_reports())
    ['ordinary', 'empty', 'one lane', 'wide', 'labels', 'hostile', 'unseen']
    """
    return {
        "ordinary": _ordinary(),
        "empty": Report("Writing inks", (), ()),
        "one lane": _one_lane(),
        "wide": _wide(),
        "labels": _labelled("Labels that are easily spoilt", PLAIN),
        "hostile": _labelled("Do <b>two</b> inks & a | share <script>alert(1)</script>?", {**ACTING, **FORMULAS}),
        "unseen": _labelled("Characters that steer", UNSEEN),
    }


def results_table() -> Table:
    """Make a small table of results."""
    return Table(
        caption="Retardation factors of the dyes in two writing inks (invented data).",
        header=("Ink", "Colour of the spot", "Rf", "U (k = 2)", "n"),
        rows=(
            ("black", "blue", "0.50", "0.02", "4"),
            ("black", "violet", "0.620", "0.015", "4"),
            ("brown", "orange", "0.65", "0.03", "3"),
            ("brown", "stayed at the origin", "", "", "3"),
        ),
        numeric=(False, False, True, True, True),
    )


def _ordinary() -> Report:
    findings = (
        Paragraph("The black and the brown ink share no dye that this solvent system can show."),
        Bullets(("Violet and orange differ by 0.03 in Rf.", "One brown dye did not move.")),
        results_table(),
    )
    return Report(
        title="Do two writing inks share a dye?",
        summary=(
            "The two inks can be told apart: violet (Rf 0.620 ± 0.015) is in the black ink only.",
            "One dye of the brown ink stayed at the origin; nothing can be said about it.",
        ),
        sections=(Section("What was found", findings), Section("The sheet", (sheet_figure(),))),
        data=data_tables(),
        record=_record(),
        date=DATE,
    )


def _one_lane() -> Report:
    table = Table("The one lane.", ("Lane", "Rf"), (("A", "0.50"),), (False, True))
    return Report("One lane", ("One spot was found.",), (Section("Lane A", (table,)),), data=data_tables(), date=DATE)


def _wide() -> Report:
    lanes = tuple(f"lane {number}" for number in range(1, LANES + 1))
    rows = tuple(
        (what, *(f"{start + step * number:.3f}" for number in range(LANES)))
        for what, start, step in (("Rf", 0.111, 0.02), ("u(Rf)", 0.004, 0.0007), ("front [mm]", 60.125, 0.25))
    )
    wide = Table("Forty lanes side by side (invented data).", ("Quantity", *lanes), rows, (False, *[True] * LANES))
    long = Table(
        "The same, one a row.",
        ("Lane", *(row[0] for row in rows)),
        tuple(zip(lanes, *(row[1:] for row in rows), strict=True)),
        (False, True, True, True),
    )
    return Report("A wide sheet", (), (Section("Lanes", (wide, long)),), data=data_tables(), date=DATE)


def _labelled(title: str, labels: Mapping[str, str]) -> Report:
    """Put each label wherever a label can come to stand."""
    texts = tuple(labels.values())
    table = Table(
        caption="Labels of inks (invented data).",
        header=("Ink", "Kind", "Remark", "Rf"),
        rows=tuple((text, kind, text, f"0.{50 + place}") for place, (kind, text) in enumerate(labels.items())),
        numeric=(False, False, False, True),
        key_columns=2,
    )
    headed = Table("As headings.", texts, (tuple(f"{place}.25" for place in range(len(texts))),), (True,) * len(texts))
    blocks: tuple[Block, ...] = (table, headed, Bullets(texts), *map(Paragraph, texts), sheet_figure("plate-2", texts))
    sections = (Section("Labels", blocks), *(Section(text, (Paragraph("A section."),)) for text in texts if text))
    return Report(title, tuple(f"Ink {text} was seen." for text in texts), sections, data=data_tables(texts), date=DATE)


def _record() -> bytes:
    from lanewise.model.plates import Lane, Plate, Spot
    from lanewise.model.record import encode
    from lanewise.model.studies import Study

    lanes = (
        Lane(label="A", sample="black ink", spots=(Spot(label="1", centre=17.0, colour="blue"),)),
        Lane(label="B", sample="brown ink", spots=(Spot(label="1", centre=22.1, colour="orange"),)),
    )
    plate = Plate(label="1", system=SYSTEM, origin=0.0, front=34.0, lanes=lanes)
    return encode(Study(title="Writing inks (invented data)", plates=(plate,)))

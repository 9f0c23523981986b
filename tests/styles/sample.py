"""An invented report that holds one of everything, and labels that try to be more than text."""

from __future__ import annotations

import struct
import zlib

from lanewise.document import Bullets, Figure, FigureKind, Paragraph, Report, Section, Table

HOSTILE = {
    "script": "<script>alert(1)</script>",
    "attribute": "\"' onmouseover='alert(1)",
    "link": "](javascript:alert(1))",
    "picture": "![x](http://x.invalid/x.png)",
    "pipe": "a|b||c|",
    "backtick": "``` `a` ```",
    "dollar": "$x_1^2$ and $$y$$",
    "emphasis": "*a* **b** _c_ ~~d~~",
    "entity": "&lt;b&gt; &copy; &#0;",
    "template": "{{ 7*7 }} {% raw %} {# x #}",
    "backslash": "\\input{x} C:\\new \\",
    "override": "ink \u202e 12.34 \u202c\u2066\u2069",
    "nul": "a\x00b\x07c\x1b[31m\x9b",
    "breaks": "two\nlines\r\nand\ttabs\u2028\u2029\x85end",
    "long": "Tinte" * 100,
    "long words": "blue ink of bench 7, " * 24,
    "emoji": "🖋️ 👩🏽‍🔬 🇩🇪 墨水",
    "combining": "Z\u0335\u0321a\u0300\u0301\u0302l",
    "right to left": "דיו כחול 0.25",
    "surrogate": "a\ud800b",
    "no character": "\ufeffa\ufffeb\U0001ffff",
    "formula": "=1+1",
    "formula at": "@SUM(1+1)",
    "minus": "-0.25",
    "list": "- item",
    "plus": "+ item",
    "number": "12. item",
    "heading": "# item #",
    "rule": "---",
    "stars": "***",
    "equals": "===",
    "quote": "> item",
    "definition": ": item",
    "indent": "     code",
    "address": "https://x.invalid/a www.x.invalid ink@x.invalid",
    "digits": "1" * 120,
    "space": "   ",
    "empty": "",
}


def draw(kind: FigureKind) -> bytes:
    """Draw a sheet with two spots by hand, without any library."""
    if kind == "svg":
        return (
            b'<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="50mm" viewBox="0 0 80 50">'
            b'<rect x="1" y="1" width="78" height="48" fill="#fff" stroke="#000" stroke-width=".4"/>'
            b'<path d="M4 42H76M4 8H76" stroke="#000" stroke-width=".4"/>'
            b'<circle cx="20" cy="25" r="3" fill="#30588c"/><rect x="57" y="17" width="6" height="6" fill="#a63c06"/>'
            b'<text x="20" y="47" font-size="4" text-anchor="middle">A</text>'
            b'<text x="60" y="47" font-size="4" text-anchor="middle">B</text></svg>'
        )
    rows = b"".join(b"\x00" + b"\xff\xff\xff" * 8 for _ in range(5))
    parts = (
        (b"IHDR", struct.pack(">IIBBBBB", 8, 5, 8, 2, 0, 0, 0)),
        (b"IDAT", zlib.compress(rows)),
        (b"IEND", b""),
    )
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts
    )


def figure(name: str = "plate-1", description: tuple[str, ...] | None = None) -> Figure:
    """Make a figure of the sheet."""
    words = (
        "Sheet of 80 mm by 50 mm; origin line 8 mm from the lower edge, front 34 mm above it.",
        "Lane A, black ink: one spot, blue, round, centre 17.0 mm above the origin, Rf 0.50 ± 0.02.",
        "Lane B, brown ink: one spot, orange, square, centre 22.0 mm above the origin, Rf 0.65 ± 0.02.",
    )
    return Figure(
        name=name,
        caption="Sheet 1 as it was read, lanes A and B.",
        description=words if description is None else description,
        draw=draw,
        width=80.0,
        height=50.0,
    )


def results() -> Table:
    """Make a small table."""
    return Table(
        caption="Retardation factors of the dyes in two writing inks (invented data).",
        header=("Ink", "Colour of the spot", "Rf", "U (k = 2)", "n"),
        rows=(
            ("black", "blue", "0.50", "0.02", "4"),
            ("black", "violet", "0.62", "0.02", "4"),
            ("brown", "orange", "0.65", "0.03", "3"),
            ("brown", "stayed at the origin", "", "", "3"),
        ),
        numeric=(False, False, True, True, True),
    )


def readings() -> Table:
    """Make a table that is wider than a phone and longer than a page."""
    header = ("Bench", "Lane", "Ink", "Spot", "Colour", "Near edge [mm]", "Centre [mm]", "Far edge [mm]")
    header += ("Front [mm]", "Rf", "u(Rf)", "Hue angle [°]", "Remark")
    colours = ("blue", "violet", "orange", "yellow-green")
    rows = tuple(
        (
            f"bench {1 + number // 8}",
            "ABCDEFGH"[number % 8],
            ("black", "brown", "blue-black")[number % 3],
            str(1 + number % 2),
            colours[number % 4],
            f"{12.5 + number / 2:.1f}",
            f"{14.0 + number / 2:.1f}",
            f"{16.5 + number / 2:.1f}",
            "62.0",
            f"{(14.0 + number / 2) / 62:.3f}",
            "0.008",
            str(-40 + 9 * number),
            "tail towards the origin, read at the darkest point" if number % 5 == 0 else "",
        )
        for number in range(40)
    )
    numeric = (False, False, False, True, False, True, True, True, True, True, True, True, False)
    return Table("All readings of five benches (invented data).", header, rows, numeric, key_columns=2)


def hostile() -> Table:
    """Make a table whose row names, cells and headings are the labels of `HOSTILE`."""
    rows = tuple((label, name, label, f"{number}.50") for number, (name, label) in enumerate(HOSTILE.items()))
    header = ("Ink | `name` <b>", "kind", "= note", "Rf")
    return Table("Labels | that <i>try</i> to be more.", header, rows, (False, False, False, True), key_columns=2)


def sample_report() -> Report:
    """Make the whole report."""
    findings = (
        Paragraph("The black and the brown ink share no dye that this solvent system can show."),
        Bullets(("Violet and orange differ by 0.03 in Rf.", "One brown dye did not move.")),
        results(),
    )
    oddities = (
        hostile(),
        Bullets(tuple(HOSTILE.values())),
        *(Paragraph(label) for label in HOSTILE.values()),
        figure("plate-2", tuple(HOSTILE.values())),
        Table("No rows", ("Ink", "Rf"), (), (False, True)),
        Table("", (), (), ()),
        Table("Row names only", ("Ink",), (("black",), ("",)), (False,)),
        Table("No row names", ("", "Rf"), (("black", "0.50"),), (False, True), key_columns=0),
    )
    return Report(
        title="Do two <writing> inks share a dye?",
        summary=(
            "The two inks can be told apart: violet (Rf 0.62 ± 0.02) is in the black ink only.",
            "One dye of the brown ink stayed at the origin; nothing can be said about it.",
        ),
        sections=(
            Section("What was found", findings),
            Section("The sheet", (figure(),)),
            Section("All readings", (readings(),)),
            Section("Labels & oddities <b>", oddities),
            Section("", (Paragraph("A section without a title."), figure("plate-3", ()))),
        ),
    )


def plain_report() -> Report:
    """Make the report without its oddities, to be looked at."""
    report = sample_report()
    return Report(report.title, report.summary, report.sections[:3])

"""The built-in formats and styles, and the smallest plugins of the pages on hooks, keep their contracts."""

from __future__ import annotations

import importlib.util
import re
import unicodedata
from pathlib import Path

import pytest

from lanewise.formats import builtin as formats
from lanewise.styles import builtin as styles
from lanewise.testing import Example, ImportFormatContract, ReportStyleContract

HOOKS = Path(__file__).parents[2] / "docs" / "hooks"

MARKS = """\
# invented readings of class 4b
plate,system,lane,sample,spot,front_mm,centre_mm,trailing_mm,leading_mm,colour,bench
bench 3,water:ethanol 1:1,A,black pen,1,85,32.5,31,34,blue,3
bench 3,water:ethanol 1:1,A,black pen,2,85,51.25,,,violet,3
bench 3,water:ethanol 1:1,B,brown pen,1,84.5,61,,,"orange, pale",3
"""


class TestMarksTable(ImportFormatContract):
    plugin = formats
    format = "marks-table"
    claims = ("marks-table.csv",)
    memory_mb = 300
    seconds = 30

    def examples(self):
        marks = {
            "plate": ["bench 3"] * 3,
            "system": ["water:ethanol 1:1"] * 3,
            "lane": ["A", "A", "B"],
            "sample": ["black pen", "black pen", "brown pen"],
            "spot": ["1", "2", "1"],
            "front_mm": [85.0, 85.0, 84.5],
            "centre_mm": [32.5, 51.25, 61.0],
            "trailing_mm": [31.0, None, None],
            "leading_mm": [34.0, None, None],
            "colour": ["blue", "violet", "orange, pale"],
            "bench": ["3"] * 3,
        }
        bare = {"lane": ["A", "B"], "front_mm": [85.0, 85.0], "centre_mm": [32.5, 51.5], "plate": ["1", "1"]}
        return [
            Example("inks.csv", MARKS.encode(), marks),
            Example("bare.txt", b"lane;front_mm;centre_mm\nA;85;32,5\nB;85;51,5\n", bare),
        ]

    def damaged(self):
        return {
            "short-row.csv": b"lane,front_mm,centre_mm\nA,85\n",
            "no-number.csv": b"lane,front_mm,centre_mm\nA,85,thirty\n",
            "beyond.csv": b"lane,front_mm,centre_mm\nA,85,95\n",
            "open-quote.csv": b'lane,front_mm,centre_mm\n"A,85,32\n',
        }

    def in_unit(self, unit):
        by = {"cm": 10.0, "in": 25.4}[unit]

        def turned(found):
            return f",{float(found[1]) / by!r}" if found[1] else ","

        head, *rows = MARKS.splitlines()[1:]
        lines = [head.replace("_mm", f"_{unit}")]
        for row in rows:
            cells = row.split(",", 5)
            numbers = "".join(turned((None, cell)) for cell in cells[5].split(",", 4)[:4])
            lines.append(",".join(cells[:5]) + numbers + "," + cells[5].split(",", 4)[4])
        return "\n".join(lines).encode()

    def large(self, rows):
        body = "".join(f"{n // 50},{n // 5 % 10},85,{20 + n % 5 * 10}.5\n" for n in range(rows))
        return f"plate,lane,front_mm,centre_mm\n{body}".encode()

    def written(self, study):
        # common practice, no source: the table itself, written by pandas
        from lanewise.errors import RecordError
        from lanewise.tables.marks import to_frame

        frame = to_frame(study)
        frame["front_mm"] = frame["front_mm"].astype(object).where(frame["front_mm"].notna(), "not seen")
        if frame["note"].str.contains("\n").any():
            raise RecordError("a line break in a note is not written here")
        return frame.to_csv(index=False).encode()


RECORD = """\
{
  "kind": "lanewise study",
  "schema_version": 1,
  "title": "Writing inks (invented data)",
  "plates": [
    {
      "label": "bench 3",
      "system": "water",
      "origin": 10.5,
      "front": 85,
      "lanes": [
        {
          "label": "A",
          "sample": "black pen",
          "spots": [{"label": "1", "centre": 32.125}, {"label": "2", "centre": 51}]
        },
        {"label": "B", "sample": "brown pen", "spots": [{"label": "1", "state": "at origin"}]}
      ]
    }
  ]
}
"""


class TestStudyRecord(ImportFormatContract):
    plugin = formats
    format = "study-record"
    claims = ("study-record.json",)
    not_applicable = {  # noqa: RUF012
        "units": "positions of the record are in millimetres",
        "encodings": "JSON is exchanged in UTF-8 without a byte-order mark (RFC 8259, 8.1)",
    }
    rows = 200_000  # spots
    memory_mb = 300
    seconds = 30

    def examples(self):
        marks = {
            "plate": ["bench 3"] * 3,
            "lane": ["A", "A", "B"],
            "sample": ["black pen", "black pen", "brown pen"],
            "state": ["measured", "measured", "at origin"],
            "origin_mm": [10.5] * 3,
            "front_mm": [85.0] * 3,
            "centre_mm": [32.125, 51.0, None],
            "trailing_mm": [None] * 3,
            "leading_mm": [None] * 3,
            "colour": [""] * 3,
            "note": [""] * 3,
        }
        return [Example("inks.json", RECORD.encode(), marks)]

    def damaged(self):
        return {
            "newer.json": RECORD.replace('"schema_version": 1', '"schema_version": 99').encode(),
            "two-lanes.json": RECORD.replace('"label": "B"', '"label": "A"').encode(),
            "beyond.json": RECORD.replace("51}", "91}").encode(),
        }

    def large(self, rows):
        from lanewise.model.plates import Lane, Plate, Spot
        from lanewise.model.record import encode
        from lanewise.model.studies import Study

        spots = [Spot(label=str(n), centre=20.5 + n) for n in range(10)]
        lanes = [Lane(label=str(n), spots=spots) for n in range(20)]
        plates = [Plate(label=str(n), origin=0, front=85, lanes=lanes) for n in range(rows // 200)]
        return encode(Study(plates=plates))

    def written(self, study):
        from lanewise.model.record import encode

        return encode(study)


class TestHtml(ReportStyleContract):
    plugin = styles
    style = "html"


class TestMarkdown(ReportStyleContract):
    plugin = styles
    style = "markdown"


class TestText(ReportStyleContract):
    plugin = styles
    style = "text"

    def text(self, rendered):
        return "\n".join(unset(rendered.main.decode().split("\n")))


def unset(lines):
    """Give plain text with its tables column by column, so that a cell of several lines stands in one piece.

    What follows a table up to the next one is cut into its columns too.
    """
    awaited, spans, header, columns = False, [], [], []
    for line in lines:
        if line.startswith(("Table: ", "(the same rows")):
            yield from ("\n".join(column) for column in columns)
            awaited, spans, columns = True, [], []
        elif awaited and re.fullmatch(r"-+(  -+)*", line):
            awaited, spans = False, [found.span() for found in re.finditer("-+", line)]
            columns = [[cut(one, *span) for one in header] for span in spans]
            continue
        header = [*header, line] if line else []
        if not columns:
            yield line
        for column, span in zip(columns, spans, strict=True):
            column.append(cut(line, *span))
    yield from ("\n".join(column) for column in columns)


def cut(line, start, stop):
    """Give what stands in some places of a line on a character grid, where wide characters take two."""
    taken, at = "", 0
    for sign in line:
        width = (
            0 if unicodedata.category(sign) in ("Mn", "Me", "Cf") else 1 + (unicodedata.east_asian_width(sign) in "WF")
        )
        place = at if width else at - 1
        if start - 1 <= place < stop:
            taken += sign
        at += width
    return taken


def from_page(page, folder):
    """Make a module of the plugin that stands whole on a page."""
    text = (HOOKS / page).read_text(encoding="utf-8")
    name, code = re.search(r"^```\{code-block\} python\n:caption: (\w+)\.py\n(.*?)^```$", text, re.M | re.S).groups()
    path = folder / f"{name}.py"
    path.write_text(code, encoding="utf-8")
    spec = importlib.util.spec_from_file_location(name, path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="class")
def page(request, tmp_path_factory):
    request.cls.plugin = from_page(request.cls.page, tmp_path_factory.mktemp("page"))


@pytest.mark.usefixtures("page")
class TestSmallestFormat(ImportFormatContract):
    page = "import-formats.md"
    format = "bench-sheet"
    not_applicable = {"units": "the sheet is in centimetres only"}  # noqa: RUF012
    rows = 300_000
    memory_mb = 300
    seconds = 15

    def examples(self):
        # worked by hand: 1 cm is 10 mm
        marks = {"lane": ["A", "B"], "front_mm": [85.0, 84.0], "centre_mm": [32.0, 41.0]}
        return [Example("plate.bench", b"bench sheet\nA 8.5 3.2\nB 8.4 4.1\n", marks)]

    def damaged(self):
        return {"short.bench": b"bench sheet\nA 8.5\n", "words.bench": b"bench sheet\nA high low\n"}

    def large(self, rows):
        return b"bench sheet\n" + b"".join(b"%d 8.5 3.2\n" % n for n in range(rows))


@pytest.mark.usefixtures("page")
class TestSmallestStyle(ReportStyleContract):
    page = "report-styles.md"
    style = "summary"
    not_applicable = dict.fromkeys(
        ("words", "cells", "numbers", "descriptions", "colour"), "it gives title and summary alone"
    )

"""Contracts for the animals: what their authors would have written in their tests."""

from __future__ import annotations

from lanewise.testing import Example, ImportFormatContract, ReportStyleContract
from lanewise.testing.pages import text_of

LANES = (
    ("A", "black ink", 85.0, 32.5),
    ("B", "brünner ink", 84.5, 51.25),
    ("C", "red", 85.0, 60.0),
    ("D", "green", 85.0, 71.5),
)
MARKS = {
    "lane": [lane for lane, *_ in LANES],
    "sample": [sample for _, sample, *_ in LANES],
    "front_mm": [front for *_, front, _ in LANES],
    "centre_mm": [centre for *_, centre in LANES],
}


def sheet_text(name, unit, lanes):
    """Write a sheet; lengths are in the unit already."""
    lines = [f"{lane};{sample};{front!r};{centre!r}" for lane, sample, front, centre in lanes]
    return "\n".join([f"{name} 1", f"unit: {unit}", *lines, "end", ""])


class SheetContract(ImportFormatContract):
    """The contract of a sheet."""

    rows = 20_000
    memory_mb = 60
    seconds = 2
    mutations = 20  # where there is nothing to find; see FuzzedContract

    def examples(self):
        second = MARKS | {"centre_mm": [20.0, 21.0, 22.0, 23.5]}
        lanes = [(*lane[:3], centre) for lane, centre in zip(LANES, second["centre_mm"], strict=True)]
        return [
            Example("plate.sheet", sheet_text(self.format, "mm", LANES).encode(), MARKS),
            Example("second.sheet", sheet_text(self.format, "mm", lanes).encode(), second),
        ]

    def damaged(self):
        good = sheet_text(self.format, "mm", LANES)
        return {
            "short-row.sheet": good.replace(";60.0", "").encode(),
            "no-number.sheet": good.replace("60.0", "sixty").encode(),
        }

    def in_unit(self, unit):
        by = {"cm": 10.0, "in": 25.4}[unit]
        return sheet_text(self.format, unit, [(a, b, c / by, d / by) for a, b, c, d in LANES]).encode()

    def large(self, rows):
        return sheet_text(self.format, "mm", [(str(n), "ink", 85.0, 32.5) for n in range(rows)]).encode()


class FuzzedContract(SheetContract):
    """The contract of a sheet at which random changes find something."""

    mutations = ImportFormatContract.mutations


class WritingContract(SheetContract):
    """The contract of a sheet that can be written."""

    def written(self, study):
        from lanewise.errors import RecordError

        lanes = []
        for plate in study.plates:
            for lane in plate.lanes:
                front = plate.front if lane.front is None else lane.front
                if {*lane.sample} & {";", "\n"} or any(spot.state != "measured" for spot in lane.spots):
                    raise RecordError("a sheet cannot hold this")
                lanes += [(lane.label, lane.sample, front, spot.centre) for spot in lane.spots]
        if len({(plate.system, plate.origin) for plate in study.plates}) != 1 or any(one[3] is None for one in lanes):
            raise RecordError("a sheet cannot hold this")
        return sheet_text(self.format, "mm", self.rounded(lanes)).encode()

    def rounded(self, lanes):
        return lanes


class RoundingContract(WritingContract):
    """The contract of a sheet that is written with one decimal."""

    def rounded(self, lanes):
        return [(*lane[:3], round(lane[3], 1)) for lane in lanes]


class PageContract(ReportStyleContract):
    """The contract of a page."""


class NoJsonContract(ReportStyleContract):
    """The contract of a page that is called JSON."""

    def text(self, rendered):
        return text_of(rendered.main, "text/html")


class TexContract(ReportStyleContract):
    """The contract of TeX, whose author did not think of undoing what was escaped."""

    def text(self, rendered):
        return rendered.main.decode()

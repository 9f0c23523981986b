from __future__ import annotations

from types import MappingProxyType

import netCDF4
import numpy as np
import pytest
from lab_standards_traces_builders import animl_file, ink_study, jcamp_file, one_lane
from msgspec.structs import replace

import lanewise
from lanewise.testing import Example, ImportFormatContract
from lanewise_lab_standards import plugin, write_andi, write_animl, write_jcamp

STATED = {"spots": "stated"}
MARKS = {  # of the invented study of the builders
    "plate": ["bench 3", "bench 3"],
    "system": ["ethanol", "ethanol"],
    "lane": ["B", "B"],
    "sample": ["blue pen", "blue pen"],
    "spot": ["violet", "2"],
    "origin_mm": [10.0, 10.0],
    "front_mm": [85.0, 85.0],
    "trailing_mm": [26.0, None],
    "centre_mm": [30.0, 55.0],
    "leading_mm": [34.1, None],
    "area_mm": [1.5, None],
    "u_centre_mm": [0.05, None],
}
X = np.linspace(10, 85, 301)
Y = 0.02 + np.exp(-(((X - 30.5) / 1.5) ** 2) / 2) + 0.5 * np.exp(-(((X - 55.25) / 2) ** 2) / 2)


def found_marks():
    """Give the marks of this curve: what the library itself finds in it."""
    trace = lanewise.Trace(positions=tuple(X.tolist()), values=tuple(Y.tolist()))
    spots = lanewise.spots_of_trace(trace, origin=10.0, front=85.0, shape="best")
    assert [spot.centre for spot in spots] == pytest.approx([30.5, 55.25], abs=0.05)  # as the curve was made
    return {"centre_mm": [spot.centre for spot in spots], "leading_mm": [spot.leading for spot in spots]}


def lane_b():
    """Give lane B of the study in one channel, so that every format can hold it."""
    study = one_lane(ink_study("blue pen"), 0)
    plate = study.plates[0]
    lane = replace(plate.lanes[0], traces=plate.lanes[0].traces[:1])
    return replace(study, plates=(replace(plate, lanes=(lane,)),))


def many_lanes(count):
    """Give so many lanes of a hundred points each."""
    x = tuple(np.linspace(10, 90, 101).tolist())
    y = tuple(np.exp(-(((np.array(x) - 40) / 3) ** 2)).tolist())
    lanes = (lanewise.Lane(label=str(n), traces=(lanewise.Trace(positions=x, values=y),)) for n in range(count))
    return lanewise.Study(plates=(lanewise.Plate(label="1", origin=10, front=90, lanes=tuple(lanes)),))


class TestJcamp(ImportFormatContract):
    plugin = plugin
    format = "jcamp-dx"
    rows = 5_000  # lanes of 101 points
    memory_mb = 400
    seconds = 20

    def examples(self):
        marks = {"lane": ["1", "1"], "centre_mm": [30.5, 55.25], "origin_mm": [10.0] * 2, "sample": ["lane B"] * 2}
        labels = {"FIRSTX": "10", "LASTX": "85", "NPOINTS": str(len(X)), "XYPOINTS": "(XY..XY)"}
        table = (f"{x!r} {y!r}" for x, y in zip(X.tolist(), Y.tolist(), strict=True))
        found = jcamp_file(table, XYDATA=None, **labels)
        return [
            Example("peaks.jdx", self.in_unit("mm"), marks, STATED | {"origin": 10.0, "front": 85.0}),
            Example("inks.jdx", write_jcamp(lane_b()).main, MARKS, STATED),
            Example("found.jdx", found, found_marks(), {"origin": 10.0, "front": 85.0}),
        ]

    def in_unit(self, unit):
        size = {"mm": 1.0, "cm": 10.0, "in": 25.4}[unit]
        first, last = 10 / size, 85 / size
        labels = {"XUNITS": unit, "FIRSTX": f"{first!r}", "LASTX": f"{last!r}"}
        starts = np.linspace(first, last, len(X))[::7].tolist()
        table = (f"{x!r} " + " ".join(map(repr, Y[7 * n : 7 * n + 7].tolist())) for n, x in enumerate(starts))
        peaks = ("##PEAK TABLE= (XY..XY)", f"{30.5 / size!r} 1", f"{55.25 / size!r} 0.5")
        return jcamp_file((*table, *peaks), NPOINTS=str(len(X)), **labels)

    def damaged(self):
        return {
            "pages.jdx": jcamp_file(("10 1",), NTUPLES="PAGES"),
            "time.jdx": jcamp_file(("10 1",), XUNITS="SECONDS"),
        }

    def large(self, rows):
        return write_jcamp(many_lanes(rows)).main

    def written(self, study):
        return write_jcamp(study).main


class TestAniml(ImportFormatContract):
    plugin = plugin
    format = "animl"
    rows = 100  # lanes of 101 points, with their spots to be found
    memory_mb = 300
    seconds = 20
    not_applicable = MappingProxyType(
        {"encodings": "XML says itself in which encoding it is, and the parser goes by that"}
    )

    labelled_column = "sample"

    def examples(self):
        marks = {**found_marks(), "lane": ["B", "B"], "sample": ["blue pen", "blue pen"]}
        return [
            Example("found.xml", self.in_unit("mm"), marks, {"origin": 10.0, "front": 85.0}),
            Example("inks.animl", write_animl(lane_b()).main, MARKS, STATED),
        ]

    def in_unit(self, unit):
        size = {"cm": 10.0, "in": 25.4}.get(unit, 1.0)
        numbers = ("".join(f"<D>{one!r}</D>" for one in column) for column in ((X / size).tolist(), Y.tolist()))
        x, y = (f"<IndividualValueSet>{text}</IndividualValueSet>" for text in numbers)
        return animl_file(f'{x}<Unit label="{unit}"/>', y, length=len(X))

    def labelled(self, label):
        return self.in_unit("mm").replace(b"blue pen", label.encode())

    def numbered(self, text):
        return self.in_unit("mm").replace(b"<D>10.0</D>", f"<D>{text}</D>".encode(), 1)

    def damaged(self):
        return {"entities.xml": b"<!DOCTYPE AnIML>" + self.in_unit("mm"), "time.xml": self.in_unit("s")}

    def large(self, rows):
        return write_animl(many_lanes(rows)).main

    def written(self, study):
        return write_animl(study).main


class TestAndi(ImportFormatContract):
    plugin = plugin
    format = "andi-chromatography"
    rows = 500_000  # points of one lane
    memory_mb = 400
    seconds = 20
    not_applicable = MappingProxyType({"encodings": "the format is binary"})

    def examples(self):
        lines = {"origin": 10.0, "front": 85.0}
        marks = {
            "lane": ["1", "1"],
            "centre_mm": [30.5, 55.25],
            "trailing_mm": [28.0, None],
            "leading_mm": [33.0, 58.0],
        }
        return [
            Example("peaks.cdf", self.in_unit("mm"), marks, STATED | lines),
            Example("found.cdf", self.in_unit("mm"), found_marks(), lines),
            Example("B.cdf", write_andi(lane_b()).main, MARKS, STATED),
        ]

    def damaged(self):
        return {"time.cdf": self.in_unit("seconds"), "cut.cdf": self.in_unit("mm")[:-1]}

    def in_unit(self, unit):
        size = {"cm": 10.0, "in": 25.4}.get(unit, 1.0)
        file = netCDF4.Dataset("made.cdf", "w", format="NETCDF3_CLASSIC", memory=1024)
        file.aia_template_revision = "1.0"
        file.retention_unit = unit
        file.createDimension("point_number", len(X))
        file.createDimension("peak_number", 2)
        ordinates = file.createVariable("ordinate_values", "f8", ("point_number",))
        ordinates[:] = Y
        ordinates.uniform_sampling_flag = "N"
        file.createVariable("raw_data_retention", "f8", ("point_number",))[:] = X / size
        for name, marks in (("retention", (30.5, 55.25)), ("start", (28.0, -9999.0)), ("end", (33.0, 58.0))):
            numbers = [mark if mark < 0 else mark / size for mark in marks]
            file.createVariable(f"peak_{name}_time", "f8", ("peak_number",))[:] = numbers
        return bytes(file.close())

    def large(self, rows):
        x = np.linspace(10, 90, rows)
        made = lanewise.Trace(positions=tuple(x.tolist()), values=tuple((0.1 + 0 * x).tolist()))
        lane = lanewise.Lane(label="B", traces=(made,))
        return write_andi(lanewise.Study(plates=(lanewise.Plate(label="1", origin=10, lanes=(lane,)),))).main

    def written(self, study):
        return write_andi(study).main

"""Lane traces, files and encoders for the tests; the inks and their traces are invented."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import numpy as np
from msgspec.structs import replace

import lanewise

PUBLISHED = Path(__file__).parent / "published"

ANIML = "urn:org:astm:animl:schema:core:draft:0.90"

NASTY = 'blue $$ pen\n##END=\t"q" \\ µ ד = \x07 <&> '
"""A text that would break each format: comment, label, line break, quotes, escape, letters, control sign, markup."""


def trace(channel, positions, apexes=(30.0, 55.0)):
    """Give spots of Gaussian form on a sloping ground, without noise."""
    x = np.asarray(positions)
    y = 0.01 + 1e-4 * x + sum(0.4 * np.exp(-(((x - apex) / 1.5) ** 2) / 2) for apex in apexes)
    return lanewise.Trace(channel=channel, positions=tuple(x.tolist()), values=tuple(y.tolist()))


def ink_study(sample=NASTY):
    """Give two lanes of a plate of writing inks, the first in two channels."""
    even, uneven = np.linspace(10, 90, 321), 10.07 + 0.1 * np.arange(700)
    spots = (
        lanewise.Spot(label="violet", trailing=26.0, centre=30.0, leading=34.1, area=1.5, u_area=0.1, u_centre=0.05),
        lanewise.Spot(label="2", centre=55.0, note="faint"),
    )
    lanes = (
        lanewise.Lane(label="B", sample=sample, traces=(trace("grey", even), trace("", uneven)), spots=spots),
        lanewise.Lane(
            label="black",
            sample="document black",
            role="standard",
            origin=10.5,
            front=88.25,
            u_front=0.2,
            traces=(trace("grey", even),),
        ),
    )
    plate = lanewise.Plate(
        label="bench 3",
        system="ethanol",
        origin=10,
        front=85,
        lanes=lanes,
        reading=lanewise.Reading(division=0.5),
        factors={"bench": "3"},
    )
    return lanewise.Study(title=f"Writing inks {sample}", note="invented", plates=(plate,))


def one_lane(study, number=1):
    """Leave one lane of a study."""
    plate = study.plates[0]
    return replace(study, plates=(replace(plate, lanes=(plate.lanes[number],)),))


def read_back(data, name, **options):
    """Read what was written, without where it came from; spots as stated, so that all of the record is compared."""
    study = lanewise.read(data, name=name, options={"spots": "stated", **options})
    return replace(study, inputs=())


def jcamp_file(table, **labels):
    """Give a small JCAMP-DX file of one block."""
    usual = {
        "TITLE": "lane B",
        "JCAMP-DX": "4.24",
        "DATA TYPE": "CHROMATOGRAM",
        "ORIGIN": "tests",
        "OWNER": "public domain",
        "XUNITS": "MILLIMETERS",
        "YUNITS": "ABSORBANCE",
        "XFACTOR": "1",
        "YFACTOR": "1",
        "FIRSTX": "10",
        "LASTX": "14",
        "NPOINTS": "5",
        "XYDATA": "(X++(Y..Y))",
    }
    wanted = usual | labels
    head = [f"##{label}= {text}" for label, text in wanted.items() if text is not None]
    return "\n".join([*head, *table, "##END=", ""]).encode()


def animl_file(positions, *values, length=3, kind="Float64", step="", before=""):
    """Give a small AnIML document of one step; `values` are the contents of its dependent series."""
    tables = [
        f'<Series name="{name}" dependency="{dependency}" seriesID="{name}" seriesType="{kind}">{content}</Series>'
        for name, dependency, content in (
            ("position", "independent", positions),
            *((name, "dependent", content) for name, content in zip(("grey", "blue"), values, strict=False)),
        )
    ]
    return (
        f'<?xml version="1.0"?>{before}<AnIML xmlns="{ANIML}" version="0.90"><SampleSet>'
        '<Sample name="blue pen" sampleID="s1"/></SampleSet><ExperimentStepSet>'
        '<ExperimentStep name="B" experimentStepID="e1"><Infrastructure><SampleReferenceSet>'
        '<SampleReference sampleID="s1" role="sample" samplePurpose="consumed"/></SampleReferenceSet></Infrastructure>'
        f'<Result name="r"><SeriesSet name="t" length="{length}">{"".join(tables)}</SeriesSet></Result>'
        f"</ExperimentStep>{step}</ExperimentStepSet></AnIML>"
    ).encode()


def encoded(values, form):
    """Encode whole numbers on one line by the tables of the standard, written anew for the tests.

    McDonald and Wilks, Appl. Spectrosc. 42 (1988) 151, from memory.
    """
    plus, minus = {"SQZ": ("@ABCDEFGHI", " abcdefghi"), "DIF": ("%JKLMNOPQR", " jklmnopqr")}.get(form[:3], ("", ""))

    def signed(number, plus, minus):
        first, *rest = str(abs(number))
        return (minus if number < 0 else plus)[int(first)] + "".join(rest)

    if form == "FIX":
        return "".join(f"{value:12d}" for value in values)
    if form == "PAC":
        return "".join(f"{value:+d}" for value in values)
    if form == "SQZ":
        return "".join(signed(value, plus, minus) for value in values)
    steps = [after - before for before, after in pairwise(values)]
    words = [signed(values[0], "@ABCDEFGHI", " abcdefghi"), *(signed(step, plus, minus) for step in steps)]
    if form == "DIF":
        return "".join(words)
    line, at = words[0], 1
    while at < len(words):
        run = next((n for n in range(at, len(words)) if words[n] != words[at]), len(words)) - at
        line += words[at]
        if run > 1:
            first, *rest = str(run)
            line += " STUVWXYZs"[int(first)] + "".join(rest)
        at += run
    return line

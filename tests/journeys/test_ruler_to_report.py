"""The main job from end to end, by different roads that must meet."""

from __future__ import annotations

import csv
import io
import re
from pathlib import Path

import pandas as pd
import pytest

import lanewise

EXAMPLE = Path(__file__).parents[2] / "examples" / "writing_inks.csv"
LENGTHS = ("origin_mm", "front_mm", "trailing_mm", "centre_mm", "leading_mm", "division_mm")
PLACES = re.compile(r"\d+\.\d+")


@pytest.fixture(scope="module")
def table():
    """The example's table as rows of text."""
    lines = [line for line in EXAMPLE.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


@pytest.fixture(scope="module")
def results():
    return lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE)))


def write(path, rows, *, delimiter=",", encoding="utf-8"):
    text = io.StringIO()
    writer = csv.DictWriter(text, list(rows[0]), delimiter=delimiter, lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    path.write_bytes(text.getvalue().encode(encoding))
    return path


def same_results(study, results):
    again = lanewise.measure(lanewise.to_frame(study))
    pd.testing.assert_frame_equal(again.spots, results.spots, check_categorical=False)
    pd.testing.assert_frame_equal(again.pairs, results.pairs)


@pytest.mark.parametrize(
    ("delimiter", "encoding"),
    [
        pytest.param(";", "utf-8-sig", id="semicolon, decimal comma, byte-order mark"),
        pytest.param("\t", "utf-16", id="tab, decimal comma, UTF-16"),
        pytest.param(";", "windows-1252", id="semicolon, decimal comma, Windows-1252"),
    ],
)
def test_centimetres_with_decimal_comma_give_the_same_results(table, results, tmp_path, delimiter, encoding):
    def in_cm(cell):
        return f"{float(cell) / 10:g}".replace(".", ",") if cell else ""

    rows = [
        {
            name.replace("_mm", " (cm)") if name in LENGTHS else name: in_cm(cell) if name in LENGTHS else cell
            for name, cell in row.items()
        }
        for row in table
    ]
    same_results(lanewise.read(write(tmp_path / "cm.csv", rows, delimiter=delimiter, encoding=encoding)), results)


def test_the_record_gives_the_same_results(results, tmp_path):
    study = lanewise.read(EXAMPLE)
    path = tmp_path / "inks.json"
    lanewise.save(study, path)
    again = lanewise.read(path)
    assert again.plates == study.plates
    assert again.systems == study.systems
    same_results(again, results)


def test_a_file_for_each_system_gives_the_same_results(table, results, tmp_path):
    systems = list(dict.fromkeys(row["system"] for row in table))
    paths = [
        write(tmp_path / f"{number}.csv", [row for row in table if row["system"] == system])
        for number, system in enumerate(systems)
    ]
    again = lanewise.measure(lanewise.to_frame(lanewise.read(paths)))
    key = ["plate", "lane", "spot"]
    left, right = (frame.spots.astype(dict.fromkeys(key, str)).set_index(key) for frame in (again, results))
    pd.testing.assert_frame_equal(left.loc[right.index], right, check_categorical=False)


def test_every_style_shows_the_same_digits():
    """Every number of the document's tables stands in every style, digit for digit."""
    report = lanewise.study_report(lanewise.read(EXAMPLE))
    cells = [
        cell
        for section in report.sections
        for block in section.blocks
        if hasattr(block, "rows")
        for row in block.rows
        for cell in row
    ]
    wanted = {number for cell in cells for number in PLACES.findall(cell)}
    assert len(wanted) > 100
    for style in ("html", "markdown", "text"):
        page = lanewise.render(report, style).main.decode("utf-8")
        assert wanted <= set(PLACES.findall(page.replace("\\", ""))), style


def test_netcdf_round_trip_of_the_marks(tmp_path):
    import xarray as xr

    frame = lanewise.to_frame(lanewise.read(EXAMPLE))
    lanewise.to_xarray(frame).to_netcdf(tmp_path / "marks.nc", engine="scipy")
    with xr.open_dataset(tmp_path / "marks.nc", engine="scipy") as data:
        assert data["front_mm"].attrs["units"] == "mm"
        assert data["front_mm"].to_numpy() == pytest.approx(frame["front_mm"].to_numpy())


def test_comparison_finds_what_was_put_in():
    """The example's own comment lines say what was put in; each true Rf lies within 0.02 of the mean over the plates.

    0.02 is twice the scatter that was put in, over three plates.
    """
    found = lanewise.compare(lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE))))
    dyes = found.dyes.set_index(["dye", "system"])["rf"]
    ester, butanol = found.systems
    for dye, in_ester, in_butanol in (
        ("crystal violet", 0.36, 0.43),
        ("rhodamine B", 0.385, 0.58),
        ("eosin Y", 0.74, 0.70),
    ):
        assert dyes[dye, ester] == pytest.approx(in_ester, abs=0.02)
        assert dyes[dye, butanol] == pytest.approx(in_butanol, abs=0.02)

"""The built-in formats and styles through the doors: tables in, records and pages out. All data are invented."""

from __future__ import annotations

import pytest

from lanewise.document import Report
from lanewise.errors import ReadingsError, UnreadableFile
from lanewise.files.reading import check, detect, read
from lanewise.files.rendering import render
from lanewise.files.writing import save, write
from lanewise.plugins.registry import make_registry

INKS = """\
# writing inks, bench 3
lane,front_mm,centre_mm,colour
blue pen,85,52,blue
blue pen,85,20,violet
black pen,84,30,grey
"""


@pytest.fixture(scope="module")
def built_in():
    return make_registry(discover=False, strict=True)


@pytest.fixture
def table(tmp_path):
    path = tmp_path / "inks.csv"
    path.write_text(INKS, encoding="utf-8")
    return path


def test_the_built_ins_are_there(built_in):
    assert {"lanewise:marks-table", "lanewise:study-record"} <= set(built_in.formats)
    assert {"lanewise:html", "lanewise:markdown", "lanewise:text"} <= set(built_in.styles)
    assert {plugin.state for plugin in built_in.plugins} == {"ok"}


def test_a_table_becomes_a_study(built_in, table):
    study = read(table, registry=built_in, title="Writing inks", options={"division": "0.5", "system": "water"})
    assert study.title == "Writing inks"
    assert study.note.startswith("writing inks, bench 3")
    (plate,) = study.plates
    assert (plate.system, plate.reading.division) == ("water", 0.5)
    assert [(lane.label, len(lane.spots)) for lane in plate.lanes] == [("blue pen", 2), ("black pen", 1)]
    (source,) = study.inputs
    assert (source.name, source.size) == ("inks.csv", len(INKS))
    assert source.format.split()[0] == "lanewise:marks-table"
    assert source.options == {"division": "0.5", "plate": "", "system": "water", "layer": ""}


def test_a_decimal_comma(built_in, tmp_path):
    path = tmp_path / "inks.csv"
    path.write_text("lane;front_cm;centre_cm\nA;8,5;5,25\n", encoding="cp1252")
    lane = read(path, registry=built_in).plates[0].lanes[0]
    assert (lane.front, lane.spots[0].centre) == (85.0, 52.5)


def test_a_record_comes_back_as_it_was(built_in, table, tmp_path):
    study = read(table, registry=built_in)
    back = read(save(study, tmp_path / "inks.json"), registry=built_in)
    assert back.plates == study.plates
    assert back.inputs[:-1] == study.inputs
    assert (back.inputs[-1].name, back.inputs[-1].format.split()[0]) == ("inks.json", "lanewise:study-record")
    again = read(save(back, tmp_path / "inks.json"), registry=built_in)
    assert [source.name for source in again.inputs] == ["inks.csv", "inks.json"]


def test_a_table_and_a_record_together(built_in, table, tmp_path):
    record = save(read(table, registry=built_in), tmp_path / "old.json")
    study = read([table, record], registry=built_in)
    assert [plate.label for plate in study.plates] == ["inks: 1", "old: 1"]
    assert [source.name for source in study.inputs] == ["inks.csv", "inks.csv", "old.json"]


def test_the_faults_of_two_tables_are_in_one_error(built_in, tmp_path):
    first, second, third = (tmp_path / f"bench-{number}.csv" for number in (1, 2, 3))
    first.write_text("lane,front_mm,centre_mm\nA,85,52?\nB,85,91\n", encoding="utf-8")
    second.write_text("lane,front_mm,centre_mm\nA,,20\n", encoding="utf-8")
    third.write_text(INKS, encoding="utf-8")
    with pytest.raises(ReadingsError, match=r"3 problems, nothing was read") as caught:
        read([first, second, third], registry=built_in)
    assert [(problem.file, problem.row) for problem in caught.value.problems] == [
        ("bench-1.csv", 2),
        ("bench-1.csv", 3),
        ("bench-2.csv", 2),
    ]
    assert check([first, second, third], registry=built_in) == caught.value.problems
    assert check(third, registry=built_in) == ()


def test_a_damaged_record_names_the_place(built_in):
    text = b'{"kind": "lanewise study", "schema_version": 1, "plates": [{"label": "1", "front": "x"}]}'
    with pytest.raises(UnreadableFile, match=r"^inks\.json: \$\.plates\[0\]\.front: wanted a number"):
        read(text, name="inks.json", registry=built_in)


def test_detection_of_both(built_in, table):
    assert [(a.entry.name, a.recognition.claim) for a in detect(table, registry=built_in)] == [
        ("marks-table", "yes"),
        ("study-record", "no"),
    ]


@pytest.mark.parametrize(("style", "suffix"), [("html", ".html"), ("markdown", ".md"), ("text", ".txt")])
def test_every_built_in_style_can_be_written(built_in, tmp_path, style, suffix):
    rendered = render(Report("Writing inks", ("Two dyes.",), ()), style, registry=built_in)
    (path,) = write(tmp_path / f"report{suffix}", rendered)
    assert "Two dyes." in path.read_text(encoding="utf-8")

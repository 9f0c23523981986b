"""The command ``lanewise plan`` as a person calls it."""

from __future__ import annotations

import io
import json

import pandas as pd
import pytest
from typer.testing import CliRunner

import lanewise
from lanewise.cli.main import app

CALL = (
    *("plan", "--sheet", "100x100", "--sample", "blue pen", "--sample", "black pen", "--standard", "dye A"),
    *("--vessel", "120x130", "--system", "ethanol:water 1:1", "--seed", "7", "--blank"),
)


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_without_a_file_the_report_is_printed():
    done = run(*CALL, "--title", "Inks (invented)")
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("Inks (invented)\n=====")
    for said in ("Lane 1 at", "The lanes", "113 mL", "Cautions", "ethanol: flash point"):
        assert said in done.stdout


@pytest.mark.parametrize(
    ("name", "start"),
    [
        pytest.param("plan.html", "<!DOCTYPE html>", id="html"),
        pytest.param("plan.md", "# ", id="markdown"),
        pytest.param("plan.txt", "Plan of plate 1", id="text"),
        pytest.param("plan.csv", "lane,x_mm,sample,role", id="csv"),
        pytest.param("plan.json", '{\n "kind": "lanewise plan"', id="json"),
    ],
)
def test_out_takes_its_form_from_the_ending(tmp_path, name, start):
    done = run(*CALL, "--out", tmp_path / name)
    assert done.exit_code == 0, done.output
    assert (tmp_path / name).read_text(encoding="utf-8").startswith(start)
    assert f"Wrote {tmp_path / name}" in done.stdout


def test_all_forms_at_once_say_the_same(tmp_path):
    files = {"--print": "sheet.pdf", "--table": "blank.csv", "--record": "blank.json", "--out": "plan.json"}
    words = [word for flag, name in files.items() for word in (flag, tmp_path / name)]
    done = run(*CALL, *words, "--print", tmp_path / "sheet.svg", "--spots", 2, "--page", "Letter")
    assert done.exit_code == 0, done.output
    assert done.stdout.count("Wrote ") == 5
    held = json.loads((tmp_path / "plan.json").read_text(encoding="utf-8"))
    samples = [lane["sample"] for lane in held["lanes"]]
    table = pd.read_csv(io.StringIO((tmp_path / "blank.csv").read_text(encoding="utf-8")), comment="#")
    assert table["sample"].tolist() == [name for name in samples for _ in range(2)]
    (plate,) = lanewise.read(tmp_path / "blank.json").plates
    assert [lane.sample for lane in plate.lanes] == samples
    assert (tmp_path / "sheet.pdf").read_bytes().startswith(b"%PDF")
    assert "<svg" in (tmp_path / "sheet.svg").read_text(encoding="utf-8")


def test_a_plan_that_cannot_work_exits_with_2_and_says_what_would():
    done = run(*CALL[:-3], "--vessel", "70x95", "--standing", "flat")
    assert done.exit_code == 2
    assert "wanted a sheet at most 66 mm wide" in done.stderr
    assert "The nearest plan that works: " in done.stderr
    assert done.stdout == ""


def test_nothing_is_written_where_one_form_cannot_be_made(tmp_path):
    done = run(
        "plan", "--sheet", "200x200", "--sample", "a", "--table", tmp_path / "t.csv", "--print", tmp_path / "s.pdf"
    )
    assert done.exit_code == 2
    assert "Print on A3" in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(["--sheet", "100"], "--sheet: wanted width x height", id="sheet"),
        pytest.param(["--vessel", "big"], "--vessel: wanted diameter x height", id="vessel"),
        pytest.param(["--print", "sheet.docx"], "--print: wanted a file ending in .pdf or .svg", id="print"),
        pytest.param(["--table", "blank.xlsx"], "--table: wanted a file ending in .csv", id="table"),
        pytest.param(["--record", "blank.txt"], "--record: wanted a file ending in .json", id="record"),
        pytest.param(["--print", "a.pdf", "--out", "a.pdf", "--style", "html"], "given 'a.pdf' twice", id="twice"),
        pytest.param(["--page", "B5"], "page: wanted one of A4, Letter, A3, given 'B5'", id="page"),
        pytest.param(["--standing", "hung"], "standing: wanted one of flat, folded, rolled", id="standing"),
        pytest.param(["--out", "plan.docx"], "no report style writes .docx", id="style"),
    ],
)
def test_wrong_calls_say_what_was_wanted(words, said, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = run(*CALL, *words)
    assert done.exit_code == 2
    assert said in done.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_vessel_may_be_rectangular_and_open():
    done = run("plan", "--sheet", "100x100", "--sample", "a", "--vessel", "120x60x110", "--no-lid")
    assert "120 mm by 60 mm inside, 110 mm high, without a lid" in " ".join(done.stdout.split())
    assert "The vessel has no lid" in done.stdout


def test_the_report_says_how_to_mix_what_stands_in_the_vessel():
    """A floor 120 mm across, 10 mm deep: 113 mL (pi/4 * 12^2 cm2 * 1 cm, worked by hand), half of it ethanol."""
    said = " ".join(run(*CALL).stdout.split())
    assert "What to measure" in said
    assert "57 mL" in said
    unknown = run(*CALL, "--system", "0.02 mol/L lithium chloride in water").stdout
    assert "No recipe was made: " in unknown
    assert "molar mass" in unknown
    salt = run(*CALL, "--system", "0.02 mol/L sodium chloride in water").stdout
    assert "sodium chloride: " in salt[salt.index("Cautions") :]


def test_codes_of_the_data_sheet_are_printed_as_given():
    said = " ".join(run(*CALL, "--codes", "ethanol=H225 H319").stdout.split())
    assert "H225, H319 (given by the user)" in said
    assert "'toluene': wanted a component of the system" in run(*CALL, "--codes", "toluene=H225").stderr


def test_the_check_bar_is_given_back_on_the_command_line(tmp_path):
    """A bar of 98 mm: a spot read as 4 mm long is 3.92 mm long; Rf keeps its value."""
    table = tmp_path / "read.csv"
    table.write_text("lane,origin_mm,front_mm,trailing_mm,leading_mm\nA,10,90,48,52\n", encoding="utf-8")
    read, corrected = (
        pd.read_csv(io.StringIO(run("measure", table, *words).stdout)).iloc[0]
        for words in ((), ("--check-bar", "98:0.2"))
    )
    assert (read["width_mm"], corrected["width_mm"]) == pytest.approx((4.0, 3.92))
    assert corrected["rf"] == pytest.approx(read["rf"])
    assert run("report", table, "--check-bar", "98").exit_code == 0
    for wrong, said in (("long", "--check-bar: wanted LENGTH or LENGTH:U"), ("9.8", "check bar: wanted a length from")):
        done = run("measure", table, "--check-bar", wrong)
        assert done.exit_code == 2
        assert said in done.stderr

"""`lanewise identify` and `lanewise library` as a person calls them."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest
from typer.testing import CliRunner

from lanewise.cli.main import app
from lanewise.files.libraries import read_library

EXAMPLE = Path(__file__).parents[2] / "examples" / "writing_inks.csv"


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def test_the_answer_is_printed():
    done = run("identify", EXAMPLE)
    assert done.exit_code == 0, done.output
    assert "correction red, orange is consistent with eosin Y (probability above 0.99)." in done.output
    assert "map green, blue is none of these" in done.output
    assert "is seen in 3 samples" in done.output
    assert "none of these with a probability of 0.5" in done.output


def test_tables_as_csv_and_json_are_the_same(tmp_path):
    assert run("identify", EXAMPLE, "--out", tmp_path / "dyes.csv").exit_code == 0
    assert run("identify", EXAMPLE, "--out", tmp_path / "dyes.json").exit_code == 0
    content = json.loads((tmp_path / "dyes.json").read_text(encoding="utf-8"))
    for name, file in (
        ("identities", "dyes"),
        ("candidates", "dyes-candidates"),
        ("mixtures", "dyes-mixtures"),
        ("shared", "dyes-shared"),
    ):
        table = pd.read_csv(tmp_path / f"{file}.csv", keep_default_na=False)
        assert list(table.columns) == list(content[name][0])
        assert len(table) == len(content[name])
    assert content["scatter"]["repeats"] == 40
    assert content["identities"][0]["dyes"] == "crystal violet"


@pytest.mark.parametrize(
    ("name", "start"),
    [("dyes.html", "<!DOCTYPE html>"), ("dyes.md", "# Which dye"), ("dyes.txt", "Which dye is in what")],
)
def test_report_takes_its_style_from_the_ending(tmp_path, name, start):
    done = run("identify", EXAMPLE, "--out", tmp_path / name)
    assert done.exit_code == 0, done.output
    assert (tmp_path / name).read_text(encoding="utf-8").startswith(start)


def test_report_of_a_named_style_is_printed():
    done = run("identify", EXAMPLE, "--style", "markdown")
    assert done.output.startswith("# Which dye is in what")


@pytest.mark.parametrize(
    ("options", "said", "code"),
    [
        pytest.param(["--none", "1"], "wanted a share", 2, id="prior"),
        pytest.param(["--library", "nowhere.csv"], "cannot be read", 2, id="library"),
        pytest.param(["--style", "poem"], "poem", 2, id="style"),
    ],
)
def test_refusals(options, said, code):
    done = run("identify", EXAMPLE, *options)
    assert done.exit_code == code, done.output
    assert said in done.output


def test_library_of_standards_serves_where_they_are_missing(tmp_path):
    made = run("library", EXAMPLE, "--readings", "--source", "notebook p. 7", "--out", tmp_path / "dyes.csv")
    assert made.exit_code == 0, made.output
    assert "6 entries: 3 dyes in 2 systems, none printed" in made.output
    assert {entry.source for entry in read_library(tmp_path / "dyes.csv").entries} == {"notebook p. 7"}
    lines = EXAMPLE.read_text(encoding="utf-8").splitlines(keepends=True)
    (tmp_path / "inks.csv").write_text("".join(line for line in lines if ",standard," not in line), encoding="utf-8")
    assert run("identify", tmp_path / "inks.csv").exit_code == 1
    done = run("identify", tmp_path / "inks.csv", "--library", tmp_path / "dyes.csv")
    assert "correction red, orange is consistent with eosin Y" in done.output
    assert "without correction" in done.output


def test_libraries_are_put_together_and_turned_into_another_form(tmp_path):
    run("library", EXAMPLE, "--readings", "--source", "a", "--out", tmp_path / "a.json")
    run("library", EXAMPLE, "--readings", "--source", "b", "--out", tmp_path / "b.csv")
    done = run("library", tmp_path / "a.json", tmp_path / "b.csv", "--out", tmp_path / "both.sqlite")
    assert done.exit_code == 0, done.output
    assert len(read_library(tmp_path / "both.sqlite")) == 12
    done = run("library", tmp_path / "both.sqlite", "--window", "0.05")
    assert "discriminating power 1.00" in done.output
    assert "Enough to tell 3 dyes apart" in done.output


def test_printed_values_only_when_asked_for(tmp_path):
    system = "1-butanol : acetic acid : water 4:1:5 upper phase or 12:3:5"
    text = f"plate,system,layer,lane,sample,front_mm,centre_mm\n1,{system},chromatography paper,1,hydrolysate,100,8\n"
    (tmp_path / "paper.csv").write_text(text, encoding="utf-8")
    assert run("identify", tmp_path / "paper.csv").exit_code == 1
    done = run("identify", tmp_path / "paper.csv", "--printed")
    assert done.exit_code == 0, done.output
    assert "Printed tables scatter" in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(["identify", EXAMPLE, "--none", "2"], "wanted a share above 0 and below 1, given 2", id="none"),
        pytest.param(["identify", EXAMPLE, "--same", "-1"], "wanted a share above 0 and below 1, given -1", id="same"),
        pytest.param(["identify", EXAMPLE, "--claim", "0"], "above 0.5 and below 1, given 0", id="claim"),
        pytest.param(["library", EXAMPLE, "--window", "-1"], "from 0 to below 1, given -1", id="window"),
    ],
)
def test_a_wrong_share_is_a_wrong_call(words, said):
    done = run(*words)
    assert done.exit_code == 2
    assert said in " ".join(done.stderr.split())


def test_a_report_may_have_a_title_of_its_own():
    assert run("identify", EXAMPLE, "--style", "text", "--title", "Inks").output.startswith("Inks")

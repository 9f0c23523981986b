"""The commands `compare` and `choose` as a person calls them: printed, written as tables, laid out, refused."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest
from typer.testing import CliRunner

from lanewise.analyses.compare import compare
from lanewise.analyses.contrasts import contrast
from lanewise.analyses.measure import measure
from lanewise.cli.deciding import strengths
from lanewise.cli.main import app
from lanewise.files.reading import read
from lanewise.tables.marks import to_frame

EXAMPLES = Path(__file__).parents[2] / "examples"
INKS, LEAF = EXAMPLES / "writing_inks.csv", EXAMPLES / "leaf_systems.csv"


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.mark.parametrize("command", ["compare", "choose"])
def test_help_says_what_a_command_does(command):
    done = run(command, "--help")
    assert done.exit_code == 0
    assert f"Example: lanewise {command} readings.csv" in done.output


@pytest.mark.parametrize(
    ("words", "title"),
    [(("compare", INKS), "Solvent systems compared\n=="), (("choose", LEAF), "Which solvent system to choose\n==")],
    ids=["compare", "choose"],
)
def test_text_is_printed_without_out(words, title):
    done = run(*words)
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith(title)


@pytest.mark.parametrize(
    ("command", "file", "names"),
    [
        ("compare", INKS, ["", "-tests", "-correlations", "-planes"]),
        (
            "choose",
            LEAF,
            ["", "-dye-pairs", "-criteria", "-pairs", "-predictions", "-scan", "-checks", "-alternatives"],
        ),
    ],
    ids=["compare", "choose"],
)
def test_csv_files_have_what_json_has(tmp_path, command, file, names):
    done = run(command, file, "--out", tmp_path / "found.csv")
    assert done.exit_code == 0, done.output
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted(f"found{name}.csv" for name in names)
    assert run(command, file, "--out", tmp_path / "found.json").exit_code == 0
    content = json.loads((tmp_path / "found.json").read_text(encoding="utf-8"))
    assert content["summary"]
    for name, table in zip(names, content["tables"].values(), strict=True):
        frame = pd.read_csv(tmp_path / f"found{name}.csv")
        assert list(frame.columns) == list(table["columns"])
        assert len(frame) == len(table["rows"])
        assert all(column["meaning"] for column in table["columns"].values())


def test_the_first_table_holds_the_differences_unrounded(tmp_path):
    run("compare", INKS, "--margin", "0.1", "--out", tmp_path / "inks.csv")
    frame = pd.read_csv(tmp_path / "inks.csv")
    known = contrast(compare(measure(to_frame(read(INKS)))), margin=0.1).dyes
    assert frame["delta_rf"].to_numpy() == pytest.approx(known["delta_rf"].to_numpy(), rel=1e-12, nan_ok=True)
    assert frame["finding"].tolist() == known["finding"].tolist()


@pytest.mark.parametrize("ending", ["html", "md", "txt"])
def test_a_report_takes_its_style_from_the_ending(tmp_path, ending):
    done = run("choose", LEAF, "--title", "A leaf", "--out", tmp_path / f"leaf.{ending}")
    assert done.exit_code == 0, done.output
    assert "A leaf" in (tmp_path / f"leaf.{ending}").read_text(encoding="utf-8")


def test_a_style_is_stronger_than_the_ending_of_a_table(tmp_path):
    done = run("compare", INKS, "--style", "text", "--out", tmp_path / "inks.csv")
    assert done.exit_code == 0, done.output
    assert (tmp_path / "inks.csv").read_text(encoding="utf-8").startswith("Solvent systems compared")


def test_dyes_criterion_and_strength_are_passed_on():
    done = run("choose", LEAF, "--dye", "leaf extract (grey)", "--dye", "leaf extract (blue-green)",
               "--criterion", "smallest gap", "--at", "acetone=0.15", "--at", "acetone=0.25")  # fmt: skip
    assert done.exit_code == 0, done.output
    text = " ".join(done.stdout.split())
    assert "By the smallest gap of 2 dyes" in text
    assert done.stdout.count("0.150") >= 2
    assert done.stdout.count("0.250") >= 2


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        (("compare", LEAF, "--margin", "2"), 2, "wanted a difference of Rf between 0 and 1, given 2"),
        (("choose", LEAF, "--at", "acetone"), 2, "wanted NAME=FRACTION, given 'acetone'"),
        (("choose", LEAF, "--at", "acetone=much"), 2, "Write for instance --at acetone=0.25"),
        (("choose", LEAF, "--at", "acetone=0.9"), 1, "lies too far from what was tried"),
        (("choose", LEAF, "--dye", "mauve"), 1, "'mauve' is none of the dyes that can be followed"),
        (("choose", LEAF, "--criterion", "beauty"), 2, "--criterion: wanted one of worst resolution"),
        (("compare", LEAF, "--out", "leaf.doc"), 2, "no report style writes .doc"),
        (("compare", "nowhere.csv"), 2, "nowhere.csv"),
    ],
    ids=["margin", "no number", "words", "too far", "dye", "criterion", "ending", "file"],
)
def test_refusals(words, code, said):
    done = run(*words)
    assert done.exit_code == code, done.output
    assert said in " ".join(done.output.replace("│", " ").split())
    assert "Traceback" not in done.output


def test_a_name_may_hold_an_equals_sign():
    assert strengths(["a=b=0.5"]) == {"a=b": [0.5]}
    assert strengths(None) == {}

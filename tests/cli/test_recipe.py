"""The command ``lanewise recipe`` as a person calls it."""

from __future__ import annotations

import io
import json

import pandas as pd
import pytest
from typer.testing import CliRunner

import lanewise
from lanewise.cli.main import app

CALL = ("recipe", "ethyl acetate:ethanol:water 70:35:30", "--volume", "40")


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


def said(done):
    return " ".join(done.stdout.split())


def test_without_a_file_the_report_is_printed():
    done = run(*CALL, "--front", 85, "--observed", "40:6", "--title", "Inks (invented)")
    assert done.exit_code == 0, done.output
    assert done.stdout.startswith("Inks (invented)\n=====")
    for words in ("What to measure", "How long it runs", "from one observation", "Cautions", "data sheet decide"):
        assert words in said(done)


@pytest.mark.parametrize(
    ("name", "start"),
    [
        pytest.param("mix.html", "<!DOCTYPE html>", id="html"),
        pytest.param("mix.md", "# ", id="markdown"),
        pytest.param("mix.csv", "substance,take,u,unit,", id="csv"),
        pytest.param("mix.json", '{\n "kind": "lanewise recipe"', id="json"),
    ],
)
def test_out_takes_its_form_from_the_ending(tmp_path, name, start):
    done = run(*CALL, "--out", tmp_path / name)
    assert done.exit_code == 0, done.output
    assert (tmp_path / name).read_text(encoding="utf-8").startswith(start)
    assert f"Wrote {tmp_path / name}" in done.stdout


def test_json_holds_recipe_time_and_cautions(tmp_path):
    done = run(
        *CALL, "--cylinder", "25/0.5/0.25", "--cylinder", "10/0.1", "--pipette", "10/0.02", "--strength", "ethanol=96",
        "--front", 85, "--observed", "40:6:a", "--observed", "60:13:a", "--codes", "ethyl acetate=H225 H319",
        "--spotted-from", "acetone", "--out", tmp_path / "mix.json",
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    held = json.loads((tmp_path / "mix.json").read_text(encoding="utf-8"))
    assert held["parts"][1]["substance"] == "ethanol 96 %"
    assert held["running_time"]["observations"][0]["run"] == "a"
    assert held["cautions"]["substances"][0]["codes"] == ["H225", "H319"]
    assert any("use acetone for all lanes" in text for text in held["remarks"])


def test_volume_from_vessel_and_depth(tmp_path):
    """By hand: 70 mm across, 8 mm deep: 30.8 mL."""
    out = tmp_path / "mix.json"
    done = run("recipe", "water", "--vessel", "70x95", "--depth", 8, "--cylinder", "50/1", "--out", out)
    assert done.exit_code == 0, done.output
    held = json.loads(out.read_text(encoding="utf-8"))
    assert held["volume_ml"] == pytest.approx(30.8, abs=0.05)
    assert held["total_ml"] == 31


def test_traps_are_said():
    depth = run("recipe", "ethanol:water 1:1", "--volume", 1, "--vessel", "70x95")
    assert "a depth may be meant" in said(depth)
    salt = run("recipe", "1 % sodium chloride in water", "--volume", 100, "--kitchen", "1/8 teaspoon in 3 cups")
    assert "not the 1 % that the recipe says: 9.5 times less" in said(salt)
    layers = run("recipe", "1-butanol:acetic acid:water 4:1:3", "--volume", 40)
    assert "parts into two layers" in said(layers)


def test_kitchen_measures_are_chosen():
    done = run("recipe", "0.1 % sodium chloride in water", "--volume", 500, "--kitchen", "choose")
    assert "1/8 teaspoon of fine table salt in 3 1/4 cups of water" in said(done)


@pytest.mark.parametrize("name", ["earlier.json", "earlier.csv"])
def test_times_come_from_the_readings_of_earlier_plates(tmp_path, name):
    plates = [
        lanewise.Plate(
            label=str(front), system="water", origin=15, front=front, reading=lanewise.Reading(zero="sheet edge"),
            development=lanewise.Development(minutes=minutes),
        )
        for front, minutes in ((68, 12), (88, 21))
    ]  # fmt: skip
    lanewise.save(lanewise.Study(plates=plates), tmp_path / "earlier.json")
    (tmp_path / "earlier.csv").write_text(
        "plate,system,lane,origin,front,centre,zero,minutes\n68,water,A,15,68,40,sheet edge,12\n"
        "88,water,A,15,88,40,sheet edge,21\n",
        encoding="utf-8",
    )
    out = tmp_path / "mix.json"
    done = run(
        "recipe", "water", "--volume", 40, "--front", 80, "--earlier", tmp_path / name, "--earlier-depth", 8,
        "--out", out,
    )  # fmt: skip
    assert done.exit_code == 0, done.output
    held = json.loads(out.read_text(encoding="utf-8"))["running_time"]
    assert [(one["front"], one["minutes"]) for one in held["observations"]] == [(60, 12), (80, 21)]
    assert held["low"] < (21 * 12 * (80 / 60) ** 2) ** 0.5 < held["high"]  # both brought to 80 mm, geometric mean
    assert held["minutes"] == pytest.approx((21 * 12 * (80 / 60) ** 2) ** 0.5)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(["--codes", "ethanol"], "--codes 'ethanol=H225'", id="codes"),
        pytest.param(["--molar-mass", "limestone=100"], "molar mass of limestone: wanted one of none", id="salt"),
        pytest.param(["--volume", "1e7"], "above 0 mL and below a million, given 1e+07", id="volume"),
    ],
)
def test_wrong_calls_name_what_is_wrong(words, said):
    done = run("recipe", "ethanol:water 1:1", "--volume", 20, *words)
    assert done.exit_code == 2
    assert said in " ".join(done.stderr.split())


def test_csv_is_a_table(tmp_path):
    run(*CALL, "--out", tmp_path / "mix.csv")
    frame = pd.read_csv(io.StringIO((tmp_path / "mix.csv").read_text(encoding="utf-8")))
    assert frame["substance"].tolist() == ["ethyl acetate", "ethanol", "water"]
    assert frame["found"].sum() == pytest.approx(1)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        pytest.param(["water"], "wanted one of --volume and --depth", id="no volume"),
        pytest.param(["water", "--volume", 4, "--depth", 4], "given both", id="both"),
        pytest.param(["water", "--depth", 4], "--depth: wanted the size of the vessel", id="no vessel"),
        pytest.param(["water", "--volume", -4], "volume: wanted a number above 0 mL", id="volume"),
        pytest.param(["water", "--volume", 4, "--cylinder", "x"], "cylinder: wanted capacity/division", id="glass"),
        pytest.param(["water", "--volume", 4, "--observed", "40:6"], "wanted --front with it", id="no front"),
        pytest.param(
            ["water", "--volume", 4, "--front", 85, "--observed", "40"], "wanted FRONT:MINUTES", id="observation"
        ),
        pytest.param(["water", "--volume", 4, "--front", 85], "run a strip, and note front and minutes", id="no run"),
        pytest.param(["water", "--volume", 4, "--strength", "water=a"], "--strength: wanted a number", id="strength"),
        pytest.param(["water", "--volume", 4, "--kitchen", "choose"], "--kitchen: wanted a system of", id="kitchen"),
        pytest.param(
            ["1 % sodium chloride in water", "--volume", 40, "--kitchen", "a spoon"],
            "wanted '1/8 teaspoon in 3 cups' or 'choose'",
            id="kitchen text",
        ),
        pytest.param(["water", "--volume", 4, "--out", "mix.docx"], "no report style writes .docx", id="style"),
        pytest.param(["water", "--volume", 4, "--codes", "water=burns"], "wanted hazard statement codes", id="codes"),
    ],
)
def test_wrong_calls_say_what_was_wanted(words, message, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    done = run("recipe", *words)
    assert done.exit_code == 2
    assert message in done.stderr
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("depth", [-2, 95])
def test_a_depth_lies_within_the_vessel(depth):
    done = run("recipe", "water", "--vessel", "70x95", "--depth", depth)
    assert done.exit_code == 2
    assert f"below the height of the vessel, given {depth} mm" in done.stderr

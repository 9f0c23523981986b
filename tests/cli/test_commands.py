"""Each command as a person calls it: what is printed, what is written, and the exit code."""

from __future__ import annotations

import json
from pathlib import Path

import pandas as pd
import pytest
import xarray as xr
from typer.testing import CliRunner

from lanewise.cli.main import app
from lanewise.tables.columns import PAIRS, SPOTS, names

EXAMPLE = Path(__file__).parents[2] / "examples" / "writing_inks.csv"


def run(*words):
    return CliRunner().invoke(app, [str(word) for word in words])


@pytest.fixture
def faulty(tmp_path):
    path = tmp_path / "faulty.csv"
    path.write_text("lane,front_mm,centre_mm\n1,80,abc\n2,8,40\n", encoding="utf-8")
    return path


@pytest.mark.parametrize("command", ["report", "measure", "check", "formats", "styles", "plugins"])
def test_help_says_what_a_command_does(command):
    done = run(command, "--help")
    assert done.exit_code == 0
    assert "Usage" in done.output


def test_version():
    from importlib.metadata import version

    assert run("--version").output == f"lanewise {version('lanewise')}\n"


@pytest.mark.parametrize(
    ("name", "start"),
    [
        pytest.param("report.html", "<!DOCTYPE html>", id="html"),
        pytest.param("report.md", "# ", id="markdown"),
        pytest.param("report.txt", "Planar chromatography", id="text"),
    ],
)
def test_report_takes_its_style_from_the_ending(tmp_path, name, start):
    done = run("report", EXAMPLE, "--out", tmp_path / name)
    assert done.exit_code == 0, done.output
    assert (tmp_path / name).read_text(encoding="utf-8").startswith(start)
    assert f"Wrote {tmp_path / name}" in done.stdout


def test_report_into_a_folder_that_is_not_there(tmp_path):
    done = run("report", EXAMPLE, "--out", tmp_path / "nowhere" / "report.html")
    assert done.exit_code == 2
    assert "nowhere" in done.stderr
    assert "Traceback" not in done.output


def test_report_is_printed_as_text_without_out():
    done = run("report", EXAMPLE, "--title", "Inks of the class")
    assert done.exit_code == 0
    assert done.stdout.startswith("Inks of the class\n=====")


def test_report_style_option(tmp_path):
    done = run("report", EXAMPLE, "--style", "text", "--style-option", "width=60")
    assert done.exit_code == 0
    prose = [line for line in done.stdout.splitlines() if line.startswith("Note of the readers")]
    assert prose
    assert all(len(line) <= 60 for line in prose)


def test_measure_prints_the_spots_as_csv():
    done = run("measure", EXAMPLE)
    frame = pd.read_csv(pd.io.common.StringIO(done.stdout))
    assert list(frame.columns[: len(SPOTS)]) == names(SPOTS)
    assert "bench" in frame.columns


def test_measure_prints_the_pairs_when_asked():
    done = run("measure", EXAMPLE, "--pairs")
    assert done.stdout.splitlines()[0] == ",".join(names(PAIRS))


def test_measure_writes_csv_with_the_pairs_beside_it(tmp_path):
    done = run("measure", EXAMPLE, "--out", tmp_path / "inks.csv")
    assert done.exit_code == 0
    assert pd.read_csv(tmp_path / "inks.csv")["rf"].notna().sum() == 75
    assert list(pd.read_csv(tmp_path / "inks-pairs.csv").columns) == names(PAIRS)


def test_measure_writes_json_with_the_meaning_of_its_columns(tmp_path):
    run("measure", EXAMPLE, "--out", tmp_path / "inks.json")
    content = json.loads((tmp_path / "inks.json").read_text(encoding="utf-8"))
    assert content["columns"]["rf"] == {"unit": "1", "meaning": "retardation factor"}
    frame = pd.read_csv(pd.io.common.StringIO(run("measure", EXAMPLE).stdout))
    written = [row["rf"] for row in content["spots"] if row["rf"] is not None]
    assert written == pytest.approx(frame["rf"].dropna().tolist(), rel=1e-14)


def test_measure_writes_netcdf_with_cf_attributes(tmp_path):
    done = run("measure", EXAMPLE, "--out", tmp_path / "inks.nc")
    assert done.exit_code == 0, done.output
    with xr.open_dataset(tmp_path / "inks.nc", engine="scipy") as data:
        assert data["rf"].attrs["long_name"] == "retardation factor"
        assert data["rf"].attrs["units"] == "1"
        assert data["pair_rs"].sizes != data["rf"].sizes
        frame = pd.read_csv(pd.io.common.StringIO(run("measure", EXAMPLE).stdout))
        assert data["rf"].to_numpy() == pytest.approx(frame["rf"].to_numpy(), nan_ok=True)


def test_measure_refuses_an_unknown_ending(tmp_path):
    done = run("measure", EXAMPLE, "--out", tmp_path / "inks.docx")
    assert done.exit_code == 2
    assert "wanted a file ending in .csv, .json or .nc, given 'inks.docx'" in done.stderr


def test_check_finds_nothing_in_the_example():
    done = run("check", EXAMPLE)
    assert (done.exit_code, done.stdout) == (0, "No problem found.\n")


def test_check_lists_every_problem(faulty):
    done = run("check", faulty)
    assert done.exit_code == 1
    assert "faulty.csv, row 2, column centre_mm" in done.stdout
    assert "row 3" in done.stdout


@pytest.mark.parametrize("command", ["report", "measure"])
def test_a_faulty_file_is_an_exit_code_and_no_traceback(command, faulty):
    done = run(command, faulty)
    assert done.exit_code == 1
    assert "2 problems, nothing was read" in done.stderr
    assert "Traceback" not in done.output


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(["report", "nowhere.csv"], "nowhere.csv", id="missing file"),
        pytest.param(["report", EXAMPLE, "--style", "htlm"], "'html'", id="misspelt style"),
        pytest.param(["report", EXAMPLE, "--out", "report.xyz"], ".xyz", id="ending of no style"),
        pytest.param(["measure", EXAMPLE, "--format", "marks-tabel"], "'marks-table'", id="misspelt format"),
        pytest.param(["measure", EXAMPLE, "--option", "divison=1"], "'division'", id="misspelt option"),
        pytest.param(["measure", EXAMPLE, "--option", "division"], "NAME=VALUE", id="option without value"),
        pytest.param(["measure", EXAMPLE, "--option", "plate=1", "--option", "plate=2"], "twice", id="option twice"),
        pytest.param(["measure", EXAMPLE, "--level", "95"], "between 0 and 1, given 95", id="level in per cent"),
        pytest.param(["measure"], "Missing argument", id="no file"),
    ],
)
def test_a_wrong_call_is_exit_code_2(words, said):
    done = run(*words)
    assert done.exit_code == 2
    assert said in done.output
    assert "Traceback" not in done.output


def test_formats_lists_names_endings_and_options():
    done = run("formats")
    assert done.exit_code == 0
    for part in ("marks-table", ".csv", "study-record", "option division"):
        assert part in done.stdout


def test_formats_explains_a_file():
    done = run("formats", "--explain", EXAMPLE)
    assert done.stdout.splitlines()[0].startswith("lanewise:marks-table (built in): yes")


@pytest.mark.parametrize(
    ("command", "headings"),
    [
        pytest.param("report", {"--option of format 'marks-table':", "--style-option of style 'html':"}, id="report"),
        pytest.param("measure", {"--option of format 'marks-table':"}, id="measure"),
        pytest.param("check", {"--option of format 'marks-table':"}, id="check"),
    ],
)
def test_help_lists_the_options_of_formats_and_styles(command, headings):
    lines = run(command, "--help").output.splitlines()
    assert headings <= set(lines)
    assert ("--style-option of style 'html':" in lines) == (command == "report")
    text = " ".join(" ".join(lines).split())
    assert "division Division of the ruler: number, 0.001 or more, in mm, or nothing." in text
    assert (
        command != "report"
        or "contents Give a list of the sections with links, after the summary: yes or no. [default: yes]" in text
    )


def test_plugins_lists_what_is_installed():
    from importlib.metadata import version

    lines = run("plugins").stdout.splitlines()
    at = lines.index(f"lanewise {version('lanewise')}, plugin formats-builtin: in use")
    assert lines[at + 1] == "    hook API 1; formats: marks-table, study-record; styles: none"


def test_plugins_as_json():
    listed = json.loads(run("plugins", "--json").stdout)
    own = next(plugin for plugin in listed if plugin["name"] == "styles-builtin")
    assert own["state"] == "ok"
    assert own["api"] == 1
    assert own["styles"] == ["html", "markdown", "text"]


def test_without_plugin_switches_off_for_one_command(tmp_path):
    lines = run("plugins", "--without-plugin", "formats-builtin").stdout.splitlines()
    at = next(place for place, line in enumerate(lines) if line.endswith("plugin formats-builtin: switched off"))
    assert lines[at + 1 : at + 3] == [
        "    hook API not known, since it was not loaded; formats: none; styles: none",
        "    is switched off by this call (formats-builtin)",
    ]
    assert "marks-table" not in run("formats", "--without-plugin", "marks-table").stdout
    assert not any(line.startswith("html ") for line in run("styles", "--without-plugin", "html").stdout.splitlines())
    done = run("report", EXAMPLE, "--without-plugin", "html", "--out", tmp_path / "report.html")
    assert done.exit_code == 2
    assert "no report style writes .html" in done.stderr
    for command, code in (("measure", 2), ("check", 1), ("report", 2)):
        done = run(command, EXAMPLE, "--without-plugin", "marks-table")
        assert done.exit_code == code, command
        assert "no import format recognises writing_inks.csv" in done.output
    assert run("check", EXAMPLE).exit_code == 0


def test_without_plugin_says_what_met_nothing():
    assert "this call switches off 'htlm', which is no plugin" in run("styles", "--without-plugin", "htlm").stderr


@pytest.mark.parametrize("kind", ["import-format", "report-style"])
def test_new_plugin_writes_a_package(tmp_path, kind):
    done = run("new-plugin", "fresh-sheet", f"--{kind}", "--into", tmp_path / "sheet")
    assert done.exit_code == 0, done.output
    written = {path.relative_to(tmp_path / "sheet").as_posix() for path in (tmp_path / "sheet").rglob("*.*")}
    assert {"pyproject.toml", "README.md", "fresh_sheet.py", "tests/test_contract.py"} <= written
    assert f"Wrote {tmp_path / 'sheet' / 'fresh_sheet.py'}" in done.stdout


@pytest.mark.parametrize(
    ("words", "said"),
    [
        pytest.param(["fresh-sheet"], "wanted one of --import-format and --report-style, given neither", id="no kind"),
        pytest.param(["fresh-sheet", "--import-format", "--report-style"], "given both", id="both kinds"),
        pytest.param(["marks-table", "--import-format"], "marks-table", id="name in use"),
    ],
)
def test_new_plugin_refuses(tmp_path, words, said):
    done = run("new-plugin", *words, "--into", tmp_path / "sheet")
    assert done.exit_code == 2
    assert said in done.stderr
    assert not (tmp_path / "sheet").exists()


def test_styles_lists_names_and_options():
    done = run("styles")
    for part in ("html", "markdown", "text", "option width"):
        assert part in done.stdout

"""Every example runs from any folder, with warnings as errors, and says what it should."""

from __future__ import annotations

import csv
import importlib.util
import math
import re
import subprocess
import sys
from pathlib import Path

import pytest

EXAMPLES = Path(__file__).parents[2] / "examples"
SCRIPTS = sorted(EXAMPLES.glob("*.py"))
METROLOGY = Path(__file__).parents[1] / "reference" / "metrology"


@pytest.fixture
def run(tmp_path):
    """Run an example in an empty folder; give what it printed and what it left there."""

    def run(name):
        done = subprocess.run(
            [sys.executable, "-I", "-W", "error", str(EXAMPLES / name)],
            cwd=tmp_path,
            capture_output=True,
            text=True,
            encoding="utf-8",
            env={"PYTHONIOENCODING": "utf-8", "PYTHONUTF8": "1", "MPLBACKEND": "agg"},
        )
        assert done.returncode == 0, done.stderr
        assert done.stderr == ""
        return done.stdout, sorted(path.name for path in tmp_path.iterdir())

    return run


def test_every_script_is_known_here():
    assert [path.stem for path in SCRIPTS] == [
        "choose_leaf_system",
        "compare_inks",
        "first_script",
        "gum_h2",
        "lane_trace",
        "photograph",
        "plan_leaf_pigments",
        "shared_dyes",
    ]


def test_first_script(run):
    printed, files = run("first_script.py")
    assert "crystal violet" in printed
    assert "eosin Y" in printed
    assert files == ["report.html"]


# Rf that were put into the invented readings, in the ethyl acetate and in the 1-butanol system; each plate has a shift.
PUT_IN = {"crystal violet": (0.36, 0.43), "rhodamine B": (0.385, 0.58), "eosin Y": (0.74, 0.70)}


def test_compare_inks_finds_what_was_put_into_the_readings(run):
    printed, files = run("compare_inks.py")
    for dye, truth in PUT_IN.items():
        farther = "A" if truth[0] > truth[1] else "B"
        (line,) = [line for line in printed.splitlines() if dye in line and " against " in line]
        found = [float(number) for number in re.search(r"Rf (\d\.\d+) against (\d\.\d+)", line).groups()]
        assert found == pytest.approx(sorted(truth, reverse=True), abs=0.02)
        assert line.index("Rf ") > line.index(f"system {farther}")  # the farther one is named first
    assert "stayed at the origin" in printed
    assert "ran with the front" in printed
    assert "streak" in printed
    assert files == []


def test_shared_dyes_finds_what_was_put_into_the_inks(run):
    """What the comments at the end of the readings say; only the second system tells violet and pink apart."""
    printed, files = run("shared_dyes.py")
    assert "correction red: rhodamine B + eosin Y; left over: yellow" in printed
    table = printed.split("Which inks share dyes\n")[1].split("\n\n")[0].splitlines()
    assert {line.rsplit(None, 6)[0]: line.split()[-6:].count("1") for line in table[2:]} == {
        "ledger blue": 2,
        "copying violet": 2,
        "correction red": 3,
        "document black": 3,
        "map green": 2,
    }
    assert "document black, spot 2: cannot tell between crystal violet and rhodamine B" in printed
    assert "1-butanol:ethanol:water 50:10:15 on silica (no smaller set does)" in printed
    assert files == []


def numbers_of(line):
    return re.findall(r"-?\d+\.\d+", line)


def test_gum_h2_reaches_the_published_values(run):
    """Half a unit of the last printed digit; u(X) has the wider limit of published.csv."""
    printed, files = run("gum_h2.py")
    with (METROLOGY / "published.csv").open(encoding="utf-8", newline="") as file:
        within = {row["quantity"]: row["within"] for row in csv.DictReader(file) if row["example"] == "H.2"}
    checked = 0
    for line in printed.splitlines()[1:]:
        found = numbers_of(line)
        half = len(found) // 2
        names = [line.split()[0]] if line.startswith(("R", "X", "Z")) else [line.split("  ")[0].replace(" ", "")]
        names += [f"u({names[0]})"] * (half - 1)
        for name, published, ours in zip(names, found[:half], found[half:], strict=True):
            limit = float(within[name] or 0.5 * 10.0 ** -len(published.partition(".")[2]))
            assert float(ours) == pytest.approx(float(published), rel=0, abs=limit * 1.000001), name
            checked += 1
    assert checked == 9
    assert files == []


def test_gum_h2_holds_the_reference_data():
    spec = importlib.util.spec_from_file_location("gum_h2_example", EXAMPLES / "gum_h2.py")
    example = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(example)
    with (METROLOGY / "gum_h2_data.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [[float(row[name]) for name in ("V_volt", "I_ampere", "phi_radian")] for row in rows] == example.READINGS
    with (METROLOGY / "published.csv").open(encoding="utf-8", newline="") as file:
        printed = {row["quantity"]: row["published"] for row in csv.DictReader(file) if row["example"] == "H.2"}
    for name, (value, u) in example.PUBLISHED.items():
        assert (printed[name], printed[f"u({name})"]) == (value, u)
    for (a, b), correlation in example.CORRELATIONS.items():
        assert printed[f"r({a},{b})"] == correlation


def test_lane_trace_finds_what_was_drawn_and_prints_what_the_page_says(run):
    """The mode of the tailing zone by scipy's exponentially modified Gaussian, which the example does not use."""
    from scipy import optimize, stats

    printed, left = run("lane_trace.py")
    assert left == ["green_ink.json"]
    page = (EXAMPLES.parent / "docs" / "how-to" / "lane-traces.md").read_text(encoding="utf-8")
    assert printed.removesuffix("green_ink.json\n") in page
    zone = stats.exponnorm(1.8 / 1.4, scale=1.4)
    mode = 38.0 - optimize.minimize_scalar(lambda at: -zone.pdf(at), bounds=(0, 5), method="bounded").x
    darkest = [float(number) for number in re.findall(r"darkest at ([0-9.]+) mm", printed)]
    assert darkest == [pytest.approx(mode, abs=0.03), pytest.approx(64.0, abs=0.03)]
    rf = [float(line.split()[1]) for line in printed.splitlines()[3:5]]
    assert rf == [pytest.approx((at - 10.0) / 75.0, abs=6e-5 + 0.005 / 75) for at in darkest]


def test_plan_leaf_pigments_is_refused_once_and_comes_back_as_it_was_put_in(run):
    """Rf of ivy was put into the readings as 0.41, the check bar as 99.2 mm."""
    printed, files = run("plan_leaf_pigments.py")
    assert printed.startswith("plan: wanted a sheet at most 76 mm wide")
    assert "a sheet folded into 2 panels" in printed.splitlines()[0]
    before, after = printed.splitlines()[-2:]
    assert before == "front at 108.0 mm, Rf of ivy 0.410"
    assert after == f"front at {108 * 0.992:.1f} mm, Rf of ivy 0.410"
    assert files == ["leaf_marks.csv", "leaf_plan.html", "leaf_sheet.pdf"]


# What was put into the invented leaf readings: Rf in 2-propanol, R_M at a fraction of 0.2 of acetone, and its slope
# against the logarithm of the fraction.
LEAF = {
    "pale yellow": (0.13, 0.75, 2.3), "yellow": (0.40, 0.27, 2.0), "yellow-green": (0.51, 0.21, 2.0),
    "blue-green": (0.63, 0.0, 1.9), "grey": (0.76, -0.25, 1.8),
}  # fmt: skip


def test_choose_leaf_system_finds_what_was_put_into_the_readings(run):
    printed, files = run("choose_leaf_system.py")
    assert files == []
    assert "system D is best with" in printed
    for letter in "ABC":
        assert f"system {letter}: leaf extract (yellow) and leaf extract (yellow-green), Rs 0." in printed
    assert "system D: leaf extract" not in printed
    for colour, (_, at20, slope) in LEAF.items():
        (line,) = [line for line in printed.splitlines() if line.startswith(f"  leaf extract ({colour}) at a fraction")]
        rf, low, high = (float(text) for text in re.findall(r"\d\.\d\d", line)[1:])
        truth = 1.0 / (1.0 + 10.0 ** (at20 - slope * math.log10(0.25 / 0.2)))
        assert low <= truth <= high
        assert rf == pytest.approx(truth, abs=0.03)
    assert "The strength of acetone in heptane alone is not likely to part them" in printed
    assert "safety data sheets" in printed


def test_photograph_is_read_and_drawn(run):
    """What is read is held to the truth in the tests of the plugin; here it is said whole and drawn."""
    if subprocess.run([sys.executable, "-I", "-c", "import lanewise_photo"], capture_output=True).returncode:
        pytest.skip("lanewise-photo is not installed")
    printed, files = run("photograph.py")
    assert files == ["overlay.svg"]
    table, flags = printed.split("\nFlags\n")
    rows = [line.split() for line in table.splitlines()[1:]]
    assert {row[1] for row in rows} == set("ABCD")
    measured = [row for row in rows if row[3] == "measured"]
    assert len(measured) >= 4
    assert all(0 < float(row[5]) < float(row[4]) < float(row[6]) < 1 for row in measured)
    assert "so near the origin line that only a limit can be given" in flags


def test_photograph_says_what_it_needs_where_the_plugin_is_not_installed(tmp_path):
    script = EXAMPLES / "photograph.py"
    hidden = (
        f"import runpy, sys; sys.modules['lanewise_photo'] = None; runpy.run_path({str(script)!r}, run_name='__main__')"
    )
    done = subprocess.run(
        [sys.executable, "-I", "-c", hidden], cwd=tmp_path, capture_output=True, text=True, check=True
    )
    assert done.stdout == "Nothing was done: to read photographs, install the package lanewise-photo.\n"
    assert list(tmp_path.iterdir()) == []

"""Every example runs from any folder, with warnings as errors, and says what it should."""

from __future__ import annotations

import csv
import importlib.util
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
    assert [path.name for path in SCRIPTS] == ["compare_inks.py", "first_script.py", "gum_h2.py", "lane_trace.py"]


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

"""Simulate studies and see how often stated probabilities come true: ``python docs/calibration.py``; takes minutes.

Writes ``docs/explanation/calibration.csv``, from which ``docs/remake.py`` draws the picture of the page. The studies
are made by ``tests/analyses/simulated_studies.py``, which shares no code with the identification.
"""

from __future__ import annotations

import csv
import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
from matplotlib.figure import Figure as Canvas
from matplotlib.patches import Rectangle

import lanewise
from lanewise.figures.look import BAND, INK, PENCIL, SMALL, add_area, as_document_figure, system_style, write

ROOT = Path(__file__).parents[1]
TABLE = ROOT / "docs" / "explanation" / "calibration.csv"
STUDIES = 2_000
SIZE = (170.0, 99.0)  # mm
NOTES = (
    "The line is what it should be.",
    "The square: answers given with 85 to 95 %,",
    "of which 85 to 95 % are to be right.",
    "Bars reach two standard errors; classes with",
    "fewer than 50 answers are not drawn.",
    f"{STUDIES} simulated studies at each level.",
)
COLUMNS = ("case", "scatter", "division_mm", "studies", "low", "high", "claims", "stated", "right")


def simulation() -> ModuleType:
    """Load the module that makes the studies."""
    path = ROOT / "tests" / "analyses" / "simulated_studies.py"
    spec = importlib.util.spec_from_file_location("simulated_studies", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def main() -> None:
    """Run all cases and write the table."""
    made = simulation()
    _, ordinary, hasty, bad = made.LEVELS
    cases = [(level.name, level, STUDIES, {}) for level in made.LEVELS]
    cases += [
        ("ordinary, few unknown dyes", ordinary, STUDIES // 4, {"unknown": 0.2}),
        ("ordinary, many unknown dyes", ordinary, STUDIES // 4, {"unknown": 0.8}),
        ("a hasty class, nothing repeated", hasty, STUDIES // 4, {"repeated": 0}),
        ("a bad day, nothing repeated", bad, STUDIES // 4, {"repeated": 0}),
    ]
    rows = []
    for number, (name, level, count, options) in enumerate(cases):
        pairs = []
        for marks, truth in made.studies(count, level, seed=2026 + number, **options):
            pairs += made.claims(lanewise.identify(lanewise.measure(marks)), truth)
        for low, high, claims, stated, right in made.binned(pairs):
            rows.append(
                (name, level.scatter, level.division, count, low, high, claims, f"{stated:.4f}", f"{right:.4f}")
            )
    for number, references in enumerate((3, 0)):
        pairs = []
        for marks, truth, earlier in made.studies_with_library(
            STUDIES // 4, ordinary, seed=3026 + number, references=references
        ):
            library = lanewise.library_of(lanewise.measure(earlier), "earlier plates")
            pairs += made.claims(lanewise.identify(lanewise.measure(marks), library), truth)
        name = f"ordinary, a library and {references or 'no'} standards on the plate"
        for low, high, claims, stated, right in made.binned(pairs):
            found = (low, high, claims, f"{stated:.4f}", f"{right:.4f}")
            rows.append((name, ordinary.scatter, ordinary.division, STUDIES // 4, *found))
    with TABLE.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(rows)


def table() -> list[dict[str, str]]:
    """Read the table."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def near_ninety() -> str:
    """Give the rows of the claims made with 90 % as a table of the page."""
    lines = [
        "| studies | scatter of Rf | claims with 85 to 95 % | stated on the mean | right |",
        "| --- | --- | --- | --- | --- |",
    ]
    for row in table():
        if row["low"] == "0.85":
            stated, right = (f"{100 * float(row[name]):.1f} %" for name in ("stated", "right"))
            lines.append(
                f"| {row['studies']}, {row['case']} | {row['scatter']} | {row['claims']} | {stated} | {right} |"
            )
    return "\n".join(lines)


def paint(figure: Canvas) -> None:
    """Draw the share that was right against the probability stated, one line a level of noise."""
    page = add_area(figure, 0, 0, *SIZE)
    left, bottom, side = 16.0, 13.0, 82.0
    axes = add_area(figure, left, bottom, side, side)
    axes.set_xlim(0.35, 1.0)
    axes.set_ylim(0.35, 1.0)
    axes.add_patch(Rectangle((0.85, 0.85), 0.1, 0.1, facecolor=BAND, edgecolor=PENCIL, linewidth=0.5, zorder=0))
    axes.plot([0.35, 1.0], [0.35, 1.0], color=PENCIL, linewidth=0.7, zorder=1)
    axes.plot([0.35, 0.35, 1.0], [1.0, 0.35, 0.35], color=PENCIL, linewidth=0.9, clip_on=False)
    for tenth in range(4, 11):
        at = (tenth / 10 - 0.35) / 0.65 * side
        page.plot([left + at] * 2, [bottom - 1.0, bottom], color=PENCIL, linewidth=0.6)
        page.plot([left - 1.0, left], [bottom + at] * 2, color=PENCIL, linewidth=0.6)
        write(page, left + at, bottom - 3.0, f"{10 * tenth} %", size=SMALL, ha="center", color=PENCIL)
        write(page, left - 2.0, bottom + at, f"{10 * tenth} %", size=SMALL, ha="right", color=PENCIL)
    write(page, left + side / 2, 4.5, "probability stated", style="bold", ha="center")
    write(page, 3.2, bottom + side / 2, "share that was right", style="bold", ha="center", rotation=90)
    main_rows = [row for row in table() if row["studies"] == str(STUDIES)]
    for number, case in enumerate(dict.fromkeys(row["case"] for row in main_rows)):
        colour, shape, _ = system_style(number)
        rows = [row for row in main_rows if row["case"] == case and int(row["claims"]) >= 50]
        stated, right = (np.array([float(row[name]) for row in rows]) for name in ("stated", "right"))
        error = np.sqrt(right * (1.0 - right) / np.array([float(row["claims"]) for row in rows]))
        moved = stated + 0.004 * (number - 1.5)
        axes.vlines(moved, right - 2 * error, np.minimum(right + 2 * error, 1.0), color=colour, linewidth=0.9, zorder=2)
        looks = {"color": colour, "marker": shape, "markersize": 4.0, "linewidth": 0.7}
        axes.plot(moved, right, markeredgecolor=INK, markeredgewidth=0.4, zorder=3, clip_on=False, **looks)
        y = bottom + side - 6.0 - 10.0 * number
        page.plot([106.0, 112.0], [y, y], color=colour, linewidth=0.7)
        page.plot([109.0], [y], markeredgecolor=INK, markeredgewidth=0.4, linestyle="none", **looks)
        write(page, 114.5, y + 1.6, case, style="bold")
        claims = sum(int(row["claims"]) for row in main_rows if row["case"] == case)
        write(page, 114.5, y - 1.8, f"scatter {rows[0]['scatter']}, {claims} answers", size=SMALL, color=PENCIL)
    for place, line in enumerate(NOTES):
        write(page, 106.0, bottom + 26.0 - 3.6 * place, line, size=SMALL, color=PENCIL)


def picture() -> bytes:
    """Give the picture of the page."""
    caption = "How often stated probabilities come true."
    return as_document_figure("calibration", caption, (), SIZE, paint).draw("svg")


if __name__ == "__main__":
    main()

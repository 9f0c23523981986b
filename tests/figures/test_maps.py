"""The map of two systems: what is drawn where, what the words say, that everything can be read."""

from __future__ import annotations

import re

import numpy as np
import pytest

from lanewise.analyses.compare import compare
from lanewise.errors import AnalysisError
from lanewise.figures.look import painted
from lanewise.figures.maps import _dots, _listed, paint_map, system_map
from lanewise.uncertainty.montecarlo import draw

CELLS = {
    "red": (30.0, 40.0),
    "blue": (50.0, 22.0),
    "black": ("at origin", 44.0),
    "yellow": ("with front", "with front"),
}


@pytest.fixture
def two_systems(typed):
    def make(cells=CELLS, **shared):
        rows = []
        for dye, places in cells.items():
            for system, place in zip("AB", places, strict=True):
                cell = {"state": place} if isinstance(place, str) else {"centre_mm": place}
                row = {"plate": system, "system": system, "lane": dye, "sample": dye, "colour": ""}
                rows.append(row | {"front_mm": 90.0} | shared | cell)
        return compare(typed(*rows))

    return make


def drawn(comparison, labels=("A", "B"), height=120.0):
    dots = _dots(comparison, *comparison.systems)
    return painted((170.0, height), lambda figure: paint_map(figure, dots, _listed(dots), labels, height, "region"))


def regions(figure):
    return {patch.get_gid(): patch for axes in figure.axes for patch in axes.patches if patch.get_gid()}


def test_the_words_hold_every_dye_with_its_numbers(two_systems):
    figure = system_map(two_systems(), "A", "B", "map", labels=("water", "brine"))
    text = "\n".join(figure.description)
    assert re.search(r"1, red: water 0\.250 ± 0\.00\d; brine 0\.375 ± 0\.00\d\.", text)
    assert "3, black: water below 0.02 (at the origin); brine 0.4" in text
    assert "4, yellow: water above 0.98 (with the front); brine above 0.98 (with the front)." in text
    assert figure.caption.startswith("4 dyes by their Rf in water and in brine; an ellipse holds its dye with 95 %")


def test_a_region_is_the_ellipse_of_its_two_means(two_systems):
    """Two plates share nothing: axes along the page, 2 u sqrt(-2 ln 0.05) long, on a square of 92 mm."""
    comparison = two_systems({"red": (30.0, 40.0), "blue": (50.0, 22.0)})
    shape = regions(drawn(comparison))["region-1"]
    u = comparison.dyes.set_index(["dye", "system"]).loc["red", "u_rf"]
    full = 2.0 * np.sqrt(-2.0 * np.log(0.05)) * 92.0 * u
    assert sorted([shape.width, shape.height]) == pytest.approx(sorted(full))
    assert shape.get_center() == pytest.approx((13.0 + 92.0 * 0.25, 120.0 - 6.0 - 92.0 + 92.0 * 0.375))


def test_an_ellipse_holds_its_share_of_trials(two_systems):
    """A little more than 95 %, since rectangular readings have no tails."""
    comparison = two_systems({"red": (30.0, 40.0), "blue": (50.0, 22.0)})
    dot = _dots(comparison, "A", "B")[0]
    long, short, angle = dot.ellipse
    cells = [comparison.means.cell("red", system) for system in "AB"]
    away = draw(comparison.means.rf[np.array(cells)], 20_000) - [dot.x, dot.y]
    turn = np.radians(angle)
    first, second = away @ [np.cos(turn), np.sin(turn)], away @ [-np.sin(turn), np.cos(turn)]
    inside = (2 * first / long) ** 2 + (2 * second / short) ** 2 <= 1.0
    assert 0.945 <= inside.mean() <= 0.98


def test_a_bound_is_a_box_over_all_that_it_allows(two_systems):
    comparison = two_systems()
    box = regions(drawn(comparison))["region-3"]
    row = comparison.dyes.set_index(["dye", "system"]).loc[("black", "A")]
    assert box.get_width() == pytest.approx(92.0 * (row["rf_high"] - row["rf_low"]))
    assert box.get_x() == pytest.approx(13.0)


def test_everything_can_be_read(two_systems, readable):
    cells = CELLS | {f"dye with a rather long name {n}": (20.0 + 3 * n, 25.0 + 2.5 * n) for n in range(12)}
    texts = [words for words, _ in readable(drawn(two_systems(cells), height=150.0))]
    assert {str(number) for number in range(1, 17)} <= set(texts)
    assert "equal in both" in texts


def test_the_inks(inks, readable):
    comparison = compare(inks)
    figure = system_map(comparison, *comparison.systems, "map")
    assert len(figure.description) == 1 + 15
    assert figure.draw("svg") == figure.draw("svg")
    readable(drawn(comparison))


def test_names_with_signs_of_formulas_are_drawn_as_they_stand(two_systems):
    figure = system_map(two_systems({"$x_ \\frac": (30.0, 40.0), "<b>": (50.0, 22.0)}), "A", "B", "map")
    assert b"<svg" in figure.draw("svg")


@pytest.mark.parametrize(
    ("systems", "match"),
    [(("A", "C"), "wanted a system among A, B, given 'C'"), (("A", "B"), "no dye has a place in both A and B")],
    ids=["unknown", "nothing"],
)
def test_refusals(two_systems, systems, match):
    cells = {"red": ("unread", 40.0), "blue": (50.0, "unread")}
    with pytest.raises(AnalysisError, match=match):
        system_map(two_systems(cells), *systems, "map")

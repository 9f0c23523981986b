"""Traps of printed recipes: each is caught, and silent where nothing is wrong."""

from __future__ import annotations

import pytest

from lanewise.model.notation import parse_system
from lanewise.planning import traps
from lanewise.planning.kitchen import kitchen_solution
from lanewise.planning.recipes import recipe
from lanewise.planning.vessels import Vessel

BEAKER = Vessel(diameter=70, height=95)


def test_salt_water_that_is_called_ten_times_too_strong():
    """A home protocol that is widely copied calls 1/8 teaspoon in 3 cups 1 % (read); it is 0.1 %."""
    found = kitchen_solution("1/8 teaspoon", "3 cups")
    assert "is 0.11 % m/v, not the 1 %" in traps.wrong_percentage(found, 1.0)
    assert traps.wrong_percentage(found, 0.1) == ""
    assert "more." in traps.wrong_percentage(found, 0.01)


def test_a_spoon_of_coarse_salt_is_not_a_spoon_of_fine_salt():
    """The fine-salt figure would call it 2.5 %; a factor of two by make (read)."""
    coarse = kitchen_solution("1 tsp", "1 cup", kind="coarse salt")
    fine = kitchen_solution("1 tsp", "1 cup")
    assert fine.percent / coarse.percent == pytest.approx(1.54, abs=0.005)


def test_a_volume_that_was_meant_as_a_depth():
    """1 cm3 of water printed for 1 cm of water (read). 70 mm across, 10 mm deep: 38 mL, by hand."""
    said = traps.volume_for_depth(1.0, BEAKER)
    assert "0.3 mm deep" in said
    assert "1 cm deep takes 38 mL" in said
    assert traps.volume_for_depth(38.0, BEAKER) == ""


@pytest.mark.parametrize(
    ("text", "said"),
    [
        pytest.param("1-butanol:acetic acid:water 4:1:3", "parts into two layers (read)", id="4:1:3, read"),
        pytest.param("butan-1-ol:ethanoic acid:water 4:1:5", "two layers (common practice)", id="other names"),
        pytest.param("water:1-butanol:acetic acid 5:4:1", "parts into two layers", id="other order of names"),
        pytest.param("1-butanol:acetic acid:water 8:2:10", "parts into two layers", id="twice as much"),
        pytest.param("1-butanol:acetic acid:water 60:15:25 upper phase", "no upper phase to take", id="stays clear"),
        pytest.param("1-butanol:acetic acid:water 4:1:5 upper phase", "", id="layer named"),
        pytest.param("1-butanol:acetic acid:water 12:3:5", "", id="one liquid"),
        pytest.param("hexane:acetone 9:1", "", id="unknown mixture"),
        pytest.param("our usual mixture", "", id="no parts"),
    ],
)
def test_the_layer_has_to_be_named(text, said):
    found = traps.layer_not_named(parse_system(text))
    assert said in found
    assert bool(found) == bool(said)


@pytest.mark.parametrize(
    ("text", "caught"),
    [
        pytest.param("water:1-butanol:acetic acid 4:1:5", True, id="numbers of another order"),
        pytest.param("water:1-butanol:acetic acid 5:4:1", False, id="same mixture, other order of names"),
        pytest.param("1-butanol:acetic acid:water 2:1:1", False, id="other numbers"),
        pytest.param("1-butanol:acetone:water 4:1:5", False, id="other substances"),
    ],
)
def test_numbers_in_another_order(text, caught):
    assert bool(traps.other_order(parse_system(text))) is caught


def test_parts_have_to_be_named():
    from lanewise.errors import PlanError

    with pytest.raises(PlanError, match="Name every part: recipes differ in the order"):
        recipe("BAW 4:1:5", 40)
    with pytest.raises(PlanError, match="per cent without a basis"):
        recipe("70 % ethanol in water", 40)


@pytest.mark.parametrize(
    ("liquid", "said"),
    [
        pytest.param("DMF", "makes streaks", id="dimethylformamide"),
        pytest.param("acetone", "moves Rf a little: use acetone for all lanes", id="acetone"),
        pytest.param(" ", "", id="not said"),
    ],
)
def test_the_liquid_of_spotting(liquid, said):
    found = traps.spotting_solvent(liquid)
    assert said in found
    assert bool(found) == bool(said)


def test_what_changes_while_it_stands():
    assert "fresh on the day" in traps.ageing(parse_system("butanol:acetic acid:water 4:1:1"))
    assert traps.ageing(parse_system("ethyl acetate:acetic acid 92:8")) == ""


@pytest.mark.parametrize(
    ("strengths", "count"),
    [
        pytest.param({"isopropanol": 70.0}, 2, id="rubbing alcohol"),
        pytest.param({"ethanol": 96.0}, 1, id="laboratory ethanol"),
        pytest.param({}, 0, id="none"),
    ],
)
def test_the_label_of_an_alcohol(strengths, count):
    assert len(traps.strength_by_label(strengths)) == count

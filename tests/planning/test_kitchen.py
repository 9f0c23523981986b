"""Kitchen measures against recipes worked by hand and the definitions of the US measures."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise.errors import PlanError
from lanewise.planning.kitchen import kitchen_recipe, kitchen_solution
from lanewise.reference.tables import kitchen_measures


def test_an_eighth_of_a_teaspoon_in_three_cups():
    """By hand: 0.75 g in 709.8 mL, 0.106 % m/v, 0.0181 mol/L; 10 % of the spoon and 4 % of the cups make 11 %."""
    found = kitchen_solution("1/8 teaspoon", "3 US cups")
    assert found.grams == pytest.approx(0.75, abs=0.005)
    assert found.volume == pytest.approx(709.8, abs=0.05)
    assert found.percent == pytest.approx(0.106, abs=0.0005)
    assert found.molarity == pytest.approx(0.0181, abs=0.00005)
    assert 100 * found.u_relative == pytest.approx(11, abs=0.5)
    assert "0.106 ± 0.011 % m/v, 0.0181 ± 0.0019 mol/L" in str(found)


def test_a_pinch_in_half_a_cup():
    """By hand: 0.35 g in 118 mL, 0.30 %; a factor of two either way is 0.40 as a standard deviation (ln 2/sqrt 3)."""
    found = kitchen_solution("a pinch", "1/2 cup")
    assert found.percent == pytest.approx(0.30, abs=0.005)
    assert found.volume == pytest.approx(118, abs=0.5)
    assert found.u_relative == pytest.approx(0.402, abs=0.001)


@pytest.mark.parametrize(
    ("name", "parts"),
    [
        pytest.param("teaspoon", 768, id="teaspoon"),
        pytest.param("tablespoon", 256, id="tablespoon"),
        pytest.param("fluid ounce", 128, id="fluid ounce"),
        pytest.param("cup", 16, id="cup"),
    ],
)
def test_us_measures_are_parts_of_the_gallon(name, parts):
    """US gallon of 231 cubic inches, inch of 25.4 mm (definitions, from memory)."""
    gallon = 231 * 2.54**3
    assert kitchen_measures()[name].amount == pytest.approx(gallon / parts, abs=0.000005)


@pytest.mark.parametrize(
    ("salt", "grams"),
    [
        pytest.param("1 teaspoon", 6.0, id="spoon"),
        pytest.param("2 tsp", 12.0, id="short name, several"),
        pytest.param("1 1/2 teaspoons", 9.0, id="mixed number"),
        pytest.param("1 tablespoon", 18.0, id="tablespoon: pages print 18 to 19"),
        pytest.param("0.5 g", 0.5, id="weighed"),
        pytest.param("1/4 teaspoon of salt", 1.5, id="of salt"),
        pytest.param("2 pinches", 0.7, id="pinches"),
    ],
)
def test_salt_as_it_is_written(salt, grams):
    assert kitchen_solution(salt, "250 mL").grams == pytest.approx(grams, abs=0.005)


@pytest.mark.parametrize(
    ("water", "volume"),
    [
        pytest.param("250 mL", 250, id="millilitres"),
        pytest.param("1.5 L", 1500, id="litres"),
        pytest.param("1 metric cup", 250, id="metric cup"),
        pytest.param("8 fl oz", 236.6, id="fluid ounces"),
        pytest.param("2 1/2 cups", 591.5, id="cups and a half"),
    ],
)
def test_water_as_it_is_written(water, volume):
    assert kitchen_solution("1 g", water).volume == pytest.approx(volume, abs=0.05)


def test_coarse_salt_is_lighter_and_less_sure():
    """2.8 to 5 g a teaspoon by make (read on pages): a half-width of 1.1 g, over sqrt 3."""
    fine, coarse = (kitchen_solution("1 tsp", "1 cup", kind=kind) for kind in ("fine table salt", "coarse salt"))
    assert coarse.grams == pytest.approx(3.9, abs=0.05)
    assert coarse.u_grams == pytest.approx(1.1 / 3**0.5, abs=0.02)
    assert coarse.u_relative > 1.4 * fine.u_relative


@given(st.floats(0.8, 30), st.floats(50, 800))
def test_chosen_measures_come_near_and_make_enough(grams_per_litre, volume):
    try:
        found = kitchen_recipe(grams_per_litre, volume)
    except PlanError:
        return
    assert found.volume >= volume
    assert found.grams_per_litre == pytest.approx(grams_per_litre, rel=0.1)
    assert kitchen_solution(found.salt, found.water).grams_per_litre == found.grams_per_litre


@pytest.mark.parametrize(
    ("call", "said"),
    [
        pytest.param(lambda: kitchen_solution("some", "1 cup"), "kitchen measure: .* given 'some'", id="no number"),
        pytest.param(lambda: kitchen_solution("1 handful", "1 cup"), "given '1 handful'", id="unknown measure"),
        pytest.param(lambda: kitchen_solution("1/0 tsp", "1 cup"), "given '1/0 tsp'", id="divided by nothing"),
        pytest.param(lambda: kitchen_solution("0 tsp", "1 cup"), "given '0 tsp'", id="nothing"),
        pytest.param(lambda: kitchen_solution("1 tsp", "1 bucket"), "of water, .* given '1 bucket'", id="water"),
        pytest.param(lambda: kitchen_solution("1 tsp", "1 pinch"), "of water, .* given '1 pinch'", id="pinch of water"),
        pytest.param(
            lambda: kitchen_solution("1 pinch", "1 cup", kind="coarse salt"), "Pinches are known of", id="pinch"
        ),
        pytest.param(
            lambda: kitchen_solution("1 tsp", "1 cup", kind="rock"), "kind of salt: .* given 'rock'", id="kind"
        ),
        pytest.param(lambda: kitchen_recipe(0, 100), "concentration: wanted a number above 0 g/L", id="strength"),
        pytest.param(lambda: kitchen_recipe(0.001, 100), "no level spoon .* comes near to", id="too weak"),
    ],
)
def test_wrong_input_says_what_was_wanted(call, said):
    with pytest.raises(PlanError, match=said):
        call()

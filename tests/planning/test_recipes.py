"""Recipes against amounts worked by hand, a general uncertainty package, and rules that hold for any recipe."""

from __future__ import annotations

import io
import json

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import lanewise
from lanewise.errors import PlanError
from lanewise.model.solvents import Component, SolventSystem
from lanewise.planning.glassware import Glassware
from lanewise.planning.recipes import recipe
from lanewise.planning.salts import molar_system

FINE = (Glassware(kind="cylinder", capacity=100, division=0.1, tolerance=0.1),)


def takes(found):
    return [part.take for part in found.parts]


@pytest.mark.parametrize(
    ("text", "volume", "expected"),
    [
        pytest.param("1-butanol:acetic acid:water 12:3:5", 40, [24, 6, 10], id="12:3:5 of 40 mL"),
        pytest.param("ethyl acetate:ethanol:water 70:35:30", 27, [14, 7, 6], id="70:35:30 of 27 mL"),
        pytest.param("petroleum ether:acetone 9:1", 50, [45, 5], id="9:1 of 50 mL"),
        pytest.param("70 % v/v ethanol in water", 30, [21, 9], id="70 % of 30 mL"),
        pytest.param("water", 25, [25], id="one liquid"),
    ],
)
def test_amounts_worked_by_hand(text, volume, expected):
    found = recipe(text, volume, glassware=FINE)
    assert takes(found) == expected
    assert found.total == sum(expected)
    assert all(part.error == pytest.approx(0, abs=1e-12) for part in found.parts)


def test_a_little_more_is_made_where_the_parts_come_out():
    """37 mL of 9:1 in marks of 1 mL: 33.3 and 3.7 do not, 36 and 4 do (40 mL)."""
    glass = [Glassware(kind="cylinder", capacity=50, division=1)]
    assert takes(recipe("hexane:acetone 9:1", 37, glassware=glass)) == [36, 4]
    tight = recipe("hexane:acetone 9:1", 37, glassware=glass, spare=0)
    assert takes(tight) == [33, 4]
    assert [round(100 * part.error, 1) for part in tight.parts] == [-0.9, 8.1]  # 33/37 of 9/10, 4/37 of 1/10, by hand


def test_no_more_is_made_than_a_hundredth_of_error_asks_for():
    """Marks of 0.5 mL never hit 70:35:30 with 96 % ethanol; the least total within 1 % of each part is taken."""
    glass = [Glassware(kind="cylinder", capacity=50, division=0.5, tolerance=0.5)]
    found = recipe("ethyl acetate:ethanol:water 70:35:30", 37, glassware=glass, strengths={"ethanol": 96})
    assert max(abs(part.error) for part in found.parts) <= 0.01
    assert found.total < 1.1 * 37


def test_uncertainty_of_shares_against_a_general_package():
    """The same shares with the package `uncertainties`; volumes from one cylinder count as independent."""
    from uncertainties import ufloat

    found = recipe("ethyl acetate:ethanol:water 70:35:30", 27, glassware=FINE)
    volumes = [ufloat(part.take, part.u) for part in found.parts]
    shares = [volume / sum(volumes) for volume in volumes]
    assert [part.found for part in found.parts] == pytest.approx([one.nominal_value for one in shares], rel=1e-9)
    assert [part.u_found for part in found.parts] == pytest.approx([one.std_dev for one in shares], rel=1e-6)


def test_uncertainty_of_shares_in_closed_form():
    """First order: u(f) = sqrt[(1 - f)^2 u_i^2 + f^2 sum of the other u^2] / V, derived from f = v_i/V."""
    found = recipe("hexane:acetone 9:1", 50)
    u = np.array([part.u for part in found.parts])
    for place, part in enumerate(found.parts):
        others = np.delete(u, place)
        expected = np.hypot((1 - part.found) * u[place], part.found * np.sqrt((others**2).sum())) / found.total
        assert part.u_found == pytest.approx(expected, rel=1e-6)


@pytest.mark.parametrize(
    ("text", "volume", "grams"),
    [
        pytest.param("0.9 % sodium chloride in water", 1000, 9.0, id="0.9 %"),
        pytest.param("0.154 mol/L sodium chloride in water", 1000, 9.0, id="0.154 mol/L"),
        pytest.param("154 mmol/L NaCl in water", 1000, 9.0, id="154 mmol/L"),
        pytest.param("1 g/L sodium chloride in water", 250, 0.25, id="1 g/L"),
    ],
)
def test_salt_by_mass(text, volume, grams):
    """Physiological saline has 9 g/L and 154 mmol/L (handbooks of pharmacy, from memory)."""
    glass = [Glassware(kind="cylinder", capacity=1000, division=10)]
    assert recipe(text, volume, glassware=glass, balance=0.01).parts[0].take == pytest.approx(grams, abs=0.005)


@pytest.mark.parametrize(
    ("percent", "molar"),
    [
        pytest.param(0.05, 0.00856, id="0.05 %"),
        pytest.param(0.1, 0.01711, id="0.1 %"),
        pytest.param(0.2, 0.03422, id="0.2 %"),
        pytest.param(0.5, 0.08555, id="0.5 %"),
        pytest.param(1, 0.17111, id="1 %"),
        pytest.param(2, 0.34221, id="2 %"),
        pytest.param(3, 0.51332, id="3 %"),
        pytest.param(5, 0.85553, id="5 %"),
        pytest.param(10, 1.71107, id="10 %"),
    ],
)
def test_grams_in_100_ml_and_moles_in_a_litre(percent, molar):
    """Table of salt solutions worked out apart: c = 10 p / 58.443, to five decimals."""
    (salt, _) = recipe(f"{percent} % sodium chloride in water", 1000, balance=0.001).parts
    assert salt.molarity == pytest.approx(molar, abs=0.000005)


def test_uncertainty_of_a_weighed_concentration():
    """By hand: u(m) = 0.01/sqrt 6; u(V) = sqrt(1/12 + 1/3); relative squares add up."""
    glass = [Glassware(kind="cylinder", capacity=100, division=1)]
    (salt, water) = recipe("0.1 % sodium chloride in water", 100, glassware=glass).parts
    assert salt.u == pytest.approx(0.00408, abs=0.000005)
    assert water.u == pytest.approx(0.645, abs=0.0005)
    assert salt.u_found == pytest.approx(np.hypot(0.00408 / 0.1, 0.645 / 100), rel=2e-3)


def test_a_salt_of_the_users_own():
    """Potassium chloride, 74.55 g/mol (handbook, from memory): 0.1 mol/L is 7.455 g in a litre."""
    glass = [Glassware(kind="cylinder", capacity=1000, division=10)]
    text, masses = "0.1 mol/L potassium chloride in water", {"potassium chloride": 74.55}
    salt = recipe(text, 1000, glassware=glass, balance=0.001, molar_masses=masses).parts[0]
    assert salt.take == pytest.approx(7.455, abs=0.0005)
    assert salt.molarity == pytest.approx(0.1, rel=1e-3)


def test_molar_text_that_is_none():
    assert molar_system("0.1 % sodium chloride in water") is None


@pytest.mark.parametrize(
    ("text", "strengths", "expected"),
    [
        pytest.param("2-propanol:water 35:65", {"2-propanol": 70}, [50, 50], id="70 % to 35 %"),
        pytest.param("isopropanol:water 70:30", {"propan-2-ol": 70}, [100, 0], id="as it is, by another name"),
        pytest.param("ethanol:water 48:52", {"ethanol": 96}, [50, 50], id="96 % to 48 %"),
        pytest.param("ethyl acetate:ethanol:water 40:45:15", {"ethanol": 90}, [40, 50, 10], id="beside a third liquid"),
    ],
)
def test_an_alcohol_by_the_strength_on_its_label(text, strengths, expected):
    """By hand: c1 V1 = c2 V2 by volume fractions; the water that comes with it is taken off the water."""
    found = recipe(text, 100, glassware=FINE, strengths=strengths)
    assert takes(found) == pytest.approx(expected)
    assert sum(part.found for part in found.parts) == pytest.approx(1)
    assert all(part.error == pytest.approx(0, abs=1e-9) for part in found.parts)


def test_the_label_adds_its_uncertainty():
    """70 % lies within half a per cent: of 35 % that is 0.25 %, over sqrt 3 0.144 %, by hand."""
    alcohol = recipe("2-propanol:water 35:65", 100, glassware=FINE, strengths={"2-propanol": 70}).parts[0]
    assert 100 * alcohol.u_found == pytest.approx(0.144, abs=0.02)
    assert alcohol.u_found > recipe("2-propanol:water 35:65", 100, glassware=FINE).parts[0].u_found


def test_contraction_is_said_where_alcohol_meets_water():
    assert any("shrink" in said for said in recipe("2-propanol:water 1:1", 100).remarks)
    assert not any("shrink" in said for said in recipe("hexane:acetone 9:1", 100).remarks)


def test_two_layers():
    found = recipe("1-butanol:acetic acid:water 4:1:5 upper phase", 20, glassware=FINE, phase_share=0.5)
    assert takes(found) == [16, 4, 20]  # 40 mL make 20 mL of the upper layer
    assert any("use the upper phase and keep the lower one out" in step for step in found.steps)
    unknown = recipe("1-butanol:acetic acid:water 4:1:5 upper phase", 20, glassware=FINE)
    assert unknown.total == 20
    assert any("is not known here" in said for said in unknown.remarks)


def test_salt_in_a_mixture_of_liquids():
    system = SolventSystem(
        name="salted",
        components=(
            Component(substance="2-propanol", parts=1),
            Component(substance="sodium chloride", grams_per_litre=2),
            Component(substance="water", parts=3),
        ),
    )
    found = recipe(system, 100, glassware=FINE)
    assert takes(found) == [25, 0.2, 75]
    assert any("Weigh 0.2 g of sodium chloride and dissolve it in the mixture" in step for step in found.steps)


def test_a_part_that_cannot_be_measured_well_is_named():
    said = " ".join(recipe("hexane:acetone 99:1", 20).remarks)
    assert "acetone is measured to" in said
    assert "measured to" not in " ".join(recipe("hexane:acetone 1:1", 20, glassware=FINE).remarks)


def test_a_tolerance_that_was_not_given_is_said():
    assert any("tolerance of the glassware was not given" in said for said in recipe("water", 50).remarks)
    assert not any("tolerance" in said for said in recipe("water", 50, glassware=FINE).remarks)


PARTS = st.lists(st.integers(1, 20), min_size=2, max_size=4)
NAMES = ("ethyl acetate", "ethanol", "acetone", "water")


@settings(max_examples=60)
@given(PARTS, st.floats(10, 200), st.integers(2, 9))
def test_parts_scale_and_shares_add_up(parts, volume, factor):
    def made(numbers):
        names = ":".join(NAMES[: len(numbers)])
        return recipe(f"{names} {':'.join(map(str, numbers))}", volume, glassware=FINE)

    once, scaled = made(parts), made([factor * part for part in parts])
    assert takes(once) == takes(scaled)
    assert sum(part.found for part in once.parts) == pytest.approx(1, rel=1e-12)
    assert sum(takes(once)) == pytest.approx(once.total)
    assert volume * (1 - 1e-9) <= once.total <= 1.2 * volume + 0.4
    for part in once.parts:
        marks = part.take / 0.1
        assert marks == pytest.approx(round(marks), abs=1e-6)
        assert abs(part.take - part.exact) <= 0.05 + 1e-9 or part.take == pytest.approx(0.1)


def test_the_forms_say_the_same():
    found = lanewise.recipe("1-butanol:acetic acid:water 12:3:5", 40)
    frame, held = found.to_frame(), json.loads(found.to_json())
    assert frame["take"].tolist() == takes(found) == [part["take"] for part in held["parts"]]
    assert pd.read_csv(io.StringIO(frame.to_csv(index=False)))["unit"].tolist() == ["mL"] * 3
    for part in found.parts:
        assert part.substance in str(found)
    assert str(found).startswith("1-butanol:acetic acid:water 12:3:5: 40 mL for 40 mL wanted")


@pytest.mark.parametrize(
    ("call", "said"),
    [
        pytest.param(lambda: recipe("", 40), "wanted a solvent system, given an empty text", id="empty"),
        pytest.param(lambda: recipe("our mixture", 40), "'our mixture': wanted components", id="a name"),
        pytest.param(
            lambda: recipe("water", 0), "volume: wanted a number above 0 mL and below a million, given 0", id="volume"
        ),
        pytest.param(lambda: recipe("water", float("nan")), "volume: wanted a number above 0 mL.*given nan", id="nan"),
        pytest.param(lambda: recipe("water", 40, balance=-1), "balance: wanted a number above 0 g", id="balance"),
        pytest.param(lambda: recipe("water", 40, spare=2), "spare: wanted a share from 0 to 1", id="spare"),
        pytest.param(lambda: recipe("water", 40, phase_share=1), "phase share: wanted a share between", id="phase"),
        pytest.param(
            lambda: recipe("2-propanol:water 9:1", 40, strengths={"2-propanol": 70}),
            r"wanted 10 % of water, but the diluted liquids bring 38\.6 %",
            id="too weak",
        ),
        pytest.param(
            lambda: recipe("acetone:ethanol 1:1", 40, strengths={"ethanol": 96}),
            "wanted ethanol free of water",
            id="no water in it",
        ),
        pytest.param(
            lambda: recipe("acetone:water 1:1", 40, strengths={"ethanol": 96}),
            "strength of ethanol: wanted one of acetone, water",
            id="strength of what is not in it",
        ),
        pytest.param(
            lambda: recipe("acetone:water 1:1", 40, strengths={"acetone": 140}),
            "wanted above 0 to 100 %",
            id="strength",
        ),
        pytest.param(
            lambda: recipe("0.1 mol/L barium chloride in water", 40),
            "barium chloride: wanted its molar mass",
            id="molar",
        ),
        pytest.param(
            lambda: recipe("0 mol/L sodium chloride in water", 40), "wanted a concentration above 0 mol/L", id="no salt"
        ),
        pytest.param(
            lambda: recipe("0.1 M NaCl in water", 40, molar_masses={"nacl": -1}),
            "wanted a molar mass above 0",
            id="mass",
        ),
        pytest.param(
            lambda: recipe("0.1 % sodium chloride in water", 4),
            r"wanted 0\.004 g, less than half a step of the balance",
            id="too little salt",
        ),
    ],
)
def test_wrong_input_says_what_was_wanted(call, said):
    with pytest.raises(PlanError, match=said):
        call()

"""Cautions: codes with source and date, none that was not checked, and who decides."""

from __future__ import annotations

import json
import re

import pytest

import lanewise
from lanewise.errors import PlanError
from lanewise.planning.cautions import GIVEN, LOCAL_RULES, cautions
from lanewise.reference.solvents import solvent

DECIDES = "local rules and the supplier's safety data sheet decide"


@pytest.mark.parametrize(
    "system",
    ["water", "hexane:acetone 9:1", "our usual mixture", "0.1 % sodium chloride in water"],
    ids=["water", "burning", "unnamed", "salt"],
)
def test_who_decides_is_always_said(system):
    found = cautions(system)
    assert DECIDES in LOCAL_RULES
    assert str(found).startswith(LOCAL_RULES)
    assert json.loads(found.to_json())["rule"] == LOCAL_RULES
    assert found.eyes
    assert found.waste


@pytest.mark.parametrize(
    ("name", "codes"),
    [
        pytest.param("1-butanol", "H226 H302 H315 H318 H335 H336", id="1-butanol"),
        pytest.param("acetone", "H225 H319 H336 EUH066", id="acetone"),
        pytest.param("ethanol", "H225", id="ethanol"),
        pytest.param("toluene", "H225 H304 H315 H336 H361d H373", id="toluene"),
    ],
)
def test_codes_with_source_and_date(name, codes):
    """CLP Annex VI, Part 3, Table 3, consolidated text 02008R1272-20260701, read in a public copy."""
    (found,) = cautions(f"{name}:water 1:1").substances[:1]
    assert found.codes == tuple(codes.split())
    assert found.date == "2026-07-01"
    assert "1272/2008" in found.source
    assert f"{', '.join(found.codes)} (text of 2026-07-01)" in str(found)


@pytest.mark.parametrize("name", ["ethyl acetate", "hexane", "dichloromethane", "acetic acid", "moonshine"])
def test_codes_that_were_not_checked_are_not_printed(name):
    found = cautions(f"{name}:ethanol 1:1")
    assert found.substances[0].codes is None
    assert not re.search(r"\bH\d", str(found.substances[0]))
    assert "see its data sheet" in str(found.substances[0])


def test_codes_of_the_user_go_first_and_are_called_so():
    found = cautions("ethyl acetate:ethanol 1:1", codes={"ethyl ethanoate": "H225, H319 H336 EUH066"})
    about = found.substances[0]
    assert (about.codes, about.source, about.date) == (("H225", "H319", "H336", "EUH066"), GIVEN, "")
    assert "H225, H319, H336, EUH066 (given by the user)" in str(found)
    assert any("ethyl acetate" in said for said in found.eyes)


def test_wording_is_that_of_the_harmonised_system_where_it_was_read():
    """Label table of CLP Annex I 2.6.3 (H224 to H226), read in a public copy; others have their code alone."""
    found = str(cautions("1-butanol:water 1:1").substances[0])
    assert "Flammable liquid and vapour" in found
    assert "skin" not in found


@pytest.mark.parametrize(
    ("system", "said", "burns"),
    [
        pytest.param("hexane:acetone 9:1", "hexane and acetone can burn", True, id="burning"),
        pytest.param("petroleum ether:acetone 9:1", "acetone can burn. Whether petroleum ether can", True, id="half"),
        pytest.param("dichloromethane", "not known here", True, id="not known"),
        pytest.param("our usual mixture", "not known here", True, id="unnamed"),
        pytest.param("water", "", False, id="water"),
        pytest.param("1 % sodium chloride in water", "", False, id="salt water"),
    ],
)
def test_ignition(system, said, burns):
    found = cautions(system)
    assert bool(found.ignition) is burns
    assert said in " ".join(found.ignition)
    assert bool(found.ventilation) is burns


@pytest.mark.parametrize(
    ("system", "stream"),
    [
        pytest.param("hexane:dichloromethane 1:1", "halogenated solvents (dichloromethane)", id="halogenated"),
        pytest.param("hexane:acetone 1:1", "flammable solvents without halogens", id="flammable"),
        pytest.param("0.1 % sodium chloride in water", "local rules say", id="watery"),
    ],
)
def test_waste_streams_are_kept_apart(system, stream):
    (said,) = cautions(system).waste
    assert stream in said


def test_peroxides_and_what_a_class_should_leave():
    """EUH019 stands in the harmonised entries of diethyl ether and 1,4-dioxane (read)."""
    said = " ".join(cautions("diethyl ether:hexane 1:1").others)
    assert "Peroxides: diethyl ether" in said
    assert "no choice for a class" in said
    assert "heptane" in said
    assert "Peroxides" not in " ".join(cautions("ethanol:water 1:1").others)


def test_the_class_of_a_mixture_is_not_the_sum():
    assert "not by adding up its parts" in str(cautions("ethanol:acetone 1:1"))


def test_several_systems_name_each_substance_once():
    found = lanewise.cautions(["ethanol:water 1:1", "ethanol:water 7:3", "our usual mixture"])
    assert [one.name for one in found.substances] == ["ethanol", "water"]
    assert found.unnamed == ("our usual mixture",)


@pytest.mark.parametrize(
    ("codes", "said"),
    [
        pytest.param(
            {"ethanol": "flammable"}, "'ethanol': wanted hazard statement codes .* given 'flammable'", id="words"
        ),
        pytest.param({"ethanol": ""}, "given ''", id="empty"),
        pytest.param({"ethanol": "P210"}, "given 'P210'", id="another kind of code"),
        pytest.param({"toluene": "H225"}, "'toluene': wanted a component of the system", id="not in it"),
    ],
)
def test_wrong_codes_say_what_was_wanted(codes, said):
    with pytest.raises(PlanError, match=said):
        cautions("ethanol:water 1:1", codes=codes)


def test_what_is_not_stated_is_said():
    assert "The solvent system is not stated" in str(cautions("not stated"))
    assert "our own: its components are not stated" in str(cautions("our own"))


def test_a_source_without_a_date_has_none():
    assert solvent("water").hazard_date == ""

"""Systems that differ in strength alone are found, and others are not taken for it."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.series import find_series
from lanewise.model.notation import parse_system
from lanewise.model.studies import Study
from lanewise.tables.mixtures import composition_table


def found_in(*names, layers=None):
    systems = [parse_system(name) for name in names]
    return find_series(composition_table(Study(plates=[], systems=systems)), layers or dict.fromkeys(names, "silica"))


def test_a_series_of_two_components():
    (one,), notes = found_in("heptane:acetone 9:1", "heptane:acetone 7:3", "heptane:2-propanol 9:1")
    assert (one.name, one.systems) == ("acetone in heptane", ("heptane:acetone 9:1", "heptane:acetone 7:3"))
    assert one.at.tolist() == pytest.approx([0.1, 0.3])
    assert one.ends == pytest.approx((0.1 / 3**0.5, 0.4)), "the logarithm holds below, the fraction above"
    assert notes == ()


def test_a_pure_solvent_is_the_end_of_its_series():
    (one,), _ = found_in("hexane:ethyl acetate 6:4", "ethyl acetate")
    assert one.at.tolist() == pytest.approx([0.4, 1.0])
    assert one.polarity(0.4) == pytest.approx(0.6 * 0.1 + 0.4 * 4.4)  # later list, read


def test_more_of_one_component_at_a_constant_rest():
    (one,), _ = found_in("ethyl acetate:ethanol:water 70:35:30", "ethyl acetate:ethanol:water 70:35:15")
    assert one.name == "water in ethyl acetate and ethanol"
    assert one.polarity(0.2) is None, "P' means nothing with water"


@pytest.mark.parametrize(
    "names",
    [
        ("heptane:acetone 9:1", "heptane:2-propanol 8:2"),
        ("0.1 % sodium chloride in water", "1 % sodium chloride in water"),
        ("water", "ethanol"),
    ],
    ids=["two kinds", "salt", "two liquids"],
)
def test_other_systems_are_no_series(names):
    assert found_in(*names)[0] == ()


def test_layers_are_kept_apart():
    names = ("heptane:acetone 9:1", "heptane:acetone 7:3")
    assert found_in(*names, layers={names[0]: "silica", names[1]: "paper"})[0] == ()


def test_a_phase_and_a_name_alone_have_no_composition():
    _, notes = found_in("1-butanol : acetic acid : water 4:1:5 upper phase", "our usual mixture")
    assert notes[0].endswith("of a mixture that parts in two, the composition of one phase is not known.")
    assert notes[1] == "our usual mixture: its components are not known, so it has no place in a series."


def test_the_table_of_components():
    table = composition_table(Study(plates=[], systems=[parse_system("0.1 % sodium chloride in water")]))
    assert table["substance"].tolist() == ["sodium chloride", "water"]
    np.testing.assert_array_equal(table["fraction"], [np.nan, 1.0])
    np.testing.assert_array_equal(table["grams_per_litre"], [1.0, np.nan])
    assert isinstance(table, pd.DataFrame)

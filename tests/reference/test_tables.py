"""The small tables against rules that hold for any such table."""

from __future__ import annotations

import re

import pytest

from lanewise.reference.solvents import solvent
from lanewise.reference.tables import hazard_statements, kitchen_measures, known_mixtures, molar_mass, rows


@pytest.mark.parametrize("name", ["kitchen", "salts", "mixtures", "statements"])
def test_each_row_has_source_and_status(name):
    assert rows(name)
    for row in rows(name):
        assert row["source"], row
        assert row["status"], row


def test_molar_mass_of_sodium_chloride():
    """22.990 + 35.45 = 58.44 g/mol: standard atomic weights, from memory."""
    assert molar_mass("table salt") == pytest.approx(58.44, abs=0.005)
    assert molar_mass("moon dust") is None


def test_kitchen_names_are_told_apart():
    names = [name for row in rows("kitchen") for name in (row["measure"], *row["synonyms"].split("; ")) if name]
    assert len(names) == len({name.lower() for name in names}) == len(kitchen_measures())
    assert all(0 < one.u_relative <= 0.5 and one.amount > 0 for one in kitchen_measures().values())


def test_mixtures_name_known_substances():
    assert {known.layers for known in known_mixtures()} == {1, 2}
    for known in known_mixtures():
        assert all(solvent(name).name == name for name in known.parts)


def test_wording_is_held_for_codes_only():
    assert all(re.fullmatch(r"H\d{3}|EUH\d{3}", code) for code in hazard_statements())
    assert all("from memory" not in row["status"] for row in rows("statements"))

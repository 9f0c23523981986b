"""The table of solvents against rules that hold for any such table, and single entries against their sources."""

from __future__ import annotations

import csv
import re
from importlib.resources import files

import pytest

from lanewise.reference.solvents import Solvent, solvent

TEXT = files("lanewise.reference").joinpath("solvents.csv").read_text(encoding="utf-8")
ROWS = list(csv.DictReader(TEXT.splitlines()))
NAMES = [row["solvent"] for row in ROWS]


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_cas_number_has_its_check_digit(row):
    """CAS rule (from memory): the last digit is the sum of the others times their place from the right, modulo 10."""
    digits = row["cas"].replace("-", "")
    assert sum(place * int(digit) for place, digit in enumerate(digits[-2::-1], start=1)) % 10 == int(digits[-1])


@pytest.mark.parametrize("row", ROWS, ids=NAMES)
def test_facts_have_their_source(row):
    if row["boiling_point_c"] or row["flash_point_c"]:
        assert row["properties_source"]
        assert row["properties_status"] == "read there"
    if row["hazard_codes"]:
        assert row["hazard_source"]
        assert row["hazard_status"] in ("read in a copy", "common practice")
    else:
        assert not row["hazard_source"]


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row["hazard_codes"] not in ("", "none")], ids=lambda r: r["solvent"]
)
def test_flammability_code_fits_flash_and_boiling_point(row):
    """Limits of the classes H224 (boils to 35 degC), H225 (flash below 23), H226 (flash 23 to 60): CLP, from memory."""
    codes = row["hazard_codes"].split()
    assert all(re.fullmatch(r"H\d{3}[A-Za-z]*|EUH\d{3}", code) for code in codes)
    flash, boiling = float(row["flash_point_c"]), float(row["boiling_point_c"])
    expected = "H226" if 23 <= flash <= 60 else "H224" if boiling <= 35 else "H225"
    assert [code for code in codes if code in ("H224", "H225", "H226")] == [expected]


@pytest.mark.parametrize(
    ("name", "flash", "codes"),
    [
        pytest.param("1-butanol", 35.0, ("H226", "H302", "H315", "H318", "H335", "H336"), id="1-butanol"),
        pytest.param(" Ethanol ", 12.0, ("H225",), id="ethanol, spaces and capitals"),
        pytest.param("propanone", -20.0, ("H225", "H319", "H336", "EUH066"), id="acetone by its other name"),
        pytest.param("ethyl acetate", -4.0, None, id="ethyl acetate, codes not checked"),
        pytest.param("water", None, (), id="water"),
    ],
)
def test_entries(name, flash, codes):
    """Codes: CLP Annex VI, consolidated text 02008R1272-20260701; flash points: IEC 60079-20-1 (2010)."""
    found = solvent(name)
    assert isinstance(found, Solvent)
    assert (found.flash_point, found.hazard_codes) == (flash, codes)


@pytest.mark.parametrize(
    ("name", "flammable"),
    [
        pytest.param("ethyl acetate", True, id="by flash point"),
        pytest.param("dimethyl sulfoxide", False, id="flash point above 60"),
        pytest.param("sodium chloride", False, id="not classified"),
        pytest.param("chloroform", None, id="nothing known"),
    ],
)
def test_flammable(name, flammable):
    assert solvent(name).flammable is flammable


def test_an_unknown_substance_is_none():
    assert solvent("mother's solvent") is None

"""Solvent systems: what they may be made of, and how the trade writes them.

The accepted spellings are rows of ``notation.csv``, each with its source; names of liquids alone and the salts'
percentages follow common practice.
"""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from lanewise.errors import RecordError
from lanewise.model.notation import LIQUIDS, parse_system
from lanewise.model.solvents import Component, SolventSystem

with (Path(__file__).parent / "notation.csv").open(encoding="utf-8", newline="") as file:
    ROWS = list(csv.DictReader(file))


def written(component):
    """A component as the table writes it."""
    if component.parts is not None:
        return f"{component.substance} {component.parts:g}"
    return f"{component.substance} {component.grams_per_litre:g} g/L"


@pytest.mark.parametrize("row", ROWS, ids=[row["text"] for row in ROWS])
def test_taken_apart(row):
    system = parse_system(row["text"])
    assert " | ".join(map(written, system.components)) == row["components"]
    assert system.phase == row["phase"]
    assert system.name == row["text"]
    assert row["source"]


@pytest.mark.parametrize(
    "text",
    [
        "our usual mixture",
        "solvent A",
        "system 1:2",
        "not stated",
        "ethanol:water",
        "ethanol:water:acetic acid 7:3",
        "ethanol 7:3",
        "ethanol/water:acetone 1:2",
        "ethanol:water 0:1",
        "water:water 1:1",
        "ethanol:water 8,5:1,5",
        "1-butanol:acetic acid:water 4:1:5 organic phase",
        "water upper phase",
        "70 % ethanol in water",
        "70 % m/m ethanol in water",
        "25 % ammonium hydroxide in water",
        "100 % v/v ethanol in water",
        "0 % sodium chloride in water",
        "0.1 % sodium chloride",
        "0.1 % sodium chloride in our mixture",
        "1 % v/v water in water",
        "4:1",
        "4:1:5 butanol:water",
        ": 1:1",
        "a:" * 200 + " 1:1",
    ],
    ids=lambda text: text[:50],
)
def test_never_guessed(text):
    assert parse_system(text) == SolventSystem(name=text)


@pytest.mark.parametrize("text", sorted(LIQUIDS), ids=str)
def test_liquids_alone(text):
    assert parse_system(text).components == (Component(substance=text, parts=1),)


def test_the_name_stays_as_it_was_typed():
    assert parse_system("  Water ").name == "  Water "
    assert parse_system("  Water ").components[0].substance == "Water"


def test_an_empty_text_is_refused():
    with pytest.raises(RecordError, match=r"^solvent system, name: wanted text with something to read"):
        parse_system(" ")


REFUSED = {
    "neither": (
        lambda: Component(substance="water"),
        r"^component 'water': wanted exactly one of parts and grams_per_litre, given neither\. Give parts for a liquid",
    ),
    "both": (lambda: Component(substance="salt", parts=1, grams_per_litre=1), r"grams_per_litre, given both"),
    "a substance twice": (
        lambda: SolventSystem(name="x", components=[Component(substance="water", parts=1)] * 2),
        r"^solvent system 'x', components: wanted names that differ, given 'water' twice",
    ),
    "salts alone": (
        lambda: SolventSystem(name="x", components=[Component(substance="salt", grams_per_litre=1)]),
        r"^solvent system 'x': wanted a liquid with its parts, given only substances in grams per litre",
    ),
}


@pytest.mark.parametrize(("make", "message"), REFUSED.values(), ids=REFUSED)
def test_refused(make, message):
    with pytest.raises(RecordError, match=message):
        make()

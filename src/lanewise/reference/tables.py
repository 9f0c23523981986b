"""The small tables of this room as rows and look-ups: kitchen measures, salts, mixtures, hazard statements."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class KitchenMeasure:
    """What a spoon, a cup or a pinch holds.

    Attributes
    ----------
    name : str
    holds : {"volume", "teaspoon of salt", "pinch of salt"}
        Whether it is a measure of volume, a kind of salt by the level US teaspoon, or a pinch of fine salt.
    amount : float
        In `unit`, mL or g.
    unit : str
    u_relative : float
        Relative standard uncertainty. [1]
    source, status : str
        Where it comes from, and how well it is known.
    """

    name: str
    holds: str
    amount: float
    unit: str
    u_relative: float
    source: str
    status: str


@dataclass(frozen=True, slots=True)
class KnownMixture:
    """A mixture of which it is told whether it stays one liquid.

    Attributes
    ----------
    parts : dict of str to float
        Substance to parts by volume.
    layers : int
        1 or 2.
    source, status : str
    """

    parts: dict[str, float]
    layers: int
    source: str
    status: str


def rows(name: str) -> list[dict[str, str]]:
    """Read one of the tables, row by row."""
    text = files("lanewise.reference").joinpath(f"{name}.csv").read_text(encoding="utf-8")
    return list(csv.DictReader(text.splitlines()))


@cache
def kitchen_measures() -> dict[str, KitchenMeasure]:
    """Give the kitchen measures by their names and other names, in lower case."""
    table: dict[str, KitchenMeasure] = {}
    for row in rows("kitchen"):
        entry = KitchenMeasure(
            row["measure"],
            row["holds"],
            float(row["amount"]),
            row["unit"],
            float(row["u_relative"]),
            row["source"],
            row["status"],
        )
        for name in (row["measure"], *row["synonyms"].split(";")):
            if name.strip():
                table[name.strip().lower()] = entry
    return table


def molar_mass(salt: str) -> float | None:
    """Give the molar mass of a salt; None where the table does not have it. [g/mol].

    Examples
    --------
    >>> molar_mass("NaCl")
    58.443
    """
    wanted = salt.strip().lower()
    for row in rows("salts"):
        if wanted in [row["salt"], *(name.strip().lower() for name in row["synonyms"].split(";"))]:
            return float(row["molar_mass_g_mol"])
    return None


@cache
def known_mixtures() -> tuple[KnownMixture, ...]:
    """Give the mixtures of which it is told whether they stay one liquid."""
    return tuple(
        KnownMixture(
            dict(
                zip(
                    (name.strip() for name in row["substances"].split(";")),
                    map(float, row["parts"].split(":")),
                    strict=True,
                )
            ),
            int(row["layers"]),
            row["source"],
            row["status"],
        )
        for row in rows("mixtures")
    )


@cache
def hazard_statements() -> dict[str, str]:
    """Give the wording of the hazard statements that was read in a source, by code."""
    return {row["code"]: row["statement"] for row in rows("statements")}

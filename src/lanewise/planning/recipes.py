"""Recipes: from a solvent system and a volume to what is measured out, with which error, and how it is mixed."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from math import sqrt
from typing import TYPE_CHECKING, Any

import numpy as np

from lanewise.errors import PlanError
from lanewise.model.notation import parse_system
from lanewise.model.solvents import SolventSystem
from lanewise.planning import traps
from lanewise.planning.glassware import USUAL_GLASSWARE, Glassware
from lanewise.planning.mixing import Liquids, Mixed, mix
from lanewise.planning.parts import RecipePart, amount, error_words, found_words
from lanewise.planning.salts import molar_mass_of, molar_system, weighed
from lanewise.planning.steps import remarks_on, steps_for
from lanewise.uncertainty.rounding import round_half_up

if TYPE_CHECKING:
    import pandas as pd


@dataclass(frozen=True)
class Recipe:
    """A solvent system, ready to be mixed.

    Attributes
    ----------
    system : SolventSystem
    volume : float
        What was wanted in the end. [mL]
    total : float
        Sum of the volumes that are mixed. [mL]
    parts : tuple of RecipePart
        In the order of the system.
    steps : tuple of str
        What to do, one after the other.
    remarks : tuple of str
        Traps that were met, and what the figures leave out.
    """

    system: SolventSystem
    volume: float
    total: float
    parts: tuple[RecipePart, ...]
    steps: tuple[str, ...]
    remarks: tuple[str, ...]

    def to_frame(self) -> pd.DataFrame:
        """Give the parts as a table, one row each, with the attributes of `RecipePart` and its error as columns."""
        import pandas as pd

        return pd.DataFrame([asdict(one) | {"error": one.error} for one in self.parts])

    def to_json(self) -> str:
        """Give all of it as JSON text."""
        content: dict[str, Any] = {
            "kind": "lanewise recipe",
            "system": self.system.name,
            "phase": self.system.phase,
            "volume_ml": self.volume,
            "total_ml": self.total,
            "parts": [asdict(one) | {"error": one.error} for one in self.parts],
            "steps": list(self.steps),
            "remarks": list(self.remarks),
        }
        return json.dumps(content, ensure_ascii=False, indent=1) + "\n"

    def __str__(self) -> str:
        lines = [f"{self.system.name}: {amount(self.total)} mL for {volume_words(self)} mL wanted"]
        lines += [
            f"{one.substance}: {amount(one.take)} {one.unit} ({one.how}), {found_words(one)}, error {error_words(one)}"
            for one in self.parts
        ]
        return "\n".join([*lines, *self.steps, *self.remarks])


def recipe(
    system: SolventSystem | str,
    volume: float,
    *,
    glassware: Sequence[Glassware] = USUAL_GLASSWARE,
    balance: float = 0.01,
    strengths: Mapping[str, float] | None = None,
    phase_share: float | None = None,
    spare: float = 0.2,
    molar_masses: Mapping[str, float] | None = None,
    applied_in: str = "",
) -> Recipe:
    """Work out what to measure for a solvent system.

    Parameters
    ----------
    system : SolventSystem or str
        Parts by volume, mass per volume, or both; a text as `lanewise.parse_system` takes it apart, or
        ``0.02 mol/L sodium chloride in water``.
    volume : float
        What is wanted to develop in, above zero; of a mixture with two layers, of the layer that is used. [mL]
    glassware : sequence of Glassware
        What is at hand; by default cylinders of 10 to 250 mL.
    balance : float
        Step of the balance's display. [g]
    strengths : mapping of str to float
        Liquids that are bought diluted with water, with the volume fraction on their label: ``{"2-propanol": 70}``. [%]
    phase_share : float or None
        Share of the mixture that becomes the layer to be used, where you have seen it; 0 to 1. [1]
    spare : float
        At most so much more than wanted is made where all parts then come out, or come within 1 %; 0 to 1. [1]
    molar_masses : mapping of str to float
        Of salts that are given in mol/L and that the library does not have. [g/mol]
    applied_in : str
        Liquid in which the samples are spotted, for a word on it.

    Returns
    -------
    Recipe
        Never less than the volume wanted, but where no glass comes near to it.

    Raises
    ------
    PlanError
        If the system has no components, a number is not possible, or a diluted liquid is too weak.

    Notes
    -----
    Volumes are rounded half-up to the marks; uncertainties follow from division and tolerance, see
    `lanewise.planning.glassware.measure_out`, and from a label's strength in whole per cent, which lies within half a
    per cent. Errors of two components count as independent, even from one cylinder.
    A mass is the difference of two readings, u = step / sqrt(6) (triangular, JCGM 100:2008, 4.3.9; clause number from
    memory).

    Examples
    --------
    >>> found = recipe("1-butanol:acetic acid:water 12:3:5", 40)
    >>> [(part.substance, part.take) for part in found.parts], found.total
    ([('1-butanol', 24.0), ('acetic acid', 6.0), ('water', 10.0)], 40.0)
    >>> salt = recipe("0.1 % sodium chloride in water", 100, balance=0.01)
    >>> [(part.take, part.unit) for part in salt.parts]
    [(0.1, 'g'), (100.0, 'mL')]
    """
    wanted = _system(system, molar_masses or {})
    _check_salts(wanted, molar_masses or {})
    _check_numbers(volume=volume, balance=balance, spare=spare, phase_share=phase_share)
    strong = _strengths(wanted, strengths or {})
    needed = volume / phase_share if wanted.phase and phase_share else volume
    liquids = _liquids(wanted, strong)
    mixed = mix(liquids, needed, glassware, spare)
    parts = _parts(wanted, liquids, mixed, balance, molar_masses or {})
    remarks = [
        *traps.recipe_traps(wanted),
        *traps.strength_by_label(strong),
        *remarks_on(wanted, liquids, mixed, parts, phase_share),
        traps.spotting_solvent(applied_in),
    ]
    steps = steps_for(wanted, parts, mixed.total)
    return Recipe(wanted, volume, mixed.total, parts, steps, tuple(said for said in remarks if said))


def volume_words(recipe: Recipe) -> str:
    """Give the volume that was wanted, in mL, with one decimal at most."""
    return round_half_up(recipe.volume, 1).removesuffix(".0")


def _system(system: SolventSystem | str, molar_masses: Mapping[str, float]) -> SolventSystem:
    if isinstance(system, str):
        if not system.strip():
            raise PlanError("recipe: wanted a solvent system, given an empty text. Name it.")
        system = molar_system(system, molar_masses) or parse_system(system)
    if not system.components:
        raise PlanError(
            f"recipe, {system.name!r}: wanted components with their parts, such as 'ethyl acetate:ethanol:water "
            "70:35:30', '70 % v/v ethanol in water' or '0.1 % sodium chloride in water'; given a name alone, or per "
            "cent without a basis. Name every part: recipes differ in the order of theirs."
        )
    return system


def _check_salts(system: SolventSystem, molar_masses: Mapping[str, float]) -> None:
    salts = {traps.usual_name(one.substance): one.substance for one in system.components if one.parts is None}
    wrong = next((name for name in molar_masses if traps.usual_name(name) not in salts), None)
    if wrong is not None:
        held = ", ".join(salts.values()) or "none, for nothing is weighed"
        raise PlanError(f"recipe, molar mass of {wrong}: wanted one of {held}. Correct the name or leave it out.")


def _check_numbers(*, volume: float, balance: float, spare: float, phase_share: float | None) -> None:
    for name, value, unit in (("volume", volume, "mL"), ("balance", balance, "g")):
        if not 0.0 < value < 1e6:
            raise PlanError(
                f"recipe, {name}: wanted a number above 0 {unit} and below a million, given {value:g}. Correct it."
            )
    if not 0.0 <= spare <= 1.0:
        raise PlanError(f"recipe, spare: wanted a share from 0 to 1, given {spare:g}. Correct it.")
    if phase_share is not None and not 0.0 < phase_share < 1.0:
        raise PlanError(f"recipe, phase share: wanted a share between 0 and 1, given {phase_share:g}. Correct it.")


def _strengths(system: SolventSystem, given: Mapping[str, float]) -> dict[str, float]:
    """Give the strengths by the names of the system. [%]."""
    names = {traps.usual_name(one.substance): one.substance for one in system.components if one.parts is not None}
    strong = {}
    for name, value in given.items():
        usual = traps.usual_name(name)
        if usual not in names or usual == "water":
            raise PlanError(f"recipe, strength of {name}: wanted one of {', '.join(names.values())}. Correct the name.")
        if not 0.0 < value <= 100.0:
            raise PlanError(f"recipe, strength of {name}: wanted above 0 to 100 %, given {value:g} %. Read the label.")
        strong[names[usual]] = value
    return strong


def _liquids(system: SolventSystem, strengths: Mapping[str, float]) -> Liquids:
    parted = [one for one in system.components if one.parts is not None]
    names = tuple(one.substance for one in parted)
    water = next((place for place, name in enumerate(names) if _is_water(name)), None)
    strong = np.array([strengths.get(name, 100.0) / 100.0 for name in names])
    return Liquids(names, np.array([float(one.parts or 0.0) for one in parted]), strong, water)


def _is_water(name: str) -> bool:
    return traps.usual_name(name) == "water" or name.strip().lower() == "tap water"


def _parts(
    system: SolventSystem, liquids: Liquids, mixed: Mixed, balance: float, molar_masses: Mapping[str, float]
) -> tuple[RecipePart, ...]:
    wanted = liquids.parts / liquids.parts.sum()
    poured = {}
    for place, name in enumerate(liquids.names):
        taken = mixed.taken[place]
        strong = float(liquids.strengths[place])
        called = name if strong == 1.0 else f"{name} {100 * strong:g} %"
        poured[name] = RecipePart(
            called,
            0.0 if taken is None else taken.volume,
            0.0 if taken is None else taken.u,
            "mL",
            float(mixed.exact[place]),
            "nothing to add" if taken is None else taken.how,
            float(wanted[place]),
            float(mixed.shares[place]),
            float(mixed.u_shares[place]),
        )
    u_total = sqrt(sum(one.u**2 for one in poured.values()))
    return tuple(
        poured[one.substance]
        if one.grams_per_litre is None
        else weighed(one, mixed.total, u_total, balance, molar_mass_of(one.substance, molar_masses))
        for one in system.components
    )

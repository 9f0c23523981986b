"""What is weighed in: salts in mol/L or g/L, and what a balance makes of them."""

from __future__ import annotations

import re
from collections.abc import Mapping
from math import hypot, sqrt

from lanewise.errors import PlanError
from lanewise.model.solvents import Component, SolventSystem
from lanewise.planning.parts import RecipePart
from lanewise.reference.tables import molar_mass
from lanewise.uncertainty.rounding import as_decimal, round_half_up

_MOLAR = re.compile(
    r"^(?P<number>\d+(?:\.\d+)?)\s*(?P<unit>mmol\s*/\s*L|mol\s*/\s*L|mM|M)\s+(?P<what>.+?)\s+in\s+(?P<liquid>.+)$"
)


def molar_system(text: str, molar_masses: Mapping[str, float] | None = None) -> SolventSystem | None:
    """Take ``0.02 mol/L sodium chloride in water`` apart; None for any other text.

    Parameters
    ----------
    text : str
        Unit mol/L, mmol/L, M or mM.
    molar_masses : mapping of str to float
        Of salts the library does not have. [g/mol]

    Raises
    ------
    PlanError
        If the molar mass of the salt is not known, or not above zero.

    Examples
    --------
    >>> round(molar_system("0.0171 mol/L NaCl in water").components[0].grams_per_litre, 3)
    0.999
    """
    found = _MOLAR.match(" ".join(text.split()))
    if found is None:
        return None
    salt, unit = found["what"], found["unit"].replace(" ", "")
    mass = molar_mass_of(salt, molar_masses or {})
    if mass is None:
        raise PlanError(
            f"recipe, {salt}: wanted its molar mass in g/mol, given none. The library knows that of sodium chloride; "
            "give any other."
        )
    molar = float(found["number"]) / (1000.0 if unit in ("mmol/L", "mM") else 1.0)
    if molar == 0.0:
        raise PlanError(f"recipe, {salt}: wanted a concentration above 0 mol/L, given 0. Correct it.")
    return SolventSystem(
        name=text,
        components=(
            Component(substance=salt, grams_per_litre=float(as_decimal(molar * mass))),
            Component(substance=found["liquid"].strip(), parts=1),
        ),
    )


def molar_mass_of(salt: str, given: Mapping[str, float]) -> float | None:
    """Give the molar mass of a salt, as given or from the table; None where neither has it. [g/mol]."""
    mass = {name.strip().lower(): mass for name, mass in given.items()}.get(salt.strip().lower(), molar_mass(salt))
    if mass is not None and not 0.0 < mass < 1e6:
        raise PlanError(f"recipe, {salt}: wanted a molar mass above 0 g/mol, given {mass:g}. Correct it.")
    return mass


def weighed(component: Component, total: float, u_total: float, balance: float, mass: float | None) -> RecipePart:
    """Weigh a component for a total volume; the balance rounds half-up, reading and tare are both uncertain."""
    assert component.grams_per_litre is not None
    exact = component.grams_per_litre * total / 1000.0
    steps = int(round_half_up(float(as_decimal(exact) / as_decimal(balance)), 0))
    if steps == 0:
        raise PlanError(
            f"recipe, {component.substance}: wanted {exact:.3g} g, less than half a step of the balance, {balance:g} "
            "g. Make more of it, or dilute a stronger solution."
        )
    grams, u = float(as_decimal(balance) * steps), balance / sqrt(6.0)
    found = 1000.0 * grams / total
    u_found = found * hypot(u / grams, u_total / total)
    how = f"balance with steps of {balance:g} g"
    wanted, molarity = component.grams_per_litre, None if mass is None else found / mass
    return RecipePart(component.substance, grams, u, "g", exact, how, wanted, found, u_found, molarity)

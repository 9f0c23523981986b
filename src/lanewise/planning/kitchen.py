"""Salt water with kitchen measures: how much salt a spoon holds, how strong the water gets, and how sure that is."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from math import hypot

from lanewise.errors import PlanError
from lanewise.reference.tables import KitchenMeasure, kitchen_measures, molar_mass
from lanewise.uncertainty.rounding import as_decimal, decimals_for, plus_minus, round_half_up

FINE = "fine table salt"
SPOONS = ("1/8 teaspoon", "1/4 teaspoon", "1/2 teaspoon", "1 teaspoon", "1 tablespoon")

_AMOUNT = re.compile(r"^(?:(?P<whole>\d+)\s+)?(?P<number>\d+/\d+|\d+(?:\.\d+)?)\s*(?P<what>\D.*)$")


@dataclass(frozen=True, slots=True)
class KitchenSolution:
    """Salt water as a kitchen measures it.

    Attributes
    ----------
    salt, water : str
        The measures, as they were written.
    kind : str
        Kind of salt.
    grams, u_grams : float
        Mass of the salt and its standard uncertainty. [g]
    volume, u_volume : float
        Volume of the water and its standard uncertainty. [mL]
    wanted : float or None
        Mass concentration that was wanted; None where none was. [g/L]
    """

    salt: str
    water: str
    kind: str
    grams: float
    u_grams: float
    volume: float
    u_volume: float
    wanted: float | None = None

    @property
    def grams_per_litre(self) -> float:
        """Mass of salt in a litre of water. [g/L]."""
        return 1000.0 * self.grams / self.volume

    @property
    def u_relative(self) -> float:
        """Relative standard uncertainty of the concentration. [1]."""
        return hypot(self.u_grams / self.grams, self.u_volume / self.volume)

    @property
    def percent(self) -> float:
        """Grams of salt in 100 mL. [%]."""
        return self.grams_per_litre / 10.0

    @property
    def molarity(self) -> float:
        """Amount of sodium chloride in a litre. [mol/L]."""
        mass = molar_mass("sodium chloride")
        assert mass is not None
        return self.grams_per_litre / mass

    def __str__(self) -> str:
        percent, molar, share = self.percent, self.molarity, self.u_relative
        return (
            f"{self.salt} of {self.kind} in {self.water} of water: {plus_minus(self.grams, self.u_grams)} g in "
            f"{round_half_up(self.volume, max(0, min(1, decimals_for(self.u_volume))))} mL, "
            f"{plus_minus(percent, percent * share)} % m/v, {plus_minus(molar, molar * share)} mol/L "
            f"(relative standard uncertainty {round_half_up(100 * share, 0)} %)"
        )


def kitchen_solution(salt: str, water: str, *, kind: str = FINE) -> KitchenSolution:
    """Work out how strong salt water gets.

    Parameters
    ----------
    salt : str
        Level spoons or pinches, or grams: ``1/8 teaspoon``, ``1 1/2 teaspoons``, ``a pinch``, ``0.5 g``.
    water : str
        Cups, spoons, or millilitres: ``3 US cups``, ``1/2 cup``, ``250 mL``.
    kind : {"fine table salt", "fine sea salt", "coarse salt"}
        A spoon of coarse salt holds about two thirds of a spoon of fine salt, and differs much by make.

    Returns
    -------
    KitchenSolution

    Raises
    ------
    PlanError
        If a measure or a kind of salt is not known.

    Notes
    -----
    The volume of the salt is neglected: below 2 % it changes the volume by less than 1 %.
    A weighed mass and a volume in mL count as exact here; name a balance or glassware in `lanewise.recipe` instead.

    Examples
    --------
    >>> print(kitchen_solution("1/8 teaspoon", "3 US cups"))
    1/8 teaspoon of fine table salt in 3 US cups of water: 0.75 ± 0.08 g in 710 mL, 0.106 ± 0.011 % m/v,
    0.0181 ± 0.0019 mol/L (relative standard uncertainty 11 %)
    """
    grams, u_grams = _salt(salt, kind)
    volume, u_volume = _water(water)
    return KitchenSolution(_plain(salt), _plain(water), _kind(kind).name, grams, u_grams, volume, u_volume)


def kitchen_recipe(grams_per_litre: float, volume: float, *, kind: str = FINE) -> KitchenSolution:
    """Choose a spoon of salt and cups of water that come near to a concentration.

    Parameters
    ----------
    grams_per_litre : float
        Wanted, above zero. [g/L]
    volume : float
        At least so much is wanted, above zero. [mL]
    kind : str
        Kind of salt, as in `kitchen_solution`.

    Returns
    -------
    KitchenSolution
        The one with the least water, of those within a twentieth of the concentration; water counts in quarter cups.

    Raises
    ------
    PlanError
        If no spoon from an eighth of a teaspoon to a tablespoon comes within a tenth, in one to twenty cups.

    Examples
    --------
    >>> found = kitchen_recipe(1.0, 100.0)
    >>> found.salt, found.water, round(found.grams_per_litre, 2)
    ('1/8 teaspoon', '3 1/4 cups', 0.98)
    """
    for name, value, unit in (("concentration", grams_per_litre, "g/L"), ("volume", volume, "mL")):
        if not 0.0 < value < 1e6:
            raise PlanError(f"kitchen recipe, {name}: wanted a number above 0 {unit}, given {value:g}. Correct it.")
    quarter = kitchen_measures()["cup"].amount / 4
    found = []
    for spoon in SPOONS:
        grams, _ = _salt(spoon, kind)
        quarters = int(round_half_up(1000.0 * grams / grams_per_litre / quarter, 0))
        if not 4 <= quarters <= 80 or quarters * quarter < volume:
            continue
        one = kitchen_solution(spoon, _cups(quarters), kind=kind)
        found.append((abs(one.grams_per_litre / grams_per_litre - 1.0), one))
    good = [one for off, one in found if off <= 0.05] or [one for off, one in sorted(found, key=_off) if off <= 0.1][:1]
    if not good:
        raise PlanError(
            f"kitchen recipe: wanted {grams_per_litre:g} g/L in at least {volume:g} mL, which no level spoon in 1 to "
            "20 cups comes near to. Weigh the salt, or make a strong solution and dilute it."
        )
    best = min(good, key=lambda one: one.volume)
    return KitchenSolution(
        best.salt, best.water, best.kind, best.grams, best.u_grams, best.volume, best.u_volume, grams_per_litre
    )


def _off(one: tuple[float, KitchenSolution]) -> float:
    return one[0]


def _cups(quarters: int) -> str:
    whole, rest = divmod(quarters, 4)
    words = [str(whole)] if whole else []
    if rest:
        words.append(str(Fraction(rest, 4)))
    return f"{' '.join(words)} {'cup' if quarters <= 4 else 'cups'}"


def _plain(text: str) -> str:
    return " ".join(text.split())


def _kind(kind: str) -> KitchenMeasure:
    found = kitchen_measures().get(_plain(kind).lower())
    if found is None or found.holds != "teaspoon of salt":
        known = [
            name for name, one in kitchen_measures().items() if one.holds == "teaspoon of salt" and name == one.name
        ]
        raise PlanError(f"kind of salt: wanted one of {', '.join(known)}, given {kind!r}. Weigh any other.")
    return found


def _amount(text: str, wanted: str) -> tuple[float, str]:
    """Take ``1 1/2 teaspoons`` apart into 1.5 and ``teaspoon``."""
    plain = re.sub(r"^an?\s+", "1 ", _plain(text).lower())
    found = _AMOUNT.match(plain)
    number = Fraction(0)
    if found and not found["number"].endswith("/0"):
        number = Fraction(found["number"]) + Fraction(found["whole"] or 0)
    if found is None or number <= 0:
        raise PlanError(f"kitchen measure: wanted {wanted}, given {text!r}. Write the number first.")
    what = found["what"].strip().removesuffix(" of salt")
    what = what if what in kitchen_measures() or what in ("g", "ml", "l") else what.removesuffix("s")
    return float(number), what


def _salt(text: str, kind: str) -> tuple[float, float]:
    """Give the mass of salt that a measure holds, and its standard uncertainty. [g]."""
    wanted = "spoons, pinches or grams of salt, such as 1/8 teaspoon, a pinch or 0.5 g"
    number, what = _amount(text, wanted)
    if what in ("g", "gram"):
        return number, 0.0
    salt, measure = _kind(kind), kitchen_measures().get(what)
    if measure is not None and measure.holds == "pinch of salt" and salt.name == FINE:
        return number * measure.amount, number * measure.amount * measure.u_relative
    if measure is None or measure.holds != "volume" or what in ("drop", "cup", "metric cup"):
        raise PlanError(f"kitchen measure: wanted {wanted}, given {text!r}. Pinches are known of {FINE} only.")
    grams = number * salt.amount * measure.amount / kitchen_measures()["teaspoon"].amount
    grams = float(as_decimal(grams))
    return grams, grams * salt.u_relative


def _water(text: str) -> tuple[float, float]:
    """Give the volume that a measure holds, and its standard uncertainty. [mL]."""
    wanted = "cups, spoons or millilitres of water, such as 3 cups or 250 mL"
    number, what = _amount(text, wanted)
    if what in ("ml", "millilitre", "milliliter", "l", "litre", "liter"):
        return number * (1000.0 if what in ("l", "litre", "liter") else 1.0), 0.0
    measure = kitchen_measures().get(what)
    if measure is None or measure.holds != "volume":
        raise PlanError(f"kitchen measure: wanted {wanted}, given {text!r}. Use millilitres for any other.")
    return number * measure.amount, number * measure.amount * measure.u_relative

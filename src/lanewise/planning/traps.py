"""Traps of printed recipes: each a check with its own sentence, empty where it has nothing to say.

What goes wrong in print was read on teaching pages: salt called ten times too strong, a volume written for a depth, a
mixture of two layers without the layer, parts in another order, per cent without a basis.
"""

from __future__ import annotations

from collections.abc import Mapping

from lanewise.model.solvents import SolventSystem
from lanewise.planning.kitchen import KitchenSolution
from lanewise.planning.vessels import Vessel
from lanewise.reference.solvents import solvent
from lanewise.reference.tables import known_mixtures
from lanewise.uncertainty.rounding import round_half_up

FACTOR = 2.0
"""A strength off by more than this is a slip, not a matter of spoons."""

SHALLOW = 2.0
"""Liquid less deep than this hardly wets the edge of a sheet (common practice, no source). [mm]"""


def usual_name(substance: str) -> str:
    """Give the name under which the library knows a substance, else its own in lower case.

    Examples
    --------
    >>> usual_name("Propan-2-ol"), usual_name("moonshine")
    ('2-propanol', 'moonshine')
    """
    found = solvent(substance)
    return substance.strip().lower() if found is None else found.name


def parts_of(system: SolventSystem) -> dict[str, float]:
    """Give the parts by volume of a system by the library's names."""
    return {usual_name(one.substance): one.parts for one in system.components if one.parts is not None}


def wrong_percentage(solution: KitchenSolution, claimed: float) -> str:
    """Say where salt water is not as strong as its recipe calls it.

    A home protocol that is widely copied calls 1/8 teaspoon of salt in 3 cups of water 1 % (read); it is 0.1 %.

    Parameters
    ----------
    solution : KitchenSolution
    claimed : float
        Grams in 100 mL, as the recipe prints it. [%]

    Examples
    --------
    >>> from lanewise.planning.kitchen import kitchen_solution
    >>> wrong_percentage(kitchen_solution("1/8 teaspoon", "3 cups"), 1.0)
    '1/8 teaspoon of fine table salt in 3 cups of water is 0.11 % m/v, not the 1 % that the recipe says: 9.5 times
    less.'
    >>> wrong_percentage(kitchen_solution("1/8 teaspoon", "3 cups"), 0.1)
    ''
    """
    ratio = claimed / solution.percent
    if 1.0 / FACTOR <= ratio <= FACTOR:
        return ""
    times = f"{round_half_up(max(ratio, 1.0 / ratio), 1)} times {'less' if ratio > 1.0 else 'more'}"
    return (
        f"{solution.salt} of {solution.kind} in {solution.water} of water is {round_half_up(solution.percent, 2)} % "
        f"m/v, not the {claimed:g} % that the recipe says: {times}."
    )


def volume_for_depth(volume: float, vessel: Vessel) -> str:
    """Say where a volume barely covers the floor: 1 cm3 may have been written for a depth of 1 cm (read on a page).

    Parameters
    ----------
    volume : float
        [mL]
    vessel : Vessel

    Examples
    --------
    >>> volume_for_depth(1.0, Vessel(diameter=70, height=95))
    '1 mL stands only 0.3 mm deep in this vessel: a depth may be meant. 1 cm deep takes 38 mL.'
    """
    depth = 1000.0 * volume / vessel.floor
    if depth >= SHALLOW:
        return ""
    centimetres = volume if volume <= 2.0 else 1.0
    return (
        f"{volume:g} mL stands only {round_half_up(depth, 1)} mm deep in this vessel: a depth may be meant. "
        f"{centimetres:g} cm deep takes {round_half_up(vessel.volume(10.0 * centimetres), 0)} mL."
    )


def layer_not_named(system: SolventSystem) -> str:
    """Say where a mixture parts into two layers and its recipe does not say which is used, or the other way round.

    Examples
    --------
    >>> from lanewise.model.notation import parse_system
    >>> layer_not_named(parse_system("1-butanol:acetic acid:water 4:1:3"))
    'This mixture parts into two layers (read): name the one to use, the upper or the lower phase.'
    """
    for known in known_mixtures():
        if not _same_parts(known.parts, parts_of(system)):
            continue
        told = known.status if known.status == "read" else known.status.split(",")[0]
        if known.layers == 2 and not system.phase:
            return f"This mixture parts into two layers ({told}): name the one to use, the upper or the lower phase."
        if known.layers == 1 and system.phase:
            return (
                f"This mixture is known to stay clear ({told}): there is no {system.phase} phase to take. Check the "
                "parts."
            )
    return ""


def other_order(system: SolventSystem) -> str:
    """Say where the same numbers are known with the same substances in another order.

    Recipes name butanol, acid and water in different orders (read); the names decide, never the place.

    Examples
    --------
    >>> from lanewise.model.notation import parse_system
    >>> other_order(parse_system("water:1-butanol:acetic acid 4:1:5"))
    'The same numbers are usual as 1-butanol 4, acetic acid 1, water 5; here it is water 4, 1-butanol 1, acetic acid
    5. Recipes differ in the order of names: check which part is which.'
    """
    given = parts_of(system)
    mixtures = known_mixtures()
    if any(_same_parts(known.parts, given) for known in mixtures):
        return ""
    for known in mixtures:
        scale = sum(given.values()) / sum(known.parts.values())
        numbers = sorted(scale * part for part in known.parts.values())
        alike = all(abs(a - b) <= 1e-9 * b for a, b in zip(numbers, sorted(given.values()), strict=False))
        if set(known.parts) == set(given) and alike:
            return (
                f"The same numbers are usual as {_named(known.parts)}; here it is {_named(given)}. Recipes differ in "
                "the order of names: check which part is which."
            )
    return ""


def ageing(system: SolventSystem) -> str:
    """Say where a mixture changes while it stands: an alcohol with an organic acid forms an ester (read)."""
    names = set(parts_of(system))
    alcohols = {"methanol", "ethanol", "1-propanol", "2-propanol", "1-butanol"}
    if names & alcohols and names & {"acetic acid", "formic acid"}:
        return "Make it fresh on the day: an ester forms slowly from the alcohol and the acid, and Rf drifts."
    return ""


def spotting_solvent(applied_in: str) -> str:
    """Say what the liquid does in which samples are spotted (read).

    Examples
    --------
    >>> spotting_solvent("DMF")
    'Spotting from dimethylformamide makes streaks: use a volatile liquid that dissolves the sample just so.'
    """
    if not applied_in.strip():
        return ""
    if usual_name(applied_in) == "dimethylformamide":
        return "Spotting from dimethylformamide makes streaks: use a volatile liquid that dissolves the sample just so."
    return f"The liquid of spotting moves Rf a little: use {applied_in.strip()} for all lanes, and dry the spots."


def strength_by_label(strengths: Mapping[str, float]) -> tuple[str, ...]:
    """Say what a label's per cent means, for each alcohol that is bought diluted.

    Examples
    --------
    >>> strength_by_label({"2-propanol": 70.0})[0]
    'The strength of 2-propanol, 70 %, is taken by volume, as shops label it; by mass it is less.'
    """
    said = [
        f"The strength of {name}, {strength:g} %, is taken by volume, as shops label it; by mass it is less."
        for name, strength in strengths.items()
    ]
    if any(usual_name(name) in ("2-propanol", "ethanol") and strength < 95.0 for name, strength in strengths.items()):
        said.append(
            "Rubbing alcohol is 2-propanol in most shops and denatured ethanol in some countries: read the label."
        )
    return tuple(said)


def recipe_traps(system: SolventSystem) -> tuple[str, ...]:
    """Give what the checks that need nothing but the system have to say."""
    return tuple(said for said in (layer_not_named(system), other_order(system), ageing(system)) if said)


def _same_parts(a: Mapping[str, float], b: Mapping[str, float]) -> bool:
    if set(a) != set(b) or not a:
        return False
    scale = sum(b.values()) / sum(a.values())
    return all(abs(scale * a[name] - b[name]) <= 1e-9 * sum(b.values()) for name in a)


def _named(parts: Mapping[str, float]) -> str:
    return ", ".join(f"{name} {number:g}" for name, number in parts.items())

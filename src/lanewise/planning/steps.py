"""What to do for a recipe, one step after the other, and what its figures leave out."""

from __future__ import annotations

from collections.abc import Sequence

from lanewise.model.solvents import SolventSystem
from lanewise.planning import traps
from lanewise.planning.mixing import Liquids, Mixed
from lanewise.planning.parts import RecipePart, amount
from lanewise.uncertainty.rounding import round_half_up

ASSUMED = (
    "The tolerance of the glassware was not given: one division is taken for it (common practice, no source). Read it "
    "off the glass for a better figure."
)
CONTRACTS = (
    "Alcohol and water shrink on mixing, by up to a few hundredths (from memory): shares count the volumes before "
    "mixing. Where per cent of the mixed liquid are meant, as on a label, fill up with water to {total} mL instead of "
    "measuring it."
)
WARMTH = "Bring all liquids to room temperature first: the marks hold at 20 °C."
SHRINKING = frozenset({"methanol", "ethanol", "1-propanol", "2-propanol"})

LOOSE = 0.05
"""A part that is off by more than this, by rounding or by its standard uncertainty, gets a word (common practice)."""


def remarks_on(
    system: SolventSystem, liquids: Liquids, mixed: Mixed, parts: Sequence[RecipePart], phase_share: float | None
) -> list[str]:
    """Say what the figures of a recipe leave out, and what cannot be measured well."""
    assumed = any(one.glass.tolerance is None for one in mixed.taken if one is not None)
    shrinks = liquids.water is not None and SHRINKING & set(traps.parts_of(system))
    return [
        *_phase_remarks(system, phase_share),
        *_loose(parts),
        *([ASSUMED] if assumed else []),
        *([CONTRACTS.format(total=amount(mixed.total))] if shrinks else []),
    ]


def steps_for(system: SolventSystem, parts: Sequence[RecipePart], total: float) -> tuple[str, ...]:
    """Say how a recipe is mixed."""
    solids = [one for one in parts if one.unit == "g"]
    liquids = [one for one in parts if one.unit == "mL" and one.take > 0.0]
    steps = []
    if solids and len(liquids) == 1:
        named = " and ".join(f"{amount(one.take)} g of {one.substance}" for one in solids)
        (liquid,) = liquids
        steps.append(
            f"Weigh {named}, dissolve in about two thirds of the {liquid.substance}, and fill up to {amount(total)} mL."
        )
    else:
        steps += [f"Measure {amount(one.take)} mL of {one.substance} with a {one.how}." for one in liquids]
        steps += [f"Weigh {amount(one.take)} g of {one.substance} and dissolve it in the mixture." for one in solids]
        if len(liquids) > 1:
            steps.append("Pour together and mix well.")
    if system.phase:
        other = "lower" if system.phase == "upper" else "upper"
        steps.append(
            f"Shake in a stoppered separating funnel, let the pressure out often, and wait until both layers are "
            f"clear; separate them, use the {system.phase} phase and keep the {other} one out of the vessel."
        )
    elif len(liquids) > 1:
        steps.append("Look: it must stay clear. Where it parts into layers, the recipe has to name the one to use.")
    steps.append(f"Label it with the name of the system, {system.name}, and the day. {WARMTH}")
    return tuple(steps)


def _loose(parts: Sequence[RecipePart]) -> list[str]:
    """Name the parts that cannot be measured well with what is at hand."""
    return [
        f"{one.substance} is measured to {round_half_up(100 * max(one.u / one.take, abs(one.error)), 0)} % only: make "
        f"more, or use {'a finer balance' if one.unit == 'g' else 'a smaller glass'}."
        for one in parts
        if one.take > 0.0 and max(one.u / one.take, abs(one.error)) > LOOSE
    ]


def _phase_remarks(system: SolventSystem, phase_share: float | None) -> list[str]:
    if not system.phase:
        return []
    if phase_share is None:
        return [
            f"How much of the mixture becomes the {system.phase} phase is not known here: the volume is that of the "
            "whole mixture, and less of it can be used. Mix 10 mL on trial, see the share, and give it."
        ]
    return [f"The {system.phase} phase is taken as {100 * phase_share:g} % of the mixture, as you gave it."]

"""An identification in words: what was assumed, what weakens it, and the verdict on each spot."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from lanewise.analyses.answers import Answer
from lanewise.analyses.bench import NOTHING, Bench
from lanewise.analyses.expectation import Expectations
from lanewise.analyses.own_library import OWN
from lanewise.analyses.wording import counted, listed
from lanewise.tables.rf_library import BEYOND
from lanewise.uncertainty.rounding import round_half_up

MOST_NAMED = 5
"""So many dyes that are possible and no more are named in a sentence; the table of candidates has all."""


def notes(expectations: Expectations, answers: Sequence[Answer], none: float) -> Iterator[str]:
    """Say what was assumed and what weakens the answers."""
    bench = expectations.bench
    count, scatter = len(expectations.candidates), bench.scatter
    yield (
        f"Before looking, a spot was taken to be none of these with a probability of {none:g}, and each of "
        f"{count} {'dye' if count == 1 else 'dyes'} with {(1 - none) / count:.2g}."
    )
    found = (
        f"{counted(scatter.repeats, 'degree')} of freedom of repeats"
        if scatter.repeats
        else "no repeats, by bench custom alone"
    )
    yield f"Scatter from lane to lane beyond the readings: {scatter.sigma:.3f} in Rf ({found})."
    used = sorted({entry for one in answers for entry in one.entries}, key=lambda entry: entry.key)
    printed = [entry for entry in used if entry.origin == "printed"]
    if printed:
        names = listed(list(dict.fromkeys(entry.dye for entry in printed)))
        yield (
            f"Printed values were used for {names}. Printed tables scatter, so {BEYOND['printed']:g} was added to "
            "their uncertainty; they can suggest a dye and cannot prove one. Run it as a standard on the same plate."
        )
    elsewhere = list(dict.fromkeys(entry.dye for entry in used if entry.source == OWN))
    if elsewhere:
        yield (
            f"The standard of {listed(elsewhere)} did not run on every plate; there its value on other plates was "
            "used, with what plates differ by."
        )
    others = [entry for entry in used if entry.origin != "printed" and entry.source != OWN]
    if others:
        yield f"Values of a library were used for {listed(list(dict.fromkeys(entry.dye for entry in others)))}."
    beyond = _beyond_references(expectations, bool(printed or others))
    if beyond:
        yield beyond
    yield from _outside(expectations, answers)
    yield from _unseen(bench)
    for one in answers:
        if len(one.sample.linkings) > 1:
            yield (
                f"The record does not say which spots of {one.sample.name} belong together in the systems; all "
                f"{len(one.sample.linkings)} ways to link them were weighed."
            )
        elif not one.sample.complete:
            yield f"The spots of {one.sample.name} could not be followed; each system was judged by itself."
    yield from (text for text in bench.dyes.unmatched if text.startswith("The blank"))


def _outside(expectations: Expectations, answers: Sequence[Answer]) -> Iterator[str]:
    """Name the spots whose verdict leans on a correction beyond the outermost reference of a plate."""
    for one in answers:
        for row in one.spots:
            _, label, *_, bases, rows = row
            if ", corrected" in str(bases) and set(rows) & expectations.beyond:  # type: ignore[call-overload]
                spot = f"{one.sample.name}, {label}".removesuffix(", ")
                yield (
                    f"{spot} lies beyond the outermost reference of a plate; there the correction leans on the lines "
                    "of origin and front and not on a standard."
                )


def _unseen(bench: Bench) -> Iterator[str]:
    """Name samples that give nothing to judge, as a whole or in part."""
    ours = (bench.role != "standard") & (bench.role != "blank")
    for name in dict.fromkeys(bench.sample[ours]):
        kinds = bench.kind[ours & (bench.sample == name)]
        if (kinds == NOTHING).all():
            yield f"{name} shows no spot with a place, so nothing can be said of it."
        elif (bench.unread & ours & (bench.sample == name)).any():
            yield f"{name} has a spot that was seen and not measured; it is not among the answers."


def _beyond_references(expectations: Expectations, used: bool) -> str:
    """Say on which plates a library value could not be corrected by references."""
    bench = expectations.bench
    bare = [
        label for number, label in enumerate(bench.plates) if used and not expectations.knots(number, own=False).rows
    ]
    if not bare:
        return ""
    return (
        f"No standard on plate{'' if len(bare) == 1 else 's'} {listed(bare)} is in the library too, so its values were "
        "used without correction and with a larger uncertainty."
    )


def chance_text(chance: object) -> str:
    """Give a probability with two digits, and never as certainty.

    Examples
    --------
    >>> chance_text(0.912), chance_text(0.9999), chance_text(0.001)
    ('0.91', 'above 0.99', 'below 0.01')
    """
    value = float(chance)  # type: ignore[arg-type]
    if value > 0.99:
        return "above 0.99"
    return "below 0.01" if value < 0.01 else round_half_up(value, 2)


def named(dyes: Sequence[str]) -> str:
    """Name the dyes of a verdict, not too many of them.

    Examples
    --------
    >>> named(["red", "blue"]), named(["red"] * 7)
    ('red and blue', 'red, red, red, red, red and 2 more')
    """
    left = len(dyes) - MOST_NAMED
    return listed([*dyes[:MOST_NAMED], f"{left} more"] if left > 0 else dyes)


def printed_alone(bases: str) -> bool:
    """Whether a verdict rests on printed values alone.

    Examples
    --------
    >>> printed_alone("printed value, corrected"), printed_alone("standard on the plate; printed value, corrected")
    (True, False)
    """
    return bool(bases) and all(basis.startswith("printed") for basis in bases.split("; "))


def sentence(row: dict[object, object]) -> str:
    """Put the verdict on one spot, a row of the table, into a sentence."""
    spot = f", {row['spot']}" if row["spot"] else ""
    where = f" in {row['system']}" if row["system"] else ""
    who = f"{row['sample']}{spot}{where}"
    dyes, chance = row["dyes"], f"(probability {chance_text(row['probability'])})"
    if row["verdict"] == "none of these":
        return f"{who} is none of these {chance}."
    assert isinstance(dyes, tuple)
    by = ", by printed values alone" if printed_alone(str(row["compared_with"])) else ""
    if row["verdict"] == "consistent with":
        return f"{who} is consistent with {dyes[0]}{by} {chance}."
    if row["verdict"] == "cannot tell between":
        return f"{who}: cannot tell between {named(dyes)}{by} {chance}."
    possible = f"; possible: {named(dyes)}" if dyes else ""
    return f"{who}: not decided, none of these with probability {chance_text(row['none'])}{possible}."

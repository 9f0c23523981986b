"""Cautions for a run: what is known of each component, ignition, air, eyes and waste, each with where it comes from.

They remind and decide nothing: local rules and the supplier's safety data sheet do.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import asdict, dataclass
from typing import Any

from lanewise.errors import PlanError
from lanewise.model.notation import parse_system
from lanewise.model.plates import NOT_STATED
from lanewise.model.solvents import SolventSystem
from lanewise.reference.solvents import solvent
from lanewise.reference.tables import hazard_statements

LOCAL_RULES = "These are reminders, not a risk assessment: local rules and the supplier's safety data sheet decide."
NOT_THE_SUM = "A mixture is classified by its own rules, not by adding up its parts."
GIVEN = "given by the user"

HALOGENATED = frozenset({"dichloromethane", "chloroform"})
SAFER = {
    "hexane": "heptane does as well as hexane in most systems, and is the safer choice",
    "dichloromethane": "ethyl acetate with heptane often replaces dichloromethane",
}
NOT_FOR_CLASSES = frozenset({"chloroform", "dichloromethane", "1,4-dioxane", "diethyl ether", "methanol"})

_CODE = re.compile(r"(?:H[2-4]\d\d[A-Za-z]{0,2}|EUH\d{3}[A-Z]?)(?:\+H[2-4]\d\d)*")
_VAPOUR = ("H330", "H331", "H332", "H334", "H335", "H336")
_EYES = ("H314", "H318", "H319")


@dataclass(frozen=True, slots=True)
class Substance:
    """What is known of one component.

    Attributes
    ----------
    name : str
        As the system names it.
    codes : tuple of str or None
        Hazard statement codes; empty where it is not classified, None where none could be checked.
    source, date : str
        Where the codes come from, and the day of that text, ``YYYY-MM-DD``; empty where there is none.
    flash_point : float or None
        Closed cup. [degC]
    flash_source : str
        Where the flash point comes from.
    flammable : bool or None
        None where nothing is known.
    wording : tuple of str
        Wording of those codes whose wording was read in a source.
    """

    name: str
    codes: tuple[str, ...] | None
    source: str
    date: str
    flash_point: float | None
    flash_source: str
    flammable: bool | None
    wording: tuple[str, ...]

    def __str__(self) -> str:
        if self.codes == ():
            return f"{self.name}: not classified as hazardous ({self.source})."
        said = []
        if self.flash_point is not None:
            said.append(f"flash point {self.flash_point:g} °C{', flammable' if self.flammable else ''}")
        if self.codes is None:
            said.append("no hazard codes are printed, for none were checked against a source: see its data sheet")
        else:
            dated = f"text of {self.date}" if self.date else GIVEN
            said.append(f"{', '.join(self.codes)} ({dated})")
        words = f" {'; '.join(self.wording)}." if self.wording else ""
        return f"{self.name}: {'; '.join(said)}.{words}"


@dataclass(frozen=True, slots=True)
class Cautions:
    """What to bear in mind with a solvent system.

    Attributes
    ----------
    substances : tuple of Substance
    unnamed : tuple of str
        Systems whose components are not stated, of which nothing can be said.
    ignition, ventilation, eyes, waste : tuple of str
        Sentences.
    others : tuple of str
        Peroxides, skin, choices that are safer.
    sources : tuple of str
    """

    substances: tuple[Substance, ...]
    unnamed: tuple[str, ...]
    ignition: tuple[str, ...]
    ventilation: tuple[str, ...]
    eyes: tuple[str, ...]
    waste: tuple[str, ...]
    others: tuple[str, ...]
    sources: tuple[str, ...]

    @property
    def about(self) -> tuple[str, ...]:
        """What is known of each component, and of which systems nothing is."""
        return (
            *map(str, self.substances),
            *map(_of_unnamed, self.unnamed),
        )

    @property
    def general(self) -> tuple[str, ...]:
        """What to do, without what is known of each substance."""
        return (*self.ignition, *self.ventilation, *self.eyes, *self.waste, *self.others)

    def to_json(self) -> str:
        """Give all of it as JSON text."""
        content: dict[str, Any] = {"kind": "lanewise cautions", "rule": LOCAL_RULES, **asdict(self)}
        return json.dumps(content, ensure_ascii=False, indent=1) + "\n"

    def __str__(self) -> str:
        said = (LOCAL_RULES, *self.about, *self.general, NOT_THE_SUM)
        return "\n".join([*said, *(f"Source: {one}" for one in self.sources)])


def cautions(
    systems: SolventSystem | str | Iterable[SolventSystem | str], *, codes: Mapping[str, str] | None = None
) -> Cautions:
    """Say what to bear in mind with one solvent system or several.

    Parameters
    ----------
    systems : SolventSystem or str, or several
        A text as `lanewise.parse_system` takes it apart.
    codes : mapping of str to str
        Hazard statement codes from your supplier's data sheet, by component: ``{"ethyl acetate": "H225 H319 H336
        EUH066"}``. They go before those of the library, and are called given by the user.

    Returns
    -------
    Cautions

    Raises
    ------
    PlanError
        If a code is none, or a component is not in any of the systems.

    Notes
    -----
    The library has codes only where they were read in the harmonised classification (Regulation (EC) 1272/2008, Annex
    VI), with the day of that text. Where it has none, it says so: that is no sign of safety.
    What to do was read on pages of school advisers and universities: no ignition, lid, air; goggles; solvents kept
    apart by kind and out of the drain.

    Examples
    --------
    >>> found = cautions("ethanol:water 1:1")
    >>> print(found.substances[0])
    ethanol: flash point 12 °C, flammable; H225 (text of 2026-07-01). Highly flammable liquid and vapour.
    >>> cautions("ethyl acetate:ethanol 1:1").substances[0].codes is None
    True
    """
    if isinstance(systems, SolventSystem | str):
        systems = [systems]
    held = [parse_system(one) if isinstance(one, str) else one for one in systems]
    names = list(dict.fromkeys(part.substance for system in held for part in system.components))
    given = _given(codes or {}, names)
    substances = tuple(_substance(name, given.get(_key(name))) for name in names)
    unnamed = tuple(system.name for system in held if not system.components)
    sources = {one.source for one in substances if one.codes} | {one.flash_source for one in substances}
    return Cautions(
        substances,
        unnamed,
        _ignition(substances, bool(unnamed)),
        _ventilation(substances, bool(unnamed)),
        _eyes(substances),
        _waste(substances),
        _others(substances),
        tuple(sorted(sources - {"", GIVEN})),
    )


def _of_unnamed(name: str) -> str:
    if name == NOT_STATED:
        return "The solvent system is not stated, so nothing can be said of its solvents."
    return f"{name}: its components are not stated, so nothing can be said of them."


def _key(name: str) -> str:
    found = solvent(name)
    return name.strip().lower() if found is None else found.name


def _given(codes: Mapping[str, str], names: Iterable[str]) -> dict[str, tuple[str, ...]]:
    known = {_key(name) for name in names}
    given = {}
    for name, text in codes.items():
        if _key(name) not in known:
            raise PlanError(f"codes, {name!r}: wanted a component of the system, one of {', '.join(sorted(known))}.")
        parts = re.split(r"[\s,;]+", text.strip())
        wrong = next((part for part in parts if not _CODE.fullmatch(part)), None)
        if wrong is not None:
            raise PlanError(
                f"codes, {name!r}: wanted hazard statement codes such as 'H225 H319 EUH066', given {wrong!r}. Copy "
                "them from the data sheet."
            )
        given[_key(name)] = tuple(parts)
    return given


def _substance(name: str, given: tuple[str, ...] | None) -> Substance:
    facts = solvent(name)
    codes = given if given is not None or facts is None else facts.hazard_codes
    flammable = None if facts is None else facts.flammable
    if given is not None and flammable is None:
        flammable = any(code in ("H224", "H225", "H226") for code in given)
    source, date = (
        (GIVEN, "") if given is not None else ("", "") if facts is None else (facts.hazard_source, facts.hazard_date)
    )
    flash = None if facts is None else facts.flash_point
    wording = tuple(hazard_statements()[code] for code in codes or () if code in hazard_statements())
    flash_source = facts.properties_source if facts is not None and flash is not None else ""
    return Substance(name, codes, source, date, flash, flash_source, flammable, wording)


def _with_code(substances: Iterable[Substance], wanted: Iterable[str]) -> list[str]:
    starts = tuple(wanted)
    return [one.name for one in substances if any(code.startswith(starts) for code in one.codes or ())]


def _listed(names: Iterable[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} and {last}" if most else last


def _ignition(substances: Iterable[Substance], unnamed: bool) -> tuple[str, ...]:
    burning = [one.name for one in substances if one.flammable]
    unknown = [one.name for one in substances if one.flammable is None and one.codes != ()]
    if not burning and not unknown and not unnamed:
        return ()
    who = f"{_listed(burning)} can burn. " if burning else ""
    if unknown or unnamed or not burning:
        what = f"Whether {_listed(unknown)} can" if unknown else "Whether the rest can" if burning else "Whether it can"
        who += f"{what} burn is not known here: take it that it can. "
    return (
        f"Ignition: {who}No flame, spark or hot plate near it, no warm air on a wet sheet; the smallest volume that "
        "does, and the lid on.",
    )


def _ventilation(substances: Iterable[Substance], unnamed: bool) -> tuple[str, ...]:
    vapour = _with_code(substances, _VAPOUR)
    some = [one.name for one in substances if one.codes != ()]
    if not some and not unnamed:
        return ()
    harm = f"; vapours of {_listed(vapour)} harm or numb" if vapour else ""
    return (f"Air: mix, run and dry in a fume cupboard, or where local rules allow it in a ventilated room{harm}.",)


def _eyes(substances: Iterable[Substance]) -> tuple[str, ...]:
    eyes = _with_code(substances, _EYES)
    named = f", for {_listed(eyes)} can harm them" if eyes else ""
    return (f"Eyes: wear eye protection throughout{named}. Rinse a splash with tap water for ten minutes, get help.",)


def _waste(substances: Iterable[Substance]) -> tuple[str, ...]:
    halogens = [one.name for one in substances if _key(one.name) in HALOGENATED]
    organic = [one.name for one in substances if one.codes != () and one.name not in halogens]
    if halogens:
        stream = f"the container for halogenated solvents ({_listed(halogens)}), with all that was mixed with it"
    elif organic:
        stream = "the container for flammable solvents without halogens"
    else:
        return ("Waste: watery liquids with a little salt or dye go where the local rules say, as often to the drain.",)
    return (
        f"Waste: {stream}, labelled with the names; nothing of it to the drain. Dry plates and papers in the fume "
        "cupboard; they and glass capillaries go where the local rules say.",
    )


def _others(substances: Iterable[Substance]) -> tuple[str, ...]:
    peroxides, skin = (
        _with_code(substances, ["EUH019"]),
        _with_code(substances, ["EUH066", "H315", "H311", "H312", "H314"]),
    )
    said = []
    if peroxides:
        said.append(f"Peroxides: {_listed(peroxides)} can form explosive ones while it stands; use none that is old.")
    if skin:
        said.append(f"Skin: keep {_listed(skin)} off it; gloves as the data sheet says.")
    for one in substances:
        if _key(one.name) in NOT_FOR_CLASSES:
            said.append(f"{one.name} is no choice for a class where another solvent does (common practice, no source).")
        if _key(one.name) in SAFER:
            said.append(f"Safer: {SAFER[_key(one.name)]} (common practice, no source).")
    said.append("Taste nothing; dyes stain.")
    return tuple(said)

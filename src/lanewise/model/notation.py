"""Solvent systems as the trade writes them, taken apart.

What is understood, with any name for a substance where parts are given:

- ``ethyl acetate:ethanol:water 70:35:30`` (also ``/`` or ``+`` between the names; the numbers in brackets; ``v/v/v``;
  or the numbers first)
- ``1-butanol : acetic acid : water 4:1:5 upper phase`` (or ``lower``; ``layer`` for phase)
- ``0.1 % sodium chloride in water`` (a salt: grams in 100 mL), ``1 g/L sodium chloride in water``
- ``70 % v/v ethanol in water``, ``ethanol 70 % v/v in water``
- a common liquid alone: ``water``, ``propan-2-ol``

Everything else stays a name without components: nothing is guessed.
"""

from __future__ import annotations

import re
from decimal import Decimal

from lanewise.errors import RecordError
from lanewise.model.solvents import Component, Phase, SolventSystem

LIQUIDS = frozenset(
    re.split(
        r";\s+",
        """water; distilled water; deionised water; deionized water; tap water; ethanol; methanol; propan-1-ol;
        1-propanol; n-propanol; propan-2-ol; 2-propanol; isopropanol; isopropyl alcohol; butan-1-ol; 1-butanol;
        n-butanol; acetone; propanone; ethyl acetate; ethyl ethanoate; butyl acetate; acetic acid; ethanoic acid;
        formic acid; hexane; n-hexane; heptane; n-heptane; cyclohexane; petroleum ether; toluene; dichloromethane;
        diethyl ether; acetonitrile; tert-butyl methyl ether; t-butyl methyl ether""",
    )
)
"""Liquids that are understood without a ratio, as classes write them."""

_LONGEST = 300
_NUMBER = r"\d+(?:\.\d+)?"
_BASIS = r"(?:v\s*/\s*v(?:\s*/\s*v)*|by\s+volume)"
_PHASE = re.compile(r"[\s,;(]+(upper|lower)\s+(?:phase|layer)\s*\)?\s*$", re.IGNORECASE)
_PARTS = rf"(?P<parts>{_NUMBER}(?:\s*[:/+]\s*{_NUMBER})+)"
_RATIO = (
    re.compile(
        rf"^(?P<names>.*?[^\s=,(:/+])[\s=,(]+{_PARTS}[\s,()]*{_BASIS}?[\s)]*$",
        re.IGNORECASE,
    ),
    re.compile(rf"^{_PARTS}\s+(?:\(?{_BASIS}\)?\s+)?(?P<names>.+)$", re.IGNORECASE),
)
_SALT = re.compile(
    r"^(?:(?:table )?salt|NaCl|KCl|LiCl|(?:sodium|potassium|lithium|calcium|magnesium) [a-z ]+"
    r"|ammonium (?!hydroxide)[a-z ]+)$",
    re.IGNORECASE,
)
_SHARE = r"(?P<number>" + _NUMBER + r")\s*(?P<unit>%|g\s*/\s*L)\s*(?P<basis>\(?\s*(?:m/v|w/v|v/v)\s*\)?)?"
_DISSOLVED = (
    re.compile(rf"^{_SHARE}\s+(?P<what>.+?)\s+in\s+(?P<liquid>.+)$", re.IGNORECASE),
    re.compile(rf"^(?P<what>.+?),?\s+{_SHARE}\s+in\s+(?P<liquid>.+)$", re.IGNORECASE),
)


def parse_system(text: str) -> SolventSystem:
    """Take a solvent system apart as the trade writes it.

    Parameters
    ----------
    text : str
        What was written; it becomes the name as it stands.

    Returns
    -------
    SolventSystem
        With parts by volume for liquids and grams per litre for salts; without components where the text
        cannot be taken apart with certainty.

    Raises
    ------
    RecordError
        If the text is empty.

    Notes
    -----
    A percentage without a basis is read as grams in 100 mL for a salt, and is not understood for a liquid, where it
    could be by volume or by mass. The order of the names decides, never a habit: recipes differ in it.

    Examples
    --------
    >>> system = parse_system("1-butanol : acetic acid : water 4:1:5 upper phase")
    >>> [(part.substance, part.parts) for part in system.components], system.phase
    ([('1-butanol', 4.0), ('acetic acid', 1.0), ('water', 5.0)], 'upper')
    >>> parse_system("0.1 % sodium chloride in water").components[0].grams_per_litre
    1.0
    >>> parse_system("our usual mixture").components
    ()
    """
    plain = re.sub(r"\s+", " ", text).strip() if len(text) <= _LONGEST else ""
    phase: Phase = ""
    layer = _PHASE.search(plain)
    if layer is not None:
        phase = "upper" if layer[1].lower() == "upper" else "lower"
        plain = plain[: layer.start()].strip()
    components = _ratio(plain)
    if components and len(components) > 1:
        try:
            return SolventSystem(name=text, components=components, phase=phase)
        except RecordError:
            return SolventSystem(name=text)
    if phase:
        return SolventSystem(name=text)
    if plain.lower() in LIQUIDS:
        return SolventSystem(name=text, components=(Component(substance=plain, parts=1),))
    return SolventSystem(name=text, components=_dissolved(plain))


def _first(patterns: tuple[re.Pattern[str], ...], plain: str) -> re.Match[str] | None:
    return next((match for pattern in patterns if (match := pattern.match(plain))), None)


def _ratio(plain: str) -> tuple[Component, ...]:
    """Take apart ``names parts``; nothing where names and parts do not pair off."""
    found = _first(_RATIO, plain)
    if found is None:
        return ()
    parts = re.split(r"\s*[:/+]\s*", found["parts"])
    marks = [mark for mark in ":/+" if mark in found["names"]]
    if len(marks) != 1:
        return ()
    names = [name.strip() for name in found["names"].split(marks[0])]
    if len(names) != len(parts) or not all(re.search(r"[^\W\d_]", name) for name in names):
        return ()
    if any(float(part) == 0 for part in parts):
        return ()
    return tuple(Component(substance=name, parts=float(part)) for name, part in zip(names, parts, strict=True))


def _dissolved(plain: str) -> tuple[Component, ...]:
    """Take apart ``share of something in a liquid``."""
    found = _first(_DISSOLVED, plain)
    if found is None or found["liquid"].lower() not in LIQUIDS or found["what"].lower() == found["liquid"].lower():
        return ()
    share, what = Decimal(found["number"]), found["what"].strip(" ,")
    basis = (found["basis"] or "").strip(" ()").lower()
    if basis == "v/v" and found["unit"] == "%" and 0 < share < 100:
        return (
            Component(substance=what, parts=float(share)),
            Component(substance=found["liquid"], parts=float(100 - share)),
        )
    solid = basis in ("m/v", "w/v") or (not basis and _SALT.match(what) is not None)
    if share > 0 and (found["unit"] != "%" or solid) and basis != "v/v":
        grams = share if found["unit"] != "%" else 10 * share
        return (
            Component(substance=what, grams_per_litre=float(grams)),
            Component(substance=found["liquid"], parts=1),
        )
    return ()

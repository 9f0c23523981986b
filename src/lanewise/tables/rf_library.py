"""A library of Rf values by layer and solvent system: what an entry holds, and how far it can be trusted.

An Rf without its layer and system is no fact, so each entry names both, with its source. How a value came to be known
(`ORIGINS`) decides what is added to its stated uncertainty before it is compared with a reading: tables in print
differ from one another far more than they say.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from lanewise.errors import RecordError

ORIGINS = ("own plates", "other laboratory", "printed")
BEYOND = {"own plates": 0.0, "other laboratory": 0.05, "printed": 0.09}
"""Standard deviation of Rf added to the stated uncertainty of an entry, by its origin.

Printed: the pooled standard deviation between three published reports of the same food dyes in salt water, with 8
degrees of freedom (worked out from `lanewise/reference/printed_rf.csv`; a test does it again). Other laboratory: the
middle of 0.03 to 0.07 for laboratories with one written method (common practice, no source).
"""

COLUMNS: dict[str, str] = {
    "dye": "name of the substance",
    "layer": "stationary phase, as plates are labelled: silica",
    "system": "solvent system, as plates are labelled",
    "rf": "retardation factor, 0 to 1",
    "u_rf": "standard uncertainty of rf, between plates included",
    "plates": "number of plates behind the value; 0 where it is not known",
    "origin": "own plates, other laboratory or printed",
    "colour": "colour of the spot, as a word; may be empty",
    "source": "where the value comes from: a notebook page, a record, a book with its page",
}
"""Columns of a library file, in their order, with their meaning."""


@dataclass(frozen=True, slots=True)
class LibraryEntry:
    """One value of the library.

    Attributes
    ----------
    dye, layer, system : str
        What ran, on what, in what.
    rf, u_rf : float
        Value from 0 to 1 and standard uncertainty, above 0. [1]
    plates : int
        Number of plates behind it, 0 where that is not known.
    origin : str
        One of `ORIGINS`.
    colour : str
        A word, or empty.
    source : str
        Never empty.
    """

    dye: str
    layer: str
    system: str
    rf: float
    u_rf: float
    plates: int
    origin: str
    colour: str = ""
    source: str = ""

    def __post_init__(self) -> None:
        for name in ("dye", "layer", "system", "source"):
            if not getattr(self, name).strip():
                self._refuse(name, "a text", getattr(self, name), "Say it: a value without it is no fact.")
        if not (math.isfinite(self.rf) and 0.0 <= self.rf <= 1.0):
            self._refuse("rf", "a number from 0 to 1", self.rf, "Divide hRf by 100.")
        if not (math.isfinite(self.u_rf) and 0.0 < self.u_rf <= 0.5):
            self._refuse("u_rf", "a standard uncertainty above 0 and up to 0.5", self.u_rf, "No value is exact.")
        if self.plates < 0:
            self._refuse("plates", "a whole number, 0 or more", self.plates, "Write 0 where it is not known.")
        if self.origin not in ORIGINS:
            self._refuse("origin", f"one of {', '.join(ORIGINS)}", self.origin, "Take printed where in doubt.")

    def _refuse(self, name: str, wanted: str, given: object, todo: str) -> None:
        raise RecordError(f"library entry {self.dye!r}, {name}: wanted {wanted}, given {given!r}. {todo}")

    @property
    def key(self) -> tuple[str, str, str, str]:
        """What makes two entries the same one: dye, layer, system and source, without regard to capitals."""
        return (folded(self.dye), folded(self.layer), folded(self.system), folded(self.source))

    @property
    def u_used(self) -> float:
        """Standard uncertainty with what is added for the origin of the value."""
        return math.hypot(self.u_rf, BEYOND[self.origin])


@dataclass(frozen=True, slots=True)
class RfLibrary:
    """Entries in their order, no two with the same dye, layer, system and source.

    Examples
    --------
    >>> entry = LibraryEntry("eosin Y", "silica", "water", 0.7, 0.02, 3, "own plates", "orange", "notebook p. 12")
    >>> library = RfLibrary((entry,))
    >>> [found.dye for found in library.on("Silica", "water")]
    ['eosin Y']
    """

    entries: tuple[LibraryEntry, ...] = ()

    def __post_init__(self) -> None:
        seen: set[tuple[str, str, str, str]] = set()
        for entry in self.entries:
            if entry.key in seen:
                raise RecordError(
                    f"library: wanted each dye once for a layer, system and source, given {entry.dye!r} on "
                    f"{entry.layer!r} in {entry.system!r} from {entry.source!r} twice. Keep one of them."
                )
            seen.add(entry.key)

    def __len__(self) -> int:
        return len(self.entries)

    def __str__(self) -> str:
        dyes = len({folded(entry.dye) for entry in self.entries})
        systems = len({(folded(entry.layer), folded(entry.system)) for entry in self.entries})
        printed = sum(entry.origin == "printed" for entry in self.entries)
        entries = f"{len(self)} {'entry' if len(self) == 1 else 'entries'}"
        what = f"{dyes} {'dye' if dyes == 1 else 'dyes'} in {systems} {'system' if systems == 1 else 'systems'}"
        return f"{entries}: {what}, {printed or 'none'} printed"

    def on(self, layer: str, system: str) -> tuple[LibraryEntry, ...]:
        """Give the entries for one layer and system; capitals and runs of spaces do not matter."""
        wanted = (folded(layer), folded(system))
        return tuple(entry for entry in self.entries if (folded(entry.layer), folded(entry.system)) == wanted)

    def disagreements(self) -> tuple[str, ...]:
        """Say which entries cannot both be right: one dye, layer and system, farther apart than their uncertainty.

        Returns
        -------
        tuple of str
            A sentence for each two that differ by more than twice the standard uncertainty of their difference.
        """
        groups: dict[tuple[str, ...], list[LibraryEntry]] = {}
        for entry in self.entries:
            groups.setdefault(entry.key[:3], []).append(entry)
        return tuple(
            f"{a.dye} on {a.layer} in {a.system}: {a.rf:.2f} ({a.source}) and {b.rf:.2f} ({b.source}) do not agree."
            for group in groups.values()
            for a, b in combinations(group, 2)
            if abs(a.rf - b.rf) > 2.0 * math.hypot(a.u_used, b.u_used)
        )

    def with_entries(self, others: Iterable[LibraryEntry]) -> RfLibrary:
        """Give a library in which the others stand too; one with the same key takes the place of the old one."""
        held = {entry.key: entry for entry in self.entries}
        for entry in others:
            held[entry.key] = entry
        return RfLibrary(tuple(held.values()))


def folded(text: str) -> str:
    """Give a label without regard to capitals and runs of spaces.

    Examples
    --------
    >>> folded(" Silica  gel ")
    'silica gel'
    """
    return " ".join(text.casefold().split())


def printed_library() -> RfLibrary:
    """Give the printed values that the library carries as entries, with what their origin adds to their uncertainty.

    Returns
    -------
    RfLibrary
        Without values that cannot be right or whose system is not known. Where one source has several values for a
        substance in one system, such as three xanthophylls, they are numbered.

    Examples
    --------
    >>> library = printed_library()
    >>> {entry.origin for entry in library.entries}, min(entry.u_used for entry in library.entries) > 0.09
    ({'printed'}, True)
    """
    from lanewise.reference.printed import printed_rf

    held: dict[tuple[str, str, str, str], LibraryEntry] = {}
    for one in printed_rf():
        if one.doubtful:
            continue
        source = f"{one.source}; {one.status}"
        name, number = one.substance, 1
        while (key := (folded(name), folded(one.layer), folded(one.system), folded(source))) in held:
            number += 1
            name = f"{one.substance} {number}"
        held[key] = LibraryEntry(name, one.layer, one.system, one.rf, one.u_rf, 0, "printed", "", source)
    return RfLibrary(tuple(held.values()))

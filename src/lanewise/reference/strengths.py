"""How strong a solvent is, and in what way: polarity index P' and selectivity group, each with its source.

There are two printings of the polarity index that differ much; all values here are of the later one (1978). It says
nothing of salt water or of paper run with water.
"""

from __future__ import annotations

import csv
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from lanewise.reference.solvents import solvent


@dataclass(frozen=True, slots=True)
class Strength:
    """One solvent of the table.

    Attributes
    ----------
    name : str
        As in the table of solvents.
    polarity : float
        Polarity index P', later list. [1]
    group : str
        Selectivity group, I to VIII; empty where it has none.
    offered : bool
        Whether it may be offered in place of another; those that are avoided in teaching are not.
    mixes_with_alkanes : bool
        Whether it mixes with hexane and its like in all parts (common practice, no source).
    reason : str
        Why it is not offered.
    polarity_source, group_source : str
        Where the two come from, with how that is known: what is from memory was not checked and says so.
    """

    name: str
    polarity: float
    group: str
    offered: bool
    mixes_with_alkanes: bool
    reason: str
    polarity_source: str
    group_source: str


@dataclass(frozen=True, slots=True)
class Alternative:
    """A solvent of another group, with the part of it that gives the same polarity index.

    Attributes
    ----------
    name, group : str
        Solvent and its selectivity group.
    fraction : float
        Volume fraction of it in the mixture, 0 to 1. [1]
    polarity : float
        Polarity index of the mixture. [1]
    """

    name: str
    group: str
    fraction: float
    polarity: float


def strength(name: str) -> Strength | None:
    """Look a solvent up by its name or one of its usual other names; None where the table has no value.

    Examples
    --------
    >>> found = strength("propan-2-ol")
    >>> found.polarity, found.group
    (3.9, 'II')
    """
    known = solvent(name)
    return _table().get(known.name if known else name.strip().lower())


def mixture_polarity(fractions: Mapping[str, float]) -> float | None:
    """Polarity index of a mixture: the sum of volume fraction times P' (Snyder, from memory).

    Parameters
    ----------
    fractions : mapping of str to float
        Volume fraction of each solvent; they sum to 1.

    Returns
    -------
    float or None
        None where a solvent is not in the table.

    Examples
    --------
    >>> round(mixture_polarity({"hexane": 0.7, "ethyl acetate": 0.3}), 2)
    1.39
    """
    found = [(part, strength(name)) for name, part in fractions.items()]
    if not found or any(item is None for _, item in found):
        return None
    return sum(part * item.polarity for part, item in found if item is not None)


def alternatives(weak: str, strong: str, fraction: float) -> tuple[Alternative, ...]:
    """Give solvents of other groups that keep the polarity index of a mixture of two.

    Parameters
    ----------
    weak, strong : str
        The two solvents.
    fraction : float
        Volume fraction of the strong one, 0 to 1. [1]

    Returns
    -------
    tuple of Alternative
        By group; empty where a value is not in the table, or water is one of the two: P' means nothing there.

    Examples
    --------
    >>> [(item.name, item.group, round(item.fraction, 2)) for item in alternatives("hexane", "acetone", 0.3)]
    [('ethanol', 'II', 0.36), ('2-propanol', 'II', 0.39)]
    """
    base, old = strength(weak), strength(strong)
    if base is None or old is None or "water" in (base.name, old.name):
        return ()
    wanted = base.polarity + fraction * (old.polarity - base.polarity)
    made = []
    for item in sorted(_table().values(), key=lambda one: one.group):
        if not item.offered or item.group == old.group or item.name == base.name or item.polarity <= base.polarity:
            continue
        part = (wanted - base.polarity) / (item.polarity - base.polarity)
        if 0.0 < part <= 1.0 and item.mixes_with_alkanes:
            made.append(Alternative(item.name, item.group, part, wanted))
    return tuple(made)


@cache
def _table() -> dict[str, Strength]:
    text = files("lanewise.reference").joinpath("strengths.csv").read_text(encoding="utf-8")
    return {
        row["solvent"]: Strength(
            name=row["solvent"],
            polarity=float(row["polarity"]),
            group=row["group"],
            offered=row["offered"] == "yes",
            mixes_with_alkanes=row["alkane"] == "yes",
            reason=row["reason"],
            polarity_source=f"{row['polarity_source']} ({row['polarity_status']})",
            group_source=f"{row['group_source']} ({row['group_status']})" if row["group"] else "",
        )
        for row in csv.DictReader(text.splitlines())
    }

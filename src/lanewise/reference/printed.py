"""Rf values that stand in print, each with its source and status: examples of how far tables scatter, never truth."""

from __future__ import annotations

import csv
import math
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

LAST_DIGIT = 0.005  # half a unit of the second decimal, the half-width of what rounding hides


@dataclass(frozen=True, slots=True)
class PrintedRf:
    """One value of the table.

    Attributes
    ----------
    kind : str
        amino acid, leaf pigment or food dye.
    substance, layer, system : str
        As printed, layers in the library's words.
    low, high : float
        Ends of what is printed: the same twice for a single value. [1]
    source, status : str
        Where it was printed and how that is known.
    doubtful : bool
        Whether the value cannot be right or its system is not known; the status says which.
    """

    kind: str
    substance: str
    layer: str
    system: str
    low: float
    high: float
    source: str
    status: str
    doubtful: bool

    @property
    def rf(self) -> float:
        """Middle of what is printed."""
        return 0.5 * (self.low + self.high)

    @property
    def u_rf(self) -> float:
        """Standard uncertainty of the middle, even over the range and the rounding.

        JCGM 100:2008, 4.3.7 (clause from memory). Nothing in it is for the scatter of tables.
        """
        return (0.5 * (self.high - self.low) + LAST_DIGIT) / math.sqrt(3.0)


@cache
def printed_rf() -> tuple[PrintedRf, ...]:
    """Give all values.

    Returns
    -------
    tuple of PrintedRf
        In the order of the table.

    Examples
    --------
    >>> found = [one for one in printed_rf() if one.substance == "glycine" and not one.doubtful]
    >>> sorted({(one.layer, one.rf) for one in found})[0]
    ('TLC plate, sorbent not stated', 0.2)
    """
    text = files("lanewise.reference").joinpath("printed_rf.csv").read_text(encoding="utf-8")
    return tuple(_value(row) for row in csv.DictReader(text.splitlines()))


def _value(row: dict[str, str]) -> PrintedRf:
    numbers = [float(number) for number in re.findall(r"\d+\.\d+", row["rf"])]
    plain = {name: row[name] for name in ("kind", "substance", "layer", "system", "source", "status")}
    return PrintedRf(**plain, low=numbers[0], high=numbers[-1], doubtful=row["doubtful"] == "yes")

"""What is known of a solvent: flash point, boiling point, hazard codes, each with its source."""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass
from functools import cache
from importlib.resources import files


@dataclass(frozen=True, slots=True)
class Solvent:
    """One substance of the table.

    Attributes
    ----------
    name : str
        Name under which it stands in the table.
    cas : str
        CAS number.
    boiling_point, flash_point : float or None
        At normal pressure, and in the closed cup. None where the table has none. [degC]
    hazard_codes : tuple of str or None
        Hazard statement codes of the harmonised classification; empty where it is not classified, None where no
        source could be checked.
    properties_source, hazard_source : str
        Where the two kinds of facts come from.
    """

    name: str
    cas: str
    boiling_point: float | None
    flash_point: float | None
    hazard_codes: tuple[str, ...] | None
    properties_source: str
    hazard_source: str

    @property
    def flammable(self) -> bool | None:
        """Whether a flash point up to 60 degC, or a code H224 to H226, says so; None where nothing is known.

        60 degC is the upper limit of the class of flammable liquids in the harmonised system (from memory).
        """
        if self.flash_point is not None:
            return self.flash_point <= 60.0
        if self.hazard_codes is None:
            return None
        return any(code in ("H224", "H225", "H226") for code in self.hazard_codes)

    @property
    def hazard_date(self) -> str:
        """Day of the text from which the codes come, ``YYYY-MM-DD``; empty where the source has none.

        A consolidated regulation carries it in its number: 02008R1272-20260701 is the text of 2026-07-01.
        """
        found = re.search(r"\b0\d{4}R\d{4}-(\d{4})(\d{2})(\d{2})\b", self.hazard_source)
        return "-".join(found.groups()) if found else ""


def solvent(name: str) -> Solvent | None:
    """Look a substance up by its name or one of its usual other names.

    Parameters
    ----------
    name : str
        Any case; spaces at the ends do not matter.

    Returns
    -------
    Solvent or None
        None where the table does not have it: that says nothing about its hazards.

    Examples
    --------
    >>> found = solvent("Propan-2-ol")
    >>> found.name, found.flash_point, found.hazard_codes
    ('2-propanol', 12.0, ('H225', 'H319', 'H336'))
    >>> solvent("moonshine") is None
    True
    """
    return _table().get(name.strip().lower())


@cache
def _table() -> dict[str, Solvent]:
    text = files("lanewise.reference").joinpath("solvents.csv").read_text(encoding="utf-8")
    table: dict[str, Solvent] = {}
    for row in csv.DictReader(text.splitlines()):
        entry = Solvent(
            name=row["solvent"],
            cas=row["cas"],
            boiling_point=_number(row["boiling_point_c"]),
            flash_point=_number(row["flash_point_c"]),
            hazard_codes=_codes(row["hazard_codes"]),
            properties_source=row["properties_source"],
            hazard_source=row["hazard_source"],
        )
        for key in (row["solvent"], *row["synonyms"].split(";")):
            if key.strip():
                table[key.strip().lower()] = entry
    return table


def _number(text: str) -> float | None:
    return float(text) if text else None


def _codes(text: str) -> tuple[str, ...] | None:
    if not text:
        return None
    return () if text == "none" else tuple(text.split())

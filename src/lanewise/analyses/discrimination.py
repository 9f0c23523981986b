"""How well solvent systems tell the dyes of a library apart, and how few of them are enough."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from lanewise.errors import AnalysisError
from lanewise.quantities.identification import (
    discriminating_power,
    information_content,
    mean_list_length,
    not_told_apart,
)
from lanewise.tables.rf_library import RfLibrary, folded

MOST_SETS = 20_000
EDGES = 10  # how often the classes of the information content are shifted
COVERAGE = 2.0
BESIDE = 0.01
"""Scatter of Rf of one spot among lanes of a plate, as bench custom has it (0.005 to 0.01; common practice)."""
COLUMNS = ["layer", "system", "dyes", "power", "list_length", "bits"]


@dataclass(frozen=True, eq=False)
class Discrimination:
    """What each system, and all together, tell apart.

    Attributes
    ----------
    dyes : tuple of str
        The N dyes that were asked about.
    systems : DataFrame
        One row for each layer with a system, the best first, and one for all together (its layer is ``all``): dyes that
        have a value, discriminating power, mean list length, and information content in bits (nan where a dye has no
        value). A dye without a value in a system is not told apart there.
    not_apart : tuple of (str, str)
        Pairs that no system tells apart.
    smallest : tuple of (layer, system)
        As few as tell apart what all together do.
    exact : bool
        Whether no smaller set exists; False where there were too many sets to try, and the best was added step by step.
    """

    dyes: tuple[str, ...]
    systems: pd.DataFrame
    not_apart: tuple[tuple[str, str], ...]
    smallest: tuple[tuple[str, str], ...]
    exact: bool

    def __str__(self) -> str:
        names = "; ".join(f"{system} on {layer}" for layer, system in self.smallest)
        how = "no smaller set does" if self.exact else "found step by step, a smaller set may exist"
        left = ", ".join(f"{a} and {b}" for a, b in self.not_apart)
        open_pairs = f" Not told apart by any: {left}." if left else ""
        return f"Enough to tell {len(self.dyes)} dyes apart as well as all systems do: {names} ({how}).{open_pairs}"

    def to_frame(self) -> pd.DataFrame:
        """Give the table of systems."""
        return self.systems


def discrimination(
    library: RfLibrary, dyes: Sequence[str] = (), *, window: float | None = None, width: float = 0.05
) -> Discrimination:
    """Say how well the systems of a library tell dyes apart, and which few are enough.

    Parameters
    ----------
    library : RfLibrary
        Values by layer and system; of several for one dye the surest counts.
    dyes : sequence of str, optional
        Dyes that are asked about; all of the library if left out.
    window : float, optional
        Largest difference of Rf that counts as a match; by default twice the standard uncertainty of the difference
        of two spots side by side, with what the origin of the values adds. [1]
    width : float
        Width of a class for the information content, whose edges are shifted ten times. [1]

    Returns
    -------
    Discrimination

    Raises
    ------
    AnalysisError
        If there are fewer than two dyes, or one has no value.

    Notes
    -----
    A pair counts as told apart by several systems if one of them tells it apart. The smallest set is found by trying
    all sets of one system, of two and so on, up to twenty thousand; beyond that the system that tells most of the
    remaining pairs apart is added until nothing is left to gain.

    Examples
    --------
    >>> from lanewise.tables.rf_library import LibraryEntry
    >>> rows = [("red", "A", 0.3), ("blue", "A", 0.32), ("green", "A", 0.6), ("red", "B", 0.2), ("blue", "B", 0.5),
    ...     ("green", "B", 0.52)]
    >>> made = RfLibrary(tuple(LibraryEntry(d, "silica", s, r, 0.01, 3, "own plates", "", "notes") for d, s, r in rows))
    >>> print(discrimination(made))
    Enough to tell 3 dyes apart as well as all systems do: A on silica; B on silica (no smaller set does).
    """
    names = list(dict.fromkeys(dyes)) or list({folded(entry.dye): entry.dye for entry in library.entries}.values())
    places = list({(folded(e.layer), folded(e.system)): (e.layer, e.system) for e in library.entries}.values())
    if window is not None and not 0.0 <= window < 1.0:
        raise AnalysisError(f"window: wanted a difference of Rf from 0 to below 1, given {window:g}")
    if len(names) < 2:
        raise AnalysisError(f"wanted at least two dyes to tell apart, given {len(names)}. Name more of them.")
    rf, u = _values(library, names, places)
    lost = [name for name, row in zip(names, rf, strict=True) if np.isnan(row).all()]
    if lost:
        raise AnalysisError(f"wanted dyes of the library, given {lost[0]!r}, which it does not have. Leave it out.")
    gap = (
        COVERAGE * np.sqrt(u[:, None, :] ** 2 + u[None, :, :] ** 2 + 2.0 * BESIDE**2)
        if window is None
        else np.full((len(names),) * 2 + (1,), window)
    )
    same = [not_told_apart(rf[:, [place]], gap[:, :, [place if window is None else 0]]) for place in range(len(places))]
    together = np.logical_and.reduce(same)
    rows = [(*where, *_numbers(rf[:, [place]], same[place], width)) for place, where in enumerate(places)]
    rows.sort(key=lambda row: (-row[3], row[4]))
    rows.append(("all", f"{len(places)} systems together", *_numbers(rf, together, width)))
    smallest, exact = _smallest(same, together)
    left = [(names[a], names[b]) for a, b in combinations(range(len(names)), 2) if together[a, b]]
    return Discrimination(
        tuple(names),
        pd.DataFrame(rows, columns=COLUMNS),
        tuple(left),
        tuple(places[place] for place in smallest),
        exact,
    )


def _values(
    library: RfLibrary, names: Sequence[str], places: Sequence[tuple[str, str]]
) -> tuple[np.ndarray[tuple[int, int], np.dtype[np.float64]], np.ndarray[tuple[int, int], np.dtype[np.float64]]]:
    """Rf and its uncertainty by dye and system, each of shape (N, S), nan where there is none."""
    rf, u = np.full((2, len(names), len(places)), np.nan)
    number = {folded(name): place for place, name in enumerate(names)}
    column = {(folded(layer), folded(system)): place for place, (layer, system) in enumerate(places)}
    for entry in library.entries:
        dye, place = number.get(folded(entry.dye)), column[folded(entry.layer), folded(entry.system)]
        if dye is not None and not entry.u_used >= u[dye, place]:
            rf[dye, place], u[dye, place] = entry.rf, entry.u_used
    return rf, u


def _numbers(
    rf: np.ndarray[tuple[int, int], np.dtype[np.float64]],
    same: np.ndarray[tuple[int, int], np.dtype[np.bool_]],
    width: float,
) -> tuple[int, float, float, float]:
    known = int((~np.isnan(rf)).any(axis=1).sum())
    bits = float("nan") if np.isnan(rf).any() else information_content(rf, width, EDGES)
    return known, discriminating_power(same), mean_list_length(same), bits


def _smallest(
    same: Sequence[np.ndarray[tuple[int, int], np.dtype[np.bool_]]],
    together: np.ndarray[tuple[int, int], np.dtype[np.bool_]],
) -> tuple[tuple[int, ...], bool]:
    """Find as few systems as tell apart what all do, and say whether no fewer would."""
    tried = 0
    for size in range(1, len(same) + 1):
        tried += math.comb(len(same), size)
        if tried > MOST_SETS:
            break
        for chosen in combinations(range(len(same)), size):
            if (np.logical_and.reduce([same[place] for place in chosen]) == together).all():
                return chosen, True
    chosen_so_far: list[int] = []
    left = np.ones_like(together)
    while (left != together).any():
        best = min(range(len(same)), key=lambda place: int((left & same[place]).sum()))
        chosen_so_far.append(best)
        left &= same[best]
    return tuple(sorted(chosen_so_far)), False

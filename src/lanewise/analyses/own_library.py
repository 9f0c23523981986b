"""The standards of a study as entries of a library: means over plates, with the scatter between them."""

from __future__ import annotations

import numpy as np
import pandas as pd

from lanewise.analyses.bench import SHARP, Bench, set_up, standards
from lanewise.analyses.measure import Measurement
from lanewise.analyses.replicates import mean_rf
from lanewise.errors import AnalysisError
from lanewise.tables.columns import NOT_STATED
from lanewise.tables.rf_library import LibraryEntry, RfLibrary

OWN = "this study"
"""Source of entries that a study gives itself."""


def library_of(measurement: Measurement, source: str) -> RfLibrary:
    """Make a library of the standards of a study.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`, with lanes whose role is standard and plates with a layer.
    source : str
        What the entries name as their source: a notebook page, a file.

    Returns
    -------
    RfLibrary
        One entry for each standard, layer and system: mean over plates, with the scatter between plates in its
        uncertainty. A standard at the origin, with the front or with a streak has no value and is left out.

    Raises
    ------
    AnalysisError
        If no standard has a value, or its plate has no layer.
    """
    return RfLibrary(own_entries(measurement, set_up(measurement), source))


def own_entries(
    measurement: Measurement, bench: Bench, source: str, *, refuse: bool = True
) -> tuple[LibraryEntry, ...]:
    """Give the entries of `library_of`; where nothing is refused, plates without a layer count as one layer."""
    found = standards(bench)
    keys = np.full(len(bench.kind), "", dtype=object)
    for name, rows in found.items():
        keys[rows[bench.kind[rows] == SHARP]] = name
    bare = np.flatnonzero((keys != "") & (bench.layer == NOT_STATED))
    if refuse and (not (keys != "").any() or bare.size):
        raise AnalysisError(
            "wanted standards with a value on plates that name their layer, given "
            + (f"plate {bench.plates[bench.plate[bare[0]]]!r} without a layer." if bare.size else "none.")
            + " Fill in the columns role and layer."
        )
    entries: list[LibraryEntry] = []
    layers = bench.layer
    for layer in dict.fromkeys(layers[keys != ""]):
        names = np.where(layers == layer, keys, "")
        chosen: pd.Series[str] = pd.Series(names, index=measurement.spots.index, dtype=object)
        means = mean_rf(measurement, chosen)
        for row, value, u in zip(means.cells.to_dict("records"), means.rf.values, means.rf.u, strict=True):
            words = [word for word in bench.colour[found[row["dye"]]] if word]
            colour = max(dict.fromkeys(words), key=words.count) if words else ""
            entries.append(
                LibraryEntry(
                    row["dye"], str(layer), row["system"], float(value), float(u), int(row["plates"]), "own plates",
                    colour, source,
                )
            )  # fmt: skip
    return tuple(entries)

"""Which spots of different lanes are the same dye, as far as the record says so.

Only the record decides: a spot's own name, its colour, or that its lane holds nothing else. Position decides nothing
here, because two systems may put the same dyes in another order.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pandas as pd

from lanewise.analyses.measure import Measurement
from lanewise.analyses.wording import plates, texts

NOT_SPOTS = ("absent", "unread")
NUMBER = r"[\d.]*"  # a spot label that only counts


@dataclass(frozen=True, eq=False)
class Dyes:
    """Names of the dyes behind the spots.

    Attributes
    ----------
    names : Series of str
        One name for each row of the measurement's spots, such as ``eosin Y`` or ``map green (blue)``; empty where it
        cannot be told, and for spots that were absent, not measured, or in a blank lane.
    within : Series of str
        The same, and for spots that cannot be followed their sample and number, such as ``map green (spot 2)``: good
        for the lanes of one system, where numbers count from the origin, but not from one system to another.
    unmatched : tuple of str
        Samples whose spots cannot be followed from lane to lane, each with the reason, and blanks that show a spot, as
        sentences.
    """

    names: pd.Series[str]
    within: pd.Series[str]
    unmatched: tuple[str, ...]


def name_dyes(measurement: Measurement) -> Dyes:
    """Name the dye of each spot so that it can be followed from one plate or system to another.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.

    Returns
    -------
    Dyes
        In this order: a sample that never has more than one spot in a lane is its own dye; spots with names of their
        own (not numbers) keep them; else colours serve, where each colour stands once in every lane of the sample. A
        sample for which none of these holds is listed as unmatched. Capitals do not matter in colours.
    """
    frame = _described(measurement)
    names = np.full(len(frame), "", dtype=object)
    within = names.copy()
    unmatched = []
    seen = ~frame["state"].isin(NOT_SPOTS)
    blank = frame["role"] == "blank"
    for sample, rows in frame[seen & ~blank].groupby("sample", sort=False):
        here = rows.index.to_numpy()
        if rows.groupby(["plate", "lane"], sort=False).size().max() == 1:
            names[here] = str(sample)
        elif not rows["spot"].str.fullmatch(NUMBER).any() and not _twice(rows, "spot"):
            names[here] = [f"{sample} ({spot})" for spot in rows["spot"]]
        elif (rows["colour"] != "").all() and not _twice(rows, "colour"):
            names[here] = [f"{sample} ({colour})" for colour in rows["colour"]]
        else:
            within[here] = [f"{sample} (spot {spot})" for spot in rows["spot"]]
            unmatched.append(_why_unmatched(str(sample), rows))
    if (seen & blank).any():
        where = plates(frame.loc[seen & blank, "plate"])
        unmatched.append(
            f"The blank on {where} shows a spot. It may come from the solvent, the layer or the spotting; it is not "
            "compared, and a spot at its place in other lanes is no evidence."
        )
    within[names != ""] = names[names != ""]
    index = measurement.spots.index
    return Dyes(pd.Series(names, index=index), pd.Series(within, index=index), tuple(unmatched))


def _described(measurement: Measurement) -> pd.DataFrame:
    """Give what a dye can be named by, as clean texts, one row a spot; spots without a label are numbered in a lane."""
    spots, marks = measurement.spots, measurement.marks
    empty = pd.Series("", index=marks.index)
    columns = {name: texts(spots[name]) for name in ("plate", "lane", "spot", "state")}
    columns["sample"] = texts(spots["sample"], columns["lane"])
    columns["role"] = texts(marks.get("role", empty))
    columns["colour"] = texts(marks.get("colour", empty)).str.lower()
    frame = pd.DataFrame({name: column.to_numpy() for name, column in columns.items()})
    number = (frame.groupby(["plate", "lane"], sort=False).cumcount() + 1).astype(str)
    return frame.assign(spot=frame["spot"].where(frame["spot"] != "", number))


def _twice(rows: pd.DataFrame, column: str) -> bool:
    """Whether a name or colour stands twice in some lane."""
    return bool(rows.duplicated(["plate", "lane", column]).any())


def _why_unmatched(sample: str, rows: pd.DataFrame) -> str:
    numbers, uncoloured = rows["spot"].str.fullmatch(NUMBER), rows["colour"] == ""
    if numbers.all():
        names = "they have numbers only"
    else:
        names = "some have only numbers" if numbers.any() else "two of one lane have the same name"
    if uncoloured.any():
        colours = "no colours are given" if uncoloured.all() else "some have no colour"
    else:
        colours = "two of one lane have the same colour"
    return (
        f"The spots of {sample} cannot be followed from lane to lane: {names}, and {colours}. Give each spot of a lane "
        "a name of its own in the column spot, or a colour of its own."
    )

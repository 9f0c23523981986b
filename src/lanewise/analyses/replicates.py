"""Means over plates: what repeats of one dye in one system say together.

The scatter between plates is estimated from all dyes that were run more than once, since one dye on three plates
says little about it. Where it is larger than the readings explain, the excess goes into every mean as a source of its
own, "between plates", with the degrees of freedom it was estimated from.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt
import pandas as pd

from lanewise.analyses.measure import Measurement
from lanewise.analyses.wording import texts
from lanewise.tables.columns import NOT_STATED
from lanewise.uncertainty.inputs import from_standard
from lanewise.uncertainty.measured import Measured


@dataclass(frozen=True, eq=False)
class Means:
    """Mean Rf of each dye in each system.

    Attributes
    ----------
    cells : DataFrame
        Columns dye, system, plates: one row for each mean.
    rf : Measured
        The means, row by row as in `cells`.
    between_plates : float
        Standard deviation of Rf between plates beyond what reading explains; nan where nothing was repeated. [1]
    dof : int
        Degrees of freedom of the scatter between plates, counted by plates; 0 where nothing was repeated.
    """

    cells: pd.DataFrame
    rf: Measured
    between_plates: float
    dof: int

    @cached_property
    def _row_of(self) -> dict[tuple[str, str], int]:
        pairs = zip(self.cells["dye"], self.cells["system"], strict=True)
        return {pair: number for number, pair in enumerate(pairs)}

    def cell(self, dye: str, system: str) -> int:
        """Give the row of one dye in one system."""
        return self._row_of[dye, system]


def mean_rf(measurement: Measurement, dyes: pd.Series[str]) -> Means:
    """Average Rf over lanes and then over plates, dye by dye and system by system.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.
    dyes : Series of str
        Name of the dye of each spot; rows with an empty name, and rows without an Rf, are left out.

    Returns
    -------
    Means
        Lanes of one plate are averaged first, so a plate with two lanes counts once.

    Notes
    -----
    The variance between plates is what the pooled squares about each dye's mean exceed the reading uncertainties by,
    per degree of freedom of the squares, and not less than zero: the moment estimate of a one-way layout (derived).
    Dyes with a streak are left out of the estimate.

    What differs between plates (vapour, humidity, the moment the front was marked) moves all spots of a plate together,
    so twenty dyes on three plates are three repeats, not sixty: the estimate counts, in each system, as many degrees of
    freedom as the most repeated dye has, one less than its plates. Taking the dyes as independent there would make
    intervals too short. Each dye keeps a source of its own on each plate, so a difference between two dyes of a system
    has rather too large an uncertainty.
    """
    spots = measurement.spots
    keep = np.flatnonzero((dyes != "").to_numpy() & spots["rf"].notna().to_numpy())
    rows = pd.DataFrame(
        {
            "dye": dyes.to_numpy()[keep],
            "system": texts(spots["system"], NOT_STATED).to_numpy()[keep],
            "plate": texts(spots["plate"]).to_numpy()[keep],
            "streak": spots["state"].eq("streak").to_numpy()[keep],
        }
    )
    on_plate = rows.groupby(["dye", "system", "plate"], sort=False).ngroup().to_numpy()
    plates = rows.groupby(["dye", "system", "plate"], sort=False)["streak"].any().reset_index()
    by_plate = measurement.quantity("rf")[keep].combined(_averages(on_plate, len(plates)))
    cell = plates.groupby(["dye", "system"], sort=False).ngroup().to_numpy()
    cells = plates.groupby(["dye", "system"], sort=False).size().reset_index(name="plates")

    sharp = ~np.isin(cell, cell[plates["streak"].to_numpy(dtype=bool)])
    between = _between(by_plate.values[sharp], by_plate.u[sharp], cell[sharp])
    repeats = plates[sharp].groupby(["system", "dye"]).size() - 1
    dof = int(repeats.groupby("system").max().sum())
    total = by_plate
    if dof:
        scatter = from_standard(np.zeros(len(by_plate)), between, "between plates", dof=float(dof), joint=True)
        total = by_plate + scatter
    return Means(cells, total.combined(_averages(cell, len(cells))), between, dof)


def _between(values: npt.NDArray[np.float64], u: npt.NDArray[np.float64], group: npt.NDArray[np.integer[Any]]) -> float:
    """Standard deviation between the values of a group beyond their own uncertainties, pooled over the groups."""
    counts = np.bincount(group)
    degrees = int((counts - 1).clip(min=0).sum())
    if not degrees:
        return float("nan")
    means = np.bincount(group, values) / np.maximum(counts, 1)
    squares = float(((values - means[group]) ** 2).sum())
    expected = float((u**2 * (1.0 - 1.0 / counts[group])).sum())
    return float(np.sqrt(max(0.0, squares - expected) / degrees))


def _averages(group: npt.NDArray[np.integer[Any]], count: int) -> object:
    """Weights that average the rows of each group, as a sparse matrix of shape (count, N)."""
    from scipy import sparse

    size = np.bincount(group, minlength=count)
    return sparse.csr_array((1.0 / size[group], (group, np.arange(len(group)))), shape=(count, len(group)))

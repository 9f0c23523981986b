"""Means over plates: what repeats of one dye in one system say together.

The scatter between plates is estimated from all dyes that were run more than once, since one dye on three plates
says little about it. Where it is larger than the readings explain, the excess goes into every mean as a source of its
own, "between plates", with the degrees of freedom it was estimated from. One share of it moves all dyes of a plate
together, the rest each dye on its own.
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
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.sources import SourceGroup


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
    plate_share : float
        Share of its variance by which all dyes of a plate move together, 0 to 1; nan where it cannot be told.
    """

    cells: pd.DataFrame
    rf: Measured
    between_plates: float
    dof: int
    plate_share: float = float("nan")

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
    intervals too short.

    How much of the variance moves a plate's dyes together follows from the products of the deviations of each two dyes
    on one plate, less those that the readings explain (derived: the covariance of a two-way layout). Where no plate has
    two repeated dyes, each keeps a source of its own.
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
    total, share = by_plate, float("nan")
    if dof:
        plate = pd.factorize(plates["plate"])[0]
        share = _plate_share(by_plate[sharp], cell[sharp], plate[sharp], between)
        total = by_plate + plate_scatter(plate, between, 0.0 if np.isnan(share) else share, dof)
    return Means(cells, total.combined(_averages(cell, len(cells))), between, dof, share)


def mean_of(measurement: Measurement, means: Means, dyes: pd.Series[str], quantity: Measured) -> Measured:
    """Average a further quantity of the spots over lanes and plates, cell by cell as in `means`.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.
    means : Means
        Of its dyes; M cells.
    dyes : Series of str
        Name of the dye of each spot, as they were given for `means`.
    quantity : Measured
        Row by row as the spots, nan where it is not known.

    Returns
    -------
    Measured
        M values, each the mean over the plates that have one, nan where none has. The scatter between plates is not
        in them.
    """
    spots = measurement.spots
    keep = np.flatnonzero((dyes != "").to_numpy() & spots["rf"].notna().to_numpy() & np.isfinite(quantity.values))
    systems = texts(spots["system"], NOT_STATED).to_numpy()[keep]
    cell = np.array([means.cell(dye, system) for dye, system in zip(dyes.to_numpy()[keep], systems, strict=True)], int)
    plate = pd.factorize(texts(spots["plate"]).to_numpy()[keep])[0]
    number = pd.DataFrame({"cell": cell, "plate": plate}).groupby(["cell", "plate"], sort=False)
    on_plate = number.ngroup().to_numpy()
    cell_of = number.size().reset_index()["cell"].to_numpy()
    by_plate = quantity[keep].combined(_averages(on_plate, len(cell_of)))
    made = by_plate.combined(_averages(cell_of, len(means.cells)))
    known = np.isin(np.arange(len(means.cells)), cell_of)
    return Measured(np.where(known, made.values, np.nan), made.parts, made.ids, made.groups)


def plate_scatter(plate: npt.NDArray[np.integer[Any]], between: float, share: float, dof: float) -> Measured:
    """Zeros with the scatter between plates: one source a dye on a plate, and one a plate that its dyes share.

    Parameters
    ----------
    plate : integer array of shape (N,)
        Plate of each of N values, from 0.
    between : float
        Standard deviation between plates. [1]
    share : float
        Share of its variance that moves all values of a plate together, 0 to 1.
    dof : float
        Degrees of freedom of the one estimate behind all of them.
    """
    count = len(plate)
    size = count + int(plate.max(initial=-1)) + 1
    group = SourceGroup("between plates", size, shape="t", dof=float(dof), joint=True)
    parts = between * np.sqrt(np.broadcast_to([1.0 - share, share], (count, 2)))
    return Measured(np.zeros(count), parts, np.stack([np.arange(count), count + plate], axis=1), (group,))


def _plate_share(
    by_plate: Measured, cell: npt.NDArray[np.integer[Any]], plate: npt.NDArray[np.integer[Any]], between: float
) -> float:
    """Share of the variance between plates that moves all dyes of a plate together; nan where it cannot be told."""
    from scipy import sparse

    counts = np.bincount(cell, minlength=1)[cell]
    kept = 1.0 - 1.0 / np.maximum(counts, 1)  # share of a plate's variance that stays in a deviation from the mean
    values = by_plate.values
    means = np.bincount(cell, values) / np.maximum(np.bincount(cell), 1)
    away = values - means[cell] if len(values) else values
    size = int(plate.max(initial=-1)) + 1
    together = np.bincount(plate, np.sqrt(kept), minlength=size) ** 2 - np.bincount(plate, kept, minlength=size)
    if not between > 0.0 or together.sum() <= 1e-9:
        return float("nan")
    products = np.bincount(plate, away, minlength=size) ** 2 - np.bincount(plate, away**2, minlength=size)
    weights = sparse.csr_array((np.sqrt(kept), (plate, np.arange(len(plate)))), shape=(size, len(plate)))
    own = np.bincount(plate, kept * by_plate.u**2, minlength=size)
    explained = by_plate.combined(weights).u ** 2 - own
    common = float((products - explained).sum() / together.sum())
    return float(np.clip(common / between**2, 0.0, 1.0))


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

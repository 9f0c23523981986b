"""What identification needs of a measurement, as arrays: the readings, the standards beside them, and their scatter."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import numpy.typing as npt
import pandas as pd

from lanewise.analyses.dyes import NUMBER, Dyes, name_dyes
from lanewise.analyses.measure import Measurement
from lanewise.analyses.positions import AT_ORIGIN, MEASURED, STREAK, UNREAD, WITH_FRONT
from lanewise.analyses.scatter import Scatter, pooled_scatter, repeat_squares
from lanewise.analyses.states import NOT_MOVED
from lanewise.analyses.wording import texts
from lanewise.tables.columns import NOT_STATED
from lanewise.tables.rf_library import folded
from lanewise.uncertainty.measured import Measured
from lanewise.uncertainty.sources import Floats, Ids

Texts = npt.NDArray[np.object_]
SHARP, INTERVAL, END, NOTHING = range(4)
"""What a row is as evidence: a value; a streak; a spot at or near an end of the run; nothing."""


@dataclass(frozen=True, eq=False)
class Bench:
    """N rows of a measurement.

    Attributes
    ----------
    rf : Measured
        Of N rows.
    low, high : arrays of shape (N,)
        Ends of the interval of a row that is no sharp value. [1]
    kind : integer array of shape (N,)
        SHARP, INTERVAL, END or NOTHING.
    unread : boolean array of shape (N,)
        Whether a spot was seen and not measured.
    plate, system : integer arrays of shape (N,)
    plates, systems : tuple of str
        Their labels.
    layer, role, sample, spot, colour : arrays of shape (N,) of texts
    dyes : Dyes
        Which spots the record itself calls the same.
    scatter : Scatter
    """

    rf: Measured
    low: Floats
    high: Floats
    kind: Ids
    unread: npt.NDArray[np.bool_]
    plate: Ids
    system: Ids
    plates: tuple[str, ...]
    systems: tuple[str, ...]
    layer: Texts
    role: Texts
    sample: Texts
    spot: Texts
    colour: Texts
    dyes: Dyes
    scatter: Scatter

    @cached_property
    def u(self) -> Floats:
        """Standard uncertainty of Rf from the readings, shape (N,)."""
        return self.rf.u

    def rows_on(self, plate: int) -> Ids:
        """Give the rows of a plate."""
        return np.flatnonzero(self.plate == plate)


def set_up(measurement: Measurement) -> Bench:
    """Take out of a measurement what identification needs."""
    spots, marks, place = measurement.spots, measurement.marks, measurement.place
    empty = pd.Series("", index=marks.index)

    def column(name: str) -> Texts:
        source = spots if name in spots.columns else marks
        return np.asarray(texts(source.get(name, empty)).to_numpy(), dtype=object)

    system, systems = pd.factorize(np.where(column("system") == "", NOT_STATED, column("system")))
    dyes = name_dyes(measurement)
    rf = measurement.quantity("rf")
    kind, low, high = _kinds(measurement, rf)
    colour = np.array([text.lower() for text in column("colour")], dtype=object)
    run = place.run
    with np.errstate(invalid="ignore"):
        own = np.broadcast_to(place.centre_variance, run.shape) / run**2
    return Bench(
        rf=rf,
        low=low,
        high=high,
        kind=kind,
        unread=place.state == UNREAD,
        plate=place.plate,
        system=system.astype(np.int64),
        plates=tuple(str(label) for label in place.label.plates),
        systems=tuple(str(label) for label in systems),
        layer=np.where(column("layer") == "", NOT_STATED, column("layer")),
        role=column("role"),
        sample=np.where(column("sample") == "", column("lane"), column("sample")),
        spot=column("spot"),
        colour=colour,
        dyes=dyes,
        scatter=_scatter(rf.values, own, kind, dyes.names.to_numpy(), place.plate, system.astype(np.int64)),
    )


def _kinds(measurement: Measurement, rf: Measured) -> tuple[Ids, Floats, Floats]:
    """Say what each row is worth; a value not shown to have left a line is an end, whatever the record calls it."""
    spots, state = measurement.spots, measurement.place.state
    low, high = (spots[name].to_numpy(dtype=float).copy() for name in ("rf_low", "rf_high"))
    kind = np.full(len(state), NOTHING, dtype=np.int64)
    valued = ~np.isnan(rf.values)
    kind[(state == MEASURED) & valued] = SHARP
    kind[(state == STREAK) & (high > low)] = INTERVAL
    with np.errstate(invalid="ignore"):
        stays = (state == AT_ORIGIN) | ((state == MEASURED) & (rf.values < NOT_MOVED * rf.u))
        runs = (state == WITH_FRONT) | ((state == MEASURED) & (1.0 - rf.values < NOT_MOVED * rf.u))
    low[stays], high[runs] = 0.0, 1.0
    kind[(stays & ~np.isnan(high)) | (runs & ~np.isnan(low))] = END
    return kind, low, high


def _scatter(values: Floats, own: Floats, kind: Ids, names: Texts, plate: Ids, system: Ids) -> Scatter:
    keep = np.flatnonzero((names != "") & (kind == SHARP))
    if not keep.size:
        return pooled_scatter(0.0, 0.0, 0)
    dye = pd.factorize(names[keep])[0].astype(np.int64)
    return pooled_scatter(*repeat_squares(values[keep], own[keep], dye, plate[keep], system[keep]))


def standards(bench: Bench) -> Mapping[str, Ids]:
    """Give the rows of each dye that stands in a lane of a standard, by its name.

    A standard that shows one spot is its own dye; where its spots have names, these are the dyes; else they are parts
    of the standard, told apart by colour or number. Capitals do not matter.
    """
    rows = np.flatnonzero((bench.role == "standard") & (bench.kind != NOTHING))
    single = bench.dyes.names.to_numpy() == bench.sample
    held: dict[str, list[int]] = {}
    known: dict[str, str] = {}
    numbered = pd.Series(bench.spot).str.fullmatch(NUMBER).to_numpy()
    for row in rows:
        if single[row]:
            name = bench.sample[row]
        elif not numbered[row]:
            name = bench.spot[row]
        else:
            name = bench.dyes.names.iloc[row] or bench.dyes.within.iloc[row]
        known.setdefault(folded(str(name)), str(name))
        held.setdefault(known[folded(str(name))], []).append(int(row))
    return {name: np.array(found, dtype=np.int64) for name, found in held.items()}

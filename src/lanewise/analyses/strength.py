"""What to try next: Rf at another strength, from the strengths that were tried, and what to do where that cannot help.

R_M of a dye is taken to lie on a curve between two: straight against the volume fraction of the component that changes,
and straight against its logarithm (against its root where one of the mixtures has none of it). Two mixtures cannot
tell the curves apart, so their distance counts as uncertainty; three or more weigh them by how well they fit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd

from lanewise.analyses.compare import VALUED, dye_table, systems_of
from lanewise.analyses.contrasts import MARGIN
from lanewise.analyses.dyes import name_dyes
from lanewise.analyses.measure import LN10, Measurement
from lanewise.analyses.replicates import Means, mean_rf, plate_scatter
from lanewise.analyses.series import SAME, Series, find_series
from lanewise.analyses.wording import texts
from lanewise.errors import AnalysisError
from lanewise.reference.strengths import alternatives
from lanewise.tables.columns import NOT_STATED
from lanewise.uncertainty.budget import coverage_factor, effective_dof
from lanewise.uncertainty.measured import Measured, joined
from lanewise.uncertainty.montecarlo import draw
from lanewise.uncertainty.sources import Floats, SourceGroup

ASSUMED = 0.02
"""Scatter of Rf between plates where none was repeated: same bench, several plates (common practice, no source)."""
LEAST_SCATTER = 0.01
"""Scatter of a plate still to be run, where less was found (common practice, no source)."""
TOGETHER = 0.5  # share of an assumed scatter that moves all dyes of a plate alike
FACTOR_OF_TWO = float(np.log10(2.0)) / 3.0**0.5  # the polarity index misses k by a factor of two (Snyder, from memory)
GRID, TRIALS = 31, 1_000
SHALLOW = 0.02  # nearest to 0 and 1 at which the slope of R_M is taken
HOPELESS = 0.5
Bools = np.ndarray[tuple[int], np.dtype[np.bool_]]
POINTS = ("series", "at", "dye", "rf", "rf_low", "rf_high", "r_m", "u_r_m", "within")
CURVES = ("series", "at", "dye", "rf", "rf_low", "rf_high")
SEEN = ("series", "at", "dye", "rf")
CHECKS = ("series", "left_out", "dye", "observed", "rf", "rf_low", "rf_high", "inside")
SCAN = ("series", "at", "polarity", "dyes", "gap", "gap_low", "gap_high", "all_apart", "observed")
GROUPS = ("series", "at", "solvent", "group", "fraction", "polarity")


@dataclass(frozen=True, eq=False)
class Predictions:
    """Rf at strengths that were not tried.

    Attributes
    ----------
    series : tuple of Series
        Systems that differ in strength alone.
    points : DataFrame
        One row for each dye and place asked for (by default the best of the scan): series, at, dye, rf, rf_low, rf_high
        (where a new plate would put it), r_m, u_r_m, within (between the strengths that were tried).
    curves : DataFrame
        The same at each place of a grid: series, at, dye, rf, rf_low, rf_high.
    seen : DataFrame
        The mean Rf behind them: series, at, dye, rf.
    scan : DataFrame
        One row for each place of a grid and each observed one: series, at, polarity, dyes, gap (predicted smallest
        distance of two dyes in Rf), gap_low, gap_high, all_apart (probability that all lie 0.05 apart or more),
        observed.
    checks : DataFrame
        One row for each dye of a composition left out and predicted from the others, which takes three or more: series,
        left_out, dye, observed, rf, rf_low, rf_high, inside.
    groups : DataFrame
        Where strength alone does not part the dyes, solvents of other selectivity groups with the part that keeps the
        polarity index: series, at, solvent, group, fraction, polarity.
    left_out : tuple of str
        What could not be predicted, with the reason, as sentences.
    scatter : float
        Scatter between plates that was taken for the new plate. [1]
    assumed : bool
        Whether that scatter is bench custom, since no plate was repeated.
    level : float
        Coverage probability of the intervals.
    """

    series: tuple[Series, ...]
    points: pd.DataFrame
    curves: pd.DataFrame
    seen: pd.DataFrame
    scan: pd.DataFrame
    checks: pd.DataFrame
    groups: pd.DataFrame
    left_out: tuple[str, ...]
    scatter: float
    assumed: bool
    level: float

    def best(self, series: str) -> Mapping[str, float]:
        """Give the place of the scan at which all dyes are most likely apart, as a row."""
        rows = self.scan[(self.scan["series"] == series) & ~self.scan["observed"]]
        chosen = rows.sort_values(["all_apart", "gap"], ascending=False, kind="stable").iloc[0]
        return {str(name): value for name, value in chosen.items()}


def predict_rf(
    measurement: Measurement,
    compositions: pd.DataFrame,
    *,
    at: Mapping[str, Sequence[float]] | None = None,
    dyes: Sequence[str] | None = None,
    seed: int = 1,
) -> Predictions:
    """Predict Rf at another strength from two or more that were tried.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.
    compositions : DataFrame
        What the systems are mixed from, from `lanewise.composition_table`.
    at : mapping of str to sequence of float, optional
        Volume fractions of a component at which to predict, such as ``{"acetone": [0.25]}``; ``polarity index`` is the
        name of the other axis. By default the place at which the dyes are most likely apart. [1]
    dyes : sequence of str, optional
        Dyes to predict, by the names that `lanewise.compare` gives them; by default all that can be followed.
    seed : int
        Same seed, same result.

    Returns
    -------
    Predictions
        The interval is that of a spot on a plate still to be run: readings, scatter between plates, the fit, and what
        is not known of the curve. Dyes with fewer than two values along a series are left out: a bound is no value.

    Raises
    ------
    AnalysisError
        If no two systems differ in strength alone, a place is asked for that lies beyond the observed ones by more than
        half their span, of the fraction or of its logarithm, or a dye or component is not known.

    References
    ----------
    R_M straight against the logarithm of the strong component's fraction, or against the fraction: from memory.
    """
    named = name_dyes(measurement)
    means = mean_rf(measurement, named.names)
    table = dye_table(measurement, named.names, means, systems_of(measurement))
    series, notes = find_series(compositions, _layers(measurement))
    if not series:
        raise AnalysisError(
            "wanted two systems that differ in strength alone (the same components in other parts, on one layer), "
            f"found none among {', '.join(systems_of(measurement))}. Run one of them at another strength. "
            + " ".join(notes)
        )
    wanted = list(dict.fromkeys(table["dye"] if dyes is None else dyes))
    _refuse_unknown(wanted, table, series, at or {})
    scatter, assumed, rf = _observations(means)
    left_out, points, scans, checks, groups = list(notes), [], [], [], []
    curves, seen = [], []
    for one in series:
        fit = _Fit(one, means, rf, table, wanted, scatter, measurement.level)
        left_out += fit.left_out
        if not fit.dyes:
            continue
        scan = _scan(fit, seed)
        scans.append(scan)
        checks.append(_checks(fit))
        curves.append(_points(fit, np.linspace(*one.ends, GRID))[list(CURVES)])
        seen.append(_seen(fit))
        best = scan[~scan["observed"]].sort_values(["all_apart", "gap"], ascending=False, kind="stable")
        asked = (at or {}).get(one.component or one.name)
        places = list(asked) if asked is not None else [float(best["at"].iloc[0])] if len(best) else []
        points += [_points(fit, np.array([place])) for place in places]
        if len(best) and best["all_apart"].iloc[0] < HOPELESS and len(one.rest) == 1:
            groups.append(_groups(one, float(best["at"].iloc[0])))
    return Predictions(
        series,
        _joined(points, POINTS),
        _joined(curves, CURVES),
        _joined(seen, SEEN),
        _joined(scans, SCAN),
        _joined(checks, CHECKS),
        _joined(groups, GROUPS),
        tuple(dict.fromkeys(left_out)),
        scatter,
        assumed,
        measurement.level,
    )


def _layers(measurement: Measurement) -> dict[str, str]:
    """Give each system its layer, or the different ones of its plates behind each other."""
    marks = measurement.marks
    layers = texts(marks.get("layer", pd.Series("", index=marks.index))).to_numpy()
    systems = texts(measurement.spots["system"], NOT_STATED).to_numpy()
    return {system: " or ".join(dict.fromkeys(layers[systems == system])) for system in systems_of(measurement)}


def _refuse_unknown(
    dyes: Sequence[str], table: pd.DataFrame, series: tuple[Series, ...], at: Mapping[str, Sequence[float]]
) -> None:
    known = set(table["dye"])
    for dye in dyes:
        if dye not in known:
            raise AnalysisError(f"dyes: {dye!r} is none of the dyes that can be followed: {', '.join(sorted(known))}")
    for name, places in at.items():
        fitting = [one for one in series if name == (one.component or one.name)]
        if not fitting:
            names = ", ".join(one.component or one.name for one in series)
            raise AnalysisError(f"at: {name!r} does not change between the systems. Wanted one of: {names}")
        for one in fitting:
            low, high = one.ends
            for place in places:
                if not low - 1e-9 <= place <= high + 1e-9:
                    raise AnalysisError(
                        f"at: {name} {place:g} lies too far from what was tried ({one.at.min():g} to "
                        f"{one.at.max():g}): predictions are given from {low:.3g} to {high:.3g}. Run a plate nearer to "
                        "it first."
                    )


def _observations(means: Means) -> tuple[float, bool, Measured]:
    """Give the scatter of a new plate, whether it is assumed, and the means with what they scatter by."""
    if means.dof:
        return max(means.between_plates, LEAST_SCATTER), False, means.rf
    plate = pd.factorize(means.cells["system"])[0]
    return ASSUMED, True, means.rf + plate_scatter(plate, ASSUMED, TOGETHER, np.inf)


class _Fit:
    """R_M of the dyes of one series against strength, by two curves."""

    def __init__(
        self,
        series: Series,
        means: Means,
        rf: Measured,
        table: pd.DataFrame,
        dyes: Sequence[str],
        scatter: float,
        level: float,
    ) -> None:
        self.series, self.level, self.scatter = series, level, scatter
        self.share = TOGETHER if np.isnan(means.plate_share) else means.plate_share
        place = dict(zip(series.systems, series.at, strict=True))
        state = table.set_index(["dye", "system"])["state"]
        cells: list[int] = []
        self.dyes: list[str] = []
        self.left_out: list[str] = []
        rows: list[int] = []
        for dye in dyes:
            seen = [system for system in series.systems if state[dye, system] in VALUED]
            mine = [means.cell(dye, system) for system in seen]
            mine = [cell for cell in mine if 0.0 < rf.values[cell] < 1.0]
            if len({round(place[str(means.cells["system"][cell])], 6) for cell in mine}) < 2:
                self.left_out.append(
                    f"{dye} has an Rf of its own in {len(mine)} of {len(series.systems)} mixtures of {series.name}: "
                    "two are wanted, and a bound is no value."
                )
                continue
            rows += [len(self.dyes)] * len(mine)
            cells += mine
            self.dyes.append(dye)
        self.row = np.array(rows, dtype=np.int64)
        self.systems = [str(means.cells["system"][cell]) for cell in cells]
        self.x = np.array([place[system] for system in self.systems])
        chosen = rf[np.array(cells, dtype=np.int64)]
        self.rf = chosen.values
        self.y = chosen.scaled(-1.0 / (LN10 * self.rf * (1.0 - self.rf)), np.log10(1.0 / self.rf - 1.0))

    @property
    def curves(self) -> tuple[Callable[[Floats], Floats], ...]:
        """What R_M is straight against."""
        if self.series.axis == "polarity":
            return (np.asarray,)
        return (np.asarray, np.log10 if self.series.at.min() > 0.0 else np.sqrt)

    def weights(self, keep: Bools) -> tuple[Floats, float, float]:
        """Weight of each curve, the factor by which scatter about it exceeds what is known, and its dof."""
        squares, dof = [], 0
        for curve in self.curves:
            total, dof = 0.0, 0
            for number in range(len(self.dyes)):
                some = np.flatnonzero(keep & (self.row == number))
                if len({*self.x[some]}) < 2 or len(some) < 3:
                    continue
                hat = _hat(curve(self.x[some]), 1.0 / self.y.u[some] ** 2, curve(self.x[some]))
                away = self.y.values[some] - hat @ self.y.values[some]
                total, dof = total + float((away**2 / self.y.u[some] ** 2).sum()), dof + len(some) - 2
            squares.append(total)
        if not dof:
            return np.full(len(squares), 1.0 / len(squares)), 1.0, np.inf
        best = np.array(squares)
        factor = max(1.0, float(best.min()) / dof)
        chance = np.exp(-(best - best.min()) / (2.0 * factor))
        return chance / chance.sum(), factor, float(dof) if factor > 1.0 else np.inf

    def at(
        self, places: Floats, keep: np.ndarray[tuple[int], np.dtype[np.bool_]] | None = None
    ) -> tuple[Measured, float]:
        """R_M on a new plate of each dye at each place, shape (D * G,), dye by dye, and the dof of the fit."""
        keep = np.ones(len(self.x), dtype=bool) if keep is None else keep
        chance, factor, dof = self.weights(keep)
        count = len(places)
        lines = np.zeros((len(chance), len(self.dyes) * count, len(self.x)))
        near = np.full(len(self.dyes) * count, np.inf)
        for number in range(len(self.dyes)):
            some = np.flatnonzero(keep & (self.row == number))
            rows = slice(number * count, (number + 1) * count)
            if len({*self.x[some]}) < 2:
                lines[:, rows, :] = np.nan
                continue
            near[rows] = np.abs(places[:, None] - self.x[some]).min(axis=1) / np.ptp(self.x[some])
            for line, curve in zip(lines, self.curves, strict=True):
                line[rows, some] = _hat(curve(self.x[some]), 1.0 / self.y.u[some] ** 2, curve(places))
        mixed = np.tensordot(chance, lines, axes=1)
        known = ~np.isnan(mixed).any(axis=1)
        made = self.y.combined(np.where(np.isnan(mixed), 0.0, mixed))
        fitted = made.scaled(np.sqrt(factor), np.where(known, made.values, np.nan))
        if len(chance) > 1:
            apart = np.nan_to_num((lines[0] - lines[1]) @ self.y.values) * np.sqrt(chance[0] * chance[1])
            unknown = _one_source(apart, "curve of R_M")
        else:
            unknown = _own_sources(FACTOR_OF_TWO * np.minimum(near, 1.0), "polarity index")
        rf = np.clip(1.0 / (1.0 + 10.0**fitted.values), SHALLOW, 1.0 - SHALLOW)
        plate = np.tile(np.arange(count), len(self.dyes))
        new = plate_scatter(plate, self.scatter, self.share, np.inf).scaled(-1.0 / (LN10 * rf * (1.0 - rf)))
        return joined(fitted.values, [(fitted, 1.0), (unknown, 1.0), (new, 1.0)]), dof

    def interval(self, r_m: Measured, dof: float) -> tuple[Floats, Floats]:
        """Ends of Rf."""
        both = np.fmin(effective_dof(r_m), dof)
        reach = r_m.u * coverage_factor(np.maximum(both, 1.0), self.level)
        return 1.0 / (1.0 + 10.0 ** (r_m.values + reach)), 1.0 / (1.0 + 10.0 ** (r_m.values - reach))


def _hat(x: Floats, weight: Floats, places: Floats) -> Floats:
    """Weights of the observations in a weighted straight line at some places, shape (G, S)."""
    middle = (weight * x).sum() / weight.sum()
    spread = (weight * (x - middle) ** 2).sum()
    return np.asarray(weight / weight.sum() + np.outer(places - middle, weight * (x - middle)) / spread)


def _one_source(parts: Floats, name: str) -> Measured:
    """Zeros that one error moves together."""
    group = SourceGroup(name, 1)
    return Measured(np.zeros(len(parts)), parts[:, None], np.zeros((len(parts), 1), dtype=np.int64), (group,))


def _own_sources(parts: Floats, name: str) -> Measured:
    """Zeros with an error of their own each."""
    ids = np.arange(len(parts), dtype=np.int64)[:, None]
    return Measured(np.zeros(len(parts)), parts[:, None], ids, (SourceGroup(name, len(parts)),))


def _points(fit: _Fit, places: Floats) -> pd.DataFrame:
    """Predict each dye at each place, dye by dye."""
    r_m, dof = fit.at(places)
    low, high = fit.interval(r_m, dof)
    count = len(fit.dyes)
    within = (fit.series.at.min() <= places) & (places <= fit.series.at.max())
    columns = {"series": fit.series.name, "at": np.tile(places, count), "dye": np.repeat(fit.dyes, len(places))}
    more = {"rf": 1.0 / (1.0 + 10.0**r_m.values), "rf_low": low, "rf_high": high, "r_m": r_m.values, "u_r_m": r_m.u}
    return pd.DataFrame(columns | more | {"within": np.tile(within, count)}, columns=list(POINTS))


def _seen(fit: _Fit) -> pd.DataFrame:
    dyes = [fit.dyes[number] for number in fit.row]
    return pd.DataFrame({"series": fit.series.name, "at": fit.x, "dye": dyes, "rf": fit.rf}, columns=list(SEEN))


def _scan(fit: _Fit, seed: int) -> pd.DataFrame:
    """Predict the smallest gap at each place of a grid, and where the systems stand."""
    grid = np.linspace(*fit.series.ends, GRID)
    places = np.concatenate([grid, fit.series.at])
    r_m, _ = fit.at(places)
    count, dyes = len(places), len(fit.dyes)
    if dyes < 2:
        return pd.DataFrame(columns=list(SCAN))
    trial = 1.0 / (1.0 + 10.0 ** np.clip(draw(r_m, TRIALS, seed), -9.0, 9.0))
    gaps = np.diff(np.sort(trial.reshape(TRIALS, dyes, count), axis=1), axis=1).min(axis=1)
    here = 1.0 / (1.0 + 10.0 ** r_m.values.reshape(dyes, count))
    ends = np.quantile(gaps, [(1.0 - fit.level) / 2.0, (1.0 + fit.level) / 2.0], axis=0)
    columns = {
        "series": fit.series.name,
        "at": places,
        "polarity": [_or_nan(fit.series.polarity(float(place))) for place in places],
        "dyes": dyes,
        "gap": np.diff(np.sort(here, axis=0), axis=0).min(axis=0),
        "gap_low": ends[0],
        "gap_high": ends[1],
        "all_apart": (gaps >= MARGIN).mean(axis=0),
        "observed": np.arange(count) >= GRID,
    }
    return pd.DataFrame(columns, columns=list(SCAN))


def _checks(fit: _Fit) -> pd.DataFrame:
    """Leave out each composition in turn and predict it from the others, where they reach that far."""
    rows = []
    for system, place in zip(fit.series.systems, fit.series.at, strict=True):
        keep = np.array([other != system for other in fit.systems])
        rest = fit.x[keep]
        if len({*rest}) < 2:
            continue
        r_m, dof = fit.at(np.array([place]), keep)
        low, high = fit.interval(r_m, dof)
        for row in np.flatnonzero(~keep):
            number = fit.row[row]
            mine = rest[fit.row[keep] == number]
            if np.isnan(r_m.values[number]) or not len(mine):
                continue
            ends = fit.series.reach(mine.min(), mine.max())
            if not ends[0] - SAME <= place <= ends[1] + SAME:
                continue
            seen = float(fit.rf[row])
            predicted = float(1.0 / (1.0 + 10.0 ** r_m.values[number]))
            below, above = float(low[number]), float(high[number])
            inside = below <= seen <= above
            rows.append((fit.series.name, system, fit.dyes[number], seen, predicted, below, above, inside))
    return pd.DataFrame(rows, columns=list(CHECKS))


def _groups(series: Series, at: float) -> pd.DataFrame:
    (weak,) = series.rest
    found = alternatives(weak, series.component, at)
    rows = [(series.name, at, item.name, item.group, item.fraction, item.polarity) for item in found]
    return pd.DataFrame(rows, columns=list(GROUPS))


def _joined(frames: Sequence[pd.DataFrame], columns: Sequence[str]) -> pd.DataFrame:
    some = [frame for frame in frames if len(frame)]
    return pd.concat(some, ignore_index=True) if some else pd.DataFrame(columns=list(columns))


def _or_nan(number: float | None) -> float:
    return float("nan") if number is None else number

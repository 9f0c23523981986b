"""The law of a running front, fitted to what was observed: one front, one sheet, or several sheets.

Each way gives the time at one height with the ends of an interval for one more run, and says what it rests on.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import exp, sqrt
from typing import Literal, NamedTuple, TypeAlias

import numpy as np

from lanewise.errors import PlanError
from lanewise.uncertainty.rounding import round_half_up

Basis: TypeAlias = Literal["one observation", "one sheet", "several sheets", "line over sheets"]

MOST_LAG = 0.4
"""Share of an early time that may have gone into soaking in.

The 18 pairs of times in five published runs of ink in aqueous ethanol on paper give shares from -0.14 to 0.52, all but
one up to 0.41 (read; shares computed here). With the scatter between sheets these limits hold all 18.
"""

DIVISION = 1.0 / sqrt(12.0)
"""Standard uncertainty of a reading to the nearest millimetre, or of a time to the nearest minute."""


class Observation(NamedTuple):
    """A front that was seen at a time.

    Attributes
    ----------
    front : float
        Height of the front above the liquid. [mm]
    minutes : float
        Time since the sheet went in. [min]
    run : str
        Which sheet it was; equal names mean one sheet.
    """

    front: float
    minutes: float
    run: str = ""


class Found(NamedTuple):
    """A time with its interval: see `lanewise.planning.running.RunningTime` for the parts."""

    minutes: float
    low: float
    high: float
    basis: Basis
    kappa: float
    lag: float
    remarks: tuple[str, ...]


class _Line(NamedTuple):
    """Least-squares line of time against the square of the front, with its prediction at one height."""

    minutes: float
    slope: float
    lag: float
    s_predicted: float  # of one new time; nan for two points
    dof: int


def from_one(front: float, seen: Observation, level: float, scatter: float) -> Found:
    """Predict from one observation by the square law; the lag opens one end of the interval."""
    ratio = (front / seen.front) ** 2
    minutes = seen.minutes * ratio
    readings = 2.0 * sqrt(
        (DIVISION / seen.front) ** 2 + (DIVISION / front) ** 2 + (DIVISION / (2.0 * seen.minutes)) ** 2
    )
    factor = exp(_multiplier(level) * sqrt(readings**2 + scatter**2))
    with_lag = 1.0 - MOST_LAG * (1.0 - 1.0 / ratio)
    low, high = minutes * min(1.0, with_lag) / factor, minutes * max(1.0, with_lag) * factor
    said = (
        "One observation shows neither how long the sheet takes to soak nor how sheets differ, so the interval is "
        "wide. Note a second time on the same sheet, and times of further sheets.",
    )
    return Found(minutes, low, high, "one observation", seen.front**2 / seen.minutes, 0.0, said)


def from_one_sheet(front: float, seen: Sequence[Observation], level: float, scatter: float) -> Found:
    """Predict from a line through several times of one sheet."""
    line = _line(front, seen)
    if line.dof:
        half = _multiplier(level, line.dof) * line.s_predicted
        said = f"A line through {len(seen)} times of one sheet; its interval has {_degrees(line.dof)}."
    else:
        half = _multiplier(level) * _reading_error(front, seen)
        said = (
            "A line through two times of one sheet: nothing shows how well the law holds, only the readings count. "
            "Note a third."
        )
    half = sqrt(half**2 + (_multiplier(level) * scatter * line.minutes) ** 2)
    last = max(seen, key=lambda one: one.front)
    least = last.minutes if not scatter and front >= last.front else 0.0
    low = max(least, line.minutes - half)
    return Found(line.minutes, low, line.minutes + half, "one sheet", 1.0 / line.slope, line.lag, (said,))


def from_line(front: float, seen: Sequence[Observation], level: float) -> Found:
    """Predict from a line through one time each of several sheets."""
    line = _line(front, seen, relative=True)
    half = _multiplier(level, line.dof) * line.s_predicted
    said = f"A line through one time each of {len(seen)} sheets; its interval has {_degrees(line.dof)}."
    low = max(0.0, line.minutes - half)
    return Found(line.minutes, low, line.minutes + half, "line over sheets", 1.0 / line.slope, line.lag, (said,))


def from_sheets(front: float, runs: Sequence[Sequence[Observation]], level: float, between: float) -> Found:
    """Predict from the times that each of several sheets gives."""
    times, shares = [], []  # of the time that is lag
    for run in runs:
        if len(run) == 1:
            times.append(run[0].minutes * (front / run[0].front) ** 2)
            shares.append(0.0)
        else:
            line = _line(front, run)
            times.append(line.minutes)
            shares.append(line.lag / line.minutes)
    logs = np.log(times)
    minutes, s, count = exp(float(logs.mean())), float(logs.std(ddof=1)), len(runs)
    if count == 2:
        s, k = max(s, between), _multiplier(level)
        said = (
            f"Two sheets do not show how sheets differ: {round_half_up(100 * s, 0)} % is taken, the larger of what "
            f"they show and {round_half_up(100 * between, 0)} %."
        )
    else:
        k = _multiplier(level, count - 1)
        said = (
            f"Times of {count} sheets, brought to this height, scatter by {round_half_up(100 * s, 0)} %; the interval "
            f"for one more has {_degrees(count - 1)}."
        )
    factor = exp(k * s * sqrt(1.0 + 1.0 / count))
    lag = minutes * float(np.mean(shares))
    return Found(
        minutes, minutes / factor, minutes * factor, "several sheets", front**2 / (minutes - lag), lag, (said,)
    )


def _line(front: float, seen: Sequence[Observation], *, relative: bool = False) -> _Line:
    """Fit the line; `relative` where times scatter in proportion to the square of the front, as those of sheets do."""
    x, t, at = np.array([one.front**2 for one in seen]), np.array([one.minutes for one in seen]), front**2
    weights = (at / x) ** 2 if relative else np.ones_like(x)  # 1 at the wanted height
    whole = float(weights.sum())
    middle, mean = float(weights @ x) / whole, float(weights @ t) / whole
    sxx = float(weights @ (x - middle) ** 2)
    slope = float(weights @ ((x - middle) * (t - mean))) / sxx if sxx > 0.0 else 0.0
    lag = mean - slope * middle
    minutes = lag + slope * at
    if slope <= 0.0 or minutes <= 0.0:
        run = f"run {seen[0].run!r}" if seen[0].run else "the observations"
        raise PlanError(f"running time, {run}: wanted fronts that rise with time, given {_listed(seen)}. Correct them.")
    dof = len(seen) - 2
    residual = t - lag - slope * x
    s = max(DIVISION, sqrt(float(weights @ residual**2) / dof)) if dof else float("nan")
    return _Line(minutes, slope, lag, s * sqrt(1.0 + 1.0 / whole + (at - middle) ** 2 / sxx), dof)


def _reading_error(front: float, seen: Sequence[Observation]) -> float:
    """Standard uncertainty of a line through two points, from the readings alone; first order. [min]."""
    (a, b), at = sorted(seen), front**2
    slope = (b.minutes - a.minutes) / (b.front**2 - a.front**2)
    share = (at - a.front**2) / (b.front**2 - a.front**2)
    parts = [
        weight * part
        for weight, one in ((1.0 - share, a), (share, b))
        for part in (DIVISION, 2.0 * slope * one.front * DIVISION)
    ]
    return sqrt(sum(part**2 for part in [*parts, 2.0 * slope * front * DIVISION]))


def _multiplier(level: float, dof: int | None = None) -> float:
    from scipy.special import ndtri, stdtrit

    upper = (1.0 + level) / 2.0
    return float(ndtri(upper) if dof is None else stdtrit(dof, upper))


def _degrees(dof: int) -> str:
    return "1 degree of freedom, so it is wide" if dof == 1 else f"{dof} degrees of freedom"


def _listed(seen: Sequence[Observation]) -> str:
    return ", ".join(f"{one.front:g} mm at {one.minutes:g} min" for one in seen)

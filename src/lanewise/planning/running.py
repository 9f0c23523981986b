"""How long a run takes, from runs that were observed: the square of the front grows in proportion to time.

Heights of the front count from the level of the liquid, not from the origin line. Nothing is predicted from the
properties of a solvent alone: without an observation there is no answer.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from math import isfinite

from lanewise.errors import PlanError
from lanewise.planning.fronts import (
    Basis,
    Found,
    Observation,
    from_line,
    from_one,
    from_one_sheet,
    from_sheets,
)
from lanewise.uncertainty.rounding import round_half_up

BETWEEN_SHEETS = 0.1
"""Relative standard deviation of the time from sheet to sheet (common practice, no source)."""

CM2_PER_S = 6000.0  # mm2/min in one cm2/s


@dataclass(frozen=True, slots=True)
class RunningTime:
    """When the front is expected at a height.

    Attributes
    ----------
    front : float
        The height, above the liquid. [mm]
    minutes, low, high : float
        Expected time, and the interval for one more run. [min]
    level : float
        Probability that the interval was made for.
    basis : {"one observation", "one sheet", "several sheets", "line over sheets"}
        What it rests on.
    kappa : float
        Velocity constant, square of the front over time. [mm2/min]
    lag : float
        Time before the law holds: soaking in, and a front that starts off the liquid. [min]
    observations : tuple of Observation
    remarks : tuple of str
        What it holds for, how sure it is, and what to do for a better one.
    """

    front: float
    minutes: float
    low: float
    high: float
    level: float
    basis: Basis
    kappa: float
    lag: float
    observations: tuple[Observation, ...]
    remarks: tuple[str, ...]

    def at(self, front: float) -> float:
        """Give the time at which the front is expected at another height, such as the origin line. [min].

        Parameters
        ----------
        front : float
            Height above the liquid, zero or more. [mm]
        """
        return self.lag + front**2 / self.kappa

    def to_json(self) -> str:
        """Give all of it as JSON text."""
        content = {"kind": "lanewise running time", **asdict(self)}
        content["observations"] = [one._asdict() for one in self.observations]
        return json.dumps(content, ensure_ascii=False, indent=1) + "\n"

    def __str__(self) -> str:
        ends = f"{_minutes(self.low)} to {_minutes(self.high)} min"
        share = round_half_up(100 * self.level, 1).removesuffix(".0")
        first = (
            f"Front {self.front:g} mm above the liquid: {_minutes(self.minutes)} min expected, {ends} with a "
            f"probability of {share} %, from {_counted(self)}."
        )
        return "\n".join([first, *self.remarks])


def running_time(
    front: float,
    observations: Iterable[Observation | Sequence[float | str]],
    *,
    level: float = 0.95,
    same_sheet: bool = False,
    between: float = BETWEEN_SHEETS,
) -> RunningTime:
    """Predict when the front is at a height, from earlier observations of the same layer and solvent system.

    Parameters
    ----------
    front : float
        Wanted height of the front above the liquid, above zero. [mm]
    observations : iterable of Observation
        Or pairs ``(front, minutes)``, or triples with the name of the run. At least one; several of one run have equal
        names, an empty one too.
    level : float
        Coverage probability of the interval, between 0 and 1.
    same_sheet : bool
        True where all observations are of the very sheet that is running now: nothing is added for the scatter from
        sheet to sheet.
    between : float
        Relative standard deviation of the time from sheet to sheet, where the observations cannot show it. [1]

    Returns
    -------
    RunningTime

    Raises
    ------
    PlanError
        If there is no observation, one is not possible, fronts of one run do not rise with time, or `same_sheet` is set
        for several runs.

    Notes
    -----
    The law is t = t0 + z²/kappa.

    - *One observation*: t1 (z/z1)², without a lag. One end of the interval allows for a lag of up to 0.4 of the time
      seen, see `lanewise.planning.fronts.MOST_LAG`; both allow for the readings and for the scatter between sheets.
    - *One sheet*, two times or more: the least-squares line of t against z². From three on, its prediction interval
      with n - 2 degrees of freedom; with two, what the readings leave. The scatter between sheets is added.
    - *Line over sheets*: four sheets or more with one time each, at heights whose squares differ by a factor of two at
      least: the same line with weights 1/z⁴, for the scatter between sheets is one of kappa and grows with z²; its
      prediction interval has that scatter in it.
    - *Several sheets* otherwise: each sheet gives its own time; their geometric mean, and an interval for one more
      sheet from the standard deviation of the logarithms. Two sheets do not show the scatter: the larger of theirs and
      `between` is taken.

    Readings count as made to the nearest millimetre and minute; no line fits better than its times were read.

    References
    ----------
    z² = kappa t: thin-layer theory and the equation of Lucas and Washburn, read in copies. Relative uncertainty of one
    prediction, 2 sqrt[(u(z1)/z1)² + (u(z)/z)² + (u(t1)/(2 t1))²]: first order, derived in closed form.

    Examples
    --------
    Three times of one published run (aqueous ethanol on paper):

    >>> seen = [(24, 10), (48, 29), (72, 60)]
    >>> found = running_time(96, seen, same_sheet=True)
    >>> round(found.minutes), found.basis
    (104, 'one sheet')
    >>> round(running_time(96, seen[-1:]).minutes, 1)
    106.7
    """
    seen = _checked(front, observations, level, between)
    runs: dict[str, list[Observation]] = {}
    for one in seen:
        runs.setdefault(one.run, []).append(one)
    if same_sheet and len(runs) > 1:
        raise PlanError(
            f"running time: wanted observations of one sheet, given {len(runs)} runs. Leave the others out."
        )
    scatter = 0.0 if same_sheet else between
    if len(seen) == 1:
        found = from_one(front, seen[0], level, scatter)
    elif len(runs) == 1:
        found = from_one_sheet(front, seen, level, scatter)
    elif len(runs) == len(seen) and len(runs) >= 4 and _spread(seen) >= 2.0:
        found = from_line(front, seen, level)
    else:
        found = from_sheets(front, list(runs.values()), level, between)
    said = (*found.remarks, *_remarks(front, seen, found, scatter))
    return RunningTime(
        front, found.minutes, found.low, found.high, level, found.basis, found.kappa, found.lag, seen, said
    )


def _remarks(front: float, seen: Sequence[Observation], found: Found, scatter: float) -> tuple[str, ...]:
    said = []
    farthest = max(one.front for one in seen)
    if farthest < front / 2:
        said.append(
            f"The first centimetres mislead, for the sheet soaks first: the farthest front seen is {farthest:g} mm. "
            f"Look again when the front has passed {front / 2:g} mm."
        )
    if scatter and found.basis in ("one observation", "one sheet"):
        said.append(
            f"{round_half_up(100 * scatter, 0)} % is allowed for the scatter from sheet to sheet (common practice, no "
            "source); one sheet cannot show it."
        )
    if found.lag < 0.0 and found.basis != "several sheets":
        said.append("The lag comes out below zero: the front slowed down, as it does under a loose lid.")
    said.append(
        "It holds for the same layer, solvent system, temperature and vessel, with the lid on; fronts count from the "
        "liquid. Watch the front, not the clock."
    )
    return tuple(said)


def _checked(
    front: float, observations: Iterable[Observation | Sequence[float | str]], level: float, between: float
) -> tuple[Observation, ...]:
    _number("front", front, "a height above 0 mm", 1e4)
    if not 0.0 < level < 1.0:
        raise PlanError(f"running time, level: wanted a probability between 0 and 1, given {level:g}. Correct it.")
    if not 0.0 <= between < 1.0:
        raise PlanError(f"running time, between: wanted a share from 0 to below 1, given {between:g}. Correct it.")
    seen = []
    for place, given in enumerate(observations, start=1):
        if not 2 <= len(given) <= 3:
            raise PlanError(
                f"running time, observation {place}: wanted front and minutes, and a run, given {given!r}. Correct it."
            )
        where = f"observation {place}"
        height = _number(f"{where}, front", given[0], "a height above 0 mm", 1e4)
        minutes = _number(f"{where}, minutes", given[1], "a time above 0 min", 1e6)
        seen.append(Observation(height, minutes, str(given[2]) if len(given) == 3 else ""))
    if not seen:
        raise PlanError(
            "running time: wanted at least one observed front with its time, given none. The speed of a front depends "
            "on the paper and is not told from theory: run a strip, and note front and minutes."
        )
    return tuple(seen)


def _number(what: str, value: object, wanted: str, most: float) -> float:
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError):
        number = float("nan")
    if not (isfinite(number) and 0.0 < number < most):
        raise PlanError(f"running time, {what}: wanted {wanted}, given {value!r}. Correct it.")
    return number


def _spread(seen: Sequence[Observation]) -> float:
    squares = [one.front**2 for one in seen]
    return max(squares) / min(squares)


def _counted(found: RunningTime) -> str:
    count, runs = len(found.observations), len({one.run for one in found.observations})
    if count == 1:
        return "one observation"
    return f"{count} observations of {'one sheet' if runs == 1 else f'{runs} sheets'}"


def _minutes(value: float) -> str:
    """Whole minutes from ten on, below that one or two decimals."""
    return round_half_up(value, 0 if value >= 10.0 or value == 0.0 else 1 if value >= 1.0 else 2)

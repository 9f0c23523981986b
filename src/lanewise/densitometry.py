"""From the trace of a lane to the spots of the record: peaks are found and fitted, and each becomes what it is.

`lanewise.traces` knows arrays and no plates, `lanewise.model` knows plates and no peaks; this room joins the two.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Literal, TypeAlias

import numpy as np

from lanewise.errors import AnalysisError
from lanewise.model.plates import Spot, State, Trace
from lanewise.traces.finding import Peaks, find_peaks
from lanewise.traces.fitting import Fit, fit_peaks

Shape: TypeAlias = Literal["gaussian", "emg", "best"]

SURE = 7.0  # times the noise that a spot stands out; a spot that is not there is worse than a faint one missed
NOTICEABLE = 1.0  # mm
LONG_TAIL = 3.0  # standard deviations from which on a tail makes a streak
LONG_SPOT = 0.2  # of the run, likewise
MISFIT = 0.015  # of a standard deviation, by which spots of no ideal shape are misplaced
CROWDED = "the lane is so full that its baseline is doubtful, and areas are rather too small"
NOT_FITTED = "read from the trace as it stands, since no curve could be fitted"


def spots_of_trace(
    trace: Trace, *, origin: float, front: float | None = None, shape: Shape = "best", noticeable: float = NOTICEABLE
) -> tuple[Spot, ...]:
    """Find the spots in the trace of a lane.

    Parameters
    ----------
    trace : Trace
        The trace: positions from the same zero as `origin` and `front`.
    origin : float
        Position of the origin line. [mm]
    front : float or None, optional
        Position of the front; None where it was not seen. [mm]
    shape : {"gaussian", "emg", "best"}, optional
        Curve that is fitted to the spots, see `lanewise.traces.fit_peaks`.
    noticeable : float, optional
        How far from a line the darkest point of a spot must lie to count as moved, or as left behind. [mm]

    Returns
    -------
    tuple of Spot
        From the origin to the front, numbered from 1; empty where nothing stands out of the noise. The point read is
        the darkest one. A spot with a long tail is a streak, one closer to a line than `noticeable` is ``at origin`` or
        ``with front`` and has no point, but the edge on the side of the run. What lies farther beyond the two lines
        is no spot of this run and is left out; the trace still shows it.

    Raises
    ------
    AnalysisError
        If the front does not lie beyond the origin, or the trace ends before the run begins.

    Notes
    -----
    Uncertainties hold the noise of the trace, the step from one position to the next (a rectangular distribution,
    JCGM 100:2008, 4.3.7, clause from memory), and that no spot has quite the shape of a curve: 0.015 of its standard
    deviation, a quarter of its base width (seen in simulated photographs). Edges are where the tangents at the points
    of inflection meet the baseline; they are cut at the two lines. A streak has a tail of three standard deviations
    at least, or is longer than a fifth of the run (common practice, no source). Where no curve can be fitted, the
    readings are those of the trace as it stands, and the spot's note says so.

    Examples
    --------
    Two dyes of a green ink (invented):

    >>> import numpy as np
    >>> from lanewise.traces import gaussian
    >>> x = np.linspace(0.0, 100.0, 501)
    >>> y = gaussian(x, 0.3, 32.0, 1.5) + gaussian(x, 0.2, 61.0, 2.0) + np.random.default_rng(1).normal(0, 0.002, 501)
    >>> trace = Trace(channel="grey", positions=x.tolist(), values=y.tolist())
    >>> for spot in spots_of_trace(trace, origin=10.0, front=85.0):
    ...     print(f"{spot.label}: {spot.trailing:.0f}, {spot.centre:.1f}, {spot.leading:.0f} mm, area {spot.area:.2f}")
    1: 29, 32.0, 35 mm, area 1.13
    2: 57, 61.0, 65 mm, area 1.00
    """
    if front is not None and not front > origin:
        raise AnalysisError(f"wanted a front beyond the origin at {origin:g} mm, given one at {front:g} mm")
    x, y = np.array(trace.positions), np.array(trace.values)
    if x[-1] <= origin or (front is not None and x[0] >= front):
        raise AnalysisError(
            f"wanted a trace of the run, which begins at {origin:g} mm, given one from {x[0]:g} to {x[-1]:g} mm. "
            "Correct the origin, or the zero of the trace."
        )
    peaks = find_peaks(x, y, least=SURE)
    if not len(peaks):
        return ()
    found = _fitted(x, y, peaks, shape)
    step = float(np.median(np.diff(x))) / np.sqrt(12.0)
    chosen = [place for place in range(len(found)) if _in_run(float(found.apex[place]), origin, front, noticeable)]
    more = (noticeable, step, peaks.crowded)
    return tuple(_spot(found, place, str(number), (origin, front), *more) for number, place in enumerate(chosen, 1))


def _fitted(x: Any, y: Any, peaks: Peaks, shape: Shape) -> Peaks | Fit:
    """Fit the peaks; they themselves where that fails."""
    try:
        return fit_peaks(x, y, peaks, shape)
    except AnalysisError:
        return peaks


def _in_run(apex: float, origin: float, front: float | None, noticeable: float) -> bool:
    return origin - noticeable < apex and (front is None or apex < front + noticeable)


def _spot(
    found: Peaks | Fit,
    place: int,
    label: str,
    lines: tuple[float, float | None],
    noticeable: float,
    step: float,
    crowded: bool,
) -> Spot:
    """Make a spot of one peak."""

    def read(name: str) -> float | None:
        value = float(getattr(found, name)[place])
        return value if np.isfinite(value) else None

    own = np.hypot(step, MISFIT * (read("width") or 0.0) / 4.0)

    def whole(u: float | None) -> float | None:
        return None if u is None else float(np.hypot(u, own))

    apex = float(found.apex[place])
    sides = {"trailing": -1.0, "leading": 1.0}
    edges = {name: _edge(read(name), apex, side, lines) for name, side in sides.items()}
    state = _state(found, place, edges, lines, noticeable)
    moved = state in ("measured", "streak")
    if not moved:  # the edge away from the run says nothing
        edges["trailing" if state == "at origin" else "leading"] = None
    area, u_area = read("area"), read("u_area")
    known = area is not None and area >= 0.0
    notes = [*([] if isinstance(found, Fit) else [NOT_FITTED]), *([CROWDED] if crowded else [])]
    return Spot(
        label=label,
        state=state,
        centre=apex if moved else None,
        u_centre=whole(read("u_apex")) if moved else None,
        point="darkest",
        trailing=edges["trailing"],
        u_trailing=None if edges["trailing"] is None else whole(read("u_trailing")),
        leading=edges["leading"],
        u_leading=None if edges["leading"] is None else whole(read("u_leading")),
        area=area if known else None,
        u_area=u_area if known else None,
        note="; ".join(notes),
    )


def _edge(edge: float | None, apex: float, side: float, lines: tuple[float, float | None]) -> float | None:
    """Cut an edge at the lines, where it lies beyond; one on the wrong side of the apex is none."""
    origin, front = lines
    if edge is None or side * (edge - apex) < 0.0:
        return None
    return max(edge, origin) if front is None else min(max(edge, origin), front)


def _state(
    found: Peaks | Fit,
    place: int,
    edges: Mapping[str, float | None],
    lines: tuple[float, float | None],
    noticeable: float,
) -> State:
    """Judge what a peak is."""
    origin, front = lines
    apex, (trailing, leading) = float(found.apex[place]), edges.values()
    if apex - origin < noticeable:
        return "at origin"
    if front is not None and front - apex < noticeable:
        return "with front"
    if trailing is None or leading is None:
        return "measured"
    long = front is not None and leading - trailing > LONG_SPOT * (front - origin)
    tail = isinstance(found, Fit) and abs(found.tau[place]) >= LONG_TAIL * found.sigma[place]
    return "streak" if long or tail else "measured"

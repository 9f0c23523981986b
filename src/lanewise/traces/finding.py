"""Finding the spots of a lane in its trace, and reading each without assuming its shape.

The trace is freed of its baseline and smoothed; every reading is then a function of a few smoothed points. To first
order it moves by a known weight for each point of the trace as it came, smoother and baseline included, and these
weights with the noise of the trace give its standard uncertainty.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from lanewise.traces._features import Reading, Tops, crossing, fall, foot, integrals, reach, tops_of, vertex
from lanewise.traces._grids import FEWEST, Floats, checked, level_of, penalty, solve, spacing
from lanewise.traces.background import baseline as looked_at
from lanewise.traces.noise import Noise, residual_noise, white_noise
from lanewise.traces.spots import READ, Spots

STIFFNESS = 1.0 / 16.0  # of the baseline between spots, in lengths of the trace
WAVES = 8  # half waves along the trace that such a baseline can follow
COARSE = 17.0  # widths at half height over the length of the smoother that finds; it is positive and makes no tops
FINE = 12.0  # the same for the smoother that reads; it lowers a Gaussian by a thousandth
MOST_STEPS = 60  # steps over which it smooths at most: its sixth power has to leave some digits
NEAR = 1.6  # how far a spot reaches where noise is judged, in distances at which it falls to a tenth
STEP = 1.3  # spots whose widths differ by less are smoothed alike


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Peaks(Spots):
    """Spots found in a trace: the readings of `Spots`, and what they rest on.

    Attributes
    ----------
    prominence : array of shape (P,)
        Height above the higher of the two valleys that part the spot from taller ones.
    low, high : arrays of shape (P,)
        Where area and centroid begin and end: at the valley between two spots, where the signal has come down to the
        baseline, or twice as far from the apex as where it falls to a tenth of the height. [mm]
    baseline : array of shape (N,)
        What the spots were measured against.
    noise : float
        Standard deviation of the noise of one point.
    crowded : bool
        True where hardly anything of the trace lies apart from the spots. The baseline then runs through its lowest
        points, too high by more than any uncertainty tells, and heights and areas are too low: fit instead.
    """

    prominence: Floats
    low: Floats
    high: Floats
    baseline: Floats
    noise: float
    crowded: bool


def find_peaks(
    positions: ArrayLike,
    values: ArrayLike,
    *,
    narrowest: float | None = None,
    least: float = 5.0,
    baseline: ArrayLike | None = None,
    noise: Noise | None = None,
) -> Peaks:
    """Find the spots of a lane in its trace and read position, edges, width, height, area and asymmetry of each.

    Parameters
    ----------
    positions, values : arrays of shape (N,)
        Positions that rise from origin to front [mm], even or not, and a signal that is high where the lane is dark,
        such as optical density; N is 8 at least.
    narrowest : float, optional
        Full width at half height of the narrowest spot to look for [mm]; without it a fiftieth of the trace. 0 leaves
        the trace as it is.
    least : float
        Smallest height and prominence of a spot, in standard deviations of the smoothed trace.
    baseline : float or array of shape (N,), optional
        A baseline that is known and taken as exact, such as 0 where it was subtracted. Without it, one is drawn through
        the stretches between the spots, and its uncertainty is counted.
    noise : Noise, optional
        From blank lanes of the same sheet, see `blank_noise`. Without it, judged from the stretches between the spots.

    Returns
    -------
    Peaks
        Of P spots from origin to front; P may be 0.

    Raises
    ------
    ValueError
        If positions do not rise, a number is not finite, lengths differ, or an option is negative.

    Notes
    -----
    1. A baseline to look at (`baseline`), light smoothing, and the maxima that stand out of the noise: out of what
       lies below the baseline after smoothing, unless the noise is known, for no spot lies there.
    2. A stiff baseline through what lies outside them, smoothing that suits the narrowest, and the maxima once more.
    3. The readings, each spot smoothed as suits its own width.

    Spots that overlap so much that no valley is left count as one: give their positions to `fit_peaks`. Where two share
    a valley the readings are those of the sum: the area is cut there, and edges and apex are drawn towards the
    neighbour. Texture as long as a spot looks like one: only blank lanes tell them apart. A lane that is full from end
    to end shows no baseline, and may seem empty: give one.

    References
    ----------
    Prominence as in topography, common practice. Propagation: JCGM 100:2008, 5.2 (clause number from memory).

    Examples
    --------
    Two dyes of a green ink (invented):

    >>> import numpy as np
    >>> from lanewise.traces import gaussian
    >>> x = np.linspace(0.0, 80.0, 401)
    >>> y = 0.05 + gaussian(x, 0.30, 22.0, 1.5) + gaussian(x, 0.20, 51.0, 2.0)
    >>> found = find_peaks(x, y + np.random.default_rng(1).normal(0.0, 0.003, 401))
    >>> for apex, u, width in zip(found.apex, found.u_apex, found.width):
    ...     print(f"{apex:.2f} mm, u {u:.2f} mm, base width {width:.1f} mm")
    22.00 mm, u 0.01 mm, base width 6.0 mm
    50.99 mm, u 0.02 mm, base width 8.0 mm
    """
    x, y = checked(positions, values)
    narrow = (x[-1] - x[0]) / 50.0 if narrowest is None else float(narrowest)
    if not narrow >= 0.0 or not least >= 0.0:
        raise ValueError(f"narrowest and least cannot be negative, given {narrowest} and {least}")
    level = looked_at(x, y, tolerance=1e-2) if baseline is None else level_of(baseline, x)
    stiff = penalty(x, 2, STIFFNESS * (x[-1] - x[0]))
    width = narrow
    for _ in range(2):
        path = _Path(x, y - level, 1, width / COARSE, 3)
        threshold = path.threshold(least, noise)
        tops = tops_of(path.s, threshold)
        spots = tops.with_ends(path.s, threshold)
        apart = path.apart(spots)
        some = max(FEWEST, len(x) // 10)
        crowded = bool(np.count_nonzero(apart) < some)
        if crowded:
            apart = np.where(path.s <= np.sort(path.s)[some - 1], 1.0, 0.0)
        if baseline is None:
            level = solve(stiff, apart, apart * y)
        widths = path.widths(tops, narrow)
        width = float(widths.min()) if len(widths) else narrow
    judged = _judged(x, y - level, apart if crowded else path.apart(spots, NEAR)) if noise is None else noise
    found = np.full((2 * len(READ) + 2, len(widths)), np.nan)
    for width in np.unique(widths):
        alike = widths == width
        path = _Path(x, y - level, 3, min(width / FINE, MOST_STEPS * spacing(x)), 1)
        readings, reach = path.readings(Tops(*(column[alike] for column in tops)))
        u = path.uncertainties(readings, judged, None if baseline is not None else (stiff, apart))
        found[:, alike] = np.concatenate([[reading.value for reading in readings], u, reach])
    names = [*READ, *(f"u_{name}" for name in READ), "low", "high"]
    columns = dict(zip(names, found, strict=True))
    return Peaks(**columns, prominence=tops.prominence, baseline=level, noise=judged.sd, crowded=crowded)


class _Path:
    """A smoothed trace and what is read of it."""

    def __init__(self, x: Floats, signal: Floats, order: int, length: float, passes: int) -> None:
        self.x = x
        self.bands = penalty(x, order, length) if length else None
        self.passes = passes
        self.s = self.smoothed(signal)

    def smoothed(self, columns: Floats) -> Floats:
        """Smooth columns of shape (N,) or (N, M); the smoother is its own transpose."""
        if self.bands is not None:
            for _ in range(self.passes):
                columns = solve(self.bands, 1.0, columns)
        return columns

    def threshold(self, least: float, noise: Noise | None) -> float:
        """Least height of a spot; without a known noise, out of what lies below the baseline, for no spot does."""
        if noise is None:
            below = self.s[self.s < 0.0]
            scatter = np.sqrt(np.mean(below**2)) if len(below) else 0.0
        else:
            middle = np.zeros((len(self.x), 1))
            middle[len(self.x) // 2] = 1.0
            weights = self.smoothed(middle)
            scatter = np.sqrt(np.sum(weights * noise.times(self.x, weights)))
        return least * float(scatter)

    def widths(self, tops: Tops, narrow: float) -> Floats:
        """Width of each spot at half height, tails in part, in steps of `STEP` from `narrow`; 0 where that is 0."""
        if not narrow:
            return np.zeros(len(tops.at))
        level = 0.5 * self.s[tops.at]
        before, after = fall(self.s, tops, -1, level), fall(self.s, tops, 1, level) + 1
        rear = np.where(before >= tops.low, self.x[tops.at] - self.x[np.maximum(before, 0)], np.inf)
        lead = np.where(after <= tops.high, self.x[np.minimum(after, len(self.x) - 1)] - self.x[tops.at], np.inf)
        half = np.minimum(rear, lead)
        wide = np.where(np.isfinite(rear + lead), np.minimum(rear + lead, 2.5 * half), 2.0 * half)
        wide = np.where(np.isfinite(half), wide, narrow)
        steps: Floats = np.floor(np.log(np.maximum(wide / narrow, 1.0)) / np.log(STEP))
        return narrow * STEP**steps

    def apart(self, tops: Tops, share: float = 2.0) -> Floats:
        """Weights of the points: 1 outside of the spots, see `reach`, and 0 within."""
        low, high = reach(self.x, self.s, tops, share)
        within = ((self.x >= low[:, None]) & (self.x <= high[:, None])).any(axis=0)
        return np.asarray(1.0 - within, dtype=float)

    def readings(self, tops: Tops) -> tuple[list[Reading], tuple[Floats, Floats]]:
        """Everything that `READ` names; and from where to where area and centroid count."""
        x, s = self.x, self.s
        apex, height = vertex(x, s, tops)
        trailing, leading = foot(x, s, tops, -1), foot(x, s, tops, 1)
        apex = apex.filled(trailing.minus(leading.times(-1.0)).times(0.5))
        (rear, lead), (before, after) = (
            [crossing(x, s, tops, side, height.times(share)) for side in (-1, 1)] for share in (0.1, 0.5)
        )
        low, high = reach(x, s, tops)
        low = np.maximum(low, x[np.maximum(fall(s, tops, -1, 0.0), tops.low)])
        high = np.minimum(high, x[np.minimum(fall(s, tops, 1, 0.0) + 1, tops.high)])
        area, centre = integrals(x, s, low, high)
        width, half_width = leading.minus(trailing), after.minus(before)
        asymmetry = apex.minus(rear).over(lead.minus(apex))
        return [apex, trailing, leading, centre, height, width, half_width, area, asymmetry], (low, high)

    def uncertainties(self, readings: list[Reading], noise: Noise, drawn: tuple[Floats, Floats] | None) -> Floats:
        """Standard uncertainty of K readings, (K, P); `drawn`: how stiffly and by what points the baseline was."""
        rows = np.concatenate([reading.rows for reading in readings])
        columns = self.smoothed(np.where(np.isfinite(rows), rows, 0.0).T)
        if drawn is not None:
            columns = columns - drawn[1][:, None] * solve(*drawn, columns)
        u = np.sqrt(np.sum(columns * noise.times(self.x, columns), axis=0))
        return np.where(np.isfinite(rows).all(axis=1), u, np.nan).reshape(len(readings), -1)


def _judged(x: Floats, signal: Floats, apart: Floats) -> Noise:
    """Noise between the spots, freed of what a stiff baseline swallows."""
    outside = apart > 0.0
    if np.count_nonzero(outside) < 3 * WAVES:
        return white_noise(float(np.median(np.abs(np.diff(signal, 3)))) / 0.6745 / np.sqrt(20.0))
    place = (x[outside] - x[0]) / (x[-1] - x[0])
    basis = np.linalg.qr(np.cos(np.pi * place[:, None] * np.arange(WAVES)))[0]
    left = signal[outside] - basis @ (basis.T @ signal[outside])
    return residual_noise(x[outside], left, basis)

"""Baseline and spots of a trace fitted together."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from lanewise.errors import AnalysisError
from lanewise.traces._grids import Floats, checked, spacing
from lanewise.traces._solver import Solution, least_squares
from lanewise.traces._zones import NAMES, Zones
from lanewise.traces.finding import Peaks, find_peaks
from lanewise.traces.noise import Noise, residual_noise, white_noise
from lanewise.traces.spots import READ, Spots

CLEAR = 2.0  # standard uncertainties from 0 at which a tail is clear
FEWEST_STEPS = 0.5  # a spot with a standard deviation below that many mean steps is a single point


@dataclass(frozen=True, slots=True, eq=False, kw_only=True)
class Fit(Spots):
    """Baseline and spots fitted together: the readings of `Spots` follow from the fitted zones.

    Attributes
    ----------
    tailed : boolean array of shape (P,)
        True where a zone has a tail, False where it is a Gaussian; then its asymmetry is 1 by choice.
    mu, sigma, tau : arrays of shape (P,)
        Parameters of the zones, see `emg`; tau is 0 for a Gaussian. [mm]
    u_mu, u_sigma, u_tau : arrays of shape (P,)
        Their standard uncertainties. They are large where a tail is short, for then the three cannot be told apart:
        report the apex.
    covariance : array of shape (4 P + D, 4 P + D)
        Of area, mu, sigma and tau of the first spot, of the second, ..., and of the D coefficients of the baseline
        (Chebyshev polynomials over the trace). Rows of a tau that is not fitted are 0.
    baseline : array of shape (N,)
        The fitted baseline.
    zones : array of shape (P, N)
        The fitted spots, without it.
    residuals : array of shape (N,)
        Values less baseline and zones.
    residual_sd : float
        Residual standard deviation: root of their sum of squares over `dof`.
    dof : int
        Degrees of freedom: points less fitted parameters.
    bic : float
        The criterion by which "best" chooses, see `fit_peaks`; lower is better, and only differences mean something.
    noise : Noise
        The noise that the uncertainties rest on.
    """

    tailed: NDArray[np.bool_]
    mu: Floats
    sigma: Floats
    tau: Floats
    u_mu: Floats
    u_sigma: Floats
    u_tau: Floats
    covariance: Floats
    baseline: Floats
    zones: Floats
    residuals: Floats
    residual_sd: float
    dof: int
    bic: float
    noise: Noise


def fit_peaks(
    positions: ArrayLike,
    values: ArrayLike,
    peaks: Peaks | ArrayLike | None = None,
    shape: Literal["gaussian", "emg", "best"] = "best",
    *,
    degree: int | None = 3,
    noise: Noise | Literal["correlated", "white"] = "correlated",
) -> Fit:
    """Fit a baseline and P spots to a trace, all at once.

    Parameters
    ----------
    positions, values : arrays of shape (N,)
        Positions that rise from origin to front [mm], even or not, and the signal there.
    peaks : Peaks or array of shape (P,), optional
        Where to begin: what `find_peaks` found, or positions within the trace [mm], such as that of a spot in the
        shoulder of another. Without it, what `find_peaks` finds.
    shape : {"gaussian", "emg", "best"}
        Gaussian zones, zones with a tail (see `emg`), or whichever the criterion prefers: no tails, tails on those
        spots alone that show one clearly, or tails throughout.
    degree : int, optional
        Degree of the polynomial that is the baseline; None for no baseline.
    noise : Noise or {"correlated", "white"}
        What the uncertainties rest on: a noise that is known, such as that of blank lanes; or the residuals, with or
        without the correlation that they show.

    Returns
    -------
    Fit
        The spots in order from origin to front.

    Raises
    ------
    ValueError
        If positions do not rise, a number is not finite, or an option is none of those above.
    AnalysisError
        If there is no spot or there are too few points for it, if the fit does not settle or two spots cannot be told
        apart, or if one of them is lost: its area is not positive, it has left the trace, or is wider than half of it
        or narrower than half a step.

    Notes
    -----
    Ordinary least squares. With residuals r, derivatives J and G = (J' J)^-1 J', the parameters have the covariance
    G C G', C being that of the noise; for white noise that is the usual (J' J)^-1 times the residual variance.

    The criterion is n ln(sum of squares / N) + p ln n for p parameters (Bayesian information criterion, Schwarz 1978,
    from memory); n is the number of *effective* points, N for white noise and fewer where neighbours err together, for
    a free tail follows the texture of paper.

    Where "best" passes over tails throughout, the uncertainties of the readings (not those of mu, sigma and tau) hold
    what is at stake: the difference from what would be read with them counts as one more standard uncertainty. They
    tell nothing of spots that are no such zones at all: look at the residuals.

    References
    ----------
    JCGM 100:2008, 5.2 (clause number from memory). The solver meets the certified values of NIST StRD Gauss1 to 3.

    Examples
    --------
    Two dyes of a violet ink that overlap, the slower one with a tail (invented):

    >>> import numpy as np
    >>> from lanewise.traces import emg, gaussian
    >>> x = np.linspace(0.0, 80.0, 401)
    >>> y = 0.05 + emg(x, area=1.2, mu=40.0, sigma=1.5, tau=2.0) + gaussian(x, 0.20, 46.0, 1.5)
    >>> fit = fit_peaks(x, y + np.random.default_rng(1).normal(0.0, 0.002, 401))
    >>> for apex, u, area, tailed in zip(fit.apex, fit.u_apex, fit.area, fit.tailed):
    ...     print(f"apex {apex:.2f} mm, u {u:.2f} mm, area {area:.2f}, {'with a' if tailed else 'no'} tail")
    apex 38.77 mm, u 0.01 mm, area 1.21, with a tail
    apex 46.00 mm, u 0.01 mm, area 0.75, no tail
    """
    x, y = checked(positions, values)
    if shape not in ("gaussian", "emg", "best"):
        raise ValueError(f'shape is one of "gaussian", "emg" and "best", given {shape!r}')
    if not isinstance(noise, Noise) and noise not in ("correlated", "white"):
        raise ValueError(f'noise is a Noise, "correlated" or "white", given {noise!r}')
    across = 2.0 * (x - x[0]) / (x[-1] - x[0]) - 1.0
    polynomials = np.zeros((len(x), 0)) if degree is None else np.polynomial.chebyshev.chebvander(across, degree)
    trace = _Trace(x, y, polynomials)
    began = _begin(x, find_peaks(x, y) if peaks is None else peaks)
    spots = len(began.mean)
    wanted = polynomials.shape[1] + (3 if shape == "gaussian" else 4) * spots + 2
    if len(x) < wanted:
        raise AnalysisError(f"{spots} spots of this shape want {wanted} points at least, given {len(x)}")
    tried = _tried(trace, began, shape, noise)
    richest = tried[-1]
    judged = _noise(trace, richest.solution, noise)
    points = judged.effective_points(x)
    ended = min(tried, key=lambda one: one.bic(points))
    if ended is richest:
        return _read(trace, ended, judged, ended.bic(points))
    fit = _read(trace, ended, _noise(trace, ended.solution, noise), ended.bic(points))
    return _in_doubt(fit, _read(trace, richest, judged, richest.bic(points)))


class _Trace(NamedTuple):
    """What is fitted: positions, values, and the polynomials of the baseline."""

    x: Floats
    y: Floats
    polynomials: Floats


class _Ended(NamedTuple):
    """Where a fit ended."""

    zones: Zones
    solution: Solution

    def bic(self, points: float) -> float:
        """Criterion for so many effective points."""
        rows, parameters = self.solution.jacobian.shape
        squares = float(np.sum(self.solution.residuals**2)) / rows
        return float(points * np.log(max(squares, np.finfo(float).tiny)) + parameters * np.log(points))


def _begin(x: Floats, peaks: Peaks | ArrayLike) -> Zones:
    """Where to begin, from readings or from positions alone."""
    span = float(x[-1] - x[0])
    if isinstance(peaks, Peaks):
        apex = peaks.apex
        s = np.where(np.isfinite(peaks.half_width), peaks.half_width / 2.3548, peaks.width / 4.0)
        lean = np.log(np.where(peaks.asymmetry > 0.0, peaks.asymmetry, 1.0))
    else:
        apex = np.sort(np.asarray(peaks, dtype=float).ravel())
        outside = apex[~((apex > x[0]) & (apex < x[-1]))]
        if len(outside):
            raise ValueError(f"a spot was put at {outside[0]:g} mm, and the trace runs from {x[0]:g} to {x[-1]:g} mm")
        s, lean = np.full(len(apex), np.nan), np.zeros(len(apex))
    if not len(apex):
        raise AnalysisError("no spot to fit: none stands out of the noise; give their positions, or look at the trace")
    room = min(span / 40.0, float(np.diff(apex).min(initial=np.inf)) / 3.0)
    s = np.clip(np.where(np.isfinite(s), s, room), spacing(x), span / 4.0)
    ratio = np.maximum(1.6 * np.sqrt(np.abs(lean)), 0.4)  # tau over sigma, roughly, from asymmetry at a tenth
    return Zones(apex, s, np.copysign(ratio**3, lean), np.ones(len(apex), dtype=bool))


def _tried(trace: _Trace, began: Zones, shape: str, noise: Noise | str) -> list[_Ended]:
    """Fits of the wanted shape that came to an end, the one with most tails last; an error if there is none."""
    refusals: list[AnalysisError] = []

    def attempt(start: Zones, tailed: NDArray[np.bool_]) -> _Ended | None:
        try:
            return _solved(trace, start._replace(tailed=tailed))
        except AnalysisError as refusal:
            refusals.append(refusal)
            return None

    plain = attempt(began, ~began.tailed)
    some = full = None
    if shape != "gaussian":
        start = began if plain is None else plain.zones._replace(lean=began.lean)
        full = attempt(start, began.tailed)
    if full is not None and shape == "best":
        gains = full.solution.orthonormal[1][-len(began.mean) :].T
        u_lean = np.sqrt(np.sum(gains * _noise(trace, full.solution, noise).times(trace.x, gains), axis=0))
        clear = np.abs(full.zones.lean) > CLEAR * u_lean
        some = attempt(full.zones, clear) if clear.any() and not clear.all() else None
    found = [one for one in (None if shape == "emg" else plain, some, full) if one is not None]
    if not found:
        raise refusals[-1]
    return found


def _solved(trace: _Trace, start: Zones) -> _Ended:
    """Least squares from a start; an error if a spot is lost."""
    own = np.arange(len(start.mean))
    fixed = trace.polynomials.shape[1]

    def model(theta: Floats) -> tuple[Floats, Floats]:
        shapes, slopes = start.at(theta).shapes(trace.x)
        return np.concatenate([trace.polynomials, shapes], axis=1), slopes

    bends = fixed + np.concatenate([own, own, own[start.tailed]])
    solution = least_squares(model, bends, start.theta(), trace.y)
    ended = start.at(solution.theta)
    _all_there(trace.x, start, ended, solution.amounts[fixed:])
    return _Ended(ended, solution)


def _all_there(x: Floats, start: Zones, ended: Zones, areas: Floats) -> None:
    """Refuse a fit that has lost a spot."""
    span = x[-1] - x[0]
    for began, mean, s, area in zip(start.mean, ended.mean, ended.s, areas, strict=True):
        if not area > 0.0:
            fault = f"its area came out as {area:.3g}"
        elif not x[0] - s <= mean <= x[-1] + s:
            fault = f"it has gone to {mean:.4g} mm, out of the trace"
        elif s > span / 2.0:
            fault = f"its standard deviation came out as {s:.3g} mm, more than half of the trace"
        elif s < FEWEST_STEPS * spacing(x):
            fault = f"its standard deviation came out as {s:.3g} mm, less than half a step of the trace"
        else:
            continue
        raise AnalysisError(
            f"the spot at {began:.4g} mm was lost in the fit: {fault}; leave it out, or begin elsewhere"
        )


def _noise(trace: _Trace, solution: Solution, noise: Noise | str) -> Noise:
    """Noise that the uncertainties rest on."""
    if isinstance(noise, Noise):
        return noise
    if noise == "white":
        return white_noise(solution.residual_sd)
    return residual_noise(trace.x, solution.residuals, solution.orthonormal[0])


def _read(trace: _Trace, ended: _Ended, noise: Noise, bic: float) -> Fit:
    """Readings of the fitted zones, from origin to front, with their uncertainties."""
    solution, spots, fixed = ended.solution, len(ended.zones.mean), trace.polynomials.shape[1]
    order = np.argsort(ended.zones.mean)
    zones = ended.zones.ordered(order)
    areas = solution.amounts[fixed + order]
    # How area, mean, ln s and lean of each spot, then the baseline, move with each value; a lean not fitted is at rest.
    kinds = [order, spots + order, 2 * spots + order, 3 * spots + np.cumsum(ended.zones.tailed)[order] - 1]
    places = np.concatenate([fixed + np.stack(kinds, axis=1).ravel(), np.arange(fixed)])
    at_rest = np.zeros(len(places), dtype=bool)
    at_rest[3 : 4 * spots : 4] = ~zones.tailed
    gains = solution.orthonormal[1][np.where(at_rest, 0, places)]
    gains[at_rest] = 0.0
    readings, slopes = zones.readings(areas)
    to_readings = np.zeros((len(NAMES), spots, len(gains)))
    to_natural = np.eye(len(gains))
    for spot in range(spots):
        own = slice(4 * spot, 4 * spot + 4)
        to_readings[:, spot, own] = slopes[:, spot]
        to_natural[own, own] = slopes[[NAMES.index(name) for name in ("area", "mu", "sigma", "tau")], spot]
    moves = to_readings.reshape(-1, len(gains)) @ gains
    u = np.sqrt(np.sum(moves.T * noise.times(trace.x, moves.T), axis=0)).reshape(readings.shape)
    gains = to_natural @ gains
    columns = dict(zip([*NAMES, *(f"u_{name}" for name in NAMES)], [*readings, *u], strict=True))
    return Fit(
        **columns,
        tailed=zones.tailed,
        covariance=gains @ noise.times(trace.x, gains.T),
        baseline=trace.polynomials @ solution.amounts[:fixed],
        zones=solution.jacobian[:, fixed + order].T * areas[:, None],
        residuals=solution.residuals,
        residual_sd=solution.residual_sd,
        dof=solution.dof,
        bic=bic,
        noise=noise,
    )


def _in_doubt(fit: Fit, richer: Fit) -> Fit:
    """Count that the shape was chosen: how far off it is what would be read with tails throughout."""
    u = {}
    for name in READ:
        apart = getattr(fit, name) - getattr(richer, name)
        u[f"u_{name}"] = np.hypot(getattr(fit, f"u_{name}"), apart)
    return replace(fit, **u)

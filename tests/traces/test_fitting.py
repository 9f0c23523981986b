"""Fits against what was drawn, against scipy's curve_fit, and the covariance written out with whole matrices."""

from __future__ import annotations

import numpy as np
import pytest
from lanes import POSITIONS, bell, paper, tailing, textured, white
from scipy.optimize import curve_fit

from lanewise.errors import AnalysisError
from lanewise.traces import Noise, find_peaks, fit_peaks, white_noise
from lanewise.traces.spots import READ

GAUSSIANS = ((0.30, 14.0, 1.5), (0.20, 24.0, 1.8), (0.25, 29.5, 1.6), (0.06, 45.0, 2.0), (0.30, 64.0, 1.6))
STARTS = [14.3, 23.6, 29.9, 45.5, 63.6]


def drawn(seed=0, sd=0.003, kind=white):
    noise = sd * kind(POSITIONS, np.random.default_rng(seed)) if sd else 0.0
    return 0.05 + 0.0005 * POSITIONS + sum(bell(POSITIONS, *spot) for spot in GAUSSIANS) + noise


# --- what was drawn comes back


@pytest.mark.parametrize("shape", ["gaussian", "best"])
def test_gaussians_come_back(shape):
    height, centre, sigma = np.array(GAUSSIANS).T
    fit = fit_peaks(POSITIONS, drawn(sd=0.0), STARTS, shape)
    assert not fit.tailed.any()
    for name, expected in {
        "apex": centre,
        "centre": centre,
        "mu": centre,
        "sigma": sigma,
        "height": height,
        "area": height * sigma * np.sqrt(2 * np.pi),
        "trailing": centre - 2 * sigma,
        "leading": centre + 2 * sigma,
        "width": 4 * sigma,
        "half_width": 2 * np.sqrt(2 * np.log(2)) * sigma,
        "asymmetry": np.ones(5),
        "tau": np.zeros(5),
    }.items():
        assert getattr(fit, name) == pytest.approx(expected, rel=1e-7, abs=1e-7), name
    assert fit.baseline == pytest.approx(0.05 + 0.0005 * POSITIONS, abs=1e-8)


@pytest.mark.parametrize("shape", ["emg", "best"])
@pytest.mark.parametrize("tau", [0.8, 3.0, 8.0, -2.0])
def test_tails_come_back(shape, tau):
    fit = fit_peaks(POSITIONS, 0.05 + tailing(POSITIONS, 1.2, 40.0, 1.5, tau), shape=shape)
    assert fit.tailed.tolist() == [True]
    for name, expected in {"area": 1.2, "mu": 40.0, "sigma": 1.5, "tau": tau, "centre": 40.0 - tau}.items():
        assert getattr(fit, name) == pytest.approx(expected, rel=1e-5), name
    assert (fit.asymmetry > 1.0) == (tau > 0)


def test_a_tail_is_given_to_the_spot_that_has_one():
    rng = np.random.default_rng(1)
    spots = bell(POSITIONS, 0.3, 20.0, 1.5) + tailing(POSITIONS, 1.5, 45.0, 1.5, 4.0) + bell(POSITIONS, 0.25, 60.0, 1.8)
    fit = fit_peaks(POSITIONS, paper(POSITIONS, 1) + spots + rng.normal(0.0, 0.003, 401))
    assert fit.tailed.tolist() == [False, True, False]
    assert abs(fit.tau[1] - 4.0) < 4 * fit.u_tau[1]
    assert np.abs(fit.centre - [20.0, 41.0, 60.0]).max() < 0.3


def test_parts_add_up_to_the_trace():
    y = drawn()
    fit = fit_peaks(POSITIONS, y)
    assert fit.baseline + fit.zones.sum(axis=0) + fit.residuals == pytest.approx(y, abs=1e-13)
    assert fit.zones.shape == (5, 401)
    assert fit.zones.max(axis=1) == pytest.approx(fit.height, rel=1e-3)
    parameters = 4 + 3 * 5 + np.count_nonzero(fit.tailed)
    assert fit.dof == 401 - parameters
    assert fit.residual_sd == pytest.approx(np.sqrt(np.sum(fit.residuals**2) / fit.dof))


def test_spots_come_in_order_wherever_they_began():
    y = drawn()
    forth, back = fit_peaks(POSITIONS, y, STARTS, "gaussian"), fit_peaks(POSITIONS, y, STARTS[::-1], "gaussian")
    assert np.diff(forth.apex).min() > 0
    assert back.apex.tolist() == forth.apex.tolist()


def test_a_shoulder_wants_its_position_given():
    y = bell(POSITIONS, 0.3, 40.0, 1.5) + bell(POSITIONS, 0.15, 42.6, 1.5)
    y = y + np.random.default_rng(2).normal(0.0, 0.001, 401)
    assert len(find_peaks(POSITIONS, y)) == 1
    fit = fit_peaks(POSITIONS, y, [40.0, 43.0], "gaussian")
    assert np.all(np.abs(fit.apex - [40.0, 42.6]) < 4 * fit.u_apex)
    assert np.all(np.abs(fit.height - [0.3, 0.15]) < 4 * fit.u_height)


# --- against scipy


def model(x, *p):
    spots = sum(bell(x, *p[3 * i : 3 * i + 3]) for i in range(5))
    return spots + np.polynomial.chebyshev.chebval(x / 40.0 - 1.0, p[15:])


def test_same_fit_and_uncertainties_as_curve_fit():
    """Numerical derivatives there; heights, centres and sigmas are its parameters."""
    y = drawn(3)
    fit = fit_peaks(POSITIONS, y, STARTS, "gaussian", noise="white")
    start = [number for spot in GAUSSIANS for number in spot] + [0.07, 0.02, 0.0, 0.0]
    found, covariance = curve_fit(model, POSITIONS, y, start, method="lm", ftol=1e-14, xtol=1e-14)
    u = np.sqrt(np.diagonal(covariance))
    for place, name in enumerate(("height", "apex", "sigma")):
        assert getattr(fit, name) == pytest.approx(found[place:15:3], rel=1e-6), name
        assert getattr(fit, f"u_{name}") == pytest.approx(u[place:15:3], rel=1e-4), name
    assert fit.covariance[-4:, -4:] == pytest.approx(covariance[-4:, -4:], rel=1e-3)
    # Area, mu, sigma and tau of each spot in turn: sigma and mu are parameters there as well.
    assert fit.covariance[1:20:4, 1:20:4] == pytest.approx(covariance[1:15:3, 1:15:3], rel=1e-3, abs=1e-8)
    assert fit.covariance[2:20:4, -4:] == pytest.approx(covariance[2:15:3, -4:], rel=1e-3, abs=1e-8)
    assert not fit.covariance[3:20:4].any()


def test_covariance_of_known_noise_with_whole_matrices():
    """G C G', with the derivatives of the model above taken numerically."""
    noise = Noise(np.array([0.0, 0.7]), np.array([4e-6, 5e-6]))
    fit = fit_peaks(POSITIONS, drawn(4), STARTS, "gaussian", noise=noise)
    at = np.stack([fit.height, fit.mu, fit.sigma], axis=1).ravel()
    at = np.concatenate([at, np.polynomial.chebyshev.chebfit(POSITIONS / 40.0 - 1.0, fit.baseline, 3)])
    steps = 1e-5 * np.maximum(np.abs(at), 0.1)
    moved = [model(POSITIONS, *(at + h)) - model(POSITIONS, *(at - h)) for h in np.diag(steps)]
    gains = np.linalg.pinv(np.array(moved).T / (2 * steps))
    expected = gains @ noise.covariance(POSITIONS) @ gains.T
    assert fit.u_apex == pytest.approx(np.sqrt(np.diagonal(expected))[1:15:3], rel=1e-5)
    assert fit.u_height == pytest.approx(np.sqrt(np.diagonal(expected))[:15:3], rel=1e-5)
    assert fit.covariance[1:20:4, 2:20:4] == pytest.approx(expected[1:15:3, 2:15:3], rel=1e-3, abs=1e-8)
    assert fit.noise is noise


def test_apex_of_a_single_spot_meets_the_cramer_rao_bound():
    """sigma_mu = s (sd / height) sqrt(2 d / (s sqrt pi)) for a step d: in closed form, for white noise."""
    y = bell(POSITIONS, 0.3, 40.0, 1.5) + np.random.default_rng(5).normal(0.0, 0.003, 401)
    fit = fit_peaks(POSITIONS, y, [40.0], "gaussian", degree=0, noise=white_noise(0.003))
    bound = 1.5 * 0.01 * np.sqrt(2 * 0.2 / (1.5 * np.sqrt(np.pi)))
    assert fit.u_apex == pytest.approx(bound, rel=0.02)


# --- noise and choice


def test_texture_widens_the_uncertainties():
    """White noise is taken for what it is; for texture the usual covariance is far too small."""
    ratio = {}
    for name, kind in (("white", white), ("texture", lambda x, rng: textured(x, rng, 1.0))):
        fits = [
            [fit_peaks(POSITIONS, drawn(seed, kind=kind), STARTS, "gaussian", noise=noise).u_apex for seed in range(20)]
            for noise in ("correlated", "white")
        ]
        ratio[name] = np.median(np.array(fits[0]) / fits[1])
    assert ratio["white"] == pytest.approx(1.0, abs=0.15)
    assert 1.8 < ratio["texture"] < 4.0


def test_choice_follows_the_criterion():
    y = drawn(6)
    best, plain, tails = (fit_peaks(POSITIONS, y, STARTS, shape) for shape in ("best", "gaussian", "emg"))
    assert best.residual_sd == plain.residual_sd  # nothing here leans
    assert tails.bic > best.bic + 10
    assert tails.tailed.all()


def test_what_was_passed_over_counts():
    """The difference to tails throughout is one more standard uncertainty of each reading, and of no parameter."""
    y = drawn(6)
    best, plain, tails = (fit_peaks(POSITIONS, y, STARTS, shape) for shape in ("best", "gaussian", "emg"))
    for name in READ:
        apart = getattr(plain, name) - getattr(tails, name)
        expected = np.hypot(getattr(plain, f"u_{name}"), apart)
        assert getattr(best, f"u_{name}") == pytest.approx(expected), name
    assert best.u_sigma == pytest.approx(plain.u_sigma)


def test_criterion_written_out():
    fit = fit_peaks(POSITIONS, drawn(7), STARTS, "gaussian", noise="white")
    expected = 401 * np.log(np.mean(fit.residuals**2)) + 19 * np.log(401)
    assert fit.bic == pytest.approx(expected)


# --- awkward input


def test_uneven_positions():
    rng = np.random.default_rng(8)
    x = np.sort(rng.uniform(0.0, 80.0, 400))
    y = 0.05 + bell(x, 0.3, 20.0, 1.5) + bell(x, 0.1, 50.0, 2.0) + rng.normal(0.0, 0.003, 400)
    fit = fit_peaks(x, y, shape="gaussian")
    assert np.all(np.abs(fit.apex - [20.0, 50.0]) < 4 * fit.u_apex)
    assert np.all(np.abs(fit.area - [0.45 * 2.506628, 0.2 * 2.506628]) < 4 * fit.u_area)


def test_without_a_baseline():
    y = bell(POSITIONS, 0.3, 40.0, 1.5) + np.random.default_rng(9).normal(0.0, 0.003, 401)
    fit = fit_peaks(POSITIONS, y, [40.0], "gaussian", degree=None)
    assert not fit.baseline.any()
    assert fit.covariance.shape == (4, 4)
    assert fit.dof == 398


def test_half_a_spot_at_the_end_can_be_fitted():
    y = 0.05 + bell(POSITIONS, 0.3, 0.6, 1.5) + bell(POSITIONS, 0.2, 30.0, 1.5)
    y = y + np.random.default_rng(10).normal(0.0, 0.002, 401)
    fit = fit_peaks(POSITIONS, y, [0.5, 30.0], "gaussian")
    assert np.all(np.abs(fit.apex - [0.6, 30.0]) < 4 * fit.u_apex)


@pytest.mark.parametrize(
    ("y", "peaks", "options", "text"),
    [
        (np.ones(401), None, {}, "no spot to fit: none stands out of the noise"),
        (drawn(), [], {}, "no spot to fit"),
        (drawn(), [14.0, 14.0], {}, "cannot be told apart where the fit begins"),
        (bell(POSITIONS, 0.3, 40.0, 1.5) - bell(POSITIONS, 0.1, 60.0, 1.5), [40.0, 60.0], {}, "60 mm was lost .* area"),
        (np.eye(1, 401, 200)[0], [40.0], {"shape": "gaussian"}, "lost in the fit.* less than half a step|not settle"),
        (-drawn(), [14.0], {"degree": 0, "shape": "gaussian"}, "the spot at 14 mm was lost in the fit: its area"),
        (np.cos(POSITIONS / 100.0), [40.0], {"degree": 0, "shape": "gaussian"}, "more than half of the trace"),
    ],
    ids=["nothing", "no positions", "same place twice", "a dip", "spike", "negative", "no spot but a slope"],
)
def test_fits_that_cannot_be_had(y, peaks, options, text):
    with pytest.raises(AnalysisError, match=text):
        fit_peaks(POSITIONS, y, peaks, **options)


def test_too_few_points():
    with pytest.raises(AnalysisError, match="2 spots of this shape want 14 points at least, given 12"):
        fit_peaks(np.arange(12.0), np.ones(12), [4.0, 8.0])


@pytest.mark.parametrize(
    ("peaks", "options", "text"),
    [
        ([14.0, 90.0], {}, "a spot was put at 90 mm, and the trace runs from 0 to 80 mm"),
        ([float("nan")], {}, "a spot was put at nan mm"),
        ([14.0], {"shape": "triangle"}, "shape is one of"),
        ([14.0], {"noise": "pink"}, "noise is a Noise"),
    ],
    ids=["outside", "nan", "shape", "noise"],
)
def test_refusals(peaks, options, text):
    with pytest.raises(ValueError, match=text):
        fit_peaks(POSITIONS, drawn(), peaks, **options)


def test_refuses_what_is_no_trace():
    with pytest.raises(ValueError, match=r"positions\[1\] = 0 after 0"):
        fit_peaks(np.zeros(20), np.ones(20), [0.0])

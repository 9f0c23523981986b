# Drawn lanes with known spots. None of the shapes but the first is of the family that is fitted.
from __future__ import annotations

import numpy as np
import pytest
from scipy.ndimage import gaussian_filter1d

from lanewise_photo.colours import colour_of
from lanewise_photo.discrepancy import SIZES, pooled, usual_sizes
from lanewise_photo.fitting import Profile, fit
from lanewise_photo.grouping import grouped
from lanewise_photo.noise import blank_noise, rounding_of
from lanewise_photo.overlaps import with_hidden
from lanewise_photo.peaks import fit_lane, gains, with_origin
from lanewise_photo.shapes import edges, shape, slopes
from lanewise_photo.spots import Limits, evidence, spots_of
from lanewise_photo.tops import darkest

Y = np.arange(5.0, 75.0, 0.25)
FINE = np.arange(5.0, 75.0, 0.025)
BLUE, YELLOW, RED = (np.array(one) for one in ([1.0, 0.4, 0.08], [0.02, 0.1, 1.0], [0.1, 1.0, 0.5]))
STEP = 0.025


def blank(rng, count, size=0.003):
    grey, tint = (
        gaussian_filter1d(rng.standard_normal((count, len(Y) + 80, n)), s, axis=1)[:, 40:-40]
        for n, s in ((1, 4.0), (3, 2.0))
    )
    return size * (grey / grey.std() + 0.35 * tint / tint.std())


def noise_of(rng):
    profiles = blank(rng, 30)
    return blank_noise(profiles, np.ones(profiles.shape[:2], dtype=bool), 0.25, np.zeros((3, 3)), 1.0)


def lane(rng, *spots):
    density = sum(np.interp(Y, FINE, course)[:, None] * colour for course, colour in spots)
    t = np.linspace(-1, 1, len(Y))
    values = density + blank(rng, 1)[0]
    return Profile(Y, values, np.ones(len(Y)), np.polynomial.chebyshev.chebvander(t, 3), noise_of(rng))


def gauss(mu, s=1.2):
    return np.exp(-0.5 * ((FINE - mu) / s) ** 2)


def flat(mu):
    made = gaussian_filter1d((np.abs(FINE - mu) < 1.8) * 1.0, 0.5 / STEP)
    return made / made.max()


def triangle(mu):
    made = gaussian_filter1d(np.maximum(1.0 - np.abs(FINE - mu) / 2.6, 0.0), 0.2 / STEP)
    return made / made.max()


def tailed(mu, tau=2.5, s=0.9):
    kernel = np.exp(-np.arange(0.0, 8.0 * tau, STEP) / tau)
    made = np.convolve(gauss(mu, s)[::-1], kernel)[: len(FINE)][::-1]
    return made / made.max()


def plateau(mu, length=6.0):
    made = gaussian_filter1d(((mu > FINE) & (mu - length < FINE)) * 1.0, 0.6 / STEP)
    return made / made.max()


SHAPES = {"gaussian": gauss, "flat top": flat, "triangle": triangle, "tailed": tailed}


@pytest.mark.parametrize("kind", SHAPES)
@pytest.mark.parametrize("height", [0.6, 0.05])
def test_one_spot_is_one_whatever_its_shape_and_its_interval_holds_its_darkest_point(kind, height):
    inside = 0
    for seed in range(12):
        rng = np.random.default_rng(seed)
        course = SHAPES[kind](rng.uniform(20, 60))
        profile = lane(rng, (course, height * (BLUE, YELLOW, RED)[seed % 3]))
        found = fit_lane(profile)
        sure = [group for group in grouped(found) if gains(profile, found)[group[0]] > 30.25]
        assert len(sure) == 1
        place, u = darkest(profile, found, sure[0], usual_sizes())
        middle = FINE[course > 0.9999].mean()
        inside += abs(place - middle) < 1.96 * np.hypot(u, 0.03)
    assert inside >= 10  # of 12 at 95 %, fewer than 10 come about once in 50 times (binomial distribution)


def test_a_blank_lane_holds_no_spot():
    for seed in range(12):
        rng = np.random.default_rng(100 + seed)
        profile = lane(rng, (gauss(40.0), np.zeros(3)))
        assert not fit_lane(profile).peaks


@pytest.mark.parametrize("apart", [1.5, 2.5, 4.0])
def test_a_pale_spot_of_another_colour_is_seen_beside_a_dark_one(apart):
    for seed in range(6):
        rng = np.random.default_rng(seed)
        profile = lane(rng, (triangle(40.0), 0.5 * BLUE), (gauss(40.0 + apart), 0.1 * YELLOW))
        found = fit_lane(profile)
        yellow = [n for n, height in enumerate(found.heights) if height[2] > 2.0 * height[0] and height[2] > 0.05]
        assert len(yellow) == 1
        assert abs(found.peaks[yellow[0]].mu - 40.0 - apart) < 0.6


def test_the_bend_of_a_dark_colour_is_no_second_spot():
    for seed in range(6):
        rng = np.random.default_rng(seed)
        density = 0.7 * gauss(40.0)[:, None] * RED
        density = density * (1.0 - 0.15 * density)
        profile = lane(rng, *((density[:, c], np.eye(3)[c]) for c in range(3)))
        assert len(grouped(fit_lane(profile))) == 1


def test_a_long_plateau_says_that_its_darkest_point_is_not_known():
    rng = np.random.default_rng(3)
    profile = lane(rng, (plateau(45.0), 0.3 * RED))
    found = fit_lane(profile)
    group = grouped(found)[0]
    place, u = darkest(profile, found, group, usual_sizes())
    assert 38.5 < place < 45.5
    assert u > 0.4
    rng = np.random.default_rng(3)
    profile = lane(rng, (gauss(45.0), 0.3 * RED))
    assert darkest(profile, fit_lane(profile), [0], usual_sizes())[1] < 0.1


@pytest.mark.parametrize(
    ("place", "state"),
    [(20.4, "at origin"), (40.0, "measured"), (59.0, "with front")],
    ids=["at origin", "between", "in front"],
)
def test_a_spot_near_a_line_has_a_state_and_one_between_is_measured(place, state):
    rng = np.random.default_rng(5)
    profile = lane(rng, (gauss(place), 0.3 * BLUE))
    limits = Limits(20.0, 60.0, 0.02, 0.02, 5.5, 1.0)
    spots = spots_of(profile, fit_lane(profile), lambda y: 10.0, limits, usual_sizes())
    assert [spot.state for spot in spots] == [state]
    assert spots[0].trailing < spots[0].centre < spots[0].leading


def test_slopes_of_a_shape_are_its_differences():
    step = 1e-6
    for skew in (-2.0, 0.0, 0.7):
        value, slope = slopes(Y, 40.0, 1.5, skew * 1.5)
        wide = 1.5 * np.exp(step)
        moved = [
            shape(Y, 40.0 + step, 1.5, skew * 1.5),
            shape(Y, 40.0, wide, skew * wide),
            shape(Y, 40.0, 1.5, (skew + step) * 1.5),
        ]
        np.testing.assert_allclose(slope, (np.array(moved) - value) / step, atol=2e-5)


@pytest.mark.parametrize("tau", [-3.0, 0.0, 5.0])
def test_edges_lie_where_a_tenth_is_left(tau):
    low, high = edges(40.0, 1.5, tau)
    np.testing.assert_allclose(shape(np.array([low, high]), 40.0, 1.5, tau), 0.1, rtol=1e-9)


def test_rounding_hides_behind_noise_that_is_larger_and_shows_where_it_is_not():
    rng = np.random.default_rng(7)
    profiles = blank(rng, 30)
    used = np.ones(profiles.shape[:2], dtype=bool)
    without = blank_noise(profiles, used, 0.25, np.zeros((3, 3)), 1.0)
    little = blank_noise(profiles, used, 0.25, 1e-8 * np.eye(3), 1.0)
    much = blank_noise(profiles, used, 0.25, 1e-4 * np.eye(3), 1.0)
    np.testing.assert_allclose(little.covariance, without.covariance, rtol=1e-6, atol=1e-12)
    assert np.linalg.eigvalsh(much.covariance).min() == pytest.approx(1e-4, rel=1e-3)


def test_rounding_of_colour_leaves_brightness_alone():
    bright, colour = np.zeros(64), np.full(64, 40.0)
    made = rounding_of((bright, colour), np.full(3, 200.0), 1.0)
    # Brightness after ITU-R BT.601: 0.299 R + 0.587 G + 0.114 B; 0.003 of a channel's spread is the rounding of these.
    luma = np.array([0.299, 0.587, 0.114])
    assert np.sqrt(luma @ made @ luma) < 0.003 * np.sqrt(made[0, 0])


@pytest.mark.parametrize(
    ("density", "word"),
    [
        ([0.02, 0.06, 0.40], "yellow"),
        ([0.02, 0.20, 0.50], "orange"),
        ([0.10, 0.22, 0.40], "brown"),
        ([0.05, 0.40, 0.30], "red"),
        ([0.45, 0.12, 0.08], "blue"),
        ([0.40, 0.05, 0.30], "green"),
        ([0.30, 0.30, 0.31], "grey"),
        ([0.001, 0.001, 0.004], ""),
    ],
    ids=lambda one: one if isinstance(one, str) else None,
)
def test_words_for_colours(density, word):
    # Common practice, no source: what a person calls light of these densities.
    assert colour_of(np.array(density), 1e-8 * np.eye(3)).word == word


def test_a_colour_that_may_be_another_has_no_word():
    assert colour_of(np.array([0.02, 0.06, 0.10]), 4e-4 * np.eye(3)).word == ""


def ragged(rng, mu):
    wave = gaussian_filter1d(rng.standard_normal(len(FINE)), 0.5 / STEP)
    return gauss(mu) * (1.0 + 0.25 * wave / wave.std())


def test_a_sheet_of_ragged_spots_is_told_from_one_of_tidy_spots():
    rng = np.random.default_rng(11)
    mean = []
    for course in (lambda mu: gauss(mu), lambda mu: ragged(rng, mu)):
        lanes = [lane(rng, (course(25.0), 0.4 * RED), (course(50.0), 0.4 * BLUE)) for _ in range(3)]
        shares = pooled([one for profile in lanes for one in evidence(profile, fit_lane(profile))])
        mean.append(float(np.exp(shares @ np.log(SIZES))))
    assert mean[0] < 0.7
    assert mean[1] > 1.5 * mean[0]


def test_a_spot_is_found_in_the_flank_of_a_dark_one_and_none_in_that_of_a_tidy_one():
    rng = np.random.default_rng(12)
    tidy = np.eye(len(SIZES))[1] + 1e-6
    for spots, count in (
        ([(gauss(45.0), 0.4 * RED), (gauss(47.6, 1.0), 0.12 * BLUE)], 2),
        ([(gauss(45.0), 0.4 * RED)], 1),
    ):
        profile = lane(rng, *spots)
        found = with_hidden(profile, fit_lane(profile), tidy)[1]
        assert len(found.peaks) == count


def test_coloured_dye_on_the_origin_line_is_added_and_grey_is_not():
    rng = np.random.default_rng(13)
    for colour, count in ((0.03 * BLUE, 1), (0.03 * np.array([1.0, 1.0, 1.0]), 0)):
        profile = lane(rng, (gauss(15.0, 0.9), colour))
        bare = fit(profile, profile.weights((), np.empty((0, 3))), ())
        assert len(with_origin(profile, bare, 15.2).peaks) == count


def test_what_is_left_of_a_line_is_no_spot_and_dye_on_it_is():
    rng = np.random.default_rng(14)
    limits = Limits(15.0, 65.0, 0.03, 0.03, 5.5, 1.0)
    for s, colour, count in (
        (0.45, [0.15, 0.15, 0.15], 0),
        (1.2, [0.15, 0.15, 0.15], 1),
        (0.45, [0.02, 0.05, 0.25], 1),
    ):
        profile = lane(rng, (gauss(65.0, s), np.array(colour)))
        spots = spots_of(profile, fit_lane(profile), lambda y: 10.0, limits, usual_sizes())
        assert [spot.state for spot in spots] == ["with front"] * count
        assert all(flag.number is not None and flag.limit is not None for spot in spots for flag in spot.flags)

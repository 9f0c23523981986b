"""Origin and front on drawn sheets whose lines lie where they were drawn; expected places are those of the drawing."""

from __future__ import annotations

import numpy as np
import pytest

from lanewise_photo.blobs import find_blobs
from lanewise_photo.flat import Flat, without_line, without_strokes
from lanewise_photo.fronts import find_front, find_origin
from lanewise_photo.lines import Line, strips
from lanewise_photo.shadows import find_crossing
from lanewise_photo.tides import find_tides

PITCH, WIDTH, HEIGHT, FRONT, ORIGIN = 0.125, 80.0, 100.0, 75.0, 15.0
BROWN, GREY = np.array([0.3, 0.6, 1.0]), np.ones(3)


def blank(seed=1, grey=0.008, colour=0.002):
    from scipy.ndimage import gaussian_filter

    rng = np.random.default_rng(seed)
    shape = (int(HEIGHT / PITCH), int(WIDTH / PITCH))
    texture = gaussian_filter(rng.normal(size=shape), 2.0) * 7.0 * grey
    density = texture[..., None] + colour * rng.normal(size=(*shape, 3))
    return Flat(density.astype(np.float32), PITCH, np.full(3, 220.0), 0.0, 0.0, 0.0)


def places(flat):
    return flat.columns[None, :], flat.rows[:, None]


def add(flat, what, colour):
    flat.density[:] += (what[..., None] * colour).astype(np.float32)
    return flat


def pencil(flat, height, density=0.3):
    x, y = places(flat)
    return add(flat, density * np.exp(-0.5 * ((y - height - 0 * x) / 0.2) ** 2), GREY)


def tide(flat, density=0.012, tail=1.2):
    x, y = places(flat)
    below = FRONT + 1.0 * (2 * x / WIDTH - 1) ** 2 - y
    return add(flat, density * np.where(below > 0, np.exp(-below / tail), np.exp(-0.5 * (below / 0.2) ** 2)), BROWN)


def spot(flat, x0, y0, density, colour, sigma=1.2):
    x, y = places(flat)
    return add(flat, density * np.exp(-0.5 * ((x - x0) ** 2 + (y - y0) ** 2) / sigma**2), colour)


def front_of(flat):
    return find_front(strips(flat), ORIGIN, HEIGHT)


class TestTides:
    def test_faint_brown_line_is_the_front(self):
        found = front_of(tide(blank()))
        assert found.line is not None
        assert found.line.kind == "tide line"
        x = np.linspace(10, 70, 13)
        miss = found.line.at(x) - FRONT - (2 * x / WIDTH - 1) ** 2
        assert abs(miss.mean()) < 0.25
        assert miss.std() < 0.2

    @pytest.mark.parametrize("seed", range(6), ids=str)
    def test_blank_paper_has_no_front(self, seed):
        assert front_of(blank(seed)).line is None

    def test_spots_beside_each_other_are_no_front(self):
        flat = blank()
        for x in (15.0, 35.0, 55.0):
            spot(flat, x, 60.0, 0.3, np.array([0.1, 0.3, 1.0]))
        assert front_of(flat).line is None

    def test_bright_line_is_no_tide(self):
        assert not find_tides(strips(tide(blank(), density=-0.03)), "tide line", 25.0, 97.0)

    def test_step_from_wet_to_dry(self):
        from scipy.special import erf

        flat = blank()
        x, y = places(flat)
        add(flat, 0.02 * (1 - erf((y - FRONT - 0 * x) / 0.5)), GREY)
        found = front_of(flat)
        assert found.line is not None
        assert found.line.kind == "wet step"
        assert float(found.line.at(40.0)) == pytest.approx(FRONT, abs=0.2)

    def test_two_pencil_lines_are_ambiguous(self):
        assert front_of(pencil(pencil(blank(), 75.0), 66.0)).rivals


class TestOrigin:
    def test_line_nearest_to_the_stated_height_is_preferred(self):
        flat = pencil(pencil(blank(), 15.0), 19.5)
        found = find_origin(strips(flat), HEIGHT, 15.0)
        assert float(found.line.at(40.0)) == pytest.approx(15.0, abs=0.05)

    def test_line_drawn_without_noise_is_known_well(self):
        line = find_origin(strips(pencil(blank(grey=0.001), 15.0)), HEIGHT, None).line
        assert float(line.at(40.0)) == pytest.approx(15.0, abs=0.02)
        assert line.u < 0.03


class TestWaves:
    def line(self, wave, noise):
        rng = np.random.default_rng(3)
        x = np.arange(2.0, 98.0, 2.0)
        own = noise * rng.normal(size=len(x))
        y = 50.0 + wave * np.sin(2 * np.pi * x / 24.0)
        return Line("pencil line", x, y + own, np.array([50.0, 0.0]), 100.0, 20.0, 1.0, 0.1, 0.2), x, y

    def test_waves_are_followed_and_noise_is_not(self):
        line, x, y = self.line(0.3, 0.03)
        seen = np.array([line.near(one) for one in x])
        assert np.sqrt(((seen - y) ** 2).mean()) < 0.05
        line, x, y = self.line(0.0, 0.1)
        seen = np.array([line.near(one) for one in x])
        assert np.sqrt(((seen - y) ** 2).mean()) < 0.05

    def test_uncertainty_grows_with_what_the_strips_scatter_by(self):
        assert self.line(0.0, 0.02)[0].u < self.line(0.0, 0.2)[0].u


class TestShadow:
    """A step across the sheet, as high as it is drawn."""

    @staticmethod
    def crossed(flat, step):
        x, y = places(flat)
        return find_crossing(add(flat, step * (x + 0.4 * y > 50.0), GREY), ())

    def test_step_that_shows_is_found_where_it_lies(self):
        found = self.crossed(blank(), 0.1)
        assert found is not None
        assert found.distance(50.0 - 0.4 * 30.0, 30.0) < 1.5

    def test_step_that_nobody_sees_is_none_on_smooth_paper(self):
        smooth = blank(grey=0.0, colour=0.0001)
        assert self.crossed(smooth, 0.004) is None

    def test_step_that_shows_is_found_on_smooth_paper(self):
        assert self.crossed(blank(grey=0.0, colour=0.0001), 0.03) is not None


class TestTurning:
    def test_front_that_turns_up_at_the_side_is_followed_to_its_end(self):
        flat = blank()
        x, y = flat.columns, flat.rows
        front = FRONT + 1.4 * np.exp(-(x[-1] - x) / 6.0)
        line = front_of(add(flat, 0.3 * np.exp(-0.5 * ((y[:, None] - front) / 0.2) ** 2), GREY)).line
        at = x[-1] - 4.0
        assert line.near(at) == pytest.approx(float(np.interp(at, x, front)), abs=0.15)


class TestTakenOut:
    def at(self, flat, x0, y0, reach=0.5):
        x, y = places(flat)
        return flat.density[
            np.broadcast_to((np.abs(x - x0) < reach) & (np.abs(y - y0) < reach), flat.density.shape[:2])
        ]

    def test_grey_spot_on_a_pencil_line_stays(self):
        flat = spot(pencil(blank(), ORIGIN), 40.0, ORIGIN, 0.2, GREY)
        clean = without_line(flat, np.full(len(flat.columns), ORIGIN), 0.7)
        assert self.at(clean, 40.0, ORIGIN).mean() == pytest.approx(0.18, abs=0.03)
        assert abs(self.at(clean, 20.0, ORIGIN).mean()) < 0.02

    def test_pale_yellow_spot_on_a_pencil_line_stays(self):
        flat = spot(pencil(blank(), ORIGIN), 40.0, ORIGIN, 0.08, np.array([0.0, 0.1, 1.0]), 0.8)
        clean = without_line(flat, np.full(len(flat.columns), ORIGIN), 0.7)
        assert self.at(clean, 40.0, ORIGIN)[:, 2].mean() == pytest.approx(0.07, abs=0.02)

    def test_tick_across_the_line_goes(self):
        flat = pencil(blank(), ORIGIN)
        x, y = places(flat)
        add(flat, 0.3 * np.exp(-0.5 * ((x - 40.0) / 0.2) ** 2) * (np.abs(y - ORIGIN) < 1.2), GREY)
        clean = without_strokes(without_line(flat, np.full(len(flat.columns), ORIGIN), 0.7))
        assert abs(self.at(clean, 40.0, ORIGIN, 1.0).mean()) < 0.02


class TestThreshold:
    def search(self, flat):
        edge = np.full(len(flat.columns), 1.0)
        return find_blobs(flat, 8.0 * edge, 95.0 * edge)

    def test_blank_of_which_compression_left_little_has_no_spot(self):
        flat = blank(grey=0.0, colour=0.0)
        cell = 16
        rng = np.random.default_rng(2)
        rows, columns = flat.density.shape[0] // cell, flat.density.shape[1] // cell
        blocks = 0.02 * rng.choice([-1.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0], size=(rows, columns, 3))
        flat.density[: rows * cell, : columns * cell] += np.kron(blocks, np.ones((cell, cell, 1)))
        found = self.search(flat)
        assert sum(blob.strength >= found.threshold for blob in found.blobs) <= 1

    def test_pale_spot_on_clean_paper_is_certain(self):
        found = self.search(spot(blank(), 40.0, 50.0, 0.06, np.array([0.0, 0.1, 1.0])))
        assert found.blobs[0].strength > found.threshold
        assert found.blobs[0].x == pytest.approx(40.0, abs=0.2)
        assert found.blobs[0].y == pytest.approx(50.0, abs=0.2)

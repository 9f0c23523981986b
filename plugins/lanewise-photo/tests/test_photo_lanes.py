"""Lanes from spots that are drawn, and an origin that is told: what was drawn or told is the source of every number."""

from __future__ import annotations

import numpy as np
import pytest

from lanewise_photo.blobs import Blob, blank_covariance
from lanewise_photo.lanes import count_lanes, find_lanes, lane_courses, lean_of
from lanewise_photo.measuring import _told_origin
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of

WIDTH = 80.0


def spot(x, y=40.0, strength=100.0):
    return Blob(x, y, 1.3, strength, (0.2, 0.1, 0.02))


def lanes(places, each=2, seed=3, beside=0.4, strength=100.0):
    generator = np.random.default_rng(seed)
    x = np.repeat(places, each) + generator.normal(scale=beside, size=len(places) * each)
    return [spot(place, generator.uniform(20, 70), strength) for place in x]


def even(count, margin=10.0):
    return np.linspace(margin, WIDTH - margin, count)


class TestNumber:
    @pytest.mark.parametrize("count", [2, 3, 4, 5, 6, 8, 10], ids=str)
    def test_evenly_spaced(self, count):
        assert count_lanes(lanes(even(count, 6.0)), WIDTH) == count

    @pytest.mark.parametrize("scale", [0.5, 1.0, 2.5], ids=str)
    def test_does_not_depend_on_the_size_of_the_sheet(self, scale):
        spots = [spot(scale * one.x, scale * one.y) for one in lanes(even(5))]
        assert count_lanes(spots, scale * WIDTH) == 5

    def test_faint_ones_beside_lanes_make_none(self):
        faint = [spot(x, 30.0, 7.0) for x in (17.0, 33.0, 46.0, 63.0, 71.0, 19.0)]
        assert count_lanes([*lanes(even(5), each=3), *faint], WIDTH) == 5

    def test_an_empty_lane_between_others_counts(self):
        places = even(5)
        assert count_lanes(lanes(np.delete(places, 3), each=3), WIDTH) == 5

    def test_one_lane_in_the_middle(self):
        assert count_lanes(lanes([WIDTH / 2], each=4), WIDTH) == 1

    def test_lanes_that_a_hand_set_out_of_step(self):
        assert count_lanes(lanes([9.0, 26.5, 40.5, 54.0, 71.0], each=3), WIDTH) == 5


class TestPlaces:
    def test_number_and_places_without_being_told(self):
        found = find_lanes(lanes(even(5), each=3), WIDTH, None)
        assert np.abs(np.array(found) - even(5)).max() < 1.0

    def test_an_empty_lane_stands_where_the_others_say(self):
        found = find_lanes([*lanes([8.0], each=3, beside=0.0), *lanes([40.0], each=3, beside=0.0)], WIDTH, 3)
        assert found == pytest.approx([8.0, 40.0, 72.0], abs=0.05)

    def test_one_lane_at_the_side_brings_no_others(self):
        assert find_lanes([spot(16.0), spot(16.2, 60.0)], WIDTH, None) == pytest.approx([16.1], abs=0.11)

    def test_none_without_spots(self):
        assert find_lanes([], WIDTH, None) == []

    def test_many_lanes_stand_nearer_than_usual_where_the_size_is_not_known(self):
        places = np.linspace(8.0, 42.0, 8)
        found = find_lanes(lanes(places, beside=0.1), 50.0, None)
        assert np.abs(np.array(found) - places).max() < 0.5


class TestBlank:
    def test_many_values_are_judged_as_few(self):
        values = np.random.default_rng(5).normal(size=(90000, 3)) * [1.0, 2.0, 0.5]
        spread = np.sqrt(np.diag(blank_covariance(values)))
        assert spread == pytest.approx([1.0, 2.0, 0.5], rel=0.04)


class TestOriginThatIsTold:
    """Where the origin line is put when none is seen; the heights are those that the corrections say."""

    @staticmethod
    def told(label="1", upright=True, **options):
        return _told_origin(label, upright, settings_of(PhotographOptions(**options)))

    def test_by_a_correction(self):
        assert self.told(corrections="move origin to 14.5\ndrop lane 1 spot 2") == 14.5

    def test_a_correction_goes_before_the_option(self):
        assert self.told(origin=12.0, corrections="move origin to 14.5\ndrop lane 1 spot 2") == 14.5

    def test_not_by_a_correction_of_another_sheet(self):
        assert self.told("2", corrections="move origin to 14.5\ndrop lane 1 spot 2") is None

    def test_by_the_option_once_corrections_are_to_come(self):
        assert self.told(origin=12.0, corrections="to come") == 12.0

    def test_not_by_the_option_alone(self):
        assert self.told(origin=12.0) is None


class TestLean:
    def leaning(self, slope, strength=150.0, seed=5):
        generator = np.random.default_rng(seed)
        return [
            spot(place + slope * (y - 15.0) + generator.normal(scale=0.3), y, strength)
            for place in even(4)
            for y in (18.0, 40.0, 66.0)
        ]

    @pytest.mark.parametrize("slope", [-0.03, 0.0, 0.03], ids=str)
    def test_is_what_was_drawn(self, slope):
        assert lean_of(even(4), self.leaning(slope)) == pytest.approx(slope, abs=0.006)

    def test_one_spot_a_lane_tells_nothing(self):
        assert lean_of(even(4), [spot(place + 1.0) for place in even(4)]) == 0.0

    def test_an_empty_lane_leans_as_the_others_do(self):
        y = np.array([15.0, 65.0])
        courses = lane_courses(even(4), 15.0, 0.03, [], y)
        np.testing.assert_allclose([course[1] - course[0] for course in courses], 1.5)
        np.testing.assert_allclose([course[0] for course in courses], even(4))

    def test_a_lane_is_drawn_to_its_strong_spots_and_not_to_scraps_beside_them(self):
        y = np.array([15.0, 30.0, 60.0])
        own = [spot(9.6, 15.0, 170.0), spot(6.8, 15.5, 25.0), spot(10.8, 30.0, 400.0), spot(12.6, 60.0, 30.0)]
        (course,) = lane_courses([10.0], 15.0, 0.0, own, y)
        np.testing.assert_allclose(course, [9.6, 10.8, 10.8])

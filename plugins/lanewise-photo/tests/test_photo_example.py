"""The photograph among the examples is what the simulator makes, and it is read as what is true of it."""

import io

import numpy as np
import pytest
from make_example import EXAMPLE, picture
from PIL import Image

import lanewise

MOST = 400_000  # so that the folder of examples stays light [bytes]
CLEAR = 0.1  # optical density in the best channel above which nobody overlooks a spot


@pytest.fixture(scope="module")
def made():
    return picture()


@pytest.fixture(scope="module")
def found():
    return lanewise.measure(lanewise.to_frame(lanewise.read(EXAMPLE))).spots


def test_file_is_what_the_script_makes(made):
    """Codecs of other versions may round otherwise, so pixels are compared and not bytes."""
    data = EXAMPLE.read_bytes()
    assert len(data) < MOST
    stands, drawn = (np.asarray(Image.open(io.BytesIO(one)).convert("RGB"), float) for one in (data, made.bytes()))
    assert stands.shape == drawn.shape
    off = np.abs(stands - drawn)
    assert off.mean() < 0.5, "run: python make_example.py"
    assert np.quantile(off, 0.999) <= 8, "run: python make_example.py"


def test_another_picture_would_be_seen(made):
    stands = np.asarray(Image.open(EXAMPLE).convert("RGB"), float)
    assert np.abs(stands - np.roll(made.image.astype(float), 3, axis=0)).mean() > 0.5


def test_clear_spots_are_read_without_any_option(made, found):
    """Truth of the simulator; four standard uncertainties, as one spot in some ten thousand is farther off."""
    due = [spot for spot in made.truth.spots if max(spot.od) > CLEAR and spot.state in ("measured", "streak")]
    assert len(due) >= 6
    for spot in due:
        lane = found[(found["lane"] == str(spot.lane + 1)) & found["rf"].notna()]
        nearest = lane.iloc[(lane["rf"] - spot.rf).abs().argmin()]
        assert nearest["rf"] == pytest.approx(spot.rf, abs=4 * nearest["u_rf"]), spot
        assert abs(nearest["rf"] - spot.rf) < 0.02, spot


def test_drops_that_stayed_are_limits(made, found):
    stayed = {str(spot.lane + 1) for spot in made.truth.spots if spot.state == "at origin"}
    assert stayed == set(found.loc[found["state"] == "at origin", "lane"])


def test_the_sheet_is_not_taken_to_be_upside_down():
    (plate,) = lanewise.read(EXAMPLE).plates
    assert "orientation_unknown" not in plate.note

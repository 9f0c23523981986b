"""Colours: words to fills, and whether the systems can be told apart by every reader."""

from __future__ import annotations

import itertools

import numpy as np
import pytest
from matplotlib.colors import to_rgb

from lanewise.figures.look import SYSTEM_COLOURS, UNKNOWN_HATCH, spot_fill, system_style

# G. M. Machado, M. M. Oliveira, L. A. F. Fernandes, IEEE Trans. Visual. Comput. Graph. 15 (2009) 1291: full severity.
# From memory; rows sum to 1, which the test checks.
VISION = {
    "protanopia": [[0.152286, 1.052583, -0.204868], [0.114503, 0.786281, 0.099216], [-0.003882, -0.048116, 1.051998]],
    "deuteranopia": [[0.367322, 0.860646, -0.227968], [0.280085, 0.672501, 0.047413], [-0.011820, 0.042940, 0.968881]],
    "tritanopia": [[1.255528, -0.076749, -0.178779], [-0.078411, 0.930809, 0.147602], [0.004733, 0.691367, 0.303900]],
}


def linear(colour: str) -> np.ndarray:
    """Linear light from sRGB: IEC 61966-2-1."""
    part = np.array(to_rgb(colour))
    return np.where(part <= 0.04045, part / 12.92, ((part + 0.055) / 1.055) ** 2.4)


@pytest.mark.parametrize("vision", VISION)
def test_systems_are_told_apart_with_any_colour_vision(vision: str) -> None:
    matrix = np.array(VISION[vision])
    assert matrix.sum(axis=1) == pytest.approx([1, 1, 1], abs=2e-6)
    seen = [np.clip(matrix @ linear(colour), 0, 1) ** (1 / 2.2) for colour in SYSTEM_COLOURS[:5]]
    for first, second in itertools.combinations(seen, 2):
        assert np.linalg.norm(first - second) > 0.2  # a fifth of the way from black to full red; limit chosen here


def test_systems_do_not_look_alike() -> None:
    assert len({system_style(number) for number in range(112)}) == 112
    for number in range(6):
        (colour, shape, _), (other_colour, other_shape, _) = system_style(number), system_style(number + 1)
        assert colour != other_colour
        assert shape != other_shape


@pytest.mark.parametrize(
    ("word", "like"),
    [
        ("Blue", "blue"),
        ("bluish", "blue"),
        ("gray", "grey"),
        ("greyish", "grey"),
        ("VIOLET", "violet"),
        ("reddish", "red"),
    ],
    ids=str,
)
def test_forms_of_a_word_have_one_fill(word: str, like: str) -> None:
    assert spot_fill(word) == spot_fill(like)
    assert spot_fill(word)[1] == ""


def brightness(word: str) -> float:
    return float(linear(spot_fill(word)[0]) @ [0.2126, 0.7152, 0.0722])


@pytest.mark.parametrize("word", ["blue", "red", "green", "violet"])
def test_shades_darken_and_lighten(word: str) -> None:
    assert brightness(f"dark {word}") < brightness(word) < brightness(f"pale {word}")


def test_the_last_hue_leads() -> None:
    yellow_green, green_yellow, green, yellow = (
        np.array(to_rgb(spot_fill(word)[0])) for word in ("yellow-green", "green yellow", "green", "yellow")
    )
    assert np.linalg.norm(yellow_green - green) < np.linalg.norm(yellow_green - yellow)
    assert np.linalg.norm(green_yellow - yellow) < np.linalg.norm(green_yellow - green)


def test_a_word_not_known_is_dotted_and_no_word_is_plain() -> None:
    assert spot_fill("puce") == ("#ffffff", UNKNOWN_HATCH)
    assert spot_fill("שחור") == ("#ffffff", UNKNOWN_HATCH)
    assert spot_fill(" ") == ("#ffffff", "")

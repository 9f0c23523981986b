import csv
from pathlib import Path

import numpy as np
import pytest
from skimage import color

from lanewise_photo.light import XYZ_OF_RGB, density_table, encoded, lab, linear

COLOURS = Path(__file__).parent / "data" / "srgb_lab.csv"


def _rows():
    lines = [line for line in COLOURS.read_text().splitlines() if not line.startswith("#")]
    return [[float(one) for one in row.values()] for row in csv.DictReader(lines)]


@pytest.mark.parametrize("row", _rows(), ids=lambda row: "-".join(f"{one:.0f}" for one in row[:3]))
def test_linear_light_and_cielab(row):
    # IEC 61966-2-1 and CIE 15:2004, worked out with the exact matrix (see the head of the file); ten and six digits.
    made = linear(np.array(row[:3]) / 255)
    np.testing.assert_allclose(made, row[3:6], rtol=1e-9)
    np.testing.assert_allclose(lab(made), row[6:9], atol=2e-5)  # the matrix is given to ten digits


@pytest.mark.parametrize(
    ("reflectance", "density"),
    [(1.0, 0.0), (0.9, 0.04576), (0.8, 0.09691), (0.5, 0.30103), (0.25, 0.60206), (0.1, 1.0)],
    ids=str,
)
def test_optical_density(reflectance, density):
    # D = -log10 R by definition; five digits.
    code = np.interp(reflectance, linear(np.arange(256) / 255), np.arange(256))
    assert np.interp(code, np.arange(256), density_table()) == pytest.approx(density, abs=2e-3)  # between two codes


def test_encoding_undoes_linear_light():
    values = np.linspace(0, 1, 101)
    np.testing.assert_allclose(
        encoded(linear(values)), values, atol=1e-6
    )  # the two pieces of the standard meet at 1e-7


def _pairs():
    lines = (COLOURS.parent / "ciede2000_pairs.csv").read_text().splitlines()[1:]
    return [[float(one) for one in row.values()] for row in csv.DictReader(lines)]


def _light(values):
    """Linear light of CIELAB, by scikit-image's way back to XYZ, relative to the white of the standard's matrix."""
    relative = color.lab2xyz(values) / color.lab2xyz(np.array([[[100.0, 0.0, 0.0]]]))
    return relative * XYZ_OF_RGB.sum(axis=1) @ np.linalg.inv(XYZ_OF_RGB).T


@pytest.mark.parametrize("pair", _pairs(), ids=lambda pair: f"{pair[6]:g}")
def test_differences_of_colour_survive_the_way_through_light(pair):
    # Source in the head of the file, four decimals; the difference itself is worked out by scikit-image.
    one, other = (lab(_light(np.array([[values]]))) for values in (pair[:3], pair[3:6]))
    assert float(color.deltaE_ciede2000(one, other)[0, 0]) == pytest.approx(pair[6], abs=5.1e-5)

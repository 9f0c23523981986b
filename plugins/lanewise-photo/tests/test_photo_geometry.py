import numpy as np
import pytest
from photo_pictures import CORNERS, HEIGHT, WIDTH, draw, grid_to_picture, saved

from lanewise_photo.edges import find_edges
from lanewise_photo.mapping import fit_mapping
from lanewise_photo.picture import PictureFile
from lanewise_photo.sheet import find_sheets


@pytest.fixture(scope="module")
def file():
    return PictureFile(saved(draw()))


@pytest.fixture(scope="module")
def grid():
    x, y = np.meshgrid(np.linspace(0, WIDTH, 9), np.linspace(0, HEIGHT, 11))
    return np.stack([x.ravel(), y.ravel()], axis=1)


def test_sheet_is_found(file):
    (found,) = find_sheets(file.decode(700), 1)
    np.testing.assert_allclose(found.corners, CORNERS[[3, 2, 1, 0]], atol=5.0)
    assert found.fit > 0.95


def test_rectification_against_a_drawn_grid(file, grid):
    # The picture is drawn through a homography that is solved in the test; corners are off by some pixels at first.
    edges = find_edges(file.decode(5000), CORNERS + np.array([[3.0, -2.0], [-2.0, 2.0], [1.0, 3.0], [-3.0, 0.0]]), 12.0)
    mapping = fit_mapping(edges, CORNERS + 2.0, (WIDTH, HEIGHT), (640, 730), None)
    seen = grid_to_picture(grid)
    np.testing.assert_allclose(mapping.pixels(grid), seen, atol=0.15)
    np.testing.assert_allclose(mapping.sheet(seen), grid, atol=0.015)
    assert max(edge.bow for edge in edges) < 0.3
    assert min(edge.found for edge in edges) > 0.95


def test_mapping_says_how_sure_it_is(file):
    edges = find_edges(file.decode(5000), CORNERS, 12.0)
    mapping = fit_mapping(edges, CORNERS, (WIDTH, HEIGHT), (640, 730), None)
    modes = mapping.shift_along(WIDTH / 2, np.array([15.0, 50.0, 85.0]))
    assert (np.sqrt((modes**2).sum(axis=0)) < 0.2).all()  # a cut edge strays by some hundredths


def along_the_middle(x, y):
    return 1 - (x / (WIDTH / 2)) ** 2


def at_the_upper_end(x, y):
    return along_the_middle(x, y) * (y / HEIGHT + 0.5)


def at_a_corner(x, y):
    return ((x / WIDTH + 0.5) * (y / HEIGHT + 0.5)) ** 2


# Limit: the goal set for the reader, 0.06 mm for a bulge of 2 mm. An edge right below the camera shows no bow, so that
# the sheets whose upper and lower edges differ are seen from further off.
@pytest.mark.parametrize(
    ("shape", "bulge", "tilt"),
    [(along_the_middle, 1.0, 8), (along_the_middle, 2.0, 8), (at_the_upper_end, 2.0, -20), (at_a_corner, 2.0, -20)],
    ids=["1 mm", "2 mm", "upper end bent", "corner bent up"],
)
def test_bulge_is_undone_from_bowed_edges(shape, bulge, tilt, grid):
    # Seen through a pinhole 300 mm above the sheet, written out here; the sheet rises as a parabola.
    turn = np.radians(tilt)

    def seen(points):
        x, y = points[:, 0] - WIDTH / 2, points[:, 1] - HEIGHT / 2
        height = bulge * shape(x, y)
        depth = 300.0 - (height * np.cos(turn) + y * np.sin(turn))
        along = y * np.cos(turn) - height * np.sin(turn)
        return np.stack([1200 * 0.75 * x / depth * 4 + 800, 600 - 1200 * 0.75 * along / depth * 4], axis=1)

    corners = seen(np.array([[0, 0], [WIDTH, 0], [WIDTH, HEIGHT], [0, HEIGHT]], dtype=float))
    t = np.linspace(0.04, 0.96, 140)
    from lanewise_photo.edges import Edge

    sides = [
        np.stack([t * WIDTH, 0 * t], 1),
        np.stack([0 * t + WIDTH, t * HEIGHT], 1),
        np.stack([WIDTH - t * WIDTH, 0 * t + HEIGHT], 1),
        np.stack([0 * t, HEIGHT - t * HEIGHT], 1),
    ]
    edges = [Edge(seen(side), t, 1.0, 0.1, 1.0, 100.0, 1.0) for side in sides]
    focal = 1200 * 0.75 * 4 / 1601
    bent = fit_mapping(edges, corners, (WIDTH, HEIGHT), (1601, 1201), focal)
    straight = fit_mapping(edges, corners, (WIDTH, HEIGHT), (1601, 1201), focal, curved=False)
    off = [np.sqrt(((one.sheet(seen(grid)) - grid)[:, 1] ** 2).mean()) for one in (bent, straight)]
    assert off[0] < 0.06
    assert off[0] < 0.4 * off[1]

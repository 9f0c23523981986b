"""Pictures drawn for the tests: straight geometry, known marks, and nothing taken from the package under test."""

from __future__ import annotations

from dataclasses import dataclass, field
from io import BytesIO

import numpy as np
from PIL import Image

WIDTH, HEIGHT, ORIGIN, FRONT = 80.0, 100.0, 15.0, 85.0
LANES = (14.0, 31.0, 49.0, 66.0)
DYES = {"yellow": (0.01, 0.03, 0.40), "blue": (0.35, 0.12, 0.03), "pink": (0.04, 0.35, 0.12)}
MARKS = {
    0: [("yellow", 0.30), ("blue", 0.70)],
    1: [("pink", 0.45)],
    2: [("blue", 0.25), ("yellow", 0.55), ("pink", 0.80)],
    3: [("yellow", 0.6)],
}
CORNERS = np.array([[75.0, 665.0], [560.0, 645.0], [540.0, 65.0], [105.0, 85.0]])  # lower left, going round


@dataclass
class Scene:
    """What is drawn."""

    marks: dict = field(default_factory=lambda: MARKS)
    size: tuple = (640, 730)
    corners: np.ndarray = field(default_factory=lambda: CORNERS)
    pencil: float = 0.25
    front: bool = True
    origin: bool = True
    paper: float = 0.86
    desk: float = 0.05
    texture: float = 0.004
    seed: int = 1
    light: float = 1.0
    blur: float = 0.6


def grid_to_picture(points, corners=CORNERS):
    """Take millimetres to pixels by the homography through four corners, solved here on its own."""
    flat = np.concatenate([points, np.ones((*points.shape[:-1], 1))], axis=-1) @ _matrix(corners).T
    return flat[..., :2] / flat[..., 2:]


def _sheet_of(scene, x, y):
    density = np.zeros((*x.shape, 3))
    for lane, marks in scene.marks.items():
        for dye, rf in marks:
            at = ORIGIN + rf * (FRONT - ORIGIN)
            spot = np.exp(-((x - LANES[lane]) ** 2 + (y - at) ** 2) / (2 * 1.7**2))
            density += spot[..., None] * np.array(DYES[dye])
    for wanted, at in ((scene.origin, ORIGIN), (scene.front, FRONT)):
        if wanted:
            density += (scene.pencil * np.exp(-(((y - at) / 0.18) ** 2) / 2))[..., None]
    return scene.paper * 10.0**-density


def draw(scene=None):
    """Draw a scene; gives 16-bit code values of shape (rows, columns, 3)."""
    from scipy.ndimage import gaussian_filter

    scene = scene or Scene()
    rng = np.random.default_rng(scene.seed)
    columns, rows = scene.size
    inverse = np.linalg.inv(_matrix(scene.corners))
    px, py = np.meshgrid(np.arange(columns, dtype=float), np.arange(rows, dtype=float))
    light = np.zeros((rows, columns, 3))
    for dx, dy in ((-0.25, -0.25), (0.25, -0.25), (-0.25, 0.25), (0.25, 0.25)):
        at = np.stack([px + dx, py + dy, np.ones_like(px)], axis=-1) @ inverse.T
        x, y = at[..., 0] / at[..., 2], at[..., 1] / at[..., 2]
        inside = (x > 0) & (x < WIDTH) & (y > 0) & (y < HEIGHT)
        light += 0.25 * np.where(inside[..., None], _sheet_of(scene, x, y), scene.desk)
    light = np.stack([gaussian_filter(light[..., c], scene.blur) for c in range(3)], axis=-1)
    light *= 1 + scene.texture * 8 * gaussian_filter(rng.normal(size=(rows, columns)), 2.0)[..., None]
    light += scene.texture * 0.3 * rng.normal(size=light.shape)
    light = np.clip(light * scene.light, 0.0, 1.0)
    code = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    return np.rint(code * 65535).astype(np.uint16)


def _matrix(corners):
    sheet = [(0, 0), (WIDTH, 0), (WIDTH, HEIGHT), (0, HEIGHT)]
    rows = []
    for (x, y), (u, v) in zip(sheet, corners, strict=True):
        rows += [[-x, -y, -1, 0, 0, 0, u * x, u * y, u], [0, 0, 0, -x, -y, -1, v * x, v * y, v]]
    return np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)


def saved(code, kind="PNG", **how):
    """Save 16-bit code values as an 8-bit picture."""
    made = BytesIO()
    Image.fromarray((code / 257.0).round().astype(np.uint8)).save(made, kind, **how)
    return made.getvalue()

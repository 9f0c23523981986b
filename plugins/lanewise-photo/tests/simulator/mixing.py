"""How much light a dyed layer gives back: four models of layer and dye, one chosen for each picture.

No model is the truth about paper. Several are in use so that a reader which happens to assume one of them is not
judged on that one alone. Load is absorption over scattering, K/S, band by band; it adds over dyes in all models.

References
----------
Kubelka and Munk 1931, for a layer without end and for one of finite thickness over a ground; Saunderson 1942, for
reflection at the surface. Formulas from memory; K/S = (1 - R)^2 / (2 R) stands in any textbook.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from simulator.colour import BANDS, SENSOR, Floats
from simulator.draw import Draw

MODELS = ("kubelka-munk", "saunderson", "density", "finite", "quench")


def endless(load: NDArray[np.floating]) -> Floats:
    """Reflectance of a layer without end (Kubelka-Munk)."""
    return np.asarray(1 + load - np.sqrt(load * (load + 2)))


def load_of(reflectance: NDArray[np.floating]) -> Floats:
    """Load of a layer without end that has this reflectance."""
    return np.asarray((1 - reflectance) ** 2 / (2 * reflectance))


@dataclass(frozen=True)
class Mixture:
    """A blank layer, and what dyes do to it.

    Attributes
    ----------
    model : str
        One of `MODELS`; the last is a plate that glows where no dye takes up the ultraviolet light.
    paper : array, shape (9,)
        Reflectance of the blank layer in each band.
    sensor : array, shape (3, 9)
        What the channels take of each band.
    bare : float
        Share of the surface that no dye reaches, 0 to 0.1.
    outer, inner : float
        Reflection at the surface from outside and from inside (Saunderson).
    depth : float
        Scattering times thickness of a finite layer.
    ground : float
        Reflectance below a finite layer.
    """

    model: str
    paper: Floats
    sensor: Floats
    bare: float
    outer: float
    inner: float
    depth: float
    ground: float

    def reflectance(self, load: NDArray[np.floating]) -> Floats:
        """Reflectance in each band of a layer that carries this load of dye, shape (N, 9)."""
        if self.model == "density":
            dyed = self.paper * np.exp(-1.6 * load)
        elif self.model == "saunderson":
            beyond = (self.paper - self.outer) / (
                (1 - self.outer) * (1 - self.inner) + self.inner * (self.paper - self.outer)
            )
            within = endless(load_of(beyond) + load)
            dyed = self.outer + (1 - self.outer) * (1 - self.inner) * within / (1 - self.inner * within)
        elif self.model == "finite":
            a = 1 + load_of(self.paper) + load
            b = np.sqrt(a * a - 1)
            slope = b / np.tanh(b * self.depth)
            dyed = (1 - self.ground * (a - slope)) / (a - self.ground + slope)
        else:
            dyed = endless(load_of(self.paper) + load)
        if self.bare:
            dyed = (1 - self.bare) * dyed + self.bare * self.paper
        return np.asarray(dyed)

    def density(self, load: NDArray[np.floating]) -> Floats:
        """Optical density against the blank layer in red, green and blue, shape (N, 3)."""
        if self.model == "quench":
            taken = load.mean(axis=-1, keepdims=True) * np.array([0.5, 1.0, 0.7])
            return np.asarray(-np.log10((1 - self.bare) * np.exp(-2.3 * taken) + self.bare))
        blank = self.reflectance(np.zeros((1, len(BANDS)))) @ self.sensor.T
        return np.asarray(-np.log10(self.reflectance(load) @ self.sensor.T / blank))

    def amount(self, absorptivity: Floats, density: float) -> float:
        """Load factor at which a dye has this optical density in its best channel."""
        tried = np.geomspace(1e-5, 30, 400)
        seen = self.density(tried[:, None] * absorptivity).max(axis=1)
        return float(np.interp(density, seen, tried))


def draw_mixture(draw: Draw, layer: str) -> Mixture:
    """Choose a blank layer and a model for one picture."""
    if layer == "fluorescent":
        model = draw.given("mixing", "quench")
    else:
        model = draw.choice("mixing", {"kubelka-munk": 0.25, "saunderson": 0.25, "density": 0.25, "finite": 0.25})
    white = draw.uniform("paper_white", 0.83, 0.9) if layer == "paper" else draw.uniform("plate_white", 0.86, 0.93)
    warmth = draw.uniform("paper_warmth", -0.01, 0.05 if layer == "paper" else 0.02)
    paper = white - warmth * (665 - BANDS) / 250
    sensor = SENSOR * np.exp(0.12 * draw.rng("sensor").standard_normal(SENSOR.shape))
    return Mixture(
        model=model,
        paper=paper,
        sensor=sensor / sensor.sum(axis=1, keepdims=True),
        bare=draw.uniform("bare", 0.0, 0.05),
        outer=draw.uniform("outer", 0.01, 0.04),
        inner=draw.uniform("inner", 0.3, 0.55),
        depth=draw.uniform("depth", 1.5, 4.0),
        ground=draw.uniform("ground", 0.6, 0.9),
    )

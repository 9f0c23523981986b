"""Invented lane profiles, and the reference tables. The zones are drawn by scipy, never by the code under test."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from scipy import stats

REFERENCE = Path(__file__).parents[1] / "reference"
POSITIONS = np.linspace(0.0, 80.0, 401)


def table(name):
    with (REFERENCE / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def half_unit(printed):
    """Half a unit of the last printed digit, and a little for the binary form of it."""
    digits, _, exponent = printed.lower().partition("e")
    return 0.5 * 10.0 ** (int(exponent or 0) - len(digits.partition(".")[2])) * (1 + 1e-6)


def bell(x, height, centre, sigma):
    return height * sigma * np.sqrt(2 * np.pi) * stats.norm.pdf(x, centre, sigma)


def tailing(x, area, mu, sigma, tau):
    """Tail towards the origin for tau > 0: the mirror image of what scipy calls exponnorm."""
    side = -np.sign(tau)
    return area * stats.exponnorm.pdf(side * (x - mu), abs(tau) / sigma, scale=sigma)


def paper(x, seed):
    """A bent baseline."""
    return 0.05 + 0.02 * np.sin(x / 40.0 + seed)


def textured(x, rng, length):
    """Noise of unit variance whose correlation falls off as exp(-distance / length), step by step."""
    decay = np.exp(-np.diff(x) / length)
    steps = rng.standard_normal(len(x))
    noise = [steps[0]]
    for keep, step in zip(decay, steps[1:], strict=True):
        noise.append(keep * noise[-1] + np.sqrt(1.0 - keep**2) * step)
    return np.array(noise)


def white(x, rng):
    return rng.standard_normal(len(x))


def texture(x, rng):
    return textured(x, rng, 0.5)


def both(x, rng):
    return np.sqrt(0.5) * (white(x, rng) + textured(x, rng, 1.0))


NOISES = {"white": white, "texture of 0.5 mm": texture, "white and texture of 1 mm": both}

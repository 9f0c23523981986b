"""Handwriting in pencil, and printed text: names of lanes, notes, outlines of spots, pages of a book."""

from __future__ import annotations

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from simulator.colour import Floats
from simulator.marks import Print, Stroke

# Strokes of single letters in a box 0.6 wide and 1 high, drawn for this file; ";" parts strokes.
_GLYPHS = {
    "0": "3 0 0 3 0 7 3 10 6 7 6 3 3 0",
    "1": "1 8 3 10 3 0",
    "2": "0 8 2 10 5 9 6 7 0 0 6 0",
    "3": "0 9 3 10 6 8 3 5.5 6 3 3 0 0 1",
    "4": "5 0 5 10 0 3 6 3",
    "5": "6 10 1 10 1 6 4 6 6 3 3 0 0 1",
    "6": "5 10 1 6 0 3 3 0 6 2 4 5 1 4",
    "7": "0 10 6 10 2 0",
    "8": "3 5 0 8 3 10 6 8 3 5 0 2 3 0 6 2 3 5",
    "9": "6 7 3 5 0 7 3 10 6 8 5 3 3 0",
    "A": "0 0 3 10 6 0 ; 1 4 5 4",
    "B": "0 0 0 10 4 10 5 8 4 5.5 0 5 5 4 6 2 4 0 0 0",
    "C": "6 8 4 10 1 9 0 5 1 1 4 0 6 2",
    "D": "0 0 0 10 4 9 6 5 4 1 0 0",
    "E": "6 10 0 10 0 0 6 0 ; 0 5 4 5",
    "F": "6 10 0 10 0 0 ; 0 5 4 5",
    "G": "6 8 4 10 1 9 0 5 1 1 4 0 6 2 6 5 4 5",
    "H": "0 0 0 10 ; 6 0 6 10 ; 0 5 6 5",
    "I": "3 0 3 10",
    "K": "0 0 0 10 ; 6 10 0 5 6 0",
    "N": "0 0 0 10 6 0 6 10",
    "R": "0 0 0 10 4 10 6 8 4 5 0 5 ; 3 5 6 0",
    "S": "6 9 3 10 0 8 3 5.5 6 3 3 0 0 1",
    "T": "0 10 6 10 ; 3 10 3 0",
    "U": "0 10 0 2 3 0 6 2 6 10",
    "X": "0 0 6 10 ; 0 10 6 0",
    "/": "0 0 5 10",
    "-": "1 5 5 5",
}
LETTERS = "ABCDEFGH"
NOTES = ("INK 3", "RUN 2", "SET A", "12/5", "INK B", "TEST 1", "3/11 RUN", "GEN 2", "SET 4 - 2")


def write(text: str, x: float, y: float, height: float, rng: np.random.Generator, od: float) -> list[Stroke]:
    """Write a text in pencil, its lower left corner at (x, y) [mm]; letters without strokes leave a gap."""
    strokes = []
    lean, weight = rng.normal(0, 0.06), rng.uniform(0.13, 0.2)
    for letter in text:
        size = height * rng.uniform(0.88, 1.1)
        turn = rng.normal(0, 0.07) + lean
        c, s = np.cos(turn), np.sin(turn)
        for part in _GLYPHS.get(letter, "").split(";"):
            numbers = np.array(part.split(), dtype=float).reshape(-1, 2) / 10
            if not len(numbers):
                continue
            points = _by_hand(numbers + rng.normal(0, 0.025, numbers.shape)) * size
            turned = points @ np.array([[c, s], [-s, c]]) + (x, y)
            strokes.append(Stroke(points=turned, sigma=weight, od=od * rng.uniform(0.85, 1.1), rough=0.5))
        x += size * 0.85
        y += rng.normal(0, 0.02) * height
    return strokes


def _by_hand(corners: Floats) -> Floats:
    """Round the corners of a course of points (Chaikin's rule, once)."""
    if len(corners) < 3:
        return corners
    before, after = 0.8 * corners[:-1] + 0.2 * corners[1:], 0.2 * corners[:-1] + 0.8 * corners[1:]
    between = np.stack([before, after], axis=1).reshape(-1, 2)
    return np.vstack([corners[:1], between, corners[-1:]])


def outline(x: float, y: float, a: float, b: float, rng: np.random.Generator, od: float) -> list[Stroke]:
    """Draw round a spot in pencil, by hand, with a cross in its middle."""
    angle = np.linspace(0, 2 * np.pi + rng.uniform(-0.2, 0.3), 26)
    wobble = 1 + 0.06 * np.sin(2 * angle + rng.uniform(0, 6)) + 0.03 * rng.standard_normal(len(angle))
    ring = np.stack([x + a * wobble * np.cos(angle), y + b * wobble * np.sin(angle)], axis=1)
    return [Stroke(points=ring, sigma=0.13, od=od, rough=0.5)]


def printed(lines: list[str], width: float, size: float, scale: float, gap: float) -> Print:
    """Print lines of text, letters `size` high [mm] and lines `gap` apart, upper left corner at (0, 0)."""
    font = ImageFont.load_default(size * scale)
    rows = int(np.ceil(gap * scale * (len(lines) + 1)))
    page = Image.new("L", (int(np.ceil(width * scale)), rows), 0)
    pen = ImageDraw.Draw(page)
    for number, line in enumerate(lines):
        pen.text((0, number * gap * scale), line, fill=255, font=font)
    return Print(raster=np.asarray(page).astype(np.float32) / np.float32(255), left=0.0, top=0.0, scale=scale)


TEXT = (
    "the sheet was left in the jar until the liquid had climbed to a finger below its upper edge and then laid out "
    "to dry beside the window while the class wrote down what they had seen of each ink and of the order of colours"
)


def sentences(rng: np.random.Generator, count: int, letters: int) -> list[str]:
    """Make lines of words, each about so many letters long."""
    lines, words = [], TEXT.split()
    for _ in range(count):
        line = ""
        while len(line) < letters:
            line += f" {words[int(rng.integers(len(words)))]}"
        lines.append(line.strip())
    return lines

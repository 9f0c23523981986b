"""Studies made up by a model of what happens on a plate, to find out whether stated probabilities come true.

Nothing here comes from the code under test. Dyes have a retention of their own in each system. A plate shifts and
stretches all of them together (its layer, its vapour), and each lane and spot is displaced by chance. What is seen is
read with a ruler: lines and edges are rounded to its division, the centre of a spot is misjudged, spots that run into
one another are seen as one, some are overlooked, and colours are named as readers name them. Half of the studies state
colours, half have numbers only. Two standards of each plate run in a second lane, as bench custom has it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import pandas as pd

STANDARDS, REPEATED, SAMPLES, SYSTEMS = 5, 2, 3, 2
WORDS = np.array(["red", "blue", "green", "yellow", "violet", "brown"])
LENGTH = 3.0  # mm, of a spot
OVERLOOKED, MISNAMED = 0.03, 0.1


@dataclass(frozen=True)
class Level:
    """One level of noise: scatter of Rf from lane to lane, and the division of the ruler in millimetres."""

    name: str
    scatter: float
    division: float


LEVELS = (
    Level("a careful bench", 0.004, 0.5),
    Level("an ordinary bench", 0.008, 0.5),
    Level("a hasty class", 0.015, 1.0),
    Level("a bad day", 0.03, 1.0),
)


def studies(
    count: int, level: Level, *, seed: int, unknown: float = 0.5, repeated: int = REPEATED
) -> Iterator[tuple[pd.DataFrame, list[set[int]]]]:
    """Give marks tables, each with the dyes behind its rows: standards are 0 to 4, unknown dyes have numbers above.

    `unknown` is the share of spots that are none of the standards, `repeated` how many standards have a second lane.
    Odd studies have two plates in each system and no colours; even ones have one plate and colours.
    """
    rng = np.random.default_rng(seed)
    for number in range(count):
        yield _study(rng, level, unknown, repeated, plates=1 + number % 2, coloured=number % 2 == 0)


def studies_with_library(
    count: int, level: Level, *, seed: int, references: int
) -> Iterator[tuple[pd.DataFrame, list[set[int]], pd.DataFrame]]:
    """Give marks tables with few standards on the plates, the dyes behind their rows, and marks to make a library of.

    All five dyes ran as standards on three earlier plates in each system; of them the first `references` run beside the
    samples as well. One plate in each system, colours in half of the studies.
    """
    rng = np.random.default_rng(seed)
    for number in range(count):
        rf, hue, contents, named = _dyes(rng, 0.5, references, 0)
        rows, truth = _rows(rng, level, rf, contents, named, 1, number % 2 == 0, references)
        alone = [[dye] for dye in range(STANDARDS)]
        words = [[WORDS[hue[dye]]] for dye in range(STANDARDS)]
        earlier, _ = _rows(rng, level, rf, alone, words, 3, number % 2 == 0, STANDARDS)
        yield pd.DataFrame(rows).assign(layer="silica"), truth, pd.DataFrame(earlier).assign(layer="silica")


def _study(rng, level, unknown, repeated, plates, coloured):
    rf, _, contents, named = _dyes(rng, unknown, STANDARDS, repeated)
    rows, truth = _rows(rng, level, rf, contents, named, plates, coloured, STANDARDS + repeated)
    return pd.DataFrame(rows), truth


def _dyes(rng, unknown, standards, repeated):
    """Make up the dyes, what is in each lane, and the words for their colours."""
    dyes = STANDARDS + 3 * SAMPLES
    rf = rng.uniform(0.0, 1.0, (SYSTEMS, dyes))
    rf[:, :STANDARDS] = rng.uniform(0.05, 0.95, (SYSTEMS, STANDARDS))
    hue = rng.integers(0, len(WORDS), dyes)
    contents = [[dye] for dye in (*range(standards), *range(repeated))]
    for sample in range(SAMPLES):
        spots = int(rng.integers(1, 4))
        known = list(rng.permutation(STANDARDS)[:spots])
        contents.append([known[k] if rng.random() >= unknown else STANDARDS + 3 * sample + k for k in range(spots)])
    named = [
        [WORDS[rng.integers(0, len(WORDS))] if rng.random() < MISNAMED else WORDS[hue[dye]] for dye in inside]
        for inside in contents
    ]
    return rf, hue, contents, named


def _rows(rng, level, rf, contents, named, plates, coloured, of_standards):
    """Run and read the plates of all systems."""
    rows, truth = [], []
    for system in range(SYSTEMS):
        for plate in range(plates):
            for row, dyes_there in _plate(rng, level, rf[system], contents, named, coloured, of_standards):
                rows.append({"plate": f"{system}-{plate}", "system": f"system {system}", **row})
                truth.append(dyes_there)
    return rows, truth


def _plate(rng, level, rf, contents, named, coloured, of_standards):
    origin = 10.0 + rng.normal(0.0, 0.3)
    front = origin + rng.uniform(60.0, 80.0)
    with np.errstate(divide="ignore"):
        moved = rng.normal(0.0, 0.05) + rng.normal(1.0, 0.04) * np.log10(1.0 / np.clip(rf, 1e-4, 1 - 1e-4) - 1.0)
    ran = 1.0 / (1.0 + 10.0**moved)
    for lane, (inside, words) in enumerate(zip(contents, named, strict=True)):
        at = ran[inside] + rng.normal(0.0, level.scatter, len(inside))
        centre = origin + np.clip(at, 0.0, 1.0) * (front - origin)
        seen = rng.random(len(inside)) >= (0.0 if lane < of_standards else OVERLOOKED)
        spots = sorted((centre[k], {int(inside[k])}, words[k]) for k in range(len(inside)) if seen[k])
        joined = []
        for place, there, word in spots:
            if joined and place - joined[-1][0] < LENGTH / 2:
                before = joined.pop()
                joined.append(((before[0] + place) / 2, before[1] | there, before[2]))
            else:
                joined.append((place, there, word))
        for number, (place, there, word) in enumerate(joined, start=1):
            row = _row(rng, level, number, origin, front, place, word if coloured else "")
            yield {"lane": str(lane), **_names(lane - of_standards, inside)} | row, there


def _names(number, inside):
    if number < 0:
        return {"sample": f"dye {inside[0]}", "role": "standard"}
    return {"sample": f"ink {number}", "role": "sample"}


def _row(rng, level, number, origin, front, place, word):
    def read(position):
        return round(position / level.division) * level.division

    row = {
        "spot": str(number),
        "origin_mm": read(origin),
        "front_mm": read(front),
        "state": "measured",
        "colour": word,
        "division_mm": level.division,
        "trailing_mm": np.nan,
        "centre_mm": np.nan,
        "leading_mm": np.nan,
    }
    if place - origin < 1.0:
        return row | {"state": "at origin"}
    if front - place < 1.0:
        return row | {"state": "with front"}
    judged = place + rng.uniform(-0.1, 0.1) * LENGTH
    trailing, centre, leading = read(place - LENGTH / 2), read(judged), read(place + LENGTH / 2)
    return row | {"trailing_mm": trailing, "centre_mm": min(max(centre, trailing), leading), "leading_mm": leading}


BINS = (0.35, 0.45, 0.55, 0.65, 0.75, 0.85, 0.95, 1.0)


def binned(pairs: list[tuple[float, bool]]) -> list[tuple[float, float, int, float, float]]:
    """Give for each class of stated probability its ends, the claims in it, their mean probability and share right."""
    chance, right = (np.array([pair[place] for pair in pairs], dtype=float) for place in (0, 1))
    result = []
    for low, high in pairwise(BINS):
        inside = (chance >= low) & ((chance < high) | (high == 1.0))
        if inside.any():
            result.append((low, high, int(inside.sum()), chance[inside].mean(), right[inside].mean()))
    return result


def claims(found, truth) -> list[tuple[float, bool]]:
    """Give for each spot the probability of its most probable explanation and whether it was right.

    Of a spot followed over several plates most rows must have the dye. None of these is right for an unknown dye.
    """
    result = []
    table = found.candidates.groupby(["sample", "spot", "system"], sort=False)
    for row, (_, group) in zip(found.spots.to_dict("records"), table, strict=True):
        best = group["probability"].idxmax()
        chance, dye = float(group.loc[best, "probability"]), str(group.loc[best, "candidate"])
        behind = [truth[place] for place in row["rows"]]
        if row["none"] >= chance:
            right = [min(there) >= STANDARDS for there in behind]
            chance = row["none"]
        else:
            right = [int(dye.removeprefix("dye ")) in there for there in behind]
        result.append((chance, 2 * sum(right) >= len(right)))
    return result

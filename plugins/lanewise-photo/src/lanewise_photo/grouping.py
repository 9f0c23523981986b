"""Which fitted peaks are one spot."""

from __future__ import annotations

import numpy as np

from lanewise_photo.fitting import Fit
from lanewise_photo.peaks import SAME_PLACE

ALIKE = 15.0
"""Least angle between the colours of two spots that overlap, as directions of optical density. [deg]"""

DIP = 0.97
"""Share of the lower of two tops of one colour below which the density must fall between them, or they are one spot."""


def grouped(found: Fit) -> list[list[int]]:
    """Give the peaks that make up each spot, the strongest of them first.

    A flat top or a long streak is not of the shape that is fitted; what one peak does not take up, another beside it
    does. Two spots of one colour are two only where it is paler between them.
    """
    groups: list[list[int]] = []
    for number in np.argsort(-found.heights.max(axis=1), kind="stable"):
        own = next((group for group in groups if any(_one_spot(found, int(number), n) for n in group)), None)
        if own is None:
            groups.append([int(number)])
        else:
            own.append(int(number))
    return groups


def _one_spot(found: Fit, number: int, other: int) -> bool:
    """Whether two peaks have one place, or one colour and no paler place between them."""
    a, b = found.peaks[number], found.peaks[other]
    tall, strong = found.heights[number], found.heights[other]
    if abs(a.mu - b.mu) < SAME_PLACE * min(a.s, b.s):
        return True
    cosine = tall @ strong / max(float(np.linalg.norm(tall) * np.linalg.norm(strong)), 1e-12)
    if cosine < np.cos(np.radians(ALIKE)):
        return False
    between = np.linspace(a.mu, b.mu, 41)
    channel = int(np.argmax(strong))
    course = tall[channel] * a.at(between) + strong[channel] * b.at(between)
    return bool(course.min() > DIP * min(course[0], course[-1]))

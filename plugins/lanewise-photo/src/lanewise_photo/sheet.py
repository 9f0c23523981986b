"""Finding the sheet in the picture: four corners, to about a pixel of a small copy of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, TypeAlias

import numpy as np
import numpy.typing as npt

from lanewise_photo.faint import faint_corners
from lanewise_photo.picture import Picture
from lanewise_photo.sides import quadrilateral

Points: TypeAlias = npt.NDArray[np.float64]
Mask: TypeAlias = npt.NDArray[np.bool_]

SMALL = 320
"""Longer side of the copy in which the sheet is looked for. [px]"""

LEAST_AREA = 0.05
"""Share of the picture that a sheet fills at least."""

LEAST_INSIDE = 12.0
"""Contrast below which a region may be a change of light and no sheet, in code values."""

GOOD_FIT, GOOD_CONTRAST = 0.97, 40.0
"""An outline this good ends the search; the contrast in code values."""


@dataclass(frozen=True, eq=False)
class Outline:
    """Four corners of a sheet as first found.

    Attributes
    ----------
    corners : array of shape (4, 2)
        In full-size pixels, going round from the corner at the upper left: upper right, lower right, lower left.
    fit : float
        How well the region fills the four-sided figure: intersection over union, 0 to 1.
    contrast : float
        How far paper and background differ along the weakest side, in code values.
    faint : bool
        Whether it was found by the sum of faint steps along its sides only.
    """

    corners: Points
    fit: float
    contrast: float
    faint: bool = False


def find_sheets(picture: Picture, count: int, others: int = 0) -> list[Outline]:
    """Find the outlines of sheets on a plain background.

    Three pictures of one number a pixel are tried: the smallest channel, the difference in colour from the frame, and
    the brightness against its surroundings. The outline with the best fit and contrast wins. Where it reaches the frame
    on two sides, as a picture between the bars of a screen does, sheets are looked for inside it. Where there is no
    region, or one with a weak side, four faint straight steps are looked for.

    Parameters
    ----------
    picture : Picture
        Any size.
    count : int
        Number of sheets to look for, 1 or more.
    others : int
        How many more to give that lie apart from them, which may be sheets too; these come last.

    Returns
    -------
    list of Outline
        At most `count`, in reading order; empty where no four-sided region fills 5 % of the picture.
    """
    small, step = _small(picture)
    found = _candidates(small, count)
    apart = _best(found, count + others)
    chosen, rest = apart[:count], apart[count:]
    if any(_at_frame(one, small) for one in chosen):
        inner = _within(_window(found, small), small, count)
        chosen, rest = (inner, []) if inner else (chosen, rest)
    cut = [_sides_at_frame(one, small) == 1 for one in chosen]
    if count == 1 and not any(cut) and all(_at_frame(one, small) or one.contrast < LEAST_INSIDE for one in chosen):
        chosen = _fainter(chosen, small)
    placed = sorted(
        (_placed(one, picture, step) for one in chosen),
        key=lambda one: (
            round(float(one.corners[:, 1].mean()) / (0.3 * picture.facts.height)),
            one.corners[:, 0].mean(),
        ),
    )
    return placed + [_placed(one, picture, step) for one in rest]


def _fainter(chosen: list[Outline], small: npt.NDArray[np.float32]) -> list[Outline]:
    """Take four faint steps for the sheet, where they part it from its background better than the region does."""
    corners = faint_corners(small)
    if corners is None:
        return chosen
    outline = Outline(corners, 1.0, _contrast(corners, small), True)
    better = all(_at_frame(one, small) or outline.contrast > one.contrast for one in chosen)
    return [outline] if better else chosen


def _placed(outline: Outline, picture: Picture, step: int) -> Outline:
    return replace(outline, corners=picture.outside(outline.corners * step + (step - 1) / 2))


def _candidates(small: npt.NDArray[np.float32], count: int) -> list[Outline]:
    found: list[Outline] = []
    for values in _views(small):
        for mask in _regions(values, count):
            outline = _outline(mask, small)
            if outline is not None:
                found.append(outline)
        if sum(one.fit > GOOD_FIT and one.contrast > GOOD_CONTRAST for one in found) >= count:
            break
    return found


def _best(found: list[Outline], count: int) -> list[Outline]:
    chosen: list[Outline] = []
    for outline in sorted(found, key=_rank, reverse=True):
        if len(chosen) < count and not any(_same(outline, other) for other in chosen):
            chosen.append(outline)
    return chosen


def _at_frame(outline: Outline, small: npt.NDArray[np.float32]) -> bool:
    """Whether an outline reaches two sides of the frame or more, as the picture on a screen does between its bars."""
    return _sides_at_frame(outline, small) >= 2


def _sides_at_frame(outline: Outline, small: npt.NDArray[np.float32]) -> int:
    x, y = outline.corners.T
    rows, columns = small.shape[:2]
    return int(sum((x.min() < 1.5, y.min() < 1.5, x.max() > columns - 2.5, y.max() > rows - 2.5)))


def _window(found: list[Outline], small: npt.NDArray[np.float32]) -> tuple[slice, slice]:
    """What is left of rows and columns without the bars of a screen above, below or beside a picture."""
    ends = []
    for axis in (0, 1):
        along, across = small.shape[axis], small.shape[1 - axis]
        low, high = 0, along
        for outline in found:
            first, last = outline.corners[:, 1 - axis].min(), outline.corners[:, 1 - axis].max()
            if outline.corners[:, axis].min() > 1.5 or outline.corners[:, axis].max() < across - 2.5:
                continue
            if last < 0.45 * along:
                low = max(low, int(np.ceil(last)) + 2)
            elif first > 0.55 * along:
                high = min(high, int(np.floor(first)) - 2)
            else:
                low, high = max(low, int(np.ceil(first)) + 2), min(high, int(np.floor(last)) - 2)
        ends.append(slice(low, high))
    return ends[0], ends[1]


def _within(window: tuple[slice, slice], small: npt.NDArray[np.float32], count: int) -> list[Outline]:
    """Look for sheets in a part of the picture only."""
    part = small[window]
    if min(part.shape[:2]) < 60 or part.size == small.size:
        return []
    inner = [one for one in _best(_candidates(part, count), count) if not _at_frame(one, part)]
    start = np.array([window[1].start, window[0].start])
    return [replace(one, corners=one.corners + start) for one in inner if one.contrast > LEAST_INSIDE]


def _rank(outline: Outline) -> float:
    return outline.fit + 0.1 * min(outline.contrast, 60.0) / 60.0 + 0.15 * min(_area(outline.corners) / SMALL**2, 0.4)


def _same(one: Outline, other: Outline) -> bool:
    return bool(
        np.linalg.norm(one.corners.mean(axis=0) - other.corners.mean(axis=0)) < 0.25 * np.sqrt(_area(other.corners))
    )


def _small(picture: Picture) -> tuple[npt.NDArray[np.float32], int]:
    from PIL import Image

    rows, columns = picture.pixels.shape[:2]
    step = max(1, round(max(rows, columns) / SMALL))
    whole = Image.fromarray(picture.pixels[: rows // step * step, : columns // step * step])
    return np.asarray(whole.reduce(step), dtype=np.float32), step


def _views(small: npt.NDArray[np.float32]) -> Iterator[npt.NDArray[np.float32]]:
    """Give pictures of one number a pixel in which a sheet stands out, bright or dark does not matter."""
    from scipy import ndimage

    least = small.min(axis=2)
    yield least
    rim = max(3, min(small.shape[:2]) // 30)
    border = np.concatenate(
        [
            small[:rim].reshape(-1, 3),
            small[-rim:].reshape(-1, 3),
            small[:, :rim].reshape(-1, 3),
            small[:, -rim:].reshape(-1, 3),
        ]
    )
    usual = np.median(border, axis=0)
    spread = 1.4826 * np.median(np.abs(border - usual), axis=0) + 4.0
    away = np.sqrt((((small - usual) / spread) ** 2).mean(axis=2)) * 10.0
    yield np.minimum(away, 255.0).astype(np.float32)
    level = ndimage.uniform_filter(least, round(0.45 * max(least.shape)))
    yield np.asarray(least - level, dtype=np.float32)


def otsu(values: npt.NDArray[Any]) -> float:
    """Give the threshold that parts values into two classes with the largest variance between them.

    References
    ----------
    N. Otsu, IEEE Trans. Syst. Man Cybern. 9 (1979) 62, from memory.

    Examples
    --------
    >>> 2.0 < otsu(np.array([1.0, 1.5, 2.0, 8.0, 9.0, 9.5])) < 8.0
    True
    """
    counts, edges = np.histogram(values, bins=256)
    middles = 0.5 * (edges[1:] + edges[:-1])
    below = np.cumsum(counts)
    above = below[-1] - below
    sums = np.cumsum(counts * middles)
    with np.errstate(invalid="ignore", divide="ignore"):
        between = below * above * (sums / below - (sums[-1] - sums) / above) ** 2
    best = np.nan_to_num(between[:-1])
    return float(edges[1:-1][best >= best.max() * (1 - 1e-12)].mean())


def _regions(values: npt.NDArray[np.float32], count: int) -> list[Mask]:
    """Give the largest regions on either side of the threshold, holes filled, threads cut."""
    from scipy import ndimage

    smooth = ndimage.uniform_filter(values, 3)
    threshold = otsu(smooth)
    found: list[Mask] = []
    for mask in (smooth > threshold, smooth < threshold):
        closed = ndimage.binary_closing(np.pad(mask, 4), iterations=3)[4:-4, 4:-4]
        opened = ndimage.binary_opening(ndimage.binary_fill_holes(closed), iterations=3)
        labels, regions = ndimage.label(opened)
        if not regions:
            continue
        sizes = np.bincount(labels.ravel())[1:]
        for number in np.argsort(sizes)[::-1][: count + 1]:
            if sizes[number] >= LEAST_AREA * mask.size / max(1, count - 1):
                found.append(ndimage.binary_fill_holes(labels == number + 1))
    return found


def _outline(mask: Mask, small: npt.NDArray[np.float32]) -> Outline | None:
    """Fit four sides to a region; None where it is not four-sided, or touches most of the frame."""
    frame = np.concatenate([mask[0], mask[-1], mask[:, 0], mask[:, -1]])
    if frame.mean() > 0.5:
        return None
    boundary = _boundary(mask)
    corners = quadrilateral(boundary)
    if corners is None:
        return None
    inside = _filled(corners, mask.shape)
    union = int((inside | mask).sum())
    fit = float((inside & mask).sum() / union) if union else 0.0
    if fit < 0.85 or inside.sum() < LEAST_AREA / 2 * mask.size:
        return None
    return Outline(corners, fit, _contrast(corners, small))


def _boundary(mask: Mask) -> Points:
    """Give the outermost pixels of a region in each row and column, as x and y."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    first, last = mask.argmax(axis=1)[rows], mask.shape[1] - 1 - mask[:, ::-1].argmax(axis=1)[rows]
    top, bottom = mask.argmax(axis=0)[columns], mask.shape[0] - 1 - mask[::-1].argmax(axis=0)[columns]
    return np.concatenate(
        [
            np.stack([first - 0.5, rows], axis=1),
            np.stack([last + 0.5, rows], axis=1),
            np.stack([columns, top - 0.5], axis=1),
            np.stack([columns, bottom + 0.5], axis=1),
        ]
    ).astype(float)


def _filled(corners: Points, shape: tuple[int, ...]) -> Mask:
    y, x = np.mgrid[: shape[0], : shape[1]]
    inside = np.ones(shape, dtype=bool)
    for number in range(4):
        (ax, ay), (bx, by) = corners[number], corners[(number + 1) % 4]
        inside &= (bx - ax) * (y - ay) - (by - ay) * (x - ax) >= 0
    return inside


def _contrast(corners: Points, small: npt.NDArray[np.float32]) -> float:
    """Smallest median difference between three pixels inside and three outside a side, in code values."""
    centre, weakest = corners.mean(axis=0), np.inf
    for number in range(4):
        start, stop = corners[number], corners[(number + 1) % 4]
        t = np.linspace(0.1, 0.9, 40)[:, None]
        middle = start + t * (stop - start)
        normal = np.array([-(stop - start)[1], (stop - start)[0]])
        normal = normal / np.linalg.norm(normal)
        normal = normal if normal @ (centre - start) > 0 else -normal
        inner, outer = (_at(small, middle + side * 4.0 * normal) for side in (1.0, -1.0))
        weakest = min(weakest, float(np.median(np.abs(inner - outer).max(axis=1))))
    return weakest


def _at(small: npt.NDArray[np.float32], points: Points) -> npt.NDArray[np.float32]:
    x = np.clip(np.rint(points[:, 0]), 0, small.shape[1] - 1).astype(int)
    y = np.clip(np.rint(points[:, 1]), 0, small.shape[0] - 1).astype(int)
    return np.asarray(small[y, x], dtype=np.float32)


def _area(corners: Points) -> float:
    x, y = corners[:, 0], corners[:, 1]
    return float(abs((x * np.roll(y, -1) - y * np.roll(x, -1)).sum()) / 2)

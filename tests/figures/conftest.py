"""Plates to draw: the invented ink readings of ``examples``, and small ones typed here for a single question."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.transforms import Bbox

from lanewise.analyses.measure import Measurement, measure
from lanewise.figures.look import PIXELS_PER_INCH

INKS = Path(__file__).parents[2] / "examples" / "writing_inks.csv"
DEFAULTS = {
    "plate": "P", "system": "water", "lane": "A", "sample": "ink", "role": "sample", "spot": "1", "origin_mm": 10.0,
    "front_mm": 70.0, "trailing_mm": None, "centre_mm": None, "leading_mm": None, "state": "measured",
    "colour": "blue", "layer": "silica",
}  # fmt: skip
LENGTHS = [name for name in DEFAULTS if name.endswith("_mm")]


@pytest.fixture(scope="session")
def inks() -> Measurement:
    frame = pd.read_csv(INKS, comment="#", dtype=str, keep_default_na=False)
    frame[LENGTHS] = frame[LENGTHS].apply(pd.to_numeric)
    return measure(frame)


@pytest.fixture
def typed() -> Callable[..., Measurement]:
    """Measure rows that are typed with only what matters: ``typed({"centre_mm": 30.0}, {"state": "absent"})``."""

    def make(*rows: dict[str, object]) -> Measurement:
        frame = pd.DataFrame([DEFAULTS | row for row in rows])
        return measure(frame.astype(dict.fromkeys(LENGTHS, float)))

    return make


@pytest.fixture
def every_state(typed: Callable[..., Measurement]) -> Measurement:
    """One plate with a spot of each state and each way of being read, over an uneven front."""
    return typed(
        {"lane": "A", "sample": "edges", "trailing_mm": 28, "centre_mm": 30.5, "leading_mm": 33, "colour": "red"},
        {"lane": "A", "sample": "edges", "spot": "2", "state": "unread", "colour": "pink"},
        {"lane": "B", "sample": "point", "centre_mm": 45, "colour": "green", "front_mm": 71},
        {"lane": "B", "sample": "point", "spot": "2", "state": "absent", "colour": "grey", "front_mm": 71},
        {"lane": "C", "sample": "ends", "state": "at origin", "colour": "black", "front_mm": 72},
        {"lane": "C", "sample": "ends", "spot": "2", "state": "with front", "colour": "yellow", "front_mm": 72},
        {"lane": "D", "sample": "streak", "trailing_mm": 20, "centre_mm": 43, "leading_mm": 50, "state": "streak",
         "colour": "brown", "front_mm": 72.5},
        {"lane": "E", "sample": "unread", "trailing_mm": 20, "centre_mm": 22, "leading_mm": 24.5, "state": "unread",
         "colour": "violet", "front_mm": 72.5},
        {"lane": "F", "sample": "no front", "trailing_mm": 28, "centre_mm": 30, "leading_mm": 32, "colour": "white",
         "front_mm": float("nan")},
        {"lane": "G", "sample": "blank", "role": "blank", "state": "absent", "colour": "", "front_mm": 73},
    )  # fmt: skip


@pytest.fixture(scope="session")
def readable() -> Callable[[Figure], list[tuple[str, Bbox]]]:
    """Check that no text of a drawn figure covers another or leaves the paper; give the texts with their boxes."""

    def check(figure: Figure) -> list[tuple[str, Bbox]]:
        figure.set_dpi(PIXELS_PER_INCH)
        renderer = FigureCanvasAgg(figure).get_renderer()
        texts = [text for axes in figure.axes for text in axes.texts if text.get_text()]
        assert not any(text.get_parse_math() for text in texts)
        boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in texts]
        paper = figure.bbox
        for number, (words, box) in enumerate(boxes):
            assert paper.x0 <= box.x0, words
            assert box.x1 <= paper.x1, words
            assert paper.y0 <= box.y0, words
            assert box.y1 <= paper.y1, words
            for other_words, other in boxes[:number]:
                across = min(box.x1, other.x1) - max(box.x0, other.x0)
                along = min(box.y1, other.y1) - max(box.y0, other.y0)
                # lines of one block share the room of their longest letters
                assert across <= 0 or along <= 0.2 * min(box.height, other.height), (words, other_words)
        return boxes

    return check

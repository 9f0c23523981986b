"""Rf against strength: curves, bands and markers are those of the predictions, and everything can be read."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from lanewise.analyses.measure import measure
from lanewise.analyses.strength import predict_rf
from lanewise.errors import AnalysisError
from lanewise.figures.look import painted
from lanewise.figures.strengths import paint_strengths, strength_figure
from lanewise.files.reading import read
from lanewise.tables.marks import to_frame
from lanewise.tables.mixtures import composition_table

SERIES = "acetone in heptane"


@pytest.fixture(scope="module")
def predicted():
    study = read(Path(__file__).parents[2] / "examples" / "leaf_systems.csv")
    return predict_rf(measure(to_frame(study)), composition_table(study))


@pytest.fixture(scope="module")
def canvas(predicted):
    lines = {str(dye): (str(dye),) for dye in dict.fromkeys(predicted.curves["dye"])}
    return painted(
        (170.0, 95.0),
        lambda figure: paint_strengths(figure, predicted.curves, predicted.seen, lines, 0.27, SERIES, 95.0),
    )


def test_lines_and_markers_are_the_predictions(predicted, canvas):
    (axes,) = [axes for axes in canvas.axes if axes.collections]
    curves = [line for line in axes.lines if len(line.get_xdata()) == 31]
    assert len(curves) == len(axes.collections) == 5
    for line, (_, rows) in zip(curves, predicted.curves.groupby("dye", sort=False), strict=True):
        np.testing.assert_array_equal(line.get_ydata(), rows["rf"])
    markers = [line for line in axes.lines if line.get_marker() not in ("None", "", None)]
    assert sum(len(line.get_xdata()) for line in markers) == len(predicted.seen) == 15


def test_the_curves_pass_near_what_was_seen(predicted):
    for (dye, at), rf in predicted.seen.set_index(["dye", "at"])["rf"].items():
        rows = predicted.curves[predicted.curves["dye"] == dye]
        low, high = (np.interp(at, rows["at"], rows[end]) for end in ("rf_low", "rf_high"))
        assert low < rf < high


def test_everything_can_be_read(canvas, readable):
    texts = [words for words, _ in readable(canvas)]
    assert {"1", "2", "3", "4", "5", "a new plate", "strengths tried", "most likely apart"} <= set(texts)


def test_the_words_hold_the_numbers(predicted):
    figure = strength_figure(predicted, SERIES, "strength")
    assert figure.caption.startswith(
        "Rf of 5 dyes against acetone in heptane; a band holds a spot on a new plate with 95 %"
    )
    assert figure.description[0].endswith(f"most likely apart at {predicted.best(SERIES)['at']:.2f}.")
    assert "2, leaf extract (yellow): seen 0.10: 0.12, 0.20: 0.35, 0.30: 0.56; predicted " in figure.description[2]
    assert figure.draw("svg") == figure.draw("svg")


def test_an_unknown_series_is_refused(predicted):
    with pytest.raises(AnalysisError, match="there is no prediction for the series 'water in wine'"):
        strength_figure(predicted, "water in wine", "strength")

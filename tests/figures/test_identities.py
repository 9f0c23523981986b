"""The picture of an identification: each probability stands in its row and column, and in the description."""

from __future__ import annotations

import pytest
from matplotlib.backends.backend_agg import FigureCanvasAgg

from lanewise.analyses.identify import identify
from lanewise.analyses.measure import measure
from lanewise.errors import AnalysisError
from lanewise.figures.identities import identities_figure
from lanewise.figures.look import painted
from lanewise.tables.rf_library import printed_library


def texts(picture):
    painter = picture.draw.args
    return [text.get_text() for axes in painted(painter[0], painter[1]).axes for text in axes.texts]


def test_every_spot_and_candidate_is_drawn(inks):
    found = identify(inks)
    picture = identities_figure(found, "identities")
    written = texts(picture)
    assert {"eosin Y", "none of these", "ledger blue", "map green"} <= set(written)
    assert written.count(">0.99") == len(found.spots)
    assert len(picture.description) == 1 + len(found.spots)
    assert picture.description[2] == "ledger blue, blue: none of these above 0.99; the rest is excluded."


def test_open_candidates_have_their_probability(inks):
    marks = inks.marks[inks.marks["plate"] == "bench 3 ester"].assign(colour="")
    found = identify(measure(marks))
    written = texts(identities_figure(found, "identities"))
    assert any("cannot tell" in verdict for verdict in found.spots["verdict"])
    assert sum(text.startswith("0.") for text in written) >= 2


def test_many_candidates_are_left_out_and_counted(typed):
    system = "1-butanol : acetic acid : water 4:1:5 upper phase or 12:3:5"
    measured = typed({"centre_mm": 40.0, "system": system, "layer": "chromatography paper", "colour": ""})
    picture = identities_figure(identify(measured, printed_library()), "identities")
    assert any("candidates are not drawn" in text for text in texts(picture))
    assert any("of 20 candidates are not drawn" in text for text in picture.description)


@pytest.mark.parametrize("kind", ["svg", "png", "pdf"])
def test_the_same_bytes_each_time(inks, kind):
    first, again = (identities_figure(identify(inks), "identities").draw(kind) for _ in range(2))
    assert first == again


def test_nothing_runs_out_of_the_picture(inks):
    picture = identities_figure(identify(inks), "identities")
    figure = painted((picture.width, picture.height), picture.draw.args[1])
    renderer = FigureCanvasAgg(figure).get_renderer()
    width, height = figure.get_size_inches() * figure.dpi
    for axes in figure.axes:
        for text in axes.texts:
            box = text.get_window_extent(renderer)
            assert box.x0 >= 0.0
            assert box.y0 >= 0.0
            assert box.x1 <= width
            assert box.y1 <= height


def test_no_spot(inks):
    found = identify(inks)
    object.__setattr__(found, "spots", found.spots.iloc[:0])
    with pytest.raises(AnalysisError, match="at least one spot"):
        identities_figure(found, "identities")


@pytest.mark.parametrize(
    "label",
    [
        pytest.param(r"$\frac{a}{b}$", id="formula"),
        pytest.param("W" * 200, id="200 letters"),
        pytest.param("</svg> & <b>", id="markup"),
        pytest.param("a\nb\x00\u202e d", id="controls"),
        pytest.param("墨水", id="other script"),
    ],
)
def test_hostile_labels_are_drawn_as_text(typed, label):
    measured = typed(
        {"lane": "A", "sample": label, "role": "standard", "centre_mm": 40.0},
        {"lane": "B", "sample": f"ink {label}", "centre_mm": 40.0, "colour": label},
    )
    picture = identities_figure(identify(measured), "identities")
    for kind in ("svg", "pdf"):
        assert len(picture.draw(kind)) > 1000

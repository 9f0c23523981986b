"""Rf by dye and system as drawn: markers and bars against the table of spots, rows against the samples."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import partial

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from lanewise.analyses.measure import Measurement
from lanewise.errors import AnalysisError
from lanewise.figures.chart_layout import ChartLayout, chart_rows, lay_out_chart
from lanewise.figures.charts import paint_chart, rf_figure
from lanewise.figures.look import PAGE_HEIGHT, painted
from lanewise.figures.seen import spots_seen


def drawn(measured: Measurement) -> tuple[Axes, ChartLayout]:
    layout = lay_out_chart(spots_seen(measured.marks, measured.spots), measured.level)
    figure = painted((layout.width, layout.height), partial(paint_chart, layout=layout))
    (axes,) = [axes for axes in figure.axes if axes.get_label() == "rows"]
    return axes, layout


@pytest.mark.parametrize("which", ["inks", "every state", "long names"])
def test_no_text_covers_another_or_leaves_the_paper(
    inks: Measurement,
    every_state: Measurement,
    typed: Callable[..., Measurement],
    readable: Callable[[Figure], object],
    which: str,
) -> None:
    long = {"sample": "name " * 40, "colour": "colour " * 30, "system": "W" * 200, "plate": "plate " * 40}
    several = [long | {"spot": str(spot), "lane": str(spot), "centre_mm": 20.0 + spot} for spot in range(3)]
    others = [{"sample": "x" * 200, "lane": "B"}, {"sample": "y", "lane": "C", "state": "unread", "colour": "z" * 90}]
    measured = {"inks": inks, "every state": every_state}.get(which) or typed(*several, *others)
    readable(drawn(measured)[0].figure)


def named(axes: Axes, start: str) -> dict[int, Line2D]:
    lines = [line for line in axes.lines if (line.get_gid() or "").startswith(start)]
    return {int(line.get_gid().removeprefix(start)): line for line in lines}


def test_markers_and_bars_stand_at_the_values(inks: Measurement) -> None:
    axes, _ = drawn(inks)
    markers, bars = named(axes, "rf-"), named(axes, "interval-")
    for row, spot in enumerate(inks.spots.to_dict("records")):
        if spot["state"] == "absent":
            assert row not in markers
            continue
        (x,) = markers[row].get_xdata()
        if spot["state"] in ("at origin", "with front"):
            assert x == (spot["rf_high"] if spot["state"] == "at origin" else spot["rf_low"])
            assert row not in bars
        else:
            assert x == spot["rf"]
            assert list(bars[row].get_xdata()) == [spot["rf_low"], spot["rf_high"]]
            assert bars[row].get_ydata()[0] == markers[row].get_ydata()[0]


def test_no_two_markers_of_a_row_lie_on_one_line(inks: Measurement) -> None:
    axes, layout = drawn(inks)
    heights = [float(line.get_ydata()[0]) for line in named(axes, "rf-").values()]
    assert len(set(heights)) == len(heights)
    tops = np.concatenate([[0.0], np.cumsum(layout.heights)])
    assert np.all(np.diff(tops) > 0)
    marker_rows = {row: float(line.get_ydata()[0]) for row, line in named(axes, "rf-").items()}
    for number, row in enumerate(layout.rows):
        for spot in row.drawn:
            assert tops[number] < marker_rows[spot.row] < tops[number + 1]


def test_systems_differ_in_shape_and_colour(inks: Measurement) -> None:
    axes, layout = drawn(inks)
    looks: dict[str, set[tuple[str, str]]] = {}
    for row, line in named(axes, "rf-").items():
        spot = inks.spots.iloc[row]
        if spot["state"] == "measured":
            looks.setdefault(spot["system"], set()).add((line.get_marker(), line.get_markerfacecolor()))
    assert all(len(found) == 1 for found in looks.values())
    (first,), (second,) = looks.values()
    assert first[0] != second[0]
    assert first[1] != second[1]
    assert [kind for kind, _ in layout.legend] == [0, 1, "interval", "streak", "bound", "band"]
    assert "95 % coverage interval" in layout.legend[2][1][0]


def test_what_is_no_plain_value_has_a_white_marker(every_state: Measurement) -> None:
    axes, _ = drawn(every_state)
    faces = {row: line.get_markerfacecolor() for row, line in named(axes, "rf-").items()}
    assert {every_state.spots.iloc[row]["state"] for row, face in faces.items() if face == "#ffffff"} == {
        "at origin", "with front", "streak"
    }  # fmt: skip


def test_arrows_point_to_where_rf_lies(every_state: Measurement) -> None:
    axes, _ = drawn(every_state)
    heads = {line.get_marker(): float(line.get_xdata()[0]) for line in axes.lines if line.get_marker() in "<>"}
    bounds = every_state.spots.set_index("state")
    assert heads["<"] < bounds.loc["at origin", "rf_high"]
    assert heads[">"] > bounds.loc["with front", "rf_low"]


def test_rows_are_dyes_of_samples_in_order(inks: Measurement) -> None:
    rows = chart_rows(spots_seen(inks.marks, inks.spots))
    assert [(row.sample, row.dye, len(row.drawn)) for row in rows] == [
        ("crystal violet", "violet", 6),
        ("ledger blue", "violet", 6),
        ("ledger blue", "blue", 6),
        ("copying violet", "violet", 6),
        ("copying violet", "pink", 6),
        ("rhodamine B", "pink", 6),
        ("correction red", "pink", 6),
        ("correction red", "orange", 6),
        ("correction red", "yellow", 6),
        ("document black", "black", 6),
        ("document black", "violet", 6),
        ("document black", "yellow", 6),
        ("map green", "blue", 6),
        ("map green", "yellow", 6),
        ("eosin Y", "orange", 6),
        ("blank", "no spot", 0),
    ]
    assert rows[-1].left_out == ("not found: 6",)


def test_spots_that_share_a_colour_or_have_none_go_by_their_names(typed: Callable[..., Measurement]) -> None:
    measured = typed(
        {"sample": "a", "spot": "1", "centre_mm": 20, "colour": "red"},
        {"sample": "a", "spot": "2", "centre_mm": 30, "colour": "red"},
        {"sample": "b", "lane": "B", "spot": "1", "centre_mm": 40, "colour": ""},
        {"sample": "b", "lane": "B", "spot": "x", "colour": "green", "state": "unread"},
    )
    rows = chart_rows(spots_seen(measured.marks, measured.spots))
    assert [(row.sample, row.dye, row.left_out) for row in rows] == [
        ("a", "red, spot 1", ()),
        ("a", "red, spot 2", ()),
        ("b", "spot 1", ()),
        ("b", "green", ("no Rf: 1",)),
    ]


def test_a_class_of_thirty_benches_keeps_to_the_page(typed: Callable[..., Measurement]) -> None:
    measured = typed(
        *(
            {"plate": f"{bench}", "lane": str(lane), "sample": f"ink {lane}", "centre_mm": 20.0 + 5 * lane + bench / 10}
            for bench in range(30)
            for lane in range(8)
        )
    )
    axes, layout = drawn(measured)
    assert layout.height <= PAGE_HEIGHT
    assert len(named(axes, "rf-")) == 240


def test_description_holds_every_number(inks: Measurement) -> None:
    description = rf_figure(inks.spots, inks.marks, "rf", level=inks.level).description
    assert description[0].endswith("in brackets, the 95 % coverage interval.")
    columns = zip(inks.marks.to_dict("records"), inks.spots.to_dict("records"), strict=True)
    for mark, spot in columns:
        if mark["state"] == "absent":
            continue
        (sentence,) = [
            s
            for s in description
            if s.startswith(mark["sample"]) and f", {mark['colour']}, " in s and f"in {mark['system']}:" in s
        ]
        (value,) = re.findall(
            rf"[:;] ([^;]*) on plate {mark['plate']}[;.]", sentence.replace(mark["system"] + ":", ":")
        )
        numbers = [float(number) for number in re.findall(r"\d\.\d+", value)]
        if mark["state"] == "at origin":
            assert [np.ceil(spot["rf_high"] * 100) / 100] == pytest.approx(numbers)
        elif mark["state"] == "with front":
            assert [np.floor(spot["rf_low"] * 100) / 100] == pytest.approx(numbers)
        else:
            half = 0.5 * 10.0 ** -len(re.search(r"\.(\d+)", value)[1])
            expected = [spot[name] for name in ("rf", "u_rf", "rf_low", "rf_high")]
            assert numbers == pytest.approx(expected, abs=half * 1.001)
    assert description[-1] == "blank, no spot: not found: 6."


def test_no_row_is_refused(inks: Measurement) -> None:
    with pytest.raises(AnalysisError, match="'rf': wanted at least one spot, given no row"):
        rf_figure(inks.spots.iloc[:0], inks.marks.iloc[:0], "rf")

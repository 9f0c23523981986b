"""The plate as drawn: positions against the readings, scale against the paper, texts against each other."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from xml.etree import ElementTree

import numpy as np
import pandas as pd
import pytest
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Patch
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from lanewise.analyses.measure import Measurement
from lanewise.errors import AnalysisError
from lanewise.figures.look import MM_PER_INCH, PAGE_HEIGHT, PAGE_WIDTH, painted
from lanewise.figures.plate_drawing import paint_plate
from lanewise.figures.plate_layout import PITCH, PlateLayout, lay_out
from lanewise.figures.plates import plate_figure
from lanewise.figures.seen import lanes_seen, spots_seen

MM_PER_POINT = 25.4 / 72  # 1 pt = 1/72 in, the unit of the picture files


def plate_of(measured: Measurement, plate: str) -> tuple[pd.DataFrame, pd.DataFrame]:
    marks = measured.marks[measured.marks["plate"] == plate]
    return marks, measured.spots.loc[marks.index]


def drawn(marks: pd.DataFrame, spots: pd.DataFrame) -> tuple[Figure, PlateLayout]:
    rows = spots_seen(marks, spots)
    layout = lay_out(rows[0].plate, rows[0].system, rows[0].layer, lanes_seen(rows))
    return painted((layout.width, layout.height), partial(paint_plate, layout=layout)), layout


def panels(figure: Figure) -> list[Axes]:
    return [axes for axes in figure.axes if axes.get_label().startswith("panel")]


def shapes(figure: Figure) -> dict[str, Patch]:
    """The symbols of the plate by name, those of the legend left out."""
    return {
        patch.get_gid(): patch
        for axes in panels(figure)
        for patch in axes.patches
        if patch.get_gid() and not patch.get_gid().endswith("legend")
    }


def extent(patch: Patch) -> tuple[float, float, float, float]:
    """Left, right, lower and upper end of a patch in data coordinates."""
    path = patch.get_path().interpolated(60).transformed(patch.get_patch_transform())
    box = path.get_extents()
    return box.x0, box.x1, box.y0, box.y1


def texts(figure: Figure) -> list[Text]:
    return [text for axes in figure.axes for text in axes.texts]


PLATES = [f"bench {bench} {system}" for bench in (1, 2, 3) for system in ("ester", "butanol")]


@pytest.mark.parametrize("plate", PLATES, ids=PLATES)
def test_symbols_stand_where_the_readings_say(inks: Measurement, plate: str) -> None:
    marks, spots = plate_of(inks, plate)
    found = shapes(drawn(marks, spots)[0])
    for row, mark in enumerate(marks.to_dict("records")):
        names = [name for name in found if name.split("-")[-1] == str(row) and not name.startswith("sheet")]
        if mark["state"] == "absent":
            assert names == []
            continue
        (name,) = names
        _, _, low, high = extent(found[name])
        if mark["state"] == "at origin":
            assert low == pytest.approx(mark["origin_mm"], abs=1e-9)
        elif mark["state"] == "with front":
            assert high == pytest.approx(mark["front_mm"], abs=1e-9)
        else:
            assert (low, high) == pytest.approx((mark["trailing_mm"], mark["leading_mm"]), abs=1e-3)


def test_the_point_read_is_marked_where_it_was_read(every_state: Measurement) -> None:
    figure, _ = drawn(every_state.marks, every_state.spots)
    (axes,) = panels(figure)
    bars = {float(line.get_ydata()[0]) for line in axes.lines if line.get_zorder() == 4}
    assert bars == {30.5, 45.0, 30.0}
    diamonds = [extent(patch) for patch in axes.patches if patch.get_zorder() == 4]
    assert [(low + high) / 2 for _, _, low, high in diamonds] == pytest.approx([43.0])


def test_each_state_has_its_own_symbol_and_word(every_state: Measurement) -> None:
    figure, layout = drawn(every_state.marks, every_state.spots)
    kinds = {name.rsplit("-", 1)[0] for name in shapes(figure) if not name.startswith("sheet")}
    assert kinds == {"edges", "point", "at-origin", "with-front", "streak", "unread"}
    words = {word for label in layout.labels.values() for word in label.lines}
    assert {"origin", "front", "streak", "unread"} <= words
    assert {"red", "green", "black", "yellow", "brown", "violet", "white"} <= words
    assert {kind for kind, _ in layout.legend} == {"edges", "point", "streak", "at origin", "with front", "unread"}


def test_a_spot_without_a_place_stands_over_the_front(every_state: Measurement) -> None:
    figure, layout = drawn(every_state.marks, every_state.spots)
    (text,) = [text for text in texts(figure) if text.get_text() == "pink"]
    assert 73.0 < text.get_position()[1] < layout.top


def test_front_runs_from_lane_to_lane_and_stops_where_it_was_not_read(every_state: Measurement) -> None:
    figure, _ = drawn(every_state.marks, every_state.spots)
    (axes,) = panels(figure)
    pieces = [line for line in axes.lines if line.get_gid() == "front-line"]
    assert [list(piece.get_ydata()) for piece in pieces] == [[70, 70, 71, 72, 72.5, 72.5, 72.5], [73, 73, 73]]
    gap = pieces[1].get_xdata()[0] - pieces[0].get_xdata()[-1]
    assert gap == pytest.approx(PITCH)  # half a pitch on either side of lane F


def test_even_lines_lie_at_the_readings(inks: Measurement) -> None:
    (axes,) = panels(drawn(*plate_of(inks, "bench 1 ester"))[0])
    lines = {line.get_gid(): set(line.get_ydata()) for line in axes.lines if line.get_gid()}
    assert lines == {"origin-line": {10.0}, "front-line": {73.5}}


@pytest.mark.parametrize(("run", "factor"), [(60.0, 1), (300.0, 2), (500.0, 3)], ids=["60 mm", "300 mm", "500 mm"])
def test_scale_is_true_on_paper(typed: Callable[..., Measurement], run: float, factor: int) -> None:
    measured = typed(
        {"lane": "A", "front_mm": 10 + run, "centre_mm": 30.0}, {"lane": "B", "front_mm": 10 + run, "centre_mm": 30.0}
    )
    figure, layout = drawn(measured.marks, measured.spots)
    (axes,) = panels(figure)
    ends = axes.transData.transform([(20.0, 10.0), (20.0, 10.0 + run), (20.0 + run, 10.0)]) / figure.dpi * MM_PER_INCH
    assert ends[1, 1] - ends[0, 1] == pytest.approx(run / factor, abs=0.05)
    assert ends[2, 0] - ends[0, 0] == pytest.approx(run / factor, abs=0.05)
    assert f"Scale 1:{factor}," in " ".join(layout.notes)
    assert layout.height <= PAGE_HEIGHT


def test_scale_is_true_in_the_files(inks: Measurement) -> None:
    figure = plate_figure(*plate_of(inks, "bench 1 ester"), "plate")
    root = ElementTree.fromstring(figure.draw("svg"))
    assert float(root.get("width").removesuffix("pt")) * MM_PER_POINT == pytest.approx(figure.width, abs=0.05)
    assert float(root.get("height").removesuffix("pt")) * MM_PER_POINT == pytest.approx(figure.height, abs=0.05)
    heights = []
    for line in ("origin-line", "front-line"):
        (group,) = [element for element in root.iter() if element.get("id") == line]
        numbers = re.findall(r"-?\d+\.?\d*", group[0].get("d"))
        heights.append(float(numbers[1]))
    assert (heights[0] - heights[1]) * MM_PER_POINT == pytest.approx(73.5 - 10.0, abs=0.05)
    page = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", figure.draw("pdf"))
    assert [float(side) * MM_PER_POINT for side in page.groups()] == pytest.approx(
        [figure.width, figure.height], abs=0.05
    )


@pytest.mark.parametrize("count", [1, 9, 11, 12, 40], ids=str)
def test_any_number_of_lanes_keeps_to_the_page(typed: Callable[..., Measurement], count: int) -> None:
    measured = typed(*({"lane": str(lane), "centre_mm": 30.0 + lane % 5} for lane in range(count)))
    figure, layout = drawn(measured.marks, measured.spots)
    assert layout.width <= PAGE_WIDTH
    assert layout.height <= PAGE_HEIGHT
    assert [lane.label for panel in layout.panels for lane in panel] == [str(lane) for lane in range(count)]
    assert len(shapes(figure)) == count + len(layout.panels)  # a symbol a lane, a sheet a panel


def test_lanes_stand_twelve_millimetres_apart_in_order_of_appearance(inks: Measurement) -> None:
    figure, _ = drawn(*plate_of(inks, "bench 2 butanol"))
    (axes,) = panels(figure)
    labels = [text for text in axes.texts if text.get_text() in list("123456789")]
    assert [text.get_text() for text in labels] == list("123456789")
    assert np.diff([text.get_position()[0] for text in labels]) == pytest.approx([12.0] * 8)


def crowded() -> Iterator[dict[str, object]]:
    """Nine lanes of five spots 2 mm apart, with long names and colours of several words."""
    colours = ("dark blue", "yellow-green", "reddish brown", "puce", "orange")
    for lane in range(9):
        for spot in range(5):
            centre = 30.0 + 2 * spot + lane
            yield {
                "lane": str(lane), "sample": f"a long sample name, number {lane}, with more words", "spot": str(spot),
                "trailing_mm": centre - 1.5, "centre_mm": centre, "leading_mm": centre + 1.5,
                "colour": colours[(lane + spot) % 5],
            }  # fmt: skip


@pytest.mark.parametrize("which", ["inks", "crowded", "every state"])
def test_no_text_covers_another_or_leaves_the_paper(
    inks: Measurement,
    every_state: Measurement,
    typed: Callable[..., Measurement],
    readable: Callable[[Figure], list[tuple[str, Bbox]]],
    which: str,
) -> None:
    if which == "inks":
        marks, spots = plate_of(inks, "bench 2 ester")
    else:
        measured = every_state if which == "every state" else typed(*crowded())
        marks, spots = measured.marks, measured.spots
    figure, layout = drawn(marks, spots)
    boxes = readable(figure)
    renderer = FigureCanvasAgg(figure).get_renderer()
    assert len(layout.labels) == int((spots["rf"].notna() | spots["state"].isin(["at origin", "with front"])).sum()) + (
        2 if which == "every state" else 0  # unread, and no front
    )
    for patch in (patch for name, patch in shapes(figure).items() if not name.startswith("sheet")):
        shape = patch.get_window_extent(renderer)
        for words, box in boxes:
            if words != "?":
                across = min(box.x1, shape.x1) - max(box.x0, shape.x0)
                along = min(box.y1, shape.y1) - max(box.y0, shape.y0)
                assert across <= 0.5 or along <= 0.5, (words, patch.get_gid())


def test_where_no_number_fits_the_picture_says_so(typed: Callable[..., Measurement]) -> None:
    measured = typed(*({"spot": str(spot), "centre_mm": 11.0 + spot} for spot in range(58)))
    _, layout = drawn(measured.marks, measured.spots)
    assert layout.labels == {}
    assert "the values stand in the description" in " ".join(layout.notes)


def test_description_goes_lane_by_lane_from_the_origin(every_state: Measurement) -> None:
    figure = plate_figure(every_state.marks, every_state.spots, "plate")
    assert figure.description[:3] == (
        "Plate P, 7 lanes, developed in water on silica.",
        "The origin line lies at 10 mm.",
        "The solvent front differs by lane, between 70 and 73 mm; it was not read in lane F.",
    )
    # worked by hand: 20.5/60 = 0.34167, 35/61 = 0.57377, 1/62 = 0.01613 and 61/62 = 0.98387 rounded outward
    starts = [sentence.split(" ± ")[0] for sentence in figure.description[3:]]
    assert starts == [
        "Lane A, edges: front at 70 mm.",
        "Lane A, edges, spot 1, red: centre at 30.5 mm, from 28 to 33 mm, Rf 0.342",
        "Lane A, edges, spot 2, pink: seen but not measured, no Rf.",
        "Lane B, point: front at 71 mm.",
        "Lane B, point, spot 1, green: centre at 45 mm, Rf 0.574",
        "Lane B, point, spot 2, grey: looked for and not found.",
        "Lane C, ends: front at 72 mm.",
        "Lane C, ends, spot 1, black: stayed at the origin, Rf below 0.02.",
        "Lane C, ends, spot 2, yellow: ran with the front, Rf above 0.98.",
        "Lane D, streak: front at 72.5 mm.",
        "Lane D, streak, spot 1, brown: a streak from 20 to 50 mm, darkest at 43 mm, Rf 0.53",
        "Lane E, unread: front at 72.5 mm.",
        "Lane E, unread, spot 1, violet: seen but not measured, centre at 22 mm, from 20 to 24.5 mm, no Rf.",
        "Lane F, no front, spot 1, white: centre at 30 mm, from 28 to 32 mm, no Rf.",
        "Lane G, blank: front at 73 mm.",
        "Lane G, blank: no spot found.",
    ]


@pytest.mark.parametrize("plate", PLATES, ids=PLATES)
def test_description_holds_every_number(inks: Measurement, plate: str) -> None:
    marks, spots = plate_of(inks, plate)
    description = plate_figure(marks, spots, "plate").description
    for mark, spot in zip(marks.to_dict("records"), spots.to_dict("records"), strict=True):
        start = f"Lane {mark['lane']}, {mark['sample']}"
        (sentence,) = [s for s in description if s.startswith(start) and f"spot {mark['spot']}, " in s] or [
            s for s in description if s.startswith(start) and "no spot" in s
        ]
        printed = [float(number) for number in re.findall(r"\d+\.\d+|\d+", sentence)]
        for name in ("trailing_mm", "centre_mm", "leading_mm"):
            assert np.isnan(mark[name]) or mark[name] in printed, (name, sentence)
        match = re.search(r"Rf (\d\.\d+) ± (\d\.\d+)", sentence)
        if np.isnan(spot["rf"]):
            assert match is None
        else:
            half = 0.5 * 10.0 ** -len(match[1].split(".")[1])  # half a unit of the last digit printed
            assert float(match[1]) == pytest.approx(spot["rf"], abs=half * 1.001)
            assert float(match[2]) == pytest.approx(spot["u_rf"], abs=half * 1.001)
        if mark["state"] == "at origin":
            assert 0 <= float(re.search(r"below (\d\.\d+)", sentence)[1]) - spot["rf_high"] < 0.01
        if mark["state"] == "with front":
            assert 0 <= spot["rf_low"] - float(re.search(r"above (\d\.\d+)", sentence)[1]) < 0.01


def test_a_picture_shows_the_tables_as_they_were(inks: Measurement) -> None:
    marks, spots = (frame.copy() for frame in plate_of(inks, "bench 1 ester"))
    figure = plate_figure(marks, spots, "plate")
    before = figure.draw("svg")
    marks.loc[:, "centre_mm"] = 11.0
    marks.loc[:, "colour"] = "green"
    assert figure.draw("svg") == before


def test_rows_of_several_plates_are_refused(inks: Measurement) -> None:
    with pytest.raises(
        AnalysisError, match="'plates': wanted the rows of one plate, given rows of 6 plates: 'bench 1 e"
    ):
        plate_figure(inks.marks, inks.spots, "plates")


def test_no_row_is_refused(inks: Measurement) -> None:
    with pytest.raises(AnalysisError, match="'none': wanted the rows of one plate, given no row"):
        plate_figure(inks.marks.iloc[:0], inks.spots.iloc[:0], "none")


def test_rows_that_do_not_belong_together_are_refused(inks: Measurement) -> None:
    with pytest.raises(AnalysisError, match="with the same rows, given 3 and 4 rows or another index"):
        plate_figure(inks.marks.iloc[:3], inks.spots.iloc[:4], "plate")


def test_a_missing_column_is_named(inks: Measurement) -> None:
    with pytest.raises(AnalysisError, match=r"spots: wanted the columns .*, but u_rf is missing"):
        plate_figure(inks.marks, inks.spots.drop(columns="u_rf"), "plate")

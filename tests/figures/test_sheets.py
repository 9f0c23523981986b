"""The printed sheet, measured in its files: PDF by pdfplumber, drawn by pdfium, SVG by its own numbers.

Nothing here asks the layout where things are: the corner of the sheet is found as the outline in the file, and all else
is measured from it and compared with the plan.
"""

from __future__ import annotations

import io
import re
from math import nan
from xml.etree import ElementTree

import numpy as np
import pdfplumber
import pypdfium2
import pytest
from pdfminer.pdftypes import resolve1

from lanewise.errors import PlanError
from lanewise.figures.look import painted
from lanewise.figures.sheet_layout import lay_out_sheet
from lanewise.figures.sheets import paint_sheet, sheet_figure
from lanewise.planning.plans import plan
from lanewise.planning.vessels import Vessel

MM = 25.4 / 72
TOLERANCE = 0.05  # what the printed lines are to keep [mm]
EXACT = 0.001  # what the file keeps [mm]
SIZES = {"A4": (210.0, 297.0), "Letter": (215.9, 279.4), "A3": (297.0, 420.0)}  # ISO 216; 8.5 in by 11 in (memory)
INKS = ("blue pen", "black pen", "green pen", "brown felt tip", "red pen")
LOW = Vessel(diameter=70, height=95)

PLANS = {
    "one lane": lambda: plan(["blue pen"], width=30, height=90),
    "eight lanes": lambda: plan(INKS, ["dye A", "dye B"], width=100, height=100, blank=True, seed=5, system="water"),
    "folded": lambda: plan(INKS, ["dye A", "dye B"], width=90, height=90, standing="folded", panels=3),
    "rolled": lambda: plan(INKS, ["dye A"], width=190, height=90, vessel=LOW, standing="rolled", replicates=2, seed=1),
    "large": lambda: plan(INKS, ["dye A", "dye B"], width=150, height=150, system="water", seed=1),
    "odd sizes": lambda: plan(list("abcd"), width=83.7, height=121.3, origin=17.25, front=104.6, depth=8.5),
}
CASES = [(name, page) for name in PLANS for page in ("A4", "Letter")]
IDS = [f"{name} on {page}" for name, page in CASES]


class Measured:
    """Straight strokes and rectangles of a PDF, in mm from the lower left corner of the outline of the sheet."""

    def __init__(self, data, width, height):
        with pdfplumber.open(io.BytesIO(data)) as document:
            (page,) = document.pages
            self.page = (float(page.width) * MM, float(page.height) * MM)
            boxes = [tuple(MM * float(one[key]) for key in ("x0", "x1", "y0", "y1")) for one in page.rects]
            strokes = [tuple(MM * float(one[key]) for key in ("x0", "x1", "y0", "y1")) for one in page.lines]
            curves = [tuple(MM * float(one[key]) for key in ("x0", "x1", "y0", "y1")) for one in page.curves]
            self.fonts = {one["fontname"] for one in page.chars}
            self.text = page.extract_text()
        outlines = [
            (x0, y0)
            for x0, x1, y0, y1 in boxes
            if abs(x1 - x0 - width) < TOLERANCE and abs(y1 - y0 - height) < TOLERANCE
        ]
        assert len(outlines) == 1, boxes
        ((self.left, self.bottom),) = outlines
        self.data = data
        self.strokes = np.array([self.from_corner(one) for one in strokes])
        self.boxes = np.array([self.from_corner(one) for one in boxes])
        self.curves = np.array([self.from_corner(one) for one in curves]).reshape(-1, 4)

    def from_corner(self, one):
        x0, x1, y0, y1 = one
        return x0 - self.left, x1 - self.left, y0 - self.bottom, y1 - self.bottom

    def across(self, x0, x1):
        """Heights of the level strokes with these ends."""
        s = self.strokes
        found = (abs(s[:, 0] - x0) < TOLERANCE) & (abs(s[:, 1] - x1) < TOLERANCE) & (s[:, 3] - s[:, 2] < EXACT)
        return np.sort(s[found, 2])

    def along(self, y0, y1):
        """Places of the upright strokes with these ends."""
        s = self.strokes
        found = (abs(s[:, 2] - y0) < TOLERANCE) & (abs(s[:, 3] - y1) < TOLERANCE) & (s[:, 1] - s[:, 0] < EXACT)
        return np.sort(s[found, 0])


@pytest.fixture(scope="module")
def sheets():
    """Draw and measure each case once."""
    held = {}

    def get(name, page, kind="guide"):
        if (name, page, kind) not in held:
            found = PLANS[name]()
            data = sheet_figure(found, page, kind).draw("pdf")
            held[name, page, kind] = found, Measured(data, found.wanted.width, found.wanted.height)
        return held[name, page, kind]

    return get


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
def test_the_page_has_the_size_of_the_paper(sheets, name, page):
    found, measured = sheets(name, page)
    size = SIZES[page] if found.wanted.width < 160 else SIZES[page][::-1]
    assert measured.page == pytest.approx(size, abs=EXACT)


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
def test_lines_across_lie_where_the_plan_says(sheets, name, page):
    found, measured = sheets(name, page)
    origin, front, depth = found.levels
    bare = 12.0 if depth < 12 else 0.0  # the corner with the mark stays bare
    lines = measured.across(0, found.wanted.width)
    assert lines == pytest.approx([origin, front], abs=EXACT)
    assert measured.across(bare, found.wanted.width) == pytest.approx([depth], abs=EXACT)


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
@pytest.mark.parametrize("kind", ["guide", "outline"])
def test_lanes_lie_where_the_plan_says(sheets, name, page, kind):
    found, measured = sheets(name, page, kind)
    height = found.wanted.height
    pointers = measured.along(-3.5, -1.0)
    assert pointers == pytest.approx(found.positions, abs=EXACT)
    assert measured.along(height + 1, height + 3.5) == pytest.approx(
        np.sort([*found.positions, *found.folds]), abs=EXACT
    )
    lanes = measured.along(found.levels.origin - found.wanted.spot, found.levels.front)
    assert lanes == pytest.approx(found.positions if kind == "guide" else [], abs=EXACT)


@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_folds_lie_where_the_plan_says(sheets, page):
    found, measured = sheets("folded", page)
    folds = measured.along(0, found.wanted.height)
    assert folds == pytest.approx([30, 60], abs=EXACT)
    assert tuple(folds) == pytest.approx(found.folds, abs=EXACT)


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
@pytest.mark.parametrize("kind", ["guide", "outline"])
def test_pointers_show_the_three_lines_at_both_sides(sheets, name, page, kind):
    found, measured = sheets(name, page, kind)
    width = found.wanted.width
    for ends in ((-5, -1), (width + 1, width + 5)):
        heights = measured.across(*ends)
        for level in found.levels:
            assert abs(heights - level).min() < EXACT


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
def test_a_millimetre_scale_runs_along_both_sides(sheets, name, page):
    found, measured = sheets(name, page)
    last = int(found.wanted.height)
    width = found.wanted.width
    for side in (-1.0, width + 1.0):
        way = -1 if side < 0 else 1
        heights = np.concatenate([measured.across(*sorted((side, side + way * length))) for length in (1.5, 2.5, 4.0)])
        for level in range(last + 1):
            assert abs(heights - level).min() < EXACT
        longest = measured.across(*sorted((side, side + way * 4.0)))
        assert {10.0 * n for n in range(last // 10 + 1)} <= set(np.round(longest, 3))


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
def test_the_check_bar_is_100_mm_long(sheets, name, page):
    _, measured = sheets(name, page)
    s = measured.strokes
    bars = s[(s[:, 0] < -8) & (s[:, 1] - s[:, 0] < EXACT)]
    assert len(bars) == 1
    assert bars[0, 3] - bars[0, 2] == pytest.approx(100.0, abs=EXACT)
    ends = s[(s[:, 1] < -8) & (s[:, 3] - s[:, 2] < EXACT)]
    assert np.sort(ends[:, 2]) == pytest.approx([0.0, 100.0], abs=EXACT)


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
def test_spots_have_their_size_and_the_shape_of_their_role(sheets, name, page):
    found, measured = sheets(name, page)
    origin, half = found.levels.origin, found.wanted.spot / 2
    for lane in found.lanes:
        expected = (lane.x - half, lane.x + half, origin - half, origin + half)
        shapes = measured.boxes if lane.role == "standard" else measured.curves
        assert np.abs(shapes - expected).max(axis=1).min() < 0.01, lane


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
def test_fonts_are_in_the_file(sheets, name, page):
    with pdfplumber.open(io.BytesIO(sheets(name, page)[1].data)) as document:
        fonts = resolve1(document.pages[0].page_obj.resources["Font"])
        assert fonts
        for one in fonts.values():
            font = resolve1(one)
            for part in resolve1(font.get("DescendantFonts", [font])):
                assert "FontFile2" in resolve1(resolve1(part)["FontDescriptor"])


@pytest.mark.parametrize("name", PLANS)
def test_svg_has_the_same_size_and_lines(name):
    found = PLANS[name]()
    root = ElementTree.fromstring(sheet_figure(found, "A4").draw("svg"))
    size = [float(root.get(key).removesuffix("pt")) * MM for key in ("width", "height")]
    assert sorted(size) == pytest.approx([210.0, 297.0], abs=EXACT)
    assert [float(n) for n in root.get("viewBox").split()][2:] == pytest.approx([one / MM for one in size], abs=1e-5)

    def points(name):
        (group,) = root.findall(f".//*[@id='{name}']")
        (path,) = group.iter("{http://www.w3.org/2000/svg}path")
        numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", path.get("d"))]
        return np.array(numbers).reshape(-1, 2) * MM

    outline = points("outline")
    left, bottom = outline[:, 0].min(), outline[:, 1].max()  # y runs down
    for line, level in zip(("origin", "front-target", "liquid"), found.levels, strict=True):
        assert bottom - points(line)[:, 1] == pytest.approx(level, abs=EXACT)
    for lane in found.lanes:
        assert points(f"lane-{lane.label}")[:, 0] - left == pytest.approx(lane.x, abs=EXACT)
    bar = points("check-bar")
    assert np.ptp(bar[:, 1]) == pytest.approx(100.0, abs=EXACT)


def pixels(data, per_mm=8):
    """Draw a PDF with pdfium; grey values, row 0 at the lower edge of the page."""
    with pypdfium2.PdfDocument(data) as document:
        bitmap = document[0].render(scale=per_mm * MM, grayscale=True)
        return np.asarray(bitmap.to_numpy()).squeeze()[::-1].astype(float)


@pytest.mark.parametrize("kind", ["guide", "outline"])
@pytest.mark.parametrize("page", ["A4", "Letter"])
def test_the_corner_mark_is_three_discs_of_four(sheets, page, kind):
    """As a reader of photographs looks for it: dark at 3 and 7 mm from the sides, bare between and beyond."""
    found, measured = sheets("eight lanes", page, kind)
    grey = pixels(measured.data)

    def at(x, y):
        column, row = round((measured.left + x) * 8), round((measured.bottom + y) * 8)
        return grey[row - 4 : row + 5, column - 4 : column + 5].mean()  # a square millimetre

    assert max(at(3, 3), at(7, 3), at(3, 7)) < 60
    assert min(at(7, 7), at(5, 5), at(5, 3), at(3, 5), at(9, 3), at(3, 9)) > 250
    right, top = found.wanted.width, found.wanted.height
    assert min(at(right - 3, 3), at(3, top - 3), at(right - 3, top - 3)) > 250


@pytest.mark.parametrize(("name", "page"), CASES, ids=IDS)
@pytest.mark.parametrize("kind", ["guide", "outline"])
def test_no_text_covers_another_or_leaves_the_page(readable, name, page, kind):
    layout = lay_out_sheet(PLANS[name](), page, kind)
    texts = [text for text, _ in readable(painted((layout.width, layout.height), lambda f: paint_sheet(f, layout)))]
    assert {"origin", "front target", "liquid", "check bar, 100 mm"} <= set(texts)
    assert {lane.label for lane in layout.plan.lanes} <= set(texts)


def test_forty_narrow_lanes_can_be_read(readable):
    layout = lay_out_sheet(plan([f"ink {n}" for n in range(40)], width=100, height=100, spot=1))
    readable(painted((layout.width, layout.height), lambda f: paint_sheet(f, layout)))


@pytest.mark.parametrize(
    ("size", "page", "said"),
    [
        pytest.param((200, 200), "A4", r"at full size on A4, given 200 mm by 200 mm\. Print on A3", id="large plate"),
        pytest.param((168, 168), "Letter", r"on Letter, given 168 mm by 168 mm\. Print on A3", id="just too large"),
        pytest.param((500, 500), "A3", r"Draw it with a ruler", id="poster"),
        pytest.param((80, 80), "B5", r"page: wanted one of A4, Letter, A3, given 'B5'", id="unknown page"),
    ],
)
def test_a_sheet_that_does_not_fit_is_refused(size, page, said):
    with pytest.raises(PlanError, match=said):
        sheet_figure(plan(["a"], width=size[0], height=size[1]), page)


def test_kind_is_guide_or_outline():
    with pytest.raises(PlanError, match=r"kind: wanted one of guide, outline, given 'under'"):
        sheet_figure(plan(["a"], width=80, height=80), kind="under")


@pytest.mark.parametrize("page", ["A4", "Letter", "A3"])
def test_the_largest_that_is_offered_fits_and_no_more(page):
    def fits(width, height):
        try:
            return bool(sheet_figure(plan(["a"], width=width, height=height), page))
        except PlanError as refused:
            return False if refused else nan

    with pytest.raises(PlanError, match="at most") as refused:
        sheet_figure(plan(["a"], width=800, height=800), page)
    (width, height), (other_width, other_height) = [
        tuple(map(int, pair)) for pair in re.findall(r"(\d+) mm by (\d+) mm on a page", str(refused.value))
    ]
    assert fits(width, height)
    assert fits(other_width, other_height)
    assert not fits(width + 1, height)
    assert not fits(width, height + 2)


def test_the_same_plan_gives_the_same_bytes():
    first, second = (sheet_figure(PLANS["folded"](), "A4") for _ in range(2))
    assert first.draw("pdf") == second.draw("pdf")
    assert first.draw("svg") == second.draw("svg")


def test_the_description_carries_the_numbers():
    said = " ".join(sheet_figure(PLANS["folded"](), "A4").description)
    assert "Origin line at 15 mm, front target at 80 mm, liquid at 10 mm" in said
    assert "Folds at 30, 60 mm" in said
    assert "Lane 7 at 80 mm from the left side: red pen." in said

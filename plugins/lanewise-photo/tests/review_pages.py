"""Review pages in a real browser, and how the tests take hold of what is on them."""

import os
import shutil
from functools import cache
from importlib.util import find_spec

import numpy as np
import pytest
from photo_pictures import Scene, draw, saved

import lanewise
from lanewise_photo.applying import apply
from lanewise_photo.by_hand import read_corrected, recorded
from lanewise_photo.corrections import parse
from lanewise_photo.measuring import measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.review import review_page
from lanewise_photo.settings import settings_of
from lanewise_photo.study import study_of

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
NEEDED = os.environ.get("LANEWISE_NEEDS_BROWSER") == "1"
IN_A_BROWSER = pytest.mark.skipif(
    not NEEDED and (CHROMIUM is None or find_spec("playwright") is None or find_spec("axe_playwright_python") is None),
    reason="needs Chromium, playwright and axe-playwright-python (extra 'test'); LANEWISE_NEEDS_BROWSER=1 demands them",
)
GIVEN = settings_of(PhotographOptions(size="80 x 100", orientation="up"))
NAME = "inks.png"


@cache
def data_of_inks():
    return saved(draw())


@pytest.fixture(scope="module")
def browser():
    from playwright.sync_api import sync_playwright

    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pages")
    (folder / "read.html").write_bytes(review_page(reading_of_inks(), data_of_inks(), settings=GIVEN))
    dark = saved(draw(Scene(light=0.02)))
    (folder / "hand.html").write_bytes(
        review_page(None, dark, name="dark.png", refused="too_dark", settings=settings_of(PhotographOptions()))
    )
    (folder / "dark.png").write_bytes(dark)
    return folder


@pytest.fixture
def opened(browser, files):
    """Give a function that opens a page; at the end there was no fault in it, and nothing was asked of the network."""
    contexts, faults = [], []

    def opening(name="read.html", width=1200, height=1000, scheme="light", **more):
        context = browser.new_context(viewport={"width": width, "height": height}, color_scheme=scheme, **more)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda fault: faults.append(str(fault)))
        page.on("console", lambda said: faults.append(said.text) if said.type in {"error", "warning"} else None)
        page.on(
            "request",
            lambda asked: faults.append(asked.url) if not asked.url.startswith(("file:", "data:", "blob:")) else None,
        )
        page.goto((files / name).as_uri())
        return page

    opening.faults = faults
    yield opening
    for context in contexts:
        context.close()
    assert faults == []


def text_of(page):
    return page.locator("#text").input_value()


@cache
def reading_of_inks():
    return measure(data_of_inks(), NAME, GIVEN)


def corrected(page):
    """Give the study that the library makes of the text on the page."""
    corrections = parse(text_of(page))
    by_hand = corrections.of("by hand", "1")
    reading = (
        read_corrected(data_of_inks(), NAME, GIVEN, corrections) if by_hand else apply(reading_of_inks(), corrections)
    )
    return recorded(study_of(reading, GIVEN), reading, corrections)


def check_numbers(page, study, within=0.0006):
    """Every Rf and interval on the page is the library's, to the three digits that the page shows."""
    spots = lanewise.measure(lanewise.to_frame(study)).spots
    library = {(row.lane, row.spot): row for row in spots.itertuples()}
    shown = page.evaluate(
        "S.sheets.flatMap(s => s.lanes.flatMap(l => l.spots.map(p => [l.label, p.label, p.state, ratio(s, l, p)])))"
    )
    assert {(lane, spot) for lane, spot, _, _ in shown} == set(library)
    for lane, spot, state, numbers in shown:
        row = library[lane, spot]
        assert row.state == state
        if state == "unread" or np.isnan(row.rf_low):
            continue
        assert numbers["low"] == pytest.approx(row.rf_low, abs=within)
        assert numbers["high"] == pytest.approx(row.rf_high, abs=within)
        if state in {"measured", "streak"}:
            assert numbers["rf"] == pytest.approx(row.rf, abs=1e-5)


def mark_of(page, lane, spot):
    return page.locator(f"[role=slider][aria-label^='Lane {lane}, spot {spot},']:not([aria-label$=' edge'])")


def centre_of(page, locator):
    box = locator.locator(".hit").bounding_box()
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def screen_at(page, x, y):
    """Where a place of the sheet in millimetres is on the screen, once it is scrolled to."""
    return page.evaluate(
        """([x, y]) => { const where = () => {
          const [u, v] = map(S.sheets[0]).pixels(x, y), box = view.getBoundingClientRect();
          const [left, top, width, height] = view.getAttribute("viewBox").split(" ").map(Number);
          return [box.left + (u - left) / width * box.width, box.top + (v - top) / height * box.height]; };
        const pane = document.getElementById("pane");
        pane.scrollIntoView({ block: "nearest", behavior: "instant" });
        const box = pane.getBoundingClientRect(), [, now] = where();
        if (now < box.top + 30 || now > box.bottom - 30) pane.scrollTop += now - box.top - box.height / 2;
        return where(); }""",
        [x, y],
    )


def fill(page, label, value, nth=0):
    page.get_by_label(label).nth(nth).fill(value)
    page.keyboard.press("Tab")


def now_of(page, lane, spot):
    return float(mark_of(page, lane, spot).get_attribute("aria-valuenow"))


def swipe(page, x, y, by):
    """Put a finger down, move it up in three steps, and take it away."""
    session = page.context.new_cdp_session(page)
    session.send("Input.dispatchTouchEvent", {"type": "touchStart", "touchPoints": [{"x": x, "y": y}]})
    for step in range(1, 4):
        point = {"x": x, "y": y - by * step / 3}
        session.send("Input.dispatchTouchEvent", {"type": "touchMove", "touchPoints": [point]})
    session.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

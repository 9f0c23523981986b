"""Whether everybody can use the review page: targets, labels, focus, size, speed, and no network."""

import numpy as np
import pytest
from photo_pictures import LANES, MARKS, draw, saved
from review_pages import IN_A_BROWSER, centre_of, mark_of

from lanewise_photo.review import review_page

pytestmark = IN_A_BROWSER


@pytest.mark.parametrize("name", ["read.html", "hand.html"])
def test_touch_targets_are_large_enough(opened, name):
    page = opened(name, width=390, height=844, has_touch=True, is_mobile=True)
    page.locator("[role=slider]").last.focus()
    sizes = page.evaluate(
        """() => [...document.querySelectorAll("button, select, input, summary, .hit, #tools label")]
        .filter((one) => one.checkVisibility() && !["radio", "checkbox"].includes(one.type))
        .map((one) => [one.id || one.getAttribute("class") || one.textContent, one.getBoundingClientRect().height,
          one.getBoundingClientRect().width])"""
    )
    assert len(sizes) > 20
    # 44 CSS pixels: WCAG 2.2, success criterion 2.5.5 (enhanced); 24 is 2.5.8 (minimum). From memory.
    assert [one for one in sizes if one[1] < 43.5] == []
    assert [one for one in sizes if one[2] < 24] == []


def test_what_can_be_drawn_of_one_spot_lies_apart(opened):
    page = opened(width=390, height=844, has_touch=True, is_mobile=True)
    page.touchscreen.tap(*centre_of(page, mark_of(page, 2, 1)))
    places = [centre_of(page, one) for one in page.locator("[role=slider][aria-label^='Lane 2, spot 1']").all()]
    assert len(places) == 3
    for number, one in enumerate(places):
        assert all(np.hypot(one[0] - x, one[1] - y) >= 24 for x, y in places[number + 1 :])


def test_labels_do_not_meet(opened):
    page = opened(width=390, height=844)
    boxes = page.evaluate(
        """() => [...view.querySelectorAll("text")].map((one) => { const box = one.getBoundingClientRect();
        return [one.textContent, box.left, box.top + 0.2 * box.height, box.right, box.bottom - 0.2 * box.height]; })"""
    )
    assert len(boxes) == 2 + len(LANES) + sum(map(len, MARKS.values()))
    for number, (one, *a) in enumerate(boxes):
        for other, *b in boxes[number + 1 :]:
            apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
            assert apart, (one, other)


def test_opens_within_a_second_at_twelve_megapixels(opened, files):
    code = np.asarray(draw(), dtype=np.uint16)
    large = np.kron(code, np.ones((5, 6, 1), np.uint16))[:3000, :4000]
    (files / "large.html").write_bytes(review_page(None, saved(large, "JPEG", quality=90), name="large.jpg"))
    page = opened("large.html")
    page.evaluate("document.querySelector('image') && view.clientWidth")
    took = page.evaluate("performance.getEntriesByType('navigation')[0].loadEventEnd")
    assert (files / "large.html").stat().st_size < 2_000_000
    assert took < 1000  # milliseconds


def test_network_is_forbidden_by_the_page_itself(opened):
    page = opened()
    asked = page.evaluate(
        """async () => { try { await fetch("https://lanewise.invalid/x"); return "let through"; }
        catch (why) { return String(why); } }"""
    )
    assert asked != "let through"
    blocked = page.evaluate(
        """() => new Promise((done) => { document.addEventListener("securitypolicyviolation",
        (event) => done(event.effectiveDirective), { once: true });
        document.body.append(Object.assign(new Image(), { src: "https://lanewise.invalid/x.png" })); })"""
    )
    assert blocked == "img-src"
    assert all("Content Security Policy" in fault or "lanewise.invalid" in fault for fault in opened.faults)
    opened.faults.clear()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [320, 1200])
@pytest.mark.parametrize("name", ["read.html", "hand.html"])
def test_accessible(opened, name, width, scheme):
    from axe_playwright_python import sync_playwright as axe

    page = opened(name, width=width, scheme=scheme)
    page.locator("summary").click()
    page.locator("[role=slider]").first.focus()
    if name == "read.html":
        mark_of(page, 2, 1).focus()
        page.keyboard.press("ArrowUp")
    found = axe.Axe().run(page)
    assert [(one["id"], [node["html"][:120] for node in one["nodes"]]) for one in found.response["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width


def test_at_twice_the_size_nothing_runs_off(opened):
    page = opened(width=640, height=512, device_scale_factor=2)
    assert page.evaluate("document.documentElement.scrollWidth") <= 640
    page.evaluate("document.documentElement.style.fontSize = '200%'")
    assert page.evaluate("document.documentElement.scrollWidth") <= 640


def test_focus_goes_through_all_marks_and_is_seen(opened):
    page = opened()
    page.locator("#pane").focus()
    seen = []
    for _ in range(30):
        page.keyboard.press("Tab")
        label = page.evaluate(
            "document.activeElement.closest('svg') ? document.activeElement.getAttribute('aria-label') : null"
        )
        if label is None:
            break
        seen.append(label)
        assert page.evaluate("getComputedStyle(document.activeElement.querySelector('.ring')).stroke") != "none"
    assert seen[:2] == ["origin", "front"]
    assert len([label for label in seen if not label.endswith(" edge")]) == 2 + sum(map(len, MARKS.values()))

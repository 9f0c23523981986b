from __future__ import annotations

import base64
import hashlib
import itertools
import re

import pytest

from lanewise.document import Figure, Paragraph, Report, Section, Table
from lanewise.styles import html
from lanewise.styles.builtin import HtmlOptions


@pytest.fixture
def page(report, readback):
    return readback.html_page(html.render(report, HtmlOptions()).main)


def lay_out(readback, *blocks, options=None):
    report = Report("Inks", ("One sentence.",), (Section("Sheet", blocks),))
    return readback.html_page(html.render(report, options or HtmlOptions()).main)


def test_the_page_has_language_title_and_one_heading_of_its_own(page, report):
    assert page.one("html").attributes["lang"] == "en-GB"
    assert page.one("title").text == page.one("h1").text == report.title
    assert len(page.all("main")) == len(page.all("header")) == len(page.all("nav")) == 1
    settings = {node.attributes.get("name"): node.attributes.get("content") for node in page.all("meta")}
    assert settings["viewport"] == "width=device-width, initial-scale=1"
    assert page.one("head").all("meta")[0].attributes == {"charset": "utf-8"}


def test_headings_come_in_order_and_the_summary_first(page, report):
    levels = [int(node.tag[1]) for node in page.all("h1", "h2", "h3", "h4", "h5", "h6")]
    assert levels[0] == 1
    assert all(after <= before + 1 for before, after in itertools.pairwise(levels))
    titles = [node.text for node in page.all("h2")]
    assert titles == ["Summary", "Contents", *(section.title or "(untitled)" for section in report.sections)]
    first = page.one("main").all("section")[0]
    assert [node.text for node in first.all("p")] == list(report.summary)


def test_links_stay_inside_the_page_and_lead_somewhere(page):
    targets = {node.attributes["id"] for node in page.walk() if "id" in node.attributes}
    links = [node.attributes["href"] for node in page.all("a")]
    assert links[0] == "#sections"
    assert len(links) == 6
    assert {link.removeprefix("#") for link in links} <= targets


def test_no_id_stands_twice(page):
    ids = [node.attributes["id"] for node in page.walk() if "id" in node.attributes]
    assert len(ids) == len(set(ids))


def test_nothing_is_fetched_and_nothing_runs(page, sample):
    assert not page.all("script", "link", "iframe", "object", "embed", "form", "base", "svg")
    for node in page.walk():
        assert not [name for name in node.attributes if name.startswith("on") or name == "style"]
        for name in ("src", "href", "srcset", "action", "data"):
            assert node.attributes.get(name, "#").startswith(("#", "data:image/"))
    assert "url(" not in page.one("style").text
    assert "@import" not in page.one("style").text
    plain = html.render(sample.plain_report(), HtmlOptions()).main
    assert b"://" not in plain


def test_the_policy_allows_this_style_sheet_and_pictures_only(page):
    (policy,) = [n.attributes["content"] for n in page.all("meta") if "http-equiv" in n.attributes]
    digest = base64.b64encode(hashlib.sha256(page.one("style").text.encode()).digest()).decode()
    assert policy.split("; ") == [
        "default-src 'none'",
        f"style-src 'sha256-{digest}'",
        "img-src data:",
        "base-uri 'none'",
        "form-action 'none'",
    ]


def test_tables_have_captions_header_cells_and_a_region_to_scroll(page, report):
    blocks = [block for section in report.sections for block in section.blocks if isinstance(block, Table)]
    regions = [node for node in page.all("div") if node.attributes.get("role") == "region"]
    assert len(regions) == len(page.all("table")) == len(blocks)
    labels = [region.attributes["aria-label"] for region in regions]
    assert len(set(labels)) == len(labels)
    for region, block in zip(regions, blocks, strict=True):
        assert region.attributes["tabindex"] == "0"
        assert region.one("caption").text.startswith(html.clean(block.caption))
        for cell in region.all("th"):
            assert cell.attributes["scope"] in ("col", "row")
            assert cell.text.strip()


def test_row_names_and_numbers_are_marked(readback, sample):
    page = lay_out(readback, sample.readings())
    assert [node.attributes["scope"] for node in page.one("thead").all("th")] == ["col"] * 13
    row = page.one("tbody").all("tr")[0].all("th", "td")
    assert [cell.attributes.get("scope") for cell in row] == ["row", "row", *[None] * 11]
    right = [index for index, cell in enumerate(row) if "number" in cell.attributes.get("class", "").split()]
    assert right == [index for index, number in enumerate(sample.readings().numeric) if number]
    style = page.one("style").text
    assert re.search(r"\.number \{ text-align: right; font-variant-numeric: tabular-nums", style)


def test_wide_tables_and_their_heading_turn_the_paper(readback, sample):
    turned = lay_out(readback, sample.readings())
    marked = [node.tag for node in turned.walk() if "sideways" in node.attributes.get("class", "").split()]
    assert marked == ["h2", "div"]
    upright = lay_out(readback, Paragraph("Before."), sample.results(), sample.readings())
    assert [n.tag for n in upright.walk() if "sideways" in n.attributes.get("class", "").split()] == ["div"]


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_a_figure_holds_its_picture_and_its_words(readback, sample, kind):
    figure = sample.figure()
    node = lay_out(readback, figure, options=HtmlOptions(figures=kind)).one("figure")
    media, content = node.one("img").attributes["src"].split(";base64,")
    assert media == {"svg": "data:image/svg+xml", "png": "data:image/png"}[kind]
    assert base64.b64decode(content) == figure.draw(kind)
    assert node.one("img").attributes["alt"] == "Picture 1 (plate-1), described in words below"
    assert node.one("figcaption").text == figure.caption
    assert "open" not in node.one("details").attributes
    assert tuple(item.text for item in node.all("li")) == figure.description


def test_descriptions_are_unfolded_when_asked_for(readback, sample):
    node = lay_out(readback, sample.figure(), options=HtmlOptions(unfolded=True))
    assert "open" in node.one("details").attributes


def test_a_picture_has_its_size_on_paper(readback, sample):
    # 80 mm and 50 mm at 96 pixels an inch of 25.4 mm (CSS Values and Units Module Level 3, section 6.2)
    picture = lay_out(readback, sample.figure()).one("img")
    assert (picture.attributes["width"], picture.attributes["height"]) == ("302", "189")


def test_a_figure_without_words_is_told_by_its_caption(readback, sample):
    node = lay_out(readback, sample.figure("plate-2", ())).one("figure")
    assert node.one("img").attributes["alt"] == node.one("figcaption").text
    assert not node.all("details")


def test_contents_can_be_left_out(readback, report):
    page = readback.html_page(html.render(report, HtmlOptions(contents=False)).main)
    assert not page.all("nav")


def test_a_hostile_language_and_caption_stay_attributes(readback):
    table = Table('"><script>', ("a",), (("b",),), (False,))
    figure = Figure('x" onerror="alert(1)', '"><b>', (), lambda kind: b"<svg/>", 10.0, 10.0)
    report = Report("Inks", (), (Section("s", (table, figure)),), language='"><script>')
    page = readback.html_page(html.render(report, HtmlOptions()).main)
    assert page.one("html").attributes == {"lang": '"><script>'}
    assert not page.all("script", "b")
    assert page.one("img").attributes["alt"] == '"><b>'


def _luminance(colour):
    # WCAG 2.2, definition of relative luminance
    parts = [int(colour[place : place + 2], 16) / 255 for place in (1, 3, 5)]
    linear = [part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


@pytest.mark.parametrize("setting", [0, 1], ids=["light", "dark"])
def test_colours_have_contrast_enough(page, setting):
    roots = re.findall(r":root \{(.*?)\}", page.one("style").text, re.DOTALL)
    colours = dict(re.findall(r"--(\w+): (#[0-9a-f]{6})", roots[setting]))
    for text in ("ink", "quiet", "strong"):
        for ground in ("paper", "box", "row"):
            high, low = sorted((_luminance(colours[text]), _luminance(colours[ground])), reverse=True)
            assert (high + 0.05) / (low + 0.05) >= 4.5  # WCAG 2.2, success criterion 1.4.3


def test_contrast_formula_on_its_limits():
    # WCAG 2.2: contrast runs from 1 to 21, black on white being 21
    assert (_luminance("#ffffff") + 0.05) / (_luminance("#000000") + 0.05) == pytest.approx(21)

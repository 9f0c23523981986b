"""Files of pictures: the same bytes each time, whatever the texts and whatever the user's settings."""

from __future__ import annotations

import hashlib
import io
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from xml.etree import ElementTree

import matplotlib
import pytest
from PIL import Image

from lanewise.analyses.measure import Measurement
from lanewise.document import Figure
from lanewise.figures.charts import rf_figure
from lanewise.figures.plates import plate_figure

MAKERS = {
    "plate": lambda measured: plate_figure(measured.marks, measured.spots, "plate"),
    "chart": lambda measured: rf_figure(measured.spots, measured.marks, "chart"),
}
KINDS = ("svg", "png", "pdf")

HOSTILE = {
    "open formula": "$x_",
    "formula": r"$\frac{a}{b}$",
    "broken formula": "$x_$",
    "macro": r"\input{x} \frac",
    "markup": "<b>bold</b> & </svg> ]]> \"'",
    "200 letters": "W" * 200,
    "200 characters": "long name " * 20,
    "right to left": "דיו שחור كحلي",
    "emoji": "🖋️ ink 👩‍🔬",
    "other script": "墨水",
    "controls": "a\nb\tc\x00\x1b\u202e\ufffe d",
    "lone surrogate": "ink \ud800",
    "combining": "e\u0301" * 30,
    "spaces": "   ",
    "hyphens": "-----",
    "percent and braces": "100 % {0} %(x)s",
}

IN_ANOTHER_PROCESS = """
import hashlib, sys
import pandas as pd
from lanewise.figures.charts import rf_figure
from lanewise.figures.plates import plate_figure
marks, spots = pd.read_pickle(sys.argv[1]), pd.read_pickle(sys.argv[2])
for figure in (plate_figure(marks, spots, "plate"), rf_figure(spots, marks, "chart")):
    for kind in ("svg", "png", "pdf"):
        print(hashlib.sha256(figure.draw(kind)).hexdigest())
assert "matplotlib.pyplot" not in sys.modules
"""


def hashes(measured: Measurement) -> list[str]:
    figures = (make(measured) for make in MAKERS.values())
    return [hashlib.sha256(figure.draw(kind)).hexdigest() for figure in figures for kind in KINDS]


def test_another_process_draws_the_same_bytes_and_needs_no_pyplot(every_state: Measurement, tmp_path: Path) -> None:
    paths = [tmp_path / "marks.pkl", tmp_path / "spots.pkl"]
    every_state.marks.to_pickle(paths[0])
    every_state.spots.to_pickle(paths[1])
    environment = {**os.environ, "PYTHONHASHSEED": "4711"}
    command = [sys.executable, "-W", "error", "-c", IN_ANOTHER_PROCESS, *map(str, paths)]
    told = subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
    assert told.split() == hashes(every_state) == hashes(every_state)


def test_settings_of_the_user_neither_count_nor_change(every_state: Measurement) -> None:
    plain = hashes(every_state)
    odd = {
        "font.size": 30, "font.family": "serif", "text.parse_math": True, "text.usetex": True, "svg.fonttype": "none",
        "axes.facecolor": "black", "axes.xmargin": 0.3, "lines.linewidth": 9, "path.simplify": False,
        "figure.dpi": 33, "savefig.dpi": 30, "savefig.bbox": "tight", "savefig.transparent": True,
    }  # fmt: skip
    with matplotlib.rc_context(odd):
        before = dict(matplotlib.rcParams)
        assert hashes(every_state) == plain
        assert dict(matplotlib.rcParams) == before


@pytest.mark.parametrize("maker", MAKERS)
@pytest.mark.parametrize("text", HOSTILE.values(), ids=HOSTILE)
def test_any_text_is_drawn_as_text(typed: Callable[..., Measurement], text: str, maker: str) -> None:
    names = ("plate", "system", "layer", "lane", "sample", "spot", "colour")
    measured = typed(
        dict.fromkeys(names, text) | {"centre_mm": 30.0},
        dict.fromkeys(names, text) | {"lane": "other", "state": "unread"},
    )
    figure = MAKERS[maker](measured)
    check_files(figure)
    assert text in " ".join(figure.description)


def check_files(figure: Figure) -> None:
    root = ElementTree.fromstring(figure.draw("svg"))
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    # one picture, no script, no address of another file
    assert not any("script" in element.tag for element in root.iter())
    links = [value for element in root.iter() for key, value in element.attrib.items() if key.endswith("href")]
    assert all(link.startswith("#") for link in links)
    assert figure.draw("pdf").startswith(b"%PDF-")
    with Image.open(io.BytesIO(figure.draw("png"))) as picture:
        picture.load()
        sides = [side / dpi * 25.4 for side, dpi in zip(picture.size, picture.info["dpi"], strict=True)]
    assert sides == pytest.approx([figure.width, figure.height], abs=0.15)  # whole pixels of 0.127 mm


@pytest.mark.parametrize("maker", MAKERS)
def test_files_carry_no_time_and_no_program(every_state: Measurement, maker: str) -> None:
    figure = MAKERS[maker](every_state)
    for kind in KINDS:
        content = figure.draw(kind)
        for word in (b"atplotlib", b"CreationDate", b"<dc:date", b"Software", b"/Producer"):
            assert word not in content, (kind, word)


def test_another_kind_of_picture_is_refused(every_state: Measurement) -> None:
    with pytest.raises(ValueError, match="wanted a picture as svg, png or pdf, given 'gif'"):
        MAKERS["plate"](every_state).draw("gif")


@pytest.mark.parametrize("maker", MAKERS)
def test_ink_is_on_the_paper(every_state: Measurement, maker: str) -> None:
    """A picture that is blank, or dark all over, would pass every test of its bytes."""
    with Image.open(io.BytesIO(MAKERS[maker](every_state).draw("png"))) as picture:
        grey = picture.convert("L")
    shades = grey.histogram()
    dark, light = sum(shades[:128]), sum(shades[200:])
    assert 0.005 < dark / (grey.width * grey.height) < 0.2
    assert light / (grey.width * grey.height) > 0.7

"""Passages put together from facts: each branch says what is so, and no more."""

from __future__ import annotations

import pandas as pd
import pytest

from lanewise.analyses.compare import compare
from lanewise.analyses.measure import measure
from lanewise.document import Bullets, Paragraph, Table
from lanewise.model.notation import parse_system
from lanewise.model.studies import Input
from lanewise.reports.statements import budget_table, caution_blocks, provenance_blocks, uncertainty_blocks


def said(blocks):
    texts = []
    for block in blocks:
        texts += [block.text] if isinstance(block, Paragraph) else block.items if isinstance(block, Bullets) else []
    return "\n".join(texts)


def plates(*centres):
    """Marks of one dye on plates of two systems, a list of positions a system."""
    rows = [
        {"plate": f"{system}{number}", "system": system, "lane": "1", "sample": "dye", "spot": "1", "origin_mm": 0.0,
         "front_mm": 100.0, "centre_mm": centre}
        for system, positions in zip("AB", centres, strict=True)
        for number, centre in enumerate(positions)
    ]  # fmt: skip
    return measure(pd.DataFrame(rows))


@pytest.mark.parametrize(
    ("centres", "words"),
    [
        pytest.param(([40.0], [60.0]), "the scatter from plate to plate is not known", id="no repeats"),
        pytest.param(([40.0, 40.0], [60.0, 60.0]), "no more than the readings explain", id="repeats agree"),
        pytest.param(([40.0, 48.0], [60.0, 68.0]), "beyond what the readings explain", id="repeats scatter"),
    ],
)
def test_scatter_between_plates(centres, words):
    found = plates(*centres)
    assert words in said(uncertainty_blocks(found, compare(found)))


def test_scatter_is_the_one_way_estimate():
    """Two pairs 8 mm apart on 100 mm: variance 0.0032 each, less the reading variance (1 mm ruler); worked by hand."""
    found = plates([40.0, 48.0], [60.0, 68.0])
    means = compare(found).means
    u2 = float((found.quantity("rf").u ** 2).mean())
    assert means.between_plates == pytest.approx((0.0032 - u2) ** 0.5, rel=1e-9)


def test_without_an_rf_there_is_no_budget():
    marks = pd.DataFrame({"lane": ["1"], "front_mm": [80.0], "centre_mm": [float("nan")], "state": ["at origin"]})
    assert budget_table(measure(marks)) is None


@pytest.mark.parametrize(
    ("system", "words"),
    [
        pytest.param("my own mixture", "my own mixture: its components were not stated", id="not taken apart"),
        pytest.param("moonshine", "not stated", id="one unknown word"),
        pytest.param("limonene:ethanol 1:1", "limonene: not in the table of this library", id="not in the table"),
        pytest.param("hexane:acetone 9:1", "hazard codes not checked against a source", id="codes not checked"),
        pytest.param("chloroform:methanol 9:1", "halogenated apart from others", id="waste"),
    ],
)
def test_cautions_do_not_guess(system, words):
    assert words in said(caution_blocks([parse_system(system)]))


@pytest.mark.parametrize(
    ("system", "warned"),
    [
        pytest.param("water", False, id="water"),
        pytest.param("0.1 % sodium chloride in water", False, id="salt water"),
        pytest.param("ethanol:water 1:1", True, id="ethanol"),
        pytest.param("my own mixture", True, id="unknown"),
    ],
)
def test_ignition_is_warned_of_where_it_cannot_be_excluded(system, warned):
    assert ("Keep flames" in said(caution_blocks([parse_system(system)]))) == warned


def test_every_caution_defers_to_local_rules():
    assert said(caution_blocks([])).startswith("These are reminders, not a risk assessment")


def test_provenance_lists_files_with_the_options_that_were_set():
    item = Input(name="a.csv", sha256="0" * 64, size=12, format="marks-table", options={"division": "0.5", "plate": ""})
    (_, table) = provenance_blocks([item], 0.95, "1.2.3")
    assert isinstance(table, Table)
    assert table.rows == (("a.csv", "marks-table", "12 bytes", "0" * 64, "division=0.5"),)

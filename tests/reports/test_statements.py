"""Passages put together from facts: each branch says what is so, and no more."""

from __future__ import annotations

import pandas as pd
import pytest

from lanewise.analyses.compare import compare
from lanewise.analyses.measure import measure
from lanewise.document import Bullets, Paragraph, Table
from lanewise.model.studies import Input
from lanewise.reports.statements import budget_table, provenance_blocks, uncertainty_blocks


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


def test_provenance_lists_files_with_the_options_that_were_set():
    item = Input(name="a.csv", sha256="0" * 64, size=12, format="marks-table", options={"division": "0.5", "plate": ""})
    (_, table) = provenance_blocks([item], 0.95, "1.2.3")
    assert isinstance(table, Table)
    assert table.rows == (("a.csv", "marks-table", "12 bytes", "0" * 64, "division=0.5"),)

"""Cells as texts, and parts of sentences."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.wording import decimals, texts, with_u


@pytest.mark.parametrize(
    "column",
    [
        pd.Series(["1", None, "2"]),
        pd.Series(["1", "", " 2 "], dtype=object),
        pd.Series([1.0, np.nan, 2.0]),
        pd.Series([1, None, 2], dtype="Int64"),
        pd.Series(pd.Categorical(["1", None, "2"])),
    ],
    ids=["str", "object", "float", "nullable", "categorical"],
)
def test_cells_of_any_column_as_texts(column):
    assert texts(column).tolist() == ["1", "", "2"]
    assert texts(column, "none").tolist() == ["1", "none", "2"]
    assert texts(column, pd.Series(["a", "b", "c"])).tolist() == ["1", "b", "2"]


def test_a_broken_number_keeps_its_digits_and_the_index_stays():
    made = texts(pd.Series([1.5, 2.0], index=[7, 7]))
    assert made.tolist() == ["1.5", "2"]
    assert made.index.tolist() == [7, 7]


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [(0.475, 0.00571, "0.475 ± 0.006"), (0.5, 0.0, "0.500"), (0.4283, 0.0122, "0.428 ± 0.012")],
    ids=["one digit", "known exactly", "two digits"],
)
def test_a_value_with_its_uncertainty(value, u, text):
    assert with_u(value, u) == text


def test_decimals_without_an_uncertainty():
    assert (decimals(0.0), decimals(0.006)) == (3, 3)

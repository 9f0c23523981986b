"""The document refuses tables that no style could lay out."""

from __future__ import annotations

import pytest

from lanewise.document import DataColumn, DataTable, Table


def test_a_table_is_a_rectangle():
    with pytest.raises(ValueError, match=r"table 'Spots', row 2: wants 2 cells, given 1"):
        Table("Spots", ("Lane", "Rf"), (("1", "0.5"), ("2",)), (False, True))


def test_every_column_says_whether_it_holds_numbers():
    with pytest.raises(ValueError, match=r"table 'Spots': numeric wants 2 entries, given 1"):
        Table("Spots", ("Lane", "Rf"), (), (False,))


def test_an_empty_table_is_a_table():
    assert Table("Spots", ("Lane",), (), (False,)).rows == ()


def column(name, *values):
    return DataColumn(name, "number", "1", "a number", values)


@pytest.mark.parametrize(
    ("columns", "keys", "said"),
    [
        pytest.param((column("rf", 0.5), column("k")), (), r"columns of one length, given \[0, 1\]", id="uneven"),
        pytest.param(
            (column("rf", 0.5), column("rf", 0.6)), (), "columns of different names, given 'rf' twice", id="twice"
        ),
        pytest.param((column("rf", 0.5),), ("lane",), "keys among its columns, given 'lane'", id="no such key"),
    ],
)
def test_a_data_table_is_whole(columns, keys, said):
    with pytest.raises(ValueError, match=f"data table 'spots': wants {said}"):
        DataTable("spots", "One spot.", columns, keys)


def test_a_data_table_gives_its_columns_by_name():
    table = DataTable("spots", "One spot.", (column("rf", 0.5, None),))
    assert len(table) == 2
    assert table.column("rf").values == (0.5, None)
    assert len(DataTable("none", "Nothing.", ())) == 0
    with pytest.raises(KeyError, match="k"):
        table.column("k")

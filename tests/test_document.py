"""The document refuses tables that no style could lay out."""

from __future__ import annotations

import pytest

from lanewise.document import Table


def test_a_table_is_a_rectangle():
    with pytest.raises(ValueError, match=r"table 'Spots', row 2: wants 2 cells, given 1"):
        Table("Spots", ("Lane", "Rf"), (("1", "0.5"), ("2",)), (False, True))


def test_every_column_says_whether_it_holds_numbers():
    with pytest.raises(ValueError, match=r"table 'Spots': numeric wants 2 entries, given 1"):
        Table("Spots", ("Lane", "Rf"), (), (False,))


def test_an_empty_table_is_a_table():
    assert Table("Spots", ("Lane",), (), (False,)).rows == ()

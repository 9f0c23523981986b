from __future__ import annotations

import pytest

from lanewise.errors import RecordError
from lanewise.tables.rf_library import COLUMNS, LibraryEntry, RfLibrary, printed_library

GOOD = {
    "dye": "eosin Y", "layer": "silica", "system": "water", "rf": 0.7, "u_rf": 0.02, "plates": 3,
    "origin": "own plates", "colour": "orange", "source": "notebook p. 12",
}  # fmt: skip


def test_columns_are_the_fields():
    assert list(COLUMNS) == list(LibraryEntry.__dataclass_fields__) == list(GOOD)


@pytest.mark.parametrize(
    ("field", "value", "said"),
    [
        pytest.param("source", " ", "source: wanted a text", id="no source"),
        pytest.param("layer", "", "layer: wanted a text", id="no layer"),
        pytest.param("rf", 70.0, "Divide hRf by 100", id="hRf"),
        pytest.param("rf", float("nan"), "rf: wanted a number from 0 to 1", id="not a number"),
        pytest.param("u_rf", 0.0, "No value is exact", id="exact"),
        pytest.param("plates", -1, "plates: wanted a whole number", id="negative"),
        pytest.param("origin", "a friend", "wanted one of own plates, other laboratory, printed", id="origin"),
    ],
)
def test_an_entry_says_what_is_wrong(field, value, said):
    with pytest.raises(RecordError, match=said):
        LibraryEntry(**(GOOD | {field: value}))


def test_what_an_origin_adds():
    """Root of the sum of squares; 0.09 between printed reports, 0.05 between laboratories (common practice)."""
    own, other, printed = (
        LibraryEntry(**(GOOD | {"origin": o})) for o in ("own plates", "other laboratory", "printed")
    )
    assert own.u_used == 0.02
    assert other.u_used == pytest.approx((0.02**2 + 0.05**2) ** 0.5)
    assert printed.u_used == pytest.approx((0.02**2 + 0.09**2) ** 0.5)


def test_the_same_entry_twice_is_refused():
    with pytest.raises(RecordError, match="twice"):
        RfLibrary((LibraryEntry(**GOOD), LibraryEntry(**(GOOD | {"dye": "EOSIN  y", "rf": 0.5}))))


def test_a_later_entry_replaces_an_earlier_one():
    library = RfLibrary((LibraryEntry(**GOOD),))
    newer = LibraryEntry(**(GOOD | {"rf": 0.68}))
    other = LibraryEntry(**(GOOD | {"source": "notebook p. 40"}))
    assert [e.rf for e in library.with_entries([newer, other]).entries] == [0.68, 0.7]


def test_printed_values_are_all_called_so():
    library = printed_library()
    assert len(library) > 50
    assert {entry.origin for entry in library.entries} == {"printed"}
    assert str(library).endswith(f"{len(library)} printed")


def test_entries_that_cannot_both_be_right_are_named():
    """0.08 apart: more than 2 (0.02^2 + 0.02^2)^0.5 = 0.057 for own plates, less than 0.26 for printed values."""
    values = [GOOD | {"rf": rf, "source": f"page {rf}"} for rf in (0.50, 0.58)]
    assert len(RfLibrary(tuple(LibraryEntry(**value) for value in values)).disagreements()) == 1
    printed = tuple(LibraryEntry(**(value | {"origin": "printed"})) for value in values)
    assert RfLibrary(printed).disagreements() == ()
    assert (
        "0.50 (page 0.5) and 0.58 (page 0.58) do not agree"
        in RfLibrary(tuple(LibraryEntry(**value) for value in values)).disagreements()[0]
    )

"""What must hold between the plates and the systems of a study."""

from __future__ import annotations

import pytest

from lanewise.errors import RecordError
from lanewise.model.plates import Plate
from lanewise.model.solvents import SolventSystem
from lanewise.model.studies import SCHEMA_VERSION, Study

WATER = SolventSystem(name="water")

REFUSED = {
    "two plates of one name": (
        lambda: Study(title="inks", plates=[Plate(label="1"), Plate(label="1")]),
        r"^study 'inks', plates: wanted names that differ, given '1' twice",
    ),
    "two systems of one name": (lambda: Study(systems=[WATER, WATER]), r"^study, systems: .* given 'water' twice"),
    "unlisted system": (
        lambda: Study(systems=[WATER], plates=[Plate(label="1", system="brine")]),
        r"^plate '1', system: wanted one of 'water', given 'brine'\. Correct the name, or list the system",
    ),
    "newer version": (
        lambda: Study(schema_version=SCHEMA_VERSION + 1),
        r"^study, schema_version: wanted at most 1, .* given 2\. The record is newer: update lanewise",
    ),
}


@pytest.mark.parametrize(("make", "message"), REFUSED.values(), ids=REFUSED)
def test_refused(make, message):
    with pytest.raises(RecordError, match=message):
        make()


def test_systems_need_not_be_listed():
    assert Study(plates=[Plate(label="1", system="brine")]).systems == ()


def test_a_listed_system_is_found_by_its_name():
    assert Study(systems=[WATER], plates=[Plate(label="1", system="water")]).plates[0].system == "water"

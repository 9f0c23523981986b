"""Several files as one study."""

from __future__ import annotations

from pathlib import Path

import pytest

from lanewise.errors import RecordError
from lanewise.files.merging import merge
from lanewise.model.plates import Plate
from lanewise.model.solvents import Component, SolventSystem
from lanewise.model.studies import Study

WATER = SolventSystem(name="water", components=[Component(substance="water", parts=1)])
SPIRIT = SolventSystem(name="spirit", components=[Component(substance="ethanol", parts=1)])


def labels(*parts):
    return [plate.label for plate in merge([(Path(path), study) for path, study in parts]).plates]


def plates(*names, **more):
    return Study(plates=[Plate(label=name, **more) for name in names])


def test_one_file_is_left_as_it_is():
    study = plates("A")
    assert merge([(Path("x.csv"), study)]) is study


@pytest.mark.parametrize(
    ("first", "second", "wanted"),
    [
        ("bench-1.csv", "bench-2.csv", ["bench-1: A", "bench-2: A"]),
        ("bench.csv", "bench.json", ["bench.csv: A", "bench.json: A"]),
        ("monday/bench.csv", "friday/bench.csv", ["monday/bench: A", "friday/bench: A"]),
        ("1/monday/bench.csv", "2/monday/bench.csv", ["1/monday/bench: A", "2/monday/bench: A"]),
        ("/monday/bench.csv", "bench.csv", ["monday/bench: A", "bench: A"]),
    ],
)
def test_the_shortest_name_that_tells_files_apart(first, second, wanted):
    assert labels((first, plates("A")), (second, plates("A"))) == wanted


def test_only_labels_that_clash_change():
    assert labels(("a.csv", plates("1", "2")), ("b.csv", plates("2", "3"))) == ["1", "a: 2", "b: 2", "3"]


def test_files_of_one_name_without_a_clash():
    assert labels(("a.csv", plates("1")), ("a.csv", plates("2"))) == ["1", "2"]


def test_files_that_nothing_tells_apart():
    with pytest.raises(RecordError, match=r"several files called 'a\.csv' have plates of one label: wanted names that"):
        labels(("a.csv", plates("1")), ("a.csv", plates("1")))


def test_a_new_label_that_is_taken():
    with pytest.raises(RecordError, match="a: 1"):
        labels(("a.csv", plates("1", "a: 1")), ("b.csv", plates("1")))


def test_everything_else_of_a_plate_stays():
    study = merge([(Path("a"), plates("1", note="wet", factors={"bench": "3"})), (Path("b"), plates("1"))])
    assert study.plates[0] == Plate(label="a: 1", note="wet", factors={"bench": "3"})


def test_texts_that_differ_are_joined():
    first = Study(title="Inks", question="Which?", note="one\nsame")
    second = Study(title="Inks", question="", note="same\ntwo")
    study = merge([(Path("a"), first), (Path("b"), second)])
    assert (study.title, study.question, study.note) == ("Inks", "Which?", "one\nsame\ntwo")


def test_systems_of_all_files():
    first = Study(systems=[WATER], plates=[Plate(label="1", system="water")])
    second = Study(systems=[SPIRIT, WATER], plates=[Plate(label="2", system="spirit")])
    assert merge([(Path("a"), first), (Path("b"), second)]).systems == (WATER, SPIRIT)


def test_a_system_that_is_only_named_is_listed_without_components():
    first = Study(systems=[WATER], plates=[Plate(label="1", system="water")])
    study = merge([(Path("a"), first), (Path("b"), plates("2", system="brine"))])
    assert study.systems == (WATER, SolventSystem(name="brine"))


@pytest.mark.parametrize("order", [1, -1], ids=["named last", "named first"])
def test_a_description_goes_before_a_bare_name(order):
    named = Study(systems=[SolventSystem(name="water")], plates=[Plate(label="1", system="water")])
    parts = [(Path("a"), Study(systems=[WATER])), (Path("b"), named)]
    assert merge(parts[::order]).systems == (WATER,)


def test_two_descriptions_of_one_system():
    other = SolventSystem(name="water", components=[Component(substance="tap water", parts=1)])
    said = r"solvent system 'water': wanted one description, given two different ones in a\.json and b\.json"
    with pytest.raises(RecordError, match=said):
        merge([(Path("x/a.json"), Study(systems=[WATER])), (Path("b.json"), Study(systems=[other]))])

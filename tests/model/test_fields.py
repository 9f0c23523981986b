"""Each field is checked in the moment a record is made, and says which, wanted, given and what to do."""

from __future__ import annotations

import copy
import pickle

import numpy as np
import pytest

from lanewise.errors import RecordError
from lanewise.model.fields import Record, fit, part, shown, which
from lanewise.model.plates import Development, Lane, Plate, Reading, Sheet, Spot, Trace
from lanewise.model.solvents import Component
from lanewise.model.studies import Input, Study

REFUSED = {
    "text for a number": (
        lambda: Spot(label="1", centre="12"),
        r"^spot '1', centre: wanted a number \[mm\] or nothing, given '12' \(text\)\. Give the number without quotes",
    ),
    "word for a number": (lambda: Spot(label="1", centre="far"), r"given 'far' \(text\)\. Correct centre\.$"),
    "NaN": (
        lambda: Spot(label="1", centre=float("nan")),
        r"centre: .* given nan\. Leave centre out where nothing was read\.$",
    ),
    "infinity": (lambda: Plate(label="1", front=float("inf")), r"^plate '1', front: wanted a number .* given inf\."),
    "NaN of NumPy": (lambda: Spot(label="1", leading=np.float32("nan")), r"spot '1', leading: .* given nan"),
    "true for a number": (
        lambda: Spot(label="1", centre=True),
        r"centre: .* given True \(yes or no\)\. Correct centre",
    ),
    "number too large": (lambda: Spot(label="1", centre=10**400), r"spot '1', centre: wanted a number"),
    "complex number": (lambda: Spot(label="1", centre=1j), r"given 1j \(complex\)"),
    "list for a number": (lambda: Lane(label="B", front=[85]), r"^lane 'B', front: .* given \[85\] \(list\)"),
    "number for a label": (lambda: Lane(label=3), r"^lane, label: wanted text with something to read in it, given 3\."),
    "empty label": (lambda: Spot(label="", centre=1), r"^spot, label: wanted text with something .* given '' \(text\)"),
    "blank label": (lambda: Plate(label=" \n"), r"^plate, label: wanted text with something to read in it"),
    "number for a note": (lambda: Spot(label="1", centre=1, note=5), r"spot '1', note: wanted text, given 5\."),
    "NUL in a text": (lambda: Lane(label="A", note="a\0b"), r"note: wanted text without NUL characters"),
    "half a character": (lambda: Lane(label="A", note="\ud800"), r"note: wanted text that can be written as UTF-8"),
    "unknown state": (
        lambda: Spot(label="1", state="mesured"),
        r"spot '1', state: wanted one of 'absent', .* given 'mesured' \(text\)\. Did you mean 'measured'\?$",
    ),
    "unknown role": (lambda: Lane(label="A", role="Standard"), r"lane 'A', role: .*Did you mean 'standard'\?"),
    "unknown point": (lambda: Spot(label="1", centre=1, point="top"), r"point: wanted one of 'centre', 'darkest'"),
    "number for a state": (lambda: Spot(label="1", state=1), r"state: wanted one of .* given 1\. Correct state\."),
    "text for a spot": (lambda: Lane(label="B", spots=["1"]), r"^lane 'B', spots: wanted a Spot, given '1' \(text\)"),
    "one spot, not several": (
        lambda: Lane(label="B", spots=Spot(label="1", centre=1)),
        r"^lane 'B', spots: wanted a list or tuple, given Spot\(",
    ),
    "lane for a spot": (lambda: Lane(label="B", spots=[Lane(label="C")]), r"spots: wanted a Spot, given Lane\("),
    "text for a reading": (lambda: Plate(label="1", reading="ruler"), r"reading: wanted a Reading, given 'ruler'"),
    "nothing for a reading": (lambda: Plate(label="1", reading=None), r"reading: wanted a Reading, given nothing"),
    "text for a sheet": (lambda: Plate(label="1", sheet="paper"), r"sheet: wanted a Sheet or nothing, given 'paper'"),
    "number as a factor": (lambda: Plate(label="1", factors={"bench": 3}), r"factors: wanted text with .* given 3\."),
    "empty factor": (lambda: Lane(label="A", factors={"pen": ""}), r"lane 'A', factors: wanted text with something"),
    "nameless factor": (lambda: Lane(label="A", factors={" ": "x"}), r"lane 'A', factors: wanted text with something"),
    "list of factors": (
        lambda: Lane(label="A", factors=["bench"]),
        r"wanted a mapping of text to text, given \['bench'\]",
    ),
    "half a development": (lambda: Development(runs=1.5), r"^development, runs: wanted a whole number from 1 to 1000"),
    "no development": (
        lambda: Development(runs=0),
        r"^development, runs: wanted a whole number from 1 to 1000, given 0",
    ),
    "word for yes": (lambda: Development(saturated="yes"), r"saturated: wanted yes or no \(True or False\) or nothing"),
    "no time": (lambda: Development(minutes=0), r"minutes: wanted a number above 0 \[min\] or nothing, given 0"),
    "unknown zero": (
        lambda: Reading(zero="sheets edge"),
        r"^reading, zero: wanted one of 'liquid level', .* given 'sheets edge' \(text\)\. Did you mean 'sheet edge'\?$",
    ),
    "division of zero": (lambda: Reading(division=0), r"^reading, division: wanted a number above 0 \[mm\], given 0"),
    "negative uncertainty": (lambda: Reading(u=-0.1), r"^reading, u: wanted a number not below 0 \[mm\] or nothing"),
    "sheet of no width": (lambda: Sheet(stationary_phase="paper", width=0), r"width: wanted a number above 0 \[mm\]"),
    "negative amount": (lambda: Spot(label="1", centre=1, amount=-1), r"amount: wanted a number not below 0 \[ug\]"),
    "no parts": (lambda: Component(substance="water", parts=0), r"^component 'water', parts: wanted a number above 0"),
    "broken digest": (
        lambda: Input(name="a", sha256="x", size=0, format="f"),
        r"^input 'a', sha256: wanted text of the form \^\[0-9a-f\]\{64\}\$, given 'x'",
    ),
    "number for a title": (lambda: Study(title=5), r"^study, title: wanted text, given 5\."),
}


@pytest.mark.parametrize(("make", "message"), REFUSED.values(), ids=REFUSED)
def test_refused(make, message):
    with pytest.raises(RecordError, match=message):
        make()


@pytest.mark.parametrize(
    ("make", "message"),
    [
        (lambda: Spot(lable="1"), "lable"),
        (lambda: Spot(centre=1.0), "label"),
        (lambda: Spot("1"), "positional"),
    ],
    ids=["unknown field", "missing field", "without a name"],
)
def test_python_itself_refuses_wrong_names(make, message):
    with pytest.raises(TypeError, match=message):
        make()


@pytest.mark.parametrize(
    "given", [32, np.int64(32), np.float32(32), np.float64(32)], ids=["int", "int64", "float32", "float64"]
)
def test_whole_numbers_and_numpy_numbers_become_floats(given):
    held = Spot(label="1", centre=given).centre
    assert type(held) is float
    assert held == 32.0


def test_lists_become_tuples_and_mappings_are_copied():
    spots, factors = [Spot(label="1", centre=1)], {"pen": "blue"}
    lane = Lane(label="A", spots=spots, factors=factors)
    spots.clear()
    factors.clear()
    assert lane.spots == (Spot(label="1", centre=1),)
    assert lane.factors == {"pen": "blue"}


def test_numbers_in_a_tuple_become_floats_too():
    trace = Trace(positions=[1, np.float32(2)], values=(3, 4.5))
    assert [type(number) for number in (*trace.positions, *trace.values)] == [float] * 4


def test_records_are_frozen():
    with pytest.raises(AttributeError, match="immutable"):
        Spot(label="1", centre=1).centre = 2.0


def test_records_are_equal_by_value_and_can_be_pickled():
    plate = Plate(label="1", origin=0, front=80, lanes=[Lane(label="A", spots=[Spot(label="1", centre=3)])])
    assert pickle.loads(pickle.dumps(plate)) == plate == copy.deepcopy(plate)


@pytest.mark.parametrize(
    ("record", "words"),
    [
        (Spot(label="1", centre=1), "spot '1'"),
        (Component(substance="water", parts=1), "component 'water'"),
        (Study(title="inks"), "study 'inks'"),
        (Study(), "study"),
        (Reading(), "reading"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_records_are_named_in_words(record, words):
    assert which(record) == words


def test_long_values_are_shortened():
    assert shown("a" * 100) == f"'{'a' * 56}... (text)"


def test_fit_and_part():
    assert fit(Spot, "centre", 3) == 3.0
    assert fit(Spot, "centre", None) is None
    assert part(Lane, "spots") is Spot
    assert part(Plate, "sheet") is Sheet
    assert part(Plate, "label") is None
    assert part(Plate, "nothing") is None
    with pytest.raises(RecordError, match=r"^wanted a number \[mm\] or nothing, given 'x'"):
        fit(Spot, "centre", "x")


def test_a_field_of_an_unknown_type_is_a_fault_of_the_record_type():
    class Odd(Record, frozen=True):
        when: bytes

    with pytest.raises(TypeError, match="no check for fields of type"):
        Odd(when=b"")

"""Options: names, kinds, limits, and what is said when they are not right."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
import pytest

from lanewise.errors import OptionError
from lanewise.hooks import option
from lanewise.plugins.options import describe_options, make_options, options_as_text


@dataclass(frozen=True, slots=True)
class SheetOptions:
    unit: str = option("mm", help="unit of the distances", choices=("mm", "cm"))
    division: float = option(1.0, help="division of the ruler", unit="mm", minimum=0, maximum=10)
    lanes: int = option(4, help="lanes on the sheet", minimum=1)
    header: bool = option(True, help="whether line 1 holds headings")
    title: str = option("", help="title of the sheet")
    scale: float | None = option(None, help="scale of the picture", unit="px/mm", minimum=0.1)
    edge: Literal["front", "origin"] = option("front", help="which edge is on top")
    below: float = option(5.0, help="anything up to five", maximum=5)


WHAT = "format 'bench-sheet'"


def test_defaults_where_nothing_is_given():
    assert make_options(SheetOptions, {}, WHAT) == SheetOptions()
    assert make_options(SheetOptions, None, WHAT) == SheetOptions()
    assert make_options(None, {}, WHAT) is None


@pytest.mark.parametrize(
    ("name", "given", "wanted"),
    [
        ("unit", "cm", "cm"),
        ("division", "0.5", 0.5),
        ("division", " 1e-1 ", 0.1),
        ("division", 2, 2.0),
        ("division", np.float32(0.5), 0.5),
        ("division", "0", 0.0),
        ("division", "10", 10.0),
        ("lanes", "7", 7),
        ("lanes", np.int64(7), 7),
        ("header", "no", False),
        ("header", "YES", True),
        ("header", "0", False),
        ("header", False, False),
        ("title", " kept as it is ", " kept as it is "),
        ("scale", "12.5", 12.5),
        ("scale", "", None),
        ("scale", None, None),
        ("edge", "origin", "origin"),
    ],
)
def test_values_are_converted(name, given, wanted):
    value = getattr(make_options(SheetOptions, {name: given}, WHAT), name)
    assert value == wanted
    assert type(value) is type(wanted)


@pytest.mark.parametrize(
    ("name", "given", "said"),
    [
        ("unit", "inch", r"option 'unit': wanted one of 'mm', 'cm', given 'inch' \(not one of the choices\)"),
        ("unit", "Mm", r"given 'Mm' .*Did you mean 'mm'\?"),
        ("unit", 3, r"given 3 \(not a text\)"),
        ("division", "-1", r"wanted number from 0 to 10, in mm, given '-1' \(too small\)"),
        ("division", 11, r"given 11 \(too large\)"),
        ("division", "0,5", r"given '0,5' \(not a number \(write the decimal mark as a point\)\)"),
        ("division", "wide", r"given 'wide' \(not a number\)"),
        ("division", "nan", r"given 'nan' \(not a finite number\)"),
        ("division", float("inf"), r"given inf \(not a finite number\)"),
        ("division", True, r"given True \(not a number\)"),
        ("division", None, r"given None \(not a number\)"),
        ("lanes", "2.5", r"wanted whole number, 1 or more, given '2.5' \(not a whole number\)"),
        ("lanes", 2.0, r"given 2\.0 \(not a whole number\)"),
        ("lanes", True, r"given True \(not a whole number\)"),
        ("lanes", "0", r"given '0' \(too small\)"),
        ("header", "perhaps", r"wanted yes or no, given 'perhaps' \(not yes or no\)"),
        ("header", 1, r"given 1 \(not yes or no\)"),
        ("scale", "0", r"wanted number, 0\.1 or more, in px/mm, or nothing, given '0' \(too small\)"),
        ("edge", "left", r"wanted one of 'front', 'origin', given 'left'"),
        ("below", 6, r"wanted number, 5 or less, given 6 \(too large\)"),
    ],
)
def test_values_that_are_not_allowed(name, given, said):
    with pytest.raises(OptionError, match=f"format 'bench-sheet'.*{said}"):
        make_options(SheetOptions, {name: given}, WHAT)


def test_an_unknown_option_gets_the_nearest_name_and_the_list():
    said = (
        r"format 'bench-sheet' has no option 'divsion'\. Did you mean 'division'\? "
        r"It takes: unit \(unit of the distances; default 'mm'\); division \(division of the ruler; default 1\.0 mm\)"
    )
    with pytest.raises(OptionError, match=said):
        make_options(SheetOptions, {"divsion": 1}, WHAT)


def test_a_format_without_options_says_so():
    with pytest.raises(OptionError, match=r"format 'record' takes no options, given 'unit'\. Leave it out"):
        make_options(None, {"unit": "mm"}, "format 'record'")


def test_options_that_are_no_mapping():
    with pytest.raises(OptionError, match="wanted a mapping of names to values, given list"):
        make_options(SheetOptions, ["unit"], WHAT)


def test_a_finished_options_object_is_checked_too():
    assert make_options(SheetOptions, SheetOptions(lanes=5), WHAT).lanes == 5
    with pytest.raises(OptionError, match="option 'lanes': wanted whole number, 1 or more, given 0"):
        make_options(SheetOptions, SheetOptions(lanes=0), WHAT)


def test_options_that_do_not_go_together():
    @dataclass(frozen=True)
    class Range:
        low: float = option(0.0, help="lower end")
        high: float = option(1.0, help="upper end")

        def __post_init__(self):
            if self.low > self.high:
                raise ValueError("low lies above high")

    with pytest.raises(OptionError, match="its options do not go together: low lies above high"):
        make_options(Range, {"low": 2}, WHAT)


def test_the_description_has_all_that_a_help_text_needs():
    infos = {info.name: info for info in describe_options(SheetOptions)}
    assert list(infos) == ["unit", "division", "lanes", "header", "title", "scale", "edge", "below"]
    assert [info.kind for info in infos.values()][:4] == ["text", "number", "whole number", "yes or no"]
    assert infos["edge"].choices == ("front", "origin")
    assert infos["scale"].optional
    assert str(infos["scale"]) == "scale (scale of the picture; default None)"
    assert describe_options(None) == []


def test_classes_that_cannot_be_options():
    @dataclass
    class Loose:
        a: int = option(1, help="a")

    @dataclass(frozen=True)
    class Mute:
        a: int = 1

    @dataclass(frozen=True)
    class Deep:
        a: tuple[int, ...] = option((), help="a")

    @dataclass(frozen=True)
    class Wrong:
        a: int = option(0, help="a", minimum=1)

    @dataclass(frozen=True)
    class Open:
        a: int

    @dataclass(frozen=True)
    class Bare:
        a: int = field(metadata={"help": "a"})

    cases = {
        "is not frozen": Loose,
        "'a' has no help text": Mute,
        "type wanted str, int, float or bool, given tuple": Deep,
        "default 0 is not allowed: too small": Wrong,
        "wanted a frozen dataclass, given <class 'dict'>": dict,
        "'a' has no help text; declare it": Open,
        "'a' has no default; declare it": Bare,
    }
    for said, options_type in cases.items():
        with pytest.raises(TypeError, match=said):
            describe_options(options_type)


def test_options_as_text_are_the_same_options():
    options = SheetOptions(
        unit="cm", division=0.1, lanes=7, header=False, title=" as it is ", scale=12.5, edge="origin"
    )
    texts = options_as_text(options)
    assert texts == {
        "unit": "cm",
        "division": "0.1",
        "lanes": "7",
        "header": "no",
        "title": " as it is ",
        "scale": "12.5",
        "edge": "origin",
        "below": "5.0",
    }
    assert make_options(SheetOptions, texts, WHAT) == options
    assert options_as_text(SheetOptions())["scale"] == ""
    assert make_options(SheetOptions, options_as_text(SheetOptions()), WHAT) == SheetOptions()
    assert options_as_text(None) == {}

from __future__ import annotations

import dataclasses
import re
from pathlib import Path

import numpy as np
import pytest
from lab_standards_traces_builders import NASTY, ink_study, jcamp_file, one_lane

import lanewise
from lanewise.errors import LanewiseError, RecordError, UnreadableFile
from lanewise_lab_standards import plugin, write_animl, write_jcamp
from lanewise_lab_standards.axis import length_in_mm
from lanewise_lab_standards.options import TraceOptions

README = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
TABLE = ("10 1 2", "12 3 4 5")


def plate_of(data, name="bench 7.jdx", **options):
    return lanewise.read(data, name=name, options={"origin": 10.0, "spots": "none"} | options).plates[0]


def test_labels_come_from_the_options_then_the_file_then_its_name():
    bare = plate_of(jcamp_file(TABLE))
    assert (bare.label, bare.system, bare.lanes[0].label, bare.lanes[0].sample) == (
        "bench 7",
        "not stated",
        "1",
        "lane B",
    )
    told = plate_of(jcamp_file(TABLE), plate="3", system="water", lane="B", front=85.0)
    assert (told.label, told.system, told.lanes[0].label, told.front) == ("3", "water", "B", 85.0)
    held = plate_of(write_jcamp(ink_study("pen")).main, origin=None)
    assert (held.label, held.system, [lane.label for lane in held.lanes]) == ("bench 3", "ethanol", ["B", "black"])
    both = plate_of(write_jcamp(ink_study("pen")).main, plate="4", origin=9.5, front=90.0)
    assert (both.label, both.origin, both.front) == ("4", 9.5, 90.0)
    assert [(lane.origin, lane.front, lane.u_front) for lane in both.lanes] == [(None, None, None)] * 2


def test_one_label_is_not_for_two_lanes():
    with pytest.raises(UnreadableFile, match="the option lane='B' is for one lane, given 2"):
        plate_of(write_jcamp(ink_study("pen")).main, lane="B")


def test_what_cannot_be_is_refused_by_the_record():
    with pytest.raises(RecordError, match="wanted a front above the origin at 10 mm, given 5 mm"):
        plate_of(jcamp_file(TABLE), front=5.0)


def test_stated_spots_are_wanted_and_there_are_none():
    with pytest.raises(UnreadableFile, match=r"wanted peaks that the file states, given none.*'spots': 'found'"):
        plate_of(jcamp_file(TABLE), spots="stated")


@pytest.mark.parametrize("name", ["inks.jdx", "inks.animl"])
def test_spots_are_found_in_the_trace_as_the_library_finds_them(name):
    data = {"inks.jdx": write_jcamp, "inks.animl": write_animl}[name](ink_study("pen")).main
    found = lanewise.read(data, name=name).plates[0]
    for lane, wanted in zip(found.lanes, ink_study().plates[0].lanes, strict=True):
        origin, front = wanted.origin or 10.0, wanted.front or 85.0
        assert lane.traces == wanted.traces
        assert lane.spots == lanewise.spots_of_trace(wanted.traces[0], origin=origin, front=front, shape="best")
        # the invented traces have spots of Gaussian form at 30 and 55 mm, without noise
        assert [spot.centre for spot in lane.spots] == pytest.approx([30, 55], abs=0.05)


def test_stated_spots_that_were_left_out_are_told_once():
    once = lanewise.read(write_jcamp(ink_study("pen")).main, name="inks.jdx")
    notes = [lane.note for lane in once.plates[0].lanes]
    assert notes == ["2 spots stated in the file were left out; the option spots='stated' takes them.", ""]
    twice = lanewise.read(write_jcamp(once).main, name="inks.jdx")
    assert twice.plates == once.plates


def test_a_trace_in_which_nothing_can_be_found_is_refused_with_the_way_out():
    with pytest.raises(UnreadableFile, match=r"lane '1': .*Without spots: lanewise\.read\(.*'spots': 'none'"):
        plate_of(jcamp_file(TABLE), spots="found")


def test_spots_are_found_in_the_channel_that_was_chosen():
    data = write_jcamp(one_lane(ink_study("pen"), 0)).main
    chosen = lanewise.read(data, name="inks.jdx", options={"channel": "grey"})
    assert chosen.plates[0].lanes[0].spots == lanewise.read(data, name="inks.jdx").plates[0].lanes[0].spots
    with pytest.raises(UnreadableFile, match=r"lane 'B': wanted the channel 'blue', given \['grey', ''\]"):
        lanewise.read(data, name="inks.jdx", options={"channel": "blue"})


def test_a_record_of_traces_is_measured_and_reported():
    study = lanewise.read(write_jcamp(ink_study("pen")).main, name="inks.jdx")
    text = lanewise.render(lanewise.study_report(study), "text").main.decode()
    assert "bench 3" in text
    rf = [round(float(one), 2) for one in lanewise.measure(lanewise.to_frame(study)).spots["rf"]][:2]
    assert rf == [round((30 - 10) / (85 - 10), 2), round((55 - 10) / (85 - 10), 2)]  # Rf by its definition


# Lengths of units: the International System of Units, 9th ed., and the inch of 25.4 mm (1959); from memory.
@pytest.mark.parametrize(
    ("unit", "millimetres"),
    [
        ("mm", 1),
        ("MILLIMETERS", 1),
        ("Millimetres", 1),
        ("cm", 10),
        ("Centimeter", 10),
        ("µm", 0.001),
        ("μm", 0.001),
        ("MICROMETERS", 0.001),
        ("microns", 0.001),
        ("inches", 25.4),
        ("in", 25.4),
        ("seconds", None),
        ("s", None),
        ("m", None),
        ("min", None),
        ("1/CM", None),
        ("", None),
    ],
    ids=str,
)
def test_units_of_length(unit, millimetres):
    assert length_in_mm(unit) == millimetres


@pytest.mark.parametrize(("unit", "factor"), [("Rf", 1), ("hRf", 100), ("RF", 1)], ids=str)
def test_multiples_of_rf_that_a_file_states(unit, factor):
    data = jcamp_file(TABLE, XUNITS=unit, FIRSTX="0", LASTX=str(factor)).decode()
    data = data.replace("\n10 1 2\n12 3 4 5", f"\n0 1 2\n{factor / 2} 3 4 5").encode()
    found = plate_of(data, front=90.0).lanes[0].traces[0]
    assert found.positions == pytest.approx((10, 30, 50, 70, 90))
    with pytest.raises(UnreadableFile, match="multiples of Rf want the origin and the front in millimetres"):
        plate_of(data)


def test_the_study_in_a_file_keeps_every_letter():
    assert (
        lanewise.read(write_jcamp(ink_study()).main, name="x.jdx", options={"spots": "none"}).plates[0].lanes[0].sample
        == NASTY
    )


def test_the_readme_lists_every_option_with_its_default():
    section = README[: README.index("## Lane traces out")]
    listed = set(re.findall(r"`(\w+)`", " ".join(re.findall(r"^\| (`\w+`(?:, `\w+`)*) \|", section, re.MULTILINE))))
    assert {field.name for field in dataclasses.fields(TraceOptions)} <= listed
    for field in dataclasses.fields(TraceOptions):
        for choice in field.metadata["choices"]:
            assert f"`{choice}`" in section


def test_the_readme_lists_every_format_with_its_endings():
    for one in plugin.lanewise_import_formats():
        assert re.search(
            rf"^\| `{one.name}` \| {' '.join(f'`{end}`' for end in one.suffixes)} \|", README, re.MULTILINE
        )


def test_the_writers_of_the_readme_write(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    code = next(block for block in re.findall(r"```python\n(.*?)```", README, re.DOTALL) if "write_andi" in block)
    exec(code.replace('lane="B"', 'lane="black"'), {"study": one_lane(ink_study("pen"))})
    assert sorted(path.name for path in tmp_path.iterdir()) == [
        "inks-small.jdx",
        "inks.animl",
        "inks.jdx",
        "lane-b.cdf",
    ]


def test_no_writer_takes_a_study_without_traces():
    study = lanewise.Study(plates=(lanewise.Plate(label="1", origin=0, lanes=(lanewise.Lane(label="A"),)),))
    for write in (write_jcamp, write_animl):
        with pytest.raises(LanewiseError, match="plate '1': wanted lanes with traces, given none"):
            write(study)


def test_falling_and_rising_curves_give_the_same():
    x, y = np.linspace(10, 14, 5), (1, 2, 3, 4, 5)
    up = plate_of(jcamp_file(TABLE))
    down = plate_of(jcamp_file(("14 5 4 3", "11 2 1"), FIRSTX="14", LASTX="10"))
    assert up.lanes == down.lanes
    assert up.lanes[0].traces[0] == lanewise.Trace(positions=tuple(x.tolist()), values=y)

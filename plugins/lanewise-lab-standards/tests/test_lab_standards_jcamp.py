from __future__ import annotations

import io
from contextlib import redirect_stdout

import jcamp
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lab_standards_traces_builders import PUBLISHED, ink_study, jcamp_file, one_lane, read_back, trace
from msgspec.structs import replace

import lanewise
from lanewise.errors import LanewiseError, UnreadableFile
from lanewise_lab_standards import write_jcamp

TABLE = ("10 1 2", "12 3 4 5")


def lanes_of(data, name="inks.jdx", **options):
    usual = {"origin": 0.0, "spots": "none"}
    return lanewise.read(data, name=name, options=usual | options).plates[0].lanes


def only_trace(data, **options):
    (lane,) = lanes_of(data, **options)
    return lane.traces[0]


def test_published_curve():
    # fixinc4.jdx: exp(-x^2) over -2 to 2 scaled to 2^30, as its numbers and labels say; printed to 5 digits.
    (lane,) = lanes_of((PUBLISHED / "fixinc4.jdx").read_bytes(), axis="millimetres", origin=-2.0)
    found = lane.traces[0]
    assert lane.sample == "simple curve (fixinc4.jdx)"
    assert found.positions[::40] == (-2.0, 0.0, 2.0)
    assert (max(found.values), min(found.values)) == pytest.approx((1.0, 0.018315), abs=5e-5)
    assert found.values == pytest.approx(np.exp(-(np.array(found.positions) ** 2)), abs=5e-5)


def test_published_peak_table():
    # coffhd.jdx: 27 peaks from 11 to 150, as its labels say.
    data = (PUBLISHED / "coffhd.jdx").read_bytes()
    (lane,) = lanes_of(data, axis="millimetres", spots="stated")
    assert [spot.centre for spot in lane.spots][:3] == [11.0, 13.0, 14.0]
    assert (len(lane.spots), lane.spots[-1].centre, lane.traces) == (27, 150.0, ())


def test_second_reader_gives_the_same_curve():
    text = (PUBLISHED / "fixinc4.jdx").read_bytes()
    other = jcamp.read(io.BytesIO(text))
    found = only_trace(text, axis="millimetres", origin=-2.0)
    assert found.values == tuple(other["y"].tolist())
    assert found.positions == tuple(other["x"].tolist())


def test_file_written_by_the_second_reader_is_read():
    x = np.linspace(10, 90, 81)
    y = np.round(np.exp(-(((x - 40) / 3) ** 2)), 4)
    with redirect_stdout(io.StringIO()):
        text = jcamp.write({"title": "lane B", "xunits": "cm", "yunits": "ABSORBANCE", "x": x, "y": y})
    found = only_trace(text.encode())
    assert found.values == tuple(y.tolist())
    assert found.positions[-1] == 900.0


def test_written_decimals_come_back_to_the_last_bit():
    study = ink_study()
    assert read_back(write_jcamp(study).main, "inks.jdx") == study
    assert read_back(write_jcamp(one_lane(study)).main, "inks.jdx") == one_lane(study)


@settings(deadline=None)
@given(
    values=st.lists(st.floats(allow_nan=False, allow_infinity=False, width=64), min_size=2, max_size=20),
    step=st.floats(1e-3, 10),
)
def test_any_numbers_come_back_to_the_last_bit(values, step):
    made = lanewise.Trace(positions=tuple(10 + step * n for n in range(len(values))), values=tuple(values))
    plate = lanewise.Plate(label="1", origin=10, lanes=(lanewise.Lane(label="B", traces=(made,)),))
    study = lanewise.Study(plates=(plate,))
    assert read_back(write_jcamp(study).main, "inks.jdx") == study


def test_written_differences_keep_nine_digits():
    study = one_lane(ink_study())
    data = write_jcamp(study, form="dif").main
    wanted = np.array(study.plates[0].lanes[0].traces[0].values)
    found = read_back(data, "inks.jdx").plates[0].lanes[0]
    assert np.abs(np.array(found.traces[0].values) - wanted).max() <= 0.5e-9 * (1 + 1e-6)  # half of YFACTOR
    assert replace(found, traces=()) == replace(study.plates[0].lanes[0], traces=())
    assert len(data) < 0.65 * len(write_jcamp(study).main)


@pytest.mark.parametrize("form", ["affn", "dif"])
def test_second_reader_reads_what_is_written(form):
    study = one_lane(ink_study())
    wanted = study.plates[0].lanes[0].traces[0]
    words = io.StringIO()
    with redirect_stdout(words):
        other = jcamp.read(io.BytesIO(write_jcamp(study, form=form).main))
    assert words.getvalue() == ""  # it prints where its own checks fail
    assert other["x"] == pytest.approx(wanted.positions, abs=1e-12)
    assert other["y"] == pytest.approx(wanted.values, abs=1e-15 if form == "affn" else 0.5e-9)


def test_second_reader_reads_every_block_of_a_link_file():
    with redirect_stdout(io.StringIO()):
        other = jcamp.read(io.BytesIO(write_jcamp(ink_study()).main))
    assert (other["data type"], other["blocks"]) == ("LINK", 3)
    assert [len(child["y"]) for child in other["children"]] == [321, 700, 321]


def test_written_file_is_deterministic_ascii_in_short_lines_and_without_a_stray_label():
    data = write_jcamp(ink_study()).main
    lines = data.decode("ascii").splitlines()
    assert data == write_jcamp(ink_study()).main
    assert max(map(len, lines)) <= 80
    assert sum(line.startswith("##END=") for line in lines) == 4
    assert [line for line in lines if "$$" in line] == [
        "$$ distance along the lane of a plate; origin line 10.0 mm, front 85.0 mm",
        "$$ distance along the lane of a plate; origin line 10.0 mm, front 85.0 mm",
        "$$ distance along the lane of a plate; origin line 10.5 mm, front 88.25 mm",
    ]


def test_labels_are_read_whatever_their_case_spaces_and_dashes():
    text = jcamp_file(TABLE).decode().replace("##XUNITS", "##x-Un/it_s").replace("##JCAMP-DX", "## jcampdx")
    assert only_trace(text.encode()).values == (1.0, 2.0, 3.0, 4.0, 5.0)


def test_factors_units_and_missing_ordinates():
    data = jcamp_file(("1 1 ?", "1.2 3 4 5"), XFACTOR="1", YFACTOR="0.5", XUNITS="cm", FIRSTX="1", LASTX="1.4")
    found = only_trace(data)
    assert found.values == (0.5, 1.5, 2.0, 2.5)
    assert found.positions == pytest.approx((10, 12, 13, 14))
    assert found.note == "1 points without a value were left out."


def test_a_curve_that_falls_is_turned():
    found = only_trace(jcamp_file(("14 1 2", "12 3 4 5"), FIRSTX="14", LASTX="10"))
    assert (found.positions[0], found.values) == (10.0, (5.0, 4.0, 3.0, 2.0, 1.0))


def test_pairs_comments_and_the_end_mark_of_old_systems():
    table = ("10,1 11.5,2; 12,3 $$ by hand", "13 4", " 14 5")
    found = only_trace(jcamp_file(table, XYDATA=None, XYPOINTS="(XY..XY)") + b"\x1a")
    assert (found.positions, found.values) == ((10.0, 11.5, 12.0, 13.0, 14.0), (1.0, 2.0, 3.0, 4.0, 5.0))


def test_blocks_without_a_curve_are_told():
    inner = jcamp_file(TABLE).decode()
    text = f"##TITLE= all\n##JCAMP-DX= 4.24\n##DATA TYPE= LINK\n##BLOCKS= 2\n{inner}##TITLE= words\n##END=\n##END=\n"
    study = lanewise.read(text.encode(), name="inks.jdx", options={"origin": 0.0, "spots": "none"})
    assert len(study.plates[0].lanes) == 1
    assert study.note == "inks.jdx: block 'words' (line 21) was left out: it holds no curve."


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (jcamp_file(TABLE, NPOINTS="6"), "line 15: wanted 6 points as NPOINTS states, given 5"),
        (jcamp_file(TABLE, NPOINTS="4", LASTX="13"), "line 15: wanted 4 ordinates as NPOINTS states, given more"),
        (jcamp_file(TABLE, NPOINTS="1e12"), "line 12: wanted NPOINTS from 1 to 5000000, given 1e\\+12"),
        (jcamp_file(TABLE, NPOINTS="many"), "line 12: wanted a number for ##NPOINTS=, given 'many'"),
        (jcamp_file(TABLE, NPOINTS=None), "wanted ##NPOINTS=, given none"),
        (jcamp_file(TABLE, FIRSTX="1e999"), "line 10: wanted a number for ##FIRSTX=, given '1e999'"),
        (jcamp_file(TABLE, FIRSTX="10,0"), "line 10: wanted a number for ##FIRSTX=, given '10,0'"),
        (jcamp_file(TABLE, DELTAX="2"), r"line 14: wanted a step of 1 by FIRSTX, LASTX and NPOINTS, given DELTAX= 2"),
        (jcamp_file(("10 1 2", "16 3 4 5")), "line 15: wanted the abscissa 12 of point 3, given 16"),
        (
            jcamp_file(("10 AJJ", "12 D", "13 DJ")),
            "line 15: wanted the last ordinate of the line before, 3, as a check",
        ),
        (jcamp_file(("10 1e400 2", "12 3 4 5")), "line 15: wanted 5 ordinates as NPOINTS states, given more"),
        (jcamp_file(("10 1E+400 2", "12 3 4 5")), "wanted numbers that a trace can have, given infinite ones"),
        (jcamp_file(TABLE, XYDATA="(Y..Y)"), r"line 13: ##XYDATA= in the form '\(Y..Y\)' is not read"),
        (jcamp_file(("10 1 2",), XYDATA=None, XYPOINTS="(XY..XY)"), "wanted pairs of x and y, given 3 numbers"),
        (
            jcamp_file(("10 1 11 2 12 3 13 4 14 5",), XYDATA=None, XYPOINTS="(XY..XY)", LASTX="15"),
            "line 11: wanted LASTX= 14 as in the table, given 15",
        ),
        (jcamp_file(TABLE, NTUPLES="NMR"), r"block 'lane B' \(line 1\): wanted one curve a block .*given NTUPLES"),
        (jcamp_file(TABLE, XYDATA=None, COMMENT="x"), "wanted a block with XYDATA, XYPOINTS or PEAK TABLE, given none"),
        (jcamp_file(TABLE).replace(b"##END=\n", b""), r"block 'lane B' \(line 1\) is not closed"),
        (jcamp_file(TABLE) + b"tail", "line 17: wanted ##TITLE= to begin a block, given 'tail'"),
        (jcamp_file(TABLE) + b"##OWNER= x\n", r"block '' \(line 17\) is not closed"),
        (jcamp_file(TABLE) + b"##END=\n", "line 17: wanted ##TITLE= to begin a block, given ##END="),
        (jcamp_file(TABLE).replace(b"##OWNER=", b"##OWNER"), "line 5: wanted ##LABEL= with an equals sign"),
        (jcamp_file(TABLE).replace(b"##END", b"##XYDATA= (X++(Y..Y))\n##END"), "line 16: .* has two tables ##XYDATA="),
    ],
    ids=[
        "few",
        "many",
        "huge count",
        "word as count",
        "no count",
        "infinite",
        "comma",
        "step",
        "lost line",
        "check",
        "exponent without sign",
        "overflow",
        "form",
        "odd pair",
        "ends of pairs",
        "ntuples",
        "no table",
        "no end",
        "tail",
        "label outside",
        "end twice",
        "no equals sign",
        "two tables",
    ],
)
def test_faults_name_their_place(data, said):
    with pytest.raises(UnreadableFile, match=said):
        lanes_of(data)


def test_any_cut_is_refused():
    data = write_jcamp(one_lane(ink_study("pen"))).main
    for end in range(60, len(data) - len("##END=\n"), 97):
        with pytest.raises(UnreadableFile, match="inks"):
            lanes_of(data[:end])


def test_a_record_that_was_damaged_is_refused():
    data = write_jcamp(one_lane(ink_study("pen"))).main
    with pytest.raises(UnreadableFile, match="the record 'lane' that lanewise wrote there is damaged"):
        lanes_of(data.replace(b'LANE= {"label"', b'LANE= {"labl"'))


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"form": "pac"}, "form: wanted 'affn' or 'dif', given 'pac'"),
        ({"plate": "9"}, r"plate: wanted the label of one of the plates \['bench 3'\], given '9'"),
    ],
    ids=["form", "plate"],
)
def test_what_cannot_be_written_is_said(change, said):
    with pytest.raises(LanewiseError, match=said):
        write_jcamp(ink_study(), **change)


def test_uneven_positions_have_no_differences_and_no_traces_no_file():
    uneven = trace("grey", [10, 11, 13, 20])
    plate = lanewise.Plate(label="1", origin=10, lanes=(lanewise.Lane(label="B", traces=(uneven,)),))
    with pytest.raises(LanewiseError, match="lane B, grey: form 'dif' wants evenly spaced positions"):
        write_jcamp(lanewise.Study(plates=(plate,)), form="dif")
    with pytest.raises(LanewiseError, match="plate '1': wanted lanes with traces, given none"):
        write_jcamp(lanewise.Study(plates=(replace(plate, lanes=()),)))

from __future__ import annotations

import re

import netCDF4
import numpy as np
import pytest
import xarray as xr
from lab_standards_traces_builders import ink_study, one_lane, read_back
from msgspec.structs import replace

import lanewise
from lanewise.errors import LanewiseError, UnreadableFile
from lanewise_lab_standards import write_andi

# Names of attributes, variables and dimensions: ASTM E1947-98. The standard itself was not read; a published list of
# its names was.

X = np.linspace(10, 90, 321)
Y = 0.01 + np.exp(-(((X - 40) / 2) ** 2))


@pytest.fixture
def made(tmp_path):
    """Write a file with the netCDF library, in the classic form of the standard unless told otherwise."""

    def make(
        *,
        attributes=(),
        own=(),
        variables=(),
        unit="millimeters",
        values=Y,
        sampling=(10.0, 0.25),
        points="fixed",
        format="NETCDF3_CLASSIC",
        kind="f4",
    ):
        path = tmp_path / "other.cdf"
        with netCDF4.Dataset(path, "w", format=format) as file:
            file.aia_template_revision = "1.0"
            if unit is not None:
                file.retention_unit = unit
            for name, text in dict(attributes).items():
                setattr(file, name, text)
            file.createDimension("_32_byte_string", 32)
            if values is not None:
                file.createDimension("point_number", None if points == "record" else len(values))
                ordinates = file.createVariable("ordinate_values", kind, ("point_number",))
                ordinates.set_auto_maskandscale(False)
                for name, text in dict(own).items():
                    setattr(ordinates, name, text)
                ordinates[:] = values
            for name, number in zip(("actual_delay_time", "actual_sampling_interval"), sampling, strict=False):
                file.createVariable(name, "f4", ())[...] = number
            for name, numbers in dict(variables).items():
                if name.startswith("peak") and "peak_number" not in file.dimensions:
                    file.createDimension("peak_number", len(numbers))
                dimension = "peak_number" if name.startswith("peak") else "point_number"
                if name == "peak_name":
                    file.createVariable(name, "S1", (dimension, "_32_byte_string"))[:] = netCDF4.stringtochar(
                        np.array(numbers, "S32")
                    )
                else:
                    file.createVariable(name, "f8", (dimension,))[:] = numbers
        return path.read_bytes()

    return make


def lane_of(data, **options):
    usual = {"origin": 10.0, "spots": "none"}
    (lane,) = lanewise.read(data, name="B.cdf", options=usual | options).plates[0].lanes
    return lane


def test_file_of_the_netcdf_library_is_read(made):
    lane = lane_of(made(attributes={"sample_name": "blue pen", "detector_name": "grey", "detector_unit": "AU"}))
    (found,) = lane.traces
    assert (lane.sample, found.channel, found.unit) == ("blue pen", "grey", "AU")
    assert found.positions == tuple(X.tolist())
    assert found.values == tuple(Y.astype("f4").astype(float).tolist())


@pytest.mark.parametrize("version", ["NETCDF3_CLASSIC", "NETCDF3_64BIT_OFFSET"])
@pytest.mark.parametrize("points", ["fixed", "record"])
def test_both_versions_and_a_record_dimension(made, version, points):
    assert lane_of(made(format=version, points=points)).traces[0].positions == tuple(X.tolist())


# Quirks of files in the field, as listed by an open reader with its test files (read there).
def test_nul_signs_after_texts_and_names_with_an_s(made):
    quirks = {"sample_name": "blue pen\0", "retention_units": "mm\0", "detector_units": "mV\0"}
    found = lane_of(made(attributes=quirks, unit=None, own={"uniform_sampling_flag": "Y\0"}))
    assert (found.sample, found.traces[0].unit) == ("blue pen", "mV")


@pytest.mark.parametrize("place", ["own", "attributes"])
def test_sampling_that_is_not_uniform_with_the_flag_at_either_place(made, place):
    uneven = X**1.01
    data = made(**{place: {"uniform_sampling_flag": "N"}}, variables={"raw_data_retention": uneven})
    assert lane_of(data).traces[0].positions == tuple(uneven.tolist())


def test_packed_ordinates(made):
    packed = np.arange(321, dtype="i2")
    data = made(values=packed, kind="i2", own={"scale_factor": 0.5, "add_offset": -3.0})
    assert lane_of(data).traces[0].values == tuple((packed * 0.5 - 3).tolist())


def test_centimetres(made):
    assert lane_of(made(unit="cm", sampling=(1.0, 0.25))).traces[0].positions[:2] == (10.0, 12.5)


PEAKS = {
    "peak_retention_time": [30.5, 40.25, -9999.0],
    "peak_start_time": [28.0, -9999.0, -9999.0],
    "peak_end_time": [33.0, 42.0, -9999.0],
    "peak_area": [2.5, -9999.0, 1.0],
}


def test_stated_peaks_without_what_is_null(made):
    lane = lane_of(made(variables={**PEAKS, "peak_name": ["violet", "blue", ""]}), spots="stated")
    found = [(spot.label, spot.trailing, spot.centre, spot.leading, spot.area) for spot in lane.spots]
    assert found == [("violet", 28.0, 30.5, 33.0, 2.5), ("blue", None, 40.25, 42.0, None)]


def test_peaks_of_one_name_are_numbered(made):
    lane = lane_of(made(variables={**PEAKS, "peak_name": ["dye", "dye", ""]}), spots="stated")
    assert [spot.label for spot in lane.spots] == ["1", "2"]


def test_peaks_alone_are_taken_when_asked_for(made):
    data = made(values=None, sampling=(), variables=PEAKS)
    assert len(lane_of(data, spots="stated").spots) == 2
    with pytest.raises(UnreadableFile, match=r"given a table of peaks alone.*'spots': 'stated'"):
        lane_of(data, spots="found")


def test_peaks_that_were_not_asked_for_are_told(made):
    lane = lane_of(made(variables=PEAKS), spots="found")
    assert lane.note == "2 spots stated in the file were left out; the option spots='stated' takes them."


def calls_in(error):
    return re.findall(r"lanewise\.read\(.*?\}\)", str(error))


@pytest.mark.parametrize("unit", ["seconds", "minutes", "", None, "furlongs"], ids=str)
def test_what_is_no_length_is_never_guessed(made, unit):
    with pytest.raises(UnreadableFile, match="it is not guessed") as caught:
        lane_of(made(unit=unit))
    said = f"retention_unit: wanted a length along the lane (mm, cm, micrometers, inches), given {unit or ''!r}"
    assert said in str(caught.value)
    assert calls_in(caught.value) == [
        "lanewise.read('B.cdf', options={'origin': 10.0, 'spots': 'none', 'axis': 'millimetres'})",
        "lanewise.read('B.cdf', options={'origin': 10.0, 'spots': 'none', 'axis': 'rf1000', 'front': 90.0})",
    ]


def test_the_calls_that_are_offered_work(made, tmp_path, monkeypatch):
    (tmp_path / "B.cdf").write_bytes(made(unit="seconds", sampling=(0.0, 3.125)))
    monkeypatch.chdir(tmp_path)
    with pytest.raises(UnreadableFile, match="it is not guessed") as caught:
        lanewise.read("B.cdf", options={"spots": "none", "origin": 12.0})
    firsts = [eval(call).plates[0].lanes[0].traces[0].positions[:2] for call in calls_in(caught.value)]
    assert firsts == [(0.0, 3.125), (12.0, pytest.approx(12 + 0.003125 * (90 - 12)))]


def test_rf_wants_its_lines(made):
    with pytest.raises(UnreadableFile, match=r"multiples of Rf want the origin and the front .*given no front"):
        lane_of(made(unit="seconds"), axis="rf1000")


def test_an_origin_is_never_made_up(made):
    with pytest.raises(UnreadableFile, match=r"lane '1': wanted the position of the origin line.*'origin': 0.0"):
        lanewise.read(made(), name="B.cdf", options={"spots": "none"})


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"own": {"uniform_sampling_flag": "N"}}, "wanted raw_data_retention of 321 points, given 0"),
        ({"sampling": (10.0,)}, "wanted one number actual_sampling_interval, given none"),
        ({"sampling": (10.0, 0.0)}, "wanted actual_sampling_interval above 0, given 0"),
        ({"sampling": (10.0, np.nan)}, "wanted actual_sampling_interval above 0, given nan"),
        ({"values": np.full(5, np.inf)}, "wanted numbers that a trace can have, given infinite ones"),
        ({"values": None, "sampling": ()}, "wanted ordinate_values or peak_retention_time, given neither"),
    ],
    ids=["no abscissas", "no interval", "interval 0", "interval nan", "infinite", "nothing"],
)
def test_what_is_missing_is_said(made, change, said):
    with pytest.raises(UnreadableFile, match=said):
        lane_of(made(**change))


def test_cut_files_are_refused(made):
    data = made(variables=PEAKS)
    for end in (*range(5, 200, 13), *range(200, len(data) - 40, 97)):
        with pytest.raises(UnreadableFile, match=r"B\.cdf: wanted a whole file of classic netCDF"):
            lanewise.read(data[:end], name="B.cdf", format="andi-chromatography", options={"origin": 10.0})


def test_sizes_that_lie_are_refused_at_once(made):
    data = bytearray(made())
    at = data.index(b"point_number") + len("point_number")
    data[at : at + 4] = (2**31 - 1).to_bytes(4, "big")
    with pytest.raises(UnreadableFile, match="wanted a whole file of classic netCDF"):
        lane_of(bytes(data))


@pytest.mark.parametrize(("lane", "channel"), [("B", "grey"), ("B", ""), ("black", "grey")])
def test_written_traces_come_back_to_the_last_bit(lane, channel):
    study = ink_study()
    plate = study.plates[0]
    (whole,) = (one for one in plate.lanes if one.label == lane)
    wanted = replace(whole, traces=tuple(one for one in whole.traces if one.channel == channel))
    found = read_back(write_andi(study, lane=lane, channel=channel).main, "B.cdf")
    assert found == replace(study, plates=(replace(plate, lanes=(wanted,)),))


@pytest.mark.parametrize("axis", ["rf", "hrf", "rf1000"])
def test_rf_as_seconds_is_what_was_chosen_and_comes_back(axis):
    study = one_lane(ink_study())
    data = write_andi(study, axis=axis).main
    wanted = study.plates[0].lanes[0].traces[0]
    found = read_back(data, "B.cdf").plates[0].lanes[0].traces[0]
    assert found.positions == pytest.approx(wanted.positions, abs=1e-12)
    assert found.values == wanted.values
    with netCDF4.Dataset("B.cdf", memory=data) as file:
        assert file.retention_unit == "seconds"
        assert f"Rf in the form '{axis}' written as if it were seconds: it is NO time" in file.administrative_comments
        factor = {"rf": 1, "hrf": 100, "rf1000": 1000}[axis]  # hRf = 100 Rf: common practice, no source
        assert float(file["actual_delay_time"][...]) == pytest.approx((10 - 10.5) / (88.25 - 10.5) * factor)
        assert file["ordinate_values"].uniform_sampling_flag == "Y"


def test_written_file_holds_what_the_standard_demands():
    data = write_andi(ink_study("blue pen"), lane="B", channel="grey", stamp="20260301120000+0100").main
    with netCDF4.Dataset("B.cdf", memory=data) as file:
        assert file.data_model == "NETCDF3_CLASSIC"
        demanded = {
            "dataset_completeness": "C1+C2",
            "aia_template_revision": "1.0",
            "injection_date_time_stamp": "20260301120000+0100",
            "retention_unit": "millimeters",
            "separation_experiment_type": "Thin Layer Chromatography",
            "sample_name": "blue pen",
        }
        assert {name: getattr(file, name) for name in demanded} == demanded
        assert file.netcdf_revision
        assert {f"_{n}_byte_string" for n in (2, 4, 8, 16, 32, 64, 128, 255)} < set(file.dimensions)
        scalars = ("actual_run_time_length", "actual_sampling_interval", "actual_delay_time")
        assert [float(file[name][...]) for name in scalars] == [80.0, 0.25, 10.0]
        assert file["ordinate_values"].dimensions == ("point_number",)
        assert netCDF4.chartostring(file["peak_name"][:]).tolist() == ["violet", "2"]
        assert file["peak_start_time"][:].tolist() == [26.0, -9999.0]
    with xr.open_dataset(data, engine="scipy") as other:
        assert other.sizes["point_number"] == 321


def test_written_table_of_peaks_is_read_by_those_who_do_not_know_the_records():
    data = write_andi(ink_study(), lane="B", channel="grey").main
    foreign = data.replace(b"lanewise_", b"otherwise")
    lane = lane_of(foreign, spots="stated")
    assert [(spot.label, spot.centre) for spot in lane.spots] == [("violet", 30.0), ("2", 55.0)]


def test_single_precision_only_where_nothing_is_lost():
    short = lanewise.Trace(positions=(10, 10.5, 11), values=(0.25, 0.5, 0.125))
    long = lanewise.Trace(positions=(10, 10.5, 11), values=(0.1, 0.5, 0.125))
    for made, kind in ((short, "float32"), (long, "float64")):
        plate = lanewise.Plate(label="1", origin=10, lanes=(lanewise.Lane(label="B", traces=(made,)),))
        data = write_andi(lanewise.Study(plates=(plate,))).main
        with netCDF4.Dataset("B.cdf", memory=data) as file:
            assert file["ordinate_values"].dtype == kind


def test_written_bytes_are_the_same_each_time():
    assert write_andi(ink_study(), lane="black").main == write_andi(ink_study(), lane="black").main


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({}, "wanted one trace, given 3 with lane=None and channel=None"),
        ({"lane": "B"}, "wanted one trace, given 2 with lane='B'"),
        ({"lane": "C"}, "wanted one trace, given 0 with lane='C'"),
        ({"lane": "black", "stamp": "today"}, "stamp: wanted YYYYMMDDhhmmss"),
        ({"lane": "black", "axis": "seconds"}, "axis: wanted 'millimetres', 'rf', 'hrf', 'rf1000', given 'seconds'"),
    ],
    ids=["no lane", "two channels", "unknown lane", "stamp", "axis"],
)
def test_what_cannot_be_written_is_said(change, said):
    with pytest.raises(LanewiseError, match=said):
        write_andi(ink_study(), **change)


def test_rf_cannot_be_written_without_a_front():
    study = one_lane(ink_study())
    plate = study.plates[0]
    lane = replace(plate.lanes[0], front=None, u_front=None)
    with pytest.raises(LanewiseError, match="axis 'rf1000' wants a front, given none"):
        write_andi(replace(study, plates=(replace(plate, front=None, lanes=(lane,)),)), axis="rf1000")

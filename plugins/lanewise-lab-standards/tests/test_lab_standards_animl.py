from __future__ import annotations

import base64
from pathlib import Path
from xml.etree import ElementTree

import animl2
import animl2.models as am
import lxml.etree
import numpy as np
import pytest
import signxml
from animl2.models.data_type import DoubleType
from animl2.models.infrastructure import Increment
from lab_standards_traces_builders import animl_file, ink_study, one_lane, read_back
from msgspec.structs import replace

import lanewise
from lanewise.errors import LanewiseError, UnreadableFile
from lanewise_lab_standards import write_animl

CORE = Path(__file__).parents[4] / "shared" / "standards" / "animl" / "animl-core.xsd"
SIGNATURE = Path(signxml.__file__).parent / "schemas" / "xmldsig-core-schema.xsd"

MM = '<Unit label="mm" quantity="length"><SIUnit factor="0.001">m</SIUnit></Unit>'
POSITIONS = f"<IndividualValueSet><D>10</D><D>11.5</D><D>12</D></IndividualValueSet>{MM}"
VALUES = '<IndividualValueSet><F>1</F><I>2</I><D>0.3</D></IndividualValueSet><Unit label="AU"/>'


def document(positions=POSITIONS, *values, **others):
    return animl_file(positions, *(values or [VALUES]), **others)


def lanes_of(data, **options):
    usual = {"origin": 10.0, "spots": "none"}
    return lanewise.read(data, name="inks.animl", options=usual | options).plates[0].lanes


@pytest.fixture(scope="module")
def schema():
    """Give the official schema, which is not part of this package; signatures by the copy that signxml carries."""
    if not CORE.exists():
        pytest.skip("the official schema of AnIML core 0.90 is not at hand; it is no part of this package")

    class Local(lxml.etree.Resolver):
        def resolve(self, url, public_id, context):
            return self.resolve_filename(str(SIGNATURE), context) if "xmldsig" in url else None

    parser = lxml.etree.XMLParser(no_network=True)
    parser.resolvers.add(Local())
    return lxml.etree.XMLSchema(lxml.etree.parse(str(CORE), parser))


@pytest.mark.parametrize("encoded", [False, True], ids=["decimal", "base64"])
def test_written_documents_are_valid_by_the_official_schema(schema, encoded):
    tree = lxml.etree.fromstring(write_animl(ink_study(), encoded=encoded).main)
    schema.assertValid(tree)


def test_the_documents_of_these_tests_are_valid_too(schema):
    schema.assertValid(lxml.etree.fromstring(document()))


@pytest.mark.parametrize("encoded", [False, True], ids=["decimal", "base64"])
def test_written_traces_come_back_to_the_last_bit(encoded):
    assert read_back(write_animl(ink_study(), encoded=encoded).main, "inks.animl") == ink_study()


@pytest.mark.parametrize("encoded", [False, True], ids=["decimal", "base64"])
def test_second_reader_gives_the_same_numbers(encoded):
    study = one_lane(ink_study("blue pen"))
    text = write_animl(study, encoded=encoded).main.decode()
    other = animl2.open_document(text)
    (step,) = other.experiment_set.experiment_steps
    (sample,) = other.sample_set.samples
    assert (step.name, sample.name) == ("black", "document black")
    found = [one.valuesets[0] for one in step.results[0].series.series]
    wanted = study.plates[0].lanes[0].traces[0]
    for values, numbers in zip(found, (wanted.positions, wanted.values), strict=True):
        if encoded:
            assert np.frombuffer(base64.b64decode(values.value), "<f8").tolist() == list(numbers)
        else:
            assert [float(one.value) for one in values.values] == list(numbers)


def test_document_of_a_second_writer_is_read():
    other = animl2.create_document()
    other.append(am.Sample(name="blue pen", sampleID="s1"))
    unit = am.Unit(label="mm", siunits=[am.SIUnit(factor="0.001", unit=am.UnitText.Meter)])
    step = am.AutoIncrementedValueSet(am.StartValue(DoubleType(10.0)), Increment(DoubleType(0.25)))
    position = am.Series("x", am.Dependency.Independent, "x", am.ParameterType.Float64, valuesets=[step], unit=unit)
    values = am.IndividualValueSet([DoubleType(one) for one in (0.5, 1.25, 0.75)])
    signal = am.Series("grey", am.Dependency.Dependent, "y", am.ParameterType.Float64, valuesets=[values])
    table = am.SeriesSet(name="t", id="t", length=3, series=[position, signal])
    other.append(am.ExperimentStep("e1", "B", results=[am.Result("r", series=table)]))
    (lane,) = lanes_of(ElementTree.tostring(other.dump_xml()))
    (found,) = lane.traces
    assert (lane.label, found.channel) == ("B", "grey")
    assert (found.positions, found.values) == ((10.0, 10.25, 10.5), (0.5, 1.25, 0.75))


def test_lanes_samples_channels_and_units():
    (lane,) = lanes_of(document(POSITIONS, VALUES, VALUES.replace("AU", "1")))
    assert (lane.label, lane.sample) == ("B", "blue pen")
    assert [(one.channel, one.unit) for one in lane.traces] == [("grey", "AU"), ("blue", "1")]
    assert lane.traces[0].positions == (10.0, 11.5, 12.0)
    assert lane.traces[0].values == (1.0, 2.0, 0.3)


@pytest.mark.parametrize(
    ("kind", "code"), [("Int32", "<i4"), ("Int64", "<i8"), ("Float32", "<f4"), ("Float64", "<f8")], ids=lambda one: one
)
def test_encoded_numbers_are_little_endian_as_the_schema_says(kind, code):
    numbers = np.array([10, 20, 35], code)
    text = base64.b64encode(numbers.tobytes()).decode()
    found = lanes_of(document(f"<EncodedValueSet>\n {text}\n</EncodedValueSet>{MM}", kind=kind))[0].traces[0]
    assert found.positions == (10.0, 20.0, 35.0)


def test_steps_of_a_scale_and_sets_that_follow_each_other():
    run = "<AutoIncrementedValueSet><StartValue><D>10</D></StartValue><Increment><D>0.5</D></Increment>"
    found = lanes_of(document(f"{run}</AutoIncrementedValueSet>{MM}"))[0].traces[0]
    assert found.positions == (10.0, 10.5, 11.0)
    parts = '<IndividualValueSet endIndex="1"><D>1</D><D>2</D></IndividualValueSet><IndividualValueSet startIndex="2">'
    found = lanes_of(document(POSITIONS, f"{parts}<D>3</D></IndividualValueSet>"))[0].traces[0]
    assert found.values == (1.0, 2.0, 3.0)


@pytest.mark.parametrize(
    ("unit", "factor"),
    [
        (MM, 1),
        ('<Unit label="length"><SIUnit factor="0.01">m</SIUnit></Unit>', 10),
        ('<Unit label="cm"/>', 10),
        ('<Unit label="x"><SIUnit factor="1E-6">m</SIUnit></Unit>', 0.001),
    ],
    ids=["mm", "cm by its SI part", "cm by its label", "micrometres"],
)
def test_units_of_length(unit, factor):
    found = lanes_of(document(POSITIONS.replace(MM, unit)), origin=0.0)[0].traces[0]
    assert found.positions == pytest.approx(tuple(factor * one for one in (10, 11.5, 12)), rel=1e-15)


@pytest.mark.parametrize(
    "unit",
    [
        "",
        '<Unit label="s"><SIUnit>s</SIUnit></Unit>',
        '<Unit label="mm2"><SIUnit exponent="2" factor="0.001">m</SIUnit></Unit>',
    ],
    ids=["none", "seconds", "area"],
)
def test_what_is_no_length_is_never_guessed(unit):
    with pytest.raises(UnreadableFile, match=r"step 'B', series 'position': wanted a length along the lane"):
        lanes_of(document(POSITIONS.replace(MM, unit)))


def test_steps_without_a_curve_are_told():
    step = '<ExperimentStep name="wash" experimentStepID="e2"/>'
    study = lanewise.read(document(step=step), name="inks.animl", options={"origin": 10.0, "spots": "none"})
    assert study.note == "inks.animl: experiment step 'wash' was left out: it holds no curve."


BOMB = '<!DOCTYPE AnIML [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;">]>'
NEEDY = '<!DOCTYPE AnIML SYSTEM "file:///etc/hostname">'
DEEP = b"<a>" * 200_000


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (document(before=BOMB), "it has a document type, and so perhaps entities"),
        (document(before=NEEDY), "it has a document type"),
        (document().replace(b"blue pen", b"&x;"), "undefined entity"),
        (document(step=DEEP.decode()), "nested more than 100 deep"),
        (document().replace(b'version="1.0"', b'version="1.0" encoding="klingon"'), "unknown encoding"),
        (document()[:-20], "wanted well-formed XML"),
        (document().replace(b"core:draft:0.90", b"core:draft:0.37"), "wanted the root element AnIML of urn"),
        (document(length="4"), "series 'position': wanted 4 values as the set of series states, given 3"),
        (document(length="99999999999"), "wanted a length of series from 1 to 5000000, given '99999999999'"),
        (document(length="-3"), "wanted a length of series from 1 to 5000000, given '-3'"),
        (
            document(POSITIONS.replace("11.5", "11,5")),
            "series 'position': wanted numbers, given some that cannot be read",
        ),
        (document(POSITIONS.replace("11.5", "1e999")), "wanted numbers that a trace can have, given infinite ones"),
        (document(f"<EncodedValueSet>AAA*</EncodedValueSet>{MM}"), "series 'position': wanted numbers"),
        (document(f"<EncodedValueSet>AAAA</EncodedValueSet>{MM}"), "series 'position': wanted numbers"),
        (document(f"<AutoIncrementedValueSet/>{MM}"), "a start value and an increment are wanted"),
        (
            document(POSITIONS.replace("<Indiv", '<IndividualValueSet startIndex="1"/><Indiv')),
            "wanted values from index 0",
        ),
        (
            document().replace(b'"independent"', b'"dependent"'),
            "wanted a step with an independent and a dependent series",
        ),
    ],
    ids=[
        "entities",
        "outside document type",
        "undefined entity",
        "deep",
        "encoding",
        "cut",
        "other version",
        "length",
        "huge length",
        "negative length",
        "comma",
        "overflow",
        "no base64",
        "half a number",
        "no start",
        "gap",
        "no abscissa",
    ],
)
def test_hostile_and_damaged_documents_are_refused(data, said):
    with pytest.raises(UnreadableFile, match=said):
        lanewise.read(data, name="inks.animl", format="animl", options={"origin": 10.0, "spots": "none"})


def test_any_cut_is_refused():
    data = write_animl(one_lane(ink_study("pen"))).main
    for end in range(400, len(data) - 2, 401):
        with pytest.raises(UnreadableFile, match=r"inks\.animl: wanted well-formed XML"):
            lanes_of(data[:end])


def test_names_are_tokens_and_the_records_have_every_letter(schema):
    name = " \x01\x07" + "n" * 2000 + "\ufffe\n"
    study = one_lane(ink_study())
    plate = study.plates[0]
    study = replace(study, plates=(replace(plate, lanes=(replace(plate.lanes[0], label=name, sample=name),)),))
    data = write_animl(study).main
    schema.assertValid(lxml.etree.fromstring(data))
    assert read_back(data, "inks.animl") == study


def test_written_bytes_are_the_same_each_time():
    assert write_animl(ink_study()).main == write_animl(ink_study()).main


def test_lanes_without_a_trace_are_told():
    study = ink_study()
    plate = study.plates[0]
    bare = replace(study, plates=(replace(plate, lanes=(*plate.lanes, lanewise.Lane(label="C"))),))
    assert (
        read_back(write_animl(bare).main, "inks.animl").note
        == "invented\nLanes without a trace were not written: ['C']."
    )
    with pytest.raises(LanewiseError, match="wanted the label of one of the plates"):
        write_animl(bare, plate="9")

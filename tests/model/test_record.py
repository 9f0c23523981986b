"""JSON: lossless, strict, and described by a schema that an independent validator agrees with."""

from __future__ import annotations

import json
import subprocess
import sys

import jsonschema
import pytest
from hypothesis import HealthCheck, given, settings

from lanewise.errors import RecordError
from lanewise.model.plates import Lane, Plate, Spot
from lanewise.model.record import SCHEMA_FILE, decode, encode, schema, schema_text
from lanewise.model.studies import Study
from lanewise.testing.strategies import studies

VALIDATOR = jsonschema.Draft202012Validator(schema())
SMALL = settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])


def text_of(**fields):
    """A record with some fields replaced."""
    return json.dumps({"kind": "lanewise study", "schema_version": 1, **fields})


def with_lane(**fields):
    lane = {"label": "A", **fields}
    return text_of(plates=[{"label": "1", "origin": 0, "front": 80, "lanes": [lane]}])


@SMALL
@given(studies())
def test_nothing_is_lost(study):
    data = encode(study)
    assert decode(data) == study
    assert decode(data.decode()) == study
    assert encode(decode(data)) == data


@SMALL
@given(studies())
def test_what_is_written_fits_the_schema(study):
    VALIDATOR.validate(json.loads(encode(study)))


def test_the_schema_is_a_schema():
    jsonschema.Draft202012Validator.check_schema(schema())


def test_the_published_schema_is_the_one_of_the_types():
    assert SCHEMA_FILE.read_text(encoding="utf-8") == schema_text()


def test_one_command_writes_the_schema(tmp_path):
    before = SCHEMA_FILE.read_bytes()
    subprocess.run([sys.executable, "-W", "error", "-m", "lanewise.model.record"], check=True, cwd=tmp_path)
    assert SCHEMA_FILE.read_bytes() == before


def test_every_field_is_described():
    for name, entry in schema()["$defs"].items():
        for field, held in entry["properties"].items():
            assert held.get("description") or field == "kind", f"{name}.{field}"


def test_form_of_the_text():
    study = Study(plates=[Plate(label="é", origin=0, front=80, lanes=[Lane(label="A", front=81)])])
    text = encode(study).decode()
    assert text.startswith('{\n  "kind": "lanewise study",\n  "schema_version": 1,\n  "title": "",\n')
    assert '"label": "é"' in text
    assert '{\n          "label": "A",\n          "front": 81.0\n        }' in text
    assert text.endswith("}\n")


def test_equal_studies_give_equal_bytes():
    one, other = (
        Study(plates=[Plate(label="1", factors=dict(pairs))])
        for pairs in ([("b", "1"), ("a", "2")], [("a", "2"), ("b", "1")])
    )
    assert one == other
    assert encode(one) == encode(other)


def test_a_byte_order_mark_is_passed_over():
    assert decode(b"\xef\xbb\xbf" + encode(Study(title="inks"))).title == "inks"


REFUSED_BY_BOTH = {
    "another kind": ('{"kind": "x", "schema_version": 1}', r"\$\.kind: wanted 'lanewise study', given 'x'"),
    "no object": ("[]", r"\$\.kind: wanted 'lanewise study', given \[\]"),
    "no version": ('{"kind": "lanewise study"}', r'\$\.schema_version: .* Add "schema_version": 1\.'),
    "newer version": (
        text_of(schema_version=2, novelty=1),
        r"\$\.schema_version: wanted at most 1, .* given 2\. The record is newer: update lanewise to read it\.",
    ),
    "version zero": (text_of(schema_version=0), r"\$\.schema_version: wanted a whole number from 1 to \d+, given 0"),
    "version as text": (text_of(schema_version="1"), r"given '1' \(text\)\. Give the number without quotes\."),
    "misspelt field": (text_of(titel="x"), r"\$\.titel: .* given 'titel'\. Did you mean 'title'\?"),
    "unknown field": (text_of(zzz="x"), r"\$\.zzz: wanted only fields of a Study: .* given 'zzz'\. Remove it\."),
    "unknown field below": (
        with_lane(fornt=1),
        r"\$\.plates\[0\]\.lanes\[0\]\.fornt: wanted only fields of a Lane: .*Did you mean 'front'\?",
    ),
    "text for a number": (
        with_lane(front="x"),
        r"^\$\.plates\[0\]\.lanes\[0\]\.front: wanted a number \[mm\] or nothing, given 'x' \(text\)\.",
    ),
    "true for a number": (with_lane(front=True), r"lanes\[0\]\.front: .*given True \(yes or no\)"),
    "missing label": (
        with_lane(spots=[{}]),
        r"\$\.plates\[0\]\.lanes\[0\]\.spots\[0\]\.label: .*given nothing\. Add it",
    ),
    "text for a spot": (with_lane(spots=["x"]), r"spots\[0\]: wanted an object with the fields of a Spot, given 'x'"),
    "text for spots": (with_lane(spots="x"), r"lanes\[0\]\.spots: wanted a list or tuple, given 'x'"),
    "unknown role": (with_lane(role="standart"), r"lanes\[0\]\.role: wanted one of .*Did you mean 'standard'\?"),
    "number for a factor": (with_lane(factors={"a": 1}), r"factors\[\.\.\.\]: wanted text with something .* given 1\."),
    "empty factor": (with_lane(factors={"a": " "}), r"factors\[\.\.\.\]: wanted text with something to read"),
    "negative uncertainty": (
        with_lane(u_front=-1),
        r"u_front: wanted a number not below 0 \[mm\] or nothing, given -1",
    ),
    "division of zero": (
        text_of(plates=[{"label": "1", "reading": {"division": 0}}]),
        r"\$\.plates\[0\]\.reading\.division: wanted a number above 0 \[mm\], given 0",
    ),
    "number for a reading": (text_of(plates=[{"label": "1", "reading": 3}]), r"reading: wanted a Reading, given 3"),
    "broken digest": (
        text_of(inputs=[{"name": "a", "sha256": "x", "size": 1, "format": "f"}]),
        r"\$\.inputs\[0\]\.sha256: wanted text of the form",
    ),
    "number for a remark": (
        text_of(inputs=[{"name": "a", "sha256": "0" * 64, "size": 1, "format": "f", "unread": [1]}]),
        r"\$\.inputs\[0\]\.unread\[0\]: wanted text, given 1\.",
    ),
    "unknown zero": (
        text_of(plates=[{"label": "1", "reading": {"zero": "edge"}}]),
        r"\$\.plates\[0\]\.reading\.zero: wanted one of .* given 'edge'",
    ),
    "half a development": (
        text_of(plates=[{"label": "1", "development": {"runs": 1.5}}]),
        r"runs: wanted a whole number from 1 to 1000, given 1\.5",
    ),
}


@pytest.mark.parametrize(("text", "message"), REFUSED_BY_BOTH.values(), ids=REFUSED_BY_BOTH)
def test_refused_here_and_by_the_schema(text, message):
    with pytest.raises(RecordError, match=message):
        decode(text)
    assert not VALIDATOR.is_valid(json.loads(text))


REFUSED = {
    "not JSON": ('{\n "title": }', r"^line 2, column 11: wanted JSON, given something else"),
    "cut off": ("{", r"^line 1, column 2: wanted JSON"),
    "two records": ("{} {}", r"^line 1, column 4: wanted JSON, given something else \(Extra data\)"),
    "NaN": ('{"a": NaN}', r"wanted a finite number or null, given NaN"),
    "infinite": (with_lane(spots=[{"label": "1", "centre": 7}]).replace("7", "1e999"), r"centre: wanted .* given inf"),
    "huge number": (with_lane(front=10**400), r"front: wanted a number"),
    "too many digits": ('{"a": ' + "1" * 5000 + "}", r"^a number: wanted one that can be read"),
    "a field twice": ('{"front": 80, "front": 90}', r"^field 'front': wanted each field once, given twice"),
    "not UTF-8": (b'{"title": "\xff"}', r"^byte 12: wanted UTF-8 text, given b'\\xff'"),
    "nested too deeply": ("[" * 100_000, r"brackets nested too deeply"),
    "beyond the front": (
        with_lane(spots=[{"label": "1", "centre": 90}]),
        r"^\$\.plates\[0\]: lane 'A' on plate '1': spot '1': wanted a centre not beyond the front at 80 mm",
    ),
    "half a character": ('{"kind": "lanewise study", "schema_version": 1, "title": "\\ud800"}', r"title.*UTF-8"),
}


@pytest.mark.parametrize(("text", "message"), REFUSED.values(), ids=REFUSED)
def test_refused(text, message):
    with pytest.raises(RecordError, match=message):
        decode(text)


def test_what_was_not_given_is_not_written_in_lanes_and_spots():
    lane = Lane(label="A", spots=[Spot(label="1", centre=3)])
    raw = json.loads(encode(Study(plates=[Plate(label="1", origin=0, front=80, lanes=[lane])])))
    assert raw["plates"][0]["lanes"] == [{"label": "A", "spots": [{"label": "1", "centre": 3.0}]}]
    assert raw["plates"][0]["reading"]["division"] == 1.0

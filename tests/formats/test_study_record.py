"""The study record as an import format."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings

from lanewise.errors import UnreadableFile
from lanewise.formats.study_record import read, recognise
from lanewise.hooks import Sample
from lanewise.model.record import encode
from lanewise.model.studies import Study
from lanewise.testing.strategies import studies


class Held:
    """A source in memory, as far as this format asks it."""

    name = "inks.json"

    def __init__(self, data):
        self._data = data

    def bytes(self):
        return self._data


@settings(max_examples=10, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(studies())
def test_a_study_comes_back_as_it_was(study):
    data = encode(study)
    assert read(Held(data), None) == study
    assert recognise(Sample("inks.json", data[:65536], len(data), data.decode()[:65536])).claim == "yes"


@pytest.mark.parametrize(
    ("data", "message"),
    [
        (b"", r"^inks\.json: line 1, column 1: wanted JSON"),
        (b'{"kind": "lanewise study", "schema_version": 9}', r"^inks\.json: \$\.schema_version: .* update lanewise"),
        (encode(Study(title="inks"))[:-9], r"^inks\.json: line \d+, column \d+: wanted JSON"),
        (b"\xff\xfe{\x00", r"^inks\.json: byte 1: wanted UTF-8 text"),
    ],
    ids=["empty", "newer", "cut off", "UTF-16"],
)
def test_unreadable(data, message):
    with pytest.raises(UnreadableFile, match=message):
        read(Held(data), None)


@pytest.mark.parametrize(
    ("text", "claim"),
    [
        ('{"kind": "lanewise study"', "yes"),
        ('\ufeff \n{\n  "kind" : "lanewise study",', "yes"),
        ('{"title": "x", "kind":"lanewise study"}', "yes"),
        ('{"kind": "another"}', "no"),
        ('{"a": "' + "x" * 5000 + '", "kind": "lanewise study"}', "no"),
        ('["kind": "lanewise study"]', "no"),
        ("lane,front", "no"),
        ("", "no"),
        (None, "no"),
    ],
    ids=["compact", "spread", "later", "another kind", "too late", "a list", "a table", "empty", "no text"],
)
def test_recognised(text, claim):
    assert recognise(Sample("inks.json", b"", 0, text)).claim == claim

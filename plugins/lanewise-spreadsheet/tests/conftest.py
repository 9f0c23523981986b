from __future__ import annotations

import sys
from pathlib import Path

import pytest

from lanewise import read, to_frame
from lanewise.testing import isolated

sys.path.insert(0, str(Path(__file__).parent))  # for the builders beside the tests


@pytest.fixture(scope="session")
def registry():
    from lanewise_spreadsheet import plugin

    return isolated(plugin, built_in=True)


@pytest.fixture
def study_of(registry):
    def read_it(data, name="inks.xlsx", **options):
        return read(data, name=name, format="spreadsheet", options=options, registry=registry)

    return read_it


@pytest.fixture
def marks_of(study_of):
    """Read bytes and give some columns of the marks as a dict of lists."""

    def read_it(data, *columns, **more):
        frame = to_frame(study_of(data, **more))
        return {column: frame[column].tolist() for column in columns or ("plate", "lane", "front_mm", "centre_mm")}

    return read_it


@pytest.fixture
def unread_of(study_of):
    def read_it(data, **more):
        return list(study_of(data, **more).inputs[0].unread)

    return read_it

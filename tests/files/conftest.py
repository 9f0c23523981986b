"""Registries with pretended formats and styles, handed over as objects."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from lanewise.hooks import ImportFormat, Recognition, ReportStyle, hookimpl
from lanewise.model.plates import Lane, Plate, Spot
from lanewise.model.studies import Study
from lanewise.plugins.registry import make_registry


def plugin_of(*offers):
    """Make a plugin of formats and styles."""

    @hookimpl
    def lanewise_import_formats():
        return [offer for offer in offers if isinstance(offer, ImportFormat)]

    @hookimpl
    def lanewise_report_styles():
        return [offer for offer in offers if isinstance(offer, ReportStyle)]

    return SimpleNamespace(
        lanewise_import_formats=lanewise_import_formats, lanewise_report_styles=lanewise_report_styles
    )


@pytest.fixture
def registry_of():
    """Make a registry of the formats and styles given, and nothing else."""

    def make(*offers):
        return make_registry(built_in=(), discover=False, plugins={"my-lab": plugin_of(*offers)})

    return make


def plates_of(text):
    """Make plates of lines such as ``A=32``: label, and one spot at that distance. [mm]"""
    plates = []
    for line in text.split():
        label, _, at = line.partition("=")
        lane = Lane(label="1", spots=[Spot(label="1", centre=float(at))])
        plates.append(Plate(label=label, origin=0, front=100, lanes=[lane]))
    return tuple(plates)


@pytest.fixture
def plain():
    """A format that reads lines such as ``A=32`` as plates, and counts how often it is asked."""
    asked = []

    def recognise(sample):
        asked.append(sample.name)
        fits = sample.text is not None and "=" in sample.text
        return Recognition.yes("a line holds =") if fits else Recognition.no("no line holds =")

    def read(source, options):
        return Study(plates=plates_of(source.text()))

    made = ImportFormat("plain", "Lines", read, recognise=recognise)
    return SimpleNamespace(format=made, asked=asked)

"""Reports, archives and checkers for the tests of the results; all readings are invented."""

from __future__ import annotations

import email.message
import io
import json
import urllib.request
import warnings
import zipfile
from pathlib import Path

import requests
import rocrate
import urllib3
from frictionless import Package
from rocrate_validator import services
from rocrate_validator.models import Severity, ValidationSettings

import lanewise

READINGS = """\
plate,system,lane,sample,role,spot,origin_mm,front_mm,trailing_mm,centre_mm,leading_mm,state,colour,note,bench,division_mm
bench 1,ethanol:water 3:7,1,crystal violet,standard,1,10,73.5,30.5,32.1,34.5,measured,violet,,north,0.5
bench 1,ethanol:water 3:7,2,=ledger blue,sample,1,10,73.5,30.5,32.5,34,measured,violet,"a ""pair"", faint",north,0.5
bench 1,ethanol:water 3:7,2,=ledger blue,sample,2,10,73.5,43.5,45.7,47.5,measured,blue,,north,0.5
bench 1,ethanol:water 3:7,3,document black,sample,1,10,73.5,,,,at origin,black,did not move,north,0.5
bench 1,ethanol:water 3:7,3,document black,sample,2,10,73.5,31.5,40,42.5,streak,violet,,north,0.5
bench 1,ethanol:water 3:7,3,document black,sample,3,10,73.5,,,,with front,yellow,,north,0.5
bench 1,ethanol:water 3:7,4,דיו כחול,sample,1,10,73.5,20,22,24.3,measured,blue,,north,0.5
bench 2,1-butanol:water 9:1,1,crystal violet,standard,1,10,71.5,34,35.5,38,measured,violet,,south,0.5
bench 2,1-butanol:water 9:1,2,=ledger blue,sample,1,10,71.5,23,24.4,26,measured,blue,,south,0.5
bench 2,1-butanol:water 9:1,2,=ledger blue,sample,2,10,71.5,34.5,36.2,37.5,measured,violet,,south,0.5
bench 2,1-butanol:water 9:1,5,blank,blank,1,10,71.5,,,,absent,,nothing seen,south,0.5
""".encode()

CONTEXT = (Path(rocrate.__file__).parent / "data" / "ro-crate.jsonld").read_bytes()
"""The JSON-LD context that the package rocrate 0.16 ships: that of RO-Crate 1.3, which holds the terms of 1.1."""


def ink_study():
    return lanewise.read(READINGS, name="inks.csv")


def ink_report(**settings):
    return lanewise.study_report(ink_study(), title="Writing inks", date="2026-01-31", **settings)


def files_of(archive):
    with zipfile.ZipFile(io.BytesIO(archive)) as held:
        return {entry.filename: held.read(entry) for entry in held.infolist()}


def unpacked(files, folder):
    for name, data in files.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(data)
    return folder


def package_faults(path):
    """Type, field and row of every fault that frictionless finds in a package."""
    report = Package(str(path)).validate()
    assert report.valid == (not report.flatten(["type"]))
    return [tuple(fault) for fault in report.flatten(["type", "fieldName", "rowNumber"])]


def crate_faults(path, profile, patch, severity=Severity.REQUIRED):
    """Messages of the RO-Crate validator; the context comes from `CONTEXT`, everything else of the web is refused."""

    def known(address):
        assert address.startswith("https://w3id.org/ro/crate/") or "researchobject.org" in address, address
        return address

    def send(self, request, **settings):
        body = urllib3.HTTPResponse(
            body=io.BytesIO(CONTEXT),
            headers={"Content-Type": "application/ld+json"},
            status=200,
            preload_content=False,
            request_url=known(request.url),
        )
        return self.build_response(request, body)

    class Opened(io.BytesIO):
        headers = email.message.Message()
        status = 200

        def info(self):
            return self.headers

        def geturl(self):
            return self.address

    Opened.headers["Content-Type"] = "application/ld+json"

    def urlopen(request, *args, **settings):
        opened = Opened(CONTEXT)
        opened.address = known(request if isinstance(request, str) else request.full_url)
        return opened

    patch.setattr(requests.adapters.HTTPAdapter, "send", send)
    patch.setattr(urllib.request, "urlopen", urlopen)
    settings = ValidationSettings(rocrate_uri=str(path), profile_identifier=profile, requirement_severity=severity)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)  # of the validator, which uses old names of its libraries
        result = services.validate(settings)
    faults = [issue.message for issue in result.get_issues()]
    assert result.passed() == (not faults)
    return faults


def graph_of(files):
    return {entity["@id"]: entity for entity in json.loads(files["ro-crate-metadata.json"])["@graph"]}

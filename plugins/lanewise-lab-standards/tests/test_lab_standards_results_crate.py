from __future__ import annotations

import hashlib
import json
import subprocess
import sys
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest
from lab_standards_results_builders import (
    READINGS,
    crate_faults,
    files_of,
    graph_of,
    ink_report,
    package_faults,
    unpacked,
)
from rocrate.rocrate import ROCrate

import lanewise
from lanewise.document import Figure, Report, Section
from lanewise.errors import StyleError
from lanewise_lab_standards import data_package, ro_crate
from lanewise_lab_standards.results_options import CrateOptions, PackageOptions

STATED = CrateOptions(
    licence="https://x.invalid/terms", authors="A. Invented; B. Invented", publisher="An invented class", guard=True
)


@pytest.fixture(scope="module")
def report():
    return ink_report()


@pytest.fixture(scope="module")
def archive(report):
    return ro_crate.render(report, CrateOptions()).main


@pytest.fixture(scope="module")
def files(archive):
    return files_of(archive)


@pytest.fixture(scope="module")
def graph(files):
    return graph_of(files)


# --- validity: roc-validator, rocrate and frictionless are the outside judges (RO-Crate 1.1, Process Run Crate 0.5) ---


@pytest.mark.parametrize("profile", ["ro-crate-1.1", "process-run-crate"])
@pytest.mark.parametrize("options", [CrateOptions(), STATED], ids=["nothing stated", "all stated"])
def test_the_crate_meets_what_is_required(report, options, profile, tmp_path, monkeypatch):
    path = tmp_path / "inks.zip"
    path.write_bytes(ro_crate.render(report, options).main)
    assert crate_faults(path, profile, monkeypatch) == []


@pytest.mark.parametrize("term", ["license", "datePublished", "description", "name"])
def test_a_crate_that_lacks_a_required_term_is_found(files, term, tmp_path, monkeypatch):
    metadata = json.loads(files["ro-crate-metadata.json"])
    for entity in metadata["@graph"]:
        if entity["@id"] == "./":
            del entity[term]
    bad = unpacked({**files, "ro-crate-metadata.json": json.dumps(metadata).encode()}, tmp_path)
    assert any(f"`{term}`" in fault for fault in crate_faults(bad, "ro-crate-1.1", monkeypatch))


def test_a_crate_that_lacks_the_program_is_found(files, tmp_path, monkeypatch):
    metadata = json.loads(files["ro-crate-metadata.json"])
    for entity in metadata["@graph"]:
        entity.pop("instrument", None)
    bad = unpacked({**files, "ro-crate-metadata.json": json.dumps(metadata).encode()}, tmp_path)
    assert any("instrument" in fault for fault in crate_faults(bad, "process-run-crate", monkeypatch))


def test_the_crate_opens_in_rocrate(archive, tmp_path):
    path = tmp_path / "inks.zip"
    path.write_bytes(archive)
    crate = ROCrate(str(path))
    assert crate.name == "Writing inks"
    assert crate.datePublished.date().isoformat() == "2026-01-31"
    making = crate.root_dataset["mentions"]
    assert making.type == "CreateAction"
    assert (making["instrument"]["name"], making["instrument"]["softwareVersion"]) == ("lanewise", lanewise.__version__)
    assert making["object"]["name"] == "inks.csv"
    assert len(making["result"]) == len(crate.data_entities)


def test_the_crate_is_a_data_package_too(report, archive, files, tmp_path):
    path = tmp_path / "inks.zip"
    path.write_bytes(archive)
    assert package_faults(path) == []
    alone = files_of(data_package.render(report, PackageOptions()).main)
    same = [name for name in alone if name.startswith("data/")]
    assert len(same) == 6
    assert all(files[name] == alone[name] for name in same)


# --- what is in it ---


def test_every_file_is_described_with_its_size_and_hash(files, graph):
    parts = [part["@id"] for part in graph["./"]["hasPart"]]
    assert sorted(parts) == sorted(set(files) - {"ro-crate-metadata.json"})
    for name in parts:
        entity = graph[name]
        assert entity["@type"] == "File"
        assert entity["name"]
        assert entity["description"]
        assert entity["contentSize"] == str(len(files[name]))
        assert entity["sha256"] == hashlib.sha256(files[name]).hexdigest()
    assert {graph[name]["encodingFormat"] for name in parts} == {
        "application/json",
        "image/svg+xml",
        "text/csv",
        "text/html",
        "text/plain",
    }


def test_every_link_leads_to_an_entity(graph):
    def links(value):
        if isinstance(value, dict):
            yield value["@id"]
        elif isinstance(value, list):
            for one in value:
                yield from links(one)

    found = {link for entity in graph.values() for value in entity.values() for link in links(value)}
    assert found - set(graph) == {"https://w3id.org/ro/crate/1.1"}  # the standard itself


def test_readings_are_named_with_their_hash_and_not_in_the_crate(files, graph):
    given = graph["#input-1"]
    assert (given["@type"], given["name"]) == ("CreativeWork", "inks.csv")
    assert given["sha256"] == hashlib.sha256(READINGS).hexdigest()
    assert given["contentSize"] == str(len(READINGS))
    assert "inks.csv" not in {name.rpartition("/")[2] for name in files}


def test_pictures_are_those_of_the_report_with_their_words(report, files, graph):
    figures = [block for section in report.sections for block in section.blocks if isinstance(block, Figure)]
    names = [name for name in files if name.startswith("figures/")]
    assert names == ["figures/1-plate-1.svg", "figures/2-plate-2.svg", "figures/3-rf-by-system.svg"]
    for name, figure in zip(names, figures, strict=True):
        assert files[name] == figure.draw("svg")
        assert ET.fromstring(files[name]).tag == "{http://www.w3.org/2000/svg}svg"
        assert graph[name]["name"] == figure.caption
        assert all(sentence in graph[name]["description"] for sentence in figure.description)


def test_each_picture_is_drawn_once_and_the_report_stays_as_it_was():
    kinds = []

    def draw(kind):
        kinds.append(kind)
        return b'<svg xmlns="http://www.w3.org/2000/svg"/>'

    figure = Figure("../../plate", "One lane.", (), draw, 80.0, 50.0)
    report = Report("Inks", (), (Section("Plates", (figure, figure)),), date="2026-01-31")
    before = replace(report)
    held = files_of(ro_crate.render(report, CrateOptions()).main)
    assert kinds == ["svg"]
    assert report == before
    assert {name for name in held if name.startswith("figures/")} == {"figures/1-plate.svg", "figures/2-plate.svg"}


def test_the_page_is_the_html_style_of_the_library(report, files):
    assert files["report.html"] == lanewise.render(report, "lanewise:html").main


def test_the_summary_describes_the_crate(report, graph):
    assert graph["./"]["description"] == " ".join(report.summary)
    assert graph["./"]["inLanguage"] == "en-GB"


# --- what only an option can say ---


def test_nobody_is_invented(graph):
    assert not {"Person", "Organization"} & {entity["@type"] for entity in graph.values()}
    assert graph["#licence"]["name"] == "No licence was stated; ask the authors before reuse."
    assert graph["./"]["license"] == {"@id": "#licence"}


def test_what_options_state_is_said(report):
    graph = graph_of(files_of(ro_crate.render(report, STATED).main))
    root = graph["./"]
    assert [graph[author["@id"]]["name"] for author in root["author"]] == ["A. Invented", "B. Invented"]
    assert graph[root["publisher"]["@id"]]["name"] == "An invented class"
    assert graph[root["license"]["@id"]]["@id"] == "https://x.invalid/terms"


def test_a_hostile_title_and_licence_stay_texts(tmp_path, monkeypatch):
    options = CrateOptions(title='"}]\x00\ud800 <a>', licence="javascript:alert(1) <b>", published="2026-02-01")
    path = tmp_path / "inks.zip"
    path.write_bytes(ro_crate.render(Report("Inks", (), ()), options).main)
    graph = graph_of(files_of(path.read_bytes()))
    assert graph["./"]["name"] == '"}]\x00⟨U+D800⟩ <a>'
    assert graph["./"]["license"] == {"@id": "#licence"}
    assert crate_faults(path, "ro-crate-1.1", monkeypatch) == []
    assert package_faults(path) == []


@pytest.mark.parametrize(
    ("published", "made", "wanted"),
    [
        pytest.param("", "2026-01-31", "2026-01-31", id="day of the report"),
        pytest.param("2026-03-01", "2026-01-31", "2026-03-01", id="option"),
        pytest.param(" 2026-03-01 ", "", "2026-03-01", id="option alone"),
    ],
)
def test_the_day_of_publication(published, made, wanted):
    report = Report("Inks", (), (), date=made)
    graph = graph_of(files_of(ro_crate.render(report, CrateOptions(published=published)).main))
    assert graph["./"]["datePublished"] == wanted
    assert graph["#making-of-the-report"].get("endTime", "") == made


@pytest.mark.parametrize(("published", "given"), [("", "none"), ("1 May", "'1 May'"), ("2026-02-30", "'2026-02-30'")])
def test_a_day_of_publication_is_asked_for(published, given):
    with pytest.raises(
        StyleError, match=rf"given {given}\. Give it with the option published: --style-option published="
    ):
        ro_crate.render(Report("Inks", (), ()), CrateOptions(published=published))


def test_one_command_makes_the_supplement(tmp_path, monkeypatch):
    (tmp_path / "inks.csv").write_bytes(READINGS)
    command = [sys.executable, "-m", "lanewise", "report", "inks.csv", "--style", "ro-crate", "--out", "supplement.zip"]
    ran = subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, check=True)
    assert ran.stdout.split() == ["Wrote", "supplement.zip"]
    assert crate_faults(tmp_path / "supplement.zip", "ro-crate-1.1", monkeypatch) == []
    assert package_faults(tmp_path / "supplement.zip") == []

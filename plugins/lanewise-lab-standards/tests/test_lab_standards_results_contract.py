from __future__ import annotations

import json
import unicodedata
from html.parser import HTMLParser
from types import MappingProxyType

import pytest
from lab_standards_results_builders import crate_faults, files_of, package_faults
from rocrate.rocrate import ROCrate

from lanewise.testing import ReportStyleContract
from lanewise_lab_standards import plugin


class Words(HTMLParser):
    """The text of a page, without its style sheet and its title for tabs."""

    def __init__(self, page):
        super().__init__()
        self.found, self.silent = [], False
        self.feed(page)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.silent = tag in ("style", "title")

    def handle_endtag(self, tag):
        self.silent = False

    def handle_data(self, data):
        if not self.silent:
            self.found.append(data)


class Supplement(ReportStyleContract):
    plugin = plugin

    @pytest.fixture(autouse=True)
    def _somewhere(self, tmp_path, monkeypatch):
        self.path, self.patch = tmp_path / "supplement.zip", monkeypatch

    def text(self, rendered):
        """The page alone: what stands in the tables as well must not make up for what is missing there."""
        return " ".join(Words(files_of(rendered.main)["report.html"].decode()).found)

    def opens(self, rendered):
        for name, data in files_of(rendered.main).items():
            if name.endswith(".json"):
                json.loads(data)
            if name.endswith((".txt", ".csv")):
                signs = set(data.decode())
                assert not {sign for sign in signs if unicodedata.category(sign) in ("Cc", "Cs")} - set("\t\r\n")
                assert not signs & set("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
        self.path.write_bytes(rendered.main)
        assert package_faults(self.path) == []


class TestDataPackage(Supplement):
    style = "data-package"


class TestRoCrate(Supplement):
    style = "ro-crate"
    options = MappingProxyType({"published": "2026-01-31"})  # some of the reports have no date

    def opens(self, rendered):
        super().opens(rendered)
        assert crate_faults(self.path, "ro-crate-1.1", self.patch) == []
        assert len(ROCrate(str(self.path)).data_entities) == len(files_of(rendered.main)) - 1

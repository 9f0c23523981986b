"""A shelf of pretended plugins: importable modules with the records of an installed distribution beside them."""

from __future__ import annotations

import sys
from pathlib import Path
from textwrap import dedent

import pytest

from lanewise.hooks import Sample
from lanewise.plugins import discovery
from lanewise.plugins.registry import Registry, make_registry

HEAD = """\
from lanewise.hooks import ImportFormat, Readings, Recognition, ReportStyle, Rendered, hookimpl, option
"""


class Shelf:
    """Distributions in a folder on the module path, as an installer would leave them."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder

    def put(self, distribution, code, *, version="1.0", module=None, entry="main", value=None):
        """Install a distribution whose only module holds `code`; gives the name of the module."""
        module = module or "fake_" + distribution.replace("-", "_").replace(".", "_")
        (self.folder / f"{module}.py").write_text(HEAD + dedent(code), encoding="utf-8")
        info = self.folder / f"{distribution.replace('-', '_')}-{version}.dist-info"
        info.mkdir()
        (info / "METADATA").write_text(f"Metadata-Version: 2.1\nName: {distribution}\nVersion: {version}\n", "utf-8")
        points = info / "entry_points.txt"
        points.write_text(f"[lanewise.plugins]\n{entry} = {value or module}\n", encoding="utf-8")
        return module

    def formats(self, distribution, *lines, version="1.0", head=""):
        """Install a distribution whose hook returns the formats written in `lines`."""
        code = f"""
            @hookimpl
            def lanewise_import_formats():
                return [{", ".join(lines)}]
            """
        return self.put(distribution, dedent(head) + "\n" + dedent(code), version=version)

    def registry(self, **more) -> Registry:
        """Make a registry of what stands on the shelf, without built-ins and without what is really installed."""
        return make_registry(**{"built_in": (), **more})


@pytest.fixture
def shelf(tmp_path, monkeypatch):
    folder = tmp_path / "site"
    folder.mkdir()
    before = set(sys.modules)
    shelf = Shelf(folder)
    strangers = {candidate.provider.distribution for candidate in discovery.installed()}
    everyone = discovery.installed
    monkeypatch.setattr(
        discovery, "installed", lambda: [one for one in everyone() if one.provider.distribution not in strangers]
    )
    monkeypatch.syspath_prepend(folder)
    monkeypatch.delenv("LANEWISE_WITHOUT_PLUGINS", raising=False)
    monkeypatch.delenv("LANEWISE_STRICT_PLUGINS", raising=False)
    yield shelf
    for name in set(sys.modules) - before:
        if name.startswith("fake_"):
            del sys.modules[name]


@pytest.fixture
def sample():
    """The head of an invented file of readings."""
    head = b"lane,ink_mm,front_mm\nA,32,85\n"
    return Sample("bench-1.csv", head, len(head), head.decode())

"""The packages in the folder plugins: what a stranger would write, with public names only, and held to the kit."""

from __future__ import annotations

import ast
import re
import tomllib
from importlib import import_module
from pathlib import Path

import pytest

import lanewise
from lanewise.plugins.discovery import installed
from lanewise.plugins.names import same_form

FOLDER = Path(__file__).parents[2] / "plugins"
PACKAGES = sorted(path.parent for path in FOLDER.glob("*/pyproject.toml"))
PUBLIC = ("hooks", "errors", "document", "quantities", "uncertainty", "traces", "testing")
EACH = pytest.mark.parametrize("package", PACKAGES, ids=lambda path: path.name)


def project(package):
    return tomllib.loads((package / "pyproject.toml").read_text(encoding="utf-8"))["project"]


def foreign(path):
    """Names that a file takes from the library beside the public ones."""
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and (node.module or "").split(".")[0] == "lanewise":
            names = [alias.name for alias in node.names]
            modules = [f"lanewise.{name}" for name in names] if node.module == "lanewise" else [node.module]
        elif isinstance(node, ast.Import):
            modules = [alias.name for alias in node.names if alias.name.split(".")[0] == "lanewise"]
        else:
            continue
        for module in modules:
            room = ([*module.split("."), ""])[1]
            if room and room not in PUBLIC and room not in lanewise.__all__:
                found.append(f"{path.name}, line {node.lineno}: {module}")
    return found


def test_the_packages_are_there():
    assert [path.name for path in PACKAGES] == [
        "lanewise-lab-standards",
        "lanewise-latex",
        "lanewise-photo",
        "lanewise-spreadsheet",
    ]


@EACH
def test_only_public_names_are_used(package):
    files = sorted(package.rglob("*.py"))
    assert files
    assert [line for path in files for line in foreign(path)] == []


def test_a_name_that_is_not_public_would_be_seen(tmp_path):
    path = tmp_path / "reader.py"
    path.write_text(
        "import lanewise\nfrom lanewise import read\nfrom lanewise.hooks import option\n"
        "from lanewise.tables.marks import to_frame\nimport lanewise.files.reading\n",
        encoding="utf-8",
    )
    assert foreign(path) == ["reader.py, line 4: lanewise.tables.marks", "reader.py, line 5: lanewise.files.reading"]


@EACH
def test_a_package_states_what_it_needs(package):
    stated = project(package)
    assert same_form(stated["name"]) == package.name
    assert "lanewise>=0.1,<0.2" in stated["dependencies"]
    assert "test" in stated["optional-dependencies"]
    assert stated["license"] == "BSD-3-Clause"
    readme = (package / "README.md").read_text(encoding="utf-8")
    assert readme.startswith(f"# {package.name}\n")
    assert "```sh\n" in readme
    assert "```python\n" in readme


@EACH
def test_a_package_is_installed_and_loads_lightly(package):
    (candidate,) = [one for one in installed() if one.provider.distribution == package.name]
    assert candidate.refused == ""
    registry = lanewise.make_registry(built_in=(), strict=True)
    (plugin,) = [one for one in registry.plugins if one.distribution == package.name]
    assert plugin.state == "ok"
    assert plugin.formats or plugin.styles


@EACH
def test_every_format_and_style_has_its_contract(package):
    """Each is held to the kit by a class of its own in the package's tests."""
    texts = "\n".join(path.read_text(encoding="utf-8") for path in sorted((package / "tests").glob("test_*.py")))
    ((_, module),) = project(package)["entry-points"]["lanewise.plugins"].items()
    plugin = import_module(module)
    formats = getattr(plugin, "lanewise_import_formats", lambda: ())()
    styles = getattr(plugin, "lanewise_report_styles", lambda: ())()
    for kind, base, offers in (("format", "ImportFormatContract", formats), ("style", "ReportStyleContract", styles)):
        held = set(re.findall(rf'^    {kind}(?:: [^=]+)? = "([^"]+)"$', texts, flags=re.M))
        assert {offer.name for offer in offers} <= held
        assert not offers or base in texts

"""The packages that are written install as they are and pass their own tests; the tests bite."""

from __future__ import annotations

import re
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from pretended import install, run, run_tests

from lanewise.errors import LanewiseError
from lanewise.files.reading import read
from lanewise.plugins.registry import make_registry
from lanewise.scaffold.names import Names
from lanewise.scaffold.packages import bounds, new_plugin, package_files

ROOT = Path(__file__).parents[2]
KINDS = ("import-format", "report-style")
BARE = make_registry(discover=False)


@pytest.fixture(params=KINDS)
def made(request, tmp_path):
    """Write a package of each kind and pretend that it is installed; gives its folder and where it is installed."""
    package, site = tmp_path / "ink-sheet", tmp_path / "site"
    paths = new_plugin("ink-sheet", request.param, package, registry=BARE)
    assert sorted(paths) == sorted(path for path in package.rglob("*") if path.is_file())
    install(package, site)
    return package, site


def test_package_passes_its_own_tests_untouched(made):
    package, site = made
    done = run_tests(site, package)
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.search(r"\b[1-9][0-9]* passed", done.stdout)


def test_package_is_listed(made):
    package, site = made
    listed = "formats" if (package / "sample.txt").exists() else "styles"
    done = run(site, package, "lanewise", listed)
    assert done.returncode == 0, done.stderr
    assert re.search(r"^ink-sheet  \(.*\n    from ink-sheet 0\.1\.0$", done.stdout, re.MULTILINE)


@pytest.mark.parametrize(
    ("kind", "right", "wrong"),
    [
        ("import-format", '"front": facts["unit"], ', ""),
        ("report-style", "[clean(block.text)]", "[block.text]"),
    ],
    ids=KINDS,
)
def test_its_tests_bite(kind, right, wrong, tmp_path):
    """A unit that is left out; a control character that gets through."""
    package, site = tmp_path / "ink-sheet", tmp_path / "site"
    new_plugin("ink-sheet", kind, package, registry=BARE)
    module = package / "ink_sheet.py"
    text = module.read_text(encoding="utf-8")
    assert right in text
    module.write_text(text.replace(right, wrong), encoding="utf-8")
    install(package, site)
    assert run_tests(site, package).returncode == 1


@pytest.fixture(scope="module")
def reading():
    """Give a function that reads text as the format of the package that is written."""
    files = package_files(Names.of("ink-sheet"), "import-format")
    plugin = ModuleType("ink_sheet_as_written")
    sys.modules[plugin.__name__] = plugin  # dataclasses look for their module there
    exec(files["ink_sheet.py"], vars(plugin))
    registry = make_registry(discover=False, plugins={"ink-sheet": plugin}, strict=True)
    yield lambda old="", new="", **options: read(
        files["sample.txt"].replace(old, new).encode(), name="a.txt", registry=registry, options=options
    )
    del sys.modules[plugin.__name__]


def test_what_the_format_does_not_know_is_told(reading):
    study = reading("unit: mm\n", "unit: mm\nroom: 21 °C\n")
    assert study.inputs[0].unread == ("line 5: 'room: 21 °C', of which this format knows nothing",)
    assert study.note == "Invented readings: no such inks exist."


def test_option_reaches_the_study(reading):
    assert reading(division=0.5).plates[0].reading.division == 0.5


@pytest.mark.parametrize(
    ("old", "new", "said"),
    [
        ("end\n", "", "a.txt, line 10: wanted the last line 'end', given '3; correction red; 84; 61.5'."),
        ("unit: mm", "unit mm", "a.txt, line 4: wanted a line 'key: value', given 'unit mm'."),
        ("unit: mm", "unit:", "a.txt, line 4: wanted a line 'key: value', given 'unit:'."),
        ("unit: mm", "plate: 2", "a.txt, line 4: wanted 'plate' once, given 'plate: 2'."),
        ("unit: mm\n", "", "a.txt, line 2: wanted a line 'unit: mm' above the empty one, given 'none'."),
        ("; 51\n", "\n", "a.txt, line 8: wanted 4 cells, lane, sample, front, centre, given '1; ledger blue; 85'."),
        ("; 51\n", "; 5?\n", "a.txt, row 8, column centre: wanted a number"),
        ("\n\n", "\n", "a.txt, line 6: wanted a line 'key: value', given '1; ledger blue; 85; 32.5'."),
        ("unit: mm", "unit: ells", "a.txt, column front: wanted "),
    ],
    ids=["cut", "no colon", "no value", "twice", "no unit", "short row", "no number", "no gap", "unknown unit"],
)
def test_refusals_of_the_format_name_the_place(old, new, said, reading):
    with pytest.raises(LanewiseError, match=re.escape(said)):
        reading(old, new)


@pytest.mark.parametrize("kind", KINDS)
def test_nothing_is_left_to_fill_in(kind):
    files = package_files(Names.of("lanewise-" + "long-" * 6 + "x"), kind)
    assert [place for place, text in files.items() if "$" in text or "{module}" in place] == []
    lines = [line for place, text in files.items() if place.endswith(".py") for line in text.splitlines()]
    assert max(map(len, lines)) <= 120


@pytest.mark.parametrize("kind", KINDS)
def test_project_file_says_what_the_library_says(kind):
    stated = tomllib.loads(package_files(Names.of("lanewise-ink-sheet"), kind)["pyproject.toml"])
    own = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert stated["project"]["name"] == "lanewise-ink-sheet"
    assert stated["project"]["requires-python"] == own["requires-python"]
    assert stated["project"]["dependencies"] == [f"lanewise{bounds(own['version'])}"]
    assert stated["project"]["entry-points"] == {"lanewise.plugins": {"ink-sheet": "lanewise_ink_sheet"}}


def test_default_folder_has_the_name(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    new_plugin("ink-sheet", "report-style", registry=BARE)
    assert sorted(path.name for path in (tmp_path / "ink-sheet").iterdir()) == [
        "README.md",
        "ink_sheet.py",
        "pyproject.toml",
        "tests",
    ]


@pytest.mark.parametrize(
    ("name", "kind", "said"),
    [
        ("ink-sheet", "format", "kind of the plugin: wanted 'import-format' or 'report-style', given 'format'."),
        ("Ink Sheet", "import-format", "name of the plugin: wanted lower-case ASCII words"),
    ],
    ids=["kind", "name"],
)
def test_refusals_write_nothing(name, kind, said, tmp_path):
    with pytest.raises(LanewiseError, match=f"^{re.escape(said)}"):
        new_plugin(name, kind, tmp_path / "new", registry=BARE)
    assert list(tmp_path.iterdir()) == []

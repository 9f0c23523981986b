"""No hook without a page that has its exact signature; the plugins on these pages work when they are installed."""

from __future__ import annotations

import inspect
import os
import re
import subprocess
import sys
import tomllib
from importlib import import_module
from pathlib import Path

import pytest

from lanewise import hooks
from lanewise.testing import ImportFormatContract, ReportStyleContract

PAGES = Path(__file__).parents[2] / "docs" / "hooks"
SPECS = [
    value
    for value in vars(hooks).values()
    if inspect.isfunction(value) and hasattr(value, f"{hooks.PROJECT}_spec")
]  # fmt: skip
PARTS = (
    "## When it is called",
    "## What to return",
    "## The smallest plugin",
    "## The built-in to copy from",
    "## The plugin to copy from",
    "## The checks it must pass",
)
CONTRACTS = {"lanewise_import_formats": ImportFormatContract, "lanewise_report_styles": ReportStyleContract}


def signature_of(hook):
    return f"{hook.__name__}{inspect.signature(hook)}".replace("'", "")


def page_of(hook):
    (own,) = [
        text
        for path in sorted(PAGES.glob("*.md"))
        if (text := path.read_text(encoding="utf-8")).startswith(f"# `{signature_of(hook)}`\n")
    ]
    return own


def test_hooks_are_found():
    assert {hook.__name__ for hook in SPECS} == {"lanewise_import_formats", "lanewise_report_styles"}


@pytest.mark.parametrize("hook", SPECS, ids=lambda hook: hook.__name__)
def test_hook_has_a_page_with_its_exact_signature(hook):
    pages = [path.read_text(encoding="utf-8") for path in sorted(PAGES.glob("*.md"))]
    own = [page for page in pages if page.startswith(f"# `{signature_of(hook)}`\n")]
    assert len(own) == 1, f"wanted one page in docs/hooks with the heading # `{signature_of(hook)}`"
    assert [part for part in PARTS if part not in own[0]] == []
    module = own[0].split("## The built-in to copy from")[1]
    assert "`lanewise." in module


@pytest.mark.parametrize("hook", SPECS, ids=lambda hook: hook.__name__)
def test_plugins_to_copy_from_use_the_hook(hook, root):
    part = page_of(hook).split("## The plugin to copy from")[1].split("\n## ")[0]
    folders = re.findall(r"`(plugins/[\w-]+)`", part)
    assert folders
    for folder in folders:
        (module,) = (root / folder / "src").glob("*/plugin.py")
        assert f"def {hook.__name__}(" in module.read_text(encoding="utf-8")


@pytest.mark.parametrize("hook", SPECS, ids=lambda hook: hook.__name__)
def test_the_checks_of_a_page_are_those_of_the_contract(hook):
    part = page_of(hook).split("## The checks it must pass")[1].split("\n## ")[0]
    (included,) = re.findall(r"```\{include\} (\S+)", part)
    listed = re.findall(r"^- `(\w+)`: ", (PAGES / included).read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert listed == sorted(CONTRACTS[hook.__name__].checks())
    assert len(listed) > 20


def test_the_level_on_the_page_is_the_one_of_the_code():
    page = (PAGES / "compatibility.md").read_text(encoding="utf-8")
    assert f"**hook API {hooks.API_LEVEL}**" in page


def test_built_ins_to_copy_from_exist():
    for hook in SPECS:
        part = page_of(hook).split("## The built-in to copy from")[1].split("\n## ")[0]
        names = re.findall(r"`(lanewise\.[\w.]+)`", part)
        assert names
        for name in names:
            assert import_module(name)


@pytest.fixture
def install(tmp_path, blocks_of):
    """Put the module of a page where Python finds it, with the entry point of an installed distribution."""
    place = tmp_path / "installed"

    def install(page, distribution, entry_point, module):
        (block,) = [block for block in blocks_of(page) if block.caption == f"{module}.py"]
        info = place / f"{distribution.replace('-', '_')}-0.1.0.dist-info"
        info.mkdir(parents=True)
        (place / f"{module}.py").write_text(block.text, encoding="utf-8")
        (info / "METADATA").write_text(
            f"Metadata-Version: 2.1\nName: {distribution}\nVersion: 0.1.0\n", encoding="utf-8"
        )
        (info / "entry_points.txt").write_text(f"[lanewise.plugins]\n{entry_point} = {module}\n", encoding="utf-8")
        return place

    return install


@pytest.fixture
def lanewise(tmp_path):
    """Run the command line in another process, in which a folder counts as installed."""
    work = tmp_path / "work"
    work.mkdir()

    def run(place, *arguments):
        env = {**os.environ, "PYTHONPATH": str(place), "PYTHONUTF8": "1", "LANEWISE_STRICT_PLUGINS": "1"}
        done = subprocess.run(
            [sys.executable, "-W", "error", "-m", "lanewise", *arguments],
            cwd=work,
            env=env,
            capture_output=True,
            text=True,
            encoding="utf-8",
        )
        assert done.returncode == 0, done.stderr
        return done.stdout

    run.folder = work
    return run


def test_smallest_import_format_reads_its_file(install, lanewise, blocks_of):
    (project,) = [b.text for b in blocks_of("docs/how-to/write-a-plugin.md") if b.caption == "pyproject.toml"]
    stated = tomllib.loads(project)["project"]
    ((entry_point, module),) = stated["entry-points"]["lanewise.plugins"].items()
    place = install("docs/hooks/import-formats.md", stated["name"], entry_point, module)
    (sheet,) = [b for b in blocks_of("docs/hooks/import-formats.md") if b.caption == "plate.bench"]
    (lanewise.folder / sheet.caption).write_text(sheet.text, encoding="utf-8")
    assert f"from {stated['name']} {stated['version']}" in lanewise(place, "formats")
    measured = lanewise(place, "measure", sheet.caption).splitlines()
    names = measured[0].split(",")
    rf = [float(row.split(",")[names.index("rf")]) for row in measured[1:]]
    assert rf == pytest.approx([3.2 / 8.5, 4.1 / 8.4], rel=1e-12)  # worked by hand


def test_smallest_report_style_lays_out(install, lanewise, root):
    place = install("docs/hooks/report-styles.md", "lanewise-summary", "summary", "summary_style")
    lanewise(place, "report", str(root / "examples" / "writing_inks.csv"), "--title", "Inks", "--out", "inks.summary")
    text = (lanewise.folder / "inks.summary").read_text(encoding="utf-8")
    assert text.startswith("Inks\n")
    assert len(text.splitlines()) > 2

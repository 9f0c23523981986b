"""What follows from the code in the documentation is up to date; ``python docs/remake.py`` makes it anew."""

from __future__ import annotations

import importlib.util
import re
from pathlib import Path

import pytest

DOCS = Path(__file__).parents[2] / "docs"


def load():
    spec = importlib.util.spec_from_file_location("lanewise_docs_remake", DOCS / "remake.py")
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


REMAKE = load()
PAGES = [name for name in REMAKE.GENERATED if name.endswith(".md")]
PICTURES = [name for name in REMAKE.GENERATED if name.endswith(".svg")]


@pytest.mark.parametrize("name", PAGES)
def test_page_is_what_the_code_says(name):
    made = REMAKE.GENERATED[name]()
    assert (DOCS / name).read_text(encoding="utf-8") == made, "run: python docs/remake.py"


def words(svg):
    """Give the texts that a picture shows, in drawing order.

    Shapes of letters differ between versions of the drawing library; what is written does not.
    """
    text = svg.decode("utf-8")
    return re.findall(r"<title>(.*?)</title>", text) + re.findall(r"<!-- (.*?) -->", text)


@pytest.mark.parametrize("name", PICTURES)
def test_picture_shows_what_the_code_draws(name):
    drawn, stands = REMAKE.GENERATED[name](), (DOCS / name).read_bytes()
    assert len(words(drawn)) > 20
    assert words(stands) == words(drawn), "run: python docs/remake.py"


def test_every_picture_is_used():
    pages = "\n".join(path.read_text(encoding="utf-8") for path in (*DOCS.rglob("*.md"), DOCS.parent / "README.md"))
    assert [path.name for path in (DOCS / "images").iterdir() if f"images/{path.name}" not in pages] == []


def test_columns_page_has_every_column():
    from lanewise.tables.columns import CONTEXT, MARKS, PAIRS, SPOTS

    page = (DOCS / "reference" / "columns.md").read_text(encoding="utf-8")
    for column in (*MARKS, *CONTEXT, *SPOTS, *PAIRS):
        assert f"| `{column.name}` |" in page
        assert f"| {column.meaning} |" in page


def test_command_line_page_has_every_option_that_help_prints():
    from typer.testing import CliRunner

    from lanewise.cli.main import app

    page = (DOCS / "reference" / "command-line.md").read_text(encoding="utf-8")
    runner = CliRunner()
    top = runner.invoke(app, ["--help"])
    assert top.exit_code == 0
    for command in app.registered_commands:
        name = command.name or command.callback.__name__.replace("_", "-")
        assert name in top.output
        section = page.split(f"## lanewise {name}\n", 1)[1].split("\n## ", 1)[0]
        helped = runner.invoke(app, [name, "--help"], env={"COLUMNS": "200", "TERMINAL_WIDTH": "200"}).output
        options = set(re.findall(r"^ +(--[a-z-]+)", helped, re.MULTILINE)) - {"--help"}
        assert [option for option in sorted(options) if f"`{option}" not in section] == []
    for option in re.findall(r"^ +(--[a-z-]+)", top.output, re.MULTILINE):
        assert option == "--help" or f"`{option}`" in page or f"`lanewise {option}`" in page

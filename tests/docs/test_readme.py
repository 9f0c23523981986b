"""The README: two commands that do all their own set-up, and a script that is the example."""

from __future__ import annotations

import re
import shlex

README = "README.md"


def test_script_is_the_example(root, blocks_of):
    (script,) = [block.text for block in blocks_of(README) if block.language == "python"]
    example = (root / "examples" / "first_script.py").read_text(encoding="utf-8")
    assert script == example
    assert len(example.splitlines()) == 15


def test_there_are_exactly_two_commands_each_in_a_block_of_its_own(root, blocks_of):
    lines = (root / README).read_text(encoding="utf-8").splitlines()
    commands = [line for line in lines if line.startswith("python3 -m venv")]
    assert [block.text.strip() for block in blocks_of(README) if block.language == "sh"] == commands
    assert len(commands) == 2
    job, tests = commands
    assert job.startswith("python3 -m venv .venv-try && ")
    assert job.endswith("lanewise report examples/writing_inks.csv --out report.html")
    assert tests.startswith("python3 -m venv .venv-test && ")
    assert "--upgrade pip && " in tests
    assert "--group test" in tests
    assert tests.endswith("pytest --cov")
    for command in commands:
        assert shlex.split(command)  # quotes are closed


def test_links_and_pictures_lead_somewhere(root):
    for page in (README, "DEVELOPERS.md"):
        targets = re.findall(r"\]\(([^)#]+)[^)]*\)", (root / page).read_text(encoding="utf-8"))
        assert targets
        assert [target for target in targets if not (root / target).is_file()] == []

import ast
from pathlib import Path

import pytest

import lanewise_photo
from lanewise_photo.flags import SENTENCES, Flag, flags_in

SOURCES = sorted(Path(lanewise_photo.__file__).parent.glob("*.py"))


def _codes_raised(tree):
    """Every text that may be the first argument of `Flag` or `refuse`."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") in {"Flag", "refuse"} and node.args:
            given = node.args[0]
            parts = [given.body, given.orelse] if isinstance(given, ast.IfExp) else [given]
            yield from (part.value for part in parts if isinstance(part, ast.Constant))


def _raised():
    found = {}
    for path in SOURCES:
        for code in _codes_raised(ast.parse(path.read_text(encoding="utf-8"))):
            found.setdefault(code, path.name)
    return found


def test_every_code_raised_is_described():
    raised = _raised()
    assert len(raised) > 30
    assert set(raised) <= set(SENTENCES)


def test_every_code_described_is_raised():
    assert set(SENTENCES) <= set(_raised())


@pytest.mark.parametrize("code", SENTENCES)
def test_description_is_complete(code):
    flag = Flag(code)
    assert flag.severity in {"stop", "widen", "doubt", "note"}
    assert flag.sentence
    assert not flag.sentence.endswith(".")
    assert flag.advice.endswith(".") or (code in {"at_origin", "with_front"} and not flag.advice)
    assert flag.test.endswith((".", "[mm]"))
    assert str(flag).startswith(f"{code}: {flag.sentence}")


@pytest.mark.parametrize(
    ("code", "warns"),
    [("sheet_bulges", False), ("orientation_told", False), ("mirror_unknown", True), ("no_front", True)],
    ids=["widen", "note", "doubt", "stop"],
)
def test_which_flags_warn(code, warns):
    assert Flag(code).warns is warns


def test_number_and_limit_stay_out_of_the_words():
    flag = Flag("blurred", "edges are 0.5 mm wide", 0.47, 0.4)
    assert (flag.number, flag.limit) == (0.47, 0.4)
    assert "0.47" not in str(flag)
    assert [one.code for one in flags_in(f"text\n{flag}\nother: none")] == ["blurred"]

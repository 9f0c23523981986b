"""Plugins with every kind of fault: named, left out, and nothing else suffers."""

from __future__ import annotations

import re
import sys
import types

import pytest

from lanewise.errors import AmbiguousFormat, PluginProblemWarning, StyleError, UnknownFormat
from lanewise.plugins import discovery

GOOD = 'ImportFormat("ink-sheet", "Sheet of ink readings", "json:loads", suffixes=(".ink",))'


def hook(body):
    return f"@hookimpl\ndef lanewise_import_formats():\n    {body}\n"


def formats(*lines):
    return hook(f"return [{', '.join(lines)}]")


def styles(*lines):
    return f"@hookimpl\ndef lanewise_report_styles():\n    return [{', '.join(lines)}]\n"


@pytest.fixture(autouse=True)
def hurry(monkeypatch):
    monkeypatch.setenv("LANEWISE_PLUGIN_SECONDS", "2")


# code of the plugin, state, stage, what the warning has to say
FAULTS = {
    "import error": (
        "import not_there_at_all",
        "broken",
        "import",
        "ModuleNotFoundError: No module named 'not_there_at",
    ),
    "syntax error": ("def (:", "broken", "import", "SyntaxError"),
    "ends the process": ("raise SystemExit(3)", "broken", "import", "SystemExit: 3"),
    "never finishes importing": ("while True: pass", "broken", "import", r"it did not come back within 2 s"),
    "never finishes listing": (hook("while True: pass"), "broken", "list", r"did not come back within 2 s"),
    "registration raises": (hook("raise RuntimeError('no disk')"), "broken", "list", "RuntimeError: no disk"),
    "nothing returned": (hook("pass"), "broken", "list", r"wanted a list of ImportFormat, given None"),
    "text returned": (
        hook("return 'ink-sheet'"),
        "broken",
        "list",
        r"wanted a list of ImportFormat, given 'ink-sheet'",
    ),
    "generator returned": (hook("return (x for x in ())"), "broken", "list", r"wanted a list .*given <generator"),
    "bare format": (hook(f"return {GOOD}"), "broken", "list", r"given a bare ImportFormat; put it into a list"),
    "wrong things": (hook("return [1]"), "broken", "list", r"item 1: wanted ImportFormat, given 1\b"),
    "style among formats": (
        formats('ReportStyle("a", "A", "m:f", ".a", "a/b")'),
        "broken",
        "list",
        "item 1: wanted ImportFormat, given ReportStyle",
    ),
    "bad name": (formats('ImportFormat("Ink_Sheet", "T", "m:f")'), "broken", "list", r"joined by hyphens.*'Ink_Sheet'"),
    "long name": (formats('ImportFormat("a" * 41, "T", "m:f")'), "broken", "list", "at most 40 characters"),
    "no title": (formats('ImportFormat("a", " ", "m:f")'), "broken", "list", r"\(a\): title wanted one line of text"),
    "reader is no function": (formats('ImportFormat("a", "T", 5)'), "broken", "list", "read wanted a function or 'mod"),
    "reader without colon": (formats('ImportFormat("a", "T", "m.f")'), "broken", "list", "read wanted .*given 'm.f'"),
    "suffixes as text": (
        formats('ImportFormat("a", "T", "m:f", suffixes=".csv")'),
        "broken",
        "list",
        r"suffixes wanted a tuple of lower-case endings, such as \('\.csv',\), given '\.csv'",
    ),
    "suffix without dot": (
        formats('ImportFormat("a", "T", "m:f", suffixes=("csv",))'),
        "broken",
        "list",
        r"given \('csv'",
    ),
    "needs as text": (
        formats('ImportFormat("a", "T", "m:f", needs="pillow")'),
        "broken",
        "list",
        "needs wanted a tuple",
    ),
    "recogniser is text": (
        formats('ImportFormat("a", "T", "m:f", recognise="yes")'),
        "broken",
        "list",
        "recognise wanted a function, given 'yes'",
    ),
    "options are no dataclass": (
        formats('ImportFormat("a", "T", "m:f", options=dict)'),
        "broken",
        "list",
        "frozen datac",
    ),
    "description is no text": (formats('ImportFormat("a", "T", "m:f", description=3)'), "broken", "list", "given 3"),
    "same name twice": (formats(GOOD, GOOD), "broken", "list", "item 2: the name 'ink-sheet' stands there twice"),
    "level is text": (formats('ImportFormat("a", "T", "m:f", api="1")'), "broken", "list", "api wanted a whole number"),
    "later level": (
        formats('ImportFormat("a", "T", "m:f", api=2)'),
        "newer-api",
        "list",
        "'a' needs plugin interface level 2, this lanewise has 1: update lanewise",
    ),
    "style without dot": (styles('ReportStyle("a", "A", "m:f", "html", "a/b")'), "broken", "list", "suffix wanted"),
    "style media type": (styles('ReportStyle("a", "A", "m:f", ".a", "html")'), "broken", "list", "media_type wanted"),
    "style renderer": (styles('ReportStyle("a", "A", None, ".a", "a/b")'), "broken", "list", "render wanted .*None"),
    "misspelt hook": (
        "@hookimpl\ndef lanewise_import_format():\n    return []\n",
        "broken",
        "register",
        "a hook 'lanewise_import_format', which does not exist. Did you mean 'lanewise_import_formats'",
    ),
    "unmarked hook": (
        "def lanewise_report_styles():\n    return []\n",
        "broken",
        "register",
        "its function lanewise_report_styles is not marked; write @hookimpl above it",
    ),
    "no hook": ("answer = 42", "broken", "register", "implements neither lanewise_import_formats nor"),
    "unknown argument": (
        "@hookimpl\ndef lanewise_import_formats(config):\n    return []\n",
        "broken",
        "register",
        r"Argument\(s\) {'config'} are declared in the hookimpl but",
    ),
    "wrapper": (
        "@hookimpl(wrapper=True)\ndef lanewise_import_formats():\n    return (yield)\n",
        "broken",
        "register",
        "its lanewise_import_formats is a wrapper, which could hide what others offer",
    ),
    "two implementations": (
        hook("return []") + "@hookimpl(specname='lanewise_import_formats')\ndef more():\n    return []\n",
        "broken",
        "list",
        "implements lanewise_import_formats 2 times; keep one",
    ),
}


@pytest.mark.parametrize(("code", "state", "stage", "said"), FAULTS.values(), ids=FAULTS)
def test_a_plugin_with_a_fault_is_named_and_left_out(shelf, code, state, stage, said):
    shelf.put("lanewise-faulty", code, version="0.3")
    shelf.formats("lanewise-ink", GOOD)
    registry = shelf.registry()
    with pytest.warns(PluginProblemWarning) as caught:
        assert list(registry.formats) == ["lanewise-ink:ink-sheet"]
    assert len(caught) == 1
    text = str(caught[0].message)
    assert re.search(said, text)
    assert text.startswith("plugin main of lanewise-faulty 0.3 was left out: ")
    assert "The rest of lanewise works." in text
    assert "LANEWISE_WITHOUT_PLUGINS=lanewise-faulty, remove it with 'pip uninstall lanewise-faulty'" in text
    faulty, good = registry.plugins
    assert (faulty.distribution, faulty.state, faulty.formats, faulty.styles) == ("lanewise-faulty", state, (), ())
    assert (good.distribution, good.state, good.formats) == ("lanewise-ink", "ok", ("ink-sheet",))
    (problem,) = registry.problems
    assert (problem.stage, problem.reason, str(problem)) == (stage, faulty.reason, text)


@pytest.mark.filterwarnings("ignore::lanewise.errors.PluginProblemWarning")  # what is raised is no warning
@pytest.mark.parametrize(("code", "state", "stage", "said"), FAULTS.values(), ids=FAULTS)
def test_strict_raises_the_fault(shelf, monkeypatch, code, state, stage, said):
    shelf.put("lanewise-faulty", code, version="0.3")
    monkeypatch.setenv("LANEWISE_STRICT_PLUGINS", "1")
    with pytest.raises(PluginProblemWarning, match=said):
        len(shelf.registry().formats)


def test_strict_keeps_what_the_plugin_raised_as_the_cause(shelf):
    shelf.put("lanewise-faulty", "1 / 0")
    with pytest.raises(PluginProblemWarning, match="ZeroDivisionError") as caught:
        len(shelf.registry(strict=True).styles)
    assert isinstance(caught.value.__cause__, ZeroDivisionError)


@pytest.mark.parametrize("value", ["", "0", "no"])
def test_strict_is_off_for_such_words(shelf, monkeypatch, value):
    shelf.put("lanewise-faulty", "1 / 0")
    monkeypatch.setenv("LANEWISE_STRICT_PLUGINS", value)
    with pytest.warns(PluginProblemWarning, match="ZeroDivisionError"):
        assert not shelf.registry().formats


def test_a_problem_keeps_the_traceback(shelf):
    module = shelf.put("lanewise-faulty", "def inner():\n    return 1 / 0\ninner()\n")
    with pytest.warns(PluginProblemWarning, match="division by zero"):
        (problem,) = shelf.registry().problems
    assert f"{module}.py" in problem.traceback
    assert "in inner" in problem.traceback


def test_a_plugin_that_waits_for_something_is_left_out(shelf):
    shelf.put("lanewise-waiting", "import time\ntime.sleep(3)")  # its own name: Python locks the module meanwhile
    shelf.formats("lanewise-ink", GOOD)
    with pytest.warns(PluginProblemWarning, match="LANEWISE_PLUGIN_SECONDS sets how long to wait"):
        assert list(shelf.registry().formats) == ["lanewise-ink:ink-sheet"]


def test_the_level_asked_for_is_in_the_record(shelf):
    shelf.formats("lanewise-later", 'ImportFormat("a", "T", "m:f", api=7)')
    with pytest.warns(PluginProblemWarning, match="level 7"):
        (plugin,) = shelf.registry().plugins
    assert plugin.api == 7


def test_an_interrupt_is_not_swallowed(shelf):
    shelf.put("lanewise-slow", "raise KeyboardInterrupt('stop')")
    with pytest.raises(KeyboardInterrupt, match="stop"):
        len(shelf.registry().formats)


def test_the_warning_as_error_leaves_the_registry_usable(shelf):
    shelf.put("lanewise-faulty", "1 / 0")
    shelf.formats("lanewise-ink", GOOD)
    registry = shelf.registry()
    with pytest.raises(PluginProblemWarning, match="ZeroDivisionError"):  # warnings are errors in this test run
        len(registry.formats)
    assert registry.format("ink-sheet").provider.distribution == "lanewise-ink"


def test_a_plugin_that_asks_the_registry_while_it_loads_is_broken(shelf):
    registry = shelf.registry(plugins={})
    shelf.put("lanewise-circle", "import fake_holder\nlen(fake_holder.registry.formats)\n")
    sys.modules["fake_holder"] = holder = types.ModuleType("fake_holder")
    holder.registry = registry
    with pytest.warns(PluginProblemWarning, match="asked for formats or styles while plugins are being loaded"):
        assert not registry.formats


def test_names_of_built_in_formats_are_taken(shelf):
    shelf.formats("lanewise-own", GOOD)
    (shelf.folder / "fake_builtin.py").write_text((shelf.folder / "fake_lanewise_own.py").read_text("utf-8"), "utf-8")
    registry = shelf.registry(built_in=("fake_builtin",))
    with pytest.warns(
        PluginProblemWarning, match="its format 'ink-sheet' has the name of a built-in one; choose another"
    ):
        assert list(registry.formats) == ["lanewise:ink-sheet"]
    with pytest.raises(UnknownFormat, match=r"format 'ink-sheet' belongs to lanewise-own 1\.0, but it was left out"):
        registry.format("lanewise-own:ink-sheet")


def test_a_broken_built_in_does_not_talk_of_uninstalling(shelf):
    registry = shelf.registry(built_in=("lanewise.nowhere.builtin",))
    with pytest.warns(
        PluginProblemWarning, match="built-in plugin nowhere-builtin .* a fault of the library"
    ) as caught:
        assert not registry.formats
    assert "pip uninstall" not in str(caught[0].message)


def test_two_plugins_with_one_name_are_both_named_and_both_reachable(shelf):
    shelf.formats("lanewise-ink", GOOD, version="1.0")
    shelf.formats("lanewise-dye", GOOD, version="2.1")
    registry = shelf.registry()
    said = r"format 'ink-sheet' is offered by lanewise-dye 2\.1 and by lanewise-ink 1\.0\. Say which one"
    with pytest.warns(PluginProblemWarning, match=said):
        assert list(registry.formats) == ["lanewise-dye:ink-sheet", "lanewise-ink:ink-sheet"]
    with pytest.raises(AmbiguousFormat, match="format='lanewise-dye:ink-sheet' or format='lanewise-ink:ink-sheet'"):
        registry.format("ink-sheet")
    assert registry.format("Lanewise_Dye:ink-sheet").provider.version == "2.1"


def test_two_styles_with_one_name(shelf):
    for distribution in ("lanewise-ink", "lanewise-dye"):
        shelf.put(distribution, styles('ReportStyle("poster", "Poster", "m:f", ".html", "text/html")'))
    registry = shelf.registry()
    with (
        pytest.warns(PluginProblemWarning, match="style 'poster' is offered by"),
        pytest.raises(StyleError, match="Say which"),
    ):
        registry.style("poster")


def test_one_module_behind_two_distributions(shelf):
    shelf.formats("lanewise-ink", GOOD)
    shelf.put("lanewise-twin", "", value="fake_lanewise_ink")
    registry = shelf.registry()
    with pytest.warns(
        PluginProblemWarning, match="module fake_lanewise_ink is in use as plugin lanewise-ink:main already"
    ):
        assert list(registry.formats) == ["lanewise-ink:ink-sheet"]


def test_an_entry_point_has_to_name_a_module(shelf):
    shelf.put("lanewise-odd", "class Thing:\n    pass\n", value="fake_lanewise_odd:Thing")
    with pytest.warns(PluginProblemWarning, match="entry point wanted a module, given 'fake_lanewise_odd:Thing'"):
        assert not shelf.registry().formats


def test_two_entry_points_of_one_distribution_with_one_format(shelf):
    shelf.formats("lanewise-ink", GOOD)
    (shelf.folder / "fake_second.py").write_text((shelf.folder / "fake_lanewise_ink.py").read_text("utf-8"), "utf-8")
    points = shelf.folder / "lanewise_ink-1.0.dist-info" / "entry_points.txt"
    points.write_text("[lanewise.plugins]\nmain = fake_lanewise_ink\nsecond = fake_second\n", encoding="utf-8")
    with pytest.warns(PluginProblemWarning, match="its format 'ink-sheet' is offered by entry point 'main' already"):
        assert list(shelf.registry().formats) == ["lanewise-ink:ink-sheet"]


def test_the_metadata_of_a_plugin_may_be_damaged(shelf):
    shelf.formats("lanewise-ink", GOOD)
    (shelf.folder / "lanewise_ink-1.0.dist-info" / "METADATA").unlink()
    with pytest.warns(PluginProblemWarning, match="metadata of its distribution cannot be read"):
        assert not shelf.registry().formats


def test_a_damaged_list_of_another_distribution_does_no_harm(shelf):
    shelf.formats("lanewise-ink", GOOD)
    other = shelf.folder / "other-1.0.dist-info"
    other.mkdir()
    (other / "entry_points.txt").write_text("[console_scripts]\nnonsense without a sign\n", encoding="utf-8")
    assert list(shelf.registry().formats) == ["lanewise-ink:ink-sheet"]


def test_a_distribution_met_twice_beside_a_damaged_one_counts_once(shelf, tmp_path, monkeypatch):
    shelf.formats("lanewise-ink", GOOD, version="2.0")
    older = tmp_path / "older" / "lanewise_ink-1.0.dist-info"
    older.mkdir(parents=True)
    (older / "METADATA").write_text("Metadata-Version: 2.1\nName: lanewise-ink\nVersion: 1.0\n", encoding="utf-8")
    (older / "entry_points.txt").write_text("[lanewise.plugins]\nold = not_there_at_all\n", encoding="utf-8")
    other = tmp_path / "older" / "other-1.0.dist-info"
    other.mkdir()
    (other / "entry_points.txt").write_text("[console_scripts]\nnonsense without a sign\n", encoding="utf-8")
    monkeypatch.setattr("sys.path", [*sys.path, str(tmp_path / "older")])
    assert [plugin.version for plugin in shelf.registry().plugins if plugin.distribution == "lanewise-ink"] == ["2.0"]


def test_no_plugin_is_loaded_from_the_working_folder(shelf, monkeypatch):
    module = shelf.formats("lanewise-handed-in", GOOD)
    monkeypatch.chdir(shelf.folder)
    registry = shelf.registry()
    with pytest.warns(PluginProblemWarning, match="lies in the working folder, from which no plugin is loaded"):
        assert not registry.formats
    assert module not in sys.modules
    assert registry.plugins[0].state == "broken"


def test_a_plugin_installed_elsewhere_too_may_be_in_the_working_folder(shelf, monkeypatch, tmp_path):
    shelf.formats("lanewise-ink", GOOD)
    source = tmp_path / "source"
    (source / "lanewise_ink.egg-info").mkdir(parents=True)
    (source / "lanewise_ink.egg-info" / "PKG-INFO").write_text(
        "Metadata-Version: 2.1\nName: lanewise-ink\nVersion: 1.0\n"
    )
    points = "[lanewise.plugins]\nmain = fake_lanewise_ink\n"
    (source / "lanewise_ink.egg-info" / "entry_points.txt").write_text(points, encoding="utf-8")
    monkeypatch.syspath_prepend(source)
    monkeypatch.chdir(source)
    assert [c.refused for c in discovery.installed() if c.provider.distribution == "lanewise-ink"] == [""]

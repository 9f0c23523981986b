"""The registry: what is found, when it is looked for, what can be switched off, how names are found."""

from __future__ import annotations

import importlib.metadata
import subprocess
import sys
import threading
import types

import pytest

from lanewise.errors import PluginProblemWarning, StyleError, UnknownFormat
from lanewise.hooks import ImportFormat, ReportStyle, hookimpl
from lanewise.plugins import registry as registries
from lanewise.plugins.registry import make_registry

SHEET = 'ImportFormat("ink-sheet", "Sheet of ink readings", "json:loads", suffixes=(".ink",))'
STRIP = 'ImportFormat("ink-strip", "Strip of ink readings", "json:loads", suffixes=(".strip",))'
POSTER = """
@hookimpl
def lanewise_report_styles():
    return [ReportStyle("poster", "Poster", "json:dumps", ".html", "text/html")]
"""


def test_installed_plugins_are_found_by_their_entry_points(shelf):
    shelf.formats("Lanewise.Ink", STRIP, SHEET, version="2.3", head=POSTER)
    registry = shelf.registry()
    assert list(registry.formats) == ["lanewise-ink:ink-sheet", "lanewise-ink:ink-strip"]
    assert list(registry.styles) == ["lanewise-ink:poster"]
    plugin = next(plugin for plugin in registry.plugins if plugin.distribution == "lanewise-ink")
    assert (plugin.name, plugin.version, plugin.module) == ("main", "2.3", "fake_Lanewise_Ink")
    assert (plugin.state, plugin.reason, plugin.api) == ("ok", "", 1)
    assert (plugin.formats, plugin.styles) == (("ink-sheet", "ink-strip"), ("poster",))
    assert plugin.seconds > 0
    assert registry.problems == ()


def test_nothing_is_looked_for_before_it_is_asked_and_then_once(shelf, monkeypatch):
    scans = []
    find = importlib.metadata.entry_points

    def counted(**filters):
        scans.append(filters)
        return find(**filters)

    monkeypatch.setattr(importlib.metadata, "entry_points", counted)
    module = shelf.formats("lanewise-ink", SHEET)
    registry = shelf.registry()
    assert scans == []
    assert module not in sys.modules
    for _ in range(3):
        assert registry.format("ink-sheet").name == "ink-sheet"
        assert not registry.styles
    assert scans == [{"group": "lanewise.plugins"}]


def test_only_our_own_distributions_are_opened(shelf, monkeypatch):
    shelf.formats("lanewise-ink", SHEET)
    read = importlib.metadata.PathDistribution.read_text
    opened = []

    def counted(self, filename):
        opened.append((filename, self._path.name))
        return read(self, filename)

    monkeypatch.setattr(importlib.metadata.PathDistribution, "read_text", counted)
    assert len(shelf.registry(without=()).formats) == 1
    metadata = {name for filename, name in opened if filename != "entry_points.txt"}
    strangers = {name for name in metadata if not name.startswith("lanewise")}
    assert "lanewise_ink-1.0.dist-info" in metadata
    assert strangers == set()


def test_threads_that_ask_at_once_load_once(shelf):
    shelf.put(
        "lanewise-ink", f"import time\ntime.sleep(0.05)\n@hookimpl\ndef lanewise_import_formats():\n return [{SHEET}]"
    )
    registry = shelf.registry()
    found = []
    threads = [threading.Thread(target=lambda: found.append(registry.format("ink-sheet"))) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(found) == 4
    assert all(entry is found[0] for entry in found)


def test_the_import_is_light_and_loads_no_plugin():
    code = (
        "import sys, lanewise.plugins.registry as r, lanewise.plugins.choosing; r.make_registry(); "
        "heavy = {'numpy', 'pandas', 'xarray', 'scipy', 'matplotlib', 'jinja2', 'importlib.metadata', 'difflib',"
        " 'lanewise.formats.builtin', 'lanewise.styles.builtin'}; print(sorted(heavy & set(sys.modules)))"
    )
    said = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    # pluggy itself may load importlib.metadata in older releases; none does at import from 1.7 on
    assert said.stdout.strip() == "[]"


def test_a_plugin_may_import_everything_from_hooks(shelf):
    shelf.formats("lanewise-ink", SHEET, head="from lanewise.hooks import *")
    shelf.put("lanewise-dye", "from lanewise.hooks import *\n" + POSTER)
    registry = shelf.registry()
    assert (list(registry.formats), list(registry.styles)) == (["lanewise-ink:ink-sheet"], ["lanewise-dye:poster"])


def a_plugin():
    plugin = types.ModuleType("my_lab")

    @hookimpl
    def lanewise_import_formats():
        return [ImportFormat("lab-sheet", "Sheet of our lab", lambda source, options: None, suffixes=(".lab",))]

    @hookimpl
    def lanewise_report_styles():
        return [ReportStyle("lab-poster", "Poster of our lab", "json:dumps", ".html", "text/html")]

    plugin.lanewise_import_formats = lanewise_import_formats
    plugin.lanewise_report_styles = lanewise_report_styles
    return plugin


def test_a_program_can_hand_over_a_plugin():
    registry = make_registry(built_in=(), discover=False, plugins={"my-lab": a_plugin()})
    assert registry.format("my-lab:lab-sheet").item.title == "Sheet of our lab"
    assert registry.style("lab-poster").provider.module == "my_lab"


def test_a_handed_over_plugin_may_be_a_plain_object():
    plugin = types.SimpleNamespace(**{k: v for k, v in vars(a_plugin()).items() if k.startswith("lanewise")})
    registry = make_registry(built_in=(), discover=False, plugins={"my-lab": plugin})
    assert list(registry.formats) == ["my-lab:lab-sheet"]


def test_the_records_cannot_be_changed():
    registry = make_registry(built_in=(), discover=False, plugins={"my-lab": a_plugin()})
    with pytest.raises(TypeError, match="does not support item assignment"):
        registry.formats["x"] = None


class TestSwitchingOff:
    @pytest.mark.parametrize("name", ["lanewise-ink", "Lanewise_Ink", "desk", "lanewise-ink:desk"])
    def test_a_plugin_before_any_of_its_code_runs(self, shelf, monkeypatch, name):
        module = shelf.put("lanewise-ink", "raise RuntimeError('must not run')", entry="desk")
        monkeypatch.setenv("LANEWISE_WITHOUT_PLUGINS", f" {name} ,")
        registry = shelf.registry()
        assert not registry.formats
        assert module not in sys.modules
        plugin = registry.plugins[0]
        assert plugin.state == "off"
        assert plugin.reason.startswith("is switched off by LANEWISE_WITHOUT_PLUGINS (")
        assert plugin.api is None
        with pytest.raises(
            UnknownFormat, match=r"no format 'lanewise-ink:x' in use: plugin desk .*switched off by LANEWISE"
        ):
            registry.format("lanewise-ink:x")

    def test_by_argument(self, shelf):
        shelf.put("lanewise-ink", "raise RuntimeError('must not run')")
        registry = shelf.registry(without=("lanewise-ink",))
        with pytest.raises(UnknownFormat, match=r"lanewise-ink 1\.0 is switched off by this call \(lanewise-ink\)"):
            registry.format("anything")

    @pytest.mark.parametrize("name", ["ink-sheet", "lanewise-ink:ink-sheet"])
    def test_one_format_of_a_plugin(self, shelf, name):
        shelf.formats("lanewise-ink", SHEET, STRIP)
        registry = shelf.registry(without=(name,))
        assert list(registry.formats) == ["lanewise-ink:ink-strip"]
        plugin = registry.plugins[0]
        assert (plugin.state, plugin.formats) == ("ok", ("ink-strip",))
        assert "ink-sheet is switched off by this call" in plugin.reason
        with pytest.raises(UnknownFormat, match=r"'ink-sheet' belongs to lanewise-ink 1\.0, but it is switched off by"):
            registry.format("ink-sheet")

    def test_one_style(self, shelf):
        shelf.put("lanewise-ink", POSTER)
        with pytest.raises(StyleError, match=r"style 'poster' belongs to .* switched off by this call"):
            shelf.registry(without=("poster",)).style("poster")

    def test_a_style_that_is_off_is_not_taken_for_a_format(self, shelf):
        shelf.put("lanewise-ink", POSTER)
        with pytest.raises(UnknownFormat, match="no import format called 'poster'"):
            shelf.registry(without=("poster",)).format("poster")

    def test_a_name_of_another_plugin_is_not_taken_for_the_one_that_is_off(self, shelf):
        shelf.formats("lanewise-ink", SHEET, STRIP)
        with pytest.raises(UnknownFormat, match="no import format called 'lanewise-dye:ink-sheet'"):
            shelf.registry(without=("ink-sheet",)).format("lanewise-dye:ink-sheet")

    def test_a_name_that_is_switched_off_clashes_with_nobody(self, shelf):
        shelf.formats("lanewise-ink", SHEET)
        shelf.formats("lanewise-dye", SHEET)
        registry = shelf.registry(without=("lanewise-dye:ink-sheet",))
        assert registry.format("ink-sheet").provider.distribution == "lanewise-ink"

    def test_built_ins_go_through_the_same_door(self, shelf):
        shelf.formats("lanewise-ink", SHEET)
        assert "lanewise:html" in shelf.registry(built_in=("lanewise.styles.builtin",)).styles
        assert "lanewise:html" not in shelf.registry(built_in=("lanewise.styles.builtin",), without=("html",)).styles
        assert not shelf.registry(built_in=("lanewise.styles.builtin",), without=("lanewise",)).styles

    def test_a_name_that_is_not_there_is_said(self, shelf, monkeypatch):
        shelf.formats("lanewise-ink", SHEET)
        monkeypatch.setenv("LANEWISE_WITHOUT_PLUGINS", "lanewise-inc")
        registry = shelf.registry()
        said = "LANEWISE_WITHOUT_PLUGINS switches off 'lanewise-inc', which is no plugin.* Did you mean 'lanewise-ink'"
        with pytest.warns(PluginProblemWarning, match=said):
            assert len(registry.formats) == 1

    def test_a_bare_text_is_refused(self):
        with pytest.raises(TypeError, match=r"given the text 'abc'; write without=\('abc',\)"):
            make_registry(without="abc")


class TestFinding:
    def test_the_nearest_name_and_the_list(self, shelf):
        shelf.formats("lanewise-ink", SHEET, STRIP)
        said = "no import format called 'ink-shet'. Did you mean 'ink-sheet'. Installed formats: ink-sheet, ink-strip."
        with pytest.raises(UnknownFormat, match=said):
            shelf.registry().format("ink-shet")

    def test_a_style_that_is_not_there(self, shelf):
        shelf.put("lanewise-ink", POSTER)
        said = "no report style called 'postre'. Did you mean 'poster'. Installed styles: poster."
        with pytest.raises(StyleError, match=said):
            shelf.registry().style("postre")

    def test_no_format_at_all(self):
        with pytest.raises(UnknownFormat, match=r"called 'x'\. No format is in use at all"):
            make_registry(built_in=(), discover=False).format("x")

    def test_a_name_that_is_no_text(self):
        with pytest.raises(UnknownFormat, match="asked for by its name, given 3"):
            make_registry(built_in=(), discover=False).format(3)

    @pytest.mark.parametrize("name", ["lanewise-broken", "main", "lanewise-broken:scan"])
    def test_a_name_of_a_broken_plugin(self, shelf, name):
        shelf.put("lanewise-broken", "import not_there_at_all", version="0.3")
        registry = shelf.registry()
        with pytest.warns(PluginProblemWarning, match="not_there_at_all"):
            assert not registry.formats
        with pytest.raises(UnknownFormat, match=r"main of lanewise-broken 0\.3 was left out: ModuleNotFoundError"):
            registry.format(name)

    def test_an_unknown_name_mentions_broken_plugins(self, shelf):
        shelf.put("lanewise-broken", "import not_there_at_all")
        registry = shelf.registry()
        with pytest.warns(PluginProblemWarning, match="not_there_at_all"):
            assert not registry.formats
        with pytest.raises(
            UnknownFormat, match=r"Not in use, and so not asked: .*main of lanewise-broken 1\.0 was left"
        ):
            registry.format("scan")


class TestDefault:
    @pytest.fixture(autouse=True)
    def own(self, shelf, monkeypatch):
        monkeypatch.setattr(registries, "_default", None)

    def test_there_is_one_for_the_process(self):
        assert registries.default_registry() is registries.default_registry()

    def test_refresh_finds_what_was_installed_meanwhile(self, shelf, monkeypatch):
        monkeypatch.setattr(registries.discovery, "built_in", lambda modules: [])
        assert "lanewise-ink:ink-sheet" not in registries.default_registry().formats
        shelf.formats("lanewise-ink", SHEET)
        assert "lanewise-ink:ink-sheet" not in registries.default_registry().formats
        refreshed = registries.refresh()
        assert refreshed is registries.default_registry()
        assert "lanewise-ink:ink-sheet" in refreshed.formats

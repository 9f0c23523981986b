"""Something has to go: the plugins that use it are named, and go on working until then."""

from __future__ import annotations

import types

import pluggy
import pytest

import lanewise.hooks
from lanewise.errors import OutdatedPluginWarning, PluginProblemWarning
from lanewise.plugins import gathering, loading

SHEET = 'ImportFormat("ink-sheet", "Sheet of ink readings", "json:loads", suffixes=(".ink",))'
SAYS = "lanewise_report_styles is replaced by lanewise_page_styles and goes in lanewise 3.0"


@pytest.fixture
def outgoing(monkeypatch):
    """Pretend that the hook of the styles is on its way out."""
    hookspec = pluggy.HookspecMarker(lanewise.hooks.PROJECT)
    specifications = types.ModuleType("specifications")
    specifications.lanewise_import_formats = lanewise.hooks.lanewise_import_formats
    specifications.lanewise_report_styles = hookspec(warn_on_impl=OutdatedPluginWarning(SAYS))(lambda: ())
    monkeypatch.setattr(gathering, "make_manager", lambda: loading.make_manager(specifications))


def both(shelf):
    shelf.put(
        "lanewise-old",
        f"""
        @hookimpl
        def lanewise_import_formats():
            return [{SHEET}]

        @hookimpl
        def lanewise_report_styles():
            return []
        """,
        version="0.9",
    )


def test_a_plugin_that_uses_it_is_named_and_works(shelf, outgoing):
    both(shelf)
    registry = shelf.registry()
    with pytest.warns(PluginProblemWarning, match=f"^plugin main of lanewise-old 0.9 will stop working: {SAYS}$"):
        assert list(registry.formats) == ["lanewise-old:ink-sheet"]
    (plugin,) = registry.plugins
    assert plugin.state == "ok"
    assert [problem.stage for problem in registry.problems] == ["register"]


def test_a_plugin_that_does_not_use_it_hears_nothing(shelf, outgoing):
    shelf.formats("lanewise-new", SHEET)
    assert list(shelf.registry().formats) == ["lanewise-new:ink-sheet"]
    assert shelf.registry().problems == ()


@pytest.mark.filterwarnings("ignore::lanewise.errors.PluginProblemWarning")  # what is raised is no warning
def test_strict_makes_it_an_error(shelf, outgoing):
    both(shelf)
    with pytest.raises(PluginProblemWarning, match="will stop working"):
        _ = shelf.registry(strict=True).formats

from __future__ import annotations

import dataclasses
import importlib
import re
import subprocess
import sys

import pluggy
import pytest

from lanewise import hooks
from lanewise.styles import builtin

STYLES = builtin.lanewise_report_styles()


def test_the_styles_come_through_the_hook():
    manager = pluggy.PluginManager(hooks.PROJECT)
    manager.add_hookspecs(hooks)
    manager.register(builtin)
    manager.check_pending()
    (styles,) = manager.hook.lanewise_report_styles()
    assert [(style.name, style.suffix, style.media_type) for style in styles] == [
        ("html", ".html", "text/html"),
        ("markdown", ".md", "text/markdown"),
        ("text", ".txt", "text/plain"),
    ]


@pytest.mark.parametrize("style", STYLES, ids=lambda style: style.name)
def test_a_style_describes_itself(style):
    assert re.fullmatch(r"[a-z]+(-[a-z]+)*", style.name)
    assert style.title
    assert style.description.endswith(".")
    assert style.api == hooks.API_LEVEL
    module, function = style.render.split(":")
    assert callable(getattr(importlib.import_module(module), function))


@pytest.mark.parametrize("style", STYLES, ids=lambda style: style.name)
def test_each_option_says_what_it_does_and_has_an_allowed_default(style):
    options = dataclasses.fields(style.options)
    assert options
    for option in options:
        about = option.metadata
        assert about["help"]
        assert not about["choices"] or option.default in about["choices"]
        if about["minimum"] is not None:
            assert about["minimum"] <= option.default <= about["maximum"]
            assert about["unit"]


def test_offering_the_styles_loads_no_renderer():
    code = (
        "import sys; from lanewise.styles.builtin import lanewise_report_styles; lanewise_report_styles();"
        "print(*sorted(set(sys.modules) & {'jinja2', 'markupsafe', 'numpy', 'pandas', 'lanewise.model',"
        " 'lanewise.styles.html', 'lanewise.styles.markdown', 'lanewise.styles.text'}))"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.split() == []

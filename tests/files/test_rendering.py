"""A report through a style: options, what comes back, and whose fault it is when it does not."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from lanewise.document import Report
from lanewise.errors import OptionError, StyleError
from lanewise.files.rendering import render
from lanewise.hooks import Rendered, ReportStyle, option

REPORT = Report("Writing inks", ("Two dyes.",), ())


@dataclass(frozen=True)
class PosterOptions:
    width: int = option(80, help="longest line", minimum=10)


def style(render, options=None):
    return ReportStyle("poster", "Poster", render, ".txt", "text/plain", options=options)


def test_the_style_gets_report_and_options(registry_of):
    def layout(report, options):
        return Rendered(f"{report.title} {options.width}".encode(), {"a.svg": b"x"})

    registry = registry_of(style(layout, PosterOptions))
    assert render(REPORT, "poster", registry=registry).main == b"Writing inks 80"
    rendered = render(REPORT, "my-lab:poster", registry=registry, options={"width": "40"})
    assert (rendered.main, rendered.extras) == (b"Writing inks 40", {"a.svg": b"x"})


@pytest.mark.parametrize(
    ("returned", "said"),
    [
        (b"page", "wanted to return Rendered, returned bytes"),
        (None, "wanted to return Rendered, returned NoneType"),
        (Rendered("page"), "returned no bytes as main file, but str 'page'"),
        (Rendered(b""), "returned no bytes as main file, but bytes b''"),
        (Rendered(b"x", ["a"]), "returned extras as list, wanted a mapping of name to bytes"),
        (Rendered(b"x", {"a.svg": "x"}), r"returned the extra file 'a\.svg' as str, wanted bytes"),
        (Rendered(b"x", {"../a": b"x"}), r": extra file '\.\./a': wanted a plain file name, given one with a folder"),
    ],
)
def test_what_cannot_be_written_is_refused(registry_of, returned, said):
    with pytest.raises(StyleError, match=rf"style 'poster' \(my-lab\)\s?{said}"):
        render(REPORT, "poster", registry=registry_of(style(lambda report, options: returned)))


def test_an_exception_of_the_style_keeps_its_type(registry_of):
    with pytest.raises(KeyError, match="colour") as caught:
        render(REPORT, "poster", registry=registry_of(style(lambda report, options: {}["colour"])))
    assert "style 'poster' of plugin my-lab while laying out 'Writing inks'" in caught.value.__notes__[0]


def test_an_option_that_is_not_there(registry_of):
    with pytest.raises(OptionError, match=r"style 'poster' has no option 'widht'\. Did you mean 'width'"):
        render(REPORT, "poster", registry=registry_of(style(print, PosterOptions)), options={"widht": 3})


def test_a_style_that_is_not_there(registry_of):
    with pytest.raises(StyleError, match=r"no report style called 'html'\. Installed styles: poster"):
        render(REPORT, registry=registry_of(style(print)))


def test_something_that_is_no_report(registry_of):
    with pytest.raises(StyleError, match="wanted a Report to lay out, given str"):
        render("Writing inks", registry=registry_of())

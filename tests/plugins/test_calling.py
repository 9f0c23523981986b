"""Calling into plugins: late imports, missing distributions, and whose fault it is."""

from __future__ import annotations

import sys

import pytest

from lanewise.errors import FormatError, StyleError, UnreadableFile
from lanewise.plugins.calling import blamed, function_of


def form(read, needs=()):
    return f'ImportFormat("ink-sheet", "Title", {read!r}, needs={needs!r})'


def entry_of(shelf, read, needs=(), reader=""):
    shelf.formats("lanewise-ink", form(read, needs), version="1.2")
    (shelf.folder / "fake_reader.py").write_text(reader, encoding="utf-8")
    return shelf.registry().format("ink-sheet")


def test_the_reader_is_imported_on_first_use(shelf):
    entry = entry_of(shelf, "fake_reader:read", reader="def read(source, options):\n    return source, options\n")
    assert "fake_reader" not in sys.modules
    assert function_of(entry)(1, 2) == (1, 2)
    assert "fake_reader" in sys.modules


def test_a_missing_distribution_gives_the_line_that_installs_it(shelf):
    entry = entry_of(shelf, "fake_reader:read", ("pluggy", "not-there-at-all>=2"), "import not_there_at_all\n")
    said = (
        r"format 'ink-sheet' \(lanewise-ink 1\.2\) needs not-there-at-all>=2, not installed here\. "
        r"Install with: pip install not-there-at-all>=2$"
    )
    with pytest.raises(FormatError, match=said) as caught:
        function_of(entry)
    assert isinstance(caught.value.__cause__, ModuleNotFoundError)


def test_the_same_for_an_import_inside_the_reader(shelf):
    entry = entry_of(shelf, "fake_reader:read", ("not-there-at-all",), "def read(s, o):\n    import not_there_at_all\n")
    with pytest.raises(FormatError, match="pip install not-there-at-all"), blamed(entry, "reading 'bench-1.csv'"):
        function_of(entry)(None, None)


def test_the_same_for_a_style(shelf):
    shelf.put(
        "lanewise-ink",
        """
        @hookimpl
        def lanewise_report_styles():
            return [ReportStyle("poster", "P", "not_there_at_all:f", ".html", "text/html", needs=("not-there-at-all",))]
        """,
    )
    with pytest.raises(StyleError, match=r"style 'poster' \(lanewise-ink 1\.0\) needs not-there-at-all"):
        function_of(shelf.registry().style("poster"))


def test_an_import_error_without_declared_needs_stays_what_it_is(shelf):
    entry = entry_of(shelf, "fake_reader:read", reader="import not_there_at_all\n")
    with pytest.raises(ModuleNotFoundError, match="not_there_at_all") as caught:
        function_of(entry)
    assert caught.value.__notes__ == [
        "raised by format 'ink-sheet' of plugin lanewise-ink 1.2 while importing fake_reader:read; "
        "a fault of the plugin, not of your call"
    ]


def test_a_function_that_is_not_there(shelf):
    with pytest.raises(AttributeError, match="has no attribute 'raed'"):
        function_of(entry_of(shelf, "fake_reader:raed", reader="def read(s, o):\n    pass\n"))


def test_a_thing_that_is_no_function(shelf):
    with pytest.raises(TypeError, match="fake_reader:read wanted a function, given int"):
        function_of(entry_of(shelf, "fake_reader:read", reader="read = 3\n"))


def test_other_exceptions_keep_their_type_and_get_a_note(shelf):
    entry = entry_of(shelf, "json:loads")
    with pytest.raises(KeyError, match="gone") as caught, blamed(entry, "reading 'bench-1.csv'"):
        raise KeyError("gone")
    assert "plugin lanewise-ink 1.2 while reading 'bench-1.csv'" in caught.value.__notes__[0]


def test_errors_of_the_library_go_through_as_they_are(shelf):
    entry = entry_of(shelf, "json:loads")
    with pytest.raises(UnreadableFile, match=r"^as it is$") as caught, blamed(entry, "reading"):
        raise UnreadableFile("as it is")
    assert not hasattr(caught.value, "__notes__")

from __future__ import annotations

import unicodedata
from typing import ClassVar

import pytest

from lanewise.testing import ReportStyleContract
from lanewise_latex import plugin


class TestLatex(ReportStyleContract):
    plugin = plugin
    style = "latex"

    @pytest.fixture(autouse=True)
    def _tools(self, engine, readback):
        type(self).engine, type(self).readback = engine, readback

    def _pages(self, rendered):
        kept = self._kept("pages", dict)
        if rendered.main not in kept:
            kept[rendered.main] = self.engine(rendered)
        return kept[rendered.main]

    def text(self, rendered):
        """Read the printed pages, or the source where there is no engine; characters that are named are put back."""
        if self.engine is None:
            seen = self.readback.unescaped(rendered.main.decode("utf-8"))
        else:
            seen = self._pages(rendered).text().replace("\xa0", " ")
        # The kit compares code points, and the style composes letters with their accents: both are the same text.
        seen = self.readback.spelt_out(seen)
        return "".join(unicodedata.normalize("NFD", sign) if sign < "\u0250" else sign for sign in seen)

    def opens(self, rendered):
        if self.engine is None:
            source = rendered.main.decode("utf-8")
            assert source.count(r"\begin{") == source.count(r"\end{")
        else:
            log = self._pages(rendered).log
            assert "Missing character" not in log
            assert "Overfull" not in log


class TestLatexSource(TestLatex):
    """The same with other options, read from the source even where there is an engine."""

    options: ClassVar = {"descriptions": "below", "contents": False, "size": 12, "paper": "letter"}

    @pytest.fixture(autouse=True)
    def _tools(self, readback):
        type(self).engine, type(self).readback = None, readback

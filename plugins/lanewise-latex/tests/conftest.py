"""The TeX engine, a reader of LaTeX source that knows nothing of the plugin, and samples of text."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import unicodedata
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass
from pathlib import Path

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

TOOLS = ("lualatex", "kpsewhich", "pdftotext", "pdfinfo")
MM = 72 / 25.4  # in points of a PDF file
UNSAFE = ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")
MARKUP = st.text(alphabet="\\{}$&#^_~%[]*()<>-`'\"!?,;:=|/@ 1aif\n\u00a0", max_size=24)
ANY = st.text(st.characters(exclude_characters="⟦⟧"), max_size=12)


PRINTED = {
    r"\textbackslash": "\\",
    r"\textasciicircum": "^",
    r"\textasciitilde": "~",
    r"\\": " ",
    "~": " ",
    "&": " ",
}


@dataclass(frozen=True)
class Pages:
    """What came out of the engine."""

    folder: Path
    log: str

    @property
    def pdf(self):
        return self.folder / "report.pdf"

    def text(self, bottom_mm=276.0):
        """Give the text in the order in which it was set, without the foot of the pages."""
        box = ["-x", "0", "-y", "0", "-W", "700", "-H", str(round(bottom_mm * MM))]
        command = ["pdftotext", "-raw", "-nopgbrk", *box, "report.pdf", "-"]
        return subprocess.run(command, cwd=self.folder, capture_output=True, check=True).stdout.decode("utf-8")

    def words(self):
        """Give each word of each page with its box: left, top, right, bottom. [mm]"""
        command = ["pdftotext", "-bbox", "report.pdf", "-"]
        page = subprocess.run(command, cwd=self.folder, capture_output=True, check=True).stdout.decode("utf-8")
        for word in ElementTree.fromstring(page).iter("{http://www.w3.org/1999/xhtml}word"):
            yield word.text, *(float(word.get(edge)) / MM for edge in ("xMin", "yMin", "xMax", "yMax"))


class Engine:
    """LuaLaTeX, forbidden to run programs and to touch files outside; its cache of fonts is a folder of its own."""

    def __init__(self, folders):
        self.folders = folders
        self.cache = folders.mktemp("cache")

    def __call__(self, rendered, runs=1, **more):
        folder = self.folders.mktemp("tex")
        (folder / "report.tex").write_bytes(rendered.main)
        for name, data in rendered.extras.items():
            (folder / name).write_bytes(data)
        own = {"openin_any": "p", "openout_any": "p", "max_print_line": "10000"}
        own |= {"TEXMFCACHE": str(self.cache), "TEXMFVAR": str(self.cache)}
        command = ["lualatex", "--no-shell-escape", "--recorder", "--halt-on-error", "--interaction=nonstopmode"]
        for _ in range(runs):
            ran = subprocess.run(
                [*command, "report.tex"],
                cwd=folder,
                env={**os.environ, **own, **more},
                capture_output=True,
                stdin=subprocess.DEVNULL,
            )
            log = (folder / "report.log").read_text("utf-8", "replace")
            assert ran.returncode == 0, "\n".join(line for line in log.split("\n") if line.startswith(("!", "l.")))
        return Pages(folder, log)


@pytest.fixture(scope="session")
def engine(tmp_path_factory):
    """Give the engine, or None where there is none and none is demanded."""
    missing = [tool for tool in TOOLS if shutil.which(tool) is None]
    if missing and os.environ.get("LANEWISE_NEEDS_TEX") == "1":
        pytest.fail(f"LANEWISE_NEEDS_TEX=1, but these programs are not installed: {', '.join(missing)}")
    return None if missing else Engine(tmp_path_factory)


@pytest.fixture(scope="session")
def tex(engine):
    if engine is None:
        pytest.skip("needs LuaLaTeX and poppler-utils; see the README of this plugin for what to install")
    return engine


@pytest.fixture(scope="session")
def gathered():
    """Give some hundred texts at once, since one run of the engine costs as much as thousands of them."""

    def gather(strategy, number):
        texts = []

        @settings(
            max_examples=number,
            deadline=None,
            database=None,
            derandomize=True,
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
        )
        @given(strategy)
        def collect(text):
            texts.append(text)

        collect()
        return texts

    return gather


@pytest.fixture(scope="session")
def readback():
    return Readback


class Readback:
    """Readers of what came out, written from the manuals and not from the plugin."""

    markup, any = MARKUP, ANY
    _TOKEN = re.compile(r"\\[A-Za-z]+ ?|\\.|.", re.DOTALL)

    @staticmethod
    def squeezed(text):
        """Give a text without spaces, in the form in which ligatures and small figures are plain letters."""
        return "".join(unicodedata.normalize("NFKC", text).split())

    @classmethod
    def unescaped(cls, source):
        r"""Read LaTeX source: commands that print a sign, ``\unicode``; other commands are passed over."""
        source = re.sub(r"\\unicode\{([0-9A-F]+)\}", r"⟨U+\1⟩", source.partition(r"\begin{document}")[2] or source)
        printed = []
        for token in cls._TOKEN.findall(source):
            name = token.rstrip(" ") if token[:1] == "\\" and len(token) > 2 else token
            if name in PRINTED:
                printed.append(PRINTED[name])
            elif len(token) == 2:
                printed.append(token[1])
            elif len(token) == 1 and token not in "{}":
                printed.append(token)
        return "".join(printed)

    @staticmethod
    def spelt_out(text):
        """Put characters in the place of their code points, except for those that steer or are not printable."""

        def sign_of(named):
            sign = chr(int("".join(named[1].split()), 16))
            return sign if sign.isprintable() else named[0]

        return re.sub(r"⟨\s*U\s*\+([0-9A-F\s]{4,})⟩", sign_of, text)

    @classmethod
    def shows(cls, found, text):
        """Tell whether what was found is this text, each character as it is or by its code point, none left out."""
        left = cls.squeezed(found)
        for character in unicodedata.normalize("NFC", re.sub("\r\n|[\t\n\v\f\r\x85\u2028\u2029]", " ", text)):
            whole, named = cls.squeezed(character), f"⟨U+{ord(character):04X}⟩"
            if left.startswith(named):
                left = left[len(named) :]
            elif left.startswith(whole) and (
                unicodedata.category(character) not in UNSAFE or character in "\u200c\u200d"
            ):
                left = left[len(whole) :]
            else:
                return False
        return not left

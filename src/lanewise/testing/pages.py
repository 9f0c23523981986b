"""Reading laid-out reports back: the text that a reader sees, and what could act or load something."""

from __future__ import annotations

import csv
import io
import json
import re
import unicodedata
import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from html.parser import HTMLParser
from xml.etree import ElementTree

VOID = frozenset(
    ("area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "param", "source", "track", "wbr")
)
_SILENT = frozenset(("script", "style", "template"))
_SPOKEN = ("alt", "aria-label", "title")
_MARKS = re.compile("[\u200e\u200f\u2066-\u2069]")
_ESCAPED = re.compile(r"\\([!-/:-@\[-`{-~])")


@dataclass(slots=True)
class Element:
    """One element of a page: its tag, its attributes, and what stands in it."""

    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    children: list[Element | str] = field(default_factory=list)

    def walk(self) -> Iterator[Element]:
        """Give the element and everything in it, in the order of the page."""
        yield self
        for child in self.children:
            if isinstance(child, Element):
                yield from child.walk()

    @property
    def text(self) -> str:
        """What stands in it, with what is read out in place of pictures."""
        if self.tag in _SILENT:
            return ""
        spoken = [self.attributes[name] for name in _SPOKEN if self.attributes.get(name)]
        inner = "".join(child if isinstance(child, str) else f" {child.text} " for child in self.children)
        return " ".join([*spoken, inner])

    @property
    def source(self) -> str:
        """What stands in it as it was written; for style sheets."""
        return "".join(child if isinstance(child, str) else child.source for child in self.children)


class _Builder(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.root = Element("page")
        self.open = [self.root]

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        made = Element(tag, {name: value or "" for name, value in attrs})
        self.open[-1].children.append(made)
        if tag not in VOID:
            self.open.append(made)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.handle_starttag(tag, attrs)
        if tag not in VOID:
            self.open.pop()

    def handle_endtag(self, tag: str) -> None:
        for depth in range(len(self.open) - 1, 0, -1):
            if self.open[depth].tag == tag:
                del self.open[depth:]
                return

    def handle_data(self, data: str) -> None:
        self.open[-1].children.append(data)


def page_of(main: bytes) -> Element:
    """Take a page of HTML apart, as forgiving as a browser.

    Examples
    --------
    >>> page_of(b"<p>Rf <b>0.50</b><br>&lt;ink&gt;").text.split()
    ['Rf', '0.50', '<ink>']
    """
    builder = _Builder()
    builder.feed(main.decode("utf-8"))
    builder.close()
    return builder.root


def is_html(media_type: str) -> bool:
    """Whether a media type is that of a web page."""
    return media_type in ("text/html", "application/xhtml+xml")


def is_markdown(media_type: str) -> bool:
    """Whether a media type is that of Markdown."""
    return media_type in ("text/markdown", "text/x-markdown")


def is_tex(media_type: str) -> bool:
    """Whether a media type is that of TeX."""
    return media_type in ("application/x-tex", "application/x-latex", "text/x-tex")


def is_json(media_type: str) -> bool:
    """Whether a media type is that of JSON, or of a format made of it."""
    return media_type == "application/json" or media_type.endswith("+json")


def is_xml(media_type: str) -> bool:
    """Whether a media type is that of XML, or of a format made of it."""
    return media_type in ("application/xml", "text/xml") or media_type.endswith("+xml")


def is_table(media_type: str) -> bool:
    """Whether a media type is that of a text table that spreadsheets open."""
    return media_type in ("text/csv", "text/tab-separated-values")


def is_archive(main: bytes) -> bool:
    """Whether bytes are a zip archive, as workbooks and text documents are."""
    return main.startswith(b"PK\x03\x04")


def text_of(main: bytes, media_type: str) -> str:
    r"""Give the text that a reader sees, as far as the media type says how.

    Parameters
    ----------
    main : bytes
        The laid-out report.
    media_type : str
        Its media type.

    Returns
    -------
    str
        Of HTML the texts and what stands for pictures; of Markdown the text without its escapes; of a text table its
        cells; of JSON and XML all texts; of a zip archive the texts of its XML members; of all else the decoded bytes.

    Examples
    --------
    >>> text_of(rb"a\|b \*c\*", "text/markdown")
    'a|b *c*'
    """
    if is_html(media_type):
        return page_of(main).text
    if is_markdown(media_type):
        return _ESCAPED.sub(r"\1", main.decode("utf-8"))
    if is_json(media_type):
        return "\n".join(_strings(json.loads(main)))
    if is_table(media_type):
        return "\n".join(cell for row in rows_of(main, media_type) for cell in row)
    if is_archive(main):
        return "\n".join("\n".join(tree.itertext()) for _, tree in members(main))
    if is_xml(media_type):
        return "\n".join(ElementTree.fromstring(main).itertext())
    return main.decode("utf-8")


def _strings(value: object) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, inner in value.items():
            yield name
            yield from _strings(inner)
    elif isinstance(value, list):
        if value and all(isinstance(inner, str) for inner in value):
            yield "".join(value)  # a notebook holds a text as its lines
        else:
            for inner in value:
                yield from _strings(inner)


def rows_of(main: bytes, media_type: str) -> Iterator[list[str]]:
    """Give the rows of a text table; a quote that is not closed is a ``csv.Error``."""
    sign = "," if media_type == "text/csv" else "\t"
    yield from csv.reader(io.StringIO(main.decode("utf-8-sig"), newline=""), delimiter=sign, strict=True)


def members(main: bytes) -> Iterator[tuple[str, ElementTree.Element]]:
    """Give the XML members of a zip archive by name."""
    with zipfile.ZipFile(io.BytesIO(main)) as archive:
        for name in archive.namelist():
            if name.endswith((".xml", ".rels")):
                yield name, ElementTree.fromstring(archive.read(name))


def squeezed(text: str) -> str:
    """Take out what a layout may change: blanks, line breaks, marks that keep directions apart, composed letters."""
    return unicodedata.normalize("NFC", "".join(_MARKS.sub("", text).split()))


def pattern_of(text: str) -> re.Pattern[str] | None:
    r"""Give what finds a text of the report in a squeezed text; None where there is nothing to find.

    Characters that cannot be printed may stand in another form of at most 24 characters, such as ``<U+202E>``, or be
    left out.

    Examples
    --------
    >>> bool(pattern_of("ink \x07 7").search("some" + "ink" + "[U+0007]" + "7"))
    True
    """
    parts = []
    for sign in unicodedata.normalize("NFC", text):
        if sign.isspace():
            continue
        parts.append(re.escape(sign) if sign.isprintable() else ".{0,24}?")
    return re.compile("".join(parts), re.DOTALL) if parts else None


def missing(texts: Iterable[str], seen: str) -> Iterator[str]:
    r"""Give the texts that are not found in what a reader sees, or not as often as they should be.

    Examples
    --------
    >>> list(missing(["blue ink", "red", "blue ink"], "a blue\nink, red"))
    ['blue ink']
    """
    plain = squeezed(seen)
    for text, wanted in Counter(texts).items():
        if text.isprintable():
            bare = squeezed(text)
            found = plain.count(bare) if bare else wanted
        else:
            pattern = pattern_of(text)
            found = len(pattern.findall(plain)) if pattern else wanted
        if found < wanted:
            yield text

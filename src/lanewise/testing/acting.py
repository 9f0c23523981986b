"""What in a laid-out report could act or load something: faults in words, found by reading the report back."""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterator

from lanewise.testing import pages
from lanewise.testing.pages import Element

HOSTILE_CLASS = "kit-hostile"
_ELEMENTS = frozenset(("script", "iframe", "frame", "object", "embed", "applet", "base"))
_ADDRESSES = frozenset(
    ("src", "href", "srcset", "action", "formaction", "data", "poster", "background", "xlink:href", "cite", "ping")
)
_ACTING = re.compile(r"\s*(?:javascript|vbscript|data:text/html)", re.IGNORECASE)
_OUTSIDE = re.compile(r"\s*(?:[a-z][a-z0-9+.-]*:)?//|\s*(?:https?|ftp|file|mailto):", re.IGNORECASE)
_CSS_ADDRESS = re.compile(r"url\(\s*['\"]?([^'\")]*)|@import\s+['\"]?([^'\";)]*)", re.IGNORECASE)
_LINK = re.compile(r"(?<!\\)\]\(\s*<?([^\s)>]*)")
_REFERENCE = re.compile(r"^ {0,3}\[[^\]]+\]:\s*<?(\S+)", re.MULTILINE)
_RAW_TAG = re.compile(r"(?<!\\)<(?:/?[a-z][^>\n]*>|!--)", re.IGNORECASE)
_RAW_TEX = re.compile(r"(?<!\\)(?:\\\\)*\\input\b|(?<!\\)\$x_1\^2\$")
_STEERING = re.compile("[\u202a-\u202e\u2066\u2067\u206a-\u206f]")
_FORMULA = re.compile("1234|kit-hostile", re.IGNORECASE)
_COLOURED = re.compile(r"(?:^|[;\s])(?:color|background(?:-color)?|fill|border(?:-color)?)\s*:", re.IGNORECASE)
_WORDLESS = frozenset(("td", "th", "span", "b", "i", "em", "strong", "font", "mark", "li", "div", "p"))


def acting_markup(main: bytes, media_type: str) -> Iterator[str]:
    """Give what acts in a report whose labels are hostile.

    Parameters
    ----------
    main : bytes
        The laid-out report.
    media_type : str
        Web pages, Markdown, TeX, notebooks and XML inside archives are looked at; of other kinds nothing is known.
    """
    if pages.is_html(media_type):
        yield from _acting_elements(pages.page_of(main))
    elif pages.is_markdown(media_type):
        yield from _acting_markdown(main.decode("utf-8"))
    elif pages.is_tex(media_type):
        for found in _RAW_TEX.finditer(main.decode("utf-8")):
            yield f"the command or formula {found[0]!r} of a label"
    elif pages.is_json(media_type):
        for text in notebook_texts(main):
            yield from _acting_markdown(text)


def notebook_texts(main: bytes) -> Iterator[str]:
    """Give the Markdown of a notebook, cell by cell; nothing of other JSON."""
    try:
        held = json.loads(main)
    except ValueError:  # the check that a file opens says so
        return
    for cell in held.get("cells", ()) if isinstance(held, dict) else ():
        if isinstance(cell, dict) and cell.get("cell_type") == "markdown":
            source = cell.get("source", "")
            yield source if isinstance(source, str) else "".join(source)


def _acting_elements(page: Element) -> Iterator[str]:
    for element in page.walk():
        if element.tag in _ELEMENTS:
            yield f"an element <{element.tag}>"
        if element.tag == "meta" and element.attributes.get("http-equiv", "").lower() == "refresh":
            yield "a page that moves on by itself (meta refresh)"
        for name, value in element.attributes.items():
            if name.startswith("on"):
                yield f"an event handler {name}={value[:40]!r} in <{element.tag}>"
            if name in _ADDRESSES and _ACTING.match(value):
                yield f"an address that acts, {name}={value[:40]!r} in <{element.tag}>"
            if HOSTILE_CLASS in value and name == "class":
                yield f"an element <{element.tag}> that a label made"


def _acting_markdown(text: str) -> Iterator[str]:
    plain = _without_code(text)
    for found in _RAW_TAG.finditer(plain):
        yield f"the tag {found[0][:60]!r}"
    for found in (*_LINK.finditer(plain), *_REFERENCE.finditer(plain)):
        if _ACTING.match(found[1]):
            yield f"the link {found[0][:60]!r}"
    yield from _ragged_rows(plain)


def _without_code(text: str) -> str:
    """Blank out fenced blocks and code spans, in which nothing acts; a fence of the report stands at a line's start."""
    text = re.sub(r"^(`{3,}|~{3,})[^`\n]*\n.*?^\1[ \t]*$", "", text, flags=re.MULTILINE | re.DOTALL)
    return re.sub(r"(?<![\\`])(`+)(?!`)[^\n]*?(?<!`)\1(?!`)", "", text)


def _ragged_rows(text: str) -> Iterator[str]:
    """Give rows of pipe tables that have more or fewer cells than their headings."""
    wanted = 0
    for line in text.split("\n"):
        if not line.startswith("|"):
            wanted = 0
            continue
        cells = len(re.findall(r"(?<!\\)(?:\\\\)*\|", line))
        wanted = wanted or cells
        if cells != wanted:
            yield f"a table row of {cells - 1} cells under {wanted - 1} headings: {line[:60]!r}"


def acting_formulas(main: bytes, media_type: str) -> Iterator[str]:
    """Give the labels that a spreadsheet would work out; numbers may begin with a sign."""
    if pages.is_table(media_type):
        for row in pages.rows_of(main, media_type):
            for cell in row:
                if cell[:1] in ("=", "+", "-", "@", "\t", "\r") and not _is_number(cell):
                    yield f"the cell {cell[:40]!r}"
    elif pages.is_archive(main):
        for name, tree in pages.members(main):
            for element in tree.iter():
                formula = element.text if element.tag.endswith("}f") else _attribute(element, "formula")
                if formula and _FORMULA.search(formula):
                    yield f"the formula {formula[:40]!r} in {name}"


def _attribute(element: object, name: str) -> str:
    attributes: dict[str, str] = getattr(element, "attrib", {})
    return next((value for key, value in attributes.items() if key.endswith(f"}}{name}")), "")


def _is_number(cell: str) -> bool:
    try:
        float(cell)
    except ValueError:
        return False
    return True


def steering(text: str) -> Iterator[str]:
    """Give characters that steer a terminal or turn the direction of reading, or that are none."""
    for sign in sorted(set(text)):
        code = f"U+{ord(sign):04X}"
        if unicodedata.category(sign) in ("Cc", "Cs") and sign not in "\n\r\t\f":
            yield f"the control character {code}"
        if _STEERING.match(sign):
            yield f"the direction mark {code}"


def loading(main: bytes, media_type: str, extras: frozenset[str]) -> Iterator[str]:
    """Give what a report would load from outside, or from a file that is not there."""
    if pages.is_html(media_type) or media_type == "image/svg+xml":
        for element in pages.page_of(main).walk():
            for name, value in element.attributes.items():
                if name in _ADDRESSES:
                    yield from _strange(value, extras, f"{name} in <{element.tag}>")
                if name == "style":
                    yield from _strange_css(value, extras)
            if element.tag == "style":
                yield from _strange_css(element.source, extras)
    elif pages.is_markdown(media_type):
        plain = _without_code(main.decode("utf-8"))
        for found in (*_LINK.finditer(plain), *_REFERENCE.finditer(plain)):
            yield from _strange(found[1], extras, "a link")
    elif pages.is_archive(main):
        for name, tree in pages.members(main):
            for relation in tree.iter():
                if relation.attrib.get("TargetMode") == "External":
                    yield f"the outside address {relation.attrib.get('Target', '')[:60]!r} in {name}"


def _strange(value: str, extras: frozenset[str], where: str) -> Iterator[str]:
    if _OUTSIDE.match(value):
        yield f"the outside address {value[:60]!r} ({where})"
    elif value and not value.startswith(("#", "data:")) and not _ACTING.match(value) and value not in extras:
        yield f"the address {value[:60]!r}, which is no file beside the report ({where})"


def _strange_css(text: str, extras: frozenset[str]) -> Iterator[str]:
    for found in _CSS_ADDRESS.finditer(text):
        yield from _strange(found[1] or found[2] or "", extras, "style sheet")


def wordless(main: bytes, media_type: str) -> Iterator[str]:
    """Give what speaks by colour or picture alone."""
    if pages.is_html(media_type):
        for element in pages.page_of(main).walk():
            yield from _wordless_element(element)
    elif pages.is_markdown(media_type):
        for found in re.finditer(r"(?<!\\)!\[\s*\]\(([^)\s]*)", main.decode("utf-8")):
            yield f"the picture {found[1]!r} without words in its place"


def _wordless_element(element: Element) -> Iterator[str]:
    attributes = element.attributes
    hidden = attributes.get("aria-hidden") == "true"
    if element.tag == "img" and not hidden and not attributes.get("alt", "").strip():
        yield "a picture <img> without alt"
    if element.tag == "svg" and not hidden:
        named = {"aria-label", "aria-labelledby"} & attributes.keys() or any(e.tag == "title" for e in element.walk())
        if not named:
            yield "a picture <svg> without title or aria-label"
    coloured = {"bgcolor", "color"} & attributes.keys() or _COLOURED.search(attributes.get("style", ""))
    leaf = not any(isinstance(child, Element) for child in element.children)
    if element.tag in _WORDLESS and coloured and leaf and not any(sign.isalnum() for sign in element.text):
        yield f"a coloured <{element.tag}> without words"

"""Readers that undo what each style did, so that a test can compare with what the report said."""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field
from html.parser import HTMLParser

from markdown_it import MarkdownIt

VOID = {"meta", "img", "br", "hr", "input", "link"}


@dataclass
class Node:
    tag: str
    attributes: dict[str, str] = field(default_factory=dict)
    children: list[Node | str] = field(default_factory=list)

    def walk(self):
        yield self
        for child in self.children:
            if isinstance(child, Node):
                yield from child.walk()

    def all(self, *tags):
        return [node for node in self.walk() if node.tag in tags]

    def one(self, tag):
        (node,) = self.all(tag)
        return node

    @property
    def text(self):
        return "".join(child if isinstance(child, str) else child.text for child in self.children)


class _Tree(HTMLParser):
    def __init__(self):
        super().__init__(convert_charrefs=True)
        self.root = Node("root")
        self.open = [self.root]
        self.doctype = ""

    def handle_decl(self, decl):
        self.doctype = decl

    def handle_starttag(self, tag, attrs):
        assert len(dict(attrs)) == len(attrs), f"attribute given twice in <{tag}>"
        node = Node(tag, {name: value if value is not None else "" for name, value in attrs})
        self.open[-1].children.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_endtag(self, tag):
        assert self.open[-1].tag == tag, f"</{tag}> closes <{self.open[-1].tag}>"
        self.open.pop()

    def handle_data(self, data):
        self.open[-1].children.append(data)

    def handle_comment(self, data):
        raise AssertionError(f"a comment in the page: {data!r}")


def html_page(page):
    """Parse a page strictly: every element is closed in order, no attribute stands twice."""
    tree = _Tree()
    tree.feed(page.decode("utf-8"))
    tree.close()
    assert tree.doctype == "DOCTYPE html"
    assert tree.open == [tree.root], "elements left open"
    return tree.root


def html_tables(page):
    """Give each table as its rows of cell texts, headings first."""
    tables = html_page(page).all("table")
    return [[[cell.text for cell in row.all("th", "td")] for row in table.all("tr")] for table in tables]


def markdown_tokens(text):
    """Parse with a CommonMark reader to which pipe tables are added; no HTML is switched off."""
    return MarkdownIt("commonmark").enable("table").parse(text.decode("utf-8"))


def shown(token):
    """Give the text of an inline token; anything but text in it is a fault."""
    kinds = {child.type for child in token.children or ()}
    assert kinds <= {"text"}, f"{token.content!r} became {sorted(kinds)}"
    return "".join(child.content for child in token.children or ()).replace("\u2068", "").replace("\u2069", "")


def markdown_tables(text):
    """Give each table as its rows of cell texts, headings first."""
    tables = []
    for token in markdown_tokens(text):
        if token.type == "table_open":
            tables.append([])
        elif token.type == "tr_open":
            tables[-1].append([])
        elif token.type == "inline" and token.level >= 4 and tables and tables[-1]:
            tables[-1][-1].append(shown(token))
    return tables


def squeezed(text):
    """Give a text without its spaces and without the marks that enclose right-to-left cells."""
    return "".join(text.replace("\u2068", "").replace("\u2069", "").split())


def _places(line):
    """Give the grid column of each character; one without width stands where the one before it stands."""
    used = 0
    for character in line:
        width = 1 + (unicodedata.east_asian_width(character) in "WF")
        if unicodedata.category(character) in ("Mn", "Me", "Cf"):
            width = 0
        yield used if width else used - 1, character
        used += width


def _slice(line, start, stop):
    return "".join(character for place, character in _places(line) if start - 1 <= place < stop)


def text_columns(text):
    """Give what stands under each heading of the only table of a text, by heading, without spaces.

    The headings must be short words, each different from the others.
    """
    lines = text.decode("utf-8").split("\n")
    lines = lines[next(number for number, line in enumerate(lines) if line.startswith("Table: ")) + 1 :]
    columns = {}
    spans, header = [], ""
    for line in lines:
        if line == "(the same rows, further columns)":
            spans = []
        elif not spans and re.fullmatch(r"-+(  -+)*", line):
            spans = [found.span() for found in re.finditer("-+", line)]
            names = [squeezed(_slice(header, *span)) for span in spans]
            columns.update(dict.fromkeys(names, ""))
        elif not spans:
            header = line
        else:
            for name, span in zip(names, spans, strict=True):
                columns[name] += squeezed(_slice(line, *span))
    return columns

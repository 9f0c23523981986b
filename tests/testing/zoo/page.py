"""The good page and the good table: styles from which each bad one differs in one thing."""

from __future__ import annotations

import base64
import csv
import html
import io

from lanewise.document import Bullets, Figure, Paragraph, Table
from lanewise.hooks import Rendered, ReportStyle


def clean(text):
    """Give a text as one line in which no sign can act."""
    return "".join(sign if sign.isprintable() else f"[U+{ord(sign):04X}]" for sign in " ".join(text.split()))


class Page:
    """A page of HTML; a bad one overrides one method."""

    def text(self, text):
        return html.escape(clean(text))

    def attribute(self, text):
        return html.escape(clean(text))

    def head(self, report):
        return f"<!DOCTYPE html><html lang='en'><head><title>{self.text(report.title)}</title></head><body>"

    def summary(self, report):
        return [f"<p>{self.text(sentence)}</p>" for sentence in report.summary]

    def bullets(self, bullets):
        return "".join(f"<li>{self.text(item)}</li>" for item in bullets.items)

    def cell(self, text, numeric):
        return f"<td>{self.text(text)}</td>"

    def table(self, table):
        rows = [
            "".join(self.cell(cell, number) for cell, number in zip(row, table.numeric, strict=True))
            for row in table.rows
        ]
        head = "".join(f"<th>{self.text(title)}</th>" for title in table.header)
        body = "".join(f"<tr>{row}</tr>" for row in rows)
        return f"<table><caption>{self.text(table.caption)}</caption><tr>{head}</tr>{body}</table>"

    def picture(self, figure):
        data = base64.b64encode(figure.draw("svg")).decode()
        return f"<img alt='{self.attribute(figure.caption)}' src='data:image/svg+xml;base64,{data}'>"

    def figure(self, figure):
        said = "".join(f"<li>{self.text(sentence)}</li>" for sentence in figure.description)
        return f"{self.picture(figure)}<p>{self.text(figure.caption)}</p><ul>{said}</ul>"

    def block(self, block):
        match block:
            case Paragraph():
                return f"<p>{self.text(block.text)}</p>"
            case Bullets():
                return f"<ul>{self.bullets(block)}</ul>"
            case Table():
                return self.table(block)
            case Figure():
                return self.figure(block)

    def extras(self, report):
        return {}

    def encoded(self, text):
        return text.encode()

    def render(self, report, options):
        parts = [self.head(report), f"<h1>{self.text(report.title)}</h1>", *self.summary(report)]
        for section in report.sections:
            parts += [f"<h2>{self.text(section.title)}</h2>", *map(self.block, section.blocks)]
        return Rendered(self.encoded("\n".join([*parts, "</body></html>\n"])), self.extras(report))


def page(name, layout=None, **more):
    """Make a style of pages."""
    made = {"render": (layout or Page()).render, "suffix": ".html", "media_type": "text/html", **more}
    return ReportStyle(name=name, title="Invented page", **made)


def is_number(text):
    try:
        float(text)
    except ValueError:
        return False
    return True


class Cells:
    """A report as comma-separated values: a text or a row of cells a line."""

    def cell(self, text):
        line = clean(text)
        return line if line[:1] not in ("=", "+", "-", "@") or is_number(line) else f"'{line}"

    def render(self, report, options):
        held = io.StringIO(newline="")
        writer = csv.writer(held)
        write = lambda *cells: writer.writerow([self.cell(cell) for cell in cells])  # noqa: E731
        for text in (report.title, *report.summary):
            write(text)
        for section in report.sections:
            write(section.title)
            for block in section.blocks:
                match block:
                    case Paragraph():
                        write(block.text)
                    case Bullets():
                        write(*block.items)
                    case Table():
                        write(block.caption)
                        for row in (block.header, *block.rows):
                            write(*row)
                    case Figure():
                        write(block.caption, *block.description)
        return Rendered(held.getvalue().encode())


def table_of_cells(name, layout=None):
    """Make a style of comma-separated values."""
    return ReportStyle(
        name=name, title="Invented cells", render=(layout or Cells()).render, suffix=".csv", media_type="text/csv"
    )

"""Styles that leave out, act, load or change something."""

from __future__ import annotations

import html
import time

from lanewise.document import Bullets, Paragraph, Table
from lanewise.hooks import Rendered, ReportStyle, hookimpl
from zoo import Caught
from zoo.page import Cells, Page, clean, page, table_of_cells

TEXTS = ("summary", "words", "cells", "descriptions")  # what becomes markup is no longer text
CAUGHT = {
    "hopeful-page": Caught("renders", "for any Report: empty ones"),
    "bad-json": Caught("opens", "Write a file that a strict reader of its media type accepts"),
    "terse-page": Caught("summary", "every sentence of the summary"),
    "bulletless-page": Caught("words", "every paragraph and every bullet"),
    "cut-page": Caught("cells", "split a wide table rather than cut it"),
    "padding-page": Caught("numbers", "they are rounded already"),
    "speechless-page": Caught("descriptions", "Figure.description beside the picture"),
    "colourful-page": Caught("colour", "Say in words what a colour says"),
    "blind-page": Caught("colour", "give each picture an alternative text"),
    "raw-page": Caught("markup", "html.escape(text, quote=True)", also=(*TEXTS, "colour", "offline")),
    "open-page": Caught("markup", "an event handler onmouseover"),
    "raw-markdown": Caught("markup", "a backslash before the marks of Markdown", also=(*TEXTS, "offline")),
    "raw-tex": Caught("markup", r"the command or formula '\\input' of a label"),
    "working-cells": Caught("formulas", "an apostrophe in front in CSV"),
    "steering-page": Caught("control_characters", "direction overrides"),
    "styled-page": Caught("offline", "given:  the outside address 'https://fonts.invalid/a.css'"),
    "pointing-page": Caught("offline", "'plate-1.svg', which is no file beside the report"),
    "climbing-page": Caught("extras", "Name extras plainly"),
    "random-page": Caught("same_twice", "no random number", also=("hash_seed",)),
    "shuffled-page": Caught("hash_seed", "sort first"),
    "plotting-page": Caught("headless", "draw without matplotlib.pyplot"),
    "shouting-page": Caught("report_unchanged", "Copy what you want to change"),
}


class Hopeful(Page):
    def summary(self, report):
        return (
            [f"<p>{self.text(report.summary[0])}</p>", *super().summary(report)[1:]]
            if report.sections
            else [f"<p>{self.text(report.summary[0])}</p>"]
        )


class Terse(Page):
    def summary(self, report):
        return super().summary(report)[:1]


class Bulletless(Page):
    def bullets(self, bullets):
        return ""


class Cut(Page):
    def cell(self, text, numeric):
        return super().cell(text if len(text) < 100 else f"{text[:100]}...", numeric)


class Padding(Page):
    def cell(self, text, numeric):
        return super().cell(f"{text}0" if numeric and "." in text else text, numeric)


class Speechless(Page):
    def figure(self, figure):
        return self.picture(figure)


class Colourful(Page):
    def cell(self, text, numeric):
        colour = {"together": "#a63c06", "apart": "#30588c"}.get(text)
        return f"<td style='background: {colour}'></td>" if colour else super().cell(text, numeric)


class Blind(Page):
    def picture(self, figure):
        return super().picture(figure).replace("<img alt=", "<img data-caption=")


class Raw(Page):
    def text(self, text):
        return clean(text)


class Open(Page):
    def bullets(self, bullets):
        items = zip(bullets.items, map(self.text, bullets.items), strict=True)
        return "".join(f"<li title='{html.escape(clean(item), quote=False)}'>{text}</li>" for item, text in items)


class Steering(Page):
    def text(self, text):
        return html.escape(text)

    def encoded(self, text):
        return text.encode("utf-8", "replace")


class Styled(Page):
    def head(self, report):
        sheet = "<link rel='stylesheet' href='https://fonts.invalid/a.css'></head>"
        return super().head(report).replace("</head>", sheet)


class Pointing(Page):
    def picture(self, figure):
        return f"<img alt='{self.attribute(figure.caption)}' src='{figure.name}.svg'>"


class Climbing(Page):
    def extras(self, report):
        return {"../plate-1.svg": b"<svg/>"}


class Random(Page):
    def head(self, report):
        return super().head(report).replace("<html ", f"<html data-key='{time.perf_counter_ns()}' ")


class Shuffled(Page):
    def head(self, report):
        classes = " ".join({f"ink-{number}" for number in range(40)})
        return super().head(report).replace("<body>", f"<body data-classes='{classes}'>")


class Plotting(Page):
    def head(self, report):
        import matplotlib.pyplot as plt

        return super().head(report).replace("<html ", f"<html data-open='{len(plt.get_fignums())}' ")


class Shouting(Page):
    def render(self, report, options):
        object.__setattr__(report, "title", report.title.upper())
        return super().render(report, options)


class Working(Cells):
    def cell(self, text):
        return clean(text)


def render_bad_json(report, options):
    return Rendered(Page().render(report, options).main)


def render_raw_markdown(report, options):
    lines = [f"# {clean(report.title)}", *map(clean, report.summary)]
    for section in report.sections:
        lines.append(f"## {clean(section.title)}")
        for block in section.blocks:
            lines += _plain_lines(block)
    return Rendered("\n\n".join(lines).encode())


def render_raw_tex(report, options):
    return Rendered(render_raw_markdown(report, options).main)


def _plain_lines(block):
    match block:
        case Paragraph():
            return [clean(block.text)]
        case Bullets():
            return [f"- {clean(item)}" for item in block.items]
        case Table():
            rows = ["| " + " | ".join(map(clean, row)) + " |" for row in (block.header, *block.rows)]
            return [clean(block.caption), "\n".join([rows[0], "|---" * len(block.header) + "|", *rows[1:]])]
    return [clean(block.caption), *(f"- {clean(sentence)}" for sentence in block.description)]


@hookimpl
def lanewise_report_styles():
    layouts = {name: globals()[name.split("-")[0].capitalize()] for name in CAUGHT if name.endswith("-page")}
    return [
        *(page(name, layout()) for name, layout in layouts.items()),
        table_of_cells("working-cells", Working()),
        page("bad-json", render=render_bad_json, suffix=".json", media_type="application/json"),
        _style("raw-markdown", render_raw_markdown, ".md", "text/markdown"),
        _style("raw-tex", render_raw_tex, ".tex", "application/x-tex"),
    ]


def _style(name, render, suffix, media_type):
    return ReportStyle(name=name, title="Invented style", render=render, suffix=suffix, media_type=media_type)

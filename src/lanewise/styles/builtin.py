"""The three styles on offer, with their options; the renderers load when a report is first laid out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lanewise.hooks import ReportStyle, hookimpl, option


@dataclass(frozen=True, slots=True)
class HtmlOptions:
    """Options of the style ``html``."""

    contents: bool = option(True, help="give a list of the sections with links, after the summary")
    figures: str = option(
        "svg",
        help="kind of picture put into the page; the descriptions in words are always given",
        choices=("svg", "png", "none"),
    )
    unfolded: bool = option(False, help="unfold the descriptions of pictures; folded ones are not printed on paper")


@dataclass(frozen=True, slots=True)
class MarkdownOptions:
    """Options of the style ``markdown``."""

    figures: str = option(
        "svg",
        help="kind of picture files beside the text; the descriptions in words are always given",
        choices=("svg", "png", "none"),
    )


@dataclass(frozen=True, slots=True)
class TextOptions:
    """Options of the style ``text``."""

    width: int = option(78, help="longest line", unit="characters", minimum=40, maximum=200)


@hookimpl
def lanewise_report_styles() -> Sequence[ReportStyle]:
    """Offer the built-in styles.

    Examples
    --------
    >>> [style.name for style in lanewise_report_styles()]
    ['html', 'markdown', 'text']
    """
    return (
        ReportStyle(
            name="html",
            title="One web page, pictures inside, for screen, phone and print",
            render="lanewise.styles.html:render",
            suffix=".html",
            media_type="text/html",
            options=HtmlOptions,
            description=(
                "A single file that needs no network and runs no script. It follows the light or dark "
                "setting of the reader, prints on paper, and can be read with a keyboard or a screen reader."
            ),
            needs=("jinja2",),
        ),
        ReportStyle(
            name="markdown",
            title="Markdown text with the pictures in files beside it",
            render="lanewise.styles.markdown:render",
            suffix=".md",
            media_type="text/markdown",
            options=MarkdownOptions,
            description=(
                "CommonMark with pipe tables. Labels are escaped, so that none of them turns into markup "
                "or a link. Each picture is a file of its own, named after the figure."
            ),
        ),
        ReportStyle(
            name="text",
            title="Plain text in aligned columns",
            render="lanewise.styles.text:render",
            suffix=".txt",
            media_type="text/plain",
            options=TextOptions,
            description=(
                "Wrapped lines of UTF-8 text. Tables too wide for the line are wrapped inside their cells or "
                "split into blocks that repeat the row names; figures are given by their descriptions."
            ),
        ),
    )

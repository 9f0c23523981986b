"""The style ``latex`` with its options; the renderer loads when a report is first laid out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from lanewise.hooks import ReportStyle, hookimpl, option


@dataclass(frozen=True, slots=True)
class LatexOptions:
    """Options of the style ``latex``."""

    paper: str = option("a4", help="size of the paper", choices=("a4", "letter"))
    contents: bool = option(True, help="give a list of the sections with their pages, after the summary")
    descriptions: str = option(
        "appendix",
        help="where the pictures are described in words: each below its picture, or all in an appendix",
        choices=("below", "appendix"),
    )
    size: int = option(11, help="size of the text; tables are set somewhat smaller", unit="pt", choices=(10, 11, 12))


@hookimpl
def lanewise_report_styles() -> Sequence[ReportStyle]:
    """Offer the style.

    Examples
    --------
    >>> [style.name for style in lanewise_report_styles()]
    ['latex']
    """
    return (
        ReportStyle(
            name="latex",
            title="Lab report in LaTeX, pictures as PDF files beside it",
            render="lanewise_latex.style:render",
            suffix=".tex",
            media_type="application/x-tex",
            options=LatexOptions,
            description=(
                "One source file for LuaLaTeX, with the packages of a small TeX installation and without network. "
                "Every text is escaped; characters that the font lacks are shown as their code point. Long tables "
                "run over pages with their headings, wide ones are wrapped or dealt out to parts."
            ),
        ),
    )

"""The text that a reader of a supplement meets first: what each file is, and what to bear in mind."""

from __future__ import annotations

import textwrap
from collections.abc import Mapping

import lanewise
from lanewise.document import Report
from lanewise_lab_standards.archive import one_line

_WIDTH = 78
_METHOD = (
    "The record holds what was read on the sheets, in millimetres. Rf is the distance from the origin to the spot over "
    "the distance from the origin to the front; everything else follows from such distances. Each uncertainty is "
    "carried through from the readings. The report says how, and which solvents call for caution."
)
_IN_TABLES = (
    "A value and its standard uncertainty belong together: rf and u_rf, k and u_k. The columns that end in _low and "
    "_high hold the ends of an interval, or bounds. Quote a value with its uncertainty.",
    "An empty cell means that there is no value, never zero. A spot that stayed at the origin or ran with the front "
    "has no Rf, but a bound.",
    "Numbers are not rounded: they have more digits than they are worth. The report rounds them.",
    "Units and meanings of the columns stand in datapackage.json.",
)
_EXACT = (
    "Texts stand in the tables as they were written down; only characters that cannot be seen are shown by their "
    "numbers. Where you open a table in a spreadsheet, import it with all "
    "text columns marked as text: a label that begins with =, +, - or @ could be run as a formula."
)
_GUARDED = (
    "Texts that begin with =, +, -, @, a tab or a line break have an apostrophe before them, which was not in the "
    "reading, so that no spreadsheet runs them as a formula."
)


def readme(report: Report, title: str, licence: str, files: Mapping[str, str], tables: bool, guarded: bool) -> bytes:
    """Write the text for readers.

    Parameters
    ----------
    report : Report
        What the supplement was made of.
    title, licence : str
        Of the whole.
    files : mapping of path to str
        What each file is.
    tables : bool
        Whether there are tables among them.
    guarded : bool
        Whether their texts were altered for spreadsheets.

    Returns
    -------
    bytes
        Plain text in UTF-8, lines of at most 78 characters but for long words.
    """
    listed = [line for path, about in files.items() for line in (path, _filled(about, "    "))]
    remarks = [*_IN_TABLES, _GUARDED if guarded else _EXACT] if tables else ["This report came without tables."]
    blocks = [
        _headed(title, "="),
        _filled(made_with(report)),
        _headed("Files", "-"),
        "\n".join(listed),
        _headed("How the numbers were found", "-"),
        _filled(_METHOD),
        _headed("To bear in mind", "-"),
        "\n".join(_filled(remark, "- ") for remark in remarks),
        _headed("Licence", "-"),
        _filled(licence),
    ]
    return ("\n\n".join(blocks) + "\n").encode()


def made_with(report: Report) -> str:
    """Say which version of the library made it, and on which day where that is known."""
    return f"Made with lanewise {lanewise.__version__}" + (f" on {report.date}." if report.date else ".")


def _headed(title: str, stroke: str) -> str:
    line = one_line(title)
    return f"{line}\n{stroke * min(len(line), _WIDTH)}"


def _filled(text: str, before: str = "") -> str:
    """Break a text into lines; the first begins with a mark, the others with as many spaces."""
    return textwrap.fill(
        one_line(text),
        _WIDTH,
        initial_indent=before,
        subsequent_indent=" " * len(before),
        break_long_words=False,
        break_on_hyphens=False,
    )

"""What the commands `compare` and `choose` do: read, work out, and deliver as text, tables or a report."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING

import typer

from lanewise.cli import findings, tasks
from lanewise.errors import OptionError
from lanewise.files.reading import read
from lanewise.plugins.registry import Registry

if TYPE_CHECKING:
    from lanewise.document import Report


@dataclass(frozen=True, slots=True)
class Common:
    """What both commands take from the call: where to, how laid out, heading, level, and how to read.

    Attributes
    ----------
    out : Path or None
        File to write.
    style : str or None
        Report style.
    title : str
        Heading.
    level : float
        Coverage probability of the intervals.
    format : str or None
        Import format of the files.
    options : mapping of str to object
        Options of the import format.
    """

    out: Path | None
    style: str | None
    title: str
    level: float
    format: str | None
    options: Mapping[str, object]


def compare_files(
    files: Sequence[Path],
    *,
    margin: float,
    common: Common,
    style_options: Mapping[str, object],
    registry: Registry,
) -> None:
    """Compare the systems of the files."""
    style = _style(common, registry)
    study = read(files, format=common.format, options=common.options, registry=registry)
    from lanewise.reports.comparing import comparison_report

    today = date.today().isoformat()
    report = comparison_report(study, title=common.title, level=common.level, margin=margin, date=today)
    _deliver(report, style, common, style_options, registry)


def choose_files(
    files: Sequence[Path],
    *,
    dyes: Sequence[str] | None,
    criterion: str,
    at: Mapping[str, Sequence[float]],
    common: Common,
    style_options: Mapping[str, object],
    registry: Registry,
) -> None:
    """Rank the systems of the files and say what to try next."""
    style = _style(common, registry)
    from lanewise.analyses.criteria import ALONE

    if criterion and criterion not in ALONE:
        raise OptionError(f"--criterion: wanted one of {', '.join(ALONE)}, given {criterion!r}")
    study = read(files, format=common.format, options=common.options, registry=registry)
    from lanewise.reports.choosing import choice_report

    report = choice_report(
        study,
        dyes=dyes or None,
        criterion=criterion,
        at=at,
        title=common.title,
        level=common.level,
        date=date.today().isoformat(),
    )
    _deliver(report, style, common, style_options, registry)


def strengths(given: Sequence[str] | None) -> dict[str, list[float]]:
    """Take ``NAME=FRACTION`` texts apart; one name may come several times.

    Examples
    --------
    >>> strengths(["acetone=0.25", "acetone=0.3"])
    {'acetone': [0.25, 0.3]}
    """
    found: dict[str, list[float]] = {}
    for text in given or ():
        name, equals, number = text.rpartition("=")
        try:
            value = float(number)
        except ValueError:
            equals = ""
        if not equals or not name.strip():
            raise typer.BadParameter(f"wanted NAME=FRACTION, given {text!r}. Write for instance --at acetone=0.25")
        found.setdefault(name.strip(), []).append(value)
    return found


def _style(common: Common, registry: Registry) -> str:
    """Choose the style, which is known to exist before anything is read; none for tables."""
    if findings.writes_tables(common.out, common.style):
        return ""
    style = common.style or tasks.style_for(common.out, registry)
    registry.style(style)
    return style


def _deliver(
    report: Report, style: str, common: Common, style_options: Mapping[str, object], registry: Registry
) -> None:
    if style or common.out is None:
        findings.deliver_report(report, common.out, style, dict(style_options), registry)
    else:
        findings.deliver_tables(report, common.out)

"""The tree of errors and warnings: what can go wrong, on one screen.

Each carries what it is about in its text: which thing, what was wanted, what was given, what to do.

    LanewiseError
    ├── RecordError      a value of the record (a study, plate, lane, spot) is not possible   (ValueError)
    ├── ReadingsError    a file of readings has faults; carries every one of them             (ValueError)
    ├── AnalysisError    a question cannot be answered from what was given                    (ValueError)
    ├── PlanError        a plan cannot work; carries the nearest one that does                (ValueError)
    ├── FormatError      a file cannot be read as asked                                       (ValueError)
    │   ├── UnknownFormat      no import format of that name, or none recognises the file
    │   ├── AmbiguousFormat    several recognise it equally well
    │   ├── UnreadableFile     the chosen format cannot make sense of the file
    │   └── OptionError        an option is unknown or its value is not allowed
    └── StyleError       a report cannot be laid out as asked                                 (ValueError)
    PluginProblemWarning a plugin was left out, and why                                       (FutureWarning)
    OutdatedPluginWarning a plugin uses what a later version of the library drops             (FutureWarning)

Errors of a call in Python, such as a number of the wrong sign given to a formula, are plain ``ValueError``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass


class LanewiseError(Exception):
    """Anything that this library refuses to do, with what to do about it in its text."""


class RecordError(LanewiseError, ValueError):
    """A value of the record is not possible; the text says which, what was wanted and what was given."""


class AnalysisError(LanewiseError, ValueError):
    """The question cannot be answered from what was given."""


class PlanError(LanewiseError, ValueError):
    """A plan cannot work; the text says why and what would.

    Attributes
    ----------
    nearest : object or None
        The nearest plan that works (`lanewise.planning.plans.Plan`); None where none was found, or where what was
        given is no number or name that a plan can be made of.
    """

    nearest: object = None


class FormatError(LanewiseError, ValueError):
    """A file cannot be read as asked."""


class UnknownFormat(FormatError):
    """No import format has that name, or none recognises the file."""


class AmbiguousFormat(FormatError):
    """Several import formats recognise the file equally well; nothing was read."""


class UnreadableFile(FormatError):
    """The chosen import format cannot make sense of the file."""


class OptionError(FormatError):
    """An option of a format or style is unknown, or its value is not allowed."""


class StyleError(LanewiseError, ValueError):
    """A report cannot be laid out as asked."""


class PluginProblemWarning(FutureWarning):
    """A plugin was left out; the text names it, the reason and the way to switch it off."""


class OutdatedPluginWarning(FutureWarning):
    """A plugin uses what a later version of the library drops; the text names what, what replaces it, and when."""


@dataclass(frozen=True, slots=True)
class Problem:
    """One fault of a file of readings: where it is, what was wanted, what was given, what to do.

    Attributes
    ----------
    file : str
        Name of the file, without its folder.
    row : int or None
        Line of the file (or row of the sheet), counted from 1; None where the whole file is meant.
    column : str
        Heading of the column as it stands in the file; empty where the whole row is meant.
    wanted, given, todo : str
        What would have been right, what stands there, and how to mend it.
    """

    file: str
    row: int | None
    column: str
    wanted: str
    given: str
    todo: str

    def __str__(self) -> str:
        where = [self.file]
        if self.row is not None:
            where.append(f"row {self.row}")
        if self.column:
            where.append(f"column {self.column}")
        return f"{', '.join(where)}: wanted {self.wanted}, given {self.given}. {self.todo}"


class ReadingsError(LanewiseError, ValueError):
    """A file of readings has faults; all of them are in `problems`, in the order of the file.

    Parameters
    ----------
    problems : sequence of Problem
        At least one.
    """

    def __init__(self, problems: Sequence[Problem]) -> None:
        self.problems = tuple(problems)
        count = len(self.problems)
        head = "1 problem" if count == 1 else f"{count} problems"
        super().__init__("\n".join([f"{head}, nothing was read:", *map(str, self.problems)]))

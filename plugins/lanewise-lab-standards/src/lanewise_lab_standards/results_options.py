"""Options of the two styles of results."""

from __future__ import annotations

from dataclasses import dataclass

from lanewise.hooks import option

NO_LICENCE = "No licence was stated; ask the authors before reuse."


@dataclass(frozen=True, slots=True)
class PackageOptions:
    """What a report does not know of its publication. Nobody is named unless a name is given here."""

    title: str = option("", help="title of the whole; that of the report if left out")
    licence: str = option(
        NO_LICENCE, help="licence of the data: its web address, its SPDX name such as CC-BY-4.0, or a sentence"
    )
    authors: str = option("", help="names of the authors, separated by semicolons")
    guard: bool = option(
        False,
        help="put an apostrophe before texts that a spreadsheet could take for a formula, which alters these texts",
    )


@dataclass(frozen=True, slots=True)
class CrateOptions(PackageOptions):
    """As for the Data Package, with what an RO-Crate has to state besides."""

    published: str = option("", help="day of publication, YYYY-MM-DD; the day of the report if left out")
    publisher: str = option("", help="name of the organisation that publishes the data")

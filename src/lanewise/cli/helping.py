"""Help texts that end with the options of the formats and styles that are installed."""

from __future__ import annotations

from typing import Any

from typer.core import TyperCommand

from lanewise.cli.calling import refusals_as_exit
from lanewise.cli.catalogue import option_sections
from lanewise.plugins.registry import default_registry


class ListingFormatOptions(TyperCommand):
    """A command that reads files: its help lists the options of the import formats."""

    styles = False

    def format_epilog(self, ctx: Any, formatter: Any) -> None:
        """Write the options below what is always there."""
        super().format_epilog(ctx, formatter)
        with refusals_as_exit():
            sections = option_sections(default_registry(), styles=self.styles)
        for heading, rows in sections.items():
            with formatter.section(heading):
                formatter.write_dl(rows)


class ListingOptions(ListingFormatOptions):
    """A command that reads files and lays out a report: its help lists the options of the styles too."""

    styles = True

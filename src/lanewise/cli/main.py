"""The commands and what they accept."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Annotated

import typer

from lanewise.cli import catalogue, tasks
from lanewise.cli.calling import refusals_as_exit, registry_without, settings, waiting
from lanewise.cli.helping import ListingFormatOptions, ListingOptions

app = typer.Typer(
    name="lanewise",
    no_args_is_help=True,
    add_completion=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="Planar chromatography: from ruler readings to Rf with honest uncertainty and a report one can defend.",
    epilog="Exit codes: 0 done; 1 the files have faults, which are listed; 2 the call itself is wrong.",
)

Files = Annotated[
    list[Path], typer.Argument(metavar="FILE", help="One or more files of readings; they are read as one study.")
]
Format = Annotated[
    str | None, typer.Option("--format", help="Import format of the files; found out from each file if left out.")
]
Option = Annotated[
    list[str] | None,
    typer.Option("--option", metavar="NAME=VALUE", help="Option of the import format; may be repeated."),
]


def _level(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise typer.BadParameter(f"wanted a probability between 0 and 1, given {level:g}")
    return level


Level = Annotated[float, typer.Option(callback=_level, help="Coverage probability of the intervals, between 0 and 1.")]
Without = Annotated[
    list[str] | None,
    typer.Option(
        "--without-plugin",
        metavar="NAME",
        help="Switch a plugin off, by the name of its distribution, or one format or style; may be repeated.",
    ),
]
Out = Annotated[Path | None, typer.Option("--out", help="File to write; without it the result is printed.")]


def _version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"lanewise {version('lanewise')}")
        raise typer.Exit


@app.callback()
def _root(
    show_version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Print the version and stop.")
    ] = False,
) -> None:
    """Take the options that stand before a command."""


@app.command(cls=ListingOptions)
def report(
    files: Files,
    style: Annotated[
        str | None, typer.Option(help="Report style; by default the one that fits the ending of --out, else text.")
    ] = None,
    out: Out = None,
    title: Annotated[str, typer.Option(help="Heading of the report.")] = "",
    level: Level = 0.95,
    format: Format = None,
    option: Option = None,
    style_option: Annotated[
        list[str] | None,
        typer.Option("--style-option", metavar="NAME=VALUE", help="Option of the report style; may be repeated."),
    ] = None,
    without_plugin: Without = None,
) -> None:
    """Make a report: what was done, Rf with uncertainty, the systems compared, a conclusion and its limits.

    Example: lanewise report readings.csv --out report.html
    """
    with refusals_as_exit(), waiting("reading and measuring"):
        rendered = tasks.make_report(
            files,
            style=style,
            out=out,
            title=title,
            level=level,
            format=format,
            options=settings(option, "--option"),
            style_options=settings(style_option, "--style-option"),
            registry=registry_without(without_plugin),
        )
        tasks.deliver_report(rendered, out)


@app.command(cls=ListingFormatOptions)
def measure(
    files: Files,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="File to write: .csv (the pairs go beside it), .json or .nc; without it CSV is printed."
        ),
    ] = None,
    pairs: Annotated[bool, typer.Option("--pairs", help="Print the pairs of neighbours instead of the spots.")] = False,
    level: Level = 0.95,
    format: Format = None,
    option: Option = None,
    without_plugin: Without = None,
) -> None:
    """Work out Rf, k and R_M of every spot, and distance, separation factor and resolution of neighbours.

    Example: lanewise measure readings.csv --out results.csv
    """
    with refusals_as_exit(), waiting("reading and measuring"):
        found = tasks.measure_files(
            files,
            level=level,
            format=format,
            options=settings(option, "--option"),
            registry=registry_without(without_plugin),
        )
        tasks.deliver_measurement(found, out, pairs=pairs)


@app.command(cls=ListingFormatOptions)
def check(files: Files, format: Format = None, option: Option = None, without_plugin: Without = None) -> None:
    """List every problem of the files and exit with 1 if there is one; nothing is measured.

    Example: lanewise check readings.csv
    """
    with refusals_as_exit(), waiting("checking"):
        problems = tasks.check_files(
            files,
            format=format,
            options=settings(option, "--option"),
            registry=registry_without(without_plugin),
        )
    for problem in problems:
        typer.echo(str(problem))
    if problems:
        raise typer.Exit(1)
    typer.echo("No problem found.")


@app.command()
def formats(
    explain: Annotated[
        Path | None, typer.Option("--explain", help="Say what each import format makes of this file, and why.")
    ] = None,
    without_plugin: Without = None,
) -> None:
    """List the import formats with their endings and options."""
    with refusals_as_exit():
        registry = registry_without(without_plugin)
        lines = catalogue.format_lines(registry) if explain is None else catalogue.explain_lines(explain, registry)
    typer.echo("\n".join(lines))


@app.command()
def styles(without_plugin: Without = None) -> None:
    """List the report styles with their options."""
    with refusals_as_exit():
        lines = catalogue.style_lines(registry_without(without_plugin))
    typer.echo("\n".join(lines))


@app.command()
def plugins(
    as_json: Annotated[bool, typer.Option("--json", help="Print the list as JSON.")] = False,
    without_plugin: Without = None,
) -> None:
    """List the plugins: distribution, version, name, state, hook API, formats and styles.

    Example: lanewise plugins
    """
    with refusals_as_exit():
        registry = registry_without(without_plugin)
        text = catalogue.plugins_as_json(registry) if as_json else "\n".join(catalogue.plugin_lines(registry))
    typer.echo(text)


@app.command()
def new_plugin(
    name: Annotated[
        str, typer.Argument(metavar="NAME", help="Name of the distribution: lower-case words and hyphens.")
    ],
    import_format: Annotated[bool, typer.Option("--import-format", help="Make a plugin that reads files.")] = False,
    report_style: Annotated[bool, typer.Option("--report-style", help="Make a plugin that lays out reports.")] = False,
    into: Annotated[
        Path | None, typer.Option("--into", help="Folder of the package, new or empty; by default NAME here.")
    ] = None,
) -> None:
    """Write a small plugin package that installs and passes its own tests, to start from.

    Example: lanewise new-plugin ink-sheet --import-format
    """
    with refusals_as_exit():
        for path in tasks.make_plugin(name, import_format=import_format, report_style=report_style, into=into):
            typer.echo(f"Wrote {path}")


def main() -> None:
    """Run the command line."""
    app()

"""The commands and what they accept."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import Annotated

import typer

from lanewise.cli import catalogue, deciding, identifying, tasks
from lanewise.cli.calling import StyleOption, Without, refusals_as_exit, registry_without, settings, waiting
from lanewise.cli.helping import ListingFormatOptions, ListingOptions
from lanewise.cli.plan import plan
from lanewise.cli.recipe import recipe

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


def _share(share: float) -> float:
    if not 0.0 < share < 1.0:
        raise typer.BadParameter(f"wanted a share above 0 and below 1, given {share:g}")
    return share


def _claim(claim: float) -> float:
    if not 0.5 < claim < 1.0:
        raise typer.BadParameter(f"wanted a probability above 0.5 and below 1, given {claim:g}")
    return claim


def _window(window: float | None) -> float | None:
    if window is not None and not 0.0 <= window < 1.0:
        raise typer.BadParameter(f"wanted a difference of Rf from 0 to below 1, given {window:g}")
    return window


def _level(level: float) -> float:
    if not 0.0 < level < 1.0:
        raise typer.BadParameter(f"wanted a probability between 0 and 1, given {level:g}")
    return level


CheckBar = Annotated[
    str,
    typer.Option(
        "--check-bar",
        metavar="LENGTH:U",
        help="Length of the check bar, in mm, where positions were read on the printed sheet of a plan; its standard "
        "uncertainty may be left out.",
    ),
]
Level = Annotated[float, typer.Option(callback=_level, help="Coverage probability of the intervals, between 0 and 1.")]
Out = Annotated[Path | None, typer.Option("--out", help="File to write; without it the result is printed.")]
FindingsOut = Annotated[
    Path | None,
    typer.Option(
        "--out",
        help="File to write: .csv (further tables go beside it), .json, or the ending of a report style; without it "
        "the report is printed as text.",
    ),
]
FindingsStyle = Annotated[
    str | None,
    typer.Option("--style", help="Report style; by default the one that fits the ending of --out, else text."),
]


def _margin(margin: float) -> float:
    if not 0.0 < margin < 1.0:
        raise typer.BadParameter(f"wanted a difference of Rf between 0 and 1, given {margin:g}")
    return margin


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
    check_bar: CheckBar = "",
    style_option: StyleOption = None,
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
            check_bar=check_bar,
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
    check_bar: CheckBar = "",
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
            check_bar=check_bar,
        )
        tasks.deliver_measurement(found, out, pairs=pairs)


@app.command(cls=ListingOptions)
def compare(
    files: Files,
    out: FindingsOut = None,
    margin: Annotated[
        float, typer.Option("--margin", callback=_margin, help="Difference of Rf that does not matter.")
    ] = 0.05,
    style: FindingsStyle = None,
    title: Annotated[str, typer.Option(help="Heading of the report.")] = "",
    level: Level = 0.95,
    format: Format = None,
    option: Option = None,
    style_option: StyleOption = None,
    without_plugin: Without = None,
) -> None:
    """Compare solvent systems: tests dye by dye and over all dyes, equivalence, effect sizes, correlation, maps.

    Example: lanewise compare readings.csv --out comparison.html
    """
    with refusals_as_exit(), waiting("reading and comparing"):
        deciding.compare_files(
            files,
            margin=margin,
            common=deciding.Common(out, style, title, level, format, settings(option, "--option")),
            style_options=settings(style_option, "--style-option"),
            registry=registry_without(without_plugin),
        )


@app.command(cls=ListingOptions)
def choose(
    files: Files,
    out: FindingsOut = None,
    dye: Annotated[
        list[str] | None,
        typer.Option("--dye", metavar="NAME", help="Dye to tell apart; may be repeated. By default the standards."),
    ] = None,
    criterion: Annotated[
        str, typer.Option("--criterion", help="By which to rank, such as 'worst resolution' or 'retention distance'.")
    ] = "",
    at: Annotated[
        list[str] | None,
        typer.Option(
            "--at",
            metavar="NAME=FRACTION",
            help="Strength at which to predict Rf, such as acetone=0.25; may be repeated.",
        ),
    ] = None,
    style: FindingsStyle = None,
    title: Annotated[str, typer.Option(help="Heading of the report.")] = "",
    level: Level = 0.95,
    format: Format = None,
    option: Option = None,
    style_option: StyleOption = None,
    without_plugin: Without = None,
) -> None:
    """Choose a solvent system: which tells the dyes apart, how sure that is, what two together add, what to try next.

    Example: lanewise choose readings.csv --at acetone=0.25 --out choice.html
    """
    with refusals_as_exit(), waiting("reading and ranking"):
        deciding.choose_files(
            files,
            dyes=dye,
            criterion=criterion,
            at=deciding.strengths(at),
            common=deciding.Common(out, style, title, level, format, settings(option, "--option")),
            style_options=settings(style_option, "--style-option"),
            registry=registry_without(without_plugin),
        )


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


@app.command(cls=ListingOptions)
def identify(
    files: Files,
    library: Annotated[
        Path | None, typer.Option(help="Library of Rf values (.csv, .json, .sqlite) for dyes without a standard.")
    ] = None,
    printed: Annotated[
        bool, typer.Option("--printed", help="Consider printed Rf values too, with the uncertainty that tables have.")
    ] = False,
    none: Annotated[
        float,
        typer.Option(
            callback=_share, help="Share of spots that are none of the candidates, as it is taken before looking."
        ),
    ] = 0.5,
    claim: Annotated[float, typer.Option(callback=_claim, help="Probability from which a verdict is given.")] = 0.9,
    same: Annotated[
        float,
        typer.Option(
            callback=_share, help="Share of pairs of spots of different samples that are one dye, before looking."
        ),
    ] = 0.2,
    title: Annotated[str, typer.Option(help="Heading of the report.")] = "",
    style: Annotated[
        str | None, typer.Option(help="Report style; by default the one that fits the ending of --out.")
    ] = None,
    out: Annotated[
        Path | None,
        typer.Option(
            "--out", help="File to write: .csv (more tables go beside it), .json, or a report; else text is printed."
        ),
    ] = None,
    format: Format = None,
    option: Option = None,
    style_option: StyleOption = None,
    without_plugin: Without = None,
) -> None:
    """Say which dye each spot is consistent with, by standards beside it or a library, and which samples share dyes.

    Example: lanewise identify readings.csv --out dyes.html
    """
    with refusals_as_exit(), waiting("reading and identifying"):
        identifying.identify_files(
            files,
            library=library,
            printed=printed,
            none=none,
            claim=claim,
            same=same,
            title=title,
            style=style,
            out=out,
            format=format,
            options=settings(option, "--option"),
            style_options=settings(style_option, "--style-option"),
            registry=registry_without(without_plugin),
        )


@app.command(cls=ListingFormatOptions)
def library(
    files: Annotated[
        list[Path],
        typer.Argument(metavar="FILE", help="Libraries (.csv, .json, .sqlite), put together; a later entry replaces."),
    ],
    readings: Annotated[
        bool, typer.Option("--readings", help="The files are readings: make a library of their standards.")
    ] = False,
    source: Annotated[
        str, typer.Option(help="Source that entries made of readings name; by default the names of the files.")
    ] = "",
    out: Annotated[
        Path | None,
        typer.Option("--out", help="File to write: .csv, .json, .sqlite; else what it tells apart is printed."),
    ] = None,
    window: Annotated[
        float | None,
        typer.Option(
            callback=_window, help="Difference of Rf up to which two dyes match; else from their uncertainties."
        ),
    ] = None,
    format: Format = None,
    option: Option = None,
    without_plugin: Without = None,
) -> None:
    """Put libraries of Rf values together, turn one into another form, or say which dyes it tells apart.

    Example: lanewise library readings.csv --readings --out dyes.csv
    """
    with refusals_as_exit(), waiting("reading"):
        identifying.tend_library(
            files,
            readings=readings,
            source=source,
            out=out,
            window=window,
            format=format,
            options=settings(option, "--option"),
            registry=registry_without(without_plugin),
        )


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


app.command()(plan)
app.command()(recipe)


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

"""What all commands share: settings from the call, refusals as exit codes, a bar when work takes long."""

from __future__ import annotations

import warnings
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from threading import Timer
from typing import Annotated

import typer

from lanewise.errors import (
    AnalysisError,
    LanewiseError,
    PluginProblemWarning,
    ReadingsError,
    RecordError,
    UnreadableFile,
)
from lanewise.plugins.registry import Registry, default_registry, make_registry

FAULTY_FILES = 1
WRONG_CALL = 2
PATIENCE = 1.0  # seconds of work before a bar is shown

Without = Annotated[
    list[str] | None,
    typer.Option(
        "--without-plugin",
        metavar="NAME",
        help="Switch a plugin off, by the name of its distribution, or one format or style; may be repeated.",
    ),
]

StyleOption = Annotated[
    list[str] | None,
    typer.Option("--style-option", metavar="NAME=VALUE", help="Option of the report style; may be repeated."),
]
Codes = Annotated[
    list[str] | None,
    typer.Option(
        "--codes",
        metavar="NAME=CODES",
        help="Hazard statement codes of a component from its data sheet; may be repeated.",
    ),
]


def codes_of(given: Sequence[str] | None) -> dict[str, str]:
    """Take the hazard statement codes of components apart.

    Examples
    --------
    >>> codes_of(["ethyl acetate=H225 H319"])
    {'ethyl acetate': 'H225 H319'}
    """
    return {name: str(text) for name, text in settings(given, "--codes", "'ethanol=H225'").items()}


def settings(given: Sequence[str] | None, flag: str, example: str = "division=0.5") -> dict[str, object]:
    """Take ``NAME=VALUE`` texts apart.

    Examples
    --------
    >>> settings(["division=0.5"], "--option")
    {'division': '0.5'}
    """
    result: dict[str, object] = {}
    for text in given or ():
        name, equals, value = text.partition("=")
        if not equals or not name.strip():
            raise typer.BadParameter(f"{flag}: wanted NAME=VALUE, given {text!r}. Write for instance {flag} {example}")
        if name.strip() in result:
            raise typer.BadParameter(f"{flag}: {name.strip()} is given twice. Keep one of the two.")
        result[name.strip()] = value
    return result


def registry_without(names: Sequence[str] | None) -> Registry:
    """Give the formats and styles in use; those of the process, or others where plugins are switched off."""
    return make_registry(without=names) if names else default_registry()


@contextmanager
def refusals_as_exit() -> Iterator[None]:
    """Turn a refusal of the library into its text and an exit code; show each plugin warning once."""
    with warnings.catch_warnings(record=True) as caught:
        warnings.simplefilter("always", PluginProblemWarning)
        try:
            yield
        except LanewiseError as refusal:
            _say_warnings(caught)
            typer.echo(str(refusal), err=True)
            faulty = isinstance(refusal, ReadingsError | RecordError | UnreadableFile | AnalysisError)
            raise typer.Exit(FAULTY_FILES if faulty else WRONG_CALL) from None
        except OSError as refusal:
            _say_warnings(caught)
            typer.echo(f"{refusal.strerror or refusal}: {refusal.filename or ''}".rstrip(": "), err=True)
            raise typer.Exit(WRONG_CALL) from None
    _say_warnings(caught)


def _say_warnings(caught: Sequence[warnings.WarningMessage]) -> None:
    for text in dict.fromkeys(str(item.message) for item in caught):
        typer.echo(f"Note: {text}", err=True)


@contextmanager
def waiting(what: str) -> Iterator[None]:
    """Show a moving bar on a terminal's error stream once work has taken more than a second."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeElapsedColumn

    console = Console(stderr=True)
    if not console.is_terminal:
        yield
        return
    columns = (TextColumn("{task.description}"), BarColumn(), TimeElapsedColumn())
    progress = Progress(*columns, console=console, transient=True)
    progress.add_task(what, total=None)
    timer = Timer(PATIENCE, progress.start)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()
        timer.join()
        progress.stop()

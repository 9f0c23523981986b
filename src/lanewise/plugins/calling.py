"""Calling into a plugin: its function is imported when it is needed, and a fault says whose it is."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from lanewise.errors import FormatError, LanewiseError, StyleError
from lanewise.hooks import ImportFormat
from lanewise.plugins.records import AnyEntry


def function_of(entry: AnyEntry) -> Callable[..., Any]:
    """Give the reader of a format or the renderer of a style; imports its module on first use.

    Raises
    ------
    FormatError, StyleError
        If the module needs a distribution that is not installed; the text holds the line that installs it.
    Exception
        Whatever else the module raises, with a note that names the plugin.
    """
    wanted = entry.item.read if isinstance(entry.item, ImportFormat) else entry.item.render
    if not isinstance(wanted, str):
        return wanted
    from importlib import import_module

    module, _, name = wanted.partition(":")
    with blamed(entry, f"importing {wanted}"):
        function = getattr(import_module(module), name)
        if not callable(function):
            raise TypeError(f"{wanted} wanted a function, given {type(function).__name__}")
    return function  # type: ignore[no-any-return]


@contextmanager
def blamed(entry: AnyEntry, doing: str) -> Iterator[None]:
    """Say whose fault it is when the plugin's code raises.

    Errors of this library go through as they are. A missing distribution that the format or style declares
    becomes one of them, with the line that installs it. Every other exception keeps its type and gets a note.

    Parameters
    ----------
    entry : Entry
        Whose code runs inside.
    doing : str
        What it does: ``"reading 'bench-1.csv'"``.
    """
    try:
        yield
    except LanewiseError:
        raise
    except Exception as fault:
        missing = _missing(entry.item.needs) if isinstance(fault, ImportError) else []
        if missing:
            error = FormatError if isinstance(entry.item, ImportFormat) else StyleError
            raise error(
                f"{entry.what} ({entry.provider}) needs {', '.join(missing)}, not installed here. "
                f"Install with: pip install {' '.join(missing)}"
            ) from fault
        owner = "lanewise itself" if entry.provider.built_in else f"plugin {entry.provider}"
        fault.add_note(f"raised by {entry.what} of {owner} while {doing}; a fault of the plugin, not of your call")
        raise


def _missing(needs: Sequence[str]) -> list[str]:
    from importlib.metadata import PackageNotFoundError, distribution

    missing = []
    for need in needs:
        name = re.split(r"[\s<>=!~;\[]", need, maxsplit=1)[0]
        try:
            distribution(name)
        except PackageNotFoundError:
            missing.append(need)
    return missing

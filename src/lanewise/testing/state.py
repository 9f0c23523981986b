"""The global state of a process: what one part of a program can change under the feet of all others."""

from __future__ import annotations

import csv
import decimal
import gc
import locale
import logging
import os
import random
import socket
import sys
import time
import warnings
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the global state.

    Attributes
    ----------
    get : callable
        Gives it in a form that can be compared.
    put : callable
        Sets it as `get` gave it.
    module : str
        Module to which it belongs; looked at only where that is loaded, since looking must not load anything.
    at_import : bool
        True where loading a module may change it, which is nobody's fault.
    """

    get: Callable[[], Any]
    put: Callable[[Any], object]
    module: str = ""
    at_import: bool = False


def _modules(name: str) -> Any:
    return sys.modules[name]


def _put_filters(filters: Iterable[Any]) -> None:
    warnings.filters[:] = list(filters)  # type: ignore[index]
    with suppress(AttributeError):
        warnings._filters_mutated()  # type: ignore[attr-defined]


def _put_environment(values: Mapping[str, str]) -> None:
    for name in set(_environment()) - set(values):
        del os.environ[name]
    for name, value in values.items():
        if os.environ.get(name) != value:
            os.environ[name] = value


def _environment() -> dict[str, str]:
    """Give the environment without what the test runner itself changes from test to test."""
    return {name: value for name, value in os.environ.items() if name != "PYTEST_CURRENT_TEST"}


def _umask() -> int:
    now = os.umask(0o077)
    os.umask(now)
    return now


def _decimal_context() -> tuple[Any, ...]:
    context = decimal.getcontext()
    return context.prec, context.rounding, context.Emin, context.Emax, context.capitals, context.clamp


def _put_decimal(values: tuple[Any, ...]) -> None:
    context = decimal.getcontext()
    context.prec, context.rounding, context.Emin, context.Emax, context.capitals, context.clamp = values


def _numpy_random() -> tuple[Any, ...]:
    kind, keys, *rest = _modules("numpy").random.get_state()
    return kind, keys.tobytes(), *rest


def _put_numpy_random(values: tuple[Any, ...]) -> None:
    numpy = _modules("numpy")
    kind, keys, *rest = values
    numpy.random.set_state((kind, numpy.frombuffer(keys, dtype=numpy.uint32), *rest))


def _settings() -> dict[str, Any]:
    """Give the settings of matplotlib without a detour through its own look-up, which may load a backend."""
    held = _modules("matplotlib").rcParams
    return {name: list(value) if isinstance(value, list) else value for name, value in dict.items(held)}


def _put_settings(values: Mapping[str, Any]) -> None:
    dict.update(_modules("matplotlib").rcParams, values)


PARTS: Mapping[str, Part] = {
    "locale": Part(lambda: locale.setlocale(locale.LC_ALL), lambda held: locale.setlocale(locale.LC_ALL, held)),
    "time zone": Part(lambda: time.tzname, lambda held: None),
    "working folder": Part(os.getcwd, os.chdir),
    "environment": Part(_environment, _put_environment, at_import=True),
    "mask of new files": Part(_umask, os.umask),
    "state of random": Part(random.getstate, random.setstate),
    "decimal context": Part(_decimal_context, _put_decimal),
    "limit of csv fields": Part(csv.field_size_limit, csv.field_size_limit),
    "limit of digits in int()": Part(
        lambda: getattr(sys, "get_int_max_str_digits", int)(),
        lambda held: getattr(sys, "set_int_max_str_digits", int)(held),
    ),
    "recursion limit": Part(sys.getrecursionlimit, sys.setrecursionlimit),
    "garbage collection": Part(gc.isenabled, lambda held: gc.enable() if held else gc.disable()),
    "default time-out of sockets": Part(socket.getdefaulttimeout, socket.setdefaulttimeout),
    "standard output": Part(lambda: sys.stdout, lambda held: setattr(sys, "stdout", held)),
    "standard error": Part(lambda: sys.stderr, lambda held: setattr(sys, "stderr", held)),
    "encoding of standard output": Part(lambda: getattr(sys.stdout, "encoding", None), lambda held: None),
    "hook of uncaught errors": Part(lambda: sys.excepthook, lambda held: setattr(sys, "excepthook", held)),
    "level of the root logger": Part(lambda: logging.root.level, logging.root.setLevel),
    "logging switched off": Part(lambda: logging.root.manager.disable, logging.disable),
    "warning filters": Part(lambda: list(warnings.filters), _put_filters, at_import=True),
    "display of warnings": Part(
        lambda: warnings.showwarning, lambda held: setattr(warnings, "showwarning", held), at_import=True
    ),
    "state of numpy.random": Part(_numpy_random, _put_numpy_random, "numpy"),
    "numpy print options": Part(
        lambda: _modules("numpy").get_printoptions(),
        lambda held: _modules("numpy").set_printoptions(**held),
        "numpy",
    ),
    "numpy error state": Part(
        lambda: _modules("numpy").geterr(), lambda held: _modules("numpy").seterr(**held), "numpy"
    ),
    "matplotlib settings": Part(_settings, _put_settings, "matplotlib.rcsetup"),
    "pixel limit of pictures": Part(
        lambda: _modules("PIL.Image").MAX_IMAGE_PIXELS,
        lambda held: setattr(_modules("PIL.Image"), "MAX_IMAGE_PIXELS", held),
        "PIL.Image",
    ),
    "acceptance of cut pictures": Part(
        lambda: _modules("PIL.ImageFile").LOAD_TRUNCATED_IMAGES,
        lambda held: setattr(_modules("PIL.ImageFile"), "LOAD_TRUNCATED_IMAGES", held),
        "PIL.ImageFile",
    ),
}
"""Every part that is looked at, by the name that messages give it."""


def snapshot(*, at_import: bool = True) -> dict[str, Any]:
    """Look at the global state.

    Parameters
    ----------
    at_import : bool, optional
        False to pass over what loading a module may change.

    Returns
    -------
    dict of str to object
        What each part is now.
    """
    return {
        name: part.get()
        for name, part in PARTS.items()
        if (not part.module or part.module in sys.modules) and (at_import or not part.at_import)
    }


def restore(held: Mapping[str, Any]) -> None:
    """Set the global state as a snapshot has it, where it differs."""
    for name, value in held.items():
        if PARTS[name].get() != value:
            PARTS[name].put(value)


def changes(held: Mapping[str, Any]) -> list[str]:
    """Say what differs from a snapshot, in words.

    Examples
    --------
    >>> before = snapshot()
    >>> changes(before)
    []
    """
    found = []
    for name, before in held.items():
        now = PARTS[name].get()
        if now != before:
            found.append(f"{name} {_differing(before, now)}")
    return found


def changed_settings() -> list[str]:
    """Say which settings of matplotlib differ from those that it was loaded with, in words."""
    if "matplotlib.rcsetup" not in sys.modules:
        return []
    first, now = dict.copy(_modules("matplotlib").rcParamsOrig), _settings()
    own = {name: value for name, value in now.items() if name != "backend"}
    was = {name: list(value) if isinstance(value, list) else value for name, value in first.items()}
    return [f"matplotlib settings {_differing(was, now)}"] if any(was.get(n) != v for n, v in own.items()) else []


def _differing(before: Any, now: Any) -> str:
    if isinstance(before, dict) and isinstance(now, dict):
        names = sorted(name for name in before.keys() | now.keys() if before.get(name) != now.get(name))
        shown = ", ".join(f"{name}: {before.get(name)!r} to {now.get(name)!r}" for name in names[:3])
        return f"({shown[:200]})"
    if len(repr(before)) > 80:
        return "(changed)"
    return f"({before!r} to {now!r})"

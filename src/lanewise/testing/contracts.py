"""What a contract is made of: named checks, what each demands, why one may not apply, and messages that help."""

from __future__ import annotations

import functools
import traceback
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType, ModuleType
from typing import Any, ClassVar, Concatenate, NoReturn, ParamSpec, TypeVar
from weakref import WeakKeyDictionary

PREFIX = "test_"
WORKS = "works"
"""Stands for the check that a plugin works at all, where formats and styles share a check that comes after it."""

NOTHING: Mapping[str, Any] = MappingProxyType({})

_KEPT: WeakKeyDictionary[type, dict[str, Any]] = WeakKeyDictionary()

P = ParamSpec("P")
S = TypeVar("S", bound="Contract")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Check:
    """One check of a contract.

    Attributes
    ----------
    name : str
        Name of its method without ``test_``, as `not_applicable` takes it.
    demand : str
        What it demands, as a sentence.
    todo : str
        What to do where the demand is not met.
    essential : bool
        True where it can never be declared not applicable.
    """

    name: str
    demand: str
    todo: str
    essential: bool = False


class Unmet(Exception):
    """A demand is not met: what was wanted, what came, and what to do where that is more than the check says."""

    def __init__(self, wanted: str, given: str, todo: str = "") -> None:
        super().__init__(wanted, given, todo)
        self.wanted, self.given, self.todo = wanted, given, todo


def skip(reason: str) -> NoReturn:
    """Leave a check out, with the reason."""
    import pytest

    pytest.skip(reason)


def check(
    todo: str, *, after: Sequence[str] = (), essential: bool = False
) -> Callable[[Callable[Concatenate[S, P], None]], Callable[Concatenate[S, P], None]]:
    """Make a check of a method: its name and the first paragraph of its docstring say what it demands.

    Parameters
    ----------
    todo : str
        What to do where the demand is not met.
    after : sequence of str, optional
        Essential checks without which this one says nothing; it is skipped while one of them fails.
    essential : bool, optional
        True where it can never be declared not applicable.

    Notes
    -----
    Whatever the plugin raises in a check becomes an `AssertionError` of that check.
    """

    def decorate(method: Callable[Concatenate[S, P], None]) -> Callable[Concatenate[S, P], None]:
        demand = " ".join((method.__doc__ or "").split("\n\n")[0].split())
        made = Check(method.__name__.removeprefix(PREFIX), demand, todo, essential)

        @functools.wraps(method)
        def run(self: S, /, *args: P.args, **kwargs: P.kwargs) -> None:
            __tracebackhide__ = True
            self._leave_out(made, after)
            try:
                method(self, *args, **kwargs)
            except Unmet as fault:
                raise AssertionError(_message(self, made, fault)) from fault.__cause__
            except (Exception, SystemExit) as fault:
                came = Unmet("that nothing is raised", said(fault))
                raise AssertionError(_message(self, made, came)) from fault

        run.__dict__["check"] = made
        return run

    return decorate


def said(fault: BaseException) -> str:
    """Say what was raised, and where."""
    frames = traceback.extract_tb(fault.__traceback__)
    where = f" (raised in {Path(frames[-1].filename).name}, line {frames[-1].lineno})" if frames else ""
    text = " ".join(str(fault).split())
    return f"{type(fault).__name__}: {text[:400]}{where}"


def _message(contract: Contract, made: Check, fault: Unmet) -> str:
    return (
        f"check {made.name!r} of {contract.what} ({type(contract).__name__}): {made.demand}\n"
        f"  wanted: {fault.wanted}\n"
        f"  given:  {fault.given}\n"
        f"  to do:  {fault.todo or made.todo}"
    )


class Contract:
    """What the contracts of formats and of styles have in common.

    Attributes
    ----------
    plugin : module
        The module that the entry point names.
    not_applicable : mapping of str to str
        Checks that do not apply to this plugin, each with the reason; they are skipped with it.
    """

    plugin: ClassVar[ModuleType]
    not_applicable: ClassVar[Mapping[str, str]] = NOTHING
    _works: ClassVar[str] = "not_applicable"  # name of the check that the plugin works at all

    @classmethod
    def checks(cls) -> dict[str, Check]:
        """Give every check of this contract.

        Returns
        -------
        dict of str to Check
            By name, in the order in which they are written.
        """
        found: dict[str, Check] = {}
        for base in reversed(cls.__mro__):
            for value in vars(base).values():
                made = getattr(value, "__dict__", NOTHING).get("check")
                if isinstance(made, Check):
                    found[made.name] = made
        return found

    @property
    def what(self) -> str:
        """How messages call the thing under test."""
        return getattr(self.plugin, "__name__", "no plugin") if hasattr(self, "plugin") else "no plugin"

    @check("Give the name of a check that is listed, and a reason in words that a reader can judge.", essential=True)
    def test_not_applicable(self) -> None:
        """Every check that is declared not applicable exists and has a reason."""
        known = self.checks()
        for name, reason in self.not_applicable.items():
            if name not in known:
                from difflib import get_close_matches

                near = get_close_matches(str(name), known, n=1)
                hint = f"Did you mean {near[0]!r}? " if near else ""
                raise Unmet("names of checks", repr(name), f"{hint}The checks are: {', '.join(known)}.")
            if known[name].essential:
                raise Unmet("checks that can be left out", f"{name!r}, on which the others rest", "Keep this check.")
            if not isinstance(reason, str) or not reason.strip():
                raise Unmet(f"a reason why {name!r} does not apply", repr(reason))

    def _leave_out(self, made: Check, after: Sequence[str]) -> None:
        """Skip a check that does not apply, or that could say nothing."""
        reason = self.not_applicable.get(made.name)
        if isinstance(reason, str) and reason.strip() and not made.essential:
            skip(reason)
        for name in (self._works if one == WORKS else one for one in after):
            if self._kept(f"failing {name}", functools.partial(self._is_failing, name)):
                skip(f"nothing can be said while {PREFIX}{name} fails")

    def _is_failing(self, name: str) -> bool:
        """Whether an essential check fails."""
        try:
            getattr(self, PREFIX + name)()
        except AssertionError:
            return True
        return False

    def _kept(self, key: str, make: Callable[[], T]) -> T:
        """Give what was made before for this class of tests, or make it."""
        kept = _KEPT.setdefault(type(self), {})
        if key not in kept:
            kept[key] = make()
        result: T = kept[key]
        return result

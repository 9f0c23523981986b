"""Checks of what a plugin offers: that it loads, that loading is light and quiet, and that its options hold."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, ClassVar

from lanewise.errors import FormatError, OptionError, ReadingsError, RecordError, StyleError
from lanewise.hooks import ImportFormat
from lanewise.plugins.options import OptionInfo, describe_options
from lanewise.plugins.records import AnyEntry
from lanewise.plugins.registry import Registry
from lanewise.testing import fresh
from lanewise.testing.contracts import NOTHING, WORKS, Contract, Unmet, check, said
from lanewise.testing.guards import watched
from lanewise.testing.isolation import isolated

REFUSALS = (FormatError, ReadingsError, RecordError, StyleError)
"""What a plugin may raise over a file or report; anything else is a fault of the plugin."""

_ODD_TEXTS = ("", "?", "no-such-thing", "ü" * 300)


class Offering(Contract):
    """What formats and styles have to keep in common: the part that users meet in lists, help texts and options."""

    _kind: ClassVar[str] = "format"
    _given: Mapping[str, object] = NOTHING  # options to use it with, beside those that are tried

    @property
    def what(self) -> str:
        """How messages call the format or style under test."""
        return f"{self._kind} {self._name!r}"

    @property
    def _name(self) -> str:
        return str(getattr(self, self._kind, "not named"))

    @property
    def _registry(self) -> Registry:
        return self._kept("registry", lambda: isolated(self.plugin))

    @property
    def _entry(self) -> AnyEntry:
        return self._registry.format(self._name) if self._kind == "format" else self._registry.style(self._name)

    def _used_with(self, options: Mapping[str, object]) -> Iterator[Any]:
        """Use the format or style with some options, and give what comes; what it refuses is given as text."""
        raise NotImplementedError

    def _task(self) -> dict[str, Any]:
        """Say what a process of its own is to do with the plugin."""
        raise NotImplementedError

    @property
    def _elsewhere(self) -> dict[str, Any]:
        """What a process of its own told about the plugin; asked once."""
        return self._kept("elsewhere", lambda: fresh.ask(self.plugin, {"do": "load", **self._task()}))

    @check(
        "Return ImportFormat or ReportStyle records from a hook marked with @hookimpl; what came says which field.",
        essential=True,
    )
    def test_descriptor(self) -> None:
        """The plugin loads by itself, and offers this format or style with a title and a way to be found."""
        if not hasattr(self, "plugin"):
            raise Unmet("the module of the plugin", "none", "Write plugin = your_module in the class.")
        if not hasattr(self, self._kind):
            raise Unmet(f"the name of a {self._kind}", "none", f"Write {self._kind} = 'its-name' in the class.")
        item = self._entry.item
        if isinstance(item, ImportFormat) and not item.suffixes and item.recognise is None:
            raise Unmet("file endings or a recogniser", "neither, so that no file is ever found to be of this format")

    @check("Move imports of large packages into the function that needs them, and name the reader 'module:function'.")
    def test_light_import(self) -> None:
        """Importing the plugin's module in a fresh process loads none of the large packages."""
        heavy = self._elsewhere["heavy"]
        if heavy:
            raise Unmet("none of pandas, xarray, scipy, matplotlib, skimage, PIL, cv2", ", ".join(heavy))

    @check("Remove what prints at the top of the module, and mend what the warning is about.")
    def test_quiet_import(self) -> None:
        """Importing the plugin's module gives no warning and prints nothing."""
        told = self._elsewhere
        if told["warnings"]:
            raise Unmet("no warning", "; ".join(told["warnings"])[:400])
        if told["printed"].strip():
            raise Unmet("nothing printed", repr(told["printed"].strip()[:200]))

    @check(
        "Let the hook return its records and do nothing else; do the work in the reader or renderer.",
        after=("descriptor",),
    )
    def test_hook(self) -> None:
        """The hook only registers: it writes nothing, asks no network, and gives the same offers each time."""
        with watched() as seen:
            try:
                first, second = (self._offers(isolated(self.plugin)) for _ in range(2))
            except Exception:
                first = second = []
        if seen:
            raise Unmet("a hook that only returns records", str(seen[0]))
        if first != second:
            raise Unmet(f"the same offers at the second call: {first}", str(second))
        self._offers(isolated(self.plugin))

    @staticmethod
    def _offers(registry: Registry) -> list[tuple[object, ...]]:
        entries: list[AnyEntry] = [*registry.formats.values(), *registry.styles.values()]
        return [
            (entry.name, entry.item.title, getattr(entry.item, "suffixes", ()), entry.item.needs, entry.item.options)
            for entry in entries
        ]

    @check(
        "Declare what is allowed with choices=, minimum= and maximum=; refuse the rest with OptionError.",
        after=("descriptor", WORKS),
    )
    def test_options(self) -> None:
        """An unknown option is refused; each default and choice is taken; odd texts do no worse than be refused."""
        try:
            list(self._used_with({"no_such_option": "1"}))
        except OptionError as error:
            if "no_such_option" not in str(error):
                raise Unmet("a refusal that names the unknown option", str(error)) from None
        else:
            raise Unmet("an OptionError over an unknown option", "a result")
        for info in self._infos():
            for value in (info.default, *info.choices):
                self._try_option(info, value, must_work=True)
            odd = _ODD_TEXTS if info.kind == "text" and not info.choices else ()
            for value in (*odd, info.minimum, info.maximum):
                if value is not None:
                    self._try_option(info, value, must_work=False)

    def _infos(self) -> list[OptionInfo]:
        return describe_options(self._entry.item.options)

    def _try_option(self, info: OptionInfo, value: object, *, must_work: bool) -> None:
        wanted = f"{info.name}={value!r} to work" if must_work else f"a result or a refusal for {info.name}={value!r}"
        try:
            for _ in self._used_with({**self._given, info.name: value}):
                pass
        except OptionError as error:
            if must_work:
                raise Unmet(wanted, str(error)) from None
        except REFUSALS:
            pass
        except (Exception, SystemExit) as fault:
            raise Unmet(wanted, said(fault)) from fault

    @check(
        "Use the option, drop it, or add an example on which it acts.",
        after=("descriptor", WORKS),
    )
    def test_option_effects(self) -> None:
        """Each option changes the result for one of its values, or leads to a refusal."""
        infos = self._infos()
        if not infos:
            return
        plain = self._outcomes({})
        for info in infos:
            tried = [value for value in _other_values(info) if value != self._given.get(info.name, info.default)]
            if all(self._outcomes({info.name: value}) == plain for value in tried):
                values = ", ".join(map(repr, tried))
                raise Unmet(f"option {info.name!r} to have an effect", f"the same result for each of {values}")

    def _outcomes(self, options: Mapping[str, object]) -> list[object]:
        """Give what comes with some options, a refusal as its text; what else is raised is for another check."""
        found: list[object] = []
        try:
            found.extend(self._used_with({**self._given, **options}))
        except (Exception, SystemExit) as fault:
            found.append(str(fault))
        return found


def _other_values(info: OptionInfo) -> list[object]:
    """Give values of an option that are worth trying."""
    values: list[object] = [*info.choices]
    if info.kind == "yes or no":
        values += [True, False]
    elif info.kind == "text" and not info.choices:
        values += ["x", "2", "1"]
    elif not info.choices:
        own = info.default if isinstance(info.default, (int, float)) else 1
        values += [value for value in (info.minimum, info.maximum) if value is not None]
        values += [value for value in (own * 2 + 1, own + 1, own / 2) if _is_within(info, value)]
        if info.kind == "whole number":
            values = [int(value) for value in values if isinstance(value, (int, float)) and value == int(value)]
    return values


def _is_within(info: OptionInfo, value: float) -> bool:
    return (info.minimum is None or value >= info.minimum) and (info.maximum is None or value <= info.maximum)

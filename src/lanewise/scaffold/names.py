"""The name of a new plugin: valid, free, and fit for a distribution, a module and a format or style at once."""

from __future__ import annotations

import keyword
import re
import sys
import unicodedata
from dataclasses import dataclass

from lanewise.errors import LanewiseError
from lanewise.plugins.names import LONGEST, fault_of_name, same_form
from lanewise.plugins.registry import Registry

OWN = "lanewise-"
"""What the names of many plugins begin with; their formats and styles are named without it."""

_RESERVED = frozenset({"conftest", "setup", "tests"})  # modules that mean something else beside a pyproject.toml


@dataclass(frozen=True, slots=True)
class Names:
    """The names in one new plugin.

    Attributes
    ----------
    distribution : str
        What is installed: ``lanewise-ink-sheet``.
    module : str
        What is imported: ``lanewise_ink_sheet``.
    offer : str
        The format or style, and the entry point: ``ink-sheet``.
    title : str
        The same for people: ``Ink sheet``.
    """

    distribution: str
    module: str
    offer: str
    title: str

    @classmethod
    def of(cls, distribution: str) -> Names:
        """Derive all names from that of the distribution.

        Examples
        --------
        >>> Names.of("lanewise-ink-sheet")
        Names(distribution='lanewise-ink-sheet', module='lanewise_ink_sheet', offer='ink-sheet', title='Ink sheet')
        """
        offer = distribution.removeprefix(OWN)
        return cls(distribution, distribution.replace("-", "_"), offer, offer.replace("-", " ").capitalize())


def check_name(name: str, registry: Registry) -> Names:
    """Derive the names of a new plugin, or say what is wrong with the one given and which is nearest.

    Parameters
    ----------
    name : str
        Name of the distribution: lower-case ASCII words joined by hyphens, which is the normal form of the Python
        packaging specifications (*names and normalization*).
    registry : Registry
        The plugins that are there.

    Returns
    -------
    Names

    Raises
    ------
    LanewiseError
        If the name is not valid, if its module would hide another or be taken for tests, or if it is in use.

    Examples
    --------
    >>> from lanewise.plugins.registry import make_registry
    >>> check_name("ink-sheet", make_registry(discover=False)).module
    'ink_sheet'
    >>> check_name("Ink Sheet", make_registry(discover=False))
    Traceback (most recent call last):
    ...
    lanewise.errors.LanewiseError: name of the plugin: wanted lower-case ASCII words joined by hyphens, at most 40
    characters, given 'Ink Sheet'. Write 'ink-sheet'.
    """
    fault = _fault(name, registry)
    if fault:
        raise LanewiseError(f"name of the plugin: {fault}. Write {_nearest(name, registry)!r}.")
    return Names.of(name)


def _fault(name: str, registry: Registry) -> str:
    """Say what was wanted and given; empty where the name will do."""
    if fault := fault_of_name(name):
        return fault
    names = Names.of(name)
    if why := _fault_of_module(names.module):
        return f"wanted one whose module can be imported beside others, given {name!r}: {why}"
    if user := _user(names, registry):
        return f"wanted a new one, given {name!r}, the name of {user}"
    return ""


def _fault_of_module(module: str) -> str:
    if not module.isidentifier():
        return f"{module!r} begins with a digit"
    if keyword.iskeyword(module):
        return f"{module!r} is a keyword of Python"
    if module in sys.stdlib_module_names:
        return f"{module!r} is a module of Python itself"
    if module in _RESERVED or module.startswith("test_") or module.endswith("_test"):
        return f"a file {module}.py would be taken for tests or set-up"
    return ""


def _user(names: Names, registry: Registry) -> str:
    """Say whose name it is already; empty where it is nobody's."""
    for kind, entries in (("import format", registry.formats), ("report style", registry.styles)):
        for entry in entries.values():
            if entry.name == names.offer:
                whose = "that is built in" if entry.provider.built_in else f"of {entry.provider}"
                return f"the {kind} {entry.name!r} {whose}"
    for plugin in registry.plugins:
        if names.distribution == plugin.distribution or names.offer == same_form(plugin.name):
            return f"the plugin {plugin.title}"
    for out in registry.left_out:
        if out.name == names.offer:
            return f"the {out.kind} {out.name!r} of {out.provider}, which is not in use"
    return _installed(names)


def _installed(names: Names) -> str:
    """Name the package or module that is there, though it is no plugin; empty where there is none."""
    from importlib.metadata import PackageNotFoundError, version
    from importlib.util import find_spec

    try:
        return f"the installed package {names.distribution} {version(names.distribution)}"
    except PackageNotFoundError:
        return f"the installed module {names.module!r}" if find_spec(names.module) else ""


def _nearest(name: str, registry: Registry) -> str:
    """Give the nearest name that will do."""
    plain = unicodedata.normalize("NFKD", str(name)).encode("ascii", "ignore").decode().lower()
    near = "-".join(re.findall("[a-z0-9]+", plain)) or "ink-sheet"
    own = near.removeprefix(OWN)
    tries = (near, f"{OWN}{own}", f"my-{own}", *(f"my-{own[: LONGEST - 6]}-{number}" for number in range(2, 100)))
    fit = (trial[:LONGEST].rstrip("-") for trial in tries)
    return next(trial for trial in fit if not _fault(trial, registry))

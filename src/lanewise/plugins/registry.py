"""The registry: every format and style in use, who provides it, and what was left out and why."""

from __future__ import annotations

import threading
import warnings
from collections.abc import Callable, Iterable, Mapping, Sequence
from types import MappingProxyType

from lanewise.errors import AmbiguousFormat, LanewiseError, PluginProblemWarning, StyleError, UnknownFormat
from lanewise.hooks import ImportFormat, ReportStyle
from lanewise.plugins import discovery
from lanewise.plugins.discovery import Candidate
from lanewise.plugins.finding import find
from lanewise.plugins.gathering import Contents, gather
from lanewise.plugins.patience import in_plugin
from lanewise.plugins.records import Entry, LeftOut, Plugin, PluginProblem
from lanewise.plugins.switches import Switches, strict_by_environment

_CIRCLE = "a plugin asked for formats or styles while plugins are being loaded"


class Registry:
    """Import formats and report styles in use; made with `make_registry`.

    Nothing is looked for or loaded before one of its attributes is first asked for, and then once.
    A plugin with a fault is left out, and one `PluginProblemWarning` names it; the rest works.

    Parameters
    ----------
    candidates : callable
        Gives the plugins to load; called once.
    without : sequence of str
        Names to switch off.
    strict : bool or None
        Whether the first fault of a plugin is raised as an error; None for what the environment says.
    """

    def __init__(
        self, candidates: Callable[[], list[Candidate]], without: Sequence[str] = (), strict: bool | None = None
    ) -> None:
        self._candidates = candidates
        self._without = tuple(without)
        self._strict = strict
        self._lock = threading.RLock()
        self._loading = False
        self._contents: Contents | None = None
        self._later: dict[str, PluginProblem] = {}
        self._given_up: dict[str, str] = {}

    @property
    def formats(self) -> Mapping[str, Entry[ImportFormat]]:
        """Import formats by full name, such as ``lanewise:marks-table``, in alphabetical order."""
        return MappingProxyType(self._loaded().formats)

    @property
    def styles(self) -> Mapping[str, Entry[ReportStyle]]:
        """Report styles by full name, in alphabetical order."""
        return MappingProxyType(self._loaded().styles)

    @property
    def plugins(self) -> tuple[Plugin, ...]:
        """What became of each plugin, those that are off or broken included."""
        return self._loaded().plugins

    @property
    def problems(self) -> tuple[PluginProblem, ...]:
        """Everything that is wrong with plugins, also what was noticed after loading."""
        contents = self._loaded()
        return (*contents.problems, *self._later.values())

    @property
    def left_out(self) -> tuple[LeftOut, ...]:
        """Names of formats and styles that are known but not in use."""
        return self._loaded().left_out

    def format(self, name: str) -> Entry[ImportFormat]:
        """Find an import format by its name or by ``distribution:name``.

        Raises
        ------
        UnknownFormat
            If there is none; the text names the nearest one, and says so where the name belongs to a plugin that is
            left out.
        AmbiguousFormat
            If several plugins offer one of that name.
        """
        return find(self._loaded().formats, name, "format", self.plugins, self.left_out, UnknownFormat, AmbiguousFormat)

    def style(self, name: str) -> Entry[ReportStyle]:
        """Find a report style by its name or by ``distribution:name``.

        Raises
        ------
        StyleError
            If there is none, or if several plugins offer one of that name.
        """
        return find(self._loaded().styles, name, "style", self.plugins, self.left_out, StyleError, StyleError)

    def given_up(self, full_name: str) -> str:
        """Say why a format is not asked about files any more; empty where it is."""
        return self._given_up.get(full_name, "")

    def give_up(self, full_name: str, reason: str) -> None:
        """Ask a format about no further file; it can still be asked for by name."""
        self._given_up[full_name] = reason

    def report(self, problem: PluginProblem, about: str) -> None:
        """Take in a problem that was noticed after loading; what is about the same thing is said once.

        Raises
        ------
        PluginProblemWarning
            As an error, where the registry is strict.
        """
        if self.strict:
            raise PluginProblemWarning(problem.text)
        with self._lock:
            new = about not in self._later
            self._later.setdefault(about, problem)
        if new:
            warnings.warn(problem.text, PluginProblemWarning, stacklevel=3)

    @property
    def strict(self) -> bool:
        """Whether the first fault of a plugin is raised as an error."""
        return strict_by_environment() if self._strict is None else self._strict

    def _loaded(self) -> Contents:
        if self._contents is not None:
            return self._contents
        if self._loading and in_plugin():  # it would wait for itself
            raise LanewiseError(_CIRCLE)
        with self._lock:
            if self._contents is None:
                if self._loading:
                    raise LanewiseError(_CIRCLE)
                self._loading = True
                try:
                    contents = gather(self._candidates(), Switches.read(self._without), self.strict)
                finally:
                    self._loading = False
                self._contents = contents
                for problem in contents.problems:
                    warnings.warn(problem.text, PluginProblemWarning, stacklevel=3)
            return self._contents


def make_registry(
    *,
    built_in: Sequence[str] = discovery.BUILT_IN,
    discover: bool = True,
    plugins: Mapping[str, object] | None = None,
    without: Iterable[str] = (),
    strict: bool | None = None,
) -> Registry:
    """Make a registry; nothing is looked for before it is first asked.

    Parameters
    ----------
    built_in : sequence of str, optional
        Modules of the library's own formats and styles; empty for none.
    discover : bool, optional
        Whether to look for installed plugins.
    plugins : mapping of name to object, optional
        Further plugins: modules or other objects that carry hook implementations.
    without : iterable of str, optional
        Names to switch off, beside those in ``LANEWISE_WITHOUT_PLUGINS``: of a distribution, an entry point, a
        format or a style. Where a whole plugin is named, none of its code runs.
    strict : bool, optional
        True to raise the first fault of a plugin as an error, as ``LANEWISE_STRICT_PLUGINS=1`` does.

    Returns
    -------
    Registry

    Examples
    --------
    >>> registry = make_registry(built_in=(), discover=False)
    >>> dict(registry.formats)
    {}
    """
    if isinstance(without, str):
        raise TypeError(f"without wanted a sequence of names, given the text {without!r}; write without=({without!r},)")
    handed = dict(plugins or {})

    def candidates() -> list[Candidate]:
        found = [*discovery.built_in(built_in), *discovery.handed_over(handed)]
        return [*found, *discovery.installed()] if discover else found

    return Registry(candidates, tuple(without), strict)


_default: Registry | None = None
_default_lock = threading.Lock()


def default_registry() -> Registry:
    """Give the registry of this process: built-ins and installed plugins, looked for once."""
    global _default
    with _default_lock:
        if _default is None:
            _default = make_registry()
        return _default


def refresh() -> Registry:
    """Look for plugins anew from now on, for instance after one was installed in a running notebook.

    Modules that Python imported before stay as they are: a plugin that was *changed* needs a new process.
    """
    global _default
    from importlib import invalidate_caches

    invalidate_caches()
    with _default_lock:
        _default = make_registry()
        return _default

"""Loading one plugin: import, registration with pluggy, its two lists; every fault with its stage."""

from __future__ import annotations

import inspect
import time
import traceback
import warnings
from collections.abc import Sequence
from dataclasses import dataclass
from functools import partial
from types import ModuleType

import pluggy

import lanewise.hooks
from lanewise.errors import OutdatedPluginWarning
from lanewise.hooks import PROJECT, ImportFormat, ReportStyle
from lanewise.plugins.checking import Fault, checked_offers
from lanewise.plugins.discovery import Candidate
from lanewise.plugins.names import nearest, one_line
from lanewise.plugins.patience import PATIENCE, OutOfPatience, patience, within
from lanewise.plugins.records import Stage

FORMATS = "lanewise_import_formats"
STYLES = "lanewise_report_styles"
HOOKS = (FORMATS, STYLES)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What came out of loading one plugin.

    Attributes
    ----------
    candidate : Candidate
    formats, styles : tuple
        What it offers; where there is a fault, what was seen of it before.
    stage : str
        How far it came.
    reason : str
        The fault; empty where there is none.
    newer : int or None
        Level of the plugin interface that it asks for, where the fault is that this library has not got there yet.
    exception : BaseException or None
        What its code raised.
    seconds : float
        Wall time. [s]
    outdated : tuple of str
        What it uses that a later version of the library drops.
    """

    candidate: Candidate
    formats: tuple[ImportFormat, ...]
    styles: tuple[ReportStyle, ...]
    stage: Stage
    reason: str
    newer: int | None
    exception: BaseException | None
    seconds: float
    outdated: tuple[str, ...] = ()

    @property
    def traceback(self) -> str:
        """The traceback of `exception` as text."""
        return "".join(traceback.format_exception(self.exception)) if self.exception else ""


def make_manager(specifications: ModuleType = lanewise.hooks) -> pluggy.PluginManager:
    """Make a plugin manager that knows the hooks of the library and no plugin."""
    manager = pluggy.PluginManager(PROJECT)
    manager.add_hookspecs(specifications)
    return manager


def load(manager: pluggy.PluginManager, candidate: Candidate) -> Loaded:
    """Load one plugin; a fault of its own never gets out of here.

    Parameters
    ----------
    manager : pluggy.PluginManager
        From `make_manager`. A plugin with a fault is not left in it.
    candidate : Candidate
        What to load.
    """
    begin = time.perf_counter()
    stage: Stage = "import"
    formats: list[ImportFormat] = []
    styles: list[ReportStyle] = []
    reason = ""
    newer: int | None = None
    exception: BaseException | None = None
    plugin = None
    outdated: tuple[str, ...] = ()
    seconds = 0.0 if candidate.provider.built_in else patience()
    try:
        plugin = within(seconds, candidate.load)
        stage = "register"
        outdated = _register(manager, plugin, candidate)
        stage = "list"
        formats = checked_offers(within(seconds, partial(_ask, manager, plugin, FORMATS)), ImportFormat, FORMATS)
        styles = checked_offers(within(seconds, partial(_ask, manager, plugin, STYLES)), ReportStyle, STYLES)
    except Fault as fault:
        reason, newer = str(fault), fault.newer
    except OutOfPatience as fault:
        reason = f"it {fault} ({PATIENCE} sets how long to wait)"
    except (Exception, SystemExit) as fault:  # SystemExit: a module that calls exit() when it is imported
        reason, exception = one_line(f"{type(fault).__name__}: {fault}"), fault
    if reason and plugin is not None and manager.is_registered(plugin):
        manager.unregister(plugin)
    took = time.perf_counter() - begin
    return Loaded(candidate, tuple(formats), tuple(styles), stage, reason, newer, exception, took, outdated)


def _register(manager: pluggy.PluginManager, plugin: object, candidate: Candidate) -> tuple[str, ...]:
    """Register a plugin with pluggy, and give what it uses that is on its way out."""
    if ":" in candidate.provider.module and not isinstance(plugin, ModuleType):
        raise Fault(f"its entry point wanted a module, given {candidate.provider.module!r}")
    other = manager.get_name(plugin)
    if other is not None:
        raise Fault(f"its module {candidate.provider.module} is in use as plugin {other} already")
    try:
        with warnings.catch_warnings(record=True) as caught:
            warnings.simplefilter("always", OutdatedPluginWarning)
            manager.register(plugin, name=f"{candidate.provider.distribution}:{candidate.provider.plugin}")
        manager.check_pending()
    except pluggy.PluginValidationError as fault:
        unknown = [caller.name for caller in manager.get_hookcallers(plugin) or () if not caller.has_spec()]
        if unknown:
            raise Fault(
                f"it implements a hook {unknown[0]!r}, which does not exist.{nearest(unknown[0], HOOKS)}"
            ) from None
        raise Fault(one_line(fault)) from fault
    callers = manager.get_hookcallers(plugin) or []
    for caller in callers:
        if any(impl.plugin is plugin and (impl.wrapper or impl.hookwrapper) for impl in caller.get_hookimpls()):
            raise Fault(f"its {caller.name} is a wrapper, which could hide what others offer; register without wrapper")
    names = {caller.name for caller in callers}
    unmarked = [name for name in HOOKS if name not in names and _is_own(plugin, name)]
    if unmarked:
        raise Fault(f"its function {unmarked[0]} is not marked; write @hookimpl above it")
    if not names.intersection(HOOKS):
        raise Fault(f"it implements neither {FORMATS} nor {STYLES}")
    return tuple(str(one.message) for one in caught if issubclass(one.category, OutdatedPluginWarning))


def _is_own(plugin: object, name: str) -> bool:
    """Whether a plugin has something of this name that is not our specification, imported with a star."""
    found = inspect.getattr_static(plugin, name, None)
    return found is not None and found is not getattr(lanewise.hooks, name)


def _ask(manager: pluggy.PluginManager, plugin: object, hook: str) -> Sequence[object] | object:
    """Call this plugin's implementations of a hook, and nobody else's."""
    answers = [impl.function() for impl in getattr(manager.hook, hook).get_hookimpls() if impl.plugin is plugin]
    if len(answers) > 1:
        raise Fault(f"it implements {hook} {len(answers)} times; keep one")
    return answers[0] if answers else []

"""Putting the loaded plugins together: what is in use, what is left out, who clashes with whom."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from lanewise.errors import PluginProblemWarning
from lanewise.hooks import ImportFormat, ReportStyle
from lanewise.plugins.discovery import OWN, Candidate
from lanewise.plugins.loading import Loaded, load, make_manager
from lanewise.plugins.names import nearest
from lanewise.plugins.records import AnyEntry, Entry, LeftOut, Offer, Plugin, PluginProblem, Provider, Stage, State
from lanewise.plugins.switches import STRICT, WITHOUT, Switches


@dataclass(frozen=True, slots=True)
class Contents:
    """What a registry holds after loading."""

    formats: dict[str, Entry[ImportFormat]]
    styles: dict[str, Entry[ReportStyle]]
    plugins: tuple[Plugin, ...]
    problems: tuple[PluginProblem, ...]
    left_out: tuple[LeftOut, ...]


def gather(candidates: Sequence[Candidate], switches: Switches, strict: bool) -> Contents:
    """Load all candidates and put together what they offer.

    Parameters
    ----------
    candidates : sequence of Candidate
        The library's own come first.
    switches : Switches
        What is switched off.
    strict : bool
        Whether the first problem is raised.

    Raises
    ------
    PluginProblemWarning
        As an error, where `strict` and a plugin has a fault; what the plugin raised is its cause.
    """
    work = _Gathering(switches, strict)
    for candidate in candidates:
        work.add(candidate)
    work.report_clashes()
    work.report_unmet()
    return Contents(
        {name: work.formats[name] for name in sorted(work.formats)},
        {name: work.styles[name] for name in sorted(work.styles)},
        tuple(work.plugins),
        tuple(work.problems),
        tuple(work.left_out),
    )


class _Gathering:
    """The state of `gather` while it runs."""

    def __init__(self, switches: Switches, strict: bool) -> None:
        self.manager = make_manager()
        self.switches = switches
        self.strict = strict
        self.formats: dict[str, Entry[ImportFormat]] = {}
        self.styles: dict[str, Entry[ReportStyle]] = {}
        self.plugins: list[Plugin] = []
        self.problems: list[PluginProblem] = []
        self.left_out: list[LeftOut] = []

    def add(self, candidate: Candidate) -> None:
        """Take in one plugin, or leave it out."""
        provider = candidate.provider
        if off := self.switches.plugin(provider):
            self.plugins.append(_record(provider, "off", off))
            return
        if candidate.refused:
            self.problem(provider, "find", candidate.refused, left_out=True)
            self.plugins.append(_record(provider, "broken", candidate.refused))
            return
        loaded = load(self.manager, candidate)
        for text in loaded.outdated:
            self.problem(provider, "register", f"plugin {provider.title} will stop working: {text}")
        off_formats = self.switched_off(loaded.formats, provider)
        off_styles = self.switched_off(loaded.styles, provider)
        formats = {
            f"{provider.distribution}:{f.name}": Entry(f, provider) for f in loaded.formats if f.name not in off_formats
        }
        styles = {
            f"{provider.distribution}:{s.name}": Entry(s, provider) for s in loaded.styles if s.name not in off_styles
        }
        reason = loaded.reason or self.taken(self.formats, formats) or self.taken(self.styles, styles)
        if reason:
            stage: Stage = loaded.stage if loaded.reason else "names"
            self.problem(provider, stage, reason, left_out=True, loaded=loaded)
            why = f"was left out: {reason}"
            self.left_out += [LeftOut("format", entry.name, provider, why) for entry in formats.values()]
            self.left_out += [LeftOut("style", entry.name, provider, why) for entry in styles.values()]
            formats, styles = {}, {}
        self.formats |= formats
        self.styles |= styles
        for kind, off_names in (("format", off_formats), ("style", off_styles)):
            self.left_out += [LeftOut(_kind(kind), name, provider, why) for name, why in off_names.items()]
        partly = "; ".join(f"{name} {why}" for name, why in {**off_formats, **off_styles}.items())
        state: State = ("newer-api" if loaded.newer else "broken") if reason else "ok"
        self.plugins.append(_record(provider, state, reason or partly, formats.values(), styles.values(), loaded))

    def entries(self) -> list[AnyEntry]:
        """Everything in use."""
        return [*self.formats.values(), *self.styles.values()]

    def switched_off(self, offers: Iterable[ImportFormat | ReportStyle], provider: Provider) -> dict[str, str]:
        """Give the offers that are switched off, each with how."""
        said = {offer.name: self.switches.offer(provider, offer.name) for offer in offers}
        return {name: how for name, how in said.items() if how}

    def taken(self, present: dict[str, Entry[Offer]], new: dict[str, Entry[Offer]]) -> str:
        """Say which new name is built in, or used by the same distribution, already; empty where none is."""
        for full_name, entry in new.items():
            if full_name in present:
                return f"its {entry.what} is offered by entry point {present[full_name].provider.plugin!r} already"
            if f"{OWN}:{entry.name}" in present:
                return f"its {entry.what} has the name of a built-in one; choose another name"
        return ""

    def problem(
        self,
        provider: Provider | None,
        stage: Stage,
        reason: str,
        left_out: bool = False,
        loaded: Loaded | None = None,
    ) -> None:
        """Note a problem, or raise it where the registry is strict."""
        text = _left_out_text(provider, reason) if provider and left_out else reason
        if self.strict:
            raise PluginProblemWarning(text) from (loaded.exception if loaded else None)
        self.problems.append(PluginProblem(provider, stage, reason, text, loaded.traceback if loaded else ""))

    def report_clashes(self) -> None:
        """Name every two plugins that offer the same short name; both stay, under their full names."""
        by_name: dict[str, list[AnyEntry]] = defaultdict(list)
        for entry in self.entries():
            by_name[entry.what].append(entry)
        for what, clashing in by_name.items():
            if len(clashing) > 1:
                who = " and by ".join(str(entry.provider) for entry in clashing)
                full = " or ".join(repr(entry.full_name) for entry in clashing)
                self.problem(
                    None,
                    "names",
                    f"{what} is offered by {who}. Say which one with {full}, or switch one plugin off "
                    f"with {WITHOUT}={clashing[0].provider.distribution}.",
                )

    def report_unmet(self) -> None:
        """Name what was switched off but is not there."""
        known = {name for entry in self.entries() for name in (entry.name, entry.full_name)}
        known |= {name for plugin in self.plugins for name in (plugin.distribution, plugin.name)}
        for name in self.switches.unmet:
            self.problem(
                None,
                "switch off",
                f"{self.switches.said[name]} switches off {name!r}, which is no plugin, format or style here."
                f"{nearest(name, known)}",
            )


def _left_out_text(provider: Provider, reason: str) -> str:
    if provider.built_in:
        return (
            f"the built-in plugin {provider.plugin} ({provider.module}) was left out: {reason}. This is a fault of "
            f"the library or its installation. See where it happens with {STRICT}=1."
        )
    remove = f", remove it with 'pip uninstall {provider.distribution}'" if provider.version else ""
    return (
        f"plugin {provider.title} was left out: {reason.rstrip('.')}. The rest of lanewise works. "
        f"Switch it off with {WITHOUT}={provider.distribution}{remove}, or see where it happens with {STRICT}=1."
    )


def _kind(kind: str) -> Literal["format", "style"]:
    return "format" if kind == "format" else "style"


def _level(loaded: Loaded) -> int | None:
    levels = [offer.api for offer in loaded.formats] + [style.api for style in loaded.styles]
    return loaded.newer or max(levels, default=None)


def _record(
    provider: Provider,
    state: State,
    reason: str,
    formats: Iterable[Entry[ImportFormat]] = (),
    styles: Iterable[Entry[ReportStyle]] = (),
    loaded: Loaded | None = None,
) -> Plugin:
    return Plugin(
        name=provider.plugin,
        distribution=provider.distribution,
        version=provider.version,
        module=provider.module,
        state=state,
        reason=reason,
        formats=tuple(sorted(entry.name for entry in formats)),
        styles=tuple(sorted(entry.name for entry in styles)),
        api=_level(loaded) if loaded else None,
        seconds=loaded.seconds if loaded else 0.0,
    )

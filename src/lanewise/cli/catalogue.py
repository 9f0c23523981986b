"""Lists of what is installed, as lines of text or as JSON."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import asdict
from pathlib import Path

from lanewise.files.reading import detect
from lanewise.plugins.options import OptionInfo, describe_options
from lanewise.plugins.records import AnyEntry, Plugin
from lanewise.plugins.registry import Registry

_STATES = {
    "ok": "in use",
    "off": "switched off",
    "broken": "left out",
    "newer-api": "left out, written for a later lanewise",
}


def format_lines(registry: Registry) -> list[str]:
    """List the import formats, each with its endings, where it comes from and its options."""
    entries = registry.formats.values()
    return [line for entry in entries for line in _lines(entry, ", ".join(entry.item.suffixes))]


def style_lines(registry: Registry) -> list[str]:
    """List the report styles in the same way."""
    entries = registry.styles.values()
    return [line for entry in entries for line in _lines(entry, entry.item.suffix)]


def explain_lines(path: Path, registry: Registry) -> list[str]:
    """Say what each import format makes of a file, the best claim first."""
    return [str(answer) for answer in detect(path, registry=registry)]


def plugin_lines(registry: Registry) -> list[str]:
    """List the plugins: distribution, version, name, state, hook API, formats, styles, and why one is not in use."""
    return [line for plugin in registry.plugins for line in _plugin(plugin)]


def plugins_as_json(registry: Registry) -> str:
    """Give the same list as JSON, one object a plugin."""
    return json.dumps([asdict(plugin) for plugin in registry.plugins], indent=1)


def option_sections(registry: Registry, *, styles: bool) -> dict[str, list[tuple[str, str]]]:
    """Give the options of formats, and of styles where asked, for a help text: name and meaning under a heading."""
    groups: list[tuple[str, Iterable[AnyEntry]]] = [("--option", registry.formats.values())]
    groups += [("--style-option", registry.styles.values())] if styles else []
    sections = {
        f"{flag} of {entry.what}": [(info.name, _meaning(info)) for info in describe_options(entry.item.options)]
        for flag, entries in groups
        for entry in entries
    }
    return {heading: rows for heading, rows in sections.items() if rows}


def _meaning(info: OptionInfo) -> str:
    default = {True: "yes", False: "no"}[info.default] if isinstance(info.default, bool) else info.default
    usual = "" if default in (None, "") else f"  [default: {default}]"
    return f"{info.help[0].upper()}{info.help[1:]}: {info.wanted}.{usual}"


def _plugin(plugin: Plugin) -> Iterator[str]:
    yield f"{plugin.distribution} {plugin.version or '(no version)'}, plugin {plugin.name}: {_STATES[plugin.state]}"
    api = "hook API not known, since it was not loaded" if plugin.api is None else f"hook API {plugin.api}"
    yield f"    {api}; formats: {_named(plugin.formats)}; styles: {_named(plugin.styles)}"
    if plugin.reason:
        yield f"    {plugin.reason}"


def _named(names: tuple[str, ...]) -> str:
    return ", ".join(names) or "none"


def _lines(entry: AnyEntry, endings: str) -> Iterator[str]:
    yield f"{entry.name}  ({endings})  {entry.item.title}"
    yield f"    {entry.provider}" if entry.provider.built_in else f"    from {entry.provider}"
    for info in describe_options(entry.item.options):
        yield f"    option {info}"

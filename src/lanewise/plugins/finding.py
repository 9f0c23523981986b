"""Finding one format or style by name, and a helpful refusal where there is none."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from lanewise.errors import LanewiseError
from lanewise.plugins.names import nearest, same_form
from lanewise.plugins.records import Entry, LeftOut, Offer, Plugin


def find(
    present: Mapping[str, Entry[Offer]],
    name: str,
    kind: str,
    plugins: Sequence[Plugin],
    left_out: Sequence[LeftOut],
    unknown: type[LanewiseError],
    ambiguous: type[LanewiseError],
) -> Entry[Offer]:
    """Find an entry by its short name or by ``distribution:name``.

    Parameters
    ----------
    present : mapping of full name to Entry
        What is in use.
    name : str
        What was asked for.
    kind : {"format", "style"}
        For the messages.
    plugins, left_out
        What is known about plugins and names that are not in use.
    unknown, ambiguous : type of error
        What to raise where there is none, or more than one.
    """
    if not isinstance(name, str):
        raise unknown(f"a {kind} is asked for by its name, given {name!r}. {_list(present, kind)}")
    distribution, colon, short = name.rpartition(":")
    if colon:
        entry = present.get(f"{same_form(distribution)}:{short}")
        found = [entry] if entry else []
    else:
        found = [entry for entry in present.values() if entry.name == name]
    if len(found) == 1:
        return found[0]
    if found:
        providers = " and by ".join(str(entry.provider) for entry in found)
        calls = " or ".join(f"{kind}={entry.full_name!r}" for entry in found)
        raise ambiguous(f"{kind} {name!r} is offered by {providers}. Say which one: {calls}.")
    raise unknown(_refusal(present, name, kind, plugins, left_out))


def _refusal(
    present: Mapping[str, Entry[Offer]], name: str, kind: str, plugins: Sequence[Plugin], left_out: Sequence[LeftOut]
) -> str:
    distribution, _, short = name.rpartition(":")
    for gone in left_out:
        if gone.kind == kind and gone.name == short and distribution in ("", gone.provider.distribution):
            return f"{kind} {short!r} belongs to {gone.provider}, but it {gone.reason}."
    away = [plugin for plugin in plugins if plugin.state != "ok"]
    for plugin in away:
        if same_form(distribution or short) in (plugin.distribution, same_form(plugin.name)):
            return f"there is no {kind} {name!r} in use: plugin {_named(plugin)}."
    hint = nearest(short, {entry.name for entry in present.values()})
    out = f" Not in use, and so not asked: {'; '.join(map(_named, away))}." if away else ""
    imported = "import format" if kind == "format" else "report style"
    return f"there is no {imported} called {name!r}.{hint} {_list(present, kind)}{out}"


def _named(plugin: Plugin) -> str:
    how = plugin.reason if plugin.reason.startswith("is switched off") else f"was left out: {plugin.reason}"
    return f"{plugin.title} {how}"


def _list(present: Mapping[str, Entry[Offer]], kind: str) -> str:
    if not present:
        return f"No {kind} is in use at all."
    names = sorted(entry.name for entry in present.values())
    return f"Installed {kind}s: {', '.join(dict.fromkeys(names))}."

"""Where plugins come from: the library's own, installed ones by entry point, objects that are handed over."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from lanewise.plugins.names import same_form
from lanewise.plugins.records import Provider

if TYPE_CHECKING:
    from importlib.metadata import Distribution, EntryPoint

GROUP = "lanewise.plugins"
BUILT_IN = ("lanewise.formats.builtin", "lanewise.styles.builtin")
OWN = "lanewise"


@dataclass(frozen=True, slots=True)
class Candidate:
    """A plugin that was found but of which nothing has run yet.

    Attributes
    ----------
    provider : Provider
    load : callable
        Gives the plugin object; this is where its code runs first.
    refused : str
        Why it must not be loaded; empty where it may.
    """

    provider: Provider
    load: Callable[[], object]
    refused: str = ""


def built_in(modules: Sequence[str]) -> list[Candidate]:
    """Give the library's own plugins, named as text so that nothing is imported here."""
    if not modules:
        return []
    from importlib.metadata import PackageNotFoundError, version

    try:
        own_version = version(OWN)
    except PackageNotFoundError:  # run from a source tree that is not installed
        own_version = ""
    found = []
    for module in modules:
        name = "-".join(module.split(".")[1:])
        provider = Provider(name, OWN, own_version, module, built_in=True)
        found.append(Candidate(provider, _importer(module)))
    return found


def handed_over(plugins: Mapping[str, object]) -> list[Candidate]:
    """Give plugins that a program hands over as objects, by the name it gives them."""
    return [
        Candidate(
            Provider(name, same_form(name), "", getattr(plugin, "__name__", type(plugin).__name__)),
            lambda plugin=plugin: plugin,  # type: ignore[misc]
        )
        for name, plugin in sorted(plugins.items())
    ]


def installed() -> list[Candidate]:
    """Find installed plugins by their entry points; runs none of their code.

    Returns
    -------
    list of Candidate
        By name of distribution and entry point. Of the same entry of the same distribution, met twice, one is kept.

    Notes
    -----
    Only entry points are read for all distributions, and name and version for those that have one of ours:
    reading the metadata of every distribution takes about six times as long.
    A distribution that lies in the working folder is refused: whoever opens a folder of other people's
    files would run their code.
    """
    found: dict[tuple[str, str, str], Candidate] = {}
    for entry_point in _entry_points():
        name, version, refused = _distribution(entry_point)
        provider = Provider(entry_point.name, name, version, entry_point.value)
        candidate = Candidate(provider, entry_point.load, refused)
        found.setdefault((name, entry_point.name, entry_point.value), candidate)
    return [found[key] for key in sorted(found)]


def _entry_points() -> Iterator[EntryPoint]:
    import importlib.metadata

    try:
        yield from importlib.metadata.entry_points(group=GROUP)
        return
    except Exception:
        pass
    seen = set()
    for distribution in importlib.metadata.distributions():
        try:
            mine = distribution.entry_points.select(group=GROUP)
            name = same_form(distribution.name) if mine else ""
        except Exception:
            continue
        if name not in seen:
            yield from mine
        if mine:
            seen.add(name)


def _distribution(entry_point: EntryPoint) -> tuple[str, str, str]:
    """Give name, version and the reason why it is refused."""
    distribution = entry_point.dist
    if distribution is None:
        return same_form(entry_point.name), "", ""
    try:
        metadata = distribution.metadata
        stated = "Name" in metadata and "Version" in metadata
    except Exception:  # the file is missing or damaged; how that shows differs between versions of Python
        stated = False
    if not stated:
        return same_form(entry_point.name), "", "the metadata of its distribution cannot be read; install it again"
    name, version = same_form(metadata["Name"]), metadata["Version"]
    if not _in_working_folder(distribution) or _is_elsewhere(name):
        return name, version, ""
    return name, version, "it lies in the working folder, from which no plugin is loaded"


def _in_working_folder(distribution: Distribution) -> bool:
    from pathlib import Path

    try:
        return Path(str(distribution.locate_file(""))).resolve() == Path.cwd()
    except OSError:
        return False


def _is_elsewhere(name: str) -> bool:
    """Whether a distribution is installed properly too, as when its author works in its source folder."""
    from importlib.metadata import distributions

    return any(not _in_working_folder(distribution) for distribution in distributions(name=name))


def _importer(module: str) -> Callable[[], object]:
    def load() -> object:
        from importlib import import_module

        return import_module(module)

    return load

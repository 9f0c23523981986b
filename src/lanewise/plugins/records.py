"""What the host remembers: who provides something, what became of each plugin, and what went wrong."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Generic, Literal, TypeAlias, TypeVar

from lanewise.hooks import ImportFormat, ReportStyle

State: TypeAlias = Literal["ok", "off", "broken", "newer-api"]
Stage: TypeAlias = Literal["find", "import", "register", "list", "names", "switch off", "recognise"]

Offer = TypeVar("Offer", ImportFormat, ReportStyle)


def titled(plugin: str, distribution: str, version: str) -> str:
    """Name a plugin by its entry point and distribution; once where both have one name.

    Examples
    --------
    >>> titled("photo", "lanewise-photo", "0.3"), titled("my-lab", "my-lab", "")
    ('photo of lanewise-photo 0.3', 'my-lab')
    """
    of = "" if plugin == distribution else f"{plugin} of "
    return f"{of}{distribution} {version}".strip()


@dataclass(frozen=True, slots=True)
class Provider:
    """Who provides something.

    Attributes
    ----------
    plugin : str
        Name of the entry point.
    distribution : str
        Name of the installed distribution, lower case with hyphens.
    version : str
        Its version; empty for an object that was handed over in the program.
    module : str
        The module behind the entry point.
    built_in : bool
        True for the library's own formats and styles.
    """

    plugin: str
    distribution: str
    version: str
    module: str
    built_in: bool = False

    def __str__(self) -> str:
        return "built in" if self.built_in else f"{self.distribution} {self.version}".strip()

    @property
    def title(self) -> str:
        """Entry point, distribution and version: ``photo of lanewise-photo 0.3``."""
        return titled(self.plugin, self.distribution, self.version)


@dataclass(frozen=True, slots=True)
class Plugin:
    """What became of one plugin; a plain record for lists.

    Attributes
    ----------
    name, distribution, version, module
        As in `Provider`.
    state : {"ok", "off", "broken", "newer-api"}
        Whether it is in use, switched off, left out for a fault, or left out because it was
        written for a later version of the library.
    reason : str
        Why it is not, or not wholly, in use; empty otherwise.
    formats, styles : tuple of str
        Names in use from this plugin, in alphabetical order.
    api : int or None
        Highest level of the plugin interface that it asks for; None where it was not loaded so far.
    seconds : float
        Wall time that loading took. [s]
    """

    name: str
    distribution: str
    version: str
    module: str
    state: State
    reason: str
    formats: tuple[str, ...]
    styles: tuple[str, ...]
    api: int | None
    seconds: float

    @property
    def title(self) -> str:
        """Entry point, distribution and version: ``photo of lanewise-photo 0.3``."""
        return titled(self.name, self.distribution, self.version)


@dataclass(frozen=True, slots=True)
class PluginProblem:
    """Something that is wrong with a plugin.

    Attributes
    ----------
    provider : Provider or None
        The plugin; None where the problem belongs to no single one.
    stage : str
        When it was noticed: ``find``, ``import``, ``register``, ``list``, ``names``, ``switch off`` or ``recognise``.
    reason : str
        One line.
    text : str
        The whole warning: who, why, and what to do.
    traceback : str
        Where it happened; empty where no exception was behind it.
    """

    provider: Provider | None
    stage: Stage
    reason: str
    text: str
    traceback: str = ""

    def __str__(self) -> str:
        return self.text


@dataclass(frozen=True, slots=True)
class Entry(Generic[Offer]):
    """A format or style together with who provides it.

    Attributes
    ----------
    item : ImportFormat or ReportStyle
        What the plugin returned.
    provider : Provider
        The plugin.
    """

    item: Offer
    provider: Provider

    @property
    def name(self) -> str:
        """Short name, such as ``bench-sheet``."""
        return self.item.name

    @property
    def full_name(self) -> str:
        """Name with the distribution in front, such as ``lanewise-school:bench-sheet``."""
        return f"{self.provider.distribution}:{self.item.name}"

    @property
    def what(self) -> str:
        """How messages call it, such as ``format 'bench-sheet'``."""
        kind = "format" if isinstance(self.item, ImportFormat) else "style"
        return f"{kind} {self.item.name!r}"


AnyEntry: TypeAlias = Entry[ImportFormat] | Entry[ReportStyle]


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A name that is known but not in use.

    Attributes
    ----------
    kind : {"format", "style"}
    name : str
        Short name.
    provider : Provider
        The plugin that would provide it.
    reason : str
        Why it is not in use, as the rest of a sentence: ``is switched off by ...``.
    """

    kind: Literal["format", "style"]
    name: str
    provider: Provider
    reason: str

"""Switching plugins off: by any name that a user can see, before any code of theirs runs where that name allows it."""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import dataclass, field

from lanewise.plugins.names import same_form
from lanewise.plugins.records import Provider

WITHOUT = "LANEWISE_WITHOUT_PLUGINS"
STRICT = "LANEWISE_STRICT_PLUGINS"


@dataclass(slots=True)
class Switches:
    """Names that are switched off, each with where it was said; notes which of them met something.

    Attributes
    ----------
    said : dict of str to str
        Name as compared, and the place: ``LANEWISE_WITHOUT_PLUGINS``, or ``this call``.
    met : set of str
        Names that met a plugin, format or style so far.
    """

    said: dict[str, str]
    met: set[str] = field(default_factory=set)

    @classmethod
    def read(cls, without: Iterable[str]) -> Switches:
        """Take the names of an argument and of the environment variable."""
        said = {_compared(name): WITHOUT for name in os.environ.get(WITHOUT, "").split(",") if name.strip()}
        said.update({_compared(name): "this call" for name in without if name.strip()})
        return cls(said)

    def plugin(self, provider: Provider) -> str:
        """Say how a whole plugin was switched off; empty where it was not."""
        return self._off((provider.distribution, provider.plugin, f"{provider.distribution}:{provider.plugin}"))

    def offer(self, provider: Provider, name: str) -> str:
        """Say how one format or style was switched off; empty where it was not."""
        return self._off((name, f"{provider.distribution}:{name}"))

    def _off(self, names: tuple[str, ...]) -> str:
        hits = [name for name in map(_compared, names) if name in self.said]
        self.met.update(hits)
        return f"is switched off by {self.said[hits[0]]} ({hits[0]})" if hits else ""

    @property
    def unmet(self) -> list[str]:
        """Names that met nothing, so that a misspelt one does not pass for done."""
        return sorted(set(self.said) - self.met)


def strict_by_environment() -> bool:
    """Whether the environment asks for the first fault of a plugin to be raised."""
    return os.environ.get(STRICT, "").strip().lower() not in ("", "0", "no", "false", "off")


def _compared(name: str) -> str:
    return ":".join(same_form(part) for part in name.split(":"))

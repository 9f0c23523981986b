"""Lists of what is installed, as lines of text."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

from lanewise.files.reading import detect
from lanewise.plugins.options import describe_options
from lanewise.plugins.records import AnyEntry
from lanewise.plugins.registry import default_registry


def format_lines() -> list[str]:
    """List the import formats, each with its endings, where it comes from and its options."""
    entries = default_registry().formats.values()
    return [line for entry in entries for line in _lines(entry, ", ".join(entry.item.suffixes))]


def style_lines() -> list[str]:
    """List the report styles in the same way."""
    entries = default_registry().styles.values()
    return [line for entry in entries for line in _lines(entry, entry.item.suffix)]


def explain_lines(path: Path) -> list[str]:
    """Say what each import format makes of a file, the best claim first."""
    return [str(answer) for answer in detect(path)]


def _lines(entry: AnyEntry, endings: str) -> Iterator[str]:
    yield f"{entry.name}  ({endings})  {entry.item.title}"
    yield f"    {entry.provider}" if entry.provider.built_in else f"    from {entry.provider}"
    for info in describe_options(entry.item.options):
        yield f"    option {info}"

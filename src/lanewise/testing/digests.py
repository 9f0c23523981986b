"""What a plugin makes of given content, brought into a form that two processes can compare."""

from __future__ import annotations

import base64
import hashlib
from collections.abc import Callable, Mapping
from types import ModuleType
from typing import Any

from lanewise.hooks import Readings, Rendered
from lanewise.plugins.calling import function_of
from lanewise.plugins.options import make_options
from lanewise.plugins.records import AnyEntry
from lanewise.testing.isolation import isolated


def ready(entry: AnyEntry, options: Mapping[str, object] | None) -> tuple[Callable[..., Any], Any]:
    """Give the function of a format or style, and its options made of what was given."""
    return function_of(entry), make_options(entry.item.options, options, entry.what)


def of_offer(module: ModuleType, task: Mapping[str, Any]) -> list[str]:
    """Do what a task asks of a plugin, and give a digest of each result."""
    registry = isolated(module)
    if task["use"] == "read":
        entry = registry.format(task["offer"])
        return [
            of_readings(entry, one["name"], base64.b64decode(one["data"]), one["options"]) for one in task["examples"]
        ]
    from lanewise.testing.reports import standard_reports

    render, options = ready(registry.style(task["offer"]), task["options"])
    return [of_rendered(render(report, options)) for report in standard_reports().values()]


def of_readings(entry: AnyEntry, name: str, data: bytes, options: Mapping[str, object] | None) -> str:
    """Give a digest of what the reader of a format makes of a file, before the library has touched it."""
    from lanewise.files.sources import Content

    read, made = ready(entry, options)
    result = read(Content(name, data), made)
    if not isinstance(result, Readings):
        from lanewise.model.record import encode

        return hashlib.sha256(encode(result)).hexdigest()
    parts = (
        [(heading, list(cells)) for heading, cells in result.columns.items()],
        list(result.places),
        sorted(result.units.items()),
        sorted(result.defaults.items()),
        (result.note, result.division, result.decimal),
        list(result.unread),
        list(result.parts),
    )
    return hashlib.sha256(repr(parts).encode("utf-8", "surrogatepass")).hexdigest()


def of_rendered(rendered: Rendered) -> str:
    """Give a digest of a laid-out report with the files beside it."""
    parts = (rendered.main, sorted(rendered.extras.items()))
    return hashlib.sha256(repr(parts).encode("utf-8", "surrogatepass")).hexdigest()

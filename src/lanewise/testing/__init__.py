"""The contract kit: base classes that hold a plugin to what users of the library rely on.

A plugin's tests subclass `ImportFormatContract` or `ReportStyleContract`, name the plugin and override a few
methods; pytest then collects one test a check, and each failure says what was wanted, what came and what to do.
The kit needs pytest for its skips and, for `lanewise.testing.strategies` alone, hypothesis; importing it needs neither.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lanewise.testing.contracts import Check as Check
    from lanewise.testing.examples import Example as Example
    from lanewise.testing.formats import ImportFormatContract as ImportFormatContract
    from lanewise.testing.isolation import isolated as isolated
    from lanewise.testing.styles import ReportStyleContract as ReportStyleContract

_HOME = {
    "Check": "contracts",
    "Example": "examples",
    "ImportFormatContract": "formats",
    "ReportStyleContract": "styles",
    "isolated": "isolation",
}

__all__ = ["Check", "Example", "ImportFormatContract", "ReportStyleContract", "isolated"]


def __getattr__(name: str) -> object:
    if name not in _HOME:
        raise AttributeError(f"module 'lanewise.testing' has no attribute {name!r}")
    value = getattr(import_module(f"lanewise.testing.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted({*globals(), *_HOME})

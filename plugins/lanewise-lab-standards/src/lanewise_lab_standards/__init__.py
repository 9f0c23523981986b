"""Open laboratory formats for lanewise: lane traces in and out, results out.

The three writers are offered here; each is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lanewise_lab_standards.andi_writing import write_andi
    from lanewise_lab_standards.animl_writing import write_animl
    from lanewise_lab_standards.jcamp_writing import write_jcamp

__all__ = ["write_andi", "write_animl", "write_jcamp"]


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{name.removeprefix('write_')}_writing"), name)


def __dir__() -> list[str]:
    return __all__

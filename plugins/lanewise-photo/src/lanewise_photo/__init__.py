"""From a photograph or scan of a developed sheet to readings with their uncertainty, or a refusal with its reason.

What a person looks at and corrects is offered here; each part is loaded when it is first used.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from lanewise_photo.applying import apply
    from lanewise_photo.by_hand import read_corrected
    from lanewise_photo.corrections import Correction, Corrections, parse, write
    from lanewise_photo.overlay import draw_overlay
    from lanewise_photo.review import review_page

__all__ = ["Correction", "Corrections", "apply", "draw_overlay", "parse", "read_corrected", "review_page", "write"]

_HOMES: Final = {
    "apply": "applying",
    "read_corrected": "by_hand",
    "draw_overlay": "overlay",
    "review_page": "review",
}


def __getattr__(name: str) -> object:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f"{__name__}.{_HOMES.get(name, 'corrections')}"), name)


def __dir__() -> list[str]:
    return __all__

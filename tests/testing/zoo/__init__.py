"""Small plugins with one fault each, so that every check of the contract kit can be seen to bite. All data invented.

Each module is a plugin; its ``CAUGHT`` says for each format or style which check has to catch it, and with which words.
"""

from __future__ import annotations

from typing import NamedTuple


class Caught(NamedTuple):
    """Which check catches an animal, a phrase of its message, and which other checks cannot help catching it too."""

    check: str
    says: str
    also: tuple[str, ...] = ()

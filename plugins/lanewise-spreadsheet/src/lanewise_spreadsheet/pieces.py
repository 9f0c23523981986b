"""Texts on their way into a cell: in pieces that a cell can hold."""

from __future__ import annotations

from collections.abc import Iterator

MOST_UNITS = 32_767
"""UTF-16 code units that a cell holds at most (ECMA-376 part 1, 22.9.2.19)."""


def pieces(text: str, most: int = MOST_UNITS) -> Iterator[str]:
    """Cut a text into pieces that fit into a cell; one empty piece for an empty text.

    Parameters
    ----------
    text : str
        A cleaned text.
    most : int, optional
        UTF-16 code units in a piece, at least 2.

    Examples
    --------
    >>> list(pieces("abcde", 2)), list(pieces("🖋🖋", 3))
    (['ab', 'cd', 'e'], ['🖋', '🖋'])
    """
    if len(text) <= most // 2:
        yield text
        return
    start = size = 0
    for place, sign in enumerate(text):
        width = 2 if sign > "\uffff" else 1
        if size + width > most:
            yield text[start:place]
            start, size = place, 0
        size += width
    yield text[start:]

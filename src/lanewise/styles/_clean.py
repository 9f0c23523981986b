"""Titles that are never empty, and texts that run from right to left, for the styles that lay out text."""

from __future__ import annotations

import unicodedata

from lanewise.document import clean

_FIRST_STRONG_ISOLATE, _POP_ISOLATE = "\u2068", "\u2069"


def heading(text: str) -> str:
    """Give a title as one harmless line that is never empty.

    Examples
    --------
    >>> heading("  ")
    '(untitled)'
    """
    return clean(text).strip() or "(untitled)"


def isolate(text: str) -> str:
    r"""Enclose a text that runs from right to left, so that its neighbours on the line keep their order.

    Parameters
    ----------
    text : str
        A cleaned text.

    Returns
    -------
    str
        The text between U+2068 and U+2069 where it holds right-to-left characters, otherwise unchanged
        (Unicode Standard Annex 9, explicit directional isolates).

    Examples
    --------
    >>> isolate("ink")
    'ink'
    >>> ascii(isolate("דיו"))
    "'\\u2068\\u05d3\\u05d9\\u05d5\\u2069'"
    """
    if any(unicodedata.bidirectional(character) in ("R", "AL", "AN") for character in text):
        return f"{_FIRST_STRONG_ISOLATE}{text}{_POP_ISOLATE}"
    return text

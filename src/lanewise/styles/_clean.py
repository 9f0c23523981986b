"""What happens to characters that are not text: decided here once, for every style.

Labels come from spreadsheets, other people's files and typing errors. Line breaks and tabs become a space,
because a text of the document is one line. Control characters, marks that turn the reading direction of
everything after them, lone surrogates and code points that are no characters are shown as ``⟨U+202E⟩``:
nothing is dropped in silence, and none of them can act. Everything else stays as it is.
"""

from __future__ import annotations

import re
import unicodedata

_BREAKS = re.compile("\r\n|[\t\n\v\f\r\x85\u2028\u2029]")

_UNSAFE = re.compile(
    "["
    "\x00-\x1f\x7f-\x9f"  # C0 and C1 controls; the breaks among them are gone by then
    "\u202a-\u202e\u2066-\u2069\u206a-\u206f"  # embeddings, overrides, isolates, deprecated format controls
    "\ufeff\ufff9-\ufffb"  # byte-order mark, interlinear annotation
    "\ufdd0-\ufdef" + "".join(chr(0x10000 * plane + low) for plane in range(17) for low in (0xFFFE, 0xFFFF)) +
    # no characters at all (Unicode, chapter 23.7), and halves of surrogate pairs, which UTF-8 cannot hold
    "\ud800-\udfff"
    "]"
)

_FIRST_STRONG_ISOLATE, _POP_ISOLATE = "\u2068", "\u2069"


def clean(text: str) -> str:
    r"""Give a text of the document as one harmless line.

    Parameters
    ----------
    text : str
        Any text, whatever its origin.

    Returns
    -------
    str
        Without line breaks, control characters and direction overrides, fit for UTF-8.

    Examples
    --------
    >>> clean("blue\nink")
    'blue ink'
    >>> clean("blue \x00 \u202e ink")
    'blue ⟨U+0000⟩ ⟨U+202E⟩ ink'
    """
    return _UNSAFE.sub(lambda found: f"⟨U+{ord(found[0]):04X}⟩", _BREAKS.sub(" ", text))


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

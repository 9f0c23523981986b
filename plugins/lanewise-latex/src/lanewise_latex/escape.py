"""Any text as LaTeX that prints exactly this text.

A text of the document is one line of somebody else's characters. `clean` makes it harmless, `escape` writes it down.
No character can act: specials are written as commands, and the preamble switches off the ligatures that would make
other signs of ``--`` or of two quotes. What the font lacks is shown as its code point, never left out.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from functools import cache

from lanewise_latex.signs import COVERED, in_words, raised_or_lowered, width, width_of

LONGEST_WORD = 20.0  # in running text, wider words may be broken [em]
_AT_ONCE = 1.6  # so much stays together of a word that has no better place to be broken [em]

_SPECIAL = {
    "\\": r"\textbackslash{}",
    "{": r"\{",
    "}": r"\}",
    "$": r"\$",
    "&": r"\&",
    "#": r"\#",
    "%": r"\%",
    "_": r"\_",
    "^": r"\textasciicircum{}",
    "~": r"\textasciitilde{}",
    "\xa0": "~",
}
_BREAKS = re.compile("\r\n|[\t\n\v\f\r\x85\u2028\u2029]")
_NO_BREAK = "\xa0\u2007\u202f"
_JOINERS = "\u200c\u200d"
_PIECES = re.compile(r"⟨U\+[0-9A-F]+⟩|[^-/:;,.|_=+&?⟨]*[-/:;,.|_=+&?]+|⟨?[^-/:;,.|_=+&?⟨]+|⟨")


def clean(text: str) -> str:
    r"""Give a text as one harmless line.

    Parameters
    ----------
    text : str
        Any text, whatever its origin.

    Returns
    -------
    str
        In the composed form (NFC). Line breaks, tabs and the many kinds of space are single spaces; control
        characters, format characters such as direction marks, private and broken ones are shown as code points.

    Examples
    --------
    >>> clean(" blue\nink\x00\u202e ")
    'blue ink⟨U+0000⟩⟨U+202E⟩'
    """
    line = "".join(map(_harmless, unicodedata.normalize("NFC", _BREAKS.sub(" ", text))))
    return re.sub(" +", " ", line).strip(" ")


@cache
def _harmless(character: str) -> str:
    category = unicodedata.category(character)
    if category == "Zs":
        return "\xa0" if character in _NO_BREAK else " "
    if category in ("Cc", "Cf", "Co", "Cs") and character not in _JOINERS:
        return in_words(character)
    return character


def escape(text: str, longest: float = LONGEST_WORD) -> str:
    r"""Write a text as LaTeX.

    Parameters
    ----------
    text : str
        Any text of the document.
    longest : float, optional
        Wider words get places where a line may end. [em]

    Returns
    -------
    str
        Safe in a paragraph, a heading, a list item and a table cell. ``\cut`` and ``\chop``, a good and a poor
        place to end a line, and ``\unicode`` are commands of the preamble.

    Examples
    --------
    >>> print(escape(r"50 % \input{a_b} $x^2$"))
    50 \% \textbackslash{}input\{a\_b\} \$x\textasciicircum{}2\$
    >>> print(escape("[H₂O] 墨"))
    {[}H\textsubscript{2}O] \unicode{58A8}
    """
    line = clean(text)
    written = " ".join(_word(word, longest) for word in line.split(" "))
    if line.startswith(("[", "*")):  # after \\ and \item these would open an argument
        written = f"{{{written[0]}}}{written[1:]}"
    return written


def pdf_text(text: str) -> str:
    r"""Write a text for the bookmarks and the properties of the PDF file, which need no glyphs.

    Examples
    --------
    >>> print(pdf_text("墨 & _"))
    墨 \& \_
    """
    return "".join(_SPECIAL.get(character, character) for character in clean(text))


def _word(word: str, longest: float) -> str:
    if width(word) <= longest:
        return "".join(map(_sign, word))
    pieces = _PIECES.findall(word)
    return r"\cut ".join(_chopped(piece) if width(piece) > longest else "".join(map(_sign, piece)) for piece in pieces)


def _chopped(piece: str) -> str:
    parts = ("".join(map(_sign, part)) for part, _ in _cut(piece, _AT_ONCE))
    return r"\chop ".join(parts)


@cache
def _sign(character: str) -> str:
    if character in _SPECIAL:
        return _SPECIAL[character]
    if character in COVERED:
        return character
    if small := raised_or_lowered(character):
        return rf"\text{small[0]}script{{{_sign(small[1])}}}"
    return rf"\unicode{{{ord(character):04X}}}"


def wrap(text: str, room: float) -> Iterator[str]:
    """Foretell the lines into which a cleaned text will be broken; a word wider than a line is cut.

    Parameters
    ----------
    text : str
        One line, cleaned.
    room : float
        Length of a line. [em]

    Yields
    ------
    str
        At least one line.

    Examples
    --------
    >>> list(wrap("two dyes were found", 5.0))
    ['two dyes', 'were found']
    """
    line, used = "", 0.0
    for word in text.split(" "):
        for piece, wide in _cut(word, room):
            gap = width_of(" ") if line else 0.0
            if line and used + gap + wide > room:
                yield line
                line, used, gap = "", 0.0, 0.0
            line, used = f"{line} {piece}" if line else piece, used + gap + wide
    yield line


def _cut(word: str, room: float) -> Iterator[tuple[str, float]]:
    """Cut a word into pieces that fit, each with its width."""
    piece, used = "", 0.0
    for character in word:
        if piece and used + width_of(character) > room:
            yield piece, used
            piece, used = "", 0.0
        piece, used = piece + character, used + width_of(character)
    yield piece, used

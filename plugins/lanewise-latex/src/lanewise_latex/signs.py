"""Which characters the fonts of the report hold, and how wide they are.

Both were read from the font files with fontTools: Latin Modern 2.005 (``lmroman10-regular.otf`` and
``lmroman10-bold.otf``, which hold the same characters) and Latin Modern Math 1.959 (``latinmodern-math.otf``,
for the signs that the former lack). Left out are private, combining and invisible characters, and what
NFC replaces. A test reads the fonts again where they are installed.
"""

from __future__ import annotations

import unicodedata
from functools import cache

_ROMAN = """
21-7E A1-AC AE-137 139-148 14A-165 168-17F 18E 192 1A0-1A1 1AF-1B0 1CD-1D4 1D7-1DD 1E6-1E7 1EA-1EB 1F0 1F4-1F5 1FA-201
204-205 208-209 20C-20D 210-211 214-215 218-21B 237 258-259 2BE-2BF 2C6-2C7 2D8-2DD 391-3A1 3A3-3A9 E3F 1E0C-1E0F
1E24-1E27 1E2A-1E2B 1E2E-1E2F 1E36-1E39 1E42-1E47 1E58-1E5D 1E62-1E63 1E6C-1E6F 1E80-1E85 1E92-1E93 1E97 1EA0-1EF9
2010-2011 2013-2014 2016 2018-201A 201C-201E 2020-2022 2026 2030-2031 2039-203B 203D 203F-2040 2044-2046 2052 2054 20A1
20A4 20A6 20A9 20AB-20AC 20B1 2103 2116-2117 211E 2120 2122 2127 212E 2190-2193 2212 2215 2217 221A 221E 2222 2300
2422-2423 25E6 266A 26AD-26AE 27E6-27E7 FB00-FB04
"""
_MATH = """
3B1-3C9 3D1 3D5-3D6 3F0-3F1 3F4-3F5 2012 2015 2017 2032-2037 2057 2102 2107 2109 210B-2113 2115 2118-211D 2124 2128
212C-212D 2130-2131 2133 2135-2138 213C-2140 2145-2149 2194-219B 219E-21A7 21A9-21AE 21B0-21B7 21BA-21DD 21E6-21E9 21F3
21F5-21F6 2200-2211 2213-2214 2216 2218-2219 221D 221F-2221 2223-22AF 22B2-22D3 22D5-22F1 2305-2306 2308-230B 2310 2319
231C-2323 239B-23AD 23B2-23B5 23B7 23D0 23DC-23E1 2500 2502 250C 2510 2514 2518 251C 2524 252C 2534 253C 2581 2588
2591-2593 25A0-25A1 25AA-25AD 25B2-25B3 25B6-25B7 25BC-25BD 25C0-25C1 25CA-25CB 25CF 25EF 2660-2667 266D-266F 2713 2720
275A 27A1 27C2 27D8-27DE 27E0-27E3 27E8-27EB 27EE-27EF 27F4-27FF 2906-2907 2A00-2A06 2A09 2A0C 2A11 2A2F 2A3F 2A7D-2A7E
2A85-2A8C 2A95-2A96 2AAF-2AB0 2B04-2B07 2B0C-2B0D 2B1A 2B31 2B33
"""

_WIDTHS = {  # of the characters of ASCII in lmroman10-regular [em]
    0.278: "!',.:;[]il|",
    0.306: "fj",
    0.333: " -",
    0.361: "I",
    0.374: '"',
    0.389: "()t",
    0.392: "r",
    0.394: "s",
    0.444: "cez",
    0.472: "?",
    0.500: "$*/0123456789\\`ago{}",
    0.514: "J",
    0.528: "kqvxy",
    0.556: "S^bdhnpu~",
    0.611: "Z",
    0.625: "L",
    0.653: "F",
    0.681: "EP",
    0.708: "B",
    0.722: "CTw",
    0.736: "R",
    0.750: "AHNUVXY_",
    0.764: "D",
    0.778: "&+<=>@KOQ",
    0.785: "G",
    0.833: "#%m",
    0.917: "M",
    1.028: "W",
}
_WIDTH_OF = {sign: width for width, signs in _WIDTHS.items() for sign in signs}
BOLD = 1.18  # bold letters are up to so many times as wide, on the average of a word
_OTHER = 1.0  # taken for any other character that the fonts hold; few are wider [em]


def _points(ranges: str) -> set[int]:
    ends = [part.partition("-") for part in ranges.split()]
    return {point for low, _, high in ends for point in range(int(low, 16), int(high or low, 16) + 1)}


COVERED = frozenset(map(chr, _points(_ROMAN) | _points(_MATH)))
"""The characters that come out as they are."""


def in_words(character: str) -> str:
    r"""Name a character by its code point.

    Examples
    --------
    >>> in_words("\u202e")
    '⟨U+202E⟩'
    """
    return f"⟨U+{ord(character):04X}⟩"


@cache
def raised_or_lowered(character: str) -> tuple[str, str] | None:
    """Say of a superscript or subscript character which way it goes and what it is a small form of.

    Examples
    --------
    >>> raised_or_lowered("₂"), raised_or_lowered("⁻"), raised_or_lowered("2")
    (('sub', '2'), ('super', '−'), None)
    """
    way, _, points = unicodedata.decomposition(character).partition(" ")
    if way not in ("<super>", "<sub>") or " " in points or chr(int(points, 16)) not in COVERED:
        return None
    return way.strip("<>"), chr(int(points, 16))


@cache
def width_of(character: str) -> float:
    """Give the width in em of a character as it will be printed, or a little more.

    Examples
    --------
    >>> width_of("W"), width_of("é") == width_of("e"), round(width_of("墨"), 2)
    (1.028, True, 5.78)
    """
    if character == "\xa0":
        character = " "
    if character in COVERED:
        base = unicodedata.normalize("NFD", character)[0]
        return _WIDTH_OF.get(base, _OTHER)
    if small := raised_or_lowered(character):
        return width_of(small[1])
    return _WIDTH_OF.get(character, 0.0) or sum(map(width_of, in_words(character)))


def width(text: str) -> float:
    """Give the width in em of a text on one line."""
    return sum(map(width_of, text))

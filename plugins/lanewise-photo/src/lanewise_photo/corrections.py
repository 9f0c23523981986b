"""Corrections of what was read from a picture: a small text file that a person can write, and that is read back.

One correction a line, plain words; everything after a ``#`` outside quotation marks is a remark::

    picture: inks.jpg
    sha256: 0f3a...            # of the picture; another one is refused
    by: A. Invented            # who corrected what follows
    on: 2026-03-14             # and when
    move lane 2 spot 1 near 41.1 to 43.2
    move lane 2 spot 2 to 60.1 from 58.0 to 62.5
    add lane 3 at 51.0 from 49.2 to 53.0 colour blue
    drop lane 2 spot 3
    name lane 2 "ledger blue"
    move front to 85.0

Positions are millimetres from the lower edge of the sheet, with the front up; places across are millimetres from its
left edge. ``near`` says where a spot (along) or a lane (across) stood when the line was written, so that a line never
meets another spot of the same number. The order of lines does not matter, but of two lines that say the same thing of
the same mark the later holds. ``LINES`` lists every line that is understood.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple, TypeAlias

from lanewise.errors import OptionError

Point: TypeAlias = tuple[float, float]

STATES: Final = ("measured", "at origin", "with front", "streak", "unread")
SIDES: Final = ("up", "down", "left", "right")
NOT_STATED: Final = "not stated"

DECIMALS: Final = 3
"""Digits after the point that are kept of millimetres and pixels."""

_N = r"[+-]?\d+(?:\.\d+)?"
_T = r'(?:"(?:[^"\\]|\\["\\])*"|[^\s"#:]+)'
_NEAR = rf"(?: near (?P<near>{_N}))?"
_LANE = rf"lane (?P<lane>{_T})"
_SPOT = rf"{_LANE} spot (?P<spot>{_T}){_NEAR}"
_EDGES = rf"from (?P<trailing>{_N}) to (?P<leading>{_N})"
_POINTS = rf"(?P<points>{_N}\s*,\s*{_N}(?:\s*;\s*{_N}\s*,\s*{_N}){{3}})"


class Line(NamedTuple):
    """A line that is understood: how it is recognised, an example, and what it does."""

    pattern: re.Pattern[str]
    example: str
    meaning: str


def _line(pattern: str, example: str, meaning: str) -> Line:
    return Line(re.compile(pattern.replace(" ", r"\s+")), example, meaning)


LINES: Final[dict[str, Line]] = {
    "by hand": _line("measure: by hand", "measure: by hand", "nothing is read from the picture; all is in this file"),
    "size": _line(rf"size: (?P<at>{_N})\s*[x×]\s*(?P<leading>{_N})", "size: 80 x 100", "width x height of the sheet"),
    "corners": _line(
        rf"corners: {_POINTS}",
        "corners: 10,900; 700,900; 700,10; 10,10",
        "lower left, lower right, upper right, upper left, in pixels of the picture the right way up",
    ),
    "orientation": _line(rf"orientation: (?P<text>{'|'.join(SIDES)})", "orientation: up", "where the front is"),
    "origin": _line(rf"move origin to (?P<at>{_N})", "move origin to 15.0", "the line in the middle of the sheet"),
    "front": _line(rf"move front to (?P<at>{_N})", "move front to 85.0", "the line in the middle of the sheet"),
    "no front": _line("drop front", "drop front", "the front was not seen: no Rf"),
    "lane origin": _line(
        rf"move {_LANE}{_NEAR} origin to (?P<at>{_N})", "move lane 2 origin to 15.2", "in this lane alone"
    ),
    "lane front": _line(
        rf"move {_LANE}{_NEAR} front to (?P<at>{_N})", "move lane 2 front to 84.6", "in this lane alone"
    ),
    "new lane": _line(rf"new {_LANE} across (?P<at>{_N})", "new lane 5 across 66.0", "a lane"),
    "drop lane": _line(rf"drop {_LANE}{_NEAR}", "drop lane 5 near 66.0", "with its spots"),
    "move": _line(
        rf"move {_SPOT}(?: to (?P<at>{_N}))?(?: {_EDGES})?",
        "move lane 2 spot 1 near 41.1 to 43.2 from 41.0 to 45.1",
        "its darkest point, its two edges, or all; edges that are not given travel along, its colour keeps its word",
    ),
    "add": _line(
        rf"add {_LANE}(?: spot (?P<spot>{_T}))? at (?P<at>{_N}) {_EDGES}(?: colour (?P<text>{_T}))?",
        "add lane 3 at 51.0 from 49.2 to 53.0 colour blue",
        "a spot: darkest point, edge nearer the origin, edge nearer the front; without a name the next free number",
    ),
    "drop": _line(rf"drop {_SPOT}", "drop lane 2 spot 3 near 51.2", "it is no spot"),
    "state": _line(
        rf"state {_SPOT} (?P<text>{'|'.join(STATES)})", "state lane 2 spot 1 streak", f"one of {', '.join(STATES)}"
    ),
    "colour": _line(rf"colour {_SPOT} (?P<text>{_T})", "colour lane 2 spot 1 blue", "its colour as a word"),
    "name": _line(rf"name {_LANE}{_NEAR} (?P<text>{_T})", 'name lane 2 "ledger blue"', "what was applied there"),
    "rename": _line(rf"name {_SPOT} (?P<text>{_T})", 'name lane 2 spot 1 "A"', "a spot, which had a number"),
}
"""Every line that is understood, beside ``picture:``, ``sha256:``, ``by:``, ``on:``, ``accuracy:`` and
``sheet:``."""


@dataclass(frozen=True)
class Correction:
    """One correction.

    Attributes
    ----------
    kind : str
        Key of `LINES`.
    sheet : str
        Number of the sheet in its picture.
    by, on : str
        Who corrected, and when, as a date of ISO 8601; empty where the date is not said.
    lane, spot : str
        Which lane and spot; empty where the correction has none.
    at : float or None
        Position of a line or a darkest point, place of a new lane, or width of the sheet. [mm]
    trailing, leading : float or None
        Edge nearer the origin and nearer the front; `leading` is the height of the sheet in a size. [mm]
    near : float or None
        Where the spot (along) or the lane (across) stood when the correction was written. [mm]
    text : str
        New name, state, colour or side.
    points : tuple of four points
        Corners. [px]
    line : int
        Line of the file, 0 where it comes from none; two corrections that differ in it alone are equal.
    """

    kind: str
    sheet: str = "1"
    by: str = NOT_STATED
    on: str = ""
    lane: str = ""
    spot: str = ""
    at: float | None = None
    trailing: float | None = None
    leading: float | None = None
    near: float | None = None
    text: str = ""
    points: tuple[Point, ...] = ()
    line: int = field(default=0, compare=False)

    @property
    def who(self) -> str:
        """Who corrected, and when where that is said."""
        return f"{self.by}, {self.on}" if self.on else self.by


@dataclass(frozen=True)
class Corrections:
    """All corrections of one picture, in the order of their file.

    Attributes
    ----------
    picture : str
        Name of the picture's file; empty where it is not said.
    sha256 : str
        SHA-256 of its content in hexadecimal digits; empty where it is not said.
    accuracy : float or None
        Standard uncertainty with which a mark is set by hand, without the size of a pixel; None for the usual one. [mm]
    steps : tuple of Correction
    """

    picture: str = ""
    sha256: str = ""
    accuracy: float | None = None
    steps: tuple[Correction, ...] = ()

    def of(self, kind: str, sheet: str) -> Correction | None:
        """Give the last correction of a kind for a sheet."""
        return next((one for one in reversed(self.steps) if (one.kind, one.sheet) == (kind, sheet)), None)

    @property
    def sheets(self) -> tuple[str, ...]:
        """Sheets that are corrected, each once, in the order of the file."""
        return tuple(dict.fromkeys(one.sheet for one in self.steps))


def fault(line: int, text: str) -> OptionError:
    """Make the error of one line of a corrections file."""
    return OptionError(f"corrections, line {line}: {text}" if line else f"corrections: {text}")


def parse(text: str) -> Corrections:
    r"""Read corrections.

    Parameters
    ----------
    text : str
        The file.

    Returns
    -------
    Corrections
        Numbers are kept to a thousandth of a millimetre or pixel.

    Raises
    ------
    OptionError
        At the first line that is not understood, with its number and what was wanted.

    Examples
    --------
    >>> made = parse("by: A. Invented\nmove lane 2 spot 1 to 43.2  # the reader took the pencil mark\n")
    >>> made.steps[0].kind, made.steps[0].by, made.steps[0].at
    ('move', 'A. Invented', 43.2)
    >>> parse("shift lane 2")
    Traceback (most recent call last):
    lanewise.errors.OptionError: corrections, line 1: not understood: 'shift lane 2'. A line begins with picture,
    sha256, by, on, accuracy, sheet, measure, size, corners, orientation, move, drop, new, add, state, colour or name.
    """
    said: dict[str, str] = {}
    steps: list[Correction] = []
    by, on, sheet = NOT_STATED, "", "1"
    for number, whole in enumerate(re.split(r"\r\n|\r|\n", text.removeprefix("\ufeff")), start=1):
        line = _without_remark(whole, number)
        if not line:
            continue
        word, colon, rest = (part.strip() for part in line.partition(":"))
        if colon and word in _HEADS:
            value = _head(word, rest, number)
            if word == "by":
                by, on = value, ""
            elif word == "on":
                on = value
            elif word == "sheet":
                sheet = value
            elif said.setdefault(word, value) != value:
                raise fault(number, f"'{word}' was given before as {said[word]!r}. Give it once.")
            continue
        steps.append(_step(line, number, Correction("", sheet, by, on)))
    accuracy = float(said["accuracy"]) if "accuracy" in said else None
    return Corrections(said.get("picture", ""), said.get("sha256", ""), accuracy, tuple(steps))


_HEADS: Final[dict[str, tuple[str, str]]] = {
    "picture": (r".+", "the name of the picture's file"),
    "sha256": (r"[0-9a-f]{64}", "64 hexadecimal digits, the SHA-256 of the picture"),
    "by": (r".+", "who corrected"),
    "on": (r"\d{4}-(?:0[1-9]|1[0-2])-(?:0[1-9]|[12]\d|3[01])", "a date such as 2026-03-14"),
    "accuracy": (r"\d+(?:\.\d+)?", "a standard uncertainty in millimetres, such as 0.2"),
    "sheet": (r"[1-9]\d?", "the number of a sheet in the picture"),
}


FIRST_WORDS: Final = tuple(
    dict.fromkeys([*_HEADS, *(re.split(r"[\s:]", known.example)[0] for known in LINES.values())])
)
"""Words with which a line may begin."""


def _head(word: str, value: str, line: int) -> str:
    value = value.lower() if word == "sha256" else value
    pattern, wanted = _HEADS[word]
    if not re.fullmatch(pattern, value):
        raise fault(line, f"{word}: wanted {wanted}, given {value!r}")
    return _unquoted(value) if re.fullmatch(r'"(?:[^"\\]|\\.)*"', value) else composed(value)


def _without_remark(line: str, number: int) -> str:
    if re.match(r'\s*(picture|by)\s*:\s*[^\s"]', line):  # a name that is not quoted may hold quotation marks
        return re.split(r"(?:^|\s)#", line, maxsplit=1)[0].strip()
    kept = re.match(r'(?:[^"#]|"(?:[^"\\]|\\.)*")*', line)
    end = kept.end() if kept else 0
    if end < len(line) and line[end] == '"':
        raise fault(number, f"a quotation mark is not closed: {line.strip()!r}")
    return line[:end].strip()


def _step(line: str, number: int, whose: Correction) -> Correction:
    for kind, known in LINES.items():
        found = known.pattern.fullmatch(line)
        if found is None:
            continue
        given = {key: value for key, value in found.groupdict().items() if value is not None}
        if kind == "move" and not given.keys() & {"at", "trailing"}:
            break
        return replace(
            whose,
            kind=kind,
            lane=_unquoted(given.get("lane", "")),
            spot=_unquoted(given.get("spot", "")),
            at=_number(given.get("at")),
            trailing=_number(given.get("trailing")),
            leading=_number(given.get("leading")),
            near=_number(given.get("near")),
            text=" ".join(given["text"].split()) if kind == "state" else _unquoted(given.get("text", "")),
            points=_points(given.get("points", "")),
            line=number,
        )
    raise fault(number, _not_understood(line))


def _not_understood(line: str) -> str:
    first = re.split(r"[\s:]", line, maxsplit=1)[0]
    alike = [known for known in LINES.values() if re.split(r"[\s:]", known.example, maxsplit=1)[0] == first]
    if not alike:
        return f"not understood: {line!r}. A line begins with {', '.join(FIRST_WORDS[:-1])} or {FIRST_WORDS[-1]}."
    examples = " or ".join(f"'{known.example}'" for known in alike)
    return f"not understood: {line!r}. Wanted such as {examples}; numbers with a point."


def _number(text: str | None) -> float | None:
    return None if text is None else round(float(text), DECIMALS) + 0.0


def _points(text: str) -> tuple[Point, ...]:
    pairs = [part.split(",") for part in text.split(";")] if text else []
    return tuple((round(float(x), DECIMALS) + 0.0, round(float(y), DECIMALS) + 0.0) for x, y in pairs)


def _unquoted(text: str) -> str:
    return composed(re.sub(r"\\(.)", r"\1", text[1:-1]) if text.startswith('"') else text)


def composed(text: str) -> str:
    """Write each letter with its accents as one character (Unicode normal form C), since file systems differ in it."""
    return unicodedata.normalize("NFC", text)


def write(corrections: Corrections) -> str:
    r"""Write corrections as the text that `parse` reads.

    Parameters
    ----------
    corrections : Corrections
        Whatever `parse` gives comes back equal.

    Returns
    -------
    str
        Lines that end in a line feed.

    Examples
    --------
    >>> print(write(parse('by: A. Invented\nname   lane 2 "ledger blue"')), end="")
    by: A. Invented
    name lane 2 "ledger blue"
    """
    heads = [("picture", corrections.picture), ("sha256", corrections.sha256)]
    lines = [f"{word}: {_named(value)}" for word, value in heads if value]
    if corrections.accuracy is not None:
        lines.append(f"accuracy: {plain(corrections.accuracy)}")
    by, on, sheet = NOT_STATED, "", "1"
    for one in corrections.steps:
        if one.by != by or (on and not one.on):
            by, on = one.by, ""
            lines.append(f"by: {_named(by)}")
        if one.on != on:
            on = one.on
            lines.append(f"on: {on}")
        if one.sheet != sheet:
            sheet = one.sheet
            lines.append(f"sheet: {sheet}")
        lines.append(written(one))
    return "".join(f"{line}\n" for line in lines)


def written(one: Correction) -> str:
    """Write one correction as its line."""
    text = _quoted(one.text)
    at = "" if one.at is None else plain(one.at)
    near = "" if one.near is None else f" near {plain(one.near)}"
    lane = f"lane {_quoted(one.lane)}"
    spot = f"{lane} spot {_quoted(one.spot)}"
    low, high = one.trailing, one.leading
    edges = "" if low is None or high is None else f" from {plain(low)} to {plain(high)}"
    if one.kind == "add":
        return f"add {spot if one.spot else lane} at {at}{edges}" + (f" colour {text}" if one.text else "")
    return {
        "by hand": "measure: by hand",
        "size": f"size: {at} x {'' if high is None else plain(high)}",
        "corners": "corners: " + "; ".join(f"{plain(x)},{plain(y)}" for x, y in one.points),
        "orientation": f"orientation: {one.text}",
        "origin": f"move origin to {at}",
        "front": f"move front to {at}",
        "no front": "drop front",
        "lane origin": f"move {lane}{near} origin to {at}",
        "lane front": f"move {lane}{near} front to {at}",
        "new lane": f"new {lane} across {at}",
        "drop lane": f"drop {lane}{near}",
        "move": f"move {spot}{near}" + (f" to {at}" if at else "") + edges,
        "drop": f"drop {spot}{near}",
        "state": f"state {spot}{near} {one.text}",
        "colour": f"colour {spot}{near} {text}",
        "name": f"name {lane}{near} {text}",
        "rename": f"name {spot}{near} {text}",
    }[one.kind]


def plain(value: float) -> str:
    """Write a number with at most three digits after the point.

    Examples
    --------
    >>> plain(43.2), plain(15.0), plain(0.0)
    ('43.2', '15', '0')
    """
    text = f"{value:.{DECIMALS}f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _quoted(text: str) -> str:
    """Put a name into quotation marks where it is more than one plain word."""
    if re.fullmatch(r"[\w.+-]+", text):
        return text
    return '"' + re.sub(r'(["\\])', r"\\\1", " ".join(text.split())) + '"'


def _named(text: str) -> str:
    """Write the name of a file or a person, which goes to the end of its line."""
    flat = " ".join(text.split())
    return '"' + re.sub(r'(["\\])', r"\\\1", flat) + '"' if re.search(r'^"|#', flat) else flat

"""Checks of what a format makes of bad files: it refuses them with the place, and never falls over."""

from __future__ import annotations

import random
import re
import time
from collections import Counter
from collections.abc import Mapping
from typing import ClassVar

from lanewise.errors import LanewiseError, ReadingsError
from lanewise.testing.contracts import Unmet, check, skip
from lanewise.testing.examples import rows_of
from lanewise.testing.foreign import foreign_files
from lanewise.testing.importing import NOT_A_NUMBER
from lanewise.testing.recognising import Recognising

AFTER = ("descriptor", "examples")
PARTS = 16
ODD_NUMBERS = ("1e999", "-inf", "nan", "1_0", "0x10", "٣", "²", "1.2.3", "1,5,5", "--5", "+", "-", "1e", "NULL")
_PLACE = re.compile(
    r"\$[.\[]|\b(?:line|row|column|cell|sheet|page|byte|position|record|block|section|entry|field|element|member|group|"
    r"variable|table|plate|lane|spot|pixel|trace|point|value|key)\b[\s'\"(]*[\w'\"(\[]",
    re.IGNORECASE,
)


class Damaging(Recognising):
    """What a format makes of bad files.

    Attributes
    ----------
    mutations : int
        How many random changes of the examples are tried.
    small_seconds : float
        Time that one small file may take. [s]
    """

    mutations: ClassVar[int] = 100
    small_seconds: ClassVar[float] = 1.0

    def damaged(self) -> Mapping[str, bytes]:
        """Give further files that must be refused; override it.

        Returns
        -------
        mapping of str to bytes
            By file name. By itself none.
        """
        return {}

    @check(
        "Count what must be there (cells of a row, an end mark, a length in the head) and raise UnreadableFile.",
        after=AFTER,
    )
    def test_truncated(self) -> None:
        """A file cut at any sixteenth is refused, or gives rows of the whole file and at most one other."""
        for example in self._examples:
            whole = Counter(rows_of(self._read(example.data, example.name, example.options)))
            for part in range(1, PARTS):
                cut = example.data[: len(example.data) * part // PARTS]
                if not cut:
                    continue
                about = f"{example.name} cut at {part}/{PARTS} of its length"
                result = self._tolerated(cut, about, example.name)
                if isinstance(result, LanewiseError):
                    continue
                other = Counter(rows_of(result)) - whole
                if other.total() > 1:
                    shown = ", ".join(map(str, [*other][:3]))
                    raise Unmet(f"{about} to be refused, or rows of the whole file", f"others: {shown}")

    @check("Refuse a file that holds no readings with UnreadableFile, and say what was looked for.", after=AFTER)
    def test_empty(self) -> None:
        """Files with nothing in them are refused: blanks, line breaks, a byte-order mark, zeros."""
        for data in (b" ", b"\n", b"\r\n\r\n\r\n", b"\xef\xbb\xbf", b"\xff\xfe", b"\0" * 64, b"\t\t\n"):
            self._refused(data, f"a file of {data[:6]!r}")

    @check(
        "Look for the format's own signature before anything else, and raise UnreadableFile where it is missing.",
        after=AFTER,
    )
    def test_wrong_type(self) -> None:
        """Files of other kinds, read as this format, are refused: pictures, archives, prose, other tables."""
        for name, data in foreign_files().items():
            if name not in self.claims:
                self._refused(data, f"the foreign file {name}", name)

    @check("Pass over nothing in silence: refuse it, or say it in Readings.unread.", after=AFTER)
    def test_damaged(self) -> None:
        """Each file that the author calls damaged is refused, by a text that names it and says what was wanted."""
        files = self.damaged()
        if not files:
            skip("no further damaged files are given; override damaged()")
        for name, data in files.items():
            error = str(self._refused(data, f"the damaged file {name}", name))
            if name not in error or len(error.split()) < 4:
                raise Unmet(f"a text that names {name} and says what was wanted", error[:200])

    @check(
        "Leave cells as text in Readings, or catch ValueError around each conversion and raise UnreadableFile.",
        after=AFTER,
    )
    def test_odd_cells(self) -> None:
        """A cell that is no number, or an impossible one, is refused or read; nothing else is raised."""
        self._needs_numbered()
        for text in (NOT_A_NUMBER, *ODD_NUMBERS):
            self._tolerated(self.numbered(text) or b"", f"a file with {text!r} for a position")

    @check("Limit what one cell may hold, and use no method whose time grows with its square.", after=AFTER)
    def test_huge_cell(self) -> None:
        """A cell of a million letters or a hundred thousand digits is read or refused, within seconds."""
        tried = 0
        for about, data in (
            ("a label of a million letters", self.labelled("L" * 1_000_000)),
            ("a number of a hundred thousand digits", self.numbered("9" * 100_000)),
            ("a number of a thousand decimals", self.numbered("1." + "3" * 1000)),
        ):
            if data is None:
                continue
            tried += 1
            begin = time.perf_counter()
            self._tolerated(data, f"a file with {about}")
            took = time.perf_counter() - begin
            if took > 5 * self.small_seconds:
                raise Unmet(f"a file with {about} done within {5 * self.small_seconds:g} s", f"{took:.1f} s")
        if not tried:
            skip("no cell of the first example can be replaced; override labelled(label) and numbered(text)")

    @check(
        "Write the line, row, column or path into the text of UnreadableFile, or give a Problem with its row.",
        after=AFTER,
    )
    def test_place(self) -> None:
        """A faulty cell is refused by a text that names the file and the place."""
        self._needs_numbered()
        error = self._refused(self.numbered(NOT_A_NUMBER) or b"", f"a file with {NOT_A_NUMBER!r} for a position")
        text, name = str(error), self._first.name
        if name not in text:
            raise Unmet(f"a text that names {name}", text[:300])
        if isinstance(error, ReadingsError):
            for problem in error.problems:
                if name not in problem.file or (problem.row is None and not problem.column):
                    raise Unmet("the file, and the row or the column, of each problem", str(problem)[:300])
        elif not _PLACE.search(text.replace(name, "")):
            raise Unmet("a text that names the place", text[:300])

    def _needs_numbered(self) -> None:
        if self.numbered("1") is None:
            skip("no number of the first example is a position of its marks; override numbered(text)")

    @check(
        "Raise UnreadableFile for what cannot be; think of short lines, repeated lines, wrong bytes and missing ends.",
        after=AFTER,
    )
    def test_fuzz(self) -> None:
        """Random changes of the examples give a study or a refusal, nothing else, each within a second or as stated."""
        for number in range(self.mutations):
            example = self._examples[number % len(self._examples)]
            data = mutated(example.data, number)
            if not data:
                continue
            about = f"random change {number} of {example.name}, {data[:60]!r}..."
            took = []
            for _ in range(2):  # a busy machine may make one slow
                begin = time.perf_counter()
                self._tolerated(data, about, example.name)
                took.append(time.perf_counter() - begin)
                if took[-1] <= self.small_seconds:
                    break
            if min(took) > self.small_seconds:
                raise Unmet(f"{about} done within {self.small_seconds:g} s", f"{min(took):.1f} s")


def mutated(data: bytes, seed: int) -> bytes:
    r"""Change a file at random, the same way for the same seed.

    Parameters
    ----------
    data : bytes
        The file.
    seed : int
        Which change.

    Returns
    -------
    bytes
        With one to four changes: bytes turned, cut out, put in or repeated; lines swapped, repeated or dropped;
        numbers and signs exchanged.

    Examples
    --------
    >>> mutated(b"lane 1\nlane 2\n", 3) == mutated(b"lane 1\nlane 2\n", 3)
    True
    """
    rng = random.Random(seed)
    data = _CHANGES[seed % len(_CHANGES)](data, rng)
    for _ in range(rng.choice((0, 0, 0, 1, 2, 3))):
        data = rng.choice(_CHANGES)(data, rng)
    return data


def _span(data: bytes, rng: random.Random, longest: int = 40) -> tuple[int, int]:
    start = rng.randrange(len(data) + 1)
    return start, min(len(data), start + rng.randint(1, longest))


def _turn(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(max(1, len(data)))
    return data[:at] + bytes([rng.randrange(256)]) + data[at + 1 :]


def _cut_out(data: bytes, rng: random.Random) -> bytes:
    start, stop = _span(data, rng)
    return data[:start] + data[stop:]


def _put_in(data: bytes, rng: random.Random) -> bytes:
    at = rng.randrange(len(data) + 1)
    new = rng.choice(
        (rng.randbytes(rng.randint(1, 30)), b"\0", b"\n", b"\n\n", b",,,", b'"', b"\xff", b"nan", b"1e400")
    )
    return data[:at] + new + data[at:]


def _repeat(data: bytes, rng: random.Random) -> bytes:
    start, stop = _span(data, rng, 200)
    return data[:stop] + data[start:stop] * rng.randint(1, 3) + data[stop:]


def _cut_short(data: bytes, rng: random.Random) -> bytes:
    return data[: rng.randrange(len(data) + 1)]


def _two_lines(data: bytes, rng: random.Random) -> tuple[list[bytes], int, int]:
    lines = data.splitlines(keepends=True) or [data]
    return lines, rng.randrange(len(lines)), rng.randrange(len(lines))


def _swap_lines(data: bytes, rng: random.Random) -> bytes:
    lines, at, other = _two_lines(data, rng)
    lines[at], lines[other] = lines[other], lines[at]
    return b"".join(lines)


def _repeat_line(data: bytes, rng: random.Random) -> bytes:
    lines, at, _ = _two_lines(data, rng)
    return b"".join([*lines[: at + 1], *lines[at:]])


def _drop_line(data: bytes, rng: random.Random) -> bytes:
    lines, at, _ = _two_lines(data, rng)
    return b"".join([*lines[:at], *lines[at + 1 :]])


def _digits(data: bytes, rng: random.Random) -> bytes:
    places = [at for at, sign in enumerate(data) if sign in b"0123456789.,;:-"]
    if not places:
        return data
    at = rng.choice(places)
    return data[:at] + bytes([rng.choice(b"0123456789.,;:-eE ")]) + data[at + 1 :]


_CHANGES = (_turn, _cut_out, _put_in, _repeat, _cut_short, _swap_lines, _repeat_line, _drop_line, _digits)

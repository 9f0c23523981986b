"""Numbers of JCAMP-DX: plain (AFFN) and the compressed forms (ASDF: FIX, PAC, SQZ, DIF, with DUP).

In a compressed line the first sign of a number also says what it is: ``@A-Ia-i`` are +0, +1 to +9, -1 to -9 of a value
(SQZ), ``%J-Rj-r`` the same of a difference to the value before (DIF), ``S-Zs`` are 1 to 9 of how often the number
before stands there (DUP). A line that follows one ending in a difference repeats that last value first, as a check.

References
----------
McDonald and Wilks, Appl. Spectrosc. 42 (1988) 151: the tables of signs and the check. From memory; held in the tests to
published sample files.
"""

from __future__ import annotations

import re
from math import nan

from lanewise.errors import UnreadableFile

SQZ = "@ABCDEFGHI"
DIF = "%JKLMNOPQR"
_SQZ = {sign: str(n) for n, sign in enumerate(SQZ)} | {sign: f"-{n}" for n, sign in enumerate("abcdefghi", start=1)}
_DIF = {sign: str(n) for n, sign in enumerate(DIF)} | {sign: f"-{n}" for n, sign in enumerate("jklmnopqr", start=1)}
_DUP = {sign: str(n) for n, sign in enumerate("STUVWXYZs", start=1)}

_PLAIN = r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]\d+)?"  # an E without sign of an exponent is +5
_TOKEN = re.compile(rf"([@%?A-Za-s])(\d*)|({_PLAIN})")
_NUMBER = re.compile(_PLAIN)
_CODED = re.compile(r"[@%?A-DF-Za-df-s]|[Ee](?![+-]\d)")
_BETWEEN = " \t,;"
_MOST_DIGITS = 15
"""After the first; more than any writer of whole numbers of 32 bits needs."""


def numbers(line: str, where: str) -> list[float]:
    """Read the plain numbers of a line, as in pairs of x and y.

    Examples
    --------
    >>> numbers("11,100 13,1.5E-2; 14 -3", "line 1")
    [11.0, 100.0, 13.0, 0.015, 14.0, -3.0]
    """
    rest = _NUMBER.sub("", line).strip(_BETWEEN)
    if rest:
        raise UnreadableFile(f"{where}: wanted numbers, given {rest[:20]!r} among them.")
    return [float(word) for word in _NUMBER.findall(line)]


class Ordinates:
    """The ordinates of a table ``(X++(Y..Y))``, line by line.

    Attributes
    ----------
    values : list of float
        What was read so far; NaN for one that is missing (``?``).
    difference : bool
        Whether the last line ended in a difference, so that the next one begins with a check.

    Examples
    --------
    >>> table = Ordinates(most=10)
    >>> table.add("0 AJT%jX", "line 1")
    0.0
    >>> table.values[:4], table.difference
    ([1, 2, 3, 3], True)
    """

    def __init__(self, most: int) -> None:
        self.values: list[float] = []
        self.difference = False
        self._most = most

    def add(self, line: str, where: str) -> float:
        """Add the ordinates of a line.

        Returns
        -------
        float
            The abscissa with which the line begins.

        Raises
        ------
        UnreadableFile
            If a sign is unknown or stands where it may not, the check is missed, or there are more ordinates than
            the table may have.
        """
        start = _NUMBER.match(line.lstrip(_BETWEEN))
        if start is None:
            raise UnreadableFile(f"{where}: wanted an abscissa and ordinates, given {line[:20]!r}.")
        difference = False
        if _CODED.search(line) is None:
            given = numbers(line, where)[1:]
        else:
            given, difference = self._coded(line, where)
        if self.difference and given:
            if given[0] != self.values[-1]:
                raise UnreadableFile(
                    f"{where}: wanted the last ordinate of the line before, {self.values[-1]:g}, as a check, "
                    f"given {given[0]:g}. A line is damaged or lost."
                )
            del given[0]
        self.difference = difference
        self.values += given
        self._limit(len(self.values), where)
        return float(start.group())

    def _coded(self, line: str, where: str) -> tuple[list[float], bool]:
        """Give the ordinates of a line with compressed numbers, and whether it ends in a difference."""
        rest = _TOKEN.sub("", line).strip(_BETWEEN)
        if rest:
            raise UnreadableFile(f"{where}: {rest[:20]!r} is no number of JCAMP-DX.")
        given: list[float] = []
        step: float | None = None
        for sign, digits, plain in _TOKEN.findall(line)[1:]:
            if len(digits) > _MOST_DIGITS:
                raise UnreadableFile(f"{where}: wanted whole numbers of 32 bits, given {sign + digits[:20]!r}.")
            if sign in _DUP:
                count = int(_DUP[sign] + digits) - 1
                if not given:
                    raise UnreadableFile(f"{where}: {sign + digits!r} repeats a number that is missing.")
                self._limit(len(self.values) + len(given) + count - self.difference, where)
                last = given[-1]
                given += [last] * count if not step else [last + step * n for n in range(1, count + 1)]
            elif sign in _DIF:
                if not given:
                    raise UnreadableFile(f"{where}: {sign + digits!r} is a difference to a value that is missing.")
                step = int(_DIF[sign] + digits)
                given.append(given[-1] + step)
            else:
                step = None
                given.append(nan if sign == "?" else int(_SQZ[sign] + digits) if sign else float(plain))
        return given, step is not None

    def _limit(self, count: int, where: str) -> None:
        if count > self._most:
            raise UnreadableFile(f"{where}: wanted {self._most} ordinates as NPOINTS states, given more.")


def dif_lines(values: list[int], positions: list[float], width: int = 78) -> list[str]:
    """Write ordinates in DIF form: on each line an abscissa, a value, then differences; a check ends the table.

    Parameters
    ----------
    values : list of int, length N
        The ordinates.
    positions : list of float, length N
        Their abscissas.
    width : int, optional
        Longest line.

    Returns
    -------
    list of str
        The lines; each but the first begins with the last value of the line before.

    Examples
    --------
    >>> dif_lines([1, 2, 3, 3, 2, 1, 0, -1, -2, -3], list(range(10)))
    ['0 AJJ%jjjjjj', '9 c']
    """
    lines = []
    line = f"{positions[0]:.10g} {_signed(values[0], SQZ, 'abcdefghi')}"
    for before, value, position in zip(values, values[1:], positions, strict=False):
        step = _signed(value - before, DIF, "jklmnopqr")
        if len(line) + len(step) > width:
            lines.append(line)
            line = f"{position:.10g} {_signed(before, SQZ, 'abcdefghi')}"
        line += step
    lines.append(line)
    if len(values) > 1:
        lines.append(f"{positions[-1]:.10g} {_signed(values[-1], SQZ, 'abcdefghi')}")
    return lines


def _signed(value: int, plus: str, minus: str) -> str:
    digits = str(abs(value))
    return (plus[int(digits[0])] if value >= 0 else minus[int(digits[0]) - 1]) + digits[1:]

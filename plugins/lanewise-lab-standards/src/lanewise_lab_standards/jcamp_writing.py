"""Lane traces as JCAMP-DX."""

from __future__ import annotations

import re
from decimal import Decimal
from math import ceil, log10
from typing import TYPE_CHECKING

import numpy as np

from lanewise.errors import LanewiseError
from lanewise.hooks import Rendered
from lanewise_lab_standards.asdf import dif_lines
from lanewise_lab_standards.records import Profile, profiles

if TYPE_CHECKING:
    import lanewise

_WIDTH = 78
_FULL_SCALE = 2**31 - 1
"""The ordinates of the compressed forms are whole numbers of 32 bits."""


def write_jcamp(study: lanewise.Study, *, plate: str | None = None, form: str = "affn") -> Rendered:
    """Write the traces of a plate as JCAMP-DX 4.24.

    Parameters
    ----------
    study : Study
        The study.
    plate : str, optional
        Label of the plate, where there are several.
    form : {"affn", "dif"}
        Decimal numbers, which bring back every trace to the last bit; or compressed differences of whole numbers in
        units of YFACTOR, a power of ten below 5 billionths of the largest ordinate, of evenly spaced traces only.

    Returns
    -------
    Rendered
        For `lanewise.write`. One trace is a block, several are blocks of a LINK file. The same study gives the same
        bytes, all of them ASCII.

    Raises
    ------
    LanewiseError
        If there is no such plate or form, no trace, or one that DIF has no way to write.

    Notes
    -----
    Millimetres are no abscissa of the standard's list and CHROMATOGRAM is none of its data types: readers take both, a
    strict validator may not.

    Examples
    --------
    >>> import lanewise
    >>> trace = lanewise.Trace(positions=[10, 10.5, 11], values=[0.01, 0.08, 0.02])
    >>> plate = lanewise.Plate(label="bench 3", origin=10, lanes=[lanewise.Lane(label="B", traces=[trace])])
    >>> write_jcamp(lanewise.Study(plates=[plate])).main.decode().splitlines()[0]
    '##TITLE= bench 3, lane B'
    """
    if form not in ("affn", "dif"):
        raise LanewiseError(f"form: wanted 'affn' or 'dif', given {form!r}.")
    found = profiles(study, plate)
    blocks = [_block(profile, form, alone=len(found) == 1) for profile in found]
    if len(found) > 1:
        head = [
            f"##TITLE= {_words(study.title or 'Lane traces')}",
            "##JCAMP-DX= 4.24",
            "##DATA TYPE= LINK",
            "##ORIGIN= lanewise-lab-standards",
            "##OWNER= not stated",
            f"##BLOCKS= {len(found)}",
            *_record("study", found[0].records["study"]),
        ]
        blocks = [head, *blocks, ["##END="]]
    return Rendered(main="".join(f"{line}\n" for block in blocks for line in block).encode("ascii"))


def _block(profile: Profile, form: str, alone: bool) -> list[str]:
    """Write one trace."""
    positions, values = np.array(profile.trace.positions), np.array(profile.trace.values)
    factor, label, table = _dif(positions, values, profile.title) if form == "dif" else _affn(positions, values)
    front = "not stated" if profile.front is None else f"{profile.front!r} mm"
    unit = "ARBITRARY UNITS" if profile.trace.unit == "1" else _words(profile.trace.unit)
    return [
        f"##TITLE= {_words(profile.title)}",
        "##JCAMP-DX= 4.24",
        "##DATA TYPE= CHROMATOGRAM",
        "##ORIGIN= lanewise-lab-standards",
        "##OWNER= not stated",
        f"$$ distance along the lane of a plate; origin line {profile.origin!r} mm, front {front}",
        "##XUNITS= MILLIMETERS",
        f"##YUNITS= {unit}",
        f"##FIRSTX= {profile.trace.positions[0]!r}",
        f"##LASTX= {profile.trace.positions[-1]!r}",
        f"##NPOINTS= {len(positions)}",
        f"##FIRSTY= {profile.trace.values[0]!r}",
        f"##MAXY= {max(profile.trace.values)!r}",
        f"##MINY= {min(profile.trace.values)!r}",
        "##XFACTOR= 1",
        f"##YFACTOR= {factor!r}",
        *(line for key, text in profile.records.items() if alone or key != "study" for line in _record(key, text)),
        label,
        *table,
        "##END=",
    ]


def _affn(positions: np.ndarray, values: np.ndarray) -> tuple[float, str, list[str]]:
    """Write decimal numbers: evenly spaced ones by ordinates, others by pairs."""
    if np.array_equal(np.linspace(positions[0], positions[-1], len(positions)), positions):
        return 1.0, "##XYDATA= (X++(Y..Y))", _filled(positions, values)
    pairs = [f"{_plain(x)} {_plain(y)}" for x, y in zip(positions.tolist(), values.tolist(), strict=True)]
    return 1.0, "##XYPOINTS= (XY..XY)", pairs


def _filled(positions: np.ndarray, values: np.ndarray) -> list[str]:
    lines: list[str] = []
    line = ""
    for x, y in zip(positions.tolist(), values.tolist(), strict=True):
        word = _plain(y)
        if line and len(line) + 1 + len(word) <= _WIDTH:
            line += f" {word}"
            continue
        lines += [line] if line else []
        line = f"{_plain(x)} {word}"
    return [*lines, line]


def _plain(number: float) -> str:
    """Write a number without loss, and without an exponent where that is not too long: some readers know none."""
    plain = f"{Decimal(repr(number)):f}"
    return plain if len(plain) <= _WIDTH // 2 else repr(number)


def _dif(positions: np.ndarray, values: np.ndarray, title: str) -> tuple[float, str, list[str]]:
    """Write differences of whole numbers."""
    even = np.linspace(positions[0], positions[-1], len(positions))
    step = (positions[-1] - positions[0]) / (len(positions) - 1)
    if np.abs(even - positions).max() > 1e-6 * step:
        raise LanewiseError(f"{title}: form 'dif' wants evenly spaced positions, given others. Write form='affn'.")
    largest = float(np.abs(values).max())
    factor = float(f"1e{ceil(log10(largest / _FULL_SCALE))}") if largest > 1e-290 else 1.0
    whole = np.rint(values / factor).astype(int).tolist()
    return factor, "##XYDATA= (X++(Y..Y))", dif_lines(whole, positions.tolist(), _WIDTH)


def _record(key: str, text: str) -> list[str]:
    """Write a JSON text over lines that a reader strips and joins, without signs that mean something here."""
    plain = text.replace("$", "\\u0024").replace("#", "\\u0023")
    pieces = [plain[start : start + 60] for start in range(0, len(plain), 60)]
    lines = [re.sub("^ | $", r"\\u0020", piece) for piece in pieces]
    return [f"##$LANEWISE {key.upper()}= {lines[0]}", *lines[1:]]


def _words(text: str) -> str:
    """Make a text one line of ASCII that is neither label nor comment; the records have it to the letter."""
    line = " ".join("".join(sign if sign.isprintable() else " " for sign in text).split())
    return line.replace("$$", "$ $").replace("##", "# #").encode("ascii", "backslashreplace").decode()[:60]

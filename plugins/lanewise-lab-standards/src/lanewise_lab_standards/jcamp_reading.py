"""JCAMP-DX: labelled records as text, blocks, and the curves in them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from lanewise.errors import UnreadableFile
from lanewise_lab_standards.asdf import Ordinates, numbers
from lanewise_lab_standards.curves import MOST_POINTS, Curve, Peak, study_of
from lanewise_lab_standards.options import Asked, TraceOptions
from lanewise_lab_standards.records import KEYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    import lanewise
    from lanewise.hooks import Source

_NUMBER = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)(?:[Ee][+-]?\d+)?")
_WIDTH = 80
_TABLES = ("XYDATA", "XYPOINTS", "PEAKTABLE")
_NEAR = 1.05
"""How far the abscissa of a line may lie from its point, in steps: many programs round it, some cut digits off."""


@dataclass
class Block:
    """One block of a file: its records by normalised label, each with its lines and where it begins."""

    start: int
    parent: Block | None
    records: dict[str, list[tuple[int, str]]] = field(default_factory=dict)

    def text(self, *labels: str) -> str:
        """Give the text of the first label that is there, lines joined by spaces; empty where none is."""
        for label in labels:
            text = " ".join(line.strip() for _, line in self.records.get(label, ())).strip()
            if text:
                return text
        return ""

    @property
    def name(self) -> str:
        """What messages call the block."""
        return f"block {self.text('TITLE')[:40]!r} (line {self.start})"


def read(source: Source, options: TraceOptions) -> lanewise.Study:
    """Read the lane traces of a JCAMP-DX file.

    Parameters
    ----------
    source : Source
        The file.
    options : TraceOptions
        What it may not say.

    Returns
    -------
    Study
        One plate; a block with a curve is a lane.

    Raises
    ------
    UnreadableFile
        If a block is not closed or holds NTUPLES, a number cannot be read, a check fails, or no block has a curve; with
        the line.
    """
    asked = Asked(source.name, options)
    curves, left_out, points = [], [], 0
    for block in _blocks(source.text(), source.name):
        if "NTUPLES" in block.records or block.text("DATACLASS").upper() == "NTUPLES":
            raise UnreadableFile(
                f"{source.name}, {block.name}: wanted one curve a block (XYDATA or XYPOINTS), given NTUPLES, which are "
                "not read. Have the program that wrote it write each curve as a block of its own."
            )
        holds = any(label in block.records for label in _TABLES)
        if holds:
            curves.append(_curve(block, source.name))
        elif block.text("DATATYPE").upper() != "LINK":
            left_out.append(f"{source.name}: {block.name} was left out: it holds no curve.")
        points += len(curves[-1].values) if holds else 0
        if points > MOST_POINTS:
            raise UnreadableFile(f"{source.name}: wanted at most {MOST_POINTS} points, given more.")
    if not curves:
        raise UnreadableFile(f"{source.name}: wanted a block with XYDATA, XYPOINTS or PEAK TABLE, given none.")
    return study_of(curves, asked, left_out)


def _blocks(text: str, file: str) -> Iterator[Block]:
    """Give the blocks of a file in the order in which they close."""
    block: Block | None = None
    lines: list[tuple[int, str]] = []
    for number, raw in enumerate(text.strip("\ufeff\x1a").splitlines(), start=1):
        line = raw.partition("$$")[0]
        begin = line.lstrip()
        if not begin.startswith("##"):
            if begin and block is None:
                raise UnreadableFile(f"{file}, line {number}: wanted ##TITLE= to begin a block, given {begin[:30]!r}.")
            if begin:
                lines.append((number, line))
            continue
        label, sign, value = begin[2:].partition("=")
        label = re.sub(r"[\s/_-]", "", label).upper()
        if not sign:
            raise UnreadableFile(f"{file}, line {number}: wanted ##LABEL= with an equals sign, given {begin[:30]!r}.")
        if label == "END":
            if block is None:
                raise UnreadableFile(f"{file}, line {number}: wanted ##TITLE= to begin a block, given ##END=.")
            yield block
            block, lines = block.parent, []
        else:
            if block is None or (label == "TITLE" and "TITLE" in block.records):  # some begin with another label
                block = Block(number, block)
            lines = block.records.setdefault(label, [])
            if lines and label in _TABLES:
                raise UnreadableFile(f"{file}, line {number}: {block.name} has two tables ##{label}=.")
            lines.append((number, value))
    if block is not None:
        raise UnreadableFile(f"{file}: {block.name} is not closed: wanted ##END=, given the end of the file.")


def _curve(block: Block, file: str) -> Curve:
    """Give what a block holds: a curve, peaks, or both."""
    positions = values = np.empty(0)
    if "XYDATA" in block.records and _form(block, "XYDATA", file) == "(X++(Y..Y))":
        positions, values = _spaced(block, file)
    elif table := next((label for label in _TABLES[:2] if label in block.records), None):
        positions, values = _pairs(block, table, file)
        _check_ends(block, positions, file)
    peaks: tuple[Peak, ...] = ()
    if "PEAKTABLE" in block.records:
        peaks = tuple(Peak(at) for at in _pairs(block, "PEAKTABLE", file)[0].tolist())
    records = {}
    for key in KEYS:
        label = f"$LANEWISE{key.upper()}"
        holder = block if label in block.records or block.parent is None else block.parent
        if label in holder.records:
            records[key] = "".join(line.strip() for _, line in holder.records[label])
    unit = block.text("YUNITS")
    return Curve(
        where=f"{block.name}, XUNITS",
        positions=positions,
        values=values,
        x_unit=block.text("XUNITS"),
        unit="1" if unit.upper() in ("ABSORBANCE", "ARBITRARY UNITS") else unit,
        sample=block.text("NAMES", "SAMPLEDESCRIPTION", "TITLE"),
        peaks=peaks,
        records=records,
    )


def _form(block: Block, table: str, file: str) -> str:
    """Give the form of a table, such as (X++(Y..Y)), and refuse others than the two that are read."""
    line, text = block.records[table][0]
    form = re.sub(r"\s", "", text).upper()
    form += ")" * (form.count("(") - form.count(")"))
    if form not in (("(X++(Y..Y))", "(XY..XY)") if table == "XYDATA" else ("(XY..XY)",)):
        raise UnreadableFile(f"{file}, line {line}: ##{table}= in the form {text.strip()[:30]!r} is not read.")
    return form


def _spaced(block: Block, file: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Read a table (X++(Y..Y)) of evenly spaced points, and hold it to what the labels say."""
    first, last = _number(block, "FIRSTX", file), _number(block, "LASTX", file)
    count = _count(block, file)
    step = (last - first) / max(count - 1, 1)
    if "DELTAX" in block.records:
        stated = _number(block, "DELTAX", file)
        if abs(stated - step) > 0.01 * abs(step):
            raise UnreadableFile(
                f"{file}, line {block.records['DELTAX'][0][0]}: wanted a step of {step:.7g} by FIRSTX, LASTX and "
                f"NPOINTS, given DELTAX= {stated:.7g}. One of the four is wrong."
            )
    table = Ordinates(count)
    scale = _number(block, "XFACTOR", file, 1.0)
    line = block.records["XYDATA"][0][0]
    for line, text in block.records["XYDATA"][1:]:
        at = len(table.values) - table.difference  # a check stands for the point before
        given = table.add(text, f"{file}, line {line}") * scale
        wanted = first + step * at
        if abs(given - wanted) > _NEAR * abs(step) + 1e-6 * abs(wanted):
            raise UnreadableFile(
                f"{file}, line {line}: wanted the abscissa {wanted:.7g} of point {at + 1}, given {given:.7g}. "
                "A line before is damaged or lost."
            )
    _check_count(block, len(table.values), line, file)
    return np.linspace(first, last, count), _scaled(table.values, block, "YFACTOR", file)


def _pairs(block: Block, table: str, file: str) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Read a table (XY..XY)."""
    _form(block, table, file)
    given: list[float] = []
    line = block.records[table][0][0]
    for line, text in block.records[table][1:]:
        found = numbers(text, f"{file}, line {line}")
        if len(found) % 2:
            raise UnreadableFile(f"{file}, line {line}: wanted pairs of x and y, given {len(found)} numbers.")
        given += found
    if table != "PEAKTABLE" or not any(label in block.records for label in _TABLES[:2]):  # NPOINTS is of the curve
        _check_count(block, len(given) // 2, line, file)
    return _scaled(given[::2], block, "XFACTOR", file), _scaled(given[1::2], block, "YFACTOR", file)


def _scaled(values: list[float], block: Block, label: str, file: str) -> NDArray[np.float64]:
    with np.errstate(over="ignore", invalid="ignore"):
        return np.array(values, dtype=float) * _number(block, label, file, 1.0)


def _check_ends(block: Block, positions: NDArray[np.float64], file: str) -> None:
    """Hold the ends of a table of pairs to FIRSTX and LASTX, where they are stated."""
    for label, given in (("FIRSTX", positions[0]), ("LASTX", positions[-1])):
        stated = _number(block, label, file, float(given))
        if abs(stated - given) > 1e-3 * abs(positions[-1] - positions[0]):
            raise UnreadableFile(
                f"{file}, line {block.records[label][0][0]}: wanted {label}= {given:.7g} as in the table, "
                f"given {stated:.7g}. Points are lost, or XFACTOR is wrong."
            )


def _check_count(block: Block, given: int, line: int, file: str) -> None:
    wanted = _count(block, file)
    if given != wanted:
        raise UnreadableFile(
            f"{file}, line {line}: wanted {wanted} points as NPOINTS states, given {given} up to here. "
            "The table is cut short, or NPOINTS is wrong."
        )


def _count(block: Block, file: str) -> int:
    count = _number(block, "NPOINTS", file)
    if count != int(count) or not 1 <= count <= MOST_POINTS:
        raise UnreadableFile(
            f"{file}, line {block.records['NPOINTS'][0][0]}: wanted NPOINTS from 1 to {MOST_POINTS}, given {count:g}."
        )
    return int(count)


def _number(block: Block, label: str, file: str, default: float | None = None) -> float:
    """Read the number of a label."""
    if label not in block.records:
        if default is not None:
            return default
        raise UnreadableFile(f"{file}, {block.name}: wanted ##{label}=, given none.")
    line, text = block.records[label][0]
    text = text.strip()
    if len(text) > _WIDTH or not _NUMBER.fullmatch(text) or not isfinite(float(text)):
        raise UnreadableFile(f"{file}, line {line}: wanted a number for ##{label}=, given {text[:30]!r}.")
    return float(text)

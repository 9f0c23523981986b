"""AnIML core 0.90: experiment steps, and the series in them."""

from __future__ import annotations

import base64
import binascii
from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any
from xml.etree import ElementTree

import numpy as np

from lanewise.errors import UnreadableFile
from lanewise_lab_standards.curves import MOST_POINTS, Curve, study_of
from lanewise_lab_standards.options import Asked, TraceOptions
from lanewise_lab_standards.recognising import ANIML_NAMESPACE
from lanewise_lab_standards.records import KEYS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    import lanewise
    from lanewise.hooks import Source

_NS = f"{{{ANIML_NAMESPACE}}}"
_NUMBERS = ("I", "L", "F", "D")
_CODES = {"Int32": "<i4", "Int64": "<i8", "Float32": "<f4", "Float64": "<f8"}
_DEPTH = 100


def read(source: Source, options: TraceOptions) -> lanewise.Study:
    """Read the lane traces of an AnIML document.

    Parameters
    ----------
    source : Source
        The file.
    options : TraceOptions
        What it may not say.

    Returns
    -------
    Study
        One plate; an experiment step with series is a lane, each dependent series a trace.

    Raises
    ------
    UnreadableFile
        If it is not well-formed, has a document type or is nested too deep, is no AnIML of the core 0.90, or a series
        cannot be read; with the step and the series.
    """
    file = source.name
    root = _parsed(source.bytes(), file)
    if root.tag != f"{_NS}AnIML":
        raise UnreadableFile(f"{file}: wanted the root element AnIML of {ANIML_NAMESPACE}, given {root.tag[:80]!r}.")
    samples = {one.get("sampleID"): one.get("name", "") for one in root.iter(f"{_NS}Sample")}
    steps = list(root.iter(f"{_NS}ExperimentStep"))
    names = [step.get("name", "").strip() for step in steps]
    count = Counter(names)
    points = 0
    curves: list[Curve] = []
    left_out: list[str] = []
    for step, name in zip(steps, names, strict=True):
        label = name if name and count[name] == 1 else step.get("experimentStepID", "").strip()
        reference = step.find(f"{_NS}Infrastructure/{_NS}SampleReferenceSet/{_NS}SampleReference")
        sample = "" if reference is None else samples.get(reference.get("sampleID"), "")
        beside = _records(step, f"{_NS}Method/{_NS}Category")
        before = len(curves)
        for result in step.findall(f"{_NS}Result"):
            for table in result.findall(f"{_NS}SeriesSet"):
                records = beside | _records(result, f"{_NS}Category")
                curves += _curves(table, f"step {name!r}", file, lane=label, sample=sample, records=records)
        if len(curves) == before:
            left_out.append(f"{file}: experiment step {name!r} was left out: it holds no curve.")
        points += sum(len(curve.values) for curve in curves[before:])
        if points > MOST_POINTS:
            raise UnreadableFile(f"{file}: wanted at most {MOST_POINTS} points, given more.")
    if not curves:
        raise UnreadableFile(f"{file}: wanted a step with an independent and a dependent series, given none.")
    return study_of(curves, Asked(file, options), left_out)


class _Builder(ElementTree.TreeBuilder):
    """Builds the tree, and refuses what no document of this kind needs and what could do harm."""

    depth = 0

    def doctype(self, name: str, pubid: str, system: str) -> None:
        raise ValueError("it has a document type, and so perhaps entities; none is needed. Take the <!DOCTYPE> out")

    def start(self, tag: str, attributes: dict[str, str], /) -> ElementTree.Element:
        self.depth += 1
        if self.depth > _DEPTH:
            raise ValueError(f"it is nested more than {_DEPTH} deep")
        return super().start(tag, attributes)

    def end(self, tag: str, /) -> ElementTree.Element:
        self.depth -= 1
        return super().end(tag)


def _parsed(data: bytes, file: str) -> ElementTree.Element:
    try:
        return ElementTree.fromstring(data, ElementTree.XMLParser(target=_Builder()))
    except (ElementTree.ParseError, ValueError, LookupError) as fault:  # LookupError: an encoding that nobody knows
        raise UnreadableFile(f"{file}: wanted well-formed XML, given something else: {fault}.") from fault


def _records(holder: ElementTree.Element, path: str) -> dict[str, str]:
    """Give the texts that this plugin writes beside traces."""
    return {
        key: text
        for category in holder.findall(path)
        if category.get("name") == "lanewise"
        for one in category.findall(f"{_NS}Parameter")
        if (key := one.get("name", "")) in KEYS and (text := one.findtext(f"{_NS}S"))
    }


def _curves(table: ElementTree.Element, step: str, file: str, **beside: Any) -> Iterator[Curve]:
    """Give the curves of a set of series: each dependent one over the first independent one."""
    stated = table.get("length", "")
    if not stated.strip().isdecimal() or not 1 <= (length := int(stated)) <= MOST_POINTS:
        raise UnreadableFile(
            f"{file}, {step}: wanted a length of series from 1 to {MOST_POINTS}, given {stated[:30]!r}."
        )
    numeric = [one for one in table.findall(f"{_NS}Series") if one.get("seriesType") in _CODES]
    axes = [one for one in numeric if one.get("dependency") == "independent"]
    for series in numeric if axes else ():
        if series.get("dependency") == "dependent":
            where = f"{step}, series {axes[0].get('name', '')!r}"
            yield Curve(
                where=where,
                positions=_values(axes[0], length, f"{file}, {where}"),
                values=_values(series, length, f"{file}, {step}, series {series.get('name', '')!r}"),
                x_unit=_unit(axes[0]),
                unit=_unit(series) or "1",
                channel=series.get("name", "").strip(),
                **beside,
            )


def _unit(series: ElementTree.Element) -> str:
    """Give the unit of a series: its label, or millimetres where its SI part is exactly that."""
    unit = series.find(f"{_NS}Unit")
    if unit is None:
        return ""
    parts = unit.findall(f"{_NS}SIUnit")
    if len(parts) == 1 and (parts[0].text or "").strip() == "m":
        size = [parts[0].get(name, usual) for name, usual in (("factor", "1"), ("exponent", "1"), ("offset", "0"))]
        try:
            factor, exponent, offset = map(float, size)
        except ValueError:
            return unit.get("label", "")
        if (exponent, offset) == (1.0, 0.0):
            return {0.001: "mm", 0.01: "cm", 1e-6: "um", 0.0254: "in"}.get(factor, f"{factor:g} m")
    return unit.get("label", "")


def _values(series: ElementTree.Element, length: int, where: str) -> NDArray[np.float64]:
    """Give the numbers of a series, from the three ways in which they may stand there."""
    values: list[float] = []
    for part in series:
        kind = part.tag.removeprefix(_NS)
        if not kind.endswith("ValueSet"):
            continue
        start = part.get("startIndex", str(len(values))).strip()
        if start != str(len(values)):
            raise UnreadableFile(
                f"{where}: wanted values from index {len(values)} on, given startIndex {start[:20]!r}."
            )
        try:
            if kind == "AutoIncrementedValueSet":
                end = int(part.get("endIndex", length - 1))
                first, step = (_number(part.find(f"{_NS}{name}")) for name in ("StartValue", "Increment"))
                values += (first + step * np.arange(max(0, min(end + 1, length) - len(values)))).tolist()
            elif kind == "EncodedValueSet":
                text = "".join((part.text or "").split())
                values += np.frombuffer(
                    base64.b64decode(text, validate=True), _CODES[series.get("seriesType", "")]
                ).tolist()
            else:
                values += [float(one.text or "") for one in part if one.tag.removeprefix(_NS) in _NUMBERS]
        except (ValueError, OverflowError, binascii.Error) as fault:
            raise UnreadableFile(f"{where}: wanted numbers, given some that cannot be read ({fault}).") from fault
    if len(values) != length:
        raise UnreadableFile(f"{where}: wanted {length} values as the set of series states, given {len(values)}.")
    return np.array(values, dtype=float)


def _number(holder: ElementTree.Element | None) -> float:
    found = [] if holder is None else [float(one.text or "") for one in holder if one.tag.removeprefix(_NS) in _NUMBERS]
    if len(found) != 1:
        raise ValueError("a start value and an increment are wanted")
    return found[0]

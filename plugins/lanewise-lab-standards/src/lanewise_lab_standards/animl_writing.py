"""Lane traces as AnIML."""

from __future__ import annotations

import base64
from typing import TYPE_CHECKING
from xml.etree import ElementTree

import numpy as np

from lanewise.hooks import Rendered
from lanewise_lab_standards.recognising import ANIML_NAMESPACE
from lanewise_lab_standards.records import Profile, profiles

if TYPE_CHECKING:
    import lanewise

TECHNIQUE = "urn:lanewise:planar-chromatography:lane-profile"
"""There is no official definition of the technique for planar work; this name is our own."""

_LONGEST = 1024


def write_animl(study: lanewise.Study, *, plate: str | None = None, encoded: bool = False) -> Rendered:
    """Write the traces of a plate as AnIML, valid by the core schema 0.90.

    Parameters
    ----------
    study : Study
        The study.
    plate : str, optional
        Label of the plate, where there are several.
    encoded : bool, optional
        True for numbers as base64 of doubles, half as long, instead of decimal text. Both bring back every trace to the
        last bit.

    Returns
    -------
    Rendered
        For `lanewise.write`. A lane is an experiment step, a trace of it a result. The same study gives the same bytes.

    Raises
    ------
    LanewiseError
        If there is no such plate, or no trace.

    Notes
    -----
    No official definition of the technique was found for planar work; the file names one of this plugin's own.
    Names are tokens of 1024 signs at most there: white space is drawn together, control characters become their
    pictures. The records beside the traces have every text to the letter.

    Examples
    --------
    >>> import lanewise
    >>> trace = lanewise.Trace(positions=[10, 10.5, 11], values=[0.01, 0.08, 0.02])
    >>> plate = lanewise.Plate(label="bench 3", origin=10, lanes=[lanewise.Lane(label="B", traces=[trace])])
    >>> b"<AnIML" in write_animl(lanewise.Study(plates=[plate])).main
    True
    """
    found = profiles(study, plate)
    root = ElementTree.Element("AnIML", {"xmlns": ANIML_NAMESPACE, "version": "0.90"})
    samples = ElementTree.SubElement(root, "SampleSet")
    steps = ElementTree.SubElement(root, "ExperimentStepSet")
    step: ElementTree.Element | None = None
    lane: lanewise.Lane | None = None
    for number, profile in enumerate(found, start=1):
        if step is None or profile.lane is not lane:
            lane, label = profile.lane, _token(profile.lane.label)
            ElementTree.SubElement(
                samples, "Sample", {"name": _token(lane.sample) or f"lane {label}", "sampleID": f"sample-{number}"}
            )
            step = _step(steps, profile, number)
        _result(step, profile, number, encoded)
    ElementTree.indent(root)
    return Rendered(main=ElementTree.tostring(root, encoding="utf-8", xml_declaration=True) + b"\n")


def _step(steps: ElementTree.Element, profile: Profile, number: int) -> ElementTree.Element:
    """Write what holds for a lane."""
    name = {"name": _token(profile.lane.label), "experimentStepID": f"lane-{number}"}
    step = ElementTree.SubElement(steps, "ExperimentStep", name)
    ElementTree.SubElement(step, "Technique", {"name": "lane profile", "uri": TECHNIQUE})
    infrastructure = ElementTree.SubElement(step, "Infrastructure")
    references = ElementTree.SubElement(infrastructure, "SampleReferenceSet")
    role = {"sampleID": f"sample-{number}", "role": profile.lane.role, "samplePurpose": "consumed"}
    ElementTree.SubElement(references, "SampleReference", role)
    method = ElementTree.SubElement(step, "Method")
    lines = ElementTree.SubElement(method, "Category", {"name": "lines"})
    for name_of, position in (("origin", profile.origin), ("front", profile.front)):
        if position is not None:
            parameter = ElementTree.SubElement(lines, "Parameter", {"name": name_of, "parameterType": "Float64"})
            ElementTree.SubElement(parameter, "D").text = repr(position)
            _millimetres(parameter)
    texts = {key: text for key, text in profile.records.items() if key != "trace" and (key != "study" or number == 1)}
    _category(method, texts)
    return step


def _result(step: ElementTree.Element, profile: Profile, number: int, encoded: bool) -> None:
    """Write one trace."""
    trace = profile.trace
    result = ElementTree.SubElement(step, "Result", {"name": _token(trace.channel) or "trace"})
    size = {"name": "trace", "id": f"trace-{number}", "length": str(len(trace.values))}  # some readers demand the id
    table = ElementTree.SubElement(result, "SeriesSet", size)
    for name, kind, numbers in (
        ("position", "independent", trace.positions),
        (_token(trace.channel) or "signal", "dependent", trace.values),
    ):
        words = {"name": name, "dependency": kind, "seriesID": f"{kind}-{number}", "seriesType": "Float64"}
        series = ElementTree.SubElement(table, "Series", words)
        if encoded:
            code = base64.b64encode(np.array(numbers, "<f8").tobytes()).decode("ascii")
            ElementTree.SubElement(series, "EncodedValueSet").text = code
        else:
            values = ElementTree.SubElement(series, "IndividualValueSet")
            for one in numbers:
                ElementTree.SubElement(values, "D").text = repr(one)
        if kind == "independent":
            _millimetres(series)
        else:
            ElementTree.SubElement(series, "Unit", {"label": _token(trace.unit)})
    _category(result, {"trace": profile.records["trace"]})


def _millimetres(holder: ElementTree.Element) -> None:
    unit = ElementTree.SubElement(holder, "Unit", {"label": "mm", "quantity": "length"})
    ElementTree.SubElement(unit, "SIUnit", {"factor": "0.001"}).text = "m"


def _category(holder: ElementTree.Element, texts: dict[str, str]) -> None:
    """Write the texts that bring back what AnIML has no place for."""
    category = ElementTree.SubElement(holder, "Category", {"name": "lanewise"})
    for key, text in texts.items():
        parameter = ElementTree.SubElement(category, "Parameter", {"name": key, "parameterType": "String"})
        ElementTree.SubElement(parameter, "S").text = text


def _token(text: str) -> str:
    """Make a text a token of XML: one line, no control characters, not too long."""
    line = " ".join(text.split())
    signs = (chr(0x2400 + ord(sign)) if sign < " " else sign if _allowed(sign) else "\ufffd" for sign in line)
    return "".join(signs)[:_LONGEST].strip()


def _allowed(sign: str) -> bool:
    return sign not in "\ufffe\uffff"

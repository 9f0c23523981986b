"""Recognisers of the three formats, by their own signatures at the start of a file."""

from __future__ import annotations

import re

from lanewise.hooks import Recognition, Sample

ANIML_NAMESPACE = "urn:org:astm:animl:schema:core:draft:0.90"

_JCAMP = re.compile(r"^##[ \t]*JCAMP[-_/ ]*DX[ \t]*=", re.IGNORECASE | re.MULTILINE)
_ROOT = re.compile(r"<(?:[\w.-]+:)?AnIML[\s>/]")
_ELEMENT = re.compile(r"<[A-Za-z]")


def jcamp(sample: Sample) -> Recognition:
    r"""Recognise JCAMP-DX by its labels, above all JCAMP-DX.

    Examples
    --------
    >>> head = b"##TITLE= lane B\n##JCAMP-DX= 4.24\n"
    >>> jcamp(Sample("inks.jdx", head, len(head), head.decode())).claim
    'yes'
    """
    text = (sample.text or "").removeprefix("\ufeff")[:8192]
    lines = (line.lstrip() for line in text.splitlines())
    first = next((line for line in lines if line and not line.startswith("$$")), "")
    if not (first.startswith("##") and "=" in first):
        return Recognition.no("it does not begin with a label such as ##TITLE=")
    if _JCAMP.search(text):
        return Recognition.yes("it begins with a label and has ##JCAMP-DX=")
    return Recognition.maybe("it begins with a label, but has no ##JCAMP-DX= near the start")


def andi(sample: Sample) -> Recognition:
    r"""Recognise ANDI chromatography by the words of its template in classic netCDF.

    Examples
    --------
    >>> head = b"CDF\x01....aia_template_revision...ordinate_values"
    >>> andi(Sample("inks.cdf", head, len(head), None)).claim
    'yes'
    """
    if sample.head[:3] != b"CDF" or sample.head[3:4] not in (b"\x01", b"\x02"):
        return Recognition.no("it does not begin like classic netCDF")
    if b"aia_template_revision" in sample.head:
        return Recognition.yes("it is classic netCDF with aia_template_revision")
    if b"ordinate_values" in sample.head or b"peak_retention_time" in sample.head:
        return Recognition.maybe("it is classic netCDF with variables of ANDI, but without aia_template_revision")
    return Recognition.no("it is classic netCDF without the words of ANDI")


def animl(sample: Sample) -> Recognition:
    """Recognise AnIML by its root element and namespace.

    Examples
    --------
    >>> head = b'<AnIML version="0.90" xmlns="urn:org:astm:animl:schema:core:draft:0.90">'
    >>> animl(Sample("inks.xml", head, len(head), head.decode())).claim
    'yes'
    """
    text = sample.text or ""
    root = _ROOT.search(text[:8192])
    if root is None or _ELEMENT.search(text[: root.start()]):
        return Recognition.no("its root element is not AnIML")
    if ANIML_NAMESPACE in text[root.start() : 8192].partition(">")[0]:
        return Recognition.yes("its root element is AnIML of the core schema 0.90")
    return Recognition.maybe("its root element is AnIML, but not of the core schema 0.90")

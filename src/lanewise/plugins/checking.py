"""What a plugin returned, looked at before anything of it is used."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from typing import TypeVar

from lanewise.hooks import API_LEVEL, ImportFormat, ReportStyle
from lanewise.plugins.names import fault_of_name, one_line
from lanewise.plugins.options import describe_options

_LAZY = re.compile(r"[A-Za-z_]\w*(\.[A-Za-z_]\w*)*:[A-Za-z_]\w*")
_SUFFIX = re.compile(r"(\.[a-z0-9_+-]+)+")
_MEDIA_TYPE = re.compile(r"[a-z0-9.+-]+/[a-z0-9.+-]+")

Offer = TypeVar("Offer", ImportFormat, ReportStyle)


class Fault(Exception):
    """Why a plugin is left out; ``newer`` is the level it asks for where that is beyond this library, else None."""

    def __init__(self, reason: str, newer: int | None = None) -> None:
        super().__init__(reason)
        self.newer = newer


def checked_offers(returned: object, kind: type[Offer], hook: str) -> list[Offer]:
    """Check the list that a hook of one plugin returned.

    Parameters
    ----------
    returned : object
        What came back.
    kind : {ImportFormat, ReportStyle}
        What the list has to hold.
    hook : str
        Name of the hook, for the message.

    Returns
    -------
    list of ImportFormat or of ReportStyle
        The same things, in their order.

    Raises
    ------
    Fault
        On the first thing that is not as it has to be.
    """
    if isinstance(returned, kind):
        raise Fault(f"{hook}() wanted a list of {kind.__name__}, given a bare {kind.__name__}; put it into a list")
    if isinstance(returned, (str, bytes)) or not isinstance(returned, Sequence):
        raise Fault(f"{hook}() wanted a list of {kind.__name__}, given {one_line(repr(returned), 60)}")
    offers: list[Offer] = []
    for place, offer in enumerate(returned, start=1):
        if not isinstance(offer, kind):
            raise Fault(f"{hook}(), item {place}: wanted {kind.__name__}, given {one_line(repr(offer), 60)}")
        _check(offer, f"{hook}(), item {place}")
        if any(offer.name == other.name for other in offers):
            raise Fault(f"{hook}(), item {place}: the name {offer.name!r} stands there twice")
        offers.append(offer)
    return offers


def _check(offer: ImportFormat | ReportStyle, where: str) -> None:
    if isinstance(offer.api, bool) or not isinstance(offer.api, int) or offer.api < 1:
        raise Fault(f"{where}: api wanted a whole number, 1 or more, given {offer.api!r}")
    if offer.api > API_LEVEL:
        raise Fault(
            f"{offer.name!r} needs plugin interface level {offer.api}, this lanewise has {API_LEVEL}: update lanewise",
            newer=offer.api,
        )
    if bad := fault_of_name(offer.name):
        raise Fault(f"{where}: name {bad}")
    where = f"{where} ({offer.name})"
    if not isinstance(offer.title, str) or not offer.title.strip() or "\n" in offer.title:
        raise Fault(f"{where}: title wanted one line of text, given {offer.title!r}")
    if not isinstance(offer.description, str):
        raise Fault(f"{where}: description wanted text, given {offer.description!r}")
    _check_texts(offer.needs, "needs", "names of distributions, such as ('pillow',)", lambda text: bool(text), where)
    try:
        describe_options(offer.options)
    except Exception as fault:
        raise Fault(f"{where}: {fault}") from fault
    if isinstance(offer, ImportFormat):
        _check_function(offer.read, "read", where)
        _check_texts(offer.suffixes, "suffixes", "lower-case endings, such as ('.csv',)", _is_suffix, where)
        if offer.recognise is not None and not callable(offer.recognise):
            raise Fault(f"{where}: recognise wanted a function, given {offer.recognise!r}")
    else:
        _check_function(offer.render, "render", where)
        if not isinstance(offer.suffix, str) or not _is_suffix(offer.suffix):
            raise Fault(f"{where}: suffix wanted a lower-case ending such as '.html', given {offer.suffix!r}")
        if not isinstance(offer.media_type, str) or not _MEDIA_TYPE.fullmatch(offer.media_type):
            raise Fault(f"{where}: media_type wanted text such as 'text/html', given {offer.media_type!r}")


def _is_suffix(text: str) -> bool:
    return _SUFFIX.fullmatch(text) is not None


def _check_texts(texts: object, field: str, wanted: str, allowed: Callable[[str], bool], where: str) -> None:
    if not isinstance(texts, tuple) or not all(isinstance(text, str) and allowed(text) for text in texts):
        raise Fault(f"{where}: {field} wanted a tuple of {wanted}, given {texts!r}")


def _check_function(function: object, field: str, where: str) -> None:
    if callable(function) or (isinstance(function, str) and _LAZY.fullmatch(function)):
        return
    raise Fault(f"{where}: {field} wanted a function or 'module:function', given {function!r}")

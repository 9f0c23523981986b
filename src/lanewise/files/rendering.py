"""A report laid out in a style: found by name, its options checked, its bytes looked at before they go anywhere."""

from __future__ import annotations

from collections.abc import Mapping

from lanewise.document import Report
from lanewise.errors import StyleError
from lanewise.files.naming import check_extras
from lanewise.hooks import Rendered, ReportStyle
from lanewise.plugins.calling import blamed, function_of
from lanewise.plugins.options import make_options
from lanewise.plugins.records import Entry
from lanewise.plugins.registry import Registry, default_registry


def render(
    report: Report,
    style: str = "html",
    *,
    options: Mapping[str, object] | None = None,
    registry: Registry | None = None,
) -> Rendered:
    """Lay out a report.

    Parameters
    ----------
    report : Report
        What to lay out.
    style : str, optional
        Name of a report style, or ``distribution:name``.
    options : mapping of str to object, optional
        Options of the style.
    registry : Registry, optional
        Where styles are looked for; that of the process if left out.

    Returns
    -------
    Rendered
        Bytes of the main file and of the files beside it; nothing is written.

    Raises
    ------
    StyleError
        If there is no such style, or it returns something that cannot be written.
    OptionError
        If an option is unknown or not allowed.

    Examples
    --------
    >>> from lanewise.document import Report
    >>> page = render(Report(title="Writing inks", summary=(), sections=()), "text")
    >>> page.main.decode().splitlines()[0]
    'Writing inks'
    """
    if not isinstance(report, Report):
        raise StyleError(f"wanted a Report to lay out, given {type(report).__name__}")
    entry = (registry or default_registry()).style(style)
    made = make_options(entry.item.options, options, entry.what)
    function = function_of(entry)
    with blamed(entry, f"laying out {report.title!r}"):
        rendered = function(report, made)
    return _checked(rendered, entry)


def _checked(rendered: object, entry: Entry[ReportStyle]) -> Rendered:
    owner = f"{entry.what} ({entry.provider})"
    if not isinstance(rendered, Rendered):
        raise StyleError(f"{owner} wanted to return Rendered, returned {type(rendered).__name__}")
    if not isinstance(rendered.main, bytes) or not rendered.main:
        raise StyleError(
            f"{owner} returned no bytes as main file, but {type(rendered.main).__name__} {rendered.main!r:.40}"
        )
    if not isinstance(rendered.extras, Mapping):
        raise StyleError(
            f"{owner} returned extras as {type(rendered.extras).__name__}, wanted a mapping of name to bytes"
        )
    for name, data in rendered.extras.items():
        if not isinstance(data, bytes):
            raise StyleError(f"{owner} returned the extra file {name!r} as {type(data).__name__}, wanted bytes")
    try:
        check_extras(rendered.extras)
    except StyleError as fault:
        raise StyleError(f"{owner}: {fault}") from None
    return rendered

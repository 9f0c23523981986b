"""Names of files beside a report: plain ones, which stay in the folder and which every system can hold."""

from __future__ import annotations

from collections.abc import Mapping

from lanewise.errors import StyleError

LONGEST = 120
"""Longest name of an extra file, in bytes of UTF-8; folders in front of it need room too."""

_DEVICES = {"con", "prn", "aux", "nul", *(f"{port}{n}" for port in ("com", "lpt") for n in "123456789")}


def check_extras(extras: Mapping[str, bytes], main: str = "") -> None:
    """Refuse names of extra files that could land elsewhere, or that some system cannot tell apart or hold.

    Parameters
    ----------
    extras : mapping of name to bytes
        Files beside the main one.
    main : str, optional
        Name of the main file, which none of them may have.

    Raises
    ------
    StyleError
        On the first such name.

    Examples
    --------
    >>> check_extras({"plate-1.svg": b""}, "report.md")
    >>> check_extras({"../plate-1.svg": b""}, "report.md")
    Traceback (most recent call last):
    ...
    lanewise.errors.StyleError: extra file '../plate-1.svg': wanted a plain file name, given one with a folder or drive.
    """
    seen = {main.casefold(): main}
    for name in extras:
        fault = _fault_of_extra(name)
        if not fault and name.casefold() in seen:
            fault = f"one that {seen[name.casefold()]!r} has too, but for capitals"
        if fault:
            raise StyleError(f"extra file {name!r}: wanted a plain file name, given {fault}.")
        seen[name.casefold()] = name


def _fault_of_extra(name: object) -> str:
    if not isinstance(name, str) or not name:
        return "none"
    if any(sign in name for sign in "/\\:"):
        return "one with a folder or drive"
    if name.startswith("."):
        return "one that begins with a dot"
    if name.endswith((".", " ")) or name.startswith(" "):
        return "one with a dot or space at its edge"
    if any(ord(sign) < 32 or sign in '<>"|?*' for sign in name):
        return "one with signs that file names cannot hold everywhere"
    if len(name.encode("utf-8", "replace")) > LONGEST:
        return f"one of more than {LONGEST} bytes"
    if name.split(".")[0].casefold() in _DEVICES:
        return "the name of a device"
    return ""

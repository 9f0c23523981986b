"""Names of plugins, formats and styles: how they are compared, and which one was probably meant."""

from __future__ import annotations

import re
from collections.abc import Iterable

LONGEST = 40
_RULE = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def same_form(name: str) -> str:
    """Bring the name of a distribution into the form in which such names are compared.

    Lower case, runs of ``-``, ``_`` and ``.`` as one hyphen, as the Python packaging specifications lay down
    under *names and normalization*.

    Examples
    --------
    >>> same_form("Lanewise_Photo")
    'lanewise-photo'
    """
    return re.sub(r"[-_.]+", "-", name.strip()).lower()


def fault_of_name(name: object) -> str:
    """Say what is wrong with the name of a format or style; empty where nothing is.

    Examples
    --------
    >>> fault_of_name("bench-sheet")
    ''
    >>> fault_of_name("Bench Sheet")
    "wanted lower-case ASCII words joined by hyphens, at most 40 characters, given 'Bench Sheet'"
    """
    if isinstance(name, str) and len(name) <= LONGEST and _RULE.fullmatch(name):
        return ""
    return f"wanted lower-case ASCII words joined by hyphens, at most {LONGEST} characters, given {name!r}"


def nearest(name: str, names: Iterable[str]) -> str:
    """Give the hint ``" Did you mean 'x'?"`` for a name that is not there; empty where none is near.

    Examples
    --------
    >>> nearest("bench-shet", ["bench-sheet", "photo"])
    " Did you mean 'bench-sheet'?"
    >>> nearest("zzz", ["bench-sheet", "photo"])
    ''
    """
    import difflib

    close = difflib.get_close_matches(name.lower(), sorted(names), n=1, cutoff=0.6)
    return f" Did you mean {close[0]!r}?" if close else ""


def one_line(text: object, longest: int = 300) -> str:
    r"""Bring a text of unknown length into one line.

    Examples
    --------
    >>> one_line("first\n  second")
    'first second'
    """
    line = " ".join(str(text).split())
    return line if len(line) <= longest else line[: longest - 3] + "..."

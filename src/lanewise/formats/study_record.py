"""The library's own record of a study, as JSON."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Any

from lanewise.errors import RecordError, UnreadableFile
from lanewise.hooks import Recognition, Sample, Source

if TYPE_CHECKING:
    from lanewise.model.studies import Study

_SIGNATURE = re.compile(r'"kind"\s*:\s*"lanewise study"')
_NEAR_THE_START = 4096


def recognise(sample: Sample) -> Recognition:
    """Recognise a record by its kind.

    Examples
    --------
    >>> head = b'{"kind": "lanewise study", "schema_version": 1}'
    >>> recognise(Sample("inks.json", head, len(head), head.decode())).claim
    'yes'
    """
    text = (sample.text or "").lstrip("\ufeff \t\r\n")
    if not text.startswith("{"):
        return Recognition.no("it does not start with a brace")
    if _SIGNATURE.search(text[:_NEAR_THE_START]):
        return Recognition.yes('it is JSON with "kind": "lanewise study" near the start')
    return Recognition.no('it lacks "kind": "lanewise study" near the start')


def read(source: Source, options: Any) -> Study:
    """Read a study from its record.

    Parameters
    ----------
    source : Source
        The file.
    options : object
        The format has none.

    Returns
    -------
    Study
        As it was written.

    Raises
    ------
    UnreadableFile
        If the file is not a record, or a value in it is not possible; with the place.
    """
    from lanewise.model.record import decode

    try:
        return decode(source.bytes())
    except RecordError as error:
        raise UnreadableFile(f"{source.name}: {error}") from error

"""Records of the library, with other values."""

from __future__ import annotations

from typing import Any, TypeVar

_Made = TypeVar("_Made", bound=Any)


def changed(record: _Made, **changes: object) -> _Made:
    """Give a copy of a record with other values.

    Examples
    --------
    >>> import lanewise
    >>> changed(lanewise.Lane(label="1"), sample="ink A").sample
    'ink A'
    """
    fields = {name: getattr(record, name) for name in record.__struct_fields__}
    made: _Made = type(record)(**{**fields, **changes})
    return made

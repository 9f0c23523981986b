"""The base of every record: frozen, and each field checked in the moment a record is made."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from difflib import get_close_matches
from functools import cache
from math import isfinite
from numbers import Integral, Real
from typing import Annotated, Any, TypeAlias, cast

import msgspec
import msgspec.inspect

from lanewise.errors import RecordError

_MM: dict[str, Any] = {"unit": "mm"}

Name: TypeAlias = Annotated[str, msgspec.Meta(pattern=r"\S")]
Millimetres: TypeAlias = Annotated[float, msgspec.Meta(extra_json_schema=_MM)]
Size: TypeAlias = Annotated[float, msgspec.Meta(gt=0, extra_json_schema=_MM)]
Uncertainty: TypeAlias = Annotated[float, msgspec.Meta(ge=0, extra_json_schema=_MM)]
Factors: TypeAlias = dict[Name, Name]

_Check: TypeAlias = Callable[[Any], Any]
_WORDS = {
    bool: "yes or no",
    float: "number",
    int: "number",
    str: "text",
    type(None): "nothing",
    dict: "mapping",
    list: "list",
    tuple: "list",
}


class Record(msgspec.Struct, frozen=True, forbid_unknown_fields=True):
    """Base of the record types.

    A whole number or a NumPy number is taken where a number is wanted and becomes a `float`, a list
    becomes a `tuple`, a mapping is copied. Everything else must have the type that the field states; NaN and
    infinity are refused everywhere.
    """

    def __post_init__(self) -> None:
        for name, (default, check) in _plan(type(self)).items():
            value = getattr(self, name)
            if value is default:
                continue
            try:
                kept = check(value)
            except _Refused as refused:
                raise RecordError(f"{which(self)}, {name}: {_words(name, refused)}") from None
            if kept is not value:
                msgspec.structs.force_setattr(self, name, kept)


def refusal(where: str, wanted: str, given: str, todo: str) -> RecordError:
    """Make the error of a record: which thing, what was wanted, what was given, what to do.

    Examples
    --------
    >>> print(refusal("lane 'B'", "a front above the origin at 10 mm", "8 mm", "Correct one of them."))
    lane 'B': wanted a front above the origin at 10 mm, given 8 mm. Correct one of them.
    """
    return RecordError(f"{where}: wanted {wanted}, given {given}. {todo}")


def which(record: Record) -> str:
    """Name a record in words, by its kind and its label where it has one.

    Examples
    --------
    >>> from lanewise.model.solvents import Component
    >>> which(Component(substance="water", parts=1))
    "component 'water'"
    """
    kind = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(record).__name__).lower()
    for field in ("label", "name", "substance", "channel", "title"):
        label = getattr(record, field, None)
        if isinstance(label, str) and label.strip():
            return f"{kind} {label!r}"
    return kind


def shown(value: object) -> str:
    """Show a value as it was given, shortened, with its kind where that could be the mistake.

    Examples
    --------
    >>> print(shown("12"), "|", shown(float("nan")), "|", shown(None))
    '12' (text) | nan | nothing
    """
    if value is None:
        return "nothing"
    text = repr(value)
    if len(text) > 60:
        text = f"{text[:57]}..."
    if isinstance(value, (float, int)) and not isinstance(value, bool):
        return text
    return f"{text} ({_WORDS.get(type(value), type(value).__name__)})"


class _Refused(Exception):
    """A value does not fit its field."""

    def __init__(self, wanted: str, given: object, choices: tuple[str, ...] = ()) -> None:
        super().__init__(wanted)
        self.wanted = wanted
        self.given = given
        self.choices = choices


def _remedy(name: str, refused: _Refused) -> str:
    """Say what to do about a value that does not fit its field."""
    given, choices = refused.given, refused.choices
    if isinstance(given, float) and not isfinite(given):
        return f"Leave {name} out where nothing was read."
    if isinstance(given, str):
        near = get_close_matches(given.strip().lower(), choices, n=1)
        if near:
            return f"Did you mean {near[0]!r}?"
        if "number" in refused.wanted and re.fullmatch(r"\s*[-+.\d]+\s*", given):
            return "Give the number without quotes."
    return f"Correct {name}."


def fit(cls: type[Record], name: str, value: object) -> object:
    """Fit a value to a field of a record type.

    Returns
    -------
    object
        The value as the record would keep it.

    Raises
    ------
    RecordError
        If it does not fit; the text has what was wanted, what was given and what to do.

    Examples
    --------
    >>> from lanewise.model.solvents import Component
    >>> fit(Component, "parts", 70)
    70.0
    """
    try:
        return _plan(cls)[name][1](value)
    except _Refused as refused:
        raise RecordError(_words(name, refused)) from None


@cache
def field_types(cls: type[Record]) -> dict[str, msgspec.inspect.Type]:
    """Give the fields of a record type with what they hold."""
    info = msgspec.inspect.type_info(cls)
    assert isinstance(info, msgspec.inspect.StructType)
    return {field.name: field.type for field in info.fields}


def part(cls: type[Record], name: str) -> type[Record] | None:
    """Give the record type that a field holds, alone or in a tuple; None for plain values and unknown fields."""
    kind = field_types(cls).get(name)
    kinds = list(kind.types) if isinstance(kind, msgspec.inspect.UnionType) else [kind]
    for one in kinds:
        item = one.item_type if isinstance(one, msgspec.inspect.VarTupleType) else one
        if isinstance(item, msgspec.inspect.StructType):
            return cast("type[Record]", item.cls)
    return None


def _words(name: str, refused: _Refused) -> str:
    return f"wanted {refused.wanted}, given {shown(refused.given)}. {_remedy(name, refused)}"


@cache
def _plan(cls: type[Record]) -> dict[str, tuple[object, _Check]]:
    """Give, for each field of a record type, its default, which passes unseen, and its check."""
    defaults = {field.name: field.default for field in msgspec.structs.fields(cls)}
    return {name: (defaults[name], _field(kind)) for name, kind in field_types(cls).items()}


def _field(kind: msgspec.inspect.Type) -> _Check:
    if not isinstance(kind, msgspec.inspect.UnionType):
        return _check(kind, "")
    kinds = [one for one in kind.types if not isinstance(one, msgspec.inspect.NoneType)]
    assert len(kinds) == 1, "a field has one type, or one type and None"
    check = _check(kinds[0], " or nothing")
    return lambda value: None if value is None else check(value)


def _check(kind: msgspec.inspect.Type, also: str) -> _Check:
    """Make the check of one type; `also` ends its wording."""
    unit = ""
    if isinstance(kind, msgspec.inspect.Metadata):
        unit = (kind.extra_json_schema or {}).get("unit", "")
        kind = kind.type
    match kind:
        case msgspec.inspect.StrType():
            return _text(kind.pattern, also)
        case msgspec.inspect.BoolType():
            return _exact(bool, f"yes or no (True or False){also}")
        case msgspec.inspect.IntType():
            assert kind.ge is not None and kind.le is not None, "a whole number has limits"  # noqa: PT018
            return _whole(kind.ge, kind.le, also)
        case msgspec.inspect.FloatType():
            return _number(kind.gt, kind.ge, f" [{unit}]" if unit else "", also)
        case msgspec.inspect.LiteralType():
            return _choice(tuple(kind.values))
        case msgspec.inspect.VarTupleType():
            return _tuple(_check(kind.item_type, ""))
        case msgspec.inspect.DictType():
            return _mapping(_check(kind.key_type, ""), _check(kind.value_type, ""))
        case msgspec.inspect.StructType():
            return _exact(kind.cls, f"a {kind.cls.__name__}{also}")
    raise TypeError(f"no check for fields of type {kind}")


def _text(pattern: str | None, also: str) -> _Check:
    fits = re.compile(pattern).search if pattern else None
    wanted = {None: "text", r"\S": "text with something to read in it"}.get(pattern, f"text of the form {pattern}")

    def check(value: Any) -> str:
        if not isinstance(value, str):
            raise _Refused(wanted + also, value)
        if fits is not None and not fits(value):
            raise _Refused(wanted + also, value)
        if not value.isascii() or "\0" in value:
            _check_letters(value)
        return value

    return check


def _check_letters(value: str) -> None:
    if "\0" in value:
        raise _Refused("text without NUL characters", value)
    try:
        value.encode()
    except UnicodeEncodeError:
        raise _Refused("text that can be written as UTF-8", value) from None


def _number(gt: float | None, ge: float | None, unit: str, also: str) -> _Check:
    bound = "a number" if gt is None else f"a number above {gt:g}"
    if ge is not None:
        bound = f"a number not below {ge:g}"
    wanted = f"{bound}{unit}{also}"

    def check(value: Any) -> float:
        if type(value) is not float:
            if isinstance(value, bool) or not isinstance(value, Real):
                raise _Refused(wanted, value)
            try:
                value = float(value)
            except OverflowError:
                raise _Refused(wanted, value) from None
        if not isfinite(value) or (gt is not None and value <= gt) or (ge is not None and value < ge):
            raise _Refused(wanted, value)
        return cast("float", value)

    return check


def _whole(least: int, most: int, also: str) -> _Check:
    wanted = f"a whole number from {least} to {most}{also}"

    def check(value: Any) -> int:
        if isinstance(value, bool) or not isinstance(value, Integral) or not least <= int(value) <= most:
            raise _Refused(wanted, value)
        return int(value)

    return check


def _exact(cls: type, wanted: str) -> _Check:
    def check(value: Any) -> Any:
        if not isinstance(value, cls):
            raise _Refused(wanted, value)
        return value

    return check


def _choice(values: tuple[Any, ...]) -> _Check:
    wanted = "one of " + ", ".join(repr(value) for value in values)

    def check(value: Any) -> Any:
        if not isinstance(value, str) or value not in values:
            raise _Refused(wanted, value, values)
        return value

    return check


def _tuple(item: _Check) -> _Check:
    def check(value: Any) -> tuple[Any, ...]:
        if not isinstance(value, (tuple, list)):
            raise _Refused("a list or tuple", value)
        return tuple(map(item, value))

    return check


def _mapping(key: _Check, content: _Check) -> _Check:
    def check(value: Any) -> dict[str, str]:
        if not isinstance(value, Mapping):
            raise _Refused("a mapping of text to text", value)
        for name, text in value.items():
            key(name)
            content(text)
        return dict(value)

    return check

"""Options of formats and styles: declared once by the plugin, checked and converted here."""

from __future__ import annotations

import dataclasses
import math
import numbers
import types
import typing
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from lanewise.errors import OptionError
from lanewise.plugins.names import nearest

_YES = {"yes", "true", "on", "1"}
_NO = {"no", "false", "off", "0"}


@dataclass(frozen=True, slots=True)
class OptionInfo:
    """One option, described for help texts and documentation.

    Attributes
    ----------
    name : str
        Name of the option.
    kind : {"text", "whole number", "number", "yes or no"}
        What its value is.
    default : object
        Value where none is given.
    help, unit : str
        What it does, and the unit of its value.
    choices : tuple
        The allowed values; empty where they are not counted out.
    minimum, maximum : float or None
        Limits, allowed themselves.
    optional : bool
        True where None (as text: nothing) is allowed.
    """

    name: str
    kind: str
    default: object
    help: str
    unit: str
    choices: tuple[object, ...]
    minimum: float | None
    maximum: float | None
    optional: bool

    @property
    def wanted(self) -> str:
        """What is allowed, in words: ``number from 0 to 5, in mm``."""
        if self.choices:
            return "one of " + ", ".join(map(repr, self.choices))
        words = self.kind
        if self.minimum is not None and self.maximum is not None:
            words += f" from {self.minimum:g} to {self.maximum:g}"
        elif self.minimum is not None:
            words += f", {self.minimum:g} or more"
        elif self.maximum is not None:
            words += f", {self.maximum:g} or less"
        return words + (f", in {self.unit}" if self.unit else "") + (", or nothing" if self.optional else "")

    def __str__(self) -> str:
        unit = f" {self.unit}" if self.unit and self.default is not None else ""
        return f"{self.name} ({self.help}; default {self.default!r}{unit})"


def describe_options(options_type: type | None) -> list[OptionInfo]:
    """Describe the options that a format or style takes.

    Parameters
    ----------
    options_type : type or None
        A frozen dataclass whose fields were made with `lanewise.hooks.option`; None where there are no options.

    Returns
    -------
    list of OptionInfo
        In the order of declaration.

    Raises
    ------
    TypeError
        If the type is not such a dataclass; the text says what is missing. The host meets this when it loads a plugin,
        never when somebody uses one.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> from lanewise.hooks import option
    >>> @dataclass(frozen=True)
    ... class SheetOptions:
    ...     division: float = option(1.0, help="division of the ruler", unit="mm", minimum=0)
    >>> [info.wanted for info in describe_options(SheetOptions)]
    ['number, 0 or more, in mm']
    """
    if options_type is None:
        return []
    if not isinstance(options_type, type) or not dataclasses.is_dataclass(options_type):
        raise TypeError(f"options wanted a frozen dataclass, given {options_type!r}")
    if not options_type.__dataclass_params__.frozen:  # type: ignore[attr-defined]
        raise TypeError(f"options class {options_type.__name__} is not frozen; write @dataclass(frozen=True)")
    hints = typing.get_type_hints(options_type)
    return [_describe(field, hints[field.name]) for field in dataclasses.fields(options_type) if field.init]


def _describe(field: dataclasses.Field[Any], hint: Any) -> OptionInfo:
    arguments = typing.get_args(hint)
    optional = isinstance(hint, types.UnionType) or typing.get_origin(hint) is typing.Union
    choices = tuple(field.metadata.get("choices", ()))
    if optional and type(None) in arguments and len(arguments) == 2:
        hint = next(argument for argument in arguments if argument is not type(None))
    if typing.get_origin(hint) is typing.Literal:
        choices = choices or typing.get_args(hint)
        hint = type(choices[0])
    if hint not in _KINDS:
        raise TypeError(f"option {field.name!r}: type wanted str, int, float or bool, given {hint!r}")
    if not field.metadata.get("help"):
        raise TypeError(f"option {field.name!r} has no help text; declare it with option(default, help=...)")
    if field.default is dataclasses.MISSING:
        raise TypeError(f"option {field.name!r} has no default; declare it with option(default, help=...)")
    info = OptionInfo(
        name=field.name,
        kind=_KINDS[hint],
        default=field.default,
        help=field.metadata["help"],
        unit=field.metadata.get("unit", ""),
        choices=choices,
        minimum=field.metadata.get("minimum"),
        maximum=field.metadata.get("maximum"),
        optional=optional,
    )
    try:
        _convert(info, field.default)
    except ValueError as fault:
        raise TypeError(f"option {field.name!r}: default {field.default!r} is not allowed: {fault}") from fault
    return info


def make_options(options_type: type | None, given: object = None, what: str = "format") -> Any:
    """Check and convert the options that somebody gave.

    Parameters
    ----------
    options_type : type or None
        What the format or style declares; None where it takes no options.
    given : mapping of str to object, or an instance of `options_type`, or None
        Texts (from a command line) are converted to the type of each option.
    what : str
        How the message calls the owner: ``"format 'marks-table'"``.

    Returns
    -------
    object
        An instance of `options_type`; None where there are no options.

    Raises
    ------
    OptionError
        If an option is unknown, or its value is of the wrong kind or outside its limits.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> from lanewise.hooks import option
    >>> @dataclass(frozen=True)
    ... class SheetOptions:
    ...     division: float = option(1.0, help="division of the ruler", unit="mm", minimum=0)
    >>> make_options(SheetOptions, {"division": "0.5"}, "format 'bench-sheet'")
    SheetOptions(division=0.5)
    >>> make_options(SheetOptions, {"divsion": "0.5"}, "format 'bench-sheet'")
    Traceback (most recent call last):
    ...
    lanewise.errors.OptionError: format 'bench-sheet' has no option 'divsion'. Did you mean 'division'? It takes: ...
    """
    if given is None:
        given = {}
    if options_type is not None and isinstance(given, options_type):
        given = {info.name: getattr(given, info.name) for info in describe_options(options_type)}
    if not isinstance(given, Mapping):
        raise OptionError(f"{what}: options wanted a mapping of names to values, given {type(given).__name__}")
    infos = {info.name: info for info in describe_options(options_type)}
    for name in given:
        if name not in infos:
            raise OptionError(_unknown(str(name), infos, what))
    values = {name: _checked(infos[name], value, what) for name, value in given.items()}
    if options_type is None:
        return None
    try:
        return options_type(**values)
    except (TypeError, ValueError) as fault:
        raise OptionError(f"{what}: its options do not go together: {fault}") from fault


def options_as_text(options: object) -> dict[str, str]:
    """Give options as texts that `make_options` turns into the same options.

    Parameters
    ----------
    options : instance of an options class, or None
        From `make_options`.

    Examples
    --------
    >>> from dataclasses import dataclass
    >>> from lanewise.hooks import option
    >>> @dataclass(frozen=True)
    ... class SheetOptions:
    ...     header: bool = option(True, help="whether line 1 holds headings")
    >>> options_as_text(SheetOptions()), options_as_text(None)
    ({'header': 'yes'}, {})
    """
    if options is None:
        return {}
    return {info.name: _text_of(getattr(options, info.name)) for info in describe_options(type(options))}


def _text_of(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    return "" if value is None else str(value)


def _unknown(name: str, infos: Mapping[str, OptionInfo], what: str) -> str:
    if not infos:
        return f"{what} takes no options, given {name!r}. Leave it out."
    takes = "; ".join(map(str, infos.values()))
    return f"{what} has no option {name!r}.{nearest(name, infos)} It takes: {takes}."


def _checked(info: OptionInfo, value: object, what: str) -> object:
    try:
        return _convert(info, value)
    except ValueError as fault:
        near = nearest(value, map(str, info.choices)) if isinstance(value, str) and info.choices else ""
        raise OptionError(
            f"{what}, option {info.name!r}: wanted {info.wanted}, given {value!r} ({fault}).{near}"
        ) from None


def _convert(info: OptionInfo, value: object) -> object:
    """Convert one value; raise ValueError with the reason where it is not allowed."""
    if info.optional and (value is None or (isinstance(value, str) and not value.strip())):
        return None
    result = _CONVERTERS[info.kind](value)
    if info.choices and result not in info.choices:
        raise ValueError("not one of the choices")
    if isinstance(result, (int, float)) and not isinstance(result, bool):
        if info.minimum is not None and result < info.minimum:
            raise ValueError("too small")
        if info.maximum is not None and result > info.maximum:
            raise ValueError("too large")
    return result


def _as_text(value: object) -> str:
    if not isinstance(value, str):
        raise ValueError("not a text")
    return value


def _as_whole(value: object) -> int:
    if isinstance(value, str):
        try:
            return int(value.strip())
        except ValueError:
            raise ValueError("not a whole number") from None
    if isinstance(value, bool) or not isinstance(value, numbers.Integral):
        raise ValueError("not a whole number")
    return int(value)


def _as_number(value: object) -> float:
    if isinstance(value, str):
        try:
            number = float(value.strip())
        except ValueError:
            comma = " (write the decimal mark as a point)" if "," in value else ""
            raise ValueError(f"not a number{comma}") from None
    elif isinstance(value, bool) or not isinstance(value, numbers.Real):
        raise ValueError("not a number")
    else:
        number = float(value)
    if not math.isfinite(number):
        raise ValueError("not a finite number")
    return number


def _as_choice(value: object) -> bool:
    if isinstance(value, bool):
        return value
    word = value.strip().lower() if isinstance(value, str) else ""
    if word in _YES | _NO:
        return word in _YES
    raise ValueError("not yes or no")


_KINDS: dict[Any, str] = {str: "text", int: "whole number", float: "number", bool: "yes or no"}
_CONVERTERS: dict[str, Callable[[object], object]] = {
    "text": _as_text,
    "whole number": _as_whole,
    "number": _as_number,
    "yes or no": _as_choice,
}

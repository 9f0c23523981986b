"""A study as JSON: written without loss, read with every fault named by its path, described by a JSON Schema.

``python -m lanewise.model.record`` writes the published schema, `SCHEMA_FILE`, anew.
"""

from __future__ import annotations

import inspect
import json
import re
from difflib import get_close_matches
from pathlib import Path
from typing import Any

import msgspec

from lanewise.errors import RecordError
from lanewise.model.checks import check_version
from lanewise.model.fields import Record, field_types, fit, part, refusal, shown
from lanewise.model.studies import KIND, SCHEMA_VERSION, Study

SCHEMA_FILE = Path(__file__).with_name("study.schema.json")
"""The published schema, a file of the package."""

_STEP = re.compile(r"\.(\w+)|\[(\d+)\]")
_AT = re.compile(r" - at `(\$[^`]*)`$")


def encode(study: Study) -> bytes:
    """Write a study as JSON.

    Parameters
    ----------
    study : Study
        The study.

    Returns
    -------
    bytes
        UTF-8 text, indented by two spaces, fields in the order of the record types, ended by a line break. Equal
        studies give equal bytes. Fields of lanes and spots that hold their default are left out.

    Examples
    --------
    >>> print(encode(Study(title="Writing inks")).decode().splitlines()[1])
      "kind": "lanewise study",
    """
    return msgspec.json.format(msgspec.json.encode(study, order="deterministic"), indent=2) + b"\n"


def decode(data: bytes | str) -> Study:
    """Read a study from JSON.

    Parameters
    ----------
    data : bytes or str
        The JSON text; bytes are UTF-8.

    Returns
    -------
    Study
        Equal to the one that was written.

    Raises
    ------
    RecordError
        If the text is not JSON (with line and column); if it is not a study, or one of a newer version; if a field is
        unknown, missing or not possible (with its path, what was wanted and what was given).

    Examples
    --------
    >>> decode(encode(Study(title="Writing inks"))).title
    'Writing inks'
    >>> decode('{"kind": "lanewise study", "schema_version": 1, "plates": [{"label": "1", "front": "x"}]}')
    Traceback (most recent call last):
    lanewise.errors.RecordError: $.plates[0].front: wanted a number [mm] or nothing, given 'x' (text). Correct front.
    """
    raw = _parse(data)
    _check_kind(raw)
    try:
        return msgspec.convert(raw, Study)
    except msgspec.ValidationError as error:
        raise _explain(error, raw) from None


def schema() -> dict[str, Any]:
    """Describe the JSON form of a study as a JSON Schema.

    Returns
    -------
    dict
        Draft 2020-12; titles, descriptions and units come from the record types.

    Examples
    --------
    >>> schema()["$defs"]["Spot"]["properties"]["centre"]["anyOf"][0]["unit"]
    'mm'
    """
    (reference,), defined = msgspec.json.schema_components([Study])
    for cls in _record_types():
        summary, fields = _descriptions(cls)
        entry = defined[cls.__name__]
        entry["description"] = summary
        for name, text in fields.items():
            entry["properties"][name]["description"] = text
    study = defined["Study"]
    study["required"] = ["kind", "schema_version"]
    study["properties"]["schema_version"]["maximum"] = SCHEMA_VERSION
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"{KIND}, schema version {SCHEMA_VERSION}",
        "$ref": reference["$ref"].replace("#/components/schemas/", "#/$defs/"),
        "$defs": json.loads(json.dumps(defined).replace("#/components/schemas/", "#/$defs/")),
    }


def schema_text() -> str:
    """Give the schema as the text of the published file."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def _parse(data: bytes | str) -> Any:
    """Parse JSON strictly: no double fields, no NaN."""
    try:
        text = data.decode("utf-8-sig") if isinstance(data, bytes) else data
        return json.loads(text, object_pairs_hook=_single, parse_constant=_constant)
    except UnicodeDecodeError as error:
        raise refusal(
            f"byte {error.start + 1}", "UTF-8 text", repr(data[error.start : error.end]), "Save the file as UTF-8."
        ) from None
    except json.JSONDecodeError as error:
        where = f"line {error.lineno}, column {error.colno}"
        wanted, given = "JSON", f"something else ({error.msg})"
        raise refusal(where, wanted, given, "Correct the text there.") from None
    except RecursionError:
        raise refusal("the text", "a study", "brackets nested too deeply", "Check what the file is.") from None
    except ValueError as error:
        if isinstance(error, RecordError):
            raise
        raise refusal("a number", "one that can be read", str(error), "Correct it.") from None


def _single(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    fields = dict(pairs)
    if len(fields) < len(pairs):
        names = [name for name, _ in pairs]
        double = next(name for name in names if names.count(name) > 1)
        raise refusal(f"field {double!r}", "each field once", "twice in one object", "Remove one of them.")
    return fields


def _constant(text: str) -> Any:
    raise refusal("a number", "a finite number or null", text, "Leave the field out where nothing was read.")


def _check_kind(raw: Any) -> None:
    if not isinstance(raw, dict) or raw.get("kind") != KIND:
        given = shown(raw.get("kind")) if isinstance(raw, dict) else shown(raw)
        raise refusal("$.kind", repr(KIND), given, "Check that the file is a study record.")
    version = raw.get("schema_version")
    if version is None:
        raise refusal(
            "$.schema_version",
            "the version of the record's form",
            "nothing",
            f'Add "schema_version": {SCHEMA_VERSION}.',
        )
    if isinstance(version, int):
        check_version("$.schema_version", version, SCHEMA_VERSION)


def _explain(error: msgspec.ValidationError, raw: Any) -> RecordError:
    """Say what is wrong at which path, in the words of the record types."""
    found = _AT.search(str(error))
    path = found[1] if found else "$"
    if isinstance(error.__cause__, RecordError):
        return RecordError(f"{path}: {error.__cause__}")
    owner: type[Record] = Study
    inner: type[Record] | None = Study
    value = held = raw
    name = ""
    for field, number in _STEP.findall(path):
        if number:
            value = value[int(number)]
        else:
            owner, name = inner or owner, field
            inner = part(owner, field)
            value = held = value[field]
    if isinstance(value, dict) and inner is not None:
        return _fields_wrong(path, inner, value)
    if inner is not None and path.endswith("]"):
        return refusal(path, f"an object with the fields of a {inner.__name__}", shown(value), "Correct it.")
    said: Exception = error
    try:
        fit(owner, name, held)
    except RecordError as refused:
        said = refused
    return RecordError(f"{path}: {said}")


def _fields_wrong(path: str, cls: type[Record], value: dict[str, Any]) -> RecordError:
    """Name the first field of an object that is unknown or missing."""
    known = [*field_types(cls), *(["kind"] if cls is Study else [])]
    for name in value:
        if name not in known:
            near = get_close_matches(name, known, n=1)
            todo = f"Did you mean {near[0]!r}?" if near else "Remove it."
            return refusal(f"{path}.{name}", f"only fields of a {cls.__name__}: {', '.join(known)}", repr(name), todo)
    missing = next((name for name in known if name not in value and _required(cls, name)), "a field")
    return refusal(f"{path}.{missing}", f"a value, since every {cls.__name__} has one", "nothing", "Add it.")


def _required(cls: type[Record], name: str) -> bool:
    return any(field.name == name and field.required for field in msgspec.structs.fields(cls))


def _record_types() -> list[type[Record]]:
    """Give every record type that a study is made of."""
    found: list[type[Record]] = [Study]
    for cls in found:
        found += [one for name in field_types(cls) if (one := part(cls, name)) is not None and one not in found]
    return found


def _descriptions(cls: type[Record]) -> tuple[str, dict[str, str]]:
    """Take the summary, and what it says of each attribute, from the docstring of a record type."""
    text = inspect.getdoc(cls) or ""
    summary = " ".join(text.split("\n\n", 1)[0].split())
    section = re.search(r"Attributes\n-+\n(.*?)(?:\n\n|\Z)", text, re.DOTALL)
    fields: dict[str, str] = {}
    for names, body in re.findall(r"^(\w[\w, ]*) : .*\n((?: +.*\n?)+)", section[1] if section else "", re.MULTILINE):
        for name in names.split(", "):
            fields[name] = " ".join(body.split())
    return summary, fields


if __name__ == "__main__":
    SCHEMA_FILE.write_text(schema_text(), encoding="utf-8")

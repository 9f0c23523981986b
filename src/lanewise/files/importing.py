"""One file through its reader: format, options, reader, check of the readings, provenance."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import msgspec

from lanewise.errors import FormatError, LanewiseError, ReadingsError, RecordError
from lanewise.files.sources import Content
from lanewise.hooks import ImportFormat, Readings
from lanewise.model.studies import Input, Study
from lanewise.plugins.calling import blamed, function_of
from lanewise.plugins.choosing import Answer, choose, named
from lanewise.plugins.options import make_options, options_as_text
from lanewise.plugins.records import Entry
from lanewise.plugins.registry import Registry


def import_content(
    content: Content, format: str | None, options: Mapping[str, object] | None, registry: Registry
) -> Study:
    """Read the content of one file as a study.

    Parameters
    ----------
    content : Content
        The file in memory.
    format : str or None
        Name of its format; None to find it out.
    options : mapping or None
        Options of the format.
    registry : Registry
        Where formats are looked for.

    Returns
    -------
    Study
        With the file as its last input.

    Raises
    ------
    FormatError, RecordError, ReadingsError
        As in `lanewise.files.reading.read`.
    """
    sample = content.sample()
    chosen, *others = [named(registry, format, sample)] if format is not None else choose(registry, sample)
    entry = chosen.entry
    made = make_options(entry.item.options, options, entry.what)
    function = function_of(entry)
    try:
        with blamed(entry, f"reading {content.name!r}"):
            result = function(content, made)
            if isinstance(result, Readings):
                _check_shape(result)
            elif not isinstance(result, Study):
                raise TypeError(f"the reader wanted to return Readings or a Study, returned {type(result).__name__}")
        unread = [*(result.unread if isinstance(result, Readings) else ())]
        study = _study_of(result, content) if isinstance(result, Readings) else result
    except (FormatError, RecordError) as error:
        said = _said(error, content, others)
        if type(error).__module__ != LanewiseError.__module__:  # a plugin's own class, made who knows how
            error.add_note(said)
            raise
        raise type(error)(said) from error
    if format is not None and chosen.recognition.claim == "no":
        unread.append(f"{entry.what} was asked for by name, although {chosen.recognition.because}")
    return _with_input(study, content, entry, made, unread)


def _study_of(readings: Readings, content: Content) -> Study:
    """Check readings and make plates of them."""
    from lanewise.tables.checking import check
    from lanewise.tables.marks import from_frame

    frame, problems = check(
        readings.columns,
        readings.places,
        units=readings.units,
        defaults=readings.defaults,
        file=content.name,
        division=readings.division,
        decimal=readings.decimal,
        parts=readings.parts,
    )
    if problems:
        raise ReadingsError(problems)
    return from_frame(frame, note=readings.note, division=readings.division)


def _check_shape(readings: Readings) -> None:
    """Refuse readings that no check could make sense of; the fault is the reader's."""
    if not isinstance(readings.columns, Mapping):
        raise TypeError(f"the reader wanted to give columns as a mapping, gave {type(readings.columns).__name__}")
    rows = len(readings.places)
    for heading, cells in readings.columns.items():
        if isinstance(cells, (str, bytes)) or not isinstance(cells, Sequence):
            raise TypeError(f"column {heading!r}: the reader wanted a sequence of cells, gave {type(cells).__name__}")
        if len(cells) != rows:
            raise ValueError(f"column {heading!r}: the reader wanted {rows} cells, one a place, gave {len(cells)}")
    if isinstance(readings.parts, str) or (readings.parts and len(readings.parts) != rows):
        raise ValueError(f"the reader wanted to give {rows} parts, one a place, or none, gave {len(readings.parts)}")
    if isinstance(readings.unread, str) or not all(isinstance(text, str) for text in readings.unread):
        raise TypeError("the reader wanted to give unread as a sequence of texts")


def _said(error: LanewiseError, content: Content, others: Sequence[Answer]) -> str:
    """Give the text of an error with the file it is about, and which other formats had claimed it."""
    text = str(error)
    if content.name not in text:
        text = f"{content.name}: {text}"
    if others:
        text += "\nOther formats that claim it: " + "; ".join(map(str, others))
        text += f"\nTo use one, name it: read({content.name!r}, format={others[0].entry.full_name!r})."
    return text


def _with_input(
    study: Study, content: Content, entry: Entry[ImportFormat], made: object, unread: Sequence[str]
) -> Study:
    """Add the file to the inputs; an older state of the same file, kept in its own record, gives way."""
    new = Input(
        name=content.name,
        sha256=content.sha256,
        size=content.size,
        format=f"{entry.full_name} {entry.provider.version}".strip(),
        options=options_as_text(made),
        unread=tuple(unread),
    )
    kept = [old for old in study.inputs if (old.name, old.format.split()[0]) != (new.name, entry.full_name)]
    return msgspec.structs.replace(study, inputs=(*kept, new))

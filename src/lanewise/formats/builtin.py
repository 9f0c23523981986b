"""The plugin that registers the built-in import formats."""

from __future__ import annotations

from collections.abc import Sequence

from lanewise.formats import marks_table, study_record
from lanewise.hooks import ImportFormat, hookimpl


@hookimpl
def lanewise_import_formats() -> Sequence[ImportFormat]:
    """Register the marks table and the study record.

    Examples
    --------
    >>> [one.name for one in lanewise_import_formats()]
    ['marks-table', 'study-record']
    """
    return (
        ImportFormat(
            name="marks-table",
            title="Table of marks: one row a spot, as text with commas, semicolons or tabs",
            read="lanewise.formats.marks_table:read",
            suffixes=(".csv", ".tsv", ".txt"),
            recognise=marks_table.recognise,
            options=marks_table.MarksTableOptions,
            description=(
                "What one types from a ruler: a line of headings, then one line a spot. A lane, the position of its "
                "front and the position of the spot are needed; units may stand in the headings or in the cells. "
                "Lines that start with # before the headings become the note of the study."
            ),
        ),
        ImportFormat(
            name="study-record",
            title="Study record: everything that was planned and seen, as JSON",
            read="lanewise.formats.study_record:read",
            suffixes=(".json",),
            recognise=study_record.recognise,
            description="The library's own record of a study, without loss; described by a JSON Schema.",
        ),
    )

"""Checks of what is read from good files, whichever way they come in."""

from __future__ import annotations

import builtins
import io
import zipfile
from collections.abc import Sequence
from pathlib import Path
from typing import IO, TYPE_CHECKING, BinaryIO

from lanewise.errors import LanewiseError
from lanewise.testing import digests
from lanewise.testing.contracts import Unmet, check, said, skip
from lanewise.testing.examples import columns_of, difference, without_inputs
from lanewise.testing.importing import Importing

if TYPE_CHECKING:
    from lanewise.model.studies import Study

AFTER = ("descriptor", "examples")
LABELS = ("007", "1.50", "1e5", "NA", "nan", "TRUE", "None", "Ünï-çødé", "墨水", "%s{0}", "=1+1", "L" * 200)
IN_MARKUP = ("<b>a&b</b>",)
_EXACT = 1e-9  # a number that went through another unit may differ in its last bits


class Reading(Importing):
    """What a format makes of good files."""

    def in_unit(self, unit: str) -> bytes:
        """Give the first example with its lengths in another unit; override it, or declare ``units`` not applicable.

        Parameters
        ----------
        unit : {"cm", "in"}
            Centimetres or inches.

        Returns
        -------
        bytes
            A file that says its unit in the way of the format.
        """
        raise NotImplementedError("override in_unit(unit)")

    def written(self, study: Study) -> bytes:
        """Give a study as a file of this format; override it where the plugin can write.

        Parameters
        ----------
        study : Study
            What to write.

        Returns
        -------
        bytes
            The file.

        Raises
        ------
        LanewiseError
            If the format cannot hold it.
        """
        raise NotImplementedError("override written(study)")

    @check(
        "Keep labels as text, with no guess at their type; where a label is not possible, refuse it with its place.",
        after=AFTER,
    )
    def test_labels(self) -> None:
        """Labels that look like numbers, gaps or formulas come back as they were written, or are refused."""
        if self.labelled("x") is None:
            skip("no label of the first example stands there once; override labelled(label) and labelled_column")
        column = self.labelled_column
        cells = list(columns_of(self._study, [column]).get(column, ()))
        labels: Sequence[str] = LABELS if "</" in (self._text or "") else LABELS + IN_MARKUP
        for label in labels:
            study = self._tolerated(self.labelled(label) or b"", f"a file with the label {label[:20]!r}")
            if isinstance(study, LanewiseError):
                continue
            wanted = [label if cell == cells[0] else cell for cell in cells]
            found = difference({column: wanted}, columns_of(study, [column]))
            if found:
                raise Unmet(*found)

    @check(
        "State the unit of each heading in Readings.units, or keep it in the heading; convert nothing yourself.",
        after=AFTER,
    )
    def test_units(self) -> None:
        """The first example written in centimetres or inches gives the same marks."""
        for unit in ("cm", "in"):
            try:
                data = self.in_unit(unit)
            except NotImplementedError as fault:
                todo = f"{fault}, or declare 'units' not applicable and say why."
                raise Unmet(f"the first example in {unit}", "none", todo) from None
            self._same_marks(self._read(data), f"the first example in {unit}", tolerance=_EXACT)

    @check(
        "Read with source.text(), which knows byte-order marks, UTF-8, UTF-16 and Windows-1252. A format that is no "
        "text, or has one encoding by its standard, declares this not applicable.",
        after=AFTER,
    )
    def test_encodings(self) -> None:
        """The first example gives the same marks in each encoding that text files come in."""
        for encoding in ("utf-8", "utf-8-sig", "utf-16", "cp1252"):
            try:
                data = self.encoded(encoding)
            except UnicodeEncodeError:
                continue  # its characters do not exist there
            except UnicodeDecodeError:
                todo = "Override encoded(encoding), or declare 'encodings' not applicable."
                raise Unmet("the first example as text", "bytes that are no UTF-8", todo) from None
            self._same_marks(self._read(data), f"the first example in {encoding}")

    @check("Split with splitlines(), or open text with newline=''; do not ask for a last line break.", after=AFTER)
    def test_line_ends(self) -> None:
        """Line ends of any system give the same marks, with or without one at the end."""
        text = self._text
        if text is None or len(text.splitlines()) < 2:
            skip("the first example is not text of several lines")
        plain = text.replace("\r\n", "\n").replace("\r", "\n")
        bare = plain.rstrip("\n")
        for about, data, may_refuse in (
            ("with carriage return and line feed", plain.replace("\n", "\r\n"), False),
            ("without a line end at its end", bare, False),
            ("with carriage returns alone", plain.replace("\n", "\r"), True),
            ("with blank lines at its end", f"{bare}\n\n\n", True),
        ):
            study = self._tolerated(data.encode(), f"the first example {about}")
            if isinstance(study, LanewiseError):
                if not may_refuse:
                    raise Unmet(f"the first example {about} to be read", str(study)[:400])
                continue
            self._same_marks(study, f"the first example {about}")

    @check(
        "Write everything that the format holds, quote what parts cells or lines, and refuse what it cannot hold.",
        after=AFTER,
    )
    def test_round_trip(self) -> None:
        """What is written and read again gives the same marks; what cannot be written is refused."""
        from lanewise.testing.studies import standard_studies

        columns = list(self._first.marks)
        try:
            self.written(self._study)
        except NotImplementedError:
            skip("the format is not written; override written(study) where it is")
        for name, study in {"the first example": self._study, **standard_studies()}.items():
            try:
                data = self.written(study)
            except LanewiseError:
                if name == "the first example":
                    raise
                continue
            found = difference(columns_of(study, columns), columns_of(self._read(data), columns))
            if found:
                raise Unmet(f"after writing and reading {name}: {found[0]}", found[1])

    @check(
        "Use what Source offers and nothing else: name, size, open(), bytes(), text(). Leave closing to the library.",
        after=AFTER,
    )
    def test_source(self) -> None:
        """The reader uses the documented members of its source alone, and leaves the content as it is."""
        for example in self._examples:
            read, options = digests.ready(self._entry, example.options)
            source = _Source(example.name, example.data)
            try:
                read(source, options)
            except Exception as fault:
                raise Unmet(f"{example.name} to be read from a bare Source", said(fault)) from fault
            if source.bytes() != example.data:
                raise Unmet("the source as it was", "one that was changed")

    @check("Judge a file by its content; of source.name take nothing for granted.", after=AFTER)
    def test_ways_in(self, tmp_path: Path) -> None:
        """A path, bytes, a stream and a member of a zip archive give the same, whatever the file is called."""
        first = self._first
        folder = tmp_path / "hand-in ü 1"
        folder.mkdir(parents=True, exist_ok=True)
        for name in (first.name, "no-ending", "Two.Dots ünd blanks.X", first.name.upper()):
            leave = () if name == first.name else ("plate",)  # a format may name the plate after the file
            path = folder / name
            path.write_bytes(first.data)
            packed = io.BytesIO()
            with zipfile.ZipFile(packed, "w") as archive:
                archive.writestr(f"class 4b/{name}", first.data)
            with path.open("rb") as stream, zipfile.ZipFile(packed) as archive:
                with archive.open(f"class 4b/{name}") as member:
                    ways: dict[str, Path | bytes | IO[bytes]] = {
                        "a path": path,
                        "bytes": first.data,
                        "a stream": stream,
                        "a member of an archive": member,
                    }
                    for way, given in ways.items():
                        about = f"{way} called {name!r}"
                        try:
                            study = self._from(given, name)
                        except (Exception, SystemExit) as fault:
                            raise Unmet(f"{about} to be read", said(fault)) from fault
                        self._same_marks(study, about, leave)
                if stream.closed:
                    raise Unmet("the stream left open for whoever opened it", "a closed one")

    def _from(self, given: Path | bytes | IO[bytes], name: str) -> Study:
        from lanewise.files.reading import read

        title = name if isinstance(given, bytes) else None
        options = self._first.options
        study = read(given, format=self._entry.full_name, options=options, registry=self._registry, name=title)
        return without_inputs(study)

    @check("Keep nothing between two reads; make lists and records anew each time.", after=AFTER)
    def test_same_twice(self) -> None:
        """A file gives the same study each time, whatever was read in between."""
        pairs = [(example, self._read(example.data, example.name, example.options)) for example in self._examples]
        for example, before in reversed(pairs):
            again = self._read(example.data, example.name, example.options)
            if again != before:
                found = difference(columns_of(before, list(example.marks)), columns_of(again, list(example.marks)))
                wanted, given = found or ("the same study", "one that differs outside the marks")
                raise Unmet(f"at the second time, {wanted} ({example.name})", given)

    @check("Do not let the order of a set, a hash or an id decide; sort first.", after=AFTER)
    def test_hash_seed(self) -> None:
        """Another process, with another seed of hashes, reads the same."""
        told = self._elsewhere
        if told["fault"]:
            raise Unmet("the examples read in a process of its own", told["fault"])
        for example, there in zip(self._examples, told["digests"], strict=True):
            here = digests.of_readings(self._entry, example.name, example.data, example.options)
            if here != there:
                raise Unmet(f"the same readings from {example.name} in another process", "others")


class _Source:
    """A source with the documented members and nothing else, so that a reader cannot lean on anything more."""

    __slots__ = ("_data", "_name")

    def __init__(self, name: str, data: bytes) -> None:
        self._name, self._data = name, data

    @property
    def name(self) -> str:
        return self._name

    @property
    def size(self) -> int:
        return len(self._data)

    def open(self) -> BinaryIO:
        return io.BytesIO(self._data)

    def bytes(self) -> builtins.bytes:
        return self._data

    def text(self) -> str:
        from lanewise.files.encoding import whole_text

        return whole_text(self._data, self._name)

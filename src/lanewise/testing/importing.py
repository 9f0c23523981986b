"""What an author tells about a format, and how its checks read files."""

from __future__ import annotations

import base64
import re
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any, ClassVar

from lanewise.errors import LanewiseError
from lanewise.hooks import ImportFormat
from lanewise.testing.contracts import Unmet, check, said
from lanewise.testing.effects import Effects
from lanewise.testing.examples import Example, columns_of, difference, without_inputs
from lanewise.testing.offering import REFUSALS, Offering

if TYPE_CHECKING:
    from lanewise.model.studies import Study

NOT_A_NUMBER = "12x5?"
_LABELLED = ("sample", "lane", "colour", "spot", "note", "plate")
_POSITIONS = ("centre_mm", "leading_mm", "trailing_mm", "front_mm", "origin_mm")
_NUMBERS = (  # with a decimal point, then with a decimal comma
    re.compile(r"(?<![\w.+-])\d+(?:\.\d+)?(?![\w.])"),
    re.compile(r"(?<![\w.,+-])\d+,\d+(?![\w.,])"),
)


class Importing(Offering, Effects):
    """The part of the contract of a format that its author fills in."""

    _kind: ClassVar[str] = "format"
    _works: ClassVar[str] = "examples"
    format: ClassVar[str]

    def examples(self) -> Sequence[Example]:
        """Give valid files; override it.

        Returns
        -------
        sequence of Example
            At least one. The first is tried hardest: it is cut, re-encoded, damaged and read in every way.
        """
        raise NotImplementedError("override examples() with at least one valid file")

    def encoded(self, encoding: str) -> bytes:
        """Give the first example in another encoding of text.

        Parameters
        ----------
        encoding : str
            Name of a codec of Python: ``"utf-16"``.

        Returns
        -------
        bytes
            By itself, the example taken for UTF-8 and encoded anew.
        """
        return self._first.data.decode("utf-8-sig").encode(encoding)

    def labelled(self, label: str) -> bytes | None:
        """Give the first example with one of its labels replaced.

        Parameters
        ----------
        label : str
            What to put in the place of the first cell of the column that `labelled_column` names, and of the others
            of that column that are the same.

        Returns
        -------
        bytes or None
            By itself, a text file in which a label that stands there once is replaced; None where that is not possible.
        """
        text, place = self._text, self._label_place
        if text is None or place is None:
            return None
        _, start, stop = place
        return (text[:start] + label + text[stop:]).encode()

    @property
    def labelled_column(self) -> str:
        """Name of the column of the marks table in which `labelled` replaces a cell."""
        return self._label_place[0] if self._label_place else "sample"

    def numbered(self, text: str) -> bytes | None:
        """Give the first example with one of its positions replaced by a text.

        Parameters
        ----------
        text : str
            What to put in its place: no number, or a strange one.

        Returns
        -------
        bytes or None
            By itself, a text file in which a number that is a position of the marks is replaced; None where that is
            not possible.
        """
        if self._text is None or self._number_place is None:
            return None
        start, stop = self._number_place
        return (self._text[:start] + text + self._text[stop:]).encode()

    @property
    def _examples(self) -> list[Example]:
        return self._kept("examples", lambda: list(self.examples()))

    @property
    def _first(self) -> Example:
        return self._examples[0]

    @property
    def _text(self) -> str | None:
        """The first example as text; None where it is none."""
        try:
            text = self._first.data.decode("utf-8")
        except UnicodeDecodeError:
            return None
        return None if "\0" in text else text

    def _read(self, data: bytes, name: str | None = None, options: Mapping[str, object] | None = None) -> Study:
        """Read bytes as this format, by the same door as everybody; the study knows nothing of the file."""
        from lanewise.files.reading import read

        study = read(
            data,
            format=self._entry.full_name,
            options=self._first.options if options is None else options,
            registry=self._registry,
            name=name or self._first.name,
        )
        return without_inputs(study)

    @property
    def _study(self) -> Study:
        """What the first example holds; read once."""
        return self._kept("study", lambda: self._read(self._first.data))

    def _tolerated(self, data: bytes, about: str, name: str | None = None) -> Study | LanewiseError:
        """Read something odd: a study or a refusal is right, anything else is not."""
        try:
            return self._read(data, name)
        except REFUSALS as error:
            return error
        except (Exception, SystemExit) as fault:
            raise Unmet(f"a study, or UnreadableFile or ReadingsError, from {about}", said(fault)) from fault

    def _refused(self, data: bytes, about: str, name: str | None = None) -> LanewiseError:
        """Read something that makes no sense: only a refusal is right."""
        result = self._tolerated(data, about, name)
        if isinstance(result, LanewiseError):
            return result
        spots = sum(len(lane.spots) for plate in result.plates for lane in plate.lanes)
        raise Unmet(f"{about} to be refused", f"a study with {len(result.plates)} plates and {spots} spots")

    def _same_marks(self, study: Study, about: str, leave: Sequence[str] = (), tolerance: float = 0.0) -> None:
        """Compare the marks of a study with those that the author gives for the first example."""
        wanted = {name: cells for name, cells in self._first.marks.items() if name not in leave}
        found = difference(wanted, columns_of(study, list(wanted)), tolerance)
        if found:
            raise Unmet(f"{found[0]}, from {about}", found[1])

    def _used_with(self, options: Mapping[str, object]) -> Iterator[Any]:
        for example in self._examples:
            yield self._read(example.data, example.name, {**example.options, **options})

    def _exercise(self) -> None:
        item = self._entry.item
        for example in self._examples:
            self._read(example.data, example.name, example.options)
            if isinstance(item, ImportFormat) and item.recognise is not None:
                item.recognise(sample_of(example.data, example.name))

    def _task(self) -> dict[str, Any]:
        try:
            given = self._examples
        except Exception:
            return {"use": ""}
        held = [
            {"name": one.name, "data": base64.b64encode(one.data).decode("ascii"), "options": dict(one.options)}
            for one in given
        ]
        return {"use": "read", "offer": self._name, "examples": held}

    def _changes_elsewhere(self) -> list[str]:
        found: list[str] = self._elsewhere["changes"]
        return found

    @check(
        "Override examples(); give cells as they stand in the file, and in Readings.units what headings do not say.",
        after=("descriptor",),
        essential=True,
    )
    def test_examples(self) -> None:
        """Each example is read, and gives its marks to the last bit and every text as it stands."""
        try:
            given = self._examples
        except NotImplementedError as fault:
            raise Unmet("at least one example", "none", str(fault)) from None
        if not given:
            raise Unmet("at least one example", "none")
        for example in given:
            if not example.marks:
                raise Unmet(f"the marks of {example.name}", "no column", "Give lane and positions, worked out by hand.")
            try:
                study = self._read(example.data, example.name, example.options)
            except (Exception, SystemExit) as fault:
                raise Unmet(f"{example.name} to be read", said(fault)) from fault
            found = difference(example.marks, columns_of(study, list(example.marks)))
            if found:
                raise Unmet(f"{example.name}, {found[0]}", found[1])

    @property
    def _label_place(self) -> tuple[str, int, int] | None:
        return self._kept("label place", self._find_label)

    def _find_label(self) -> tuple[str, int, int] | None:
        """Find a label of the marks that stands in the text once: its column, and where it begins and ends."""
        text = self._text or ""
        for column in _LABELLED:
            cells = self._first.marks.get(column, ())
            if not cells or not isinstance(cells[0], str) or not cells[0]:
                continue
            found = list(re.finditer(rf"(?<![\w.]){re.escape(cells[0])}(?![\w.])", text))
            if len(found) == 1:
                return column, found[0].start(), found[0].end()
        return None

    @property
    def _number_place(self) -> tuple[int, int] | None:
        return self._kept("number place", self._find_number)

    def _find_number(self) -> tuple[int, int] | None:
        """Find a number in the text that is a position: no file is read with something else in its place."""
        text = self._text or ""
        wanted = [
            float(cell)
            for name in _POSITIONS
            for cell in self._first.marks.get(name, ())
            if isinstance(cell, (int, float)) and cell == cell
        ]
        found = [one for pattern in _NUMBERS for one in pattern.finditer(text)]
        for unit in (1.0, 10.0, 25.4):  # in millimetres, centimetres, inches
            for value in dict.fromkeys(wanted):
                for one in found:
                    if abs(float(one[0].replace(",", ".")) * unit - value) > 1e-9 * abs(value):
                        continue
                    tried = text[: one.start()] + NOT_A_NUMBER + text[one.end() :]
                    try:
                        self._read(tried.encode())
                    except (Exception, SystemExit):
                        return one.start(), one.end()
        return None


def sample_of(data: bytes, name: str) -> Any:
    """Give what a recogniser sees of a file."""
    from lanewise.files.sources import Content

    return Content(name, data).sample()

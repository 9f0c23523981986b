"""The marks table: delimiters, decimal signs, comments, and every fault of shape at once. Data are invented."""

from __future__ import annotations

import io
import time

import pytest

from lanewise.errors import ReadingsError, UnreadableFile
from lanewise.formats.marks_table import MarksTableOptions, read, recognise
from lanewise.hooks import Sample


class Held:
    """A source in memory."""

    name = "inks.csv"

    def __init__(self, text):
        self._text = text

    @property
    def size(self):
        return len(self.bytes())

    def open(self):
        return io.BytesIO(self.bytes())

    def bytes(self):
        return self._text.encode()

    def text(self):
        return self._text


def readings(text, **options):
    return read(Held(text), MarksTableOptions(**options))


def asked(text, name="inks.csv"):
    head = text.encode() if isinstance(text, str) else b"\0"
    return recognise(Sample(name, head, len(head), text))


@pytest.mark.parametrize("sign", [",", ";", "\t"], ids=["commas", "semicolons", "tabs"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
@pytest.mark.parametrize("last", [True, False], ids=["ended", "open end"])
def test_delimiters_and_line_ends(sign, end, last):
    lines = [sign.join(row) for row in (["lane", "front_mm", "centre_mm"], ["A", "85", "52.5"], ["B", "85", ""])]
    made = readings(end.join(lines) + (end if last else ""))
    assert made.columns == {"lane": ["A", "B"], "front_mm": ["85", "85"], "centre_mm": ["52.5", ""]}
    assert list(made.places) == [2, 3]
    assert made.decimal == "."


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"], ids=["lf", "crlf", "cr"])
def test_comments_blank_lines_and_places(end):
    lines = [
        "# class 4b",
        "",
        "#  bench 3 ",
        "lane,front,note",
        "A,80,x",
        " ",
        "# not for the note",
        ",,",
        ",",
        "B,80,#3",
        "#C,1,1",
    ]
    made = readings(end.join(lines))
    assert made.note == "class 4b\nbench 3"
    assert made.columns == {"lane": ["A", "B"], "front": ["80", "80"], "note": ["x", "#3"]}
    assert list(made.places) == [5, 10]


def test_quotes():
    made = readings(
        '"lane","front, cm","note"\n"A, the first",8,"said ""faint"""\nB,8,"two\n# lines\n\nmore"\nC,8,5" plate\n'
    )
    assert made.columns["lane"] == ["A, the first", "B", "C"]
    assert made.columns["note"] == ['said "faint"', "two\n# lines\n\nmore", '5" plate']
    assert "front, cm" in made.columns
    assert list(made.places) == [2, 3, 7]


def test_a_byte_order_mark_is_passed_over():
    assert "lane" in readings("\ufefflane,front\nA,80").columns


def test_headings_and_cells_stay_as_they_are():
    made = readings(" lane , Front (cm)\n A , 8.0 \n")
    assert made.columns == {"lane": [" A "], "Front (cm)": [" 8.0 "]}


@pytest.mark.parametrize(
    ("text", "decimal"),
    [
        ("lane;front;centre\nA;80,5;5", ","),
        ("lane\tfront\tcentre\nA\t80,5\t5", ","),
        ("lane;front;centre\nA;80;\u22125,5 mm", ","),
        ("lane;front;centre\nA;80.5;5", "."),
        ("lane;front;centre\nA;80;5", "."),
        ("lane;front;centre\nA;80,5;5.5", ","),
        ("lane;front;centre\nA;80.5;5.5\nB;81.5;7,5", "."),
        ("lane;front;note\nA;80;1,5 ml", "."),
        ('lane,front,centre\nA,80,"5,5"', "."),
    ],
    ids=[
        *("semicolons", "tabs", "with a unit", "points", "neither"),
        *("one of each", "more points", "only in a text", "commas part the cells"),
    ],
)
def test_the_decimal_sign(text, decimal):
    assert readings(text).decimal == decimal


@pytest.mark.parametrize(
    ("header", "columns"),
    [
        ("lane;front, cm;note", ["lane", "front, cm", "note"]),
        ("lane,front;x,note", ["lane", "front;x", "note"]),
        ("lane\tfront [mm]\tname, first", ["lane", "front [mm]", "name, first"]),
        ("a,b;c,d", ["a", "b;c", "d"]),
    ],
    ids=["comma in a heading", "semicolon in a heading", "tabs", "nothing known: the most cells"],
)
def test_what_parts_the_cells(header, columns):
    assert list(readings(header).columns) == columns


def test_empty_cells_behind_the_last_column():
    made = readings("lane,front,,\nA,80,,\nB,80,,,,\n")
    assert made.columns == {"lane": ["A", "B"], "front": ["80", "80"]}


def test_options():
    made = readings("lane,front\nA,80", division=0.5, plate="bench 3", system="water", layer=" ")
    assert made.division == 0.5
    assert made.defaults == {"plate": "bench 3", "system": "water"}
    assert readings("lane,front\nA,80").division is None
    assert readings("lane,front\nA,80").defaults == {}


FAULTS = {
    "rows of other lengths": (
        "lane,front,centre\nA,80\nB,80,5,2\nC,80,5\nD,80,5,,x\n",
        [
            "inks.csv, row 2: wanted 3 cells, as there are headings, given 2. Add the missing cells, empty ones too.",
            "inks.csv, row 3: wanted 3 cells, as there are headings, given 4. "
            "Numbers with a decimal comma want semicolons between the cells; quote words that hold a comma.",
            "inks.csv, row 5: wanted 3 cells, as there are headings, given 5. "
            "Numbers with a decimal comma want semicolons between the cells; quote words that hold a comma.",
        ],
    ),
    "a heading twice": (
        "# x\nlane,front,front\nA,80,80",
        ["inks.csv, row 2, column front: wanted headings that differ, given this one twice. Rename one of them."],
    ),
    "cells without a heading": (
        "lane,front,\nA,80,\nB,80,x",
        ["inks.csv, row 3: wanted a heading over column 3, given none, but 'x' below. Add the heading."],
    ),
    "an open quote": (
        'lane,front\nA,80\nB,"80\nC,80\n',
        [
            "inks.csv, row 3: wanted quotes round whole cells, given unexpected end of data. "
            "Close the quote, or leave quotes out: they belong round whole cells."
        ],
    ),
    "a quote within a cell": (
        'lane,front\nA,"80"x\n',
        [
            "inks.csv, row 2: wanted quotes round whole cells, given ',' expected after '\"'. "
            "Close the quote, or leave quotes out: they belong round whole cells."
        ],
    ),
    "a cell without end": (
        f'lane,front\nA,"{"8" * 200_000}"\n',
        [
            "inks.csv, row 2: wanted quotes round whole cells, given field larger than field limit (131072). "
            "Close the quote, or leave quotes out: they belong round whole cells."
        ],
    ),
}


@pytest.mark.parametrize(("text", "problems"), FAULTS.values(), ids=FAULTS)
def test_faults_of_shape(text, problems):
    with pytest.raises(ReadingsError, match="nothing was read") as caught:
        readings(text)
    assert list(map(str, caught.value.problems)) == problems


UNREADABLE = {
    "empty": ("", r"^inks\.csv, row 1: wanted a line of headings parted by commas, .* given nothing\. Put headings"),
    "comments alone": ("# x\n# y", r"^inks\.csv, row 2: wanted a line of headings .* given nothing"),
    "one word": ("lane", r"^inks\.csv, row 1: wanted a line of headings .* given 'lane'"),
    "prose": ("We spotted inks\non paper.", r"given 'We spotted inks'"),
    "binary": ("lane,front\nA,\0", r"^inks\.csv: wanted text, given NUL characters\. Save the table as text"),
}


@pytest.mark.parametrize(("text", "message"), UNREADABLE.values(), ids=UNREADABLE)
def test_unreadable(text, message):
    with pytest.raises(UnreadableFile, match=message):
        readings(text)


RECOGNISED = {
    "commas": ("lane,front_mm,centre_mm\n", "inks.csv", "yes", "stand in line 1, parted by commas"),
    "below a comment": (
        "# x\n\nTrack;Solvent front (cm)\n",
        "inks.txt",
        "yes",
        "stand in line 3, parted by semicolons",
    ),
    "any ending": ("lane\tfront\n", "inks.dat", "yes", "stand in line 1, parted by tabs"),
    "byte-order mark": ("\ufefflane,front\n", "inks.csv", "yes", "line 1"),
    "no front": ("lane,centre\n", "inks.csv", "maybe", "by its ending, but line 1 has no heading of the front"),
    "neither": ("a;b\n", "inks.TSV", "maybe", "has no heading of the lane and no heading of the front"),
    "a slip": ("lane,frnt\n", "inks.csv", "maybe", "no heading of the front"),
    "another ending": ("a;b\n", "inks.dat", "no", "no heading of the lane"),
    "prose": ("We spotted inks.\n", "inks.txt", "no", "no line of headings parted by"),
    "empty": ("", "inks.csv", "no", "no line of headings"),
    "comments alone": ("# x\n" * 5000, "inks.csv", "no", "no line of headings"),
    "no text": (None, "inks.csv", "no", "it is not text"),
}


@pytest.mark.parametrize(("text", "name", "claim", "because"), RECOGNISED.values(), ids=RECOGNISED)
def test_recognised(text, name, claim, because):
    answer = asked(text, name)
    assert answer.claim == claim
    assert because in answer.because


@pytest.mark.parametrize(
    "text",
    ["x," * 32_000, "# x\n" * 16_000, '"' * 64_000, "lane,front\n" + "A,1\n" * 16_000],
    ids=["headings", "comments", "quotes", "rows"],
)
def test_recognising_is_quick(text):
    asked(text)
    best = min(_time(text) for _ in range(5))
    assert best < 0.005  # the limit that `ImportFormat.recognise` states


def _time(text):
    begin = time.process_time()
    asked(text)
    return time.process_time() - begin


def test_many_rows():
    count = 50_000
    text = "lane,front,centre\n" + "".join(f"{row},80,{row % 80}\n" for row in range(count))
    made = readings(text)
    assert len(made.places) == count
    assert made.columns["centre"][-1] == str((count - 1) % 80)
    assert made.places[-1] == count + 1

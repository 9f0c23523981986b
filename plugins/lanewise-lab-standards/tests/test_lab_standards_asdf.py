from __future__ import annotations

import json

import jcamp
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lab_standards_traces_builders import PUBLISHED, encoded

from lanewise.errors import UnreadableFile
from lanewise_lab_standards.asdf import Ordinates, dif_lines, numbers

FORMS = json.loads((PUBLISHED / "asdf_forms.json").read_text())


def decoded(lines, most=10_000):
    table = Ordinates(most)
    for number, line in enumerate(lines, start=1):
        table.add(line, f"line {number}")
    return table.values


# One curve in the forms of the standard. McDonald and Wilks, Appl. Spectrosc. 42 (1988) 151, from memory.
@pytest.mark.parametrize(
    "line",
    ["1 2 3 3 2 1 0 -1 -2 -3", "+1+2+3+3+2+1+0-1-2-3", "ABCCBA@abc", "AJJ%jjjjjj", "AJT%jX"],
    ids=["FIX", "PAC", "SQZ", "DIF", "DIFDUP"],
)
def test_worked_example_of_the_standard(line):
    assert decoded([f"0 {line}"]) == [1, 2, 3, 3, 2, 1, 0, -1, -2, -3]


# Worked example of the recommendation for ion mobility spectrometry, Pure Appl. Chem. 73 (2001) 1765, as carried by the
# source distribution of the Python package jcamp 1.3.2 (read there, once uncompressed and once as DIFDUP).
IMS = """0 0 0 0 2 4 4 4 7 5 4 4 5 5 7 10 11 11 6 5 7 6 9 9 7 10 10 9 10 11 12 15 16 16 14 17
38 38 35 38 42 47 54 59 66 75 78 88 96 104 110 121 128"""


def test_published_difdup_line_with_its_check():
    lines = ["4@VKT%TLkj%J%KLJ%njKjL%kL%jJULJ%kLK1%lLMNPNPRLJ0QTOJ1P", "56A28"]
    assert decoded(lines) == [int(word) for word in IMS.split()]


@pytest.mark.parametrize("form", ["DIF", "PAC", "SQZ", "DIFDUP"])
def test_published_curve_is_the_same_in_every_form(form):
    plain, packed = decoded(FORMS["AFFN"]), decoded(FORMS[form])
    shared = min(len(plain), len(packed))
    assert shared > 150
    assert packed[:shared] == plain[:shared]


@pytest.mark.parametrize("form", ["AFFN", "DIF", "PAC", "SQZ", "DIFDUP"])
def test_published_abscissas_belong_to_the_first_ordinate_of_their_line(form):
    table = Ordinates(10_000)
    for line in FORMS[form]:
        at = len(table.values) - table.difference
        assert table.add(line, form) == pytest.approx(
            FORMS["firstx"] + at * FORMS["deltax"], abs=0.06
        )  # printed to 0.1


# Our own encoder of the tests against the reader, and against the Python package jcamp as a second reader.
WHOLE = st.lists(st.integers(-(2**31), 2**31 - 1), min_size=1, max_size=60)
LEVEL = st.lists(st.integers(-3, 3), min_size=1, max_size=60)


@pytest.mark.parametrize("form", ["FIX", "PAC", "SQZ", "DIF", "DIFDUP"])
@settings(deadline=None)
@given(values=WHOLE | LEVEL)
def test_encoded_numbers_are_decoded(form, values):
    assert decoded([f"10 {encoded(values, form)}"]) == values


@settings(deadline=None)
@given(values=WHOLE | LEVEL)
def test_second_reader_decodes_what_the_encoder_of_the_tests_writes(values):
    assert jcamp.parse(f"10 {encoded(values, 'DIF')}")[1:] == values


@settings(deadline=None)
@given(values=WHOLE | LEVEL, width=st.integers(40, 78))
def test_written_lines_are_short_and_come_back(values, width):
    lines = dif_lines(values, [10 + 0.25 * n for n in range(len(values))], width)
    assert max(map(len, lines)) <= width
    assert decoded(lines) == values


@settings(deadline=None)
@given(values=WHOLE | LEVEL)
def test_second_reader_decodes_written_lines(values):
    found = []
    for number, line in enumerate(dif_lines(values, list(range(len(values))))):
        _, *given_back = jcamp.parse(line)
        assert number == 0 or given_back[0] == found[-1]
        found += given_back[number > 0 :]
    assert found == values


def test_missing_ordinate_is_no_number():
    first, missing, last = decoded(["0 A?C"])
    assert (first, last) == (1, 3)
    assert missing != missing


@pytest.mark.parametrize(
    ("lines", "said"),
    [
        (["0 AJJ", "2 D"], r"line 2: wanted the last ordinate of the line before, 3, as a check, given 4"),
        (["0 A!"], "line 1: '!' is no number"),
        (["0 J"], "'J' is a difference to a value that is missing"),
        (["0 T"], "'T' repeats a number that is missing"),
        (["AJJ"], "line 1: wanted an abscissa"),
        ([" "], "line 1: wanted an abscissa"),
        (["0 1 2 x"], "wanted numbers, given 'x' among them"),
        (["0 1;2|3"], r"wanted numbers, given '\|' among them"),
        (["0 A" + "1" * 5000], "wanted whole numbers of 32 bits, given 'A1111"),
        (["0 AZ99999999"], "wanted 100 ordinates as NPOINTS states, given more"),
        (["0 A%Z99999999999999"], "wanted 100 ordinates as NPOINTS states, given more"),
        (["0 " + "1 " * 101], "wanted 100 ordinates as NPOINTS states, given more"),
    ],
    ids=[
        "check",
        "sign",
        "difference",
        "repeat",
        "abscissa",
        "blank",
        "letter",
        "bar",
        "digits",
        "dup",
        "long dup",
        "many",
    ],
)
def test_faults_name_their_line(lines, said):
    with pytest.raises(UnreadableFile, match=said):
        decoded(lines, most=100)


def test_an_exponent_has_a_sign_and_a_squeezed_five_has_none():
    assert numbers("1.5E+2 -2e-3", "line 1") == [150.0, -0.002]
    assert decoded(["32767E13"]) == [513]

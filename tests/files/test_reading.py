"""The doors inwards: format, options, reader, provenance, and the faults of all files in one error."""

from __future__ import annotations

import io
import re
from dataclasses import dataclass

import pytest

from lanewise.errors import (
    AmbiguousFormat,
    FormatError,
    OptionError,
    ReadingsError,
    RecordError,
    UnknownFormat,
    UnreadableFile,
)
from lanewise.files.reading import check, detect, read
from lanewise.hooks import ImportFormat, Readings, Recognition, option
from lanewise.model.plates import Plate
from lanewise.model.studies import Input, Study


@dataclass(frozen=True)
class LineOptions:
    scale: float = option(1.0, help="factor of all distances", minimum=0)
    strict: bool = option(False, help="whether blank lines are refused")


def form(name, read=None, says="maybe", options=None):
    """A format with a recogniser that always says the same; `read` is called with source and options."""
    answer = Recognition(says, f"{name} says {says}")
    return ImportFormat(
        name, "T", read or (lambda source, options: Study()), recognise=lambda s: answer, options=options
    )


def boom(error):
    def read(source, options):
        raise error

    return read


@pytest.fixture
def files(tmp_path):
    """Write files of lines such as ``A=32``; gives their paths."""

    def make(**contents):
        paths = []
        for stem, text in contents.items():
            paths.append(tmp_path / f"{stem}.txt")
            paths[-1].write_text(text, encoding="utf-8")
        return paths

    return make


class TestOneFile:
    def test_a_study_with_its_provenance(self, registry_of, plain):
        study = read(b"A=32 B=40", name="bench-1.txt", registry=registry_of(plain.format))
        assert [plate.label for plate in study.plates] == ["A", "B"]
        (source,) = study.inputs
        assert (source.name, source.size, source.format, source.options) == ("bench-1.txt", 9, "my-lab:plain", {})
        assert source.unread == ()

    def test_the_digest(self, registry_of):
        # FIPS 180-2, appendix B.1: SHA-256 of "abc" (from memory)
        study = read(io.BytesIO(b"abc"), name="x.txt", registry=registry_of(form("any")))
        assert study.inputs[0].sha256 == "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"

    def test_title(self, registry_of):
        registry = registry_of(form("any", lambda source, options: Study(title="of the file")))
        assert read(b"x", name="x", registry=registry).title == "of the file"
        assert read(b"x", name="x", registry=registry, title="mine").title == "mine"

    def test_options_reach_the_reader_and_the_record(self, registry_of):
        seen = []
        registry = registry_of(
            form("any", lambda source, options: seen.append(options) or Study(), options=LineOptions)
        )
        study = read(b"x", name="x", registry=registry, options={"scale": "0.5"})
        assert seen == [LineOptions(scale=0.5)]
        assert study.inputs[0].options == {"scale": "0.5", "strict": "no"}

    def test_the_source_is_closed_afterwards(self, registry_of):
        kept = []
        read(b"x", name="x", registry=registry_of(form("any", lambda source, o: kept.append(source.open()) or Study())))
        assert kept[0].closed

    def test_an_older_state_of_the_same_file_gives_way(self, registry_of):
        old = Input(name="inks.json", sha256="0" * 64, size=1, format="my-lab:any 0.1")
        other = Input(name="bench-1.csv", sha256="1" * 64, size=1, format="lanewise:marks-table 0.1")
        registry = registry_of(form("any", lambda source, options: Study(inputs=(old, other))))
        first, second = read(b"x", name="inks.json", registry=registry).inputs
        assert first == other
        assert (second.name, second.sha256 == old.sha256) == ("inks.json", False)


class TestFormat:
    def test_detected(self, registry_of, plain):
        registry = registry_of(plain.format, form("poor", says="no"))
        assert read(b"A=32", name="x", registry=registry).inputs[0].format == "my-lab:plain"

    def test_named_one_is_obeyed_and_the_others_are_not_asked(self, registry_of, plain):
        registry = registry_of(plain.format, form("mine", says="no"))
        study = read(b"A=32", name="x", registry=registry, format="mine")
        assert study.plates == ()
        assert plain.asked == []
        assert study.inputs[0].unread == ("format 'mine' was asked for by name, although mine says no",)

    def test_named_one_that_agrees_gets_no_remark(self, registry_of, plain):
        study = read(b"A=32", name="x", registry=registry_of(plain.format, form("b", says="yes")), format="plain")
        assert study.inputs[0].unread == ()

    @pytest.mark.parametrize("door", [read, check])
    def test_an_unknown_name_is_one_fault_of_the_call_however_many_files(self, registry_of, plain, files, door):
        with pytest.raises(UnknownFormat, match=r"^there is no import format called 'plane'"):
            door(files(a="A=32", b="B=1"), registry=registry_of(plain.format), format="plane")

    def test_unknown_name(self, registry_of, plain):
        with pytest.raises(UnknownFormat, match=r"called 'plane'\. Did you mean 'plain'"):
            read(b"A=32", name="x", registry=registry_of(plain.format), format="plane")

    def test_nobody(self, registry_of, plain):
        with pytest.raises(UnknownFormat, match=r"no import format recognises x\.txt \(4 bytes, first line 'A 32'\)"):
            read(b"A 32", name="x.txt", registry=registry_of(plain.format))

    def test_several(self, registry_of):
        with pytest.raises(AmbiguousFormat, match=r"2 formats could read x equally well"):
            read(b"A=32", name="x", registry=registry_of(form("a"), form("b")))

    def test_option_of_another_format(self, registry_of, plain):
        with pytest.raises(OptionError, match="format 'plain' takes no options, given 'scale'"):
            read(b"A=32", name="x", registry=registry_of(plain.format), options={"scale": 1})

    def test_missing_files_are_reported_before_any_format_is_asked(self, registry_of, plain, files, tmp_path):
        (here,) = files(a="A=32")
        with pytest.raises(FormatError, match=r"there is no file '.*b\.txt'"):
            read([here, tmp_path / "b.txt"], registry=registry_of(plain.format))
        with pytest.raises(FormatError, match=r"there is no file '.*b\.txt'"):
            read(tmp_path / "b.txt", registry=registry_of(plain.format), format="not there either")
        assert plain.asked == []

    def test_a_large_file_needs_leave(self, registry_of, plain, files):
        (path,) = files(a="A=32 " * 100)
        with pytest.raises(FormatError, match=r"a\.txt holds more than the limit"):
            read(path, registry=registry_of(plain.format), limit=100)

    def test_detect(self, registry_of, plain, files):
        (path,) = files(a="A=32" + " " * 100_000)
        answers = detect(path, registry=registry_of(plain.format, form("b"), form("c", says="no")))
        assert [(a.entry.name, a.recognition.claim) for a in answers] == [("plain", "yes"), ("b", "maybe"), ("c", "no")]

    def test_detect_a_large_file_needs_leave(self, registry_of, plain, files):
        with pytest.raises(FormatError, match=r"a\.txt holds more than the limit"):
            detect(files(a="A=32" * 100), registry=registry_of(plain.format), limit=100)

    def test_detect_wants_one_file(self, registry_of, files):
        with pytest.raises(FormatError, match="wanted one file to ask about, given 2"):
            detect(files(a="x", b="y"), registry=registry_of())

    def test_detect_a_missing_file(self, registry_of, tmp_path):
        with pytest.raises(FormatError, match="there is no file"):
            detect(tmp_path / "x", registry=registry_of())


class TestFaultsOfAFile:
    def test_the_error_of_the_reader_names_the_file_and_the_other_formats(self, registry_of):
        registry = registry_of(form("a", boom(UnreadableFile("line 7 is cut off")), says="yes"), form("b"))
        with pytest.raises(UnreadableFile) as caught:
            read(b"x", name="bench-1.txt", registry=registry)
        assert str(caught.value).splitlines() == [
            "bench-1.txt: line 7 is cut off",
            "Other formats that claim it: my-lab:b (my-lab): maybe, b says maybe",
            "To use one, name it: read('bench-1.txt', format='my-lab:b').",
        ]

    def test_a_file_that_is_named_already_is_not_named_twice(self, registry_of):
        registry = registry_of(form("a", boom(UnreadableFile("bench-1.txt, line 7: cut off"))))
        with pytest.raises(UnreadableFile, match=r"^bench-1\.txt, line 7: cut off$"):
            read(b"x", name="bench-1.txt", registry=registry)

    def test_a_value_of_the_record(self, registry_of):
        registry = registry_of(form("a", lambda source, options: Study(plates=[Plate(label=" ")])))
        with pytest.raises(RecordError, match=r"^bench-1\.txt: plate, label: wanted text|^bench-1\.txt: plate ' '"):
            read(b"x", name="bench-1.txt", registry=registry)

    def test_an_error_class_of_the_plugin_stays(self, registry_of):
        class Torn(UnreadableFile):
            def __init__(self, page, line):
                super().__init__(f"page {page}, line {line} is torn")

        with pytest.raises(Torn, match="page 1, line 2 is torn") as caught:
            read(b"x", name="bench-1.txt", registry=registry_of(form("a", boom(Torn(1, 2)))))
        assert caught.value.__notes__ == ["bench-1.txt: page 1, line 2 is torn"]


class TestFaultsOfAPlugin:
    @pytest.mark.parametrize(
        ("result", "error", "said"),
        [
            (None, TypeError, "wanted to return Readings or a Study, returned NoneType"),
            ({"lane": ["A"]}, TypeError, "wanted to return Readings or a Study, returned dict"),
            (Readings({"lane": ["A", "B"]}, [2]), ValueError, "column 'lane': the reader wanted 1 cells.* gave 2"),
            (Readings({"lane": "A"}, [2]), TypeError, "column 'lane': the reader wanted a sequence of cells, gave str"),
            (Readings([("lane", ["A"])], [2]), TypeError, "wanted to give columns as a mapping, gave list"),
            (Readings({}, [], unread="all"), TypeError, "wanted to give unread as a sequence of texts"),
        ],
    )
    def test_nonsense_returned(self, registry_of, result, error, said):
        registry = registry_of(form("a", lambda source, options: result))
        with pytest.raises(error, match=said) as caught:
            read(b"x", name="bench-1.txt", registry=registry)
        assert "format 'a' of plugin my-lab while reading 'bench-1.txt'" in caught.value.__notes__[0]

    def test_an_exception_keeps_its_type(self, registry_of):
        with pytest.raises(ZeroDivisionError, match="oops") as caught:
            read(b"x", name="bench-1.txt", registry=registry_of(form("a", boom(ZeroDivisionError("oops")))))
        assert "a fault of the plugin, not of your call" in caught.value.__notes__[0]


class TestSeveralFiles:
    def test_plates_and_inputs_in_the_order_of_the_files(self, registry_of, plain, files):
        study = read(files(b="A=32", a="B=40"), registry=registry_of(plain.format))
        assert [plate.label for plate in study.plates] == ["A", "B"]
        assert [source.name for source in study.inputs] == ["b.txt", "a.txt"]

    def test_labels_that_clash_get_the_name_of_the_file(self, registry_of, plain, files):
        study = read(files(b="A=32 C=1", a="A=40"), registry=registry_of(plain.format))
        assert [plate.label for plate in study.plates] == ["b: A", "C", "a: A"]

    def test_files_of_one_name_are_told_apart_by_their_folders(self, registry_of, plain, tmp_path):
        paths = [tmp_path / day / "bench.txt" for day in ("monday", "friday")]
        for path in paths:
            path.parent.mkdir()
            path.write_text("A=32", encoding="utf-8")
        study = read(paths, registry=registry_of(plain.format))
        assert [plate.label for plate in study.plates] == ["monday/bench: A", "friday/bench: A"]
        assert check(paths, registry=registry_of(plain.format)) == ()

    def test_the_faults_of_all_files_are_in_one_error(self, registry_of, plain, files):
        paths = files(a="A=32", b="B 40", c="C=x", d="D=1")

        def reader(source, options):
            if "x" in source.text():
                raise UnreadableFile("line 1: no number")
            return plain.format.read(source, options)

        registry = registry_of(ImportFormat("plain", "T", reader, recognise=plain.format.recognise))
        with pytest.raises(ReadingsError, match="2 problems, nothing was read") as caught:
            read(paths, registry=registry)
        first, second = caught.value.problems
        assert (first.file, first.row, first.wanted) == ("b.txt", None, "a file that can be read")
        assert first.given == "one that cannot: no import format recognises b.txt (4 bytes, first line 'B 40')"
        assert first.todo.splitlines() == [
            "my-lab:plain (my-lab): no, no line holds =",
            "If you know what it is, name it: read('b.txt', format='plain').",
        ]
        assert (second.file, second.given) == ("c.txt", "one that cannot: line 1: no number")
        assert check(paths, registry=registry) == caught.value.problems

    def test_one_fault_among_several_files_is_raised_as_it_is(self, registry_of, plain, files):
        with pytest.raises(UnknownFormat, match=r"no import format recognises b\.txt"):
            read(files(a="A=32", b="B 40"), registry=registry_of(plain.format))

    def test_all_missing_files_are_named(self, registry_of, tmp_path):
        with pytest.raises(ReadingsError, match=r"no file '.*a\.txt'(?s:.*)no file '.*b\.txt'"):
            read([tmp_path / "a.txt", tmp_path / "b.txt"], registry=registry_of())


class TestCheck:
    def test_nothing_wrong(self, registry_of, plain, files):
        assert check(files(a="A=32", b="A=40"), registry=registry_of(plain.format)) == ()

    def test_a_missing_file_is_a_problem(self, registry_of, tmp_path):
        (problem,) = check(tmp_path / "a.txt", registry=registry_of())
        assert (problem.file, problem.row, problem.column) == ("a.txt", None, "")
        wanted = (
            r"a\.txt: wanted a file that can be read, given one that cannot: there is no file '.*a\.txt'\. Is '.*' the"
        )
        assert re.match(wanted, str(problem))

    def test_files_that_do_not_go_together(self, registry_of):
        registry = registry_of(form("a", lambda source, options: Study(plates=[Plate(label="1")])))
        with io.BytesIO(b"x") as one, io.BytesIO(b"y") as two:
            one.name = two.name = "bench-1.txt"
            (problem,) = check([one, two], registry=registry)
        assert problem.file == "all files together"
        assert "several files called 'bench-1.txt' have plates of one label" in problem.given

    def test_an_option_is_a_fault_of_the_call(self, registry_of, plain):
        with pytest.raises(OptionError, match="takes no options"):
            check(b"A=32", name="x", registry=registry_of(plain.format), options={"scale": 1})

"""Which format a file has: grades, ties, silence, and recognisers that fail."""

from __future__ import annotations

import pytest

from lanewise.errors import AmbiguousFormat, PluginProblemWarning, UnknownFormat
from lanewise.plugins.choosing import ask, choose, named

SAYS = """
def yes(sample): return Recognition.yes("line 1 has lane and ink_mm")
def maybe(sample): return Recognition.maybe("a table with commas")
def no(sample): return Recognition.no("line 1 lacks dye")
def boom(sample): raise ValueError("cannot cope")
def number(sample): return 1
def forever(sample):
    while True: pass
def odd(sample): return Recognition("surely", "because")
"""


def form(name, says=None, suffixes=()):
    recognise = f", recognise={says}" if says else ""
    return f'ImportFormat("{name}", "Title", "json:loads", suffixes={suffixes!r}{recognise})'


def registry_of(shelf, *forms):
    shelf.formats("lanewise-ink", *forms, version="1.2", head=SAYS)
    return shelf.registry()


def test_the_highest_claim_wins(shelf, sample):
    registry = registry_of(shelf, form("a", "maybe"), form("b", "yes"), form("c", "no"), form("d", "maybe"))
    best, *others = choose(registry, sample)
    assert best.entry.name == "b"
    assert str(best) == "lanewise-ink:b (lanewise-ink 1.2): yes, line 1 has lane and ink_mm"
    assert [answer.entry.name for answer in others] == ["a", "d"]
    assert [answer.entry.name for answer in ask(registry, sample)] == ["b", "a", "d", "c"]


def test_a_lone_maybe_is_taken(shelf, sample):
    registry = registry_of(shelf, form("a", "no"), form("b", "maybe"))
    assert [answer.entry.name for answer in choose(registry, sample)] == ["b"]


@pytest.mark.parametrize("says", ["yes", "maybe"])
def test_equal_claims_are_an_error_that_names_both(shelf, sample, says):
    registry = registry_of(shelf, form("a", says), form("b", says), form("c", "no"))
    with pytest.raises(AmbiguousFormat) as caught:
        choose(registry, sample)
    text = str(caught.value)
    assert text.startswith(
        "2 formats could read bench-1.csv equally well:\n  format='lanewise-ink:a' (lanewise-ink 1.2): "
    )
    assert "format='lanewise-ink:b'" in text
    assert "lanewise-ink:c" not in text
    assert text.endswith("Nothing was read. Name one: read('bench-1.csv', format='lanewise-ink:a').")


def test_nobody_claims_it(shelf, sample):
    registry = registry_of(shelf, form("a", "no"), form("b", suffixes=(".ink", ".dye")))
    with pytest.raises(UnknownFormat) as caught:
        choose(registry, sample)
    assert str(caught.value).splitlines() == [
        "no import format recognises bench-1.csv (29 bytes, first line 'lane,ink_mm,front_mm'):",
        "  lanewise-ink:a (lanewise-ink 1.2): no, line 1 lacks dye",
        "  lanewise-ink:b (lanewise-ink 1.2): no, its name ends in none of .ink, .dye",
        "If you know what it is, name it: read('bench-1.csv', format='a').",
    ]


def test_bytes_that_are_no_text_are_shown_as_bytes(shelf, sample):
    from dataclasses import replace

    registry = registry_of(shelf, form("a", "no"))
    with pytest.raises(UnknownFormat, match=r"\(29 bytes, starts b'\\x00\\x01'\)"):
        choose(registry, replace(sample, head=b"\x00\x01", text=None))


def test_plugins_that_are_out_are_mentioned(shelf, sample):
    shelf.put("lanewise-broken", "import not_there_at_all")
    registry = registry_of(shelf, form("a", "no"))
    with pytest.warns(PluginProblemWarning, match="not_there_at_all"):
        assert registry.formats
    with pytest.raises(UnknownFormat, match=r"not asked: main of lanewise-broken 1\.0 \(broken\)"):
        choose(registry, sample)


@pytest.mark.parametrize(
    ("suffixes", "claim"),
    [((".csv",), "maybe"), ((".1.csv", ".bench-1.csv"), "no"), ((".ink",), "no"), ((), "no")],
)
def test_without_a_recogniser_the_ending_speaks(shelf, sample, suffixes, claim):
    (answer,) = ask(registry_of(shelf, form("a", suffixes=suffixes)), sample)
    assert answer.recognition.claim == claim


def test_compound_endings_and_capitals(shelf, sample):
    from dataclasses import replace

    registry = registry_of(shelf, form("a", suffixes=(".bench.json",)))
    assert (
        choose(registry, replace(sample, name="Day 1.BENCH.JSON"))[0].recognition.because
        == "its name ends in .bench.json"
    )


@pytest.mark.parametrize(
    ("says", "said"),
    [
        ("boom", "its recogniser raised ValueError: cannot cope"),
        ("number", "its recogniser returned 1, wanted a Recognition"),
        ("odd", r"its recogniser returned Recognition\(claim='surely', .*, wanted a Recognition"),
    ],
)
def test_a_recogniser_that_fails_counts_as_no_and_is_said_once(shelf, sample, says, said):
    registry = registry_of(shelf, form("a", says), form("b", "maybe"))
    match = rf"format 'a' \(lanewise-ink 1\.2\) counts as not fitting 'bench-1\.csv': {said}"
    with pytest.warns(PluginProblemWarning, match=match):
        assert choose(registry, sample)[0].entry.name == "b"
    (problem,) = registry.problems
    assert problem.stage == "recognise"
    assert ("cannot cope" in problem.traceback) == (says == "boom")
    failed = ask(registry, sample)[-1]  # a second warning would be an error in this test run
    assert failed.failed
    assert failed.recognition.claim == "no"
    assert len(registry.problems) == 1


def test_a_recogniser_that_never_answers_is_given_up(shelf, sample, monkeypatch):
    monkeypatch.setenv("LANEWISE_PLUGIN_SECONDS", "0.2")
    registry = registry_of(shelf, form("a", "forever"), form("b", "maybe"))
    with pytest.warns(PluginProblemWarning, match=r"format 'a' \(lanewise-ink 1\.2\).*did not come back within 0\.2 s"):
        assert choose(registry, sample)[0].entry.name == "b"
    monkeypatch.setenv("LANEWISE_PLUGIN_SECONDS", "0")  # asked again, it would hang here
    assert "not asked about files any more" in ask(registry, sample)[-1].recognition.because
    assert registry.format("a").name == "a"


@pytest.mark.filterwarnings("ignore::lanewise.errors.PluginProblemWarning")  # what is raised is no warning
def test_strict_raises_what_a_recogniser_did(shelf, sample):
    shelf.formats("lanewise-ink", form("a", "boom"), head=SAYS)
    with pytest.raises(PluginProblemWarning, match="cannot cope"):
        choose(shelf.registry(strict=True), sample)


def test_a_named_format_is_obeyed(shelf, sample):
    registry = registry_of(shelf, form("a", "no"), form("b", "yes"))
    assert named(registry, "a", sample).recognition.because == "line 1 lacks dye"
    with pytest.raises(UnknownFormat, match="no import format called 'c'"):
        named(registry, "c", sample)

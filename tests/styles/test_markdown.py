from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lanewise.document import Bullets, Figure, Paragraph, Report, Section, Table, clean
from lanewise.errors import StyleError
from lanewise.styles import markdown
from lanewise.styles.builtin import MarkdownOptions

MARKUP = st.text(alphabet="|\\`*_[]<>&#;-+=:./ $@!(){}~^%\"'\n1a", max_size=20)
TEXTS = st.one_of(MARKUP, st.text(st.characters(exclude_categories=()), max_size=20))


def lay_out(*blocks, title="Inks", summary=(), section="Sheet", **options):
    return markdown.render(Report(title, summary, (Section(section, blocks),)), MarkdownOptions(**options))


@given(TEXTS)
def test_any_text_stays_text_wherever_it_stands(readback, text):
    blocks = (Paragraph(text), Bullets((text, "end")), Table("caption", (text, "b"), ((text, text),), (False, True)))
    page = lay_out(*blocks, title=text, summary=(text,), section=text).main
    plain = clean(text).strip()
    tokens = [token for token in readback.markdown_tokens(page) if token.type == "inline"]
    shown = [readback.shown(token) for token in tokens if token.content != "*caption*"]
    some = [plain] if plain else []
    title = plain or "(untitled)"
    assert shown == [title, "Summary", *some, title, *some, *some, "end", plain, "b", plain, plain]


@given(TEXTS)
def test_a_caption_is_emphasised_as_a_whole(readback, text):
    page = lay_out(Table(text, ("a",), (), (False,))).main
    plain = clean(text).strip()
    found = [token for token in readback.markdown_tokens(page) if token.type == "inline"][2:-1]
    if not plain:
        assert found == []
        return
    children = [child for child in found[0].children if child.content or child.type != "text"]
    assert (children[0].type, children[-1].type) == ("em_open", "em_close")
    assert {child.type for child in children[1:-1]} == {"text"}
    assert "".join(child.content for child in children[1:-1]) == plain


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        pytest.param("0.43 ± 0.02", "0.43 ± 0.02", id="number with uncertainty"),
        pytest.param("-0.25", "-0.25", id="negative number"),
        pytest.param("Front [mm]", r"Front [mm\]", id="unit"),
        pytest.param("- item", r"\- item", id="list"),
        pytest.param("1) item", r"1\) item", id="numbered list"),
        pytest.param("---", r"\---", id="rule"),
        pytest.param("# title", r"\# title", id="heading"),
        pytest.param("title ##", r"title \#\#", id="closing of a heading"),
        pytest.param("> text", r"\> text", id="quotation"),
        pytest.param("a|b", r"a\|b", id="pipe"),
        pytest.param("$x$", r"\$x\$", id="formula"),
        pytest.param("&copy; R & D", r"\&copy; R & D", id="entity"),
        pytest.param("](javascript:alert(1))", r"\](javascript:alert(1))", id="link"),
        pytest.param("https://x.invalid", r"https\://x.invalid", id="address"),
        pytest.param("www.x.invalid", r"www\.x.invalid", id="address without scheme"),
        pytest.param("ink@x.invalid", r"ink\@x.invalid", id="mail address"),
    ],
)
def test_escape_touches_what_could_act_and_nothing_else(text, expected):
    assert markdown.escape(text) == expected


def test_numbers_are_set_to_the_right(sample):
    page = lay_out(sample.results()).main.decode("utf-8")
    assert "| Ink | Colour of the spot | Rf | U (k = 2) | n |\n| --- | --- | ---: | ---: | ---: |\n" in page


@pytest.mark.parametrize("kind", ["svg", "png"])
def test_a_picture_is_a_file_beside_the_text(readback, sample, kind):
    figure = sample.figure()
    rendered = lay_out(figure, figures=kind)
    assert rendered.extras == {f"plate-1.{kind}": figure.draw(kind)}
    (picture,) = [
        child
        for token in readback.markdown_tokens(rendered.main)
        for child in token.children or ()
        if child.type == "image"
    ]
    assert picture.attrs["src"] == f"plate-1.{kind}"
    assert picture.content == "Picture plate-1, described in words below"
    assert "".join(f"* {sentence}\n" for sentence in figure.description) in rendered.main.decode("utf-8")


def test_the_alternative_of_a_picture_cannot_open_a_link(readback):
    figure = Figure("plate-1", "[a](b) ![c", (), lambda kind: b"<svg/>", 10.0, 10.0)
    (picture,) = [
        child
        for token in readback.markdown_tokens(lay_out(figure).main)
        for child in token.children or ()
        if child.type not in ("text", "em_open", "em_close")
    ]
    assert picture.attrs["src"] == "plate-1.svg"
    assert "".join(child.content for child in picture.children) == "[a](b) ![c"


@pytest.mark.parametrize(
    "name",
    [
        pytest.param("../plate", id="folder above"),
        pytest.param("a/b", id="folder"),
        pytest.param("", id="empty"),
        pytest.param("plate 1", id="space"),
        pytest.param("plate)", id="bracket"),
        pytest.param("Con", id="device"),
        pytest.param("com1", id="numbered device"),
        pytest.param("p" * 65, id="too long"),
        pytest.param("plaque-é", id="not ASCII"),
        pytest.param("plate-1\n", id="line break"),
    ],
)
def test_a_name_that_cannot_be_a_file_is_refused(sample, name):
    with pytest.raises(StyleError, match=r"wanted 1 to 64 ASCII letters.*given .*figures='none'"):
        lay_out(sample.figure(name))


def test_two_figures_may_not_share_a_file(sample):
    with pytest.raises(StyleError, match=r"figure 'Plate-1': its picture would overwrite 'plate-1.svg'"):
        lay_out(sample.figure("plate-1"), sample.figure("Plate-1"))


def test_names_do_not_matter_without_pictures(sample):
    assert lay_out(sample.figure("../x"), sample.figure("../x"), figures="none").extras == {}


def test_lists_that_follow_each_other_stay_apart(readback, sample):
    page = lay_out(Bullets(("one",)), sample.figure(), Bullets(("two",)), figures="none").main
    lists = [token for token in readback.markdown_tokens(page) if token.type == "bullet_list_open"]
    assert len(lists) == 3


def test_a_table_without_columns_leaves_its_caption_only():
    page = lay_out(Table("Nothing", (), (), ())).main.decode("utf-8")
    assert page == "# Inks\n\n## Sheet\n\n*Nothing*\n"

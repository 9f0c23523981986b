import base64
import hashlib
import json
import re
from dataclasses import fields
from functools import cache
from io import BytesIO
from pathlib import Path

import numpy as np
import pytest
from photo_pictures import CORNERS, MARKS, Scene, draw, saved
from PIL import Image

import lanewise_photo
from lanewise_photo.__main__ import main
from lanewise_photo.corrections import parse
from lanewise_photo.measuring import measure
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.review import review_page
from lanewise_photo.settings import settings_of

GIVEN = settings_of(PhotographOptions(size="80 x 100", orientation="up"))
HOSTILE = "</script><script>alert(1)</script><img src=x onerror=alert(2)>{{data}}.png"


@cache
def _page(name="inks.png"):
    data = saved(draw())
    return review_page(measure(data, name, GIVEN), data, settings=GIVEN)


def _told(page):
    return json.loads(
        re.search(r'<script type="application/json" id="data">(.*?)</script>', page.decode(), re.DOTALL)[1]
    )


def test_same_bytes_each_time():
    data = saved(draw())
    assert review_page(measure(data, "inks.png", GIVEN), data, settings=GIVEN) == _page()


def test_nothing_is_loaded_and_its_own_parts_are_named_by_their_hashes():
    text = _page().decode()
    policy = re.search(r'http-equiv="Content-Security-Policy" content="([^"]*)"', text)[1]
    assert policy.startswith("default-src 'none'; img-src data:; ")
    # the hash of a part as the policy names it: W3C Content Security Policy Level 3, 2.3.1 (from memory)
    for tag, rule in (("style", "style-src"), ("script", "script-src")):
        content = re.search(rf"<{tag}>(.*?)</{tag}>", text, re.DOTALL)[1]
        digest = base64.b64encode(hashlib.sha256(content.encode()).digest()).decode()
        assert f"{rule} 'sha256-{digest}'" in policy
    assert set(re.findall(r"https?://[^\s\"'<)]*", text)) == {"http://www.w3.org/2000/svg"}  # the name of a namespace
    assert not re.search(r"<(link|iframe|object|embed)|\bfetch\(|XMLHttp|WebSocket|import\(", text)


def test_names_cannot_break_out():
    text = _page(HOSTILE).decode()
    assert text.count("<script") == 2
    assert "<img" not in text
    assert _told(text.encode())["name"] == HOSTILE


def test_page_tells_what_was_read():
    told = _told(_page())
    assert told["sha256"] == hashlib.sha256(saved(draw())).hexdigest()
    (sheet,) = told["sheets"]
    assert [len(lane["spots"]) for lane in sheet["lanes"]] == [2, 1, 3, 1]
    assert (sheet["side"], sheet["sure"]) == ("up", True)


def test_command_line_makes_page_and_overlay(tmp_path, capsys):
    picture = tmp_path / "inks.png"
    picture.write_bytes(saved(draw()))
    out = tmp_path / "review.html"
    assert main(["review", str(picture), "--out", str(out), "--size", "80 x 100", "--orientation", "up"]) == 0
    assert out.read_bytes() == _page()
    assert main(["overlay", str(picture), "--size", "80 x 100", "--corrections", "drop lane 1 spot 1"]) == 0
    assert (tmp_path / "inks.overlay.svg").read_text("utf-8").count("lane 1, spot") == 1
    assert capsys.readouterr().out == f"{out}\n{tmp_path / 'inks.overlay.svg'}\n"
    assert main(["overlay", str(picture), "--size", "large"]) == 1
    assert "option 'size'" in capsys.readouterr().err


def test_command_line_offers_a_refused_picture_for_measuring_by_hand(tmp_path, capsys):
    picture = tmp_path / "dark.png"
    picture.write_bytes(saved(draw(Scene(light=0.008))))
    assert main(["review", str(picture)]) == 0
    text = (tmp_path / "dark.review.html").read_text("utf-8")
    assert "Refused as it is. too_dark: " in text
    (sheet,) = _told(text.encode())["sheets"]
    assert (sheet["byHand"], sheet["cornersSet"]) == (True, True)
    np.testing.assert_allclose(sheet["corners"], CORNERS, atol=4.0)  # the outline was found, to a few pixels
    assert "(refused as it is: too_dark" in capsys.readouterr().out


def test_sheet_without_a_front_is_shown_with_what_was_found(tmp_path):
    picture = tmp_path / "wet.png"
    picture.write_bytes(saved(draw(Scene(front=False))))
    assert main(["review", str(picture), "--size", "80 x 100", "--orientation", "up"]) == 0
    text = (tmp_path / "wet.review.html").read_text("utf-8")
    assert "Refused as it is. no_front: " in text
    (sheet,) = _told(text.encode())["sheets"]
    assert (sheet["byHand"], sheet["front"]) == (False, None)
    assert sum(len(lane["spots"]) for lane in sheet["lanes"]) >= sum(map(len, MARKS.values()))


@pytest.mark.parametrize("what", ["review", "overlay"])
def test_command_line_writes_over_nothing_it_needs(tmp_path, capsys, what):
    picture, corrections = tmp_path / "inks.png", tmp_path / "inks.txt"
    picture.write_bytes(saved(draw()))
    corrections.write_text("drop lane 1 spot 1", "utf-8")
    (tmp_path / "same.png").symlink_to(picture)
    before = picture.read_bytes()
    for out in (picture, tmp_path / "same.png", corrections):
        assert main([what, str(picture), "--out", str(out), "--corrections", str(corrections)]) == 1
        said = capsys.readouterr().err
        assert "option 'out': wanted another file" in said
        assert said.count("\n") == 1
    assert picture.read_bytes() == before
    assert main([what, str(picture), "--out", str(tmp_path / "nowhere" / "a.html")]) == 1
    assert "make the folder first" in capsys.readouterr().err
    assert main([what, str(tmp_path / "gone.png")]) == 1
    assert capsys.readouterr().err == f"No such file or directory: {tmp_path / 'gone.png'}\n"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["inks.png", "inks.txt", "same.png"]


def test_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    picture = tmp_path / "inks.png"
    picture.write_bytes(saved(draw()))
    out = tmp_path / "page.html"
    out.write_text("old", "utf-8")

    def full(path, content):
        with path.open("wb") as file:
            file.write(content[:100])
        raise OSError(28, "No space left on device", str(path))

    monkeypatch.setattr(Path, "write_bytes", full)
    assert main(["review", str(picture), "--out", str(out), "--by-hand"]) == 1
    assert out.read_text("utf-8") == "old"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["inks.png", "page.html"]


@pytest.mark.parametrize("what", ["review", "overlay"])
def test_help_names_every_option(capsys, what):
    with pytest.raises(SystemExit, match="0"):
        main([what, "--help"])
    said = capsys.readouterr().out
    for one in fields(PhotographOptions):
        assert f"--{one.name.replace('_', '-')} " in said


def test_page_begins_with_corrections_made_before():
    data = saved(draw())
    text = (
        "by: A. Invented\non: 2026-03-14\nmove lane 2 spot 1 to 47.5\nname lane 2 spot 1 A\ndrop lane 1 spot 2\n"
        "new lane 5 across 22\nadd lane 5 at 40 from 38 to 42\n"
    )
    page = review_page(measure(data, "inks.png", GIVEN), data, settings=GIVEN, corrections=parse(text))
    told = _told(page)
    lanes = {lane["label"]: lane for lane in told["start"][0]["lanes"]}
    assert [(spot["was"], spot["label"], spot["centre"]) for spot in lanes["2"]["spots"]] == [("1", "A", 47.5)]
    assert [(spot["was"], spot["label"]) for spot in lanes["5"]["spots"]] == [("", "1")]
    assert [lanes[label]["added"] for label in "125"] == [False, False, True]
    assert told["by"] == "A. Invented"
    assert ["1", "drop lane 1 spot 2", "A. Invented", "2026-03-14"] in told["earlier"]
    assert len(told["sheets"][0]["lanes"]) == 4


def test_picture_is_embedded_at_a_sensible_size():
    code = np.full((3000, 4000, 3), 180 * 257, np.uint16)
    page = review_page(None, saved(code, "JPEG", quality=90), name="large.jpg")
    href = _told(page)["photo"]["href"]
    with Image.open(BytesIO(base64.b64decode(href.partition(",")[2]))) as image:
        assert image.size == (2000, 1500)


def test_public_names_are_there():
    assert all(callable(getattr(lanewise_photo, name)) for name in lanewise_photo.__all__)
    with pytest.raises(AttributeError, match="has no attribute 'nothing'"):
        getattr(lanewise_photo, "nothing")  # noqa: B009

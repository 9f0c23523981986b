from __future__ import annotations

import struct
import time
import zipfile
import zlib

import pytest
from spreadsheet_builders import (
    MAIN,
    SHEET,
    ods_cell,
    ods_of,
    openpyxl_book,
    packed,
    saved,
    sheet_data,
    unpacked,
    xlsx_of,
    xlsx_parts,
)

from lanewise.errors import UnreadableFile
from lanewise_spreadsheet import archive, markup
from lanewise_spreadsheet.archive import Archive

TABLE = [["lane", "front", "centre"], ["A", 85.0, 20.0]]
PARTS = xlsx_parts(sheet_data(TABLE))
ODS = unpacked(ods_of(TABLE))
XML = '<?xml version="1.0"?>\n'

LAUGHS = "".join(
    f'<!ENTITY lol{level} "{f"&lol{level - 1};" * 10}">' if level else '<!ENTITY lol0 "lol">' for level in range(10)
)
QUADRATIC = f'<!ENTITY a "{"a" * 50_000}">'


def entity_bomb(declarations, use):
    return (
        f'{XML}<!DOCTYPE worksheet [{declarations}]><worksheet xmlns="{MAIN}"><sheetData><row r="1"><c r="A1" '
        f't="inlineStr"><is><t>{use}</t></is></c></row></sheetData></worksheet>'
    )


def refused(study_of, data, match, name="inks.xlsx"):
    """Refuse without working anything out, in a text that names the file."""
    begin = time.perf_counter()
    with pytest.raises(UnreadableFile, match=match) as caught:
        study_of(data, name=name)
    assert time.perf_counter() - begin < 5.0
    assert str(caught.value).startswith(name)


@pytest.mark.parametrize(
    "bomb",
    [
        pytest.param(entity_bomb(LAUGHS, "&lol9;"), id="entities within entities"),
        pytest.param(entity_bomb(QUADRATIC, "&a;" * 50_000), id="a long entity many times"),
        pytest.param(entity_bomb('<!ENTITY x SYSTEM "file:///etc/passwd">', "&x;"), id="an entity outside"),
        pytest.param(entity_bomb("", "lane"), id="a declaration without entities"),
        pytest.param(entity_bomb(LAUGHS, "&lol9;").replace(XML, "").encode("utf-16"), id="in another encoding"),
    ],
)
@pytest.mark.parametrize("part", [SHEET, "xl/sharedStrings.xml", "xl/workbook.xml", "docProps/custom.xml"])
def test_entity_bombs_are_refused_in_every_part(study_of, part, bomb):
    match = rf"part '{part}': wanted XML without declarations, given a document type declaration \(DTD\)"
    refused(study_of, packed({**PARTS, part: bomb}), match)


@pytest.mark.parametrize("part", ["content.xml", "styles.xml", "META-INF/manifest.xml"])
def test_entity_bombs_are_refused_in_ods(study_of, part):
    data = packed({**ODS, part: entity_bomb(LAUGHS, "&lol9;")})
    refused(study_of, data, rf"part '{part}': wanted XML without declarations", "inks.ods")


def test_an_archive_that_swells_is_refused_before_it_is_unpacked(study_of, monkeypatch):
    data = packed({**PARTS, "xl/sharedStrings.xml": b" " * (8 << 20)})
    assert len(data) < 20_000
    monkeypatch.setattr(Archive, "pieces", lambda *_: pytest.fail("unpacked"))
    refused(
        study_of, data, r"part 'xl/sharedStrings.xml': wanted at most .*given one of \d+ bytes that unpacks to 8388608"
    )


def test_more_bytes_in_all_than_are_allowed_are_refused(study_of, monkeypatch):
    monkeypatch.setattr(archive, "MOST_BYTES", 10_000)
    noise = bytes(range(256)) * 20
    refused(study_of, packed({**PARTS, "a.bin": noise, "b.bin": noise}), r"wanted at most \d+ parts of 10000 bytes")


def test_too_many_parts_are_refused(study_of):
    many = {f"xl/media/{number}.png": b"" for number in range(archive.MOST_PARTS)}
    refused(study_of, packed({**PARTS, **many}, zipfile.ZIP_STORED), f"wanted at most {archive.MOST_PARTS} parts")


def understated(size):
    """Let the directory of the archive, and the local header, state another size of the sheet than it unpacks to."""
    data = bytearray(packed(PARTS))
    real = len(PARTS[SHEET])
    for sign, at_size, at_check in ((b"PK\x03\x04", 22, 14), (b"PK\x01\x02", 24, 16)):
        start = -1
        while (start := data.find(sign, start + 1)) >= 0:
            if struct.unpack_from("<I", data, start + at_size)[0] == real and size != real:
                struct.pack_into("<I", data, start + at_size, size)
                struct.pack_into("<I", data, start + at_check, zlib.crc32(PARTS[SHEET].encode()[:size]))
    return bytes(data)


def test_a_part_that_unpacks_to_more_than_is_stated_is_refused(study_of):
    assert understated(len(PARTS[SHEET])) == packed(PARTS)
    refused(
        study_of, understated(200), rf"part '{SHEET}': wanted .*given more than the 200 bytes that the archive states"
    )


def test_a_part_that_unpacks_to_less_than_is_stated_is_refused(study_of):
    real = len(PARTS[SHEET])
    refused(study_of, understated(real + 1), rf"part '{SHEET}': wanted a whole part, given {real} bytes of {real + 1}")


def test_bytes_that_were_changed_are_refused(study_of):
    data = bytearray(packed(PARTS, zipfile.ZIP_STORED))
    place = data.index(b"<v>20.0</v>")
    data[place + 3 : place + 5] = b"30"
    refused(study_of, bytes(data), rf"part '{SHEET}': wanted a whole part")


FAR = '<sheetData><row r="1"><c r="A1"><v>1</v></c></row><row r="{0}"><c r="{1}{0}"><v>1</v></c></row></sheetData>'


@pytest.mark.parametrize(
    ("row", "letters"),
    [
        pytest.param(1_048_576, "XFD", id="the last cell of all"),
        pytest.param(1_048_577, "A", id="a row too far"),
        pytest.param(1, "XFE", id="a column too far"),
        pytest.param(999_999_999_999, "A", id="a row that is none"),
        pytest.param(2, "ABCDEFG", id="a column that is none"),
        pytest.param(-5, "A", id="a row below 1"),
    ],
)
def test_two_cells_far_apart_are_refused_before_the_sheet_is_laid_out(study_of, row, letters):
    data = packed(xlsx_parts(FAR.format(row, letters)))
    refused(study_of, data, r"sheet 'bench 1': wanted a sheet of at most 1048576 rows.*given one that reaches to row")


@pytest.mark.parametrize(
    "repeats",
    [
        pytest.param({"numbercolumnsrepeated": 16_384}, id="many columns"),
        pytest.param({"numbercolumnsrepeated": 10**12}, id="more columns than there are"),
    ],
)
def test_cells_of_ods_that_stand_for_very_many_are_refused(study_of, repeats):
    parts = unpacked(ods_of([["lane", ods_cell(1, **repeats)]]))
    content = parts["content.xml"].replace(b"<table:table-row>", b'<table:table-row table:number-rows-repeated="5000">')
    refused(study_of, packed({**parts, "content.xml": content}), "wanted a sheet of at most 1048576 rows", "inks.ods")


def test_empty_cells_that_stand_for_very_many_do_no_harm(study_of):
    rest = [ods_cell(None, numbercolumnsrepeated=16_000)]
    study = study_of(ods_of([[*TABLE[0], *rest], [*TABLE[1], *rest], rest]), name="inks.ods")
    assert len(study.plates[0].lanes) == 1


@pytest.mark.parametrize(
    "part", ["xl/vbaProject.bin", "xl/macrosheets/sheet1.xml", "xl/activeX/activeX1.xml", "XL/VBADATA.XML"]
)
def test_macros_are_refused(study_of, part):
    data = packed({**PARTS, part: b"<x/>"})
    refused(study_of, data, f"part '{part}': wanted a spreadsheet without macros", "inks.xlsm")


@pytest.mark.parametrize("part", ["Basic/Standard/Module1.xml", "Scripts/python/do.py"])
def test_macros_of_ods_are_refused(study_of, part):
    refused(study_of, packed({**ODS, part: b"<x/>"}), f"part '{part}': wanted a spreadsheet without macros", "inks.ods")


def test_a_script_within_the_content_is_refused(study_of):
    script = b"<office:scripts><office:script/></office:scripts><office:automatic-styles"
    content = ODS["content.xml"].replace(b"<office:automatic-styles", script)
    refused(study_of, packed({**ODS, "content.xml": content}), "without macros, given a script", "inks.ods")


@pytest.mark.parametrize(
    ("name", "data", "match"),
    [
        pytest.param("inks.xls", archive.OLE + bytes(5000), "given an old binary workbook", id="xls"),
        pytest.param("inks.xlsx", archive.OLE + bytes(5000), "or one locked with a password", id="a password"),
        pytest.param("inks.xlsx", b"lane,front,centre\nA,85,20\n", "given one that starts with b'lane,fro'", id="text"),
        pytest.param("inks.xlsx", packed({"word/document.xml": "<x/>"}), "wanted the parts of an xlsx", id="another"),
        pytest.param("inks.xlsx", packed({}), "wanted an xlsx or ods file", id="an empty archive"),
        pytest.param("inks.ods", packed({**ODS, "mimetype": "text/plain"}), "wanted the parts of", id="another type"),
        pytest.param("inks.ods", packed({"mimetype": ODS["mimetype"]}), "wanted the parts of", id="no content"),
        pytest.param("inks.ods", packed({"encrypted-package": b"x"}), "without a password", id="ods with a password"),
    ],
)
def test_other_files_are_refused_with_what_to_do(study_of, name, data, match):
    refused(study_of, data, match, name)


def test_encrypted_parts_of_ods_are_refused(study_of):
    manifest = ODS["META-INF/manifest.xml"].replace(
        b"</manifest:manifest>",
        b'<manifest:file-entry manifest:full-path="content.xml"><manifest:encryption-data/></manifest:file-entry>'
        b"</manifest:manifest>",
    )
    refused(study_of, packed({**ODS, "META-INF/manifest.xml": manifest}), "without a password", "inks.ods")


def flagged(flag):
    data = bytearray(packed(PARTS))
    for sign, at in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        start = data.find(sign)
        data[start + at] |= flag
    return bytes(data)


def test_encrypted_parts_of_an_archive_are_refused(study_of):
    refused(
        study_of, flagged(1), r"part '\[Content_Types\].xml': wanted a spreadsheet without a password, given a locked"
    )


@pytest.mark.parametrize(
    "name", ["../outside.xml", "/etc/outside.xml", "C:/outside.xml", "xl\\outside.xml", "a/../../b"]
)
def test_names_that_lead_out_of_the_archive_are_refused(study_of, name):
    refused(
        study_of, packed({**PARTS, name: b"<x/>"}), "wanted names of parts within the archive, given one that points"
    )


@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_two_parts_of_one_name_are_refused(study_of):
    refused(study_of, packed({**PARTS, SHEET.upper(): "<x/>"}), "wanted parts of different names, given this one twice")


def test_other_ways_of_packing_are_refused(study_of):
    refused(study_of, packed(PARTS, zipfile.ZIP_BZIP2), "wanted a part stored or deflated.*given packing method 12")


@pytest.mark.parametrize("share", [0.1, 0.5, 0.9, 0.99])
def test_files_cut_short_are_refused(study_of, share):
    data = xlsx_of(TABLE)
    refused(study_of, data[: int(len(data) * share)], "wanted a whole archive, given one that is cut short or damaged")


@pytest.mark.parametrize(
    ("sheet", "match"),
    [
        pytest.param("<worksheet><sheetData>", "wanted well-formed XML, given a fault in it", id="not closed"),
        pytest.param('<?xml version="1.0" encoding="no-such"?><worksheet/>', "given a fault in it", id="no encoding"),
        pytest.param(
            f'<worksheet xmlns="{MAIN}"><sheetData><row><c t="s"><v>99</v></c></row></sheetData></worksheet>',
            "wanted cells that can be read",
            id="a text that is not there",
        ),
        pytest.param(
            f'<worksheet xmlns="{MAIN}"><sheetData><row><c t="n"><v>five</v></c></row></sheetData></worksheet>',
            "wanted cells that can be read",
            id="a number that is none",
        ),
    ],
)
def test_damaged_sheets_are_refused(study_of, sheet, match):
    refused(study_of, packed({**PARTS, SHEET: sheet}), match)


def test_a_date_beyond_all_calendars_is_refused(study_of):
    styles = '<cellXfs count="1"><xf numFmtId="46"/></cellXfs>'  # 46 is [h]:mm:ss (ECMA-376 part 1, 18.8.30)
    rows = '<sheetData><row r="1"><c r="A1" s="0"><v>1e18</v></c></row></sheetData>'
    refused(study_of, packed(xlsx_parts(rows, styles=styles)), "wanted cells that can be read")


def test_a_workbook_that_lists_no_sheet_is_refused(study_of):
    empty = f'<workbook xmlns="{MAIN}"><sheets/></workbook>'
    refused(study_of, packed({**PARTS, "xl/workbook.xml": empty}), "wanted a sheet with a row of headings")


def test_a_harmless_file_of_a_library_passes_every_check(marks_of):
    book, _ = openpyxl_book(TABLE)
    assert marks_of(saved(book))["centre_mm"] == [20.0]


def test_old_drawings_need_not_be_well_formed_and_may_not_declare_anything(study_of):
    part = "xl/drawings/vmlDrawing1.vml"
    assert study_of(packed({**PARTS, part: "<xml><div>a<br>b</div></xml>"})).plates
    refused(study_of, packed({**PARTS, part: entity_bomb(LAUGHS, "&lol9;")}), "wanted XML without declarations")


def test_every_part_is_looked_through(monkeypatch):
    book, _ = openpyxl_book(TABLE)
    data = saved(book)
    seen = []
    monkeypatch.setattr(markup, "feed", lambda archive, part, parser: seen.append(part))
    markup.check_markup(Archive("inks.xlsx", data))
    assert set(seen) == {part for part in unpacked(data) if part.endswith((".xml", ".rels"))}

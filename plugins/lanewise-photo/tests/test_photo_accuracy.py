"""A short evaluation on a dozen simulated pictures; the published one has hundreds, see publish.py.

A count is held to a floor by its own 95 % bound (Clopper and Pearson, Garwood): it fails where so few pictures suffice
to say that the reader has become worse than that. Pictures and reader are fixed, so it fails always or never.
"""

import math

import publish
import pytest
from evaluate import examine_all, summarise

from lanewise.errors import UnreadableFile

READER, FLAGS = "lanewise_photo.evaluation:read", "lanewise_photo.evaluation:flags"
SEEDS = range(900, 904)  # below 1000: those from there on are for published figures
FLOORS = {  # found, false spots a plate, root mean square error of Rf, 95 % intervals that cover, not refused
    "scan": (0.97, 0.1, 0.004, 0.90, 0.97),
    "phone": (0.92, 0.3, 0.008, 0.90, 0.95),
    "hard": (0.82, 0.5, 0.016, 0.88, 0.85),
}
HOPELESS = ("no_sheet", "page_of_text", "no_front", "sheet_cut")


@pytest.fixture(scope="module", params=sorted(FLOORS))
def judged(request):
    records = examine_all([request.param], SEEDS, reader=READER, flags=FLAGS, megapixels=1.5)
    return request.param, summarise(records)["kinds"][request.param]


def test_counts_allow_the_floors(judged):
    kind, one = judged
    found, false, rmse, covered, read = FLOORS[kind]
    assert one["broken"] == 0
    assert one["found"]["of"] >= 15
    assert one["found"]["high"] >= found
    assert one["false"]["low"] <= false
    assert one["errors"]["rmse"] <= rmse
    assert one["errors"]["coverage"]["high"] >= covered
    assert one["not_refused"]["high"] >= read


def test_no_exact_number_is_given_near_a_line(judged):
    assert judged[1]["near_exact"]["count"] == 0


@pytest.mark.parametrize("fault", HOPELESS)
def test_what_nobody_could_read_is_refused(fault):
    (record,) = examine_all([fault], [900], reader=READER, flags=FLAGS, megapixels=1.0)
    assert record["refused"], record["verdict"]


def test_a_reader_that_shifts_every_spot_would_be_seen():
    """The floors bite: the same reader, its front a tenth too high."""
    records = examine_all(["scan"], SEEDS[:1], reader=shifted, flags=FLAGS, changes={"dpi": 150})
    one = summarise(records)["kinds"]["scan"]
    assert one["errors"].get("rmse", math.inf) > FLOORS["scan"][2]


def shifted(path, facts):
    from msgspec.structs import replace

    from lanewise_photo.evaluation import read

    study = read(path, facts)
    plates = [
        replace(
            plate,
            lanes=tuple(
                replace(lane, front=lane.front + 0.1 * (lane.front - lane.origin))
                if lane.front and lane.origin
                else lane
                for lane in plate.lanes
            ),
        )
        for plate in study.plates
    ]
    return replace(study, plates=tuple(plates))


def nothing(path, facts):
    raise UnreadableFile(f"{path}: wanted a picture that can be read, given this one")


def test_tables_are_put_between_the_markers_and_nowhere_else(tmp_path):
    kinds, faults = (examine_all([name], [900], reader=nothing, megapixels=0.3) for name in ("phone", "no_sheet"))
    found = {
        "seeds": "900",
        "fault_seeds": "900",
        "marks": summarise([*kinds, *faults]),
        "dye": summarise(kinds),
        "flags": {"faint": 1},
    }
    text = publish.PAGE.read_text(encoding="utf-8")
    made = publish.page_with(text, found)
    assert made == publish.page_with(made, found)
    assert made.partition(publish.BEGIN)[0] == text.partition(publish.BEGIN)[0]
    assert made.partition(publish.END)[2] == text.partition(publish.END)[2]
    inside = made.partition(publish.BEGIN)[2].partition(publish.END)[0]
    for words in (
        "1 telephone (seeds 900",
        "| readable, not refused | 0.000 (0.000 to 0.975) |",
        "| `faint` | 1 of 1 |",
    ):
        assert words in inside
    assert "| a desk with pens and coins and no sheet | no | 1 | 0 | 0 | 0 | 0 |" in inside
    with pytest.raises(ValueError, match="wanted the lines"):
        publish.page_with("# A page without markers", found)


def test_the_page_holds_tables_of_seeds_that_nobody_works_on():
    text = publish.PAGE.read_text(encoding="utf-8").partition(publish.BEGIN)[2].partition(publish.END)[0]
    assert "| spots found, all due |" in text
    (seeds,) = [line for line in text.splitlines() if line.startswith("Pictures: ")]
    assert "(seeds 1000 to 1" in seeds

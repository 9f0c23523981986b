"""The evaluation judges as it says: readings made from the truth pass, and each way of being wrong is seen."""

import json
import sys
from dataclasses import replace

import evaluate
import numpy as np
import pytest
from judging import Flags, Outcome, judge, matched, options_of
from simulator import SpotTruth, make

import lanewise

STATES = {"measured": "measured", "at origin": "at origin", "with front": "with front", "streak": "streak"}


@pytest.fixture(scope="module")
def truth():
    """A sheet of which every spot lies in the open."""
    known = make("phone", 17, megapixels=0.3, lanes=3, size=(80, 100), layer="paper", front="pencil").truth
    spots = []
    for lane, height in ((0, 0.3), (0, 0.6), (1, 0.45), (2, 0.2), (2, 0.8)):
        place = known.lanes[lane]
        apex = place.origin + height * (place.front - place.origin)
        spots.append(spot(lane, height, apex))
    return replace(known, spots=tuple(spots))


def spot(lane, rf, apex, **changes):
    plain = {
        "lane": lane,
        "rf": rf,
        "rf_dye": rf + 0.001,
        "x": 20.0,
        "apex": apex,
        "trailing": apex - 3,
        "leading": apex + 3,
        "centroid": apex,
        "sigma": 1.5,
        "tau": 0.0,
        "sigma_x": 1.4,
        "od": (0.3, 0.05, 0.02),
        "channel": "red",
        "dye": "blue 1",
        "colour": "blue",
        "lab": (80.0, -10.0, -20.0),
        "amount": 1.0,
        "state": "measured",
        "shape": "round",
    }
    return SpotTruth(**plain | changes)


def study_of(truth, shift=0.0, lanes=None, u=0.05, note="", leave_out=(), extra=(), spot_note=""):
    """A study that says what is true, or is off by so many millimetres."""
    made = []
    for number, lane in enumerate(truth.lanes):
        here = [one for k, one in enumerate(truth.spots) if one.lane == number and k not in leave_out]
        places = [(one.apex + shift, one.trailing + shift, one.leading + shift, one.colour) for one in here]
        places += [(lane.origin + d, lane.origin + d - 1, lane.origin + d + 1, "red") for n, d in extra if n == number]
        spots = [
            lanewise.Spot(
                label=str(k + 1),
                centre=apex,
                trailing=low,
                leading=high,
                colour=colour,
                u_centre=u,
                u_trailing=0.2,
                u_leading=0.2,
                note=spot_note,
            )
            for k, (apex, low, high, colour) in enumerate(sorted(places))
        ]
        label = lanes[number] if lanes else lane.name
        made.append(
            lanewise.Lane(
                label=label, origin=lane.origin, front=lane.front, u_origin=0.03, u_front=0.03, spots=tuple(spots)
            )
        )
    plate = lanewise.Plate(label="1", system="water", lanes=tuple(made), note=note)
    return lanewise.Study(plates=(plate,))


def verdict(truth, study, **changes):
    return judge(truth, Outcome(study), **changes)


def test_a_true_reading_is_right(truth):
    made = verdict(truth, study_of(truth))
    assert made["verdict"] == "right"
    assert made["false"] == 0
    assert all(one["found"] and one["covered"] for one in made["spots"])
    assert max(abs(one["error"]) for one in made["spots"]) < 1e-9


def test_a_reading_that_is_off_is_silently_wrong_unless_a_flag_bears_on_it(truth):
    assert verdict(truth, study_of(truth, shift=0.8))["verdict"] == "silently wrong"
    assert verdict(truth, study_of(truth, shift=0.8, note="not flat"))["verdict"] == "flagged"
    assert verdict(truth, study_of(truth, shift=0.8, spot_note="faint"))["verdict"] == "flagged"
    one = Flags(spots={("none of them", "1"): ("faint",)})
    assert verdict(truth, study_of(truth, shift=0.8), flags=lambda study: one)["verdict"] == "silently wrong"


def test_error_and_coverage_are_those_of_the_distance(truth):
    made = verdict(truth, study_of(truth, shift=0.2, u=0.05))
    run = truth.lanes[0].front - truth.lanes[0].origin
    first = next(one for one in made["spots"] if one["lane"] == 0)
    assert first["error"] == pytest.approx(0.2 / run, rel=1e-6)
    assert not first["covered"]  # 0.2 mm is four times 0.05 mm
    assert verdict(truth, study_of(truth, shift=0.05))["spots"][0]["covered"]


def test_missed_and_false_spots_are_counted(truth):
    made = verdict(truth, study_of(truth, leave_out=(1,), extra=((1, 50.0),)))
    assert sum(not one["found"] for one in made["spots"]) == 1
    assert made["false"] == 1
    assert made["verdict"] == "silently wrong"


def test_a_find_beyond_two_millimetres_and_0_03_is_not_the_spot(truth):
    near, far = verdict(truth, study_of(truth, shift=1.9)), verdict(truth, study_of(truth, shift=2.7))
    assert all(one["found"] for one in near["spots"])
    assert not any(one["found"] for one in far["spots"])
    assert far["false"] == len(truth.spots)


def test_a_mirrored_reading_is_seen_by_the_names_of_its_lanes(truth):
    swapped = [lane.name for lane in truth.lanes][::-1]
    assert verdict(truth, study_of(truth, lanes=swapped))["verdict"] == "silently wrong"
    unnamed = ["left", "middle", "right"]
    assert verdict(truth, study_of(truth, lanes=unnamed))["verdict"] == "right"


def held(study):
    return Flags(held=("mirror_unknown",))


def test_a_doubt_about_how_a_sheet_was_held_excuses_that_and_nothing_else(truth):
    swapped = [lane.name for lane in truth.lanes][::-1]
    assert verdict(truth, study_of(truth, lanes=swapped), flags=held)["verdict"] == "flagged"
    assert verdict(truth, study_of(truth, shift=0.8), flags=held)["verdict"] == "silently wrong"
    assert verdict(truth, study_of(truth, extra=((1, 50.0),)), flags=held)["verdict"] == "silently wrong"
    assert verdict(truth, study_of(truth), flags=held)["verdict"] == "right"


def test_a_sheet_read_upside_down_is_known_for_one(truth):
    lanes = truth.lanes
    spots = [
        replace(one, rf=1.0 - one.rf, lane=len(lanes) - 1 - one.lane, apex=place.front - one.rf * run)
        for one in truth.spots
        for place in [lanes[len(lanes) - 1 - one.lane]]
        for run in [place.front - place.origin]
    ]
    upside_down = replace(
        truth, spots=tuple(replace(one, trailing=one.apex - 3, leading=one.apex + 3) for one in spots)
    )
    assert verdict(truth, study_of(upside_down), flags=held)["verdict"] == "flagged"
    assert verdict(truth, study_of(upside_down))["verdict"] == "silently wrong"


def test_matching_is_one_to_one_and_prefers_what_has_to_be_found(truth):
    lane = truth.lanes[0]
    run = lane.front - lane.origin
    pale = spot(0, 0.3 + 0.7 / run, lane.origin + 0.3 * run + 0.7, od=(0.02, 0.0, 0.0))
    crowded = replace(truth, spots=(*truth.spots, pale))
    found = evaluate_found(study_of(truth, shift=0.5))
    pairs, extra, missed = matched(found, crowded)
    assert not extra
    assert missed == [pale]
    assert len({id(one) for _, one in pairs}) == len(pairs) == len(truth.spots)


def evaluate_found(study):
    from judging import found_spots

    return found_spots(study)


def test_a_spot_at_a_line_should_be_a_bound(truth):
    lane = truth.lanes[1]
    run = lane.front - lane.origin
    low = spot(1, 1.0 / run, lane.origin + 1.0, near_end=True)
    known = replace(truth, spots=(low,))
    exact = verdict(known, study_of(known))
    assert exact["spots"][0]["near_exact"]
    plate = study_of(known).plates[0]
    censored = [
        msg_replace(one, spots=(lanewise.Spot(label="1", state="at origin"),)) if one.label == lane.name else one
        for one in plate.lanes
    ]
    made = verdict(known, lanewise.Study(plates=(msg_replace(plate, lanes=tuple(censored)),)))
    assert made["spots"][0]["found"]
    assert not made["spots"][0]["near_exact"]


def msg_replace(record, **changes):
    import msgspec

    return msgspec.structs.replace(record, **changes)


def test_any_number_is_wrong_where_there_is_no_true_one(truth):
    lanes = tuple(replace(lane, front=None) for lane in truth.lanes)
    spots = tuple(replace(one, rf=None) for one in truth.spots)
    unknown = replace(truth, lanes=lanes, spots=spots, readable=False)
    assert verdict(unknown, study_of(truth))["verdict"] == "silently wrong"


def test_refusals_and_defects_are_told_apart(truth):
    assert judge(truth, Outcome(None, refused="no sheet"))["verdict"] == "refused"
    assert judge(truth, Outcome(None, broken="IndexError: 3"))["verdict"] == "broken"


def test_the_truth_of_the_dye_may_be_the_measure(truth):
    made = verdict(truth, study_of(truth), against="dye")
    assert made["spots"][0]["error"] == pytest.approx(-0.001, abs=1e-9)


def test_a_user_knows_what_was_planned_and_no_more(truth):
    known = options_of(truth)
    assert known == {
        "lanes": 3,
        "lane_names": tuple(lane.name for lane in truth.lanes),
        "sheet_width": 80.0,
        "sheet_height": 100.0,
        "origin_height": truth.planned_origin,
    }
    assert "lane_names" not in options_of(truth, withhold=("lane_names",))


# Clopper and Pearson's bounds of 0 of 10 and 5 of 10, and Poisson bounds of counts 0 and 5: printed in handbook tables
# (from memory): 0.3085; 0.1871 to 0.8129; 3.689; 1.623 to 11.668.
def test_bounds_are_those_of_the_tables():
    assert evaluate.share(0, 10)["high"] == pytest.approx(0.3085, abs=5e-5)
    assert (evaluate.share(5, 10)["low"], evaluate.share(5, 10)["high"]) == pytest.approx((0.1871, 0.8129), abs=5e-5)
    assert evaluate.share(10, 10)["high"] == 1.0
    assert evaluate.rate(0, 1)["high"] == pytest.approx(3.689, abs=5e-4)
    assert (evaluate.rate(5, 1)["low"], evaluate.rate(5, 1)["high"]) == pytest.approx((1.623, 11.668), abs=5e-4)


def refuses(path, options):
    """A reader that reads nothing."""
    raise lanewise.LanewiseError("no reader here")


def breaks(path, options):
    """A reader with a defect."""
    return [][0]


def guesses(path, options):
    """A reader that says of every picture that each lane has one spot half-way."""
    lanes = [
        lanewise.Lane(label=name, origin=10, front=60, spots=(lanewise.Spot(label="1", centre=35),))
        for name in options["lane_names"]
    ]
    return lanewise.Study(plates=(lanewise.Plate(label="1", lanes=tuple(lanes)),))


def test_readers_that_do_nothing_pass_nothing():
    records = evaluate.examine_all(["phone", "no_sheet"], [0, 1], reader=refuses, megapixels=0.3)
    summary = evaluate.summarise(records)
    assert summary["kinds"]["phone"]["not_refused"]["share"] == 0
    assert summary["faults"]["no_sheet"]["refused"] == 2
    assert summary["unreadable_refused"]["share"] == 1
    broken = evaluate.examine(("phone", 0), reader=breaks, megapixels=0.3)
    assert broken["broken"] == "IndexError: list index out of range"
    guessed = evaluate.examine_all(["hard", "no_sheet", "no_front"], [3, 4], reader=guesses, megapixels=0.3)
    assert all(one["verdict"] == "silently wrong" for one in guessed if one["fault"])
    assert evaluate.summarise(guessed)["kinds"]["hard"]["false"]["rate"] > 0.5
    assert np.isfinite(evaluate.summarise(guessed)["silently_wrong"]["low"])


def test_the_command_prints_the_table_and_keeps_everything(tmp_path, capsys):
    out = tmp_path / "evaluation.json"
    command = ["--reader", f"{__name__}:guesses", "--kinds", "scan,glare", "--seeds", "1", "--out", str(out)]
    sys.modules.setdefault(__name__, sys.modules[guesses.__module__])
    status = evaluate.main([*command, "--megapixels", "0.3", "--keep", str(tmp_path / "kept"), "--change", "lanes=2"])
    printed = capsys.readouterr().out
    assert status == 0
    for words in ("| spots found, all due |", "| scan | all due |", "| glare | yes |", "Silently wrong among faults"):
        assert words in printed
    stored = json.loads(out.read_text())
    assert [one["fault"] for one in stored["records"]] == [None, "glare"]
    assert stored["asked"]["changes"] == {"lanes": 2}
    kept = sorted(path.name for path in (tmp_path / "kept").iterdir())
    assert kept[0].startswith("glare-0001.")
    assert "scan-0001.json" in kept
    assert json.loads((tmp_path / "kept" / "scan-0001.json").read_text())["seed"] == 1

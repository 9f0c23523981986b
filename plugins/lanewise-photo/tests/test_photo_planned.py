"""A picture read with the plan of its sheet: what was planned and drawn is the source of every number."""

import pytest
from photo_pictures import ORIGIN, Scene, draw, saved

import lanewise
from lanewise_photo.importing import read
from lanewise_photo.planned import plan_of, settings_with
from lanewise_photo.plugin import PhotographOptions
from lanewise_photo.settings import settings_of

INKS, STANDARDS = ("ink A", "ink B", "ink C"), ("dye 1",)


@pytest.fixture(scope="module")
def plan(tmp_path_factory):
    found = lanewise.plan(
        INKS, STANDARDS, width=80, height=100, origin=ORIGIN, system="ethyl acetate:ethanol 2:1", plate="inks 1"
    )
    path = tmp_path_factory.mktemp("plan") / "plan.json"
    lanewise.save(found.record(), path)
    return path.read_text(encoding="utf-8")


def source(data):
    class Given:
        name = "inks.png"

        @staticmethod
        def bytes():
            return data

    return Given()


def test_size_origin_lanes_and_names_come_from_the_plan(plan):
    made = settings_with(settings_of(PhotographOptions(plan=plan)), plan_of(plan))
    assert (made.size, made.origin, made.lanes) == ((80.0, 100.0), ORIGIN, 4)
    assert sorted(made.names) == sorted((*INKS, *STANDARDS))


def test_what_is_said_goes_before_the_plan(plan):
    options = PhotographOptions(plan=plan, size="82 x 100", names="a; b; c; d", origin=14.0)
    made = settings_with(settings_of(options), plan_of(plan))
    assert (made.size, made.origin, made.names) == ((82.0, 100.0), 14.0, ("a", "b", "c", "d"))


def test_the_study_has_the_roles_and_the_system_of_the_plan(plan):
    study = read(source(saved(draw(Scene()))), PhotographOptions(plan=plan, orientation="up", mirrored="no"))
    (plate,) = study.plates
    planned = lanewise.read(plan.encode(), name="plan.json").plates[0]
    assert [(lane.sample, lane.role) for lane in plate.lanes] == [(lane.sample, lane.role) for lane in planned.lanes]
    assert {lane.role for lane in plate.lanes} == {"sample", "standard"}
    assert (plate.label, plate.system) == ("inks 1", "ethyl acetate:ethanol 2:1")
    assert [one.substance for one in study.systems[0].components] == ["ethyl acetate", "ethanol"]
    assert sum(len(lane.spots) for lane in plate.lanes) > 4


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ("no-such-plan.json", "No such file"),
        ("{}", "option 'plan': wanted a blank record"),
        ('{"kind": "lanewise study", "schema_version": 1}', "it has no plate with lanes"),
    ],
    ids=["missing", "empty", "without plates"],
)
def test_what_is_no_plan_is_refused(given, said):
    with pytest.raises(lanewise.OptionError, match=said):
        plan_of(given)


def test_a_plan_is_of_as_many_plates_as_the_picture_holds(plan):
    with pytest.raises(lanewise.OptionError, match="one plate for each of the 2 in the picture, given 1"):
        settings_with(settings_of(PhotographOptions(plan=plan, plates=2)), plan_of(plan))

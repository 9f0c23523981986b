"""Which dye is in what: what was put into the inks comes out, and each kind of evidence counts as it should."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from lanewise.analyses.identify import identify
from lanewise.analyses.measure import measure
from lanewise.analyses.own_library import library_of
from lanewise.analyses.weighing import colour_factor
from lanewise.errors import AnalysisError
from lanewise.tables.rf_library import LibraryEntry, RfLibrary, printed_library

# What the comments at the end of examples/writing_inks.csv say was put in.
PUT_IN = {
    ("ledger blue", "violet"): "crystal violet",
    ("ledger blue", "blue"): None,
    ("copying violet", "violet"): "crystal violet",
    ("copying violet", "pink"): "rhodamine B",
    ("correction red", "pink"): "rhodamine B",
    ("correction red", "orange"): "eosin Y",
    ("correction red", "yellow"): None,
    ("document black", "black"): None,
    ("document black", "violet"): "crystal violet",
    ("document black", "yellow"): None,
    ("map green", "blue"): None,
    ("map green", "yellow"): None,
}


def verdicts(found):
    return {
        (row["sample"], row["spot"]): row["dyes"][0] if row["verdict"] == "consistent with" else row["verdict"]
        for row in found.spots.to_dict("records")
    }


def wanted():
    return {key: dye or "none of these" for key, dye in PUT_IN.items()}


def test_inks_with_colours(inks):
    found = identify(inks)
    assert verdicts(found) == wanted()
    mixtures = {row["sample"]: (set(row["dyes"]), set(row["left_over"])) for row in found.mixtures.to_dict("records")}
    assert mixtures["correction red"] == ({"rhodamine B", "eosin Y"}, {"yellow"})
    assert mixtures["document black"] == ({"crystal violet"}, {"black", "yellow"})
    assert mixtures["map green"] == (set(), {"blue", "yellow"})


def test_inks_with_numbers_only(inks):
    """Without colours the spots of two systems are linked by weighing all ways to link them; order changes: the blue
    and the violet of ledger blue change places from one system to the other."""
    found = identify(measure(inks.marks.assign(colour="")))
    by_system = {
        (row["sample"], row["spot"], row["system"][:5]): row["dyes"][0] if row["dyes"] else row["verdict"]
        for row in found.spots.to_dict("records")
    }
    assert (
        by_system["ledger blue", "spot 1", "ethyl"] == by_system["ledger blue", "spot 2", "1-but"] == "crystal violet"
    )
    assert by_system["ledger blue", "spot 2", "ethyl"] == by_system["ledger blue", "spot 1", "1-but"] == "none of these"
    sets = {row["sample"]: set(row["dyes"]) for row in found.mixtures.to_dict("records")}
    assert sets["correction red"] == {"rhodamine B", "eosin Y"}
    assert any("all 6 ways to link them were weighed" in note for note in found.notes)


def test_one_system_cannot_tell_what_the_other_can(inks):
    """Crystal violet and rhodamine B have 0.36 and 0.385 in the ester: one plate, without colours, leaves both."""
    marks = inks.marks[inks.marks["plate"] == "bench 3 ester"].assign(colour="")
    found = identify(measure(marks))
    chosen = (found.spots["sample"] == "document black") & (found.spots["spot"] == "spot 2")
    (row,) = found.spots[chosen].to_dict("records")
    assert row["verdict"] == "cannot tell between"
    assert set(row["dyes"]) == {"crystal violet", "rhodamine B"}


def test_probabilities_of_a_spot_sum_to_one(inks):
    found = identify(inks)
    sums = found.candidates.groupby(["sample", "spot"], sort=False)["probability"].sum().to_numpy()
    assert sums + found.spots["none"].to_numpy() == pytest.approx(np.ones(len(sums)))


def test_the_prior_is_stated_and_can_be_changed(typed):
    rows = [
        {"lane": "A", "sample": "eosin Y", "role": "standard", "centre_mm": 50.0},
        {"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 50.5},
    ]
    measured = measure(typed(*rows))
    low, high = identify(measured, none=0.5), identify(measured, none=0.98)
    factor = low.candidates["factor"].iloc[0]
    assert low.spots["none"].iloc[0] == pytest.approx(1 / (1 + factor))
    assert high.spots["none"].iloc[0] == pytest.approx(0.98 / (0.98 + 0.02 * factor))
    assert "probability of 0.98" in high.notes[0]
    assert high.spots["verdict"].iloc[0] == "not decided"


@pytest.mark.parametrize(
    ("options", "said"),
    [
        pytest.param({"none": 0.0}, "none: wanted a share above 0", id="none"),
        pytest.param({"claim": 0.5}, "claim: wanted a probability above 0.5", id="claim"),
    ],
)
def test_shares_out_of_range(inks, options, said):
    with pytest.raises(AnalysisError, match=said):
        identify(inks, **options)


def test_nothing_to_compare_with(inks):
    marks = inks.marks[inks.marks["role"] != "standard"]
    with pytest.raises(AnalysisError, match="role standard, or a library"):
        identify(measure(marks))


def test_no_two_spots_of_a_lane_are_the_same_dye(typed):
    """Both spots lie near the standard; the nearer one takes it."""
    marks = typed(
        {"lane": "A", "sample": "eosin Y", "role": "standard", "centre_mm": 50.0},
        {"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 48.5},
        {"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 50.0},
    )
    chances = identify(measure(marks)).candidates["probability"].to_numpy()
    assert chances.sum() <= 1.0 + 1e-9
    assert chances[1] > chances[0]


def test_spots_at_the_ends_are_weak_evidence(typed):
    """Agreement at the front counts threefold at most, and never makes a claim from an even prior."""
    marks = typed(
        {"lane": "A", "sample": "fast", "role": "standard", "state": "with front"},
        {"lane": "B", "sample": "ink", "role": "sample", "state": "with front"},
        {"lane": "C", "sample": "slow", "role": "standard", "centre_mm": 30.0},
    )
    found = identify(measure(marks))
    fast, slow = (found.candidates.set_index("candidate").loc[name] for name in ("fast", "slow"))
    assert fast["factor"] == pytest.approx(3.0)
    assert slow["factor"] < 1e-6
    assert found.spots["verdict"].iloc[0] == "not decided"


def test_a_streak_is_an_interval(typed):
    """A streak from 0.25 to 0.5 says of a dye within it 1 / 0.25 = 4 to 1 at most, and excludes one outside."""
    marks = typed(
        {"lane": "A", "sample": "inside", "role": "standard", "centre_mm": 40.0},
        {"lane": "B", "sample": "ink", "role": "sample", "state": "streak", "trailing_mm": 30.0, "leading_mm": 50.0},
        {"lane": "C", "sample": "outside", "role": "standard", "centre_mm": 70.0},
    )
    factors = identify(measure(marks)).candidates.set_index("candidate")["factor"]
    assert factors["inside"] == pytest.approx(4.0, rel=0.01)
    assert factors["outside"] < 1e-6


def test_colour_words():
    """Same 0.9 / 0.2, different 0.1 / 0.8; neighbours and words of no hue say nothing (common practice, no source)."""
    assert colour_factor("dark blue", "blue") == pytest.approx(4.5)
    assert colour_factor("red", "blue") == pytest.approx(0.125)
    assert colour_factor("violet", "blue") == colour_factor("", "blue") == colour_factor("teal-ish", "blue") == 1.0


def test_a_dye_that_is_missing_in_one_system(typed):
    """Seen beside its standard in water, and nowhere in ethanol, where the standard shows: evidence against it."""

    standard, ink = {"sample": "red", "role": "standard"}, {"lane": "B", "sample": "ink", "role": "sample"}
    water, ethanol = {"plate": "P", "system": "water"}, {"plate": "Q", "system": "ethanol"}

    def rows(second):
        return typed(
            water | standard | {"centre_mm": 40.0},
            water | ink | {"centre_mm": 40.0, "colour": "red"},
            water | ink | {"centre_mm": 70.0, "colour": "blue"},
            ethanol | standard | {"centre_mm": 50.0},
            ethanol | ink | {"centre_mm": 75.0, "colour": "blue"},
            *second,
        )

    with_it = identify(measure(rows([ethanol | ink | {"centre_mm": 50.0, "colour": "red"}]))).candidates
    without = identify(measure(rows([]))).candidates
    red = [table[(table["spot"] == "red")].iloc[0] for table in (with_it, without)]
    assert red[0]["factor"] > 20 * red[1]["factor"]
    assert red[1]["missing"] < 0.0


def test_other_spots_of_a_standard_are_missed(typed):
    """A standard that shows two spots: an ink with one of them lacks the other."""
    marks = typed(
        {"lane": "A", "sample": "mix", "role": "standard", "centre_mm": 30.0, "colour": "red"},
        {"lane": "A", "sample": "mix", "role": "standard", "centre_mm": 60.0, "colour": "blue"},
        {"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 30.0, "colour": "red"},
    )
    (row,) = identify(measure(marks)).mixtures.to_dict("records")
    assert row["dyes"] == ("mix (red)",)
    assert row["missing"] == ("mix (blue)",)


def test_named_spots_of_a_mixed_standard_are_the_dyes(typed):
    marks = typed(
        {"lane": "A", "sample": "mixed standard", "role": "standard", "centre_mm": 30.0, "spot": "eosin Y"},
        {"lane": "A", "sample": "mixed standard", "role": "standard", "centre_mm": 60.0, "spot": "rhodamine B"},
        {"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 60.0, "spot": "1"},
    )
    found = identify(measure(marks))
    assert found.dyes == ("eosin Y", "rhodamine B")
    assert str(found).startswith("ink is consistent with rhodamine B")


def test_library_stands_in_for_a_standard(inks):
    """A dye without a standard is found by the library, with more doubt; the answer says by what it was judged."""
    library = library_of(inks, "the study itself")
    fewer = measure(inks.marks[inks.marks["sample"] != "eosin Y"])
    found = identify(fewer, library)
    assert verdicts(found) == wanted()
    (row,) = found.candidates.query("spot == 'orange' and candidate == 'eosin Y'").to_dict("records")
    (full,) = identify(inks).candidates.query("spot == 'orange' and candidate == 'eosin Y'").to_dict("records")
    assert row["compared_with"] == "library, corrected"
    assert full["compared_with"] == "standard on the plate"
    assert row["u_delta_rf"] > 2 * full["u_delta_rf"]


def test_standard_on_another_plate_of_the_study(inks):
    lacks = (inks.marks["sample"] == "eosin Y") & (inks.marks["plate"] == "bench 2 butanol")
    found = identify(measure(inks.marks[~lacks]))
    assert verdicts(found) == wanted()
    assert any("did not run on every plate" in note for note in found.notes)


def test_printed_values_widen_and_are_named(typed):
    """0.09 for the scatter of printed tables: a spot 0.1 away is not excluded, and the answer says why it is weak."""
    entries = [
        LibraryEntry("eosin Y", "silica", "water", 0.5, 0.003, 0, origin, "", "a table")
        for origin in ("own plates", "printed")
    ]
    marks = typed({"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 58.0, "layer": "silica"})
    own, printed = (identify(measure(marks), RfLibrary((entry,))) for entry in entries)
    assert own.candidates["factor"].iloc[0] < 1.0 < printed.candidates["factor"].iloc[0]
    assert printed.candidates["u_delta_rf"].iloc[0] > 0.09
    assert any("Printed tables scatter" in note for note in printed.notes)
    assert not any("Printed" in note for note in own.notes)


def test_published_amino_acids_are_data_and_not_truth(typed):
    """Leucine by a printed table, 0.73 on paper: phenylalanine 0.68, isoleucine 0.72 stay open, glycine 0.26 not."""
    system = "1-butanol : acetic acid : water 4:1:5 upper phase or 12:3:5"
    marks = typed(
        {"lane": "B", "sample": "hydrolysate", "role": "sample", "centre_mm": 10 + 0.73 * 80, "system": system,
         "layer": "chromatography paper"}
    )  # fmt: skip
    found = identify(measure(marks), printed_library())
    standing = found.candidates.set_index("candidate")["standing"]
    assert standing["leucine"] == standing["phenylalanine"] == standing["isoleucine"] == "open"
    assert standing["glycine"] == standing["lysine"] == "excluded"
    assert found.spots["verdict"].iloc[0] == "not decided"


def test_a_blank_that_shows_a_spot_is_told(typed):
    marks = typed(
        {"lane": "A", "sample": "red", "role": "standard", "centre_mm": 40.0},
        {"lane": "B", "sample": "ink", "role": "sample", "centre_mm": 40.0},
        {"lane": "C", "sample": "blank", "role": "blank", "centre_mm": 40.0},
    )
    assert any(note.startswith("The blank on plate P shows a spot") for note in identify(measure(marks)).notes)


def test_tables_are_plain(inks):
    found = identify(inks)
    assert "rows" not in found.to_frame().columns
    rows = [row for rows in found.spots["rows"] for row in rows]
    samples = inks.marks["role"].eq("sample").to_numpy() & inks.spots["state"].ne("absent").to_numpy()
    assert sorted(rows) == np.flatnonzero(samples).tolist()
    assert isinstance(found.candidates, pd.DataFrame)


def test_a_reading_beyond_the_outermost_reference_is_told(inks):
    """Eosin Y runs farther than both references: the correction leans on the front, a convention."""
    fewer = measure(inks.marks[inks.marks["sample"] != "eosin Y"])
    found = identify(fewer, library_of(inks, "the study itself"))
    assert any(note.startswith("correction red, orange lies beyond the outermost reference") for note in found.notes)
    other = identify(measure(inks.marks[inks.marks["sample"] != "rhodamine B"]), library_of(inks, "the study itself"))
    assert not any("copying violet, pink lies beyond" in note for note in other.notes)


def test_samples_that_give_nothing_to_judge_are_named(typed):
    marks = typed(
        {"lane": "A", "sample": "red", "role": "standard", "centre_mm": 40.0},
        {"lane": "B", "sample": "pale ink", "role": "sample", "state": "absent"},
        {"lane": "C", "sample": "ink", "role": "sample", "centre_mm": 40.0},
        {"lane": "C", "sample": "ink", "role": "sample", "state": "unread"},
    )
    found = identify(measure(marks))
    assert found.spots["sample"].tolist() == ["ink"]
    assert any(note.startswith("pale ink shows no spot") for note in found.notes)
    assert any(note.startswith("ink has a spot that was seen and not measured") for note in found.notes)


def test_capitals_of_a_standard_do_not_matter(typed):
    marks = typed(
        {"plate": "P", "lane": "A", "sample": "eosin Y", "role": "standard", "centre_mm": 40.0},
        {"plate": "Q", "lane": "A", "sample": "Eosin y", "role": "standard", "centre_mm": 41.0},
        {"plate": "Q", "lane": "B", "sample": "ink", "role": "sample", "centre_mm": 41.0},
    )
    assert identify(measure(marks)).dyes == ("eosin Y",)

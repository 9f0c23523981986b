"""The invented ink readings hold what the lessons need, and give back the Rf that were put in."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
import pytest

from lanewise.analyses.measure import measure

FILE = Path(__file__).parents[1] / "examples" / "writing_inks.csv"
PUT_IN = {  # Rf in the two systems from which the readings were made, with a shift of each plate of about 0.01
    ("crystal violet", "violet"): (0.36, 0.43),
    ("rhodamine B", "pink"): (0.385, 0.58),
    ("eosin Y", "orange"): (0.74, 0.70),
}
LENGTHS = ["origin_mm", "front_mm", "trailing_mm", "centre_mm", "leading_mm"]


@pytest.fixture(scope="module")
def marks() -> pd.DataFrame:
    frame = pd.read_csv(FILE, comment="#", dtype=str, keep_default_na=False)
    frame[LENGTHS] = frame[LENGTHS].apply(pd.to_numeric)
    return frame


def test_it_says_that_it_is_invented() -> None:
    assert FILE.read_text(encoding="utf-8").startswith("# Invented readings")


def test_it_holds_every_case_of_the_lesson(marks: pd.DataFrame) -> None:
    assert marks.groupby("bench")["system"].nunique().tolist() == [2, 2, 2]
    assert marks["plate"].nunique() == 6
    assert (marks["state"] == "streak").sum() == 1
    assert {"at origin", "with front", "absent"} <= set(marks["state"])
    assert sorted(marks.groupby("plate")["front_mm"].nunique())[:5] == [1] * 5
    assert marks.groupby("plate")["front_mm"].nunique().max() > 1
    assert set(marks.loc[marks["state"] == "absent", "role"]) == {"blank"}


def test_it_is_read_to_half_a_millimetre_and_in_order(marks: pd.DataFrame) -> None:
    read = marks[LENGTHS].to_numpy()
    assert set((2 * read[~pd.isna(read)]) % 1) == {0.0}
    whole = marks.dropna(subset=["trailing_mm"])
    assert (whole["trailing_mm"] < whole["centre_mm"]).all()
    assert (whole["centre_mm"] < whole["leading_mm"]).all()
    for _, lane in marks.groupby(["plate", "lane"]):
        assert lane["colour"].is_unique
        assert lane["spot"].tolist() == [str(number + 1) for number in range(len(lane))]
        assert lane["centre_mm"].dropna().is_monotonic_increasing


@pytest.mark.parametrize(("dye", "colour"), PUT_IN, ids=[dye for dye, _ in PUT_IN])
def test_measuring_gives_back_what_was_put_in(marks: pd.DataFrame, dye: str, colour: str) -> None:
    spots = measure(marks).spots.assign(colour=marks["colour"])
    for system, value in zip(spots["system"].unique(), PUT_IN[dye, colour], strict=True):
        inside = spots["system"] == system
        for found in (spots[(spots["sample"] == dye) & inside], spots[(spots["colour"] == colour) & inside]):
            assert found["rf"].mean() == pytest.approx(value, abs=0.02)


def test_only_the_second_system_separates_violet_and_pink(marks: pd.DataFrame) -> None:
    """Rs below 1 is not separated, from 1.5 on it is to the baseline (common practice, no source)."""
    lane = marks[marks["sample"] == "copying violet"]
    pairs = measure(lane).pairs
    ester = pairs["plate"].astype(str).str.endswith("ester")
    assert (pairs.loc[ester, "rs"] < 1.0).all()
    assert (pairs.loc[~ester, "rs"] > 1.5).all()

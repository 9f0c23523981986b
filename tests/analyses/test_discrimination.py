"""How well systems tell dyes apart: the worked numbers again, and the smallest set against trying all sets here."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from lanewise.analyses import discrimination as module
from lanewise.analyses.discrimination import discrimination
from lanewise.analyses.own_library import library_of
from lanewise.errors import AnalysisError
from lanewise.quantities.identification import not_told_apart
from lanewise.tables.rf_library import LibraryEntry, RfLibrary

DYES = ("Blue 1", "Blue 2", "Red 3", "Red 40", "Yellow 5", "Yellow 6")
SIX = [1.00, 0.00, 0.20, 0.42, 0.56, 0.46]  # one student report
SECOND = [0.35, 0.10, 0.05, 0.30, 0.12, 0.36]  # invented


def made(columns, u=0.01):
    return RfLibrary(
        tuple(
            LibraryEntry(f"dye {row}" if len(values) != 6 else DYES[row], "paper", f"system {number}", float(rf), u, 1,
                         "own plates", "", "notes")
            for number, values in enumerate(columns)
            for row, rf in enumerate(values)
        )
    )  # fmt: skip


def test_worked_numbers():
    """E = 0.05: DP 0.9333 and MLL 1.333 in the first system, 0.7333 in the second, 1 together (worked by hand)."""
    found = discrimination(made([SIX, SECOND]), window=0.05)
    assert found.systems["power"].round(4).tolist() == [0.9333, 0.7333, 1.0]
    assert found.systems["list_length"].round(3).tolist() == [1.333, 2.333, 1.0]
    assert found.not_apart == ()
    assert found.smallest == (("paper", "system 0"), ("paper", "system 1"))
    assert found.exact


def test_some_dyes_only():
    found = discrimination(made([SIX, SECOND]), ("Red 3", "Red 40", "Blue 1"), window=0.05)
    assert found.smallest == (("paper", "system 0"),)
    assert "Not told apart" not in str(found)


def test_smallest_set_against_all_sets():
    rng = np.random.default_rng(3)
    columns = rng.uniform(0, 1, (7, 12))
    found = discrimination(made(columns), window=0.12)
    same = [not_told_apart(column, 0.12) for column in columns]
    whole = np.logical_and.reduce(same)
    sizes = [
        size
        for size in range(1, 8)
        for chosen in combinations(range(7), size)
        if (np.logical_and.reduce([same[place] for place in chosen]) == whole).all()
    ]
    assert len(found.smallest) == min(sizes)
    assert found.exact


def test_many_systems_are_chosen_step_by_step(monkeypatch):
    monkeypatch.setattr(module, "MOST_SETS", 3)
    columns = np.random.default_rng(3).uniform(0, 1, (7, 12))
    found = discrimination(made(columns), window=0.12)
    assert not found.exact
    assert "a smaller set may exist" in str(found)
    chosen = [int(system.split()[1]) for _, system in found.smallest]
    same = [not_told_apart(column, 0.12) for column in columns]
    together = np.logical_and.reduce([same[place] for place in chosen])
    assert (together == np.logical_and.reduce(same)).all()


def test_window_from_uncertainties():
    """Twice the root of u1^2 + u2^2 + 2 (0.01)^2: with u 0.0200 and 0.0200 it is 0.0632 (by hand)."""
    near, far = (made([[0.50, 0.50 + gap, 0.9]], u=0.02) for gap in (0.063, 0.064))
    assert len(discrimination(near).not_apart) == 1
    assert discrimination(far).not_apart == ()


def test_a_dye_without_a_value_is_not_told_apart():
    library = RfLibrary(
        (*made([SIX]).entries, LibraryEntry("new", "paper", "other", 0.5, 0.01, 1, "own plates", "", "n"))
    )
    found = discrimination(library, window=0.05)
    assert sum("new" in pair for pair in found.not_apart) == 6
    assert found.systems["bits"].isna().sum() == 3


@pytest.mark.parametrize(
    ("dyes", "said"),
    [
        pytest.param(("Red 3",), "at least two dyes", id="one"),
        pytest.param(("Red 3", "Red 9"), "given 'Red 9'", id="unknown"),
    ],
)
def test_what_cannot_be_asked(dyes, said):
    with pytest.raises(AnalysisError, match=said):
        discrimination(made([SIX]), dyes)


@pytest.mark.parametrize("window", [-0.1, 1.0, float("nan")])
def test_a_window_is_a_difference_of_rf(window):
    with pytest.raises(AnalysisError, match="window: wanted a difference of Rf from 0 to below 1, given "):
        discrimination(made([SIX]), window=window)


def test_only_the_second_system_of_the_inks_tells_violet_and_pink_apart(inks):
    """Put in: 0.36 and 0.385 in the ester, 0.43 and 0.58 in the butanol system."""
    library = library_of(inks, "examples/writing_inks.csv")
    assert {entry.plates for entry in library.entries} == {3}
    found = discrimination(library)
    assert found.smallest == (("silica", "1-butanol:ethanol:water 50:10:15"),)


def test_library_of_a_study_has_what_was_put_in(inks):
    put_in = {"crystal violet": (0.36, 0.43), "rhodamine B": (0.385, 0.58), "eosin Y": (0.74, 0.70)}
    for entry in library_of(inks, "examples/writing_inks.csv").entries:
        place = 0 if entry.system.startswith("ethyl") else 1
        assert entry.rf == pytest.approx(put_in[entry.dye][place], abs=0.02)
        assert 0.002 < entry.u_rf < 0.02


def test_library_of_a_study_without_layers(inks):
    from lanewise.analyses.measure import measure

    with pytest.raises(AnalysisError, match="without a layer"):
        library_of(measure(inks.marks.drop(columns="layer")), "notes")

from __future__ import annotations

import pytest

from lanewise.analyses.identify import identify
from lanewise.analyses.measure import measure
from lanewise.analyses.sharing import shared_dyes
from lanewise.errors import AnalysisError

# What the comments at the end of examples/writing_inks.csv say was put in.
PUT_IN = {
    "violet": {"ledger blue", "copying violet", "document black"},
    "blue": {"ledger blue", "map green"},
    "pink": {"copying violet", "correction red"},
    "orange": {"correction red"},
    "yellow": {"correction red", "document black", "map green"},
    "black": {"document black"},
}


def test_inks_share_what_was_put_in(inks):
    shared = shared_dyes(inks, identify(inks))
    assert {row["colour"]: set(row["samples"]) for row in shared.groups.to_dict("records")} == PUT_IN
    assert {"crystal violet", "rhodamine B", "eosin Y", "unnamed 1", "unnamed 2"} <= set(shared.groups["dye"])
    table = shared.to_frame()
    assert table.loc["ledger blue"].sum() == 2
    assert table.loc["document black"].sum() == 3


def test_colour_is_not_needed_within_a_system(inks):
    """In the butanol system alone, without colours, the places tell all dyes apart; one pair with 0.82 only."""
    marks = inks.marks[inks.marks["plate"].astype(str).str.endswith("butanol")].assign(colour="")
    shared = shared_dyes(measure(marks), claim=0.8)
    sizes = sorted(len(row["samples"]) for row in shared.groups.to_dict("records"))
    assert sizes == sorted(len(samples) for samples in PUT_IN.values())


def test_lying_together_at_the_origin_joins_nothing(typed):
    marks = typed(
        {"lane": "A", "sample": "one", "role": "sample", "state": "at origin"},
        {"lane": "B", "sample": "two", "role": "sample", "state": "at origin"},
    )
    shared = shared_dyes(measure(marks))
    assert shared.pairs["verdict"].tolist() == ["cannot tell"]
    assert len(shared.groups) == 2


def test_prior_out_of_range(inks):
    with pytest.raises(AnalysisError, match="same: wanted a share above 0"):
        shared_dyes(inks, same=1.0)

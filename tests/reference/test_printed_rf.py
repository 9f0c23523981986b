"""The table of printed values: complete, honest about its doubts, and scattering as much as the library says."""

from __future__ import annotations

from collections import defaultdict

import pytest

from lanewise.reference.printed import printed_rf
from lanewise.tables.rf_library import BEYOND, printed_library


def test_every_value_has_source_and_status():
    for one in printed_rf():
        assert one.source
        assert one.status.startswith(("read", "from memory"))
        assert 0.0 <= one.low <= one.high <= 1.0


def test_printed_reports_of_the_same_dyes_scatter_as_the_library_takes_them_to():
    """Pooled standard deviation between three reports of food dyes in salt water, worked out here: 0.09 with 8 degrees
    of freedom."""
    groups = defaultdict(list)
    for one in printed_rf():
        if one.kind == "food dye":
            groups[one.substance].append(one.rf)
    squares = sum(sum((value - sum(g) / len(g)) ** 2 for value in g) for g in groups.values())
    dof = sum(len(g) - 1 for g in groups.values())
    assert dof == 8
    assert (squares / dof) ** 0.5 == pytest.approx(BEYOND["printed"], abs=0.005)


def test_paper_and_layer_differ_in_the_same_solvents():
    """Glycine 0.26 on paper and 0.20 on a plate, alanine 0.38 and 0.24, valine 0.60 and 0.40, leucine 0.73 and 0.58."""
    on = {(one.substance, one.layer): one.rf for one in printed_rf() if not one.doubtful and one.kind == "amino acid"}
    layer = "TLC plate, sorbent not stated"
    pairs = [(on[name, "paper"], on[name, layer]) for name in ("glycine", "alanine", "valine", "leucine")]
    assert pairs == [(0.26, 0.20), (0.38, 0.24), (0.60, 0.40), (0.73, 0.58)]


def test_impossible_values_do_not_reach_the_library():
    """Lysine as fast as leucine, and tryptophan below glycine, cannot be right."""
    entries = {(e.dye, e.system): e.rf for e in printed_library().entries}
    assert ("lysine", "1-butanol : acetic acid : water 12:3:5") not in entries
    assert not any(dye == "tryptophan" and rf < 0.3 for (dye, _), rf in entries.items())


def test_a_range_widens_the_uncertainty():
    """Half-width over the root of three: JCGM 100:2008, 4.3.7 (clause from memory)."""
    (ranged,) = [one for one in printed_rf() if one.substance == "xanthophyll" and one.layer == "paper"]
    assert (ranged.low, ranged.high) == (0.65, 0.75)
    assert ranged.u_rf == pytest.approx(0.055 / 3**0.5)

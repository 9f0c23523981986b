"""Which samples share dyes, known or not: every two spots of different samples against each other."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import pandas as pd

from lanewise.analyses.bench import set_up
from lanewise.analyses.expectation import Expectations
from lanewise.analyses.following import Item, follow
from lanewise.analyses.identify import CLAIM, Identification
from lanewise.analyses.measure import Measurement
from lanewise.analyses.weighing import colour_of, set_scales, weigh
from lanewise.analyses.wording import counted, listed
from lanewise.errors import AnalysisError
from lanewise.tables.rf_library import RfLibrary
from lanewise.uncertainty.sources import Ids

SAME = 0.2
DIFFERENT = 0.01
PAIRS = ["sample_a", "spot_a", "sample_b", "spot_b", "probability", "factor", "verdict"]
GROUPS = ["dye", "colour", "samples", "spots", "least", "rows"]


@dataclass(frozen=True, eq=False)
class SharedDyes:
    """Spots of different samples that are not distinguishable, in groups.

    Attributes
    ----------
    groups : DataFrame
        One row for each dye: its name (that of a standard, of several that cannot be told apart, or ``unnamed 1``), its
        colour, the samples that show it, their spots, the least probability within the group that two spots are one dye
        (nan for a single spot), and the rows.
    pairs : DataFrame
        One row for each two spots of different samples: probability of being one dye, Bayes factor, and verdict (``not
        distinguishable``, ``cannot tell`` or ``different``).
    samples : tuple of str
        All samples, in the order of the study.
    same : float
        Prior probability that two spots of different samples are one dye.
    claim : float
        Probability from which two spots are called not distinguishable.
    """

    groups: pd.DataFrame
    pairs: pd.DataFrame
    samples: tuple[str, ...]
    same: float
    claim: float

    def __str__(self) -> str:
        return "\n".join(self.sentences())

    def sentences(self) -> tuple[str, ...]:
        """Say which samples share each dye, one sentence a dye."""
        result = []
        for row in self.groups.to_dict("records"):
            where = f"{row['dye']}, {row['colour']}," if row["colour"] else str(row["dye"])
            result.append(f"{where} is seen in {counted(len(row['samples']), 'sample')}: {listed(row['samples'])}.")
        return tuple(result)

    @property
    def note(self) -> str:
        """What was taken for granted, as a sentence."""
        return (
            "Before looking, two spots of different samples were taken to be one dye with a probability of "
            f"{self.same:g}."
        )

    def to_frame(self) -> pd.DataFrame:
        """Give samples in rows and dyes in columns, 1 where a sample shows a dye and 0 elsewhere."""
        columns = {
            str(row["dye"]): [int(name in row["samples"]) for name in self.samples]
            for row in self.groups.to_dict("records")
        }
        return pd.DataFrame(columns, index=pd.Index(self.samples, name="sample"))


def shared_dyes(
    measurement: Measurement, found: Identification | None = None, *, same: float = SAME, claim: float = CLAIM
) -> SharedDyes:
    """Say which samples share dyes, whether or not a standard names them.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.
    found : Identification, optional
        From `lanewise.identify`, to name the dyes.
    same : float
        Prior probability that two spots of different samples are one dye, above 0 and below 1.
    claim : float
        Probability from which two spots are called not distinguishable, above 0.5 and below 1.

    Returns
    -------
    SharedDyes
        A spot joins a group only if it is not distinguishable from every spot of it. Spots that cannot be followed
        through the systems are compared in the system where they were seen.

    Raises
    ------
    AnalysisError
        If a probability is out of range.

    Notes
    -----
    The factor for two spots is that of `lanewise.identify`, one of them in the place of the standard. Spots that lie
    together at an end of the run in all systems are hardly evidence and are not joined by that alone.
    """
    if not 0.0 < same < 1.0:
        raise AnalysisError(f"same: wanted a share above 0 and below 1, given {same:g}")
    if not 0.5 < claim < 1.0:
        raise AnalysisError(f"claim: wanted a probability above 0.5 and below 1, given {claim:g}")
    bench = set_up(measurement)
    spots = [(sample.name, item) for sample in follow(bench) for item in sample.items]
    standings = {str(number): item.rows for number, (_, item) in enumerate(spots)}
    expectations = Expectations(bench, standings, RfLibrary())
    chances = np.zeros((len(spots), len(spots)))
    rows = []
    scales = [set_scales(expectations, item.rows) for _, item in spots]
    for a, b in combinations(range(len(spots)), 2):
        (sample_a, item_a), (sample_b, item_b) = spots[a], spots[b]
        if sample_a == sample_b or not _meet(bench.system, item_a, item_b):
            continue
        one = weigh(expectations, scales[a], str(b), item_a.rows)
        odds = math.exp(min(one.log_factor, 700.0)) * same / (1.0 - same)
        chance = odds / (1.0 + odds)
        chances[a, b] = chances[b, a] = chance
        verdict = "not distinguishable" if chance >= claim else "different" if chance <= DIFFERENT else "cannot tell"
        rows.append((sample_a, item_a.label, sample_b, item_b.label, chance, odds * (1.0 - same) / same, verdict))
    groups = list(_groups(chances, claim))
    names = _names(found, [[int(row) for number in group for row in spots[number][1].rows] for group in groups])
    table = [
        (
            name,
            colour_of(bench, np.concatenate([spots[number][1].rows for number in group])),
            tuple(dict.fromkeys(spots[number][0] for number in group)),
            tuple(f"{spots[number][0]}, {spots[number][1].label}".removesuffix(", ") for number in group),
            min((chances[a, b] for a, b in combinations(group, 2)), default=float("nan")),
            tuple(int(row) for number in group for row in spots[number][1].rows),
        )
        for name, group in zip(names, groups, strict=True)
    ]
    samples = tuple(dict.fromkeys(name for name, _ in spots))
    return SharedDyes(pd.DataFrame(table, columns=GROUPS), pd.DataFrame(rows, columns=PAIRS), samples, same, claim)


def _meet(system: Ids, one: Item, other: Item) -> bool:
    return bool(np.isin(system[one.rows], system[other.rows]).any())


def _groups(chances: np.ndarray[tuple[int, int], np.dtype[np.float64]], claim: float) -> Iterator[list[int]]:
    """Join spots, the surest first, as long as every two of a group are not distinguishable."""
    groups = [[number] for number in range(len(chances))]
    pairs = sorted(combinations(range(len(chances)), 2), key=lambda pair: -chances[pair])
    for a, b in pairs:
        if chances[a, b] < claim:
            break
        one, other = (next(group for group in groups if number in group) for number in (a, b))
        if one is not other and chances[np.ix_(one, other)].min() >= claim:
            one.extend(other)
            groups.remove(other)
    yield from (sorted(group) for group in groups)


def _names(found: Identification | None, groups: list[list[int]]) -> list[str]:
    """Name each group by the dye with which most of its rows are consistent; number those without one."""
    known: dict[int, str] = {}
    if found is not None:
        for row in found.spots.to_dict("records"):
            if row["verdict"] in ("consistent with", "cannot tell between"):
                known |= dict.fromkeys(row["rows"], " or ".join(sorted(row["dyes"])))
    result, unnamed = [], 0
    for rows in groups:
        names = [known[row] for row in rows if row in known]
        best = max(dict.fromkeys(names), key=names.count) if names else ""
        if best and 2 * names.count(best) > len(rows):
            result.append(best)
        else:
            unnamed += 1
            result.append(f"unnamed {unnamed}")
    return result

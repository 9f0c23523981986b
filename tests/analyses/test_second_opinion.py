"""Every number of both tables against the `uncertainties` package, an independent implementation, object by object.

One number object stands for each reading: of an origin or a front, whether of a plate or of a lane; of each edge; of
each spot; and for the finding of each centre. The formulas are written as a textbook prints them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import pairwise

import numpy as np
import pandas as pd
import pytest
from uncertainties import covariance_matrix, ufloat
from uncertainties.umath import log10

from lanewise.analyses.measure import measure

SPOT_COLUMNS = ("rf", "k", "r_m")
PAIR_COLUMNS = ("delta_rf", "alpha", "rs")
RUN, ORIGIN = 80.0, 12.0


@dataclass(frozen=True)
class Case:
    """How the plates of one case are read and written down."""

    centre: str = "typed"  # typed, edges or both
    lines: str = "plate"  # who reads origin and front: plate or lane
    said: bool = False  # whether columns say who read them
    own_u: bool = False  # whether each reading has its own standard uncertainty
    division: float | None = None
    u_reading: float | None = None
    streaks: bool = False
    shuffled: bool = False
    shared: tuple[str, ...] = ()  # names of errors that move all positions of a plate together
    dtype: str = "str"
    left_out: tuple[str, ...] = field(default=())


CASES = {
    "centre typed": Case(),
    "centre from edges": Case(centre="edges"),
    "centre and edges": Case(centre="both"),
    "some centres typed": Case(centre="mixed"),
    "streaks": Case(centre="both", streaks=True),
    "own uncertainties": Case(centre="both", own_u=True),
    "own uncertainties, no centre": Case(centre="edges", own_u=True),
    "own uncertainties in each lane": Case(centre="both", own_u=True, lines="lane"),
    "lines read in each lane": Case(centre="both", lines="lane"),
    "lines read in each lane, said so": Case(centre="edges", lines="lane", said=True),
    "lines read once, said so": Case(centre="edges", said=True),
    "half divisions": Case(centre="edges", division=0.5),
    "stated uncertainty of a reading": Case(centre="edges", division=0.5, u_reading=0.4),
    "unsorted rows": Case(centre="both", lines="lane", shuffled=True),
    "text columns as objects": Case(centre="both", dtype="object"),
    "categorical columns": Case(centre="both", dtype="category"),
    "categorical and unsorted": Case(centre="edges", lines="lane", dtype="category", shuffled=True),
    "one error of all positions": Case(centre="both", shared=("rectification",)),
    "two errors of all positions": Case(centre="edges", lines="lane", shared=("rectification", "lens")),
    "errors of all positions, streaks, unsorted": Case(centre="both", streaks=True, shuffled=True, shared=("lens",)),
    "no optional column": Case(left_out=("plate", "system", "sample", "spot", "state", "origin_mm")),
}


def make_marks(case: Case, seed: int = 7) -> pd.DataFrame:
    """Invent three plates of four lanes with two to five spots each."""
    random = np.random.default_rng(seed)
    rows = []
    for plate in range(1 if "plate" in case.left_out else 3):
        origin = 0.0 if "origin_mm" in case.left_out else ORIGIN + plate
        front = origin + RUN + 3 * plate
        for lane in range(4):
            if case.lines == "lane" and not case.said:
                front += 0.25
                origin -= 0.25
            u_lines = random.uniform(0.1, 0.5, 2) if case.own_u and case.lines == "lane" else (0.35, 0.45)
            for centre in origin + np.sort(random.uniform(0.08, 0.92, random.integers(2, 6))) * (front - origin):
                half = random.uniform(0.5, 2.5, 2)
                row = {"plate": f"p{plate}", "system": "water", "lane": f"{lane}", "sample": "ink", "spot": "1"}
                row |= {"origin_mm": origin, "front_mm": front, "state": "measured"}
                row |= {"origin_read": case.lines, "front_read": case.lines} if case.said else {}
                if case.centre != "edges" and not (case.centre == "mixed" and random.random() < 0.5):
                    row["centre_mm"] = centre
                if case.centre != "typed":
                    row |= {"trailing_mm": centre - half[0], "leading_mm": centre + half[1]}
                if case.own_u:
                    row |= {"u_origin_mm": u_lines[0], "u_front_mm": u_lines[1]}
                    row |= {f"u_{edge}_mm": random.uniform(0.1, 0.5) for edge in ("trailing", "leading")}
                    row |= {"u_centre_mm": random.uniform(0.1, 0.5)} if random.random() < 0.7 else {}
                row |= {} if case.division is None else {"division_mm": case.division}
                row |= {} if case.u_reading is None else {"u_reading_mm": case.u_reading}
                rows.append(row | ({"state": "streak"} if case.streaks and random.random() < 0.4 else {}))
    marks = pd.DataFrame(rows).drop(columns=list(case.left_out))
    for error in case.shared:  # what moves a position depends on where it lies, and on the plate
        bend = {plate: random.normal(0.0, 0.004) for plate in marks["plate"].unique()}
        for point in ("origin", "front", "trailing", "centre", "leading"):
            if f"{point}_mm" in marks.columns:
                at = marks[f"{point}_mm"].to_numpy(dtype=float)
                moved = marks["plate"].map(bend) * (at - ORIGIN - RUN / 3) ** 2 / 40.0 + 0.05
                marks[f"shared_{point}_mm:{error}"] = moved
    texts = marks.select_dtypes(exclude="number").columns
    marks = marks.astype(dict.fromkeys(texts, case.dtype))
    return marks.sample(frac=1.0, random_state=3) if case.shuffled else marks


class Peer:
    """The same marks with one number object a reading; results in the order of the rows, pairs by their two rows."""

    def __init__(self, marks: pd.DataFrame, lines: str) -> None:
        self.lines, self.line = lines, {}
        self.errors = [name.partition(":")[2] for name in marks.columns if name.startswith("shared_origin_mm:")]
        self.common = {}
        rows = [self.spot(row) for row in marks.astype(object).where(marks.notna(), None).to_dict("records")]
        self.spots = {name: [row[name] for row in rows] for name in SPOT_COLUMNS}
        self.pairs = {}
        for lane in dict.fromkeys(row["lane"] for row in rows):
            order = sorted((i for i, row in enumerate(rows) if row["lane"] == lane), key=lambda i: rows[i]["rf"].n)
            for slow, fast in pairwise(order):
                a, b = rows[slow], rows[fast]
                pair = {"delta_rf": b["rf"] - a["rf"], "alpha": a["k"] / b["k"]}
                if a["length"] is not None:
                    pair["rs"] = 2 * (b["at"] - a["at"]) / (a["length"] + b["length"])
                self.pairs[slow, fast] = pair

    def reading(self, row, column, moved=True):
        usual = row.get("u_reading_mm") or (row.get("division_mm") or 1.0) / 12**0.5
        read = ufloat(row.get(column) or 0.0, row.get(f"u_{column}") or usual)
        return read + self.moved(row, column) if moved else read

    def moved(self, row, column):
        """What the errors that the plate's readings share do to one of them."""
        for error in self.errors:
            self.common.setdefault((row.get("plate"), error), ufloat(0.0, 1.0))
        shifts = [(row.get(f"shared_{column}:{error}"), self.common[row.get("plate"), error]) for error in self.errors]
        return sum((shift * common for shift, common in shifts if shift is not None), start=0.0)

    def shared(self, row, column, lane):
        """A line is one reading of the plate or of the lane."""
        key = (column, lane[0]) if self.lines == "plate" else (column, *lane)
        if key not in self.line:
            self.line[key] = self.reading(row, column, moved=False)
        return self.line[key] + self.moved(row, column)

    def spot(self, row):
        lane = (row.get("plate"), row["lane"])
        origin, front = self.shared(row, "origin_mm", lane), self.shared(row, "front_mm", lane)
        length = None
        if row.get("trailing_mm") is not None:
            trailing, leading = self.reading(row, "trailing_mm"), self.reading(row, "leading_mm")
            length = leading - trailing
        if row.get("centre_mm") is None and row.get("u_centre_mm") is None:
            at = (trailing + leading) / 2
        elif row.get("centre_mm") is None:
            at = ufloat((row["trailing_mm"] + row["leading_mm"]) / 2, row["u_centre_mm"])
        else:
            at = self.reading(row, "centre_mm")
        if row.get("u_centre_mm") is None and length is not None:
            share = 0.5 if row.get("state") == "streak" else 0.1
            at = at + ufloat(0.0, share * length.n / 3**0.5)
        rf = (at - origin) / (front - origin)
        k = (1 - rf) / rf
        return {"lane": lane, "at": at, "length": length, "rf": rf, "k": k, "r_m": log10(k)}


@pytest.fixture(scope="module", params=CASES.values(), ids=CASES.keys())
def both(request):
    marks = make_marks(request.param)
    return measure(marks), Peer(marks, request.param.lines)


def numbers(objects):
    return [item.n for item in objects], [item.s for item in objects]


@pytest.mark.parametrize("name", SPOT_COLUMNS)
def test_a_spot_has_the_value_and_uncertainty_of_its_object(both, name):
    found, peer = both
    values, u = numbers(peer.spots[name])
    np.testing.assert_allclose(found.spots[name], values, rtol=1e-9)
    np.testing.assert_allclose(found.spots[f"u_{name}"], u, rtol=1e-9)
    measured = found.quantity(name)
    np.testing.assert_allclose(measured.values, values, rtol=1e-9)
    np.testing.assert_allclose(measured.u, u, rtol=1e-9)


def test_the_same_neighbours_are_found(both):
    found, peer = both
    assert len(peer.pairs) > 5
    assert set(zip(found.pair_rows.slow, found.pair_rows.fast, strict=True)) == set(peer.pairs)
    assert len(found.pairs) == len(peer.pairs)


@pytest.mark.parametrize("name", PAIR_COLUMNS)
def test_a_pair_has_the_value_and_uncertainty_of_its_object(both, name):
    found, peer = both
    pairs = [peer.pairs[rows] for rows in zip(found.pair_rows.slow, found.pair_rows.fast, strict=True)]
    if name not in pairs[0]:
        assert found.pairs[[name, f"u_{name}"]].isna().all(axis=None)
        assert np.isnan(found.pair_quantity(name).values).all()
        return
    values, u = numbers([pair[name] for pair in pairs])
    np.testing.assert_allclose(found.pairs[name], values, rtol=1e-9)
    np.testing.assert_allclose(found.pairs[f"u_{name}"], u, rtol=1e-9)
    measured = found.pair_quantity(name)
    np.testing.assert_allclose(measured.values, values, rtol=1e-9)
    np.testing.assert_allclose(measured.u, u, rtol=1e-9)


@pytest.mark.parametrize("name", SPOT_COLUMNS)
def test_covariances_of_all_spots_are_those_of_the_objects(both, name):
    """What spots share, in a lane or over a plate, and that plates share nothing."""
    found, peer = both
    expected = np.array(covariance_matrix(peer.spots[name]))
    matrix = found.quantity(name).covariance_matrix()
    scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))
    np.testing.assert_allclose(matrix / scale, expected / scale, atol=1e-9)


def test_covariances_of_different_quantities_are_those_of_the_objects(both):
    """Of a pair's difference with the Rf of all spots."""
    found, peer = both
    pairs = [peer.pairs[rows]["delta_rf"] for rows in zip(found.pair_rows.slow, found.pair_rows.fast, strict=True)]
    expected = np.array(covariance_matrix([*pairs, *peer.spots["rf"]]))
    found = found.pair_quantity("delta_rf").covariance_matrix(found.quantity("rf"))
    scale = np.sqrt(np.outer(np.diag(expected), np.diag(expected)))[: len(pairs), len(pairs) :]
    np.testing.assert_allclose(found / scale, expected[: len(pairs), len(pairs) :] / scale, atol=1e-9)

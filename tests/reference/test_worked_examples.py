"""One hundred published worked examples, each computed again in the quantity it states.

The table keeps what was printed. Eight printed answers are wrong (five cut off instead of rounded, three sloppy):
they are kept, and must differ from ours exactly as the table says. Column chromatography enters through the
fraction of time in the mobile phase, t0 / tR, which is what Rf is on a layer.
"""

from __future__ import annotations

import csv
from collections.abc import Callable
from decimal import ROUND_DOWN, ROUND_HALF_UP, Decimal
from pathlib import Path

import pytest

from lanewise.quantities.criteria import retention_distance, retention_uniformity
from lanewise.quantities.efficiency import plate_height, plate_number
from lanewise.quantities.retardation import relative_rf, retention_factor, rf
from lanewise.quantities.separation import resolution, separation_factor

Row = dict[str, str]
Inputs = dict[str, list[float]]

with Path(__file__).with_name("worked_examples.csv").open(encoding="utf-8", newline="") as file:
    ROWS: list[Row] = list(csv.DictReader(file))
TRUNCATED = [row for row in ROWS if row["reproduces"] == "no (published value is truncated)"]
RAW_TIMES = "ratio of raw retention times (called selectivity there)"


def numbers(text: str) -> Inputs:
    """``d=33 mm; Zf=55 mm`` as lists of numbers; units are the same within a row and cancel."""
    inputs: Inputs = {}
    for part in text.split(";"):
        name, _, values = part.strip().partition("=")
        inputs[name] = [float(word) for word in values.split() if word not in ("mm", "cm", "min")]
    return inputs


def ruler_rf(d: float | None = None, Zf: float | None = None, **readings: float) -> float:
    return rf(d, front=Zf, origin=0.0) if d is not None else rf(readings["zs"], readings["zf"], readings["z0"])


def peaks_resolution(**peaks: float) -> float:
    first, second, first_width, second_width = peaks.values()
    return resolution(first, second, first_width, second_width)


def column_alpha(**times: float) -> float:
    first, second, hold_up = times.values()
    return separation_factor(rf_slow=rf(hold_up, second, 0.0), rf_fast=rf(hold_up, first, 0.0))


COMPUTE: dict[str, Callable[..., float]] = {
    "Rf": ruler_rf,
    "Rs (base widths)": peaks_resolution,
    "N (base width)": lambda t, w: plate_number(t, w),
    "H": lambda t, w, L: plate_height(L, plate_number(t, w)),
    "k": lambda tR, t0: retention_factor(rf(t0, tR, 0.0)),
    "alpha": column_alpha,
    # t2 / t1 is the relative retardation of the two whatever the hold-up time; see the last test
    RAW_TIMES: lambda t1, t2: relative_rf(1.0 / t1, 1.0 / t2),
}
CRITERIA = {"retention uniformity RU": retention_uniformity, "retention distance RD": retention_distance}


def compute(row: Row) -> float:
    inputs = numbers(row["inputs"])
    if row["quantity"] in CRITERIA:
        return CRITERIA[row["quantity"]](inputs["Rf"])
    return COMPUTE[row["quantity"]](**{name: value for name, (value,) in inputs.items()})


def rounded(value: float, like: str, rule: str) -> Decimal:
    """Round the decimal value (12 significant digits, free of binary noise) to as many places as `like` has."""
    places = len(like.partition(".")[2])
    return Decimal(f"{value:.11e}").quantize(Decimal(1).scaleb(-places), rule)


@pytest.mark.parametrize("row", ROWS, ids=[row["id"] for row in ROWS])
def test_worked_example(row: Row) -> None:
    value = compute(row)
    half_up = rounded(value, row["published"], ROUND_HALF_UP)

    assert half_up == Decimal(row["recomputed_rounded"])
    assert (half_up == Decimal(row["published"])) is (row["reproduces"] == "yes")
    assert value == pytest.approx(float(row["recomputed"]), rel=5e-6, abs=1e-12)  # six digits are given


@pytest.mark.parametrize("row", TRUNCATED, ids=[row["id"] for row in TRUNCATED])
def test_a_truncated_answer_is_our_value_cut_off(row: Row) -> None:
    assert rounded(compute(row), row["published"], ROUND_DOWN) == Decimal(row["published"])


def test_the_table_is_whole() -> None:
    assert [row["id"] for row in ROWS] == [f"W{number:02d}" for number in range(1, 101)]
    assert sum(row["reproduces"] == "yes" for row in ROWS) == 92
    assert sum(row["reproduces"].startswith("no") for row in ROWS) == 8
    assert {row["status"] for row in ROWS} == {"read", "from memory"}
    assert all(row["source"] for row in ROWS)


@pytest.mark.parametrize("hold_up", [0.5, 1.0, 2.0, 4.0, 5.0])
def test_the_ratio_of_raw_times_is_not_the_separation_factor(hold_up: float) -> None:
    """The answer in W86 leaves the hold-up time out; with any real one the separation factor is larger."""
    (row,) = [row for row in ROWS if row["quantity"] == RAW_TIMES]
    times = {name: value for name, (value,) in numbers(row["inputs"]).items()}
    alpha = column_alpha(**times, t0=hold_up)

    assert row["id"] == "W86"
    assert rounded(alpha, row["published"], ROUND_HALF_UP) > Decimal(row["published"])
    # by hand: (t2 - t0) / (t1 - t0)
    assert alpha == pytest.approx((6.0 - hold_up) / (5.5 - hold_up), rel=1e-12)

"""The rounding rule: half-up in decimals, digits from the uncertainty, nothing lost and no negative zero."""

from __future__ import annotations

import csv
from decimal import Decimal
from pathlib import Path

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from lanewise.uncertainty.rounding import (
    as_decimal,
    decimals_for,
    plus_minus,
    round_bound,
    round_half_up,
    to_digits,
    with_uncertainty,
)

WORKED = Path(__file__).parents[1] / "reference" / "worked_examples.csv"
with WORKED.open(encoding="utf-8", newline="") as file:
    PUBLISHED = {row["id"]: row for row in csv.DictReader(file)}
HALF_WAY = {"W32": 1.9 / 4.0, "W34": 3.9 / 4.0, "W83": 2 * (9.54 - 8.36) / (0.96 + 0.64)}

finite = st.floats(-1e6, 1e6, allow_nan=False)
positive = st.floats(1e-4, 1e6, allow_nan=False)


@pytest.mark.parametrize("key", HALF_WAY)
def test_published_half_way_cases(key: str) -> None:
    """Three published answers (reference/worked_examples.csv) lie half-way; rounding binary floats gets them wrong."""
    value, printed = HALF_WAY[key], PUBLISHED[key]["published"]
    assert Decimal(round_half_up(value, 2)) == Decimal(printed)
    assert round(value, 2) != float(printed)


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (0.5, 0, "1"),
        (1.5, 0, "2"),
        (2.5, 0, "3"),
        (-2.5, 0, "-3"),
        (0.125, 2, "0.13"),
        (1.005, 2, "1.01"),
        (0.1 + 0.2, 15, "0.300000000000000"),
        (-0.4, 0, "0"),
        (-0.0, 2, "0.00"),
        (-0.004, 2, "0.00"),
        (-3.0, -1, "0"),
        (149.0, -2, "100"),
        (150.0, -2, "200"),
        (2e15, 0, "2000000000000000"),
        (1e-7, 3, "0.000"),
        (1e300, 0, "1" + 300 * "0"),
    ],
    ids=lambda item: str(item) if not isinstance(item, str) or len(item) < 20 else "long",
)
def test_half_up(value: float, decimals: int, text: str) -> None:
    assert round_half_up(value, decimals) == text


@pytest.mark.parametrize(
    ("u", "printed"),
    [
        (0.0957, "0.10"),
        (0.0995, "0.10"),
        (0.00949, "0.009"),
        (0.0949, "0.09"),
        (0.1049, "0.10"),
        (0.1051, "0.11"),
        (0.2949, "0.29"),
        (0.295, "0.3"),
        (0.34, "0.3"),
        (0.35, "0.4"),
        (1.0, "1.0"),
        (2.95, "3"),
        (9.5, "10"),
        (28.05, "28"),
        (99.5, "100"),
        (310.0, "300"),
        (1e-20, "0." + 19 * "0" + "10"),
    ],
    ids=lambda item: str(item)[:12],
)
def test_digits_of_an_uncertainty(u: float, printed: str) -> None:
    """Two digits where the first printed one is 1 or 2, else one (28.05 to 28: JCGM 100:2008, 7.2.6, from memory)."""
    assert round_half_up(u, decimals_for(u)) == printed


@pytest.mark.parametrize(
    ("value", "u", "text"),
    [
        (10.05762, 0.027, "10.058 ± 0.027"),
        (0.475, 0.00571, "0.475 ± 0.006"),
        (-0.0004, 0.004, "0.000 ± 0.004"),
        (12345.0, 310.0, "12300 ± 300"),
        (49.5, 10.0, "50 ± 10"),
        (1e5, 1e-25, "100000." + 26 * "0" + " ± 0." + 24 * "0" + "10"),
    ],
    ids=["GUM 7.2.6", "half-way", "negative zero", "hundreds", "tens", "far apart"],
)
def test_value_and_uncertainty_end_at_one_place(value: float, u: float, text: str) -> None:
    """The first is the example of JCGM 100:2008, 7.2.6 (from memory)."""
    assert plus_minus(value, u) == text


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(0.0754, 2, "0.075"), (0.0745, 2, "0.075"), (0.0995, 2, "0.100"), (36.0, 1, "4E+1")],
    ids=["two", "half-way", "carried", "tens"],
)
def test_significant_digits(value: float, digits: int, text: str) -> None:
    assert str(to_digits(value, digits)) == text


@pytest.mark.parametrize("value", [float("nan"), float("inf"), -float("inf")], ids=str)
def test_what_is_not_a_number_has_no_digits(value: float) -> None:
    with pytest.raises(ValueError, match="wanted a finite number to round, given"):
        round_half_up(value, 2)
    with pytest.raises(ValueError, match="wanted a finite number to round, given"):
        with_uncertainty(value, 0.1)


@pytest.mark.parametrize("u", [0.0, -0.1, float("nan"), float("inf")], ids=str)
def test_what_is_no_uncertainty_gives_no_digits(u: float) -> None:
    with pytest.raises(ValueError, match=f"wanted a positive standard uncertainty, given {u}"):
        with_uncertainty(1.0, u)


@settings(deadline=None)
@given(value=finite, u=positive)
@example(value=-0.04, u=0.3)
@example(value=0.475, u=0.3)
@example(value=100000.42878464272, u=0.0001)  # rounded twice where too few digits are kept in between
def test_nothing_is_lost(value: float, u: float) -> None:
    """The printed value is within half a unit of its last place; the printed u within 15 % of u; both end alike."""
    text, text_u = with_uncertainty(value, u)
    unit = Decimal(1).scaleb(-decimals_for(u))
    dust = Decimal(2) * abs(as_decimal(value)) * Decimal("1e-13")
    assert abs(Decimal(text) - Decimal(value)) <= unit / 2 + dust
    assert abs(Decimal(text_u) - Decimal(u)) <= min(Decimal("0.15") * Decimal(u), unit / 2 * (1 + Decimal("1e-9")))
    assert len(text.partition(".")[2]) == len(text_u.partition(".")[2])


@settings(deadline=None)
@given(value=finite, decimals=st.integers(-3, 9))
def test_never_a_negative_zero(value: float, decimals: int) -> None:
    text = round_half_up(value, decimals)
    assert not (text.startswith("-") and float(text) == 0.0)
    assert round_half_up(-value, decimals) == (text[1:] if text.startswith("-") else "-" * (float(text) != 0) + text)


@settings(deadline=None)
@given(u=positive, factor=st.sampled_from([10.0, 100.0, 0.1]))
def test_digits_do_not_depend_on_the_unit(u: float, factor: float) -> None:
    shift = {10.0: 1, 100.0: 2, 0.1: -1}[factor]
    assert decimals_for(float(as_decimal(u)) * factor) == decimals_for(float(as_decimal(u))) - shift


@pytest.mark.parametrize("value", [1 / 60, 0.0142857, 0.5, 0.0, 1.0, 59 / 60, -0.1459], ids=lambda v: f"{v:.4f}")
def test_a_printed_bound_never_claims_more(value):
    upper, lower = (Decimal(round_bound(value, 2, up=up)) for up in (True, False))
    dust, step = Decimal("1e-12"), Decimal("0.01")
    assert Decimal(value) - dust <= upper < Decimal(value) + step
    assert Decimal(value) - step < lower <= Decimal(value) + dust


def test_a_bound_is_never_a_negative_zero():
    assert round_bound(-0.001, 2, up=True) == "0.00"

"""Numbers as finished text cells."""

from __future__ import annotations

from collections.abc import Hashable, Mapping
from math import isfinite, isnan
from typing import Any

from lanewise.analyses.wording import EXACT
from lanewise.figures import words
from lanewise.uncertainty.rounding import decimals_for, round_bound, round_half_up, with_uncertainty

Row = Mapping[Hashable, Any]
PLUS_MINUS = "\N{NO-BREAK SPACE}±\N{NO-BREAK SPACE}"


def value(row: Row, name: str) -> str:
    """Value and standard uncertainty of a column, or the bound that stands for it; empty where neither is known."""
    number, u = float(row[name]), float(row[f"u_{name}"])
    if not isnan(number):
        return PLUS_MINUS.join(with_uncertainty(number, u)) if u > 0 else round_half_up(number, EXACT)
    if f"{name}_low" not in row:
        return ""
    low, high = float(row[f"{name}_low"]), float(row[f"{name}_high"])
    if name == "rf" and row["state"] == "at origin" and not isnan(high):
        return f"< {round_bound(high, up=True)}"
    if name == "rf" and row["state"] == "with front" and not isnan(low):
        return f"> {round_bound(low, up=False)}"
    if name == "k" and row["state"] == "at origin" and not isnan(low):
        return f"> {round_bound(low, 0, up=False)}"
    if name == "k" and row["state"] == "with front" and not isnan(high):
        return f"< {round_bound(high, up=True)}"
    return ""


def difference(row: Row) -> str:
    """Difference of Rf between two systems: its value, or the bound that a censored side leaves; else empty."""
    if not isnan(float(row["delta_rf"])):
        return value(row, "delta_rf")
    low, high = float(row["low"]), float(row["high"])
    if low > 0:
        return f"> {round_bound(low, up=False)}"
    return f"< {round_bound(high, up=True)}" if high < 0 else ""


def interval(row: Row, name: str = "rf") -> str:
    """Both ends of the interval of a value that has one, rounded as the value is; empty otherwise."""
    number, u = float(row[name]), float(row[f"u_{name}"])
    if isnan(number) or not u > 0:
        return ""
    decimals = decimals_for(u)
    ends = [float(row[f"{name}_{end}"]) for end in ("low", "high")]
    return " to ".join(round_half_up(end, decimals) if isfinite(end) else "no limit" for end in ends)


def millimetres(number: float) -> str:
    """A position or length in millimetres, two decimals at most; empty where it was not read."""
    return "" if isnan(number) else words.millimetres(number)


def whole(number: float) -> str:
    """A whole number; empty where there is none."""
    return "" if isnan(number) else round_half_up(number, 0)

"""A comparison in plain sentences, with the numbers that carry them."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from typing import Any, TypeAlias

import numpy as np
import pandas as pd

from lanewise.analyses.compare import CENSORED, VALUED, Comparison
from lanewise.analyses.dyes import name_dyes
from lanewise.analyses.measure import Measurement
from lanewise.analyses.separations import TOUCHING, Separations
from lanewise.analyses.wording import counted, decimals, listed, shown_as, texts
from lanewise.uncertainty.rounding import round_bound, round_half_up

Row: TypeAlias = Mapping[Hashable, Any]
Short: TypeAlias = Mapping[str, str] | None
MOVED = ("farther in a", "farther in b")
SAME = "no difference shown"


def comparison_sentences(comparison: Comparison, short: Short = None) -> tuple[str, ...]:
    """Say what the comparison found: the count first, then each dye that moves farther somewhere.

    Parameters
    ----------
    comparison : Comparison
        From `lanewise.compare`.
    short : mapping of str to str, optional
        Names to print for the systems.

    Returns
    -------
    tuple of str
        Sentences for each two systems, the surest difference first. What cannot be compared is in `open_sentences`.
        Where no dye was repeated, a last sentence says what the intervals leave out.
    """
    sides = _sides(comparison)
    result = []
    for rows, a, b in _by_systems(comparison, short):
        count = rows["verdict"].value_counts()
        shown = [int(count.get(name, 0)) for name in (*MOVED, SAME)]
        result += _count_sentence(shown, a, b)
        moved = rows[rows["verdict"].isin(MOVED)]
        size = np.fmin(np.abs(moved["low"].to_numpy()), np.abs(moved["high"].to_numpy()))
        ordered = moved.iloc[np.argsort(-size, kind="stable")]
        result += [_one_dye(row, sides, comparison.level, short) for row in ordered.to_dict("records")]
        same = [f"{row['dye']} ({_ends(row)})" for row in rows[rows["verdict"] == SAME].to_dict("records")]
        if same:
            hold = "interval holds" if len(same) == 1 else "intervals hold"
            result.append(
                f"No difference is shown for {listed(same)}: the {100 * comparison.level:g} % {hold} zero, counted "
                f"as Rf in {b} minus Rf in {a}."
            )
    if not comparison.means.dof and comparison.differences["delta_rf"].notna().any():
        result.append(
            "These intervals hold errors of reading only: no dye was run on two plates of one system, so the scatter "
            "from plate to plate is not known and may be larger."
        )
    return tuple(result)


def headline_sentences(comparison: Comparison, short: Short = None) -> tuple[str, ...]:
    """Say in few sentences which system moves which dyes farther, without the single intervals.

    Parameters
    ----------
    comparison : Comparison
        From `lanewise.compare`.
    short : mapping of str to str, optional
        Names to print for the systems.

    Returns
    -------
    tuple of str
        For each two systems: the dyes that ran farther in each, with the range of the differences, and those for
        which no difference is shown.
    """
    result = []
    for rows, a, b in _by_systems(comparison, short):
        for verdict, farther, other in ((MOVED[0], a, b), (MOVED[1], b, a)):
            moved = rows[rows["verdict"] == verdict]
            if len(moved):
                dyes = listed([str(dye) for dye in moved["dye"]])
                result.append(f"In {farther}, {dyes} ran farther than in {other}{_range(moved['delta_rf'].abs())}.")
        same = [str(dye) for dye in rows.loc[rows["verdict"] == SAME, "dye"]]
        if same:
            result.append(f"Between {a} and {b} no difference is shown for {listed(same)}.")
        if not rows["verdict"].isin((*MOVED, SAME)).any():
            result.append(f"Between {a} and {b} no dye can be compared.")
    return tuple(result)


def open_sentences(comparison: Comparison, short: Short = None) -> tuple[str, ...]:
    """Say what cannot be compared, and why.

    Parameters
    ----------
    comparison : Comparison
        From `lanewise.compare`.
    short : mapping of str to str, optional
        Names to print for the systems.

    Returns
    -------
    tuple of str
        Dyes that stayed at the origin or ran with the front so that no sign of the difference follows, dyes that have
        no Rf in a system or did not behave alike in all lanes, and samples whose spots cannot be followed.
    """
    sides = _sides(comparison)
    result = []
    for rows, a, b in _by_systems(comparison, short):
        for row in rows[rows["verdict"] == "cannot be compared"].to_dict("records"):
            one, other = (sides[row["dye"], row[name]] for name in ("system_a", "system_b"))
            why = _why_open(one, other, a, b)
            result.append(f"Between {a} and {b}, {row['dye']} cannot be compared: it {why}.")
    return (*result, *comparison.unmatched)


def separation_sentences(measurement: Measurement, separated: Separations, short: Short = None) -> tuple[str, ...]:
    """Say which neighbours one system leaves together, and whether another separates them.

    Parameters
    ----------
    measurement : Measurement
        From `lanewise.measure`.
    separated : Separations
        From `lanewise.separations` of the same measurement.
    short : mapping of str to str, optional
        Names to print for the systems.

    Returns
    -------
    tuple of str
        One sentence for each two neighbours whose median resolution over the lanes is below 1 in a system. Other
        systems are named only where the dyes can be followed there and are neighbours too.
    """
    found: dict[tuple[str, str], dict[str, list[tuple[float, float, float]]]] = {}
    for key, system, ends in _neighbours(measurement, separated):
        found.setdefault(key, {}).setdefault(shown_as(system, short), []).append(ends)
    result = []
    for (what, _), by_system in found.items():
        medians = {system: np.median(values, axis=0) for system, values in by_system.items()}
        worst = min(medians, key=lambda system: medians[system][0])
        rs, _, high = medians[worst]
        if rs >= TOUCHING:
            continue
        clearly = "" if high < TOUCHING else "clearly "
        lanes = len(by_system[worst])
        several = f", median of {lanes} lanes" if lanes > 1 else ""
        text = f"In {worst}, {what} are not {clearly}separated (apparent resolution {round_half_up(rs, 1)}{several})"
        others = [system for system in medians if system != worst]
        if others:
            best = max(others, key=lambda system: medians[system][0])
            text += f"; {_elsewhere(best, *medians[best])} ({round_half_up(medians[best][0], 1)})"
        result.append(f"{text}.")
    return tuple(result)


def _elsewhere(system: str, rs: float, low: float, high: float) -> str:
    """Say how another system does with neighbours that one does not separate."""
    if rs >= TOUCHING:
        return f"in {system} they {'are' if low >= TOUCHING else 'may be'}"
    return f"nor {'' if high < TOUCHING else 'clearly '}in {system}"


def _neighbours(
    measurement: Measurement, separated: Separations
) -> Iterator[tuple[tuple[str, str], str, tuple[float, float, float]]]:
    """Give for each pair with a resolution what it is, its system, and its resolution with both ends.

    Dyes that can be followed go by their names, whatever the system; others are spots of one sample in one system.
    """
    rows, pairs = measurement.pair_rows, separated.pairs
    named = name_dyes(measurement)
    followed, within = named.names.to_numpy(), named.within.to_numpy()
    ends = pairs[["rs", "rs_low", "rs_high"]].to_numpy(dtype=float)
    for slow, fast, system, (rs, low, high) in zip(rows.slow, rows.fast, texts(pairs["system"]), ends, strict=True):
        if np.isnan(rs) or not within[slow]:
            continue
        everywhere = followed[slow] and followed[fast]
        what = " and ".join(sorted((within[slow], within[fast])))
        yield (what, "" if everywhere else system), system, (float(rs), float(low), float(high))


def _sides(comparison: Comparison) -> dict[tuple[str, str], Row]:
    return {(row["dye"], row["system"]): row for row in comparison.dyes.to_dict("records")}


def _by_systems(comparison: Comparison, short: Short) -> Iterator[tuple[pd.DataFrame, str, str]]:
    """Give the differences of each two systems with the names to print."""
    for key, rows in comparison.differences.groupby(["system_a", "system_b"], sort=False):
        a, b = (shown_as(str(name), short) for name in key)
        yield rows, a, b


def _count_sentence(shown: list[int], a: str, b: str) -> list[str]:
    """Say how many dyes went which way; one dye has its own sentence and needs no count."""
    total = sum(shown)
    if total == 1:
        return []
    if not total:
        return [f"No dye can be compared between {a} and {b}."]
    farther = [f"{count} ran farther in {system}" for count, system in zip(shown, (a, b), strict=False) if count]
    same = [f"for {shown[2]} no difference is shown"] if shown[2] else []
    return [f"Of {counted(total, 'dye')} that can be compared between {a} and {b}, {listed([*farther, *same])}."]


def _one_dye(row: Row, sides: dict[tuple[str, str], Row], level: float, short: Short) -> str:
    farther, other = row["system_b"], row["system_a"]
    low, high, sign = row["low"], row["high"], 1.0
    if row["verdict"] == MOVED[0]:
        farther, other, low, high, sign = other, farther, -high, -low, -1.0
    fast, slow = sides[row["dye"], farther], sides[row["dye"], other]
    head = f"{row['dye']} ran farther in {shown_as(farther, short)}: Rf {_rf(fast)} against {_rf(slow)} in "
    head += shown_as(other, short)
    if np.isnan(row["delta_rf"]):
        return f"{head}, so at least {round_bound(low, up=False)} farther."
    places = decimals(row["u_delta_rf"])
    ends = " to ".join(round_half_up(end, places) for end in (low, high))
    value = round_half_up(sign * row["delta_rf"], places)
    streaks = [fast["state"], slow["state"]].count("streak")
    where = "both" if streaks == 2 else "one of them"
    tail = f" It is a streak in {where}, which makes the interval wide." if streaks else ""
    return f"{head}, a difference of {value} ({100 * level:g} % interval {ends}).{tail}"


def _ends(row: Row) -> str:
    """Both ends of the interval of a difference."""
    places = decimals(row["u_delta_rf"])
    return " to ".join(round_half_up(row[end], places) for end in ("low", "high"))


def _range(sizes: pd.Series[float]) -> str:
    """Smallest and largest of the differences that have a value."""
    known = sizes.dropna()
    if known.empty:
        return ""
    low, high = round_half_up(float(known.min()), 2), round_half_up(float(known.max()), 2)
    where = "" if len(known) == len(sizes) else " where both have a value"
    return f" (by {low} in Rf{where})" if low == high else f" (by {low} to {high} in Rf{where})"


def _rf(side: Row) -> str:
    if side["state"] == "at origin":
        return f"below {round_bound(side['rf_high'], up=True)} (at the origin)"
    if side["state"] == "with front":
        return f"above {round_bound(side['rf_low'], up=False)} (with the front)"
    return round_half_up(side["rf"], decimals(side["u_rf"]))


def _why_open(one: Row, other: Row, a: str, b: str) -> str:
    """Say why no sign of the difference follows from the two sides of a dye."""
    if one["state"] == other["state"]:
        return f"{_reason(one)} in both"
    sides = ((one, a), (other, b))
    said = [f"{_reason(side)} in {system}" for side, system in sides if side["state"] not in VALUED]
    censored = [side["state"] for side, _ in sides if side["state"] in CENSORED]
    for side, system in sides:
        if side["state"] in VALUED and censored:
            than = "above" if censored[0] == "at origin" else "below"
            said.append(f"its Rf of {_rf(side)} in {system} is not shown to lie {than} that")
    return " and ".join(said)


def _reason(side: Row) -> str:
    reasons = {
        "at origin": "stayed at the origin",
        "with front": "ran with the front",
        "not alike": "did not behave alike in all lanes",
    }
    return reasons.get(side["state"], "has no Rf")

"""Tests, correlations, rankings and predictions in plain sentences, with the numbers that carry them."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Mapping
from typing import Any

import numpy as np
import pandas as pd

from lanewise.analyses.contrasts import ALIKE, BOTH, BY_BOUND, DIFFERS, Contrasts
from lanewise.analyses.correlations import Correlations
from lanewise.analyses.ranking import FAILED, UNSURE, Ranking
from lanewise.analyses.strength import HOPELESS, Predictions
from lanewise.analyses.wording import capital, counted, listed, shown_as
from lanewise.uncertainty.rounding import round_half_up

Row = Mapping[Hashable, Any]
Short = Mapping[str, str] | None
FINE = 0.001
GAIN = 0.05  # share by which two systems must be better than one to be worth a word


def p_words(p: float) -> str:
    """Give a p value with three decimals, or the bound below which it lies.

    Examples
    --------
    >>> p_words(0.0412), p_words(1e-9), p_words(float("nan"))
    ('0.041', '< 0.001', '')
    """
    if np.isnan(p):
        return ""
    return f"< {FINE:g}" if p < FINE else round_half_up(p, 3)


def chance_words(chance: float) -> str:
    """Give a probability from trials as a percentage, never 0 or 100.

    Examples
    --------
    >>> chance_words(0.9999), chance_words(0.734), chance_words(0.0)
    ('more than 99 %', '73 %', 'less than 1 %')
    """
    if np.isnan(chance):
        return "not known"
    if chance > 0.99:
        return "more than 99 %"
    return "less than 1 %" if chance < 0.01 else f"{round_half_up(100.0 * chance, 0)} %"


def contrast_sentences(contrasts: Contrasts, short: Short = None) -> tuple[str, ...]:
    """Say what the tests found, for each two systems.

    Parameters
    ----------
    contrasts : Contrasts
        From `lanewise.contrast`.
    short : mapping of str to str, optional
        Names to print for the systems.

    Returns
    -------
    tuple of str
        First over all dyes, then how many of them differ; differences are counted as the second system less the first.
    """
    result = []
    for row in contrasts.systems.to_dict("records"):
        a, b = (shown_as(row[name], short) for name in ("system_a", "system_b"))
        dyes = contrasts.dyes.query("system_a == @row['system_a'] and system_b == @row['system_b']")
        result.append(_over_all(row, a, b, contrasts))
        result.append(_counts(dyes, a, b, contrasts))
    return tuple(text for text in result if text)


def _over_all(row: Row, a: str, b: str, contrasts: Contrasts) -> str:
    level = f"{100 * contrasts.level:g} %"
    if row["dyes"] < 2:
        return f"Between {a} and {b} fewer than two dyes have a value in both, so nothing is said of dyes in general."
    mean, ends = _number(row["mean"]), f"{_number(row['t_low'])} to {_number(row['t_high'])}"
    tests = f"t test p {p_words(row['p_t_holm'])}, signed ranks p {p_words(row['p_rank_holm'])}"
    many = len(contrasts.systems)
    tests += f", both corrected for {many} pairs of systems" if many > 1 else ""
    alpha = 1.0 - contrasts.level
    ranks_can = many * 2.0 ** (1 - int(row["dyes"] + row["limited"])) < alpha
    by_t, by_ranks = row["p_t_holm"] < alpha, row["p_rank_holm"] < alpha
    if row["p_alike_holm"] < alpha:
        said = f"are alike within {contrasts.margin:g} in Rf on the mean"
    elif by_t and (by_ranks or not ranks_can):
        said = f"differ: dyes in general run farther in {b if row['mean'] > 0 else a}"
    elif by_t or by_ranks:
        said = "differ by one of two tests only"
    else:
        said = "are not shown to differ in what they do to dyes in general, nor to be alike"
    text = f"{capital(a)} and {b} {said}: the mean difference over {counted(int(row['dyes']), 'dye')} is {mean} "
    text += f"({level} interval for dyes like these {ends}; {tests})."
    if not ranks_can:
        text += " Of so few dyes the signed ranks cannot show a difference, whatever they say."
    if row["limited"]:
        text += (
            f" {capital(counted(int(row['limited']), 'dye'))} with a bound "
            f"{'enters' if row['limited'] == 1 else 'enter'} the ranks by sign and bound, and not the mean; with "
            f"bounds counted the mean lies between {_number(row['least'])} and {_number(row['most'])}."
        )
    if row["left_out"]:
        text += f" Of {counted(int(row['left_out']), 'dye')} the readings tell no sign, so no test counts it."
    return text.replace("so no test counts it.", "so no test counts them.") if row["left_out"] > 1 else text


def _counts(dyes: pd.DataFrame, a: str, b: str, contrasts: Contrasts) -> str:
    found = dyes["finding"].str.removesuffix(BY_BOUND)
    parts = [
        (int(found.isin([DIFFERS, BOTH]).sum()), "differ", "differs"),
        (
            int((found == ALIKE).sum()),
            f"are alike within {contrasts.margin:g}",
            f"is alike within {contrasts.margin:g}",
        ),
    ]
    rest = len(dyes) - sum(count for count, _, _ in parts)
    said = [f"{count} {one if count == 1 else many}" for count, many, one in parts if count]
    said += [f"for {rest} neither is shown"] if rest else []
    many = int(contrasts.dyes["p"].notna().sum())
    return (
        f"Dye by dye between {a} and {b}, corrected for {counted(many, 'test')}: of {counted(len(dyes), 'dye')} "
        f"{listed(said)}."
    )


def correlation_sentences(correlations: Correlations, short: Short = None) -> tuple[str, ...]:
    """Say for each two systems whether they sort the dyes alike, and what a second run would add."""
    result = []
    orders = correlations.coefficients[correlations.coefficients["kind"] == "spearman"].to_dict("records")
    order_of = {(row["system_a"], row["system_b"]): row for row in orders}
    for row in correlations.planes.to_dict("records"):
        a, b = (shown_as(row[name], short) for name in ("system_a", "system_b"))
        order = order_of[row["system_a"], row["system_b"]]
        if np.isnan(order["value"]):
            result.append(f"Between {a} and {b} too few dyes have a value in both to compare the order.")
            continue
        ends = (
            "" if np.isnan(order["low"]) else f", {_number(order['low'], 2)} to {_number(order['high'], 2)} for others"
        )
        text = f"{capital(a)} and {b} give {row['finding'].split(',')[0]} to {counted(int(row['dyes']), 'dye')} "
        text += f"(rank correlation {_number(order['value'], 2)}{ends})"
        if str(row["finding"]).startswith("much"):
            text += "; what a second run adds lies in its gaps alone"
        elif str(row["finding"]).startswith("another"):
            text += "; each tells what the other does not"
        result.append(
            f"{text}. Their outline covers {round_half_up(100.0 * row['area'], 0)} % of the plane of both Rf."
        )
    return tuple(result)


def ranking_sentences(ranking: Ranking, short: Short = None) -> tuple[str, ...]:
    """Say which system is best, how sure that is, what two together add, and what the best leaves."""
    singles = ranking.order[ranking.order["system_b"] == ""]
    pairs = ranking.order[ranking.order["system_b"] != ""]
    result = []
    best = singles.iloc[0]
    name = shown_as(best["system_a"], short)
    head = f"by the {ranking.criterion} of {counted(len(ranking.dyes), 'dye')}"
    value = f"{_number(best['value'], 2)} ({_number(best['low'], 2)} to {_number(best['high'], 2)})"
    if len(singles) == 1:
        result.append(f"{capital(name)} has, {head}, {value}.")
    else:
        tied = bool(best["value"] - singles["value"].iloc[1] < 1e-9)
        more = "no system is better than the next" if tied else f"{name} is best with {value}"
        result.append(
            f"{capital(head)}, {more}; that it is the best has a probability of {chance_words(best['best'])}."
        )
    result += _left(ranking, str(best["system_a"]), name)
    if len(pairs):
        two = pairs.iloc[0]
        first, second = (shown_as(two[side], short) for side in ("system_a", "system_b"))
        what = f"{_number(two['value'], 2)} ({_number(two['low'], 2)} to {_number(two['high'], 2)})"
        if ranking.pair_criterion == ranking.criterion and two["value"] - best["value"] <= GAIN * abs(best["value"]):
            result.append(f"No two systems run one beside the other do much better than {name} alone ({what}).")
        else:
            result.append(
                f"Of two systems run one beside the other, {first} with {second} comes first by the "
                f"{ranking.pair_criterion}, with {what}; that it is the best pair has a probability of "
                f"{chance_words(two['best'])}."
            )
    return tuple(result)


def _left(ranking: Ranking, system: str, name: str) -> Iterator[str]:
    mine = ranking.dye_pairs[ranking.dye_pairs["system"] == system]
    for finding, said in ((FAILED, "leaves together"), (UNSURE, "may leave together")):
        rows = mine[mine["finding"] == finding]
        if len(rows):
            pairs = [f"{row['dye_a']} and {row['dye_b']}" for row in rows.head(6).to_dict("records")]
            more = f", and {len(rows) - 6} more pairs" if len(rows) > 6 else ""
            yield f"{capital(name)} {said} {'; '.join(pairs)}{more}."
    if not mine["finding"].isin([FAILED, UNSURE]).any():
        yield f"{capital(name)} tells all of them apart."


def prediction_sentences(predictions: Predictions) -> tuple[str, ...]:
    """Say what another strength would do, how sure that is, and what to do where it cannot help."""
    result = []
    for series in predictions.series:
        if not (predictions.scan["series"] == series.name).any():
            continue
        best = predictions.best(series.name)
        low, high = series.ends
        unit = "fraction" if series.axis == "fraction" else "index"
        place = f"{series.name} at a {unit} of {_number(best['at'], 2)}"
        chance = float(best["all_apart"])
        gap = f"{_number(best['gap'], 3)} ({_number(best['gap_low'], 3)} to {_number(best['gap_high'], 3)})"
        said = (
            f"Of the strengths between {_number(low, 2)} and {_number(high, 2)}, {place} should part "
            f"{counted(int(best['dyes']), 'dye')} best: smallest gap in Rf {gap}, all 0.05 apart or more with a "
            f"probability of {chance_words(chance)}."
        )
        result.append(said)
        if chance < HOPELESS:
            result.append(
                f"The strength of {series.name} alone is not likely to part them: it moves all dyes the same way. "
                "Change the kind of solvent instead, to one of another selectivity group at about the same strength."
            )
        groups = predictions.groups[predictions.groups["series"] == series.name]
        if len(groups):
            weak = " and ".join(series.rest)
            offers = [
                f"{row['solvent']} (group {row['group']}) at a fraction of {_number(row['fraction'], 2)}"
                for row in groups.to_dict("records")
            ]
            result.append(
                f"With {weak}, the same polarity index of {_number(groups['polarity'].iloc[0], 1)} has "
                f"{listed(offers)}. The groups are from memory and not checked, and k may miss by far: try it "
                "on a small plate, under the local rules and the safety data sheets."
            )
    check = predictions.checks
    if len(check):
        inside = int(check["inside"].sum())
        result.append(
            f"Left out one composition at a time and predicted from the others, {inside} of {len(check)} Rf lie in "
            f"their {100 * predictions.level:g} % interval."
        )
    return tuple(result)


def _number(number: float, places: int = 3) -> str:
    return "not known" if np.isnan(number) else round_half_up(float(number), places)

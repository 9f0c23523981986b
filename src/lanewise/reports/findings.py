"""The numbers behind a comparison and a choice of systems, unrounded, with the meaning of their columns."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import pandas as pd

from lanewise.analyses.contrasts import Contrasts
from lanewise.analyses.correlations import Correlations
from lanewise.analyses.ranking import Ranking
from lanewise.analyses.strength import Predictions
from lanewise.document import DataTable
from lanewise.reports.data import frame_table
from lanewise.tables.columns import Column, Kind

_TEXTS = {
    "system": "solvent system",
    "system_a": "first of two solvent systems",
    "system_b": "second of two solvent systems; empty where one stands alone",
    "dye": "dye, by the name under which it is followed",
    "dye_a": "first of two dyes",
    "dye_b": "second of two dyes",
    "finding": "what follows",
    "scale": "rf or r_m",
    "kind": "coefficient of correlation: pearson, spearman or kendall",
    "criterion": "by which systems are ranked",
    "series": "systems that differ in strength alone",
    "within": "whether the place lies between the strengths that were tried",
    "observed": "whether a plate was run there; in the table of checks the Rf that was found",
    "left_out": "system left out and predicted from the others; in the table of tests dyes without a known sign",
    "inside": "whether the Rf that was found lies in the interval",
    "solvent": "solvent of another selectivity group",
    "group": "selectivity group, from memory",
}
_NUMBERS = {
    "delta_rf": "Rf in the second system less Rf in the first",
    "u_delta_rf": "standard uncertainty of delta_rf",
    "dof": "effective degrees of freedom of u_delta_rf",
    "low": "lower end of the coverage interval",
    "high": "upper end of the coverage interval",
    "p": "two-sided p value against no difference",
    "p_holm": "p, corrected by Holm's method over all dyes and systems",
    "p_alike": "p value against a difference of the margin or more",
    "p_alike_holm": "p_alike, corrected in the same way",
    "dyes": "number of dyes with a value",
    "limited": "number of dyes of which a bound takes part",
    "mean": "mean difference of these dyes",
    "u_mean": "standard uncertainty of mean, with what readings and plates share",
    "mean_low": "lower end of the interval of mean",
    "mean_high": "upper end of the interval of mean",
    "p_mean": "two-sided p value of mean against zero, for these dyes",
    "least": "least mean that the bounds allow",
    "most": "greatest mean that the bounds allow",
    "t": "Student's t of the differences",
    "t_dof": "degrees of freedom of t",
    "t_low": "lower end of the interval of the mean, for dyes like these",
    "t_high": "upper end of the interval of the mean, for dyes like these",
    "sd": "standard deviation of the differences",
    "p_t": "two-sided p value of t",
    "p_t_holm": "p_t, corrected over the pairs of systems",
    "d_z": "standardised mean difference",
    "d_z_low": "lower end of the interval of d_z",
    "d_z_high": "upper end of the interval of d_z",
    "w_plus": "sum of the ranks of positive differences",
    "w_minus": "sum of the ranks of negative differences",
    "p_rank": "two-sided p value of the signed ranks",
    "p_rank_holm": "p_rank, corrected over the pairs of systems",
    "rank_biserial": "rank-biserial correlation of the signed ranks",
    "shift": "median of the averages of each two differences",
    "shift_low": "lower end of the interval of shift",
    "shift_high": "upper end of the interval of shift",
    "p_sign": "two-sided p value of the sign test",
    "value": "the coefficient or criterion",
    "u_value": "what the uncertainty of the Rf does to it",
    "area": "share of the plane of both Rf within the outline of the dyes",
    "nearest": "mean distance of each dye from the nearest other in that plane",
    "closest": "smallest distance of two dyes in that plane",
    "place": "place in the order, within single systems or within pairs",
    "best": "probability that it is the best of its kind",
    "above_next": "probability that it is better than the next of its kind",
    "gap": "distance of two dyes in Rf; in a scan the smallest one",
    "gap_low": "lower end of the interval of gap",
    "gap_high": "upper end of the interval of gap",
    "rs": "apparent resolution, as if both had run in one lane",
    "rs_low": "lower end of the interval of rs",
    "rs_high": "upper end of the interval of rs",
    "apart": "probability that the two are told apart",
    "all_apart": "probability that all dyes lie 0.05 in Rf apart or more",
    "at": "volume fraction of the component that changes, or polarity index",
    "fraction": "volume fraction of the solvent in the mixture",
    "polarity": "polarity index of the mixture, later list",
    "rf": "predicted retardation factor",
    "rf_low": "lower end of the interval in which a new plate would put it",
    "rf_high": "upper end of the interval in which a new plate would put it",
    "r_m": "predicted decimal logarithm of k",
    "u_r_m": "standard uncertainty of r_m on a new plate",
}


def _column(name: str, frame: pd.DataFrame) -> Column:
    number = pd.api.types.is_numeric_dtype(frame[name].dtype) and not pd.api.types.is_bool_dtype(frame[name].dtype)
    kind: Kind = "number" if number else "text"
    meaning = _NUMBERS.get(name) or _TEXTS[name] if number else _TEXTS.get(name) or _NUMBERS[name]
    return Column(name, kind, "1" if number else "", meaning)


def finding_table(name: str, meaning: str, frame: pd.DataFrame, keys: tuple[str, ...]) -> DataTable:
    """Make a data table of a finding; truth values become yes and no."""
    plain = frame.copy()
    for column in plain.columns:
        if pd.api.types.is_bool_dtype(plain[column].dtype):
            plain[column] = plain[column].map({True: "yes", False: "no"}).astype(object)
    more: Mapping[str, Column] = {str(column): _column(str(column), plain) for column in plain.columns}
    return frame_table(name, meaning, plain, keys, more)


def comparison_tables(contrasts: Contrasts, correlations: Correlations) -> tuple[DataTable, ...]:
    """Give the tables of a comparison: ``differences``, ``tests``, ``correlations``, ``planes``."""
    two = ("system_a", "system_b")
    return tuple(
        _kept(
            (
                ("differences", "One dye in two systems, with tests.", contrasts.dyes, ("dye", *two)),
                ("tests", "Two systems over all their dyes.", contrasts.systems, two),
                ("correlations", "One coefficient of correlation.", correlations.coefficients, (*two, "scale", "kind")),
                ("planes", "Two systems as a plane of both Rf.", correlations.planes, two),
            )
        )
    )


def choice_tables(ranking: Ranking, predictions: Predictions | None) -> tuple[DataTable, ...]:
    """Give the tables of a choice.

    They are ``order``, ``dye_pairs``, ``criteria`` and ``pairs``, and where something was predicted ``predictions``,
    ``scan``, ``checks`` and ``alternatives``.
    """
    two = ("system_a", "system_b")
    rows = [
        ("order", "One system or two, in order.", ranking.order, two),
        ("dye_pairs", "Two dyes in one system.", ranking.dye_pairs, ("system", "dye_a", "dye_b")),
        ("criteria", "One criterion of one system.", ranking.systems, ("system", "criterion")),
        ("pairs", "One criterion of two systems together.", ranking.pairs, (*two, "criterion")),
    ]
    if predictions is not None:
        rows += [
            ("predictions", "One dye at a strength.", predictions.points, ("series", "at", "dye")),
            ("scan", "One strength.", predictions.scan, ()),
            ("checks", "One dye at a strength left out.", predictions.checks, ("series", "left_out", "dye")),
            ("alternatives", "One solvent of another group.", predictions.groups, ("series", "solvent")),
        ]
    return tuple(_kept(rows))


def _kept(rows: Iterable[tuple[str, str, pd.DataFrame, tuple[str, ...]]]) -> list[DataTable]:
    return [finding_table(*row) for row in rows if len(row[2])]

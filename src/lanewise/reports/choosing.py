"""The report of a choice: which system tells these dyes apart, how sure that is, and what to try next."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from importlib.metadata import version

import pandas as pd

from lanewise.analyses.compare import compare, spread
from lanewise.analyses.criteria import ALONE, TOGETHER
from lanewise.analyses.measure import Measurement, measure
from lanewise.analyses.ranking import APART, Ranking, rank_systems
from lanewise.analyses.strength import Predictions, predict_rf
from lanewise.analyses.verdicts import chance_words, prediction_sentences, ranking_sentences
from lanewise.analyses.wording import capital, listed
from lanewise.document import Block, Bullets, Paragraph, Report, Section, Table
from lanewise.errors import AnalysisError
from lanewise.figures.maps import system_map
from lanewise.figures.strengths import strength_figure
from lanewise.model.record import encode
from lanewise.model.solvents import Component, SolventSystem
from lanewise.model.studies import Study
from lanewise.planning.cautions import cautions
from lanewise.reference.strengths import strength
from lanewise.reports import tables
from lanewise.reports.findings import choice_tables
from lanewise.reports.recipes import cautions_section
from lanewise.reports.statements import provenance_blocks
from lanewise.reports.study import short_names
from lanewise.tables.marks import to_frame
from lanewise.tables.mixtures import composition_table
from lanewise.uncertainty.rounding import round_half_up

HOW_RANKED = (
    "The resolution is an apparent one: mean places and mean lengths of the spots, as if all dyes had run in one lane. "
    "Intervals and probabilities come from trials in which what several spots share, such as the lines of a plate and "
    "its shift against other plates, is drawn once for all. Two dyes are told apart by a resolution of 1, or where "
    "lengths were not read by 0.05 in Rf (common practice, no source). Two dyes at one end of the run are not told "
    "apart."
)
HOW_PREDICTED = (
    "A prediction takes R_M for a curve between two: straight against the fraction, and straight against its "
    "logarithm; what the readings do not tell of the curve is part of the interval, as are readings and the scatter of "
    "a plate still to be run. It goes half the span of the observed strengths beyond them, of the fraction "
    "or of its logarithm, and no farther."
)


RAISED = str.maketrans("-0123456789", "⁻⁰¹²³⁴⁵⁶⁷⁸⁹")


def choice_report(
    study: Study,
    *,
    dyes: Sequence[str] | None = None,
    criterion: str = "",
    at: Mapping[str, Sequence[float]] | None = None,
    title: str = "",
    level: float = 0.95,
    date: str = "",
) -> Report:
    """Make the report of a choice of solvent systems.

    Parameters
    ----------
    study : Study
        With plates in one system or more.
    dyes : sequence of str, optional
        Dyes to tell apart; see `lanewise.rank_systems`.
    criterion : str
        By which to rank; see `lanewise.rank_systems`.
    at : mapping of str to sequence of float, optional
        Strengths at which to predict; see `lanewise.predict_rf`.
    title : str
        Heading; by default the study's own title.
    level : float
        Coverage probability of the intervals, between 0 and 1.
    date : str
        Day on which the report is made, ``YYYY-MM-DD``.

    Returns
    -------
    Report
        Without two systems that differ in strength alone it predicts nothing, and says so.

    Raises
    ------
    AnalysisError
        As `lanewise.rank_systems`; as `lanewise.predict_rf` where a strength was asked for.
    """
    measurement = measure(to_frame(study), level=level)
    short = short_names(measurement)
    ranking = rank_systems(measurement, dyes=dyes, criterion=criterion)
    predictions, why_not = _predictions(measurement, study, ranking, at)
    foretold = prediction_sentences(predictions) if predictions is not None else ()
    advice = [item.advice.replace(item.system, short.get(item.system, item.system), 1) for item in spread(measurement)]
    named = "; ".join(f"{name} is {system}" for system, name in short.items() if name != system)
    summary = (f"{capital(named)}." if named else "", *ranking_sentences(ranking, short), *foretold)
    open_items = (*ranking.left_out, *(predictions.left_out if predictions is not None else ()), *why_not)
    sections = [
        Section("The systems", (tables.systems_table(study.systems, short),)),
        Section("The order", tuple(_order(ranking, measurement, short))),
        Section("What each system leaves together", (_left_together(ranking, short),)),
        Section("What to try next", tuple(_next(predictions, foretold, advice))),
        Section("What could not be said", (Bullets(open_items or ("Every dye has its place everywhere.",)),)),
        cautions_section(cautions((*study.systems, *_offered(predictions)))),
        Section("Where this comes from", provenance_blocks(study.inputs, level, version("lanewise"))),
    ]
    return Report(
        title or (f"{study.title}: a system chosen" if study.title else "Which solvent system to choose"),
        tuple(text for text in summary if text),
        tuple(sections),
        data=choice_tables(ranking, predictions),
        record=encode(study),
        date=date,
    )


def _predictions(
    measurement: Measurement, study: Study, ranking: Ranking, at: Mapping[str, Sequence[float]] | None
) -> tuple[Predictions | None, tuple[str, ...]]:
    """Predict where two systems differ in strength alone; a refusal is told unless a strength was asked for."""
    try:
        return predict_rf(measurement, composition_table(study), at=at, dyes=ranking.dyes), ()
    except AnalysisError as refusal:
        if at:
            raise
        return None, (f"No Rf is predicted: {refusal}",)


def _order(ranking: Ranking, measurement: Measurement, short: Mapping[str, str]) -> Iterator[Block]:
    yield Paragraph(f"Dyes to tell apart: {', '.join(ranking.dyes)}.")
    yield Paragraph(HOW_RANKED)
    alone = ranking.order[ranking.order["system_b"] == ""]
    yield _places(ranking, alone, short, f"Systems by the {ranking.criterion}; {ranking.trials} trials.")
    yield _criteria(ranking.systems, ["system"], short, "Every criterion of each system, with its interval.")
    yield Bullets(tuple(f"{name}: {meaning}." for name, meaning in ALONE.items()))
    if len(ranking.pairs):
        two = ranking.order[ranking.order["system_b"] != ""]
        yield _places(
            ranking, two, short, f"Each two systems run one beside the other, by the {ranking.pair_criterion}."
        )
        caption = "Every criterion of each two systems together, with its interval."
        yield _criteria(ranking.pairs, ["system_a", "system_b"], short, caption)
        yield Bullets(tuple(f"{name}: {meaning}." for name, meaning in TOGETHER.items()))
        a, b = two.iloc[0][["system_a", "system_b"]]
        yield system_map(compare(measurement), a, b, "best-pair", labels=(short.get(a, a), short.get(b, b)))


def _places(ranking: Ranking, order: pd.DataFrame, short: Mapping[str, str], caption: str) -> Table:
    """Give systems, or pairs of them, in order, with the chance that each place is right."""
    rows = [
        (
            str(row["place"]),
            short.get(row["system_a"], row["system_a"]),
            short.get(row["system_b"], row["system_b"]),
            _cell(row["value"]),
            _ends(row),
            chance_words(row["best"]),
            chance_words(row["above_next"]) if row["above_next"] == row["above_next"] else "",
        )
        for row in order.to_dict("records")
    ]
    level = f"{100 * ranking.level:g} % interval"
    numbers = f"Value | {level} | Probability of being the best | Probability of being better than the next"
    return tables.make_table(caption, f"Place | System | with | {numbers}", rows, numbers, keys=2)


def _criteria(frame: pd.DataFrame, systems: list[str], short: Mapping[str, str], caption: str) -> Table:
    """Give one row a criterion and one column a system; where there are more columns than rows, the other way round."""
    named = frame[systems].apply(lambda row: " with ".join(short.get(name, name) for name in row), axis=1)
    cells = [
        " ".join((_cell(row["value"]), f"({_ends(row)})" if _ends(row) else "")) for row in frame.to_dict("records")
    ]
    wide = pd.DataFrame({"criterion": frame["criterion"], "named": named, "cell": cells})
    wide = wide.pivot(index="criterion", columns="named", values="cell")
    wide = wide.loc[list(dict.fromkeys(frame["criterion"])), list(dict.fromkeys(named))]
    if len(wide.columns) > len(wide):
        wide = wide.T
    first = "System" if wide.index.name == "named" else "Criterion"
    columns = [str(name) for name in wide.columns]
    rows = [
        (str(name), *(str(cell).strip() for cell in row)) for name, row in zip(wide.index, wide.values, strict=True)
    ]
    return tables.make_table(caption, [first, *columns], rows, columns)


def _left_together(ranking: Ranking, short: Mapping[str, str]) -> Block:
    rows = [
        (
            short.get(row["system"], row["system"]),
            str(row["dye_a"]),
            str(row["dye_b"]),
            _cell(row["gap"], 3),
            _cell(row["rs"]),
            _ends({"low": row["rs_low"], "high": row["rs_high"]}),
            chance_words(row["apart"]),
            str(row["finding"]),
        )
        for row in ranking.dye_pairs.to_dict("records")
        if row["finding"] != APART
    ]
    if not rows:
        return Paragraph("Every system tells all of these dyes apart.")
    numbers = f"Gap in Rf | Rs | {100 * ranking.level:g} % interval of Rs | Probability of being apart"
    caption = "Dyes that a system does not surely tell apart; a system that is not named tells all of them apart."
    return tables.make_table(caption, f"System | Dye | and | {numbers} | Finding", rows, numbers, keys=3)


def _next(predictions: Predictions | None, foretold: Sequence[str], advice: Sequence[str]) -> Iterator[Block]:
    yield Bullets((*foretold, *(capital(text) for text in advice)))
    if predictions is None:
        return
    yield Paragraph(HOW_PREDICTED)
    took = round_half_up(predictions.scatter, 3)
    if predictions.assumed:
        yield Paragraph(
            f"No plate was repeated, so a scatter between plates of {took} in Rf was taken (common practice, no "
            "source)."
        )
    else:
        yield Paragraph(f"For the new plate a scatter of {took} in Rf against other plates was taken.")
    level = f"{100 * predictions.level:g} % interval"
    points = [
        (
            str(row["series"]),
            _cell(row["at"], 3),
            str(row["dye"]),
            _cell(row["rf"], 2),
            f"{_cell(row['rf_low'], 2)} to {_cell(row['rf_high'], 2)}",
            "between" if row["within"] else "beyond",
        )
        for row in predictions.points.to_dict("records")
    ]
    for number, one in enumerate(predictions.series, start=1):
        if (predictions.scan["series"] == one.name).any():
            yield strength_figure(predictions, one.name, f"strength-{number}")
    if points:
        header = f"Series | At | Dye | Predicted Rf | {level} | Strengths tried"
        yield tables.make_table(
            "Rf on a plate still to be run.", header, points, f"At | Predicted Rf | {level}", keys=3
        )
    if len(predictions.groups):
        names = list(dict.fromkeys(predictions.groups["solvent"]))
        yield Paragraph(_sources([*names, *_parts(predictions)]))


def _parts(predictions: Predictions) -> list[str]:
    return [name for one in predictions.series for name in (one.component, *one.rest) if name]


def _sources(names: Sequence[str]) -> str:
    found = [(name, item) for name in dict.fromkeys(names) if (item := strength(name)) is not None]
    by_source: dict[str, list[str]] = {}
    for name, item in found:
        by_source.setdefault(item.polarity_source, []).append(f"{name} {item.polarity:g}")
    said = "; ".join(f"{listed(values)}: {source}" for source, values in by_source.items())
    group = next((item.group_source for _, item in found if item.group_source), "")
    return f"Polarity indices: {said}. Groups: {group}. They mean nothing for salt water and for paper run with water."


def _offered(predictions: Predictions | None) -> tuple[SolventSystem, ...]:
    """Solvents that are offered, so that the cautions name them too."""
    if predictions is None or not len(predictions.groups):
        return ()
    names = dict.fromkeys(predictions.groups["solvent"])
    return (SolventSystem(name="offered", components=tuple(Component(substance=name, parts=1) for name in names)),)


def _ends(row: Mapping[str, float] | Mapping[object, object]) -> str:
    low, high = (float(str(dict(row)[end])) for end in ("low", "high"))
    return "" if low != low or high != high else f"{_cell(low)} to {_cell(high)}"


def _cell(number: float, places: int = 2) -> str:
    if number != number:
        return ""
    if number == 0:
        return "0"
    if places == 2 and abs(number) >= 100:
        places = 0
    if places != 2 or abs(number) >= 0.1:
        return round_half_up(float(number), places)
    mantissa, exponent = f"{number:.1e}".split("e")
    if int(exponent) >= -4:
        return round_half_up(float(number), 1 - int(exponent))
    return f"{mantissa} × 10{str(int(exponent)).translate(RAISED)}"

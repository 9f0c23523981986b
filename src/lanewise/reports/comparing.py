"""The report of a comparison: do these systems differ, for which dyes, and is a second one worth the run."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib.metadata import version
from itertools import islice

from lanewise.analyses.compare import Comparison, compare
from lanewise.analyses.contrasts import MARGIN, Contrasts, contrast
from lanewise.analyses.correlations import Correlations, correlate
from lanewise.analyses.measure import measure
from lanewise.analyses.sentences import headline_sentences, open_sentences
from lanewise.analyses.verdicts import contrast_sentences, correlation_sentences, p_words
from lanewise.analyses.wording import capital, counted
from lanewise.document import Block, Bullets, Paragraph, Report, Section, Table
from lanewise.figures.maps import system_map
from lanewise.model.record import encode
from lanewise.model.studies import Study
from lanewise.planning.cautions import cautions
from lanewise.reports import tables
from lanewise.reports.findings import comparison_tables
from lanewise.reports.recipes import cautions_section
from lanewise.reports.statements import provenance_blocks, uncertainty_blocks
from lanewise.reports.study import short_names
from lanewise.tables.marks import to_frame
from lanewise.uncertainty.rounding import round_half_up

MOST_MAPS = 6
HOW_TESTED = (
    "Two questions are kept apart. Whether one dye runs farther in one system follows from the uncertainty of its own "
    "two means. Whether dyes in general do follows from how far the dyes differ among themselves; these dyes stand for "
    "others like them, so the same substance under several names counts too often. P values are corrected by Holm's "
    "method for their number. Alike means that two one-sided tests exclude a difference of the margin. A spot at the "
    "origin or with the front has a bound and no value: where the bound tells the sign, the dye enters the signed "
    "ranks as known only within limits; the t test leaves it out."
)
HOW_CORRELATED = (
    "Intervals of a correlation are those of other dyes like these; the last column is what the uncertainty of these "
    "Rf alone does to it. Dyes with a bound enter Kendall's coefficient where the bound tells their order, and no "
    "other."
)


def comparison_report(
    study: Study, *, title: str = "", level: float = 0.95, margin: float = MARGIN, date: str = ""
) -> Report:
    """Make the report of a comparison of solvent systems.

    Parameters
    ----------
    study : Study
        With plates in two or more systems.
    title : str
        Heading; by default the study's own title.
    level : float
        Coverage probability of the intervals, between 0 and 1.
    margin : float
        Difference of Rf that does not matter, for the tests of equivalence. [1]
    date : str
        Day on which the report is made, ``YYYY-MM-DD``.

    Returns
    -------
    Report
        Behind the text it carries the numbers, unrounded, and the study's record.

    Raises
    ------
    AnalysisError
        If there are fewer than two systems, or the margin is not between 0 and 1.
    """
    measurement = measure(to_frame(study), level=level)
    short = short_names(measurement)
    compared = compare(measurement)
    contrasts, correlations = contrast(compared, margin=margin), correlate(compared)
    summary = (
        _named(short),
        *headline_sentences(compared, short),
        *contrast_sentences(contrasts, short),
        *correlation_sentences(correlations, short),
    )
    open_items = open_sentences(compared, short) or ("Every dye has a value or a bound in every system.",)
    sections = (
        Section("The systems", (tables.systems_table(study.systems, short),)),
        Section("Dye by dye", (*tables.differences_tables(compared, short), *_dye_tests(contrasts, short))),
        Section("Over all dyes", (Paragraph(HOW_TESTED), _system_tests(contrasts, short))),
        Section("Do they sort the dyes alike", _alike(compared, correlations, short)),
        Section("How sure this is", uncertainty_blocks(measurement, compared)),
        Section("What could not be said", (Bullets(open_items),)),
        cautions_section(cautions(study.systems)),
        Section("Where this comes from", provenance_blocks(study.inputs, level, version("lanewise"))),
    )
    return Report(
        title or (f"{study.title}: systems compared" if study.title else "Solvent systems compared"),
        tuple(text for text in summary if text),
        sections,
        data=comparison_tables(contrasts, correlations),
        record=encode(study),
        date=date,
    )


def _named(short: Mapping[str, str]) -> str:
    text = "; ".join(f"{name} is {system}" for system, name in short.items() if name != system)
    return f"{capital(text)}." if text else ""


def _dye_tests(contrasts: Contrasts, short: Mapping[str, str]) -> Iterator[Table]:
    rows = [
        (
            str(row["dye"]),
            *(short.get(row[side], row[side]) for side in ("system_a", "system_b")),
            _three(row["delta_rf"]),
            *(p_words(row[name]) for name in ("p", "p_holm", "p_alike_holm")),
            str(row["finding"]),
        )
        for row in contrasts.dyes.to_dict("records")
    ]
    numbers = f"Difference of Rf | p | p corrected | p of a difference of {contrasts.margin:g} or more, corrected"
    caption = (
        "Tests of each dye, the second system less the first. Where one side is a bound there is no p value, and the "
        "finding rests on the bounds."
    )
    yield tables.make_table(caption, f"Dye | First | Second | {numbers} | Finding", rows, numbers, keys=3)


def _system_tests(contrasts: Contrasts, short: Mapping[str, str]) -> Table:
    level = f"{100 * contrasts.level:g} %"
    rows = []
    for row in contrasts.systems.to_dict("records"):
        a, b = (short.get(row[side], row[side]) for side in ("system_a", "system_b"))
        said = (
            ("Dyes with a value in both", str(row["dyes"]), ""),
            ("Dyes with a bound that tells the sign", str(row["limited"]), ""),
            ("Dyes left out", str(row["left_out"]), ""),
            ("Mean difference of these dyes", _three(row["mean"]), _ends(row, "mean")),
            ("Mean difference, dyes like these", _three(row["mean"]), _ends(row, "t")),
            ("Between what it lies with the bounds", "", f"{_three(row['least'])} to {_three(row['most'])}"),
            ("t test, p corrected", p_words(row["p_t_holm"]), ""),
            ("Signed ranks, p corrected", p_words(row["p_rank_holm"]), ""),
            ("Signs alone, p", p_words(row["p_sign"]), ""),
            (f"Alike within {contrasts.margin:g}, p corrected", p_words(row["p_alike_holm"]), ""),
            ("Standardised difference", _three(row["d_z"]), _ends(row, "d_z")),
            ("Rank-biserial correlation", _three(row["rank_biserial"]), ""),
            ("Shift by ranks", _three(row["shift"]), _ends(row, "shift")),
        )
        rows += [(f"{b} less {a}", *cells) for cells in said if cells[1] or cells[2]]
    header = f"Systems | What | Value | {level} interval"
    return tables.make_table("Each two systems over all dyes.", header, rows, f"Value | {level} interval", keys=2)


def _alike(compared: Comparison, correlations: Correlations, short: Mapping[str, str]) -> tuple[Block, ...]:
    rows = [
        (
            *(short.get(row[side], row[side]) for side in ("system_a", "system_b")),
            f"{str(row['kind']).capitalize()}, {'Rf' if row['scale'] == 'rf' else 'R_M'}",
            f"{row['dyes']} and {counted(row['limited'], 'bound')}" if row["limited"] else str(row["dyes"]),
            _two(row["value"]),
            " to ".join(_two(row[end]) for end in ("low", "high")) if row["low"] == row["low"] else "",
            _three(row["u_value"]),
        )
        for row in correlations.coefficients.to_dict("records")
    ]
    numbers = f"Value | {100 * correlations.level:g} % interval | Its uncertainty from reading"
    caption = "Correlation of the systems over the dyes that both moved."
    blocks: list[Block] = [
        Paragraph(HOW_CORRELATED),
        tables.make_table(caption, f"First | Second | Coefficient | Dyes | {numbers}", rows, numbers, keys=3),
    ]
    pairs = [(row["system_a"], row["system_b"]) for row in correlations.planes.to_dict("records") if row["dyes"]]
    for number, (a, b) in enumerate(islice(pairs, MOST_MAPS), start=1):
        blocks.append(system_map(compared, a, b, f"map-{number}", labels=(short.get(a, a), short.get(b, b))))
    if len(pairs) > MOST_MAPS:
        blocks.append(Paragraph(f"Only the first {MOST_MAPS} of {len(pairs)} pairs of systems are drawn."))
    return tuple(blocks)


def _ends(row: Mapping[object, object] | Mapping[str, object], name: str) -> str:
    low, high = (float(str(dict(row)[f"{name}_{end}"])) for end in ("low", "high"))
    return "" if low != low else f"{_three(low)} to {_three(high)}"


def _two(number: float) -> str:
    return "" if number != number else round_half_up(float(number), 2)


def _three(number: float) -> str:
    return "" if number != number else round_half_up(float(number), 3)

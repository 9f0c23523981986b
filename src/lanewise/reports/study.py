"""The report of a study: what was done, what was seen, what follows, how sure it is, and what it leaves open."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from importlib.metadata import version
from string import ascii_uppercase

from lanewise.analyses.compare import Comparison, compare, spread
from lanewise.analyses.dyes import name_dyes
from lanewise.analyses.limits import limits
from lanewise.analyses.measure import Measurement, measure
from lanewise.analyses.sentences import (
    comparison_sentences,
    headline_sentences,
    open_sentences,
    separation_sentences,
)
from lanewise.analyses.separations import Separations, separations
from lanewise.analyses.wording import capital, counted
from lanewise.document import Block, Bullets, Paragraph, Report, Section
from lanewise.figures.charts import rf_figure
from lanewise.figures.plates import plate_figure
from lanewise.model.plates import Lane
from lanewise.model.record import encode
from lanewise.model.studies import Study
from lanewise.planning.cautions import cautions
from lanewise.reports import tables
from lanewise.reports.data import data_tables
from lanewise.reports.recipes import cautions_section
from lanewise.reports.statements import provenance_blocks, uncertainty_blocks
from lanewise.tables.columns import NOT_STATED
from lanewise.tables.marks import to_frame

MOST_DRAWN = 12
HOW_TO_READ = (
    "Behind ± stands the standard uncertainty. A spot that stayed at the origin or ran with the front has no Rf of "
    "its own but a bound (< or >). The interval of a streak reaches from its rear to its front edge."
)


def study_report(
    study: Study, *, title: str = "", level: float = 0.95, most_drawn: int = MOST_DRAWN, date: str = ""
) -> Report:
    """Make the report of a study.

    Parameters
    ----------
    study : Study
        What was planned and seen.
    title : str
        Heading; by default the study's own title.
    level : float
        Coverage probability of the intervals, between 0 and 1.
    most_drawn : int
        How many plates are drawn at most; a report says so when there are more.
    date : str
        Day on which the report is made, ``YYYY-MM-DD``, for styles that state it.

    Returns
    -------
    Report
        Ready for any report style. With plates in two or more systems it compares them; with one it does not. Behind
        the text it carries the numbers, unrounded, and the study's record.

    Raises
    ------
    ValueError
        If the date is no date of that form.
    AnalysisError
        If the study holds no spot.
    """
    if date and datetime.date.fromisoformat(date).isoformat() != date:
        raise ValueError(f"date: wanted YYYY-MM-DD, given {date!r}")
    marks = to_frame(study)
    measurement = measure(marks, level=level)
    short = short_names(measurement)
    separated = separations(measurement)
    compared = compare(measurement) if len(short) > 1 else None
    sections = [
        Section("What was done", _done(study, short)),
        Section("The plates", tuple(_plates(measurement, short, most_drawn))),
        Section("Neighbouring spots", (tables.pairs_table(separated, short),)),
    ]
    if compared is not None:
        sections.append(Section("Comparison of the systems", _comparison(measurement, compared, short)))
    conclusion = _conclusion(measurement, separated, compared, short)
    sections += [
        Section("Conclusion", (Bullets(conclusion),)),
        Section("How sure this is", uncertainty_blocks(measurement, compared)),
        Section("What could not be said", _open(study, measurement, compared, short)),
        cautions_section(cautions(study.systems)),
        Section("Where this comes from", provenance_blocks(study.inputs, level, version("lanewise"))),
    ]
    named = "; ".join(f"{name} is {system}" for system, name in short.items() if name != system)
    summary = (f"{capital(named)}.", *conclusion) if compared is not None else conclusion
    return Report(
        title or study.title or _default_title(study),
        summary,
        tuple(sections),
        data=data_tables(study, measurement),
        record=encode(study),
        date=date,
    )


def short_names(measurement: Measurement) -> dict[str, str]:
    """Name the systems by letters where there are several; one keeps its own name."""
    names = [str(name) for name in measurement.spots["system"].unique()]
    if names == [NOT_STATED]:
        return {NOT_STATED: "system not stated"}
    if len(names) == 1 or len(names) > len(ascii_uppercase):
        return {name: name for name in names}
    return {name: f"system {letter}" for name, letter in zip(names, ascii_uppercase, strict=False)}


def _default_title(study: Study) -> str:
    return f"Planar chromatography, {counted(len(study.plates), 'plate')}"


def _done(study: Study, short: Mapping[str, str]) -> tuple[Block, ...]:
    blocks: list[Block] = []
    if study.question:
        blocks.append(Paragraph(f"Question: {study.question}"))
    lanes = [lane for plate in study.plates for lane in plate.lanes]
    roles = [(role, sum(lane.role == role for lane in lanes)) for role in ("sample", "standard", "blank")]
    counts = ", ".join(f"{count} with a {role}" for role, count in roles if count)
    plates, systems = len(study.plates), len(short)
    blocks.append(
        Paragraph(
            f"{plates} {'plate was' if plates == 1 else 'plates were'} developed in "
            f"{systems} solvent {'system' if systems == 1 else 'systems'}, with {len(lanes)} lanes in all: {counts}."
            f"{_blanks(lanes)}"
        )
    )
    if study.note:
        blocks.append(Paragraph(f"Note of the readers: {study.note}"))
    blocks.append(tables.systems_table(study.systems, short))
    blocks.append(tables.plates_table(study.plates, short))
    blocks.append(Paragraph(HOW_TO_READ))
    return tuple(blocks)


def _blanks(lanes: Sequence[Lane]) -> str:
    """Say whether blank lanes showed a spot; nothing where there is none."""
    blanks = [lane for lane in lanes if lane.role == "blank"]
    shown = sum(any(spot.state != "absent" for spot in lane.spots) for lane in blanks)
    if not blanks:
        return ""
    return f" {shown} of the blank lanes showed a spot." if shown else " No blank lane showed a spot."


def _plates(measurement: Measurement, short: Mapping[str, str], most: int) -> Iterator[Block]:
    """Draw each plate and give its table; beyond `most` plates the tables alone."""
    marks, spots = measurement.marks, measurement.spots
    plates = marks["plate"].unique()
    for number, plate in enumerate(plates, start=1):
        chosen = (marks["plate"] == plate).to_numpy()
        system = str(spots["system"].array[chosen][0])
        if number <= most:
            yield plate_figure(marks[chosen], spots[chosen], f"plate-{number}")
        yield tables.spots_table(str(plate), marks[chosen], spots[chosen], measurement.level, short.get(system, system))
    if len(plates) > most:
        yield Paragraph(f"Only the first {most} of {len(plates)} plates are drawn; the tables hold all of them.")


def _comparison(measurement: Measurement, compared: Comparison, short: Mapping[str, str]) -> tuple[Block, ...]:
    return (
        rf_figure(measurement.spots, measurement.marks, "rf-by-system"),
        *tables.differences_tables(compared, short),
        Bullets(comparison_sentences(compared, short)),
        tables.summaries_table(compared, short),
    )


def _conclusion(
    measurement: Measurement, separated: Separations, compared: Comparison | None, short: Mapping[str, str]
) -> tuple[str, ...]:
    """Put the findings in the order in which a reader wants them: dyes, separations, what to try next."""
    moved = headline_sentences(compared, short) if compared is not None else ()
    apart = separation_sentences(measurement, separated, short)
    summaries = compared.summaries if compared is not None else spread(measurement)
    advice = [item.advice.replace(item.system, short.get(item.system, item.system), 1) for item in summaries]
    return tuple(capital(text) for text in (*moved, *apart, *advice))


def _open(
    study: Study, measurement: Measurement, compared: Comparison | None, short: Mapping[str, str]
) -> tuple[Block, ...]:
    items = list(open_sentences(compared, short) if compared is not None else name_dyes(measurement).unmatched)
    items += limits(measurement).sentences
    items += [f"{item.name}: {text}" for item in study.inputs for text in item.unread]
    same = "Spots with the same Rf in one system, or in two, are consistent with being the same dye; that is not proof."
    return (Bullets((*items, same)),)

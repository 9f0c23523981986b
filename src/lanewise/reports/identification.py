"""The report of an identification: which dye is in what, what the samples share, and what it rests on."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib.metadata import version

import pandas as pd

from lanewise.analyses.identify import CLAIM, NONE, Identification, identify
from lanewise.analyses.identity_words import chance_text, named, printed_alone
from lanewise.analyses.measure import measure
from lanewise.analyses.sharing import SAME, SharedDyes, shared_dyes
from lanewise.analyses.wording import capital, listed
from lanewise.document import Block, Bullets, DataTable, Paragraph, Report, Section, Table
from lanewise.figures.identities import identities_figure
from lanewise.model.record import encode
from lanewise.model.studies import Study
from lanewise.planning.cautions import cautions
from lanewise.reports.data import frame_table
from lanewise.reports.recipes import cautions_section
from lanewise.reports.statements import provenance_blocks
from lanewise.reports.study import short_names
from lanewise.reports.tables import make_table
from lanewise.tables.marks import to_frame
from lanewise.tables.rf_library import RfLibrary
from lanewise.uncertainty.rounding import plus_minus, round_half_up

CAVEAT = (
    "A spot that is consistent with a dye has its place, and its colour where one was given, in every system that was "
    "run. Another dye may have the same: this is no proof. A mixture of sample and standard in one lane that gives one "
    "spot, and a further system, make it stronger."
)
MEANINGS = {
    "sample": "what was spotted",
    "spot": "colour, name or number of the spot in its sample",
    "system": "solvent system, where the spot was not followed through all",
    "plates": "plates on which it was seen",
    "colour": "colour of the spot, as a word",
    "verdict": "consistent with, cannot tell between, none of these, or not decided",
    "dyes": "dyes of which the verdict speaks",
    "probability": "posterior probability",
    "none": "posterior probability of none of the candidates",
    "candidate": "dye that was considered",
    "standing": "consistent with, open or excluded",
    "factor": "Bayes factor against an unknown dye",
    "compared_with": "what the spot was compared with",
    "compared_in": "system of the largest difference",
    "delta_rf": "rf of the spot less that of the candidate, where it is largest for its uncertainty",
    "u_delta_rf": "standard uncertainty of delta_rf",
    "place": "decimal logarithm of the part of the factor that comes from values of rf",
    "ends": "the same for streaks and spots at the ends",
    "missing": "the same for plates on which the spot was not seen",
    "left_over": "spots that no candidate explains",
    "exact": "whether all explanations were gone through",
    "samples": "samples that show the dye",
    "spots": "spots of the group",
    "least": "least probability in the group that two spots are one dye",
    "dye": "name of the dye or of the unknown one",
}


def identification_report(
    study: Study,
    library: RfLibrary | None = None,
    *,
    title: str = "",
    none: float = NONE,
    claim: float = CLAIM,
    same: float = SAME,
    date: str = "",
) -> Report:
    """Make the report of which dye is in what.

    Parameters
    ----------
    study : Study
        With standards, or to be compared with a library.
    library : RfLibrary, optional
        As for `lanewise.identify`.
    title : str
        Heading; by default one of its own.
    none, claim : float
        As for `lanewise.identify`.
    same : float
        As for `lanewise.shared_dyes`.
    date : str
        Day on which the report is made, ``YYYY-MM-DD``, for styles that state it.

    Returns
    -------
    Report
        Ready for any report style.

    Raises
    ------
    AnalysisError
        As `lanewise.identify`.
    """
    measurement = measure(to_frame(study))
    found = identify(measurement, library, none=none, claim=claim)
    shared = shared_dyes(measurement, found, same=same, claim=claim)
    short = short_names(measurement)
    sections = (
        Section("Which dye is in what", _spots(found, short)),
        Section("The samples as mixtures", (_mixtures(found),)),
        Section("Which samples share dyes", _shared(shared)),
        Section("What speaks for and against", tuple(_evidence(found, short))),
        Section("How sure this is", (Bullets(found.notes), Paragraph(CAVEAT))),
        cautions_section(cautions(study.systems)),
        Section("Where this comes from", provenance_blocks(study.inputs, measurement.level, version("lanewise"))),
    )
    return Report(
        title or "Which dye is in what",
        (*_summary(found), *shared.sentences()),
        sections,
        data=tuple(_data(found, shared)),
        record=encode(study),
        date=date,
    )


def _spots(found: Identification, short: Mapping[str, str]) -> tuple[Block, ...]:
    letters = [f"{capital(name)} is {system}." for system, name in short.items() if name != system]
    rows = [
        (
            str(row["sample"]),
            str(row["spot"]),
            short.get(str(row["system"]), str(row["system"])),
            str(row["plates"]),
            verdict(row),
            chance_text(row["none"] if row["verdict"] == "none of these" else row["probability"]),
        )
        for row in found.spots.to_dict("records")
    ]
    header = "Sample | Spot | System | Plates | Verdict | Probability"
    table = make_table("The verdict on each spot.", header, rows, "Plates | Probability", 2)
    return (*((Paragraph(" ".join(letters)),) if letters else ()), identities_figure(found, "identities"), table)


def verdict(row: Mapping[object, object]) -> str:
    """Put the verdict on a spot into words."""
    dyes = row["dyes"]
    assert isinstance(dyes, tuple)
    by = " (printed values alone)" if printed_alone(str(row["compared_with"])) else ""
    if row["verdict"] in ("consistent with", "cannot tell between"):
        return f"{row['verdict']} {named(dyes)}{by}"
    if row["verdict"] == "not decided" and dyes:
        return f"not decided; {named(dyes)} or none of these"
    return str(row["verdict"])


def _mixtures(found: Identification) -> Table:
    rows = [
        (
            str(row["sample"]),
            " + ".join(row["dyes"]) or "none of the candidates",
            chance_text(row["probability"]),
            ", ".join(row["left_over"]) or "nothing",
            ", ".join(row["missing"]) or "nothing",
        )
        for row in found.mixtures.to_dict("records")
    ]
    caption = (
        "The most probable set of candidates in each sample, the spots that it leaves over, and spots that a standard "
        "shows beside one that was found and the sample does not."
    )
    header = "Sample | Dyes | Probability | Left over | Missing"
    return make_table(caption, header, rows, "Probability")


def _shared(shared: SharedDyes) -> tuple[Block, ...]:
    frame = shared.to_frame()
    rows = [
        (str(sample), *("yes" if cell else "no" for cell in cells))
        for sample, cells in zip(frame.index, frame.to_numpy().tolist(), strict=True)
    ]
    table = make_table("Samples and the dyes they show.", " | ".join(["Sample", *map(str, frame.columns)]), rows)
    note = f"Spots of one column are not distinguishable from one another. {shared.note}"
    return (Bullets(shared.sentences()), table, Paragraph(note))


def _evidence(found: Identification, short: Mapping[str, str]) -> Iterator[Block]:
    chosen = found.candidates[found.candidates["standing"] != "excluded"]
    rows = [
        (
            str(row["sample"]),
            str(row["spot"]),
            str(row["candidate"]),
            chance_text(row["probability"]),
            _signed(row["place"]),
            _signed(row["ends"]),
            _signed(row["colour"]),
            _signed(row["missing"]),
            "" if pd.isna(row["delta_rf"]) else plus_minus(row["delta_rf"], row["u_delta_rf"]),
            short.get(str(row["compared_in"]), str(row["compared_in"])),
            str(row["compared_with"]),
        )
        for row in chosen.to_dict("records")
    ]
    excluded = len(found.candidates) - len(chosen)
    if rows:
        header = (
            "Sample | Spot | Candidate | Probability | Place | Ends | Colour | Missing | Largest difference of Rf "
            "| In | Compared with"
        )
        caption = (
            "Candidates that are not excluded. Place, ends, colour and missing are decimal logarithms of Bayes factors "
            "against an unknown dye: 1 speaks ten to one for the candidate, -1 ten to one against it."
        )
        numeric = "Probability | Place | Ends | Colour | Missing | Largest difference of Rf"
        yield make_table(caption, header, rows, numeric, 3)
    yield Paragraph(f"{excluded} of {len(found.candidates)} pairs of a spot and a candidate are excluded.")


def _signed(value: float) -> str:
    return "" if value == 0.0 else round_half_up(value, 1)


def _summary(found: Identification) -> tuple[str, ...]:
    result = []
    for row in found.mixtures.to_dict("records"):
        dyes = listed(row["dyes"]) if row["dyes"] else ""
        left = f"; left over: {listed(row['left_over'])}" if row["left_over"] else ""
        said = f"is consistent with holding {dyes}" if dyes else "shows none of the candidates"
        result.append(f"{row['sample']} {said} (probability {chance_text(row['probability'])}){left}.")
    return tuple(result)


def _data(found: Identification, shared: SharedDyes) -> Iterator[DataTable]:
    tables = (
        ("identities", "One spot with the verdict on it.", found.to_frame(), ("sample", "spot", "system")),
        ("candidates", "One spot and one candidate.", found.candidates, ("sample", "spot", "system", "candidate")),
        ("mixtures", "One sample with what explains it.", found.mixtures, ("sample",)),
        ("shared", "One dye with the samples that show it.", shared.groups.drop(columns="rows"), ("dye",)),
    )
    for name, meaning, frame, keys in tables:
        yield frame_table(name, meaning, plain(frame), keys, MEANINGS)


def plain(frame: pd.DataFrame) -> pd.DataFrame:
    """Give a table whose cells are numbers and texts: names in a cell are joined by semicolons, truth is yes or no."""
    made = frame.copy()
    for name in made.columns:
        if made[name].dtype == object:
            made[name] = ["; ".join(cell) if isinstance(cell, tuple) else cell for cell in made[name]]
        elif made[name].dtype == bool:
            made[name] = ["yes" if cell else "no" for cell in made[name]]
    return made

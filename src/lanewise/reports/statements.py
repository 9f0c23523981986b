"""The passages of a report that are put together from facts: how sure, where it came from."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np

from lanewise.analyses.compare import Comparison
from lanewise.analyses.measure import Measurement
from lanewise.document import Block, Paragraph, Table
from lanewise.model.studies import Input
from lanewise.reports.tables import make_table
from lanewise.uncertainty.budget import group_variances
from lanewise.uncertainty.rounding import round_half_up


def uncertainty_blocks(measurement: Measurement, comparison: Comparison | None) -> tuple[Block, ...]:
    """State what the uncertainties are made of, with the mean budget of Rf."""
    level = f"{100 * measurement.level:g} %"
    text = (
        "Every ± in this report is one standard uncertainty. It follows from the readings: each position is uncertain "
        "by the ruler's division over the square root of 12 unless another value was given, and finding the centre "
        "of a spot adds a tenth of its length, for a streak half its length, as the half-width of a rectangular "
        "distribution. Spots of one lane share its origin and front, and all lanes of a plate share a line that was "
        "read once; these common errors are carried through, so most of them cancel in a difference. Intervals hold "
        f"the value with a probability of {level} and never leave 0 to 1. Digits are rounded half-up, to the place of "
        "the uncertainty."
    )
    blocks: list[Block] = [Paragraph(text)]
    budget = budget_table(measurement)
    if budget is not None:
        blocks.append(budget)
    blocks.append(Paragraph(_between_plates(comparison)))
    return tuple(blocks)


def budget_table(measurement: Measurement) -> Table | None:
    """Share of each source in the variance of Rf, averaged over all spots that have one; None where none has."""
    rf = measurement.quantity("rf")
    chosen = rf[np.isfinite(rf.values) & (rf.u > 0)]
    if not len(chosen):
        return None
    variances = group_variances(chosen)
    shares = (variances / variances.sum(axis=1, keepdims=True)).mean(axis=0)
    typical = np.sqrt(np.median(variances, axis=0))
    order = np.argsort(-shares, kind="stable")
    rows = [
        (
            chosen.groups[place].name,
            round_half_up(float(typical[place]), 4),
            f"{round_half_up(100 * float(shares[place]), 0)} %",
        )
        for place in order
        if shares[place] > 0
    ]
    caption = f"Where the uncertainty of Rf comes from, over the {len(chosen)} spots that have one."
    header = "Source | Its part in the standard uncertainty of Rf (median) | Mean share of the variance"
    return make_table(caption, header, rows, header.removeprefix("Source | "))


def _between_plates(comparison: Comparison | None) -> str:
    custom = (
        "0.01 to 0.02 on one bench and 0.02 to 0.05 between the benches of a class are usual (common practice, no "
        "source)"
    )
    if comparison is None or not comparison.means.dof:
        return (
            "No dye was run on two plates in one system, so the scatter from plate to plate is not known and not "
            f"included; {custom}."
        )
    means = comparison.means
    if means.between_plates == 0:
        return (
            "The same dyes scatter from plate to plate no more than the readings explain "
            f"({means.dof} degrees of freedom), so nothing was added for it; {custom}."
        )
    return (
        "From plate to plate the same dyes scatter by a standard deviation of "
        f"{round_half_up(means.between_plates, 3)} in Rf beyond what the readings explain ({means.dof} degrees of "
        f"freedom); this is included in every mean and difference between systems. {custom}."
    )


def provenance_blocks(inputs: Iterable[Input], level: float, version: str) -> tuple[Block, ...]:
    """Say from which files, by which version and with which settings the report was made."""
    rows = [
        (
            item.name,
            item.format,
            f"{item.size} bytes",
            item.sha256,
            ", ".join(f"{name}={text}" for name, text in sorted(item.options.items()) if text),
        )
        for item in inputs
    ]
    made = f"Made with lanewise {version}; coverage probability of intervals {100 * level:g} %."
    blocks: list[Block] = [Paragraph(made)]
    if rows:
        blocks.append(make_table("Files read.", "File | Read as | Size | SHA-256 | Options", rows))
    else:
        blocks.append(Paragraph("The readings were given as a record in memory; no file was read."))
    return tuple(blocks)

"""The tables of a report."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import combinations

import pandas as pd

from lanewise.analyses.compare import Comparison
from lanewise.analyses.separations import Separations
from lanewise.document import Table
from lanewise.model.plates import NOT_STATED, Plate
from lanewise.model.solvents import SolventSystem
from lanewise.reports.cells import difference, interval, millimetres, value, whole
from lanewise.uncertainty.rounding import round_half_up

VERDICTS = {
    "farther in a": "farther in {a}",
    "farther in b": "farther in {b}",
    "no difference shown": "no difference shown",
    "cannot be compared": "cannot be compared",
}


def make_table(
    caption: str,
    header: str | Sequence[str],
    rows: Iterable[Iterable[str]],
    numeric: str | Sequence[str] = "",
    keys: int = 1,
) -> Table:
    """Make a table of headings, given one by one or parted by bars; `numeric` names those of numbers.

    Columns that are empty throughout are left out, but for the keys.
    """
    names, numbers = _parted(header), _parted(numeric)
    cells = [tuple(row) for row in rows]
    kept = [place for place, _ in enumerate(names) if place < keys or any(row[place] for row in cells)]
    return Table(
        caption,
        tuple(names[place] for place in kept),
        tuple(tuple(row[place] for place in kept) for row in cells),
        tuple(names[place] in numbers for place in kept),
        keys,
    )


def _parted(headings: str | Sequence[str]) -> list[str]:
    return [part.strip() for part in headings.split("|")] if isinstance(headings, str) else list(headings)


def systems_table(systems: Iterable[SolventSystem], short: Mapping[str, str]) -> Table:
    """Name each solvent system by a letter and take it apart into its components."""
    rows = [(short.get(system.name, system.name), system.name, _components(system), system.note) for system in systems]
    return make_table("Solvent systems.", "System | As written | Components | Remark", rows)


def plates_table(plates: Iterable[Plate], short: Mapping[str, str]) -> Table:
    """List the plates with how they were run and read."""
    rows = [
        (
            plate.label,
            short.get(plate.system, plate.system),
            plate.sheet.stationary_phase if plate.sheet else "",
            millimetres(plate.sheet.height) if plate.sheet and plate.sheet.height else "",
            str(len(plate.lanes)),
            "" if plate.reading.zero == NOT_STATED else plate.reading.zero,
            _line([plate.origin, *(lane.origin for lane in plate.lanes)]),
            _line([plate.front, *(lane.front for lane in plate.lanes)]),
            _run(plate),
            _reading(plate),
        )
        for plate in plates
    ]
    header = (
        "Plate | System | Layer | Height (mm) | Lanes | Zero of the ruler | Origin (mm) | Front (mm) | Development | "
        "Read with"
    )
    numeric = "Height (mm) | Lanes | Origin (mm) | Front (mm)"
    return make_table("Plates; origin and front in millimetres from the zero of the ruler.", header, rows, numeric)


def spots_table(plate: str, marks: pd.DataFrame, spots: pd.DataFrame, level: float, system: str) -> Table:
    """Give every spot of one plate its Rf, hRf and k."""
    colours = marks["colour"] if "colour" in marks.columns else [""] * len(spots)
    rows = [
        (
            str(row["lane"]),
            str(row["sample"]),
            ", ".join(text for text in (str(row["spot"]), str(colour)) if text),
            value(row, "rf"),
            interval(row),
            whole(row["hrf"]),
            value(row, "k"),
            str(row["state"]),
        )
        for row, colour in zip(spots.to_dict("records"), colours, strict=True)
    ]
    numeric = f"Rf | {100 * level:g} % interval | hRf | k"
    return make_table(
        f"Plate {plate}, {system}: spots counted from the origin in each lane.",
        f"Lane | Sample | Spot | {numeric} | State",
        rows,
        numeric,
        keys=3,
    )


def pairs_table(separated: Separations, short: Mapping[str, str]) -> Table:
    """Give every two neighbours their distance, separation factor and resolution."""
    rows = [
        (
            str(row["plate"]),
            str(row["lane"]),
            str(row["sample"]),
            f"{row['spot_a']} and {row['spot_b']}",
            short.get(str(row["system"]), str(row["system"])),
            value(row, "delta_rf"),
            value(row, "alpha"),
            value(row, "rs"),
            str(row["verdict"]),
        )
        for row in (record | {"state": "measured"} for record in separated.pairs.to_dict("records"))
    ]
    caption = (
        "Neighbouring spots of a lane. Rs is an apparent resolution, from outlines read by eye: use it to compare, "
        "not as "
        "a property of the layer."
    )
    header = "Plate | Lane | Sample | Spots | System | ΔRf | α | Rs | Verdict"
    return make_table(caption, header, rows, "ΔRf | α | Rs", keys=4)


def differences_tables(comparison: Comparison, short: Mapping[str, str]) -> Iterator[Table]:
    """Give every dye its mean Rf in each two systems and the difference."""
    side = {(row["dye"], row["system"]): row for row in comparison.dyes.to_dict("records")}
    level = f"{100 * comparison.level:g} % interval"
    for a, b in combinations(comparison.systems, 2):
        names = {"a": short.get(a, a), "b": short.get(b, b)}
        chosen = comparison.differences.query("system_a == @a and system_b == @b")
        rows = [
            (
                str(row["dye"]),
                *(value(side[row["dye"], system], "rf") or str(side[row["dye"], system]["state"]) for system in (a, b)),
                difference(row),
                interval(row | {"delta_rf_low": row["low"], "delta_rf_high": row["high"]}, "delta_rf"),
                VERDICTS[row["verdict"]].format(**names),
            )
            for row in chosen.to_dict("records")
        ]
        caption = (
            f"The same dye in {names['a']} and in {names['b']}: mean Rf over the plates, and {names['b']} minus "
            f"{names['a']} with its standard uncertainty. Where one side is a bound, so is the difference."
        )
        columns = [f"Rf in {names['a']}", f"Rf in {names['b']}", "Difference of Rf", level]
        yield make_table(caption, ["Dye", *columns, "Verdict"], rows, columns)


def summaries_table(comparison: Comparison, short: Mapping[str, str]) -> Table:
    """Give every system its spread over the run."""
    rows = [
        (
            short.get(item.system, item.system),
            str(item.dyes + item.at_origin + item.with_front),
            str(item.at_origin),
            str(item.with_front),
            *(_two(number) for number in (item.lowest, item.median, item.highest, item.uniformity, item.distance)),
        )
        for item in comparison.summaries
    ]
    header = "System | Dyes | At the origin | With the front | Lowest Rf | Middle Rf | Highest Rf | RU | RD"
    caption = (
        "How each system spreads the dyes. RU (retention uniformity) and RD (retention distance) are 1 for an even "
        "spread; RD is 0 when two dyes coincide or one lies at an end."
    )
    return make_table(caption, header, rows, header.removeprefix("System | "))


def _two(number: float) -> str:
    return "" if number != number else round_half_up(number, 2)


def _components(system: SolventSystem) -> str:
    liquids = [item for item in system.components if item.parts is not None]
    said = [item.substance if len(liquids) == 1 else f"{item.substance} {item.parts:g} parts" for item in liquids]
    said += [
        f"{item.substance} {item.grams_per_litre:g} g/L"
        for item in system.components
        if item.grams_per_litre is not None
    ]
    phase = f" ({system.phase} phase)" if system.phase else ""
    return ", ".join(said) + phase if said else "not stated"


def _line(readings: Iterable[float | None]) -> str:
    seen = [reading for reading in readings if reading is not None]
    if not seen:
        return "not seen"
    low, high = millimetres(min(seen)), millimetres(max(seen))
    return low if low == high else f"{low} to {high}, lane by lane"


def _run(plate: Plate) -> str:
    run = plate.development
    said = [
        "" if run.runs == 1 else f"{run.runs} runs",
        "" if run.saturated is None else "saturated chamber" if run.saturated else "chamber not saturated",
        "" if run.minutes is None else f"{run.minutes:g} min",
        "" if run.temperature is None else f"{run.temperature:g} °C",
        run.note,
    ]
    return ", ".join(text for text in said if text)


def _reading(plate: Plate) -> str:
    reading = plate.reading
    scale = f"{reading.instrument} to {reading.division:g} mm"
    return f"{scale}, by {reading.reader}" if reading.reader else scale

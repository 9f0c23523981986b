"""Judges one reading of a picture against what is true of it.

A reader is a function of a path and of options that a user could know; it gives a study or refuses with a
``LanewiseError``. What it found is matched to the true spots one to one; every judgement is a plain dictionary.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np
from scipy.optimize import linear_sum_assignment
from simulator import SpotTruth, Truth

import lanewise

Reader = Callable[[str, dict[str, Any]], lanewise.Study]

NEAR_MM, NEAR_RF = 2.0, 0.03  # a find is the spot's if it lies nearer than one of these
SEEN = 0.04  # optical density in the best channel from which a spot counts as one to be found
TRACE = 0.012  # below this a spot is not there at all for a person, and a find of it is a false one
WRONG_RF, WRONG_U = 0.02, 4.0  # a number further off than this, or than so many standard uncertainties, is wrong
SMALL = 0.004  # but nothing nearer than this is
NEAR_LINE = 1.5  # [mm] of origin or front: a number there should be a bound
CLASSES = ("strong", "medium", "pale", "streak", "tailed", "crescent", "overlapped", "near a line", "grey", "quenching")


@dataclass(frozen=True)
class Outcome:
    """What a reader did with a picture.

    Attributes
    ----------
    study : Study or None
        None where it refused or broke.
    refused, broken : str
        Text of the refusal; name and text of any other exception. Empty where there was none.
    seconds : float
        Wall time.
    """

    study: lanewise.Study | None
    refused: str = ""
    broken: str = ""
    seconds: float = 0.0


@dataclass(frozen=True)
class Flags:
    """Warnings of a reading: on the whole, by lane, and by lane and spot; and of which way the sheet was held.

    The last, ``held``, excuse a reading that is right but for being turned upside down or mirrored, and nothing else.
    """

    plate: tuple[str, ...] = ()
    lanes: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    spots: Mapping[tuple[str, str], tuple[str, ...]] = field(default_factory=dict)
    held: tuple[str, ...] = ()

    def of(self, lane: str, spot: str) -> tuple[str, ...]:
        """All that bear on one spot."""
        return (*self.plate, *self.lanes.get(lane, ()), *self.spots.get((lane, spot), ()))

    @property
    def all(self) -> tuple[str, ...]:
        """Every one of them."""
        by_lane = [flag for flags in self.lanes.values() for flag in flags]
        return (*self.plate, *self.held, *by_lane, *[flag for flags in self.spots.values() for flag in flags])


def flags_of(study: lanewise.Study) -> Flags:
    """Take flags from a study: notes of plates, lanes and spots, and factors named ``flag`` or ``flags``.

    A reader that keeps its warnings elsewhere, or writes notes that warn of nothing, brings a function of its own.
    """

    def texts(record: Any) -> tuple[str, ...]:
        named = [value for name, value in record.factors.items() if name.lower() in ("flag", "flags")]
        return tuple(part.strip() for text in (record.note, *named) for part in text.split(";") if part.strip())

    plate = study.plates[0] if study.plates else None
    if plate is None:
        return Flags()
    return Flags(
        plate=texts(plate) + (("several plates",) if len(study.plates) > 1 else ()),
        lanes={lane.label: found for lane in plate.lanes if (found := texts(lane))},
        spots={(lane.label, one.label): found for lane in plate.lanes for one in lane.spots if (found := texts(one))},
    )


def options_of(truth: Truth, withhold: tuple[str, ...] = ()) -> dict[str, Any]:
    """Give what a user knows before reading: number and names of lanes, size of the sheet, height of the origin line.

    Sizes are those that were planned; the sheet was cut and the line was drawn a little differently. Names in
    `withhold` are left out.
    """
    names = [lane.name for lane in truth.lanes] or ["1", "2", "3"]
    known: dict[str, Any] = {
        "lanes": len(names),
        "lane_names": tuple(names),
        "sheet_width": truth.planned_width,
        "sheet_height": truth.planned_height,
        "origin_height": truth.planned_origin,
    }
    return {name: value for name, value in known.items() if name not in withhold}


def run(reader: Reader, path: Path, options: dict[str, Any]) -> Outcome:
    """Let a reader read a file."""
    start = time.perf_counter()
    try:
        study = reader(str(path), dict(options))
    except lanewise.LanewiseError as refusal:
        return Outcome(None, refused=str(refusal) or "without a reason", seconds=time.perf_counter() - start)
    except Exception as error:  # anything else is a defect, which the judgement reports and does not hide
        return Outcome(None, broken=f"{type(error).__name__}: {error}", seconds=time.perf_counter() - start)
    return Outcome(study, seconds=time.perf_counter() - start)


@dataclass(frozen=True)
class Found:
    """One spot as it was read; distances from the origin line [mm], Rf and its interval; nan where not given."""

    lane: str
    label: str
    state: str
    distance: float
    trailing: float
    leading: float
    rf: float
    u_rf: float
    low: float
    high: float
    colour: str


def found_spots(study: lanewise.Study) -> list[Found]:
    """Give the spots of the first plate of a study, with Rf as the library works it out."""
    marks = lanewise.to_frame(study)
    marks = marks[marks["plate"] == study.plates[0].label] if study.plates else marks
    if not len(marks):
        return []
    numbers = lanewise.measure(marks, level=0.95).spots
    made = []
    for (_, mark), (_, row) in zip(marks.iterrows(), numbers.iterrows(), strict=True):
        edges = (mark["trailing_mm"], mark["leading_mm"])
        point = mark["centre_mm"] if np.isfinite(mark["centre_mm"]) else np.mean(edges)
        if not np.isfinite(point):
            line = {"at origin": "origin_mm", "with front": "front_mm"}.get(mark["state"])
            point = mark[line] if line else np.nan
        made.append(
            Found(
                lane=str(mark["lane"]),
                label=str(mark["spot"]),
                state=str(mark["state"]),
                distance=float(point - mark["origin_mm"]),
                trailing=float(edges[0] - mark["origin_mm"]),
                leading=float(edges[1] - mark["origin_mm"]),
                rf=float(row["rf"]),
                u_rf=float(row["u_rf"]),
                low=float(row["rf_low"]),
                high=float(row["rf_high"]),
                colour=str(mark["colour"]),
            )
        )
    return [one for one in made if one.state != "absent"]


def nearness(found: Found, spot: SpotTruth, truth: Truth) -> float:
    """Tell how far a find lies from a true spot, in units of what still counts as the same; inf where it does not."""
    lane = truth.lanes[spot.lane]
    base = lane.origin if lane.origin is not None else 0.0
    tries = [abs(found.distance - (spot.apex - base)) / NEAR_MM]
    if spot.rf is not None and np.isfinite(found.rf):
        tries.append(abs(found.rf - spot.rf) / NEAR_RF)
    nearest = float(np.nanmin([*tries, np.inf]))
    if nearest > 1 and spot.state == "streak" and found.state == "streak":
        low, high = max(found.trailing, spot.trailing - base), min(found.leading, spot.leading - base)
        if high - low > 0.5 * (found.leading - found.trailing):
            return 0.99
    return nearest if nearest <= 1 else float("inf")


def matched(found: list[Found], truth: Truth) -> tuple[list[tuple[Found, SpotTruth]], list[Found], list[SpotTruth]]:
    """Match finds to true spots one to one, lane by lane: pairs, finds left over, spots left over."""
    names = [lane.name for lane in truth.lanes]
    labels = list(dict.fromkeys(one.lane for one in found))
    if labels and not set(labels) & set(names) and len(labels) == len(names):
        names = labels  # the reader was not told the names
    there = [spot for spot in truth.spots if spot.peak >= TRACE]
    pairs, used, seen = [], set(), set()
    for number, name in enumerate(names):
        spots = [spot for spot in there if spot.lane == number]
        finds = [one for one in found if one.lane == name]
        if not spots or not finds:
            continue
        near = np.array([[nearness(one, spot, truth) for spot in spots] for one in finds])
        # An easy spot goes before one that nobody has to find.
        cost = np.where(np.isfinite(near), near - 2.0 - np.array([float(is_due(spot)) for spot in spots]), 0.0)
        for a, b in zip(*linear_sum_assignment(cost), strict=True):
            if np.isfinite(near[a, b]):
                pairs.append((finds[a], spots[b]))
                used.add(id(finds[a]))
                seen.add(id(spots[b]))
    return (
        pairs,
        [one for one in found if id(one) not in used],
        [spot for spot in there if id(spot) not in seen],
    )


def was_turned(found: list[Found], truth: Truth) -> bool:
    """Whether a reading fits the truth better upside down, mirrored or both than as it stands.

    Finds are given the lane and the Rf that they would have had the other way round; where more of them then meet a
    true spot, the sheet was held wrongly, and what is wrong follows from that.
    """
    names = [lane.name for lane in truth.lanes]
    other = dict(zip(names, reversed(names), strict=True))

    def met(upside_down: bool, across: bool) -> int:
        held = [
            replace(
                one,
                lane=other.get(one.lane, one.lane) if across else one.lane,
                distance=float("nan") if upside_down else one.distance,
                rf=1.0 - one.rf if upside_down else one.rf,
            )
            for one in found
        ]
        return len(matched(held, truth)[0])

    # Half a turn swaps both the ends and the lanes; a mirror swaps one of the two.
    return max(met(True, True), met(False, True), met(True, False)) > met(False, False)


def is_due(spot: SpotTruth) -> bool:
    """Whether a reader has to find a spot."""
    return spot.peak > SEEN and spot.alone and not spot.hidden


def classes_of(spot: SpotTruth) -> list[str]:
    """Name the classes a spot belongs to."""
    by_height = "strong" if spot.peak >= 0.15 else "medium" if spot.peak >= 0.08 else "pale"
    made = [by_height] if spot.state == "measured" and not spot.near_end and spot.shape != "streak" else []
    made += ["streak"] if spot.state == "streak" else []
    made += ["tailed"] if spot.shape in ("tail", "fronting") else []
    made += ["crescent"] if spot.shape == "crescent" else []
    made += ["overlapped"] if spot.overlapped else []
    made += ["near a line"] if spot.near_end else []
    made += ["grey"] if "grey" in spot.dye else ["quenching"] if spot.colour == "grey" else []
    return made


def judge(
    truth: Truth, outcome: Outcome, flags: Callable[[lanewise.Study], Flags] = flags_of, against: str = "marks"
) -> dict[str, Any]:
    """Judge a reading.

    Parameters
    ----------
    truth : Truth
    outcome : Outcome
    flags : callable, optional
        Gives the flags of a study.
    against : {"marks", "dye"}, optional
        Which Rf is the true one: from the lines as they are seen, or of the dye, from where the drop sat to where the
        liquid was. The second holds a reader to what it says of the definition of origin and front.

    Returns
    -------
    dict
        Plain values: what was asked, what came, a list of judged spots, and ``verdict``, one of ``refused``,
        ``broken``, ``right``, ``flagged`` (something is wrong and a flag bears on it) and ``silently wrong``.
    """
    made: dict[str, Any] = {
        "kind": truth.kind,
        "seed": truth.seed,
        "fault": truth.fault,
        "readable": truth.readable,
        "layer": truth.layer,
        "front_kind": truth.front_kind,
        "pixels_per_mm": round(truth.pixels_per_mm, 2),
        "refused": outcome.refused,
        "broken": outcome.broken,
        "seconds": round(outcome.seconds, 3),
        "spots": [],
        "false": 0,
        "false_unread": 0,
        "flags": [],
        "verdict": "broken" if outcome.broken else "refused",
    }
    if outcome.study is None:
        return made
    raised = flags(outcome.study)
    try:
        found = found_spots(outcome.study)
    except Exception as error:
        return {**made, "broken": f"a study that cannot be measured: {error}", "verdict": "broken"}
    if raised.held and was_turned(found, truth):
        raised = replace(raised, plate=(*raised.plate, *raised.held))
    pairs, extra, missed = matched(found, truth)
    spots = [_pair(one, spot, raised, against) for one, spot in pairs]
    spots += [{**_known(spot, against), "found": False} for spot in missed]
    loose = [_loose(one, raised) for one in extra]
    numbers = [one for one in loose if one["state"] != "unread"]
    wrong = [one for one in spots if one.get("wrong")] + numbers
    made |= {
        "spots": spots,
        "extra": loose,
        "false": len(numbers),
        "false_unread": len(loose) - len(numbers),
        "flags": sorted(set(raised.all)),
        "verdict": "right" if not wrong else "flagged" if all(one["flagged"] for one in wrong) else "silently wrong",
    }
    return made


def _loose(one: Found, raised: Flags) -> dict[str, Any]:
    """What was found where nothing is."""
    return {
        "lane": one.lane,
        "spot": one.label,
        "state": one.state,
        "rf": _plain(one.rf),
        "distance": _plain(one.distance),
        "flagged": bool(raised.of(one.lane, one.label)),
    }


def _plain(value: float) -> float | None:
    return round(float(value), 6) if np.isfinite(value) else None


def _known(spot: SpotTruth, against: str) -> dict[str, Any]:
    """What is known of a true spot, for the record."""
    return {
        "lane": spot.lane,
        "true_rf": spot.rf if against == "marks" or spot.rf is None else spot.rf_dye,
        "peak": round(spot.peak, 4),
        "due": is_due(spot),
        "classes": classes_of(spot),
        "true_state": spot.state,
        "true_colour": spot.colour,
        "near_end": spot.near_end,
    }


def _pair(one: Found, spot: SpotTruth, raised: Flags, against: str) -> dict[str, Any]:
    made = _known(spot, against)
    exact = one.state in ("measured", "streak") and np.isfinite(one.rf)
    made |= {
        "found": True,
        "state": one.state,
        "colour": one.colour,
        "rf": _plain(one.rf) if exact else None,
        "u_rf": _plain(one.u_rf) if exact else None,
        "flagged": bool(raised.of(one.lane, one.label)),
        "near_exact": spot.near_end and one.state == "measured" and bool(np.isfinite(one.rf)),
        "wrong": False,
    }
    true = made["true_rf"]
    if not exact:
        return made
    if true is None:
        return {**made, "wrong": True}
    error = one.rf - true
    # The library's interval of a streak reaches from edge to edge and says nothing of its darkest point.
    covered = abs(error) <= 1.96 * one.u_rf if one.state == "streak" else one.low <= true <= one.high
    limit = max(SMALL, min(WRONG_RF, WRONG_U * one.u_rf))
    return {**made, "error": float(error), "covered": bool(covered), "wrong": bool(abs(error) > limit)}

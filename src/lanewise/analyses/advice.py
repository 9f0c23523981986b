"""How well a system spreads the dyes over the run, and what to try next."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from lanewise.analyses.states import GOOD
from lanewise.analyses.wording import capital
from lanewise.quantities.criteria import retention_distance, retention_uniformity
from lanewise.uncertainty.rounding import round_half_up

MANY = 1.0 / 3.0  # share of the dyes that is too many outside the good range
TOO_HIGH = 0.6  # middle Rf above which spots separate badly
BEST = (0.2, 0.5)  # where a difficult pair separates best
POLAR = re.compile(r"silica|alumina|aluminium oxide", re.IGNORECASE)
REVERSED = re.compile(r"\bRP\b|\bRP-?\d|\bC-?(2|8|18)\b|octadecyl|octyl|silani[sz]ed|reversed", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class SystemSummary:
    """What one system does to all dyes together.

    Attributes
    ----------
    system : str
        Name of the system.
    dyes, at_origin, with_front : int
        Dyes with an Rf, dyes that stayed at the origin, dyes that ran with the front.
    lowest, median, highest : float
        Of the mean Rf; dyes at the origin count as 0 and dyes with the front as 1 in the median only. nan without dyes.
    uniformity, distance : float
        Retention uniformity RU and retention distance RD of all dyes, ends counted as 0 and 1; nan without dyes.
    advice : str
        What to try next, with the reason.
    """

    system: str
    dyes: int
    at_origin: int
    with_front: int
    lowest: float
    median: float
    highest: float
    uniformity: float
    distance: float
    advice: str


def summarise(system: str, rf: Sequence[float], at_origin: int, with_front: int, layer: str = "") -> SystemSummary:
    """Sum up one system.

    Parameters
    ----------
    system : str
        Its name.
    rf : sequence of float
        Mean Rf of the dyes that have one.
    at_origin, with_front : int
        How many dyes stayed at the origin or ran with the front.
    layer : str
        Stationary phase, if known: on silica and alumina a stronger solvent is a more polar one, on a reversed phase a
        less polar one. Of other layers nothing is said.

    Returns
    -------
    SystemSummary
        The advice follows bench custom (common practice, no source): spread the dyes between Rf 0.2 and 0.8, and
        bring a pair that is hard to separate to about one third.
    """
    values = np.sort(np.asarray(rf, dtype=float))
    everything = np.concatenate([np.zeros(at_origin), np.clip(values, 0.0, 1.0), np.ones(with_front)])
    some = len(everything) > 0
    return SystemSummary(
        system=system,
        dyes=len(values),
        at_origin=at_origin,
        with_front=with_front,
        lowest=float(values[0]) if len(values) else float("nan"),
        median=float(np.median(everything)) if some else float("nan"),
        highest=float(values[-1]) if len(values) else float("nan"),
        uniformity=float(retention_uniformity(everything)) if some else float("nan"),
        distance=float(retention_distance(everything)) if some else float("nan"),
        advice=f"{system}: {_advice(everything, at_origin, with_front, layer)}",
    )


def _advice(rf: np.ndarray[tuple[int], np.dtype[np.float64]], low: int, high: int, layer: str) -> str:
    total = len(rf)
    if not total:
        return "no dye has an Rf here, so nothing can be advised."
    below, above = int((rf < GOOD[0]).sum()), int((rf > GOOD[1]).sum())
    middle = float(np.median(rf))
    median = round_half_up(middle, 2)
    weaker, stronger = _weaker_and_stronger(layer)
    slow = f"{_share(below, total)} below Rf {GOOD[0]:.2f}"
    fast = f"{_share(above, total)} above Rf {GOOD[1]:.2f}"
    best = f"{_middle(middle, median, total)}spots separate best between {BEST[0]} and {BEST[1]}"
    if (low and high) or min(below, above) > MANY * total:
        return (
            f"use a second system of another kind beside it. Here {slow} and {above} {_lie(above)} above "
            f"{GOOD[1]:.2f}; a change of strength moves all of them the same way and cannot bring both into range."
        )
    if above > MANY * total or (above > below and middle > TOO_HIGH):
        return f"try {weaker}. Here {fast}, {best}."
    if total > 1 and rf.min() > BEST[1]:
        everything = "both" if total == 2 else f"all {total}"
        return f"try {weaker}. Here {everything} dyes lie above Rf {BEST[1]:.2f}, {best}."
    if below > MANY * total:
        return f"try {stronger}. Here {slow}, {best}."
    if low:
        them = "it" if low == 1 else "them"
        return (
            f"the strength suits most dyes (middle Rf {median}), but {low} of {total} stayed at the origin. "
            f"{capital(stronger)} may move {them}, if anything does, at the cost of the others."
        )
    if high:
        them = "it" if high == 1 else "them"
        return (
            f"the strength suits most dyes (middle Rf {median}), but {high} of {total} ran with the front. "
            f"{capital(weaker)} may hold {them} back, at the cost of the others."
        )
    which = f"this dye (Rf {median})" if total == 1 else f"these dyes ({total} of them, middle Rf {median})"
    return f"the strength suits {which}; keep it."


def _weaker_and_stronger(layer: str) -> tuple[str, str]:
    weak, strong = "", ""
    if REVERSED.search(layer):
        weak, strong = " (on this layer more polar)", " (on this layer less polar)"
    elif POLAR.search(layer):
        weak, strong = " (on this layer less polar)", " (on this layer more polar)"
    return f"a weaker{weak} system", f"a stronger{strong} system"


def _share(count: int, total: int) -> str:
    return f"{count} of {total} dyes {_lie(count)}" if total > 1 else "the only dye lies"


def _middle(middle: float, median: str, total: int) -> str:
    """Say where the middle of several dyes lies; one that is an end has no number."""
    if total == 1:
        return "and "
    where = {0.0: "at the origin", 1.0: "with the front"}.get(middle, f"at {median}")
    return f"the middle lies {where}, and "


def _lie(count: int) -> str:
    return "lies" if count == 1 else "lie"

"""Numbers of a spot as text: the short form that stands in a picture and the sentence that describes it.

Digits follow the library's one rounding rule. A bound is rounded outward, so that the printed bound is never a
stronger claim than the one found.
"""

from __future__ import annotations

from lanewise.analyses.wording import decimals, with_u
from lanewise.figures.seen import SpotSeen
from lanewise.uncertainty.rounding import round_bound, round_half_up

STATE_WORDS = {"at origin": "origin", "with front": "front", "streak": "streak", "unread": "unread"}


def millimetres(value: float) -> str:
    """Give a position as text, at most two decimals, without empty ones.

    Examples
    --------
    >>> millimetres(73.5), millimetres(10.0), millimetres(41.23714)
    ('73.5', '10', '41.24')
    """
    text = round_half_up(value, 2)
    return text.rstrip("0").rstrip(".")


def rf_short(spot: SpotSeen) -> str:
    """Give Rf as it stands beside a spot: ``0.475``, ``<0.02``, ``>0.98``; empty where there is none."""
    if spot.state == "at origin":
        return "" if spot.high is None else f"<{round_bound(spot.high, up=True)}"
    if spot.state == "with front":
        return "" if spot.low is None else f">{round_bound(spot.low, up=False)}"
    return "" if spot.rf is None else round_half_up(spot.rf, _decimals(spot))


def rf_words(spot: SpotSeen) -> str:
    """Give Rf as part of a sentence: ``Rf 0.475 ± 0.006``, ``Rf below 0.02``, ``no Rf``."""
    if spot.state == "at origin":
        return "no bound for Rf" if spot.high is None else f"Rf below {round_bound(spot.high, up=True)}"
    if spot.state == "with front":
        return "no bound for Rf" if spot.low is None else f"Rf above {round_bound(spot.low, up=False)}"
    return "no Rf" if spot.rf is None else f"Rf {with_u(spot.rf, spot.u_rf or 0.0)}"


def interval_words(spot: SpotSeen) -> str:
    """Give the interval of a value: ``0.463 to 0.487``; empty for a bound or where there is none."""
    if spot.rf is None or spot.low is None or spot.high is None:
        return ""
    places = _decimals(spot)
    return f"{round_half_up(spot.low, places)} to {round_half_up(spot.high, places)}"


def place_words(spot: SpotSeen) -> str:
    """Say in words where a spot was seen, by its state."""
    edges = _edges(spot)
    read = "" if spot.centre is None else f"{spot.point or 'centre'} at {millimetres(spot.centre)} mm"
    if spot.state == "at origin":
        return "stayed at the origin"
    if spot.state == "with front":
        return "ran with the front"
    if spot.state == "streak":
        darkest = "" if spot.centre is None else f"darkest at {millimetres(spot.centre)} mm"
        return ", ".join(part for part in (f"a streak {edges}".rstrip(), darkest) if part)
    if spot.state == "absent":
        return "looked for and not found"
    if spot.state == "unread":
        return ", ".join(part for part in ("seen but not measured", read, edges) if part)
    return ", ".join(part for part in (read, edges) if part) or "no position given"


def _edges(spot: SpotSeen) -> str:
    if spot.trailing is not None and spot.leading is not None:
        return f"from {millimetres(spot.trailing)} to {millimetres(spot.leading)} mm"
    if spot.trailing is not None:
        return f"trailing edge at {millimetres(spot.trailing)} mm"
    return "" if spot.leading is None else f"leading edge at {millimetres(spot.leading)} mm"


def _decimals(spot: SpotSeen) -> int:
    return max(0, decimals(spot.u_rf or 0.0))

"""The nearest plan that works, found by mending what keeps the wanted one from working, each time as little as will do.

Every fault has a few mends: a wider sheet, fewer lanes, a higher origin line. Each gives the size at which that fault
is just gone; what it breaks elsewhere is mended in turn. Plans are tried in the order of how far they are from the
wanted one, so the first that has no fault is the nearest of all that mends lead to.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from heapq import heappop, heappush
from itertools import count
from math import ceil, floor, log
from typing import Any, TypeAlias

from lanewise.errors import PlanError
from lanewise.planning.checking import Fault, faults, liquid_gap
from lanewise.planning.lanes import least_width, most_lanes
from lanewise.planning.vessels import STANDINGS, Vessel
from lanewise.planning.wanted import Wanted

Change: TypeAlias = dict[str, Any]

MOST_TRIED, MOST_FOR_OTHERS = 30_000, 2000
"""Plans that are tried for the nearest one, and for others near to it."""

LEAST_SPOT = 1.0
LEAST_DEPTH = 2.0

WEIGHTS = {"width": 1.0, "height": 1.0, "spot": 1.0, "pitch": 0.5, "origin": 1.0, "front": 1.0, "depth": 1.0}
VESSEL, SAMPLES, REPLICATES, STANDARDS, BLANK, WAY = 2.0, 2.0, 1.0, 2.0, 0.3, 0.4
"""How much a change weighs: a sheet is cut to size, a vessel and a sample one has or has not (our own choice)."""


def nearest(wanted: Wanted, most: int = 3) -> list[Wanted]:
    """Find the plans nearest to one that cannot work.

    Parameters
    ----------
    wanted : Wanted
        What cannot work, or can.
    most : int
        How many to give at most.

    Returns
    -------
    list of Wanted
        Without faults, the nearest first. How far one is counts by the logarithm of the ratio of each size that
        differs, weighted by `WEIGHTS`; none of them differs from the wanted one in all that another does and more.
        Empty where nothing was found.

    Examples
    --------
    >>> tight = Wanted(samples=tuple("abcdefghi"), width=50, height=100)
    >>> [changes(tight, one) for one in nearest(tight)]
    [('a sheet 55 mm wide instead of 50 mm',), ('spots of 2.7 mm instead of 3 mm',), ('8 samples instead of 9',)]
    """
    found: list[Wanted] = []
    for tried, here in enumerate(_working(wanted, lambda one: distance(wanted, one))):
        if here is None:
            if tried >= (MOST_FOR_OTHERS if found else MOST_TRIED):
                break
        elif not any(_differing(wanted, one) <= _differing(wanted, here) for one in found):
            found.append(here)
            if len(found) == most:
                break
    return found


def some(wanted: Wanted) -> Wanted | None:
    """Find a plan that works, fewest faults first: soon found, seldom the nearest; None where there is none.

    Examples
    --------
    >>> tight = Wanted(samples=tuple("abcdefghi"), width=50, height=100)
    >>> found = some(tight)
    >>> faults(found)
    ()
    """
    tried = _working(wanted, lambda one: (len(faults(one)), distance(wanted, one)))
    return next((one for one, _ in zip(tried, range(MOST_TRIED), strict=False) if one is not None), None)


def _working(wanted: Wanted, far: Callable[[Wanted], Any]) -> Iterator[Wanted | None]:
    """Mend plans in the order of how far they are; give each that works, and None for each that does not."""
    number = count()
    waiting: list[tuple[Any, int, Wanted]] = [(far(wanted), next(number), wanted)]
    seen = {wanted}
    while waiting:
        _, _, here = heappop(waiting)
        wrong = faults(here)
        yield None if wrong else here
        for mended in _mends(here, wrong[0], wanted) if wrong else ():
            if mended not in seen:
                seen.add(mended)
                heappush(waiting, (far(mended), next(number), mended))


def distance(wanted: Wanted, other: Wanted) -> float:
    """How far one plan is from another: 0 where nothing differs."""
    total = 0.0
    for name, weight in WEIGHTS.items():
        before, after = _size(wanted, name), _size(other, name)
        if getattr(wanted, name) != getattr(other, name) and before is not None and after is not None:
            total += weight * abs(log(after / before))
    total += SAMPLES * log(max(1, len(wanted.samples)) / max(1, len(other.samples)))
    total += STANDARDS * log(max(1, len(wanted.standards)) / max(1, len(other.standards)))
    total += REPLICATES * log(wanted.replicates / other.replicates)
    total += REPLICATES * log(wanted.standard_replicates / other.standard_replicates)
    total += BLANK * (wanted.blank != other.blank)
    total += WAY * ((wanted.standing, wanted.panels) != (other.standing, other.panels))
    if wanted.vessel is not None and other.vessel is not None:
        for name in ("diameter", "width", "breadth", "height"):
            before, after = getattr(wanted.vessel, name), getattr(other.vessel, name)
            if before is not None and after != before:
                total += VESSEL * abs(log(after / before))
    return total


def changes(wanted: Wanted, other: Wanted) -> tuple[str, ...]:
    """Say in words what differs between two plans."""
    found: list[str] = []
    words = {
        "width": "a sheet {} wide",
        "height": "a sheet {} high",
        "spot": "spots of {}",
        "pitch": "lanes {} apart",
        "origin": "the origin line at {}",
        "front": "a front target at {}",
        "depth": "liquid {} deep",
    }
    for name, text in words.items():
        before, after = _size(wanted, name), _size(other, name)
        if getattr(wanted, name) == getattr(other, name) or before == after:
            continue
        if after is None:
            found.append("lanes as far apart as there is room")
        else:
            found.append(f"{text.format(_mm(after))}{f' instead of {_mm(before)}' if before is not None else ''}")
    counts = (
        ("sample", len(wanted.samples), len(other.samples)),
        ("standard", len(wanted.standards), len(other.standards)),
        ("lane of each sample", wanted.replicates, other.replicates),
        ("lane of each standard", wanted.standard_replicates, other.standard_replicates),
    )
    for what, before_count, after_count in counts:
        if before_count != after_count:
            plural = what.replace("lane", "lanes", 1) if what.startswith("lane") else f"{what}s"
            found.append(f"{after_count} {what if after_count == 1 else plural} instead of {before_count}")
    if wanted.blank != other.blank:
        found.append("no blank lane")
    if (wanted.standing, wanted.panels) != (other.standing, other.panels):
        into = f" into {other.panels} panels" if other.standing == "folded" else ""
        found.append(f"a {other.standing} sheet{into}".replace("a folded sheet into", "a sheet folded into"))
    if other.vessel is not None and wanted.vessel != other.vessel:
        found.append(f"a vessel {other.vessel}")
    return tuple(found)


def _size(wanted: Wanted, name: str) -> float | None:
    """A size of a plan, the usual one where none was asked for."""
    if name in ("origin", "front", "depth"):
        return float(getattr(wanted.levels(), name))
    value = getattr(wanted, name)
    return None if value is None else float(value)


def _differing(wanted: Wanted, other: Wanted) -> frozenset[str]:
    names = (
        *WEIGHTS,
        "samples",
        "standards",
        "replicates",
        "standard_replicates",
        "blank",
        "standing",
        "panels",
        "vessel",
    )
    return frozenset(name for name in names if getattr(wanted, name) != getattr(other, name))


def _mm(value: float) -> str:
    return f"{value:.4g} mm"


def _mends(here: Wanted, fault: Fault, start: Wanted) -> Iterator[Wanted]:
    """Give the ways to take a fault away, each as small as will do; a size moves only one way from where it began."""
    for change in _MENDS[fault.kind](here):
        try:
            mended = replace(here, **change)
        except PlanError:
            continue
        if all(_same_way(start, here, mended, name) for name in change):
            yield mended


def _same_way(start: Wanted, before: Wanted, after: Wanted, name: str) -> bool:
    if name not in WEIGHTS:
        return True
    first, old, new = (_size(one, name) for one in (start, before, after))
    return None in (first, old, new) or (old - first) * (new - old) >= 0  # type: ignore[operator]


def _up(value: float, step: float = 1.0) -> float:
    """Round up to a step, past the dust of binary arithmetic."""
    return round(ceil(value / step - 1e-9) * step, 6)


def _down(value: float, step: float = 1.0) -> float:
    return round(floor(value / step + 1e-9) * step, 6)


def _for_pitch(here: Wanted) -> Iterator[Change]:
    assert here.pitch is not None
    yield {"pitch": _up(here.distances.least_pitch * here.spot, 0.1)}
    spot = _down(here.pitch / here.distances.least_pitch, 0.1)
    if spot >= LEAST_SPOT:
        yield {"spot": spot}


def _for_lanes(here: Wanted) -> Iterator[Change]:
    yield {"width": _up(least_width(here))}
    if here.pitch is not None:
        yield {"pitch": None}
    spot = _widest_spot(here)
    if spot is not None:
        yield {"spot": spot}
    room = most_lanes(here)
    yield from _fewer_lanes(here, room)
    if here.standing == "folded":
        yield {"standing": "flat", "panels": 2}
        if here.panels > 2:
            yield {"panels": here.panels - 1}


def _widest_spot(here: Wanted) -> float | None:
    """Widest spot, in tenths of a millimetre, with which the lanes fit; None where not even the least does."""
    low, high = round(LEAST_SPOT * 10), ceil(here.spot * 10) - 1
    if low > high or least_width(replace(here, spot=low / 10)) > here.width:
        return None
    while low < high:
        middle = (low + high + 1) // 2
        fits = least_width(replace(here, spot=middle / 10)) <= here.width + 1e-9
        low, high = (middle, high) if fits else (low, middle - 1)
    return low / 10


def _fewer_lanes(here: Wanted, room: int) -> Iterator[Change]:
    """Leave lanes out until as many are left as there is room for."""
    fixed = len(here.standards) * here.standard_replicates + here.blank
    if here.samples:
        replicates = min(here.replicates - 1, (room - fixed) // len(here.samples))
        if replicates >= 1:
            yield {"replicates": replicates}
        samples = (room - fixed) // here.replicates
        if 1 <= samples < len(here.samples):
            yield {"samples": here.samples[:samples]}
    if here.blank and here.count > 1:
        yield {"blank": False}
    if here.standards and here.standard_replicates > 1:
        yield {"standard_replicates": here.standard_replicates - 1}
    others = len(here.samples) * here.replicates + here.blank
    standards = (room - others) // here.standard_replicates
    if 1 <= standards < len(here.standards):
        yield {"standards": here.standards[:standards]}


def _for_liquid(here: Wanted) -> Iterator[Change]:
    origin, _, depth = here.levels()
    gap = liquid_gap(here)
    yield {"origin": _up(depth + gap)}
    lower = _down(origin - gap)
    if lower >= LEAST_DEPTH:
        yield {"depth": lower}
    spot = _down(2 * (origin - depth - here.distances.clear_liquid), 0.1)
    if LEAST_SPOT <= spot < here.spot and origin - depth >= here.distances.least_liquid:
        yield {"spot": spot}


def _for_level(here: Wanted) -> Iterator[Change]:
    assert here.vessel is not None
    lower = _down(here.vessel.height - 1e-6)
    if lower >= LEAST_DEPTH:
        yield {"depth": lower}
    yield {"vessel": replace(here.vessel, height=_up(here.levels().depth) + 1.0)}


def _for_top(here: Wanted) -> Iterator[Change]:
    front = _down(here.height - here.distances.least_top)
    if front > 0:
        yield {"front": front}
    yield {"height": _up(here.levels().front + here.distances.least_top)}


def _for_run(here: Wanted) -> Iterator[Change]:
    origin, front, _ = here.levels()
    yield {"front": _up(origin + here.distances.least_run)}
    lower = _down(front - here.distances.least_run)
    if lower > 0:
        yield {"origin": lower}
    if here.front is None:
        yield {"height": _up(origin + here.distances.least_run + here.distances.usual_top)}


def _for_width(here: Wanted) -> Iterator[Change]:
    assert here.vessel is not None
    width = _down(here.vessel.most_width(here.standing, here.panels, here.distances))
    if width > 0:
        yield {"width": width}
    yield {"vessel": _wider(here.vessel, here)}
    for standing in STANDINGS:
        for panels in (2, 3, 4) if standing == "folded" else (2,):
            if (standing, panels) != (here.standing, here.panels):
                yield {"standing": standing, "panels": panels}


def _wider(vessel: Vessel, here: Wanted) -> Vessel:
    """The narrowest vessel of whole millimetres that takes the sheet as it stands, all sides grown by one amount."""

    def grown(more: int) -> Vessel:
        if vessel.diameter is not None:
            return replace(vessel, diameter=_up(vessel.diameter) + more)
        assert vessel.width is not None
        assert vessel.breadth is not None
        if here.standing == "flat" and vessel.width >= vessel.breadth:
            return replace(vessel, width=_up(vessel.width) + more)
        if here.standing == "flat":
            return replace(vessel, breadth=_up(vessel.breadth) + more)
        return replace(vessel, width=_up(vessel.width) + more, breadth=_up(vessel.breadth) + more)

    low, high = 0, ceil(here.width + 4 * here.distances.wall + here.distances.seam)
    while low < high:
        middle = (low + high) // 2
        fits = here.width <= grown(middle).most_width(here.standing, here.panels, here.distances)
        low, high = (low, middle) if fits else (middle + 1, high)
    return grown(low)


def _for_height(here: Wanted) -> Iterator[Change]:
    assert here.vessel is not None
    height = _down(here.vessel.height - here.distances.headroom)
    if height > 0:
        yield {"height": height}
    yield {"vessel": replace(here.vessel, height=_up(here.height + here.distances.headroom))}


_MENDS: dict[str, Callable[[Wanted], Iterator[Change]]] = {
    "pitch": _for_pitch,
    "lanes": _for_lanes,
    "liquid": _for_liquid,
    "level": _for_level,
    "top": _for_top,
    "run": _for_run,
    "width": _for_width,
    "height": _for_height,
}

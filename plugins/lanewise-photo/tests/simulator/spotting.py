"""Which dyes are on a sheet, which lane holds which, and how each became a spot."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from simulator.colour import INKS, LEAF, Dye, Floats
from simulator.draw import Draw
from simulator.mixing import Mixture
from simulator.spots import Spot

if TYPE_CHECKING:
    from simulator.sheet import Lane

STREAKING = 3.0  # tails this many standard deviations long are streaks


def draw_spots(
    draw: Draw, lanes: tuple[Lane, ...], front_x: Floats, liquid: Floats, mixture: Mixture, layer: str
) -> tuple[Spot, ...]:
    """Put spots in all lanes: standards of one dye and mixtures of several."""
    rng = draw.rng("spots")
    if not draw.chance("spots", 1.0):
        return ()
    drop = float(np.mean([lane.drop for lane in lanes]))
    run = float(np.interp(np.mean([lane.x for lane in lanes]), front_x, liquid)) - drop
    dyes = _dyes(draw, rng, run)
    habits = {dye.name: _habit(rng, layer) for dye, _ in dyes}
    made: list[Spot] = []
    for number, lane in enumerate(lanes):
        length = float(np.interp(lane.x, front_x, liquid)) - lane.drop
        count = 1 if rng.random() < 0.3 else int(rng.integers(2, min(5, len(dyes)) + 1))
        for place in sorted(rng.choice(len(dyes), size=min(count, len(dyes)), replace=False)):
            dye, rf = dyes[place]
            made.append(_spot(draw, rng, number, lane, dye, rf, length, habits[dye.name], mixture, layer))
        if rng.random() < draw.given("residue", 0.22) and all(one.lane != number or one.rf > 0.12 for one in made):
            dye = INKS[int(rng.integers(len(INKS)))]
            low = _spot(draw, rng, number, lane, dye, 0.0, length, _habit(rng, layer), mixture, layer)
            made.append(replace(low, load=mixture.amount(dye.absorptivity, rng.uniform(0.07, 0.3))))
    return tuple(sorted(made, key=lambda spot: (spot.lane, spot.y)))


def _dyes(draw: Draw, rng: np.random.Generator, run: float) -> list[tuple[Dye, float]]:
    """Choose the dyes of a sheet and their Rf, rising."""
    family = LEAF if rng.random() < 0.12 else INKS
    count = int(rng.integers(3, min(7, len(family)) + 1))
    chosen = [family[k] for k in rng.choice(len(family), size=count, replace=False)]
    yellows = [dye for dye in family if dye.colour == "yellow"]
    if not any(dye.colour == "yellow" for dye in chosen) and rng.random() < 0.8:
        chosen[0] = yellows[0]
    grey = [k for k, dye in enumerate(chosen) if dye.neutral]
    if grey and rng.random() < 0.6:
        chosen[grey[0]] = yellows[-1]
    chosen = list(dict.fromkeys(chosen))
    values: list[float] = []
    for _ in chosen:
        kind = rng.random()
        if kind < 0.07:
            value = 0.0
        elif kind < 0.13:
            value = 1.0
        elif kind < 0.35 and values:
            value = float(values[-1] + rng.choice([-1, 1]) * rng.uniform(2.0, 5.5) / run)
        else:
            value = float(rng.uniform(0.05, 0.96))
        for _ in range(20):
            if 0.0 <= value <= 1.0 and all(abs(value - other) * run > 1.5 for other in values):
                break
            value = float(rng.uniform(0.05, 0.95))
        values.append(value)
    return sorted(zip(chosen, values, strict=True), key=lambda pair: pair[1])


def _habit(rng: np.random.Generator, layer: str) -> dict[str, Any]:
    """Give what a dye does to its spots on this sheet, whatever the lane."""
    shape = str(rng.choice(["round", "tail", "streak", "fronting", "crescent"], p=[0.55, 0.22, 0.11, 0.06, 0.06]))
    pale = rng.random() < 0.3
    return {
        "shape": shape,
        "od": float(np.exp(rng.uniform(np.log(0.03), np.log(0.1)))) if pale else float(rng.uniform(0.12, 0.6)),
        "growth": float(rng.uniform(0.012, 0.04) if layer == "paper" else rng.uniform(0.006, 0.02)),
        "tail": float(rng.uniform(1.0, 2.6) if shape == "tail" else rng.uniform(3.2, 6.0)),
        "kernel": str(rng.choice(["exponential", "triangle", "long"])),
        "flat": float(rng.choice([0.0, 0.0, rng.uniform(0.5, 2.0), rng.uniform(1.0, 3.5)])),
        "yellow": float(np.exp(rng.uniform(np.log(0.022), np.log(0.09)))),
    }


def _spot(
    draw: Draw,
    rng: np.random.Generator,
    number: int,
    lane: Lane,
    dye: Dye,
    rf: float,
    length: float,
    habit: dict[str, Any],
    mixture: Mixture,
    layer: str,
) -> Spot:
    """Make one spot; its tail begins where the dye's Rf puts it."""
    drop = rng.uniform(0.45, 0.85)
    moved = rf * length
    sigma = float(np.sqrt(drop**2 + habit["growth"] * moved) * rng.uniform(0.92, 1.08))
    across = float(np.sqrt(drop**2 + 0.7 * habit["growth"] * moved) * rng.uniform(0.95, 1.15))
    od = habit["od"] * float(np.exp(rng.normal(0, 0.2)))
    if dye.colour == "yellow" and rng.random() < 0.6:
        od = habit["yellow"]
    if rf in (0.0, 1.0):  # paler ones on a line are there as well, but nobody sees them
        od = max(od, rng.uniform(0.07, 0.2))
    spot = Spot(
        lane=number,
        dye=dye,
        x=float(lane.x + np.tan(lane.lean) * moved + rng.normal(0, 0.12)),
        y=lane.drop + moved,
        sigma=sigma,
        sigma_x=across,
        flat=habit["flat"] * float(rng.uniform(0.6, 1.4)),
        lobes=tuple(rng.normal(0, 0.03 if layer == "paper" else 0.015, 4)),
        load=mixture.amount(dye.absorptivity, min(od, 0.75)),
        rf=rf,
        start=lane.drop,
    )
    if rf == 0.0:
        return replace(spot, sigma=drop, sigma_x=drop * rng.uniform(1, 1.2), state="at origin")
    if rf == 1.0:
        return replace(spot, y=lane.drop + length - 0.35, sigma=rng.uniform(0.5, 0.9), state="with front", cut=True)
    return _shaped(rng, spot, habit, moved, length)


def _shaped(rng: np.random.Generator, spot: Spot, habit: dict[str, Any], moved: float, length: float) -> Spot:
    """Give a spot its tail or its bow; the tail stays on the run."""
    shape, kernel, sigma = habit["shape"], habit["kernel"], spot.sigma
    longest = moved / 2.2  # mean length of a tail that just reaches the origin
    if shape == "streak" and longest > STREAKING * 1.05 * sigma:
        tau = float(min(habit["tail"] * sigma, longest))
        return replace(spot, tau=tau, tail=kernel, flat=0.0, state="streak", shape="streak")
    if shape in ("tail", "streak") and longest > sigma:
        tau = float(min(min(habit["tail"], 2.6) * sigma, longest))
        return replace(spot, tau=tau, tail="exponential" if kernel == "long" else kernel, shape="tail")
    if shape == "fronting" and length - moved > 6 * sigma:
        tau = -float(min(rng.uniform(0.7, 1.8) * sigma, (length - moved - 3 * sigma) / 3))
        return replace(spot, tau=tau, shape="fronting")
    if shape == "crescent":
        return replace(spot, bow=float(rng.choice([-1, 1]) * rng.uniform(0.02, 0.07)), shape="crescent")
    return spot

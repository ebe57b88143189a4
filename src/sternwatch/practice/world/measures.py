"""Measures of a practice session, computed from the truth, and the score made of them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import get_args

from sternwatch.practice.drills.model import Drill, Measure
from sternwatch.practice.world.fish import keyed, landed, right
from sternwatch.practice.world.tally import touches_noted
from sternwatch.practice.world.world import World

MEASURES: tuple[Measure, ...] = get_args(Measure)

# Name, unit and sentence of each measure, for screens and the documentation.
EXPLAINED: dict[Measure, tuple[str, str]] = {
    "crossings": ("", "times that two true chains touched or wrapped"),
    "least separation": ("", "least distance over the required distance there, of all pairs"),
    "touches": ("", "times that a true chain reached the bottom"),
    "least clearance": ("m", "least room between a true lure and the bottom"),
    "zone": ("", "share of the rods' fishing time with the true lure in the temperatures wanted"),
    "time": ("s", "from the drill's beginning to its goal, or to its end"),
    "hits kept": ("", "share of the strikes written down on the right rod in time, with the right outcome"),
    "false hits": ("", "hits written down where nothing had struck"),
    "fish lost": ("", "fish that came off"),
    "vessel distance": ("m", "least distance to the other boat"),
    "boxed": ("", "fish brought to the net"),
    "touches noted": ("", "touches of the bottom written down when they happened"),
    "place off": ("m", "how near the true lure came again to the place it was in, once it had been away"),
    "depth off": ("m", "how much deeper or shallower it was there"),
    "wanted": ("s", "lure time at the height over the bottom that is wanted, of all rods together"),
}


def measures(world: World) -> dict[Measure, float | None]:
    """The present value of every measure; None where it does not apply."""
    world.encounters.close()
    tally, crew, drill = world.tally, world.crew, world.drill
    strikes = world.fish.strikes
    kept = [strike for strike in strikes if right(strike, crew)]
    matched = {hit.id for strike in strikes if (hit := keyed(strike, crew)) is not None}
    false = [hit for hit in crew.hits if hit.counts and hit.id not in matched]
    least = world.encounters.least
    return {
        "crossings": float(len(world.encounters.crossings)),
        "least separation": None if least is None else least.ratio,
        "touches": float(tally.touches(world.below)),
        "least clearance": tally.least_clearance_m if math.isfinite(tally.least_clearance_m) else None,
        "zone": tally.in_zone_s / tally.fishing_s if tally.fishing_s > 0.0 else None,
        "time": tally.done_s if tally.done_s is not None else tally.last_s,
        "hits kept": len(kept) / len(strikes) if strikes else None,
        "false hits": float(len(false)),
        "fish lost": float(sum(s.off_s is not None and s.kind == "fish" for s in strikes)),
        "vessel distance": tally.vessel_m if math.isfinite(tally.vessel_m) else None,
        "touches noted": float(touches_noted(crew, world.below)),
        "place off": tally.again.off_m if drill.again is not None else None,
        "depth off": tally.again.depth_off_m if drill.again is not None else None,
        "wanted": tally.wanted_s if drill.wanted is not None else None,
        "boxed": float(sum(landed(strike, crew) for strike in strikes)),
    }


@dataclass(frozen=True, slots=True)
class Score:
    """0 to 100; ``parts`` are (measure, value, share of its marks, weight). ``passed``: goal reached, limits kept."""

    points: float
    passed: bool
    parts: tuple[tuple[Measure, float | None, float, float], ...]
    broken: tuple[str, ...]  # broken limits, in words


def score(drill: Drill, found: dict[Measure, float | None], done: bool) -> Score:
    """The score from the measures. A measure that does not apply earns full marks: nothing was done wrong there.

    Without reaching the goal the time earns nothing, because the clock ran out, and all else earns half.
    """
    parts = []
    for worth in drill.score:
        value = found[worth.measure]
        share = 1.0 if value is None else (value - worth.worst) / (worth.best - worth.worst)
        share = min(max(share, 0.0), 1.0)
        if not done:
            share = 0.0 if worth.measure == "time" else 0.5 * share
        parts.append((worth.measure, value, share, float(worth.weight)))
    weight = sum(part[3] for part in parts)
    points = 100.0 * sum(share * w for _, _, share, w in parts) / weight if weight else 0.0
    broken = []
    for limit in drill.limit:
        value = found[limit.measure]
        if value is None:
            continue
        if limit.most is not None and value > limit.most:
            broken.append(f"{limit.measure} {value:.3g}, at most {limit.most:g}")
        if limit.least is not None and value < limit.least:
            broken.append(f"{limit.measure} {value:.3g}, at least {limit.least:g}")
    return Score(round(points, 1), done and not broken, tuple(parts), tuple(broken))

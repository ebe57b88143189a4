"""What a practice session amounts to: measures computed from the truth, the goal, and the score made of them."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, get_args

from sternwatch.practice.drills.model import Drill, Measure
from sternwatch.practice.world.fish import keyed, landed, right

if TYPE_CHECKING:
    from sternwatch.practice.world.world import World

MEASURES: tuple[Measure, ...] = get_args(Measure)

# Name, unit and sentence of each measure, for screens and the documentation.
EXPLAINED: dict[Measure, tuple[str, str]] = {
    "crossings": ("", "times that two true chains came closer than required, or changed sides"),
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
}


@dataclass(slots=True)
class Tally:
    """Grows with every step of the true chains."""

    drill: Drill
    done_s: float | None = None  # drill time at which the goal had held for long enough
    over: bool = False
    fishing_s: float = 0.0
    in_zone_s: float = 0.0
    least_clearance_m: float = math.inf
    vessel_m: float = math.inf
    passed: int = 0  # marks
    last_s: float = 0.0
    _held_since_s: float | None = None
    _touches_before: int = field(default=0)

    def take(self, world: World) -> None:
        """One step of the world."""
        now = world.drill_s
        if now < 0.0:
            self._touches_before = len(world.below.touches)
        if now < 0.0 or self.over:
            return
        step = now - self.last_s
        self.last_s = now
        low, high = self.drill.fish.zone_c
        for key, place in world.below.places.items():
            self.least_clearance_m = min(self.least_clearance_m, place.clearance_m)
            if world.crew.rods[key].state == "fishing":
                self.fishing_s += step
                self.in_zone_s += step if low <= place.temperature_c <= high else 0.0
        away = vessel_at(self.drill, now)
        if away is not None:
            north, east = world.place_m
            self.vessel_m = min(self.vessel_m, math.hypot(away[0] - north, away[1] - east))
        self._pursue(world, now)
        if self.done_s is not None or now >= self.drill.time_s:
            self.over = True

    def _pursue(self, world: World, now: float) -> None:
        goal = self.drill.goal
        if goal is None:
            return
        while self.passed < len(goal.marks):
            mark, (north, east) = goal.marks[self.passed], world.place_m
            if math.hypot(mark.north_m - north, mark.east_m - east) > goal.reach_m:
                break
            self.passed += 1
        if not reached(world, self):
            self._held_since_s = None
            return
        if self._held_since_s is None:
            self._held_since_s = now
        if now - self._held_since_s >= goal.hold_s:
            self.done_s = now

    def touches(self, world: World) -> int:
        """Touches since the drill began."""
        end = world.drill.start.lead_in_s + self.last_s
        return sum(touch.t_s <= end for touch in world.below.touches[self._touches_before :])


def vessel_at(drill: Drill, drill_s: float) -> tuple[float, float] | None:
    """(north, east) of the other boat at a time of the drill, from the start; None where there is none."""
    vessel = drill.vessel
    if vessel is None:
        return None
    run = vessel.speed_m_s * max(drill_s, 0.0)
    return vessel.north_m + run * math.cos(vessel.heading_rad), vessel.east_m + run * math.sin(vessel.heading_rad)


def reached(world: World, tally: Tally) -> bool:
    """Whether everything that the goal asks for is so now."""
    goal = world.drill.goal
    if goal is None:
        return False
    within = math.degrees(goal.within_rad)
    wanted = []
    if goal.turned is not None:
        wanted.append(abs(world.turned_deg - goal.turned) <= within)
    if goal.heading_rad is not None:
        off = (world.boat.heading_deg - math.degrees(goal.heading_rad) + 180.0) % 360.0 - 180.0
        wanted.append(abs(off) <= within)
    if goal.speed_m_s is not None:
        wanted.append(goal.speed_m_s[0] <= world.boat.surge_m_s <= goal.speed_m_s[1])
    if goal.rods == "in":
        said = all(rod.state == "in" for rod in world.crew.rods.values())
        wanted.append(said and not any(chain.out for chain in world.below.chains.values()))
    if goal.rods == "out":
        chains = world.below.chains
        wanted.append(all(rod.state == "fishing" and not chains[key].moving for key, rod in world.crew.rods.items()))
    if goal.boxed is not None:
        wanted.append(sum(landed(strike, world.crew) for strike in world.fish.strikes) >= goal.boxed)
    if goal.elapsed_s is not None:
        wanted.append(world.drill_s >= goal.elapsed_s)
    if goal.marks:
        wanted.append(tally.passed >= len(goal.marks))
    return bool(wanted) and all(wanted)


def measures(world: World) -> dict[Measure, float | None]:
    """Every measure as it stands; None where it does not apply."""
    world.encounters.close()
    tally, crew = world.tally, world.crew
    strikes = world.fish.strikes
    kept = [strike for strike in strikes if right(strike, crew)]
    matched = {hit.id for strike in strikes if (hit := keyed(strike, crew)) is not None}
    false = [hit for hit in crew.hits if hit.counts and hit.id not in matched]
    least = world.encounters.least
    return {
        "crossings": float(len(world.encounters.crossings)),
        "least separation": None if least is None else least.ratio,
        "touches": float(tally.touches(world)),
        "least clearance": tally.least_clearance_m if math.isfinite(tally.least_clearance_m) else None,
        "zone": tally.in_zone_s / tally.fishing_s if tally.fishing_s > 0.0 else None,
        "time": tally.done_s if tally.done_s is not None else tally.last_s,
        "hits kept": len(kept) / len(strikes) if strikes else None,
        "false hits": float(len(false)),
        "fish lost": float(sum(s.off_s is not None and s.kind == "fish" for s in strikes)),
        "vessel distance": tally.vessel_m if math.isfinite(tally.vessel_m) else None,
        "boxed": float(sum(landed(strike, crew) for strike in strikes)),
    }


@dataclass(frozen=True, slots=True)
class Score:
    """0 to 100; ``parts`` are (measure, value, share of its marks, weight). ``passed``: goal reached, limits kept."""

    points: float
    passed: bool
    parts: tuple[tuple[Measure, float | None, float, float], ...]
    broken: tuple[str, ...]  # limits that were not kept, in words


def score(drill: Drill, found: dict[Measure, float | None], done: bool) -> Score:
    """The score of measures. What does not apply counts in full: nothing was done wrong there.

    A goal that was not reached earns nothing for time, for the clock was run out, and half of everything else.
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

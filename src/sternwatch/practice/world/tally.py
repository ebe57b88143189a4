"""Counts while a drill runs: zone and clearance of the true lures, the goal, the end."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import ClassVar

from sternwatch.logbook.crew.state import Crew
from sternwatch.practice.drills.model import AgainSpec, Drill, Goal, WantedSpec
from sternwatch.practice.world.boat import Boat
from sternwatch.practice.world.fish import Fish, landed
from sternwatch.practice.world.truth import Below, TruePlace
from sternwatch.watch.chains.rod_state import rod_state
from sternwatch.watch.picture.model import RodState

NOTED_S = 30.0  # time that a crew has to enter a touch


@dataclass(frozen=True, slots=True)
class Standing:
    """The world's state at a step. Receivers only read it."""

    drill_s: float
    place_m: tuple[float, float]  # (north, east) place of the transom over ground, from the start
    turned_deg: float
    boat: Boat
    below: Below
    crew: Crew
    fish: Fish


AWAY_M = 40.0  # a lure that was this far from a place can come to it again


@dataclass(slots=True)
class Again:
    """A rod's true lure against the place of its strike. A distance never measured is ``FAR_M``."""

    FAR_M: ClassVar[float] = 200.0
    off_m: float = FAR_M
    depth_off_m: float = FAR_M
    _there: tuple[float, float, float] | None = None
    _away: bool = False

    def take(self, spec: AgainSpec, world: Standing) -> None:
        """One step of the world."""
        place = world.below.places.get(spec.rod)
        if place is None or not any(strike.key == spec.rod for strike in world.fish.strikes):
            return
        a, (north, east) = math.radians(world.boat.heading_deg), world.place_m
        lure = (
            north - place.astern_m * math.cos(a) - place.abeam_m * math.sin(a),
            east - place.astern_m * math.sin(a) + place.abeam_m * math.cos(a),
        )
        if self._there is None:
            self._there = (*lure, place.depth_m)
        off = math.dist(lure, self._there[:2])
        self._away = self._away or off > AWAY_M
        if self._away and off < self.off_m:
            self.off_m, self.depth_off_m = off, abs(place.depth_m - self._there[2])


@dataclass(slots=True)
class Tally:
    """The counts of one drill. Only ``take`` changes them, at every step of the true chains."""

    drill: Drill
    done_s: float | None = None  # drill time when the goal had held for long enough
    over: bool = False
    fishing_s: float = 0.0
    in_zone_s: float = 0.0
    least_clearance_m: float = math.inf
    vessel_m: float = math.inf
    passed: int = 0  # marks
    again: Again = field(default_factory=Again)
    wanted_s: float = 0.0  # lure-seconds
    last_s: float = 0.0
    _held_since_s: float | None = None
    _touches_before: int = field(default=0)

    def take(self, world: Standing) -> None:
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
            if _fishes(world, key):
                self.fishing_s += step
                self.in_zone_s += step if low <= place.temperature_c <= high else 0.0
                if self.drill.wanted is not None and _is_wanted(self.drill.wanted, place):
                    self.wanted_s += step
        if self.drill.again is not None:
            self.again.take(self.drill.again, world)
        away = vessel_away_m(self.drill, now, world.place_m)
        if away is not None:
            self.vessel_m = min(self.vessel_m, away)
        self._pursue(world, now)
        if self.done_s is not None or now >= self.drill.time_s:
            self.over = True

    def _pursue(self, world: Standing, now: float) -> None:
        goal = self.drill.goal
        if goal is None:
            return
        while self.passed < len(goal.marks):
            mark, (north, east) = goal.marks[self.passed], world.place_m
            if math.hypot(mark.north_m - north, mark.east_m - east) > goal.reach_m:
                break
            self.passed += 1
        if not reached(goal, world, self.passed):
            self._held_since_s = None
            return
        if self._held_since_s is None:
            self._held_since_s = now
        if now - self._held_since_s >= goal.hold_s:
            self.done_s = now

    @property
    def held_s(self) -> float | None:
        """How long the goal has held; None while it does not hold."""
        return None if self._held_since_s is None else self.last_s - self._held_since_s

    def touches(self, below: Below) -> int:
        """Touches since the drill began."""
        end = self.drill.start.lead_in_s + self.last_s
        return sum(touch.t_s <= end for touch in below.touches[self._touches_before :])


def touches_noted(crew: Crew, below: Below) -> int:
    """True touches that were entered on the right rod within ``NOTED_S``; each counts once."""
    entries = [(one.rod, one.elapsed_s) for one in crew.observed if one.what == "touched bottom"]
    return sum(
        any(key == touch.key and at is not None and 0.0 <= at - touch.t_s <= NOTED_S for key, at in entries)
        for touch in below.touches
    )


def _is_wanted(wanted: WantedSpec, place: TruePlace) -> bool:
    (low, high), (shoalest, deepest) = wanted.over_bottom_m, wanted.depth_m
    return low <= place.clearance_m <= high and shoalest <= place.depth_m <= deepest


def vessel_at(drill: Drill, drill_s: float) -> tuple[float, float] | None:
    """The other boat's place (north, east) from the start at a time of the drill; None where there is none."""
    vessel = drill.vessel
    if vessel is None:
        return None
    run = vessel.speed_m_s * max(drill_s, 0.0)
    return vessel.north_m + run * math.cos(vessel.heading_rad), vessel.east_m + run * math.sin(vessel.heading_rad)


def vessel_away_m(drill: Drill, drill_s: float, place_m: tuple[float, float]) -> float | None:
    """The other boat's distance from our transom at ``place_m`` (north, east); None where there is none."""
    there = vessel_at(drill, drill_s)
    return None if there is None else math.dist(there, place_m)


def _fishes(world: Standing, key: str) -> bool:
    """Whether a rod has its full length and fishes. Nobody need have said that it is set."""
    return rod_state(world.crew.rods[key], world.below.chains[key]) is RodState.FISHING


def reached(goal: Goal, world: Standing, passed: int) -> bool:
    """Whether all conditions of the goal hold now. ``passed``: the goal's marks that the boat has passed."""
    within, crew, chains = math.degrees(goal.within_rad), world.crew, world.below.chains
    wanted = []
    if goal.turned is not None:
        wanted.append(abs(world.turned_deg - goal.turned) <= within)
    if goal.heading_rad is not None:
        off = (world.boat.heading_deg - math.degrees(goal.heading_rad) + 180.0) % 360.0 - 180.0
        wanted.append(abs(off) <= within)
    if goal.speed_m_s is not None:
        wanted.append(goal.speed_m_s[0] <= world.boat.surge_m_s <= goal.speed_m_s[1])
    if goal.rods == "in":
        said = all(rod.state == "in" for rod in crew.rods.values())
        wanted.append(said and not any(chain.out for chain in chains.values()))
    if goal.rods == "out":
        wanted.append(all(_fishes(world, key) for key in crew.rods))
    if goal.boxed is not None:
        wanted.append(sum(landed(strike, crew) for strike in world.fish.strikes) >= goal.boxed)
    if goal.noted is not None:
        wanted.append(touches_noted(crew, world.below) >= goal.noted)
    if goal.elapsed_s is not None:
        wanted.append(world.drill_s >= goal.elapsed_s)
    if goal.marks:
        wanted.append(passed >= len(goal.marks))
    return bool(wanted) and all(wanted)

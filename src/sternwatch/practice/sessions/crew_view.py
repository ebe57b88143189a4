"""What the practice boat's crew can see: helm, engine, strikes, another boat, and the state of the drill."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import m_ss
from sternwatch.practice.drills.model import Drill, Goal
from sternwatch.practice.world.fish import KEY_WITHIN_S, TELLS_S, Strike, keyed
from sternwatch.practice.world.tally import vessel_at
from sternwatch.practice.world.world import World
from sternwatch.watch.picture.manoeuvre import side_of

# How long a message stays.
SAID_S: Final = 40.0
LOOKOUT_M: Final = 600.0


@dataclass(frozen=True, slots=True)
class Event:
    """An event that the crew see or feel. ``kind``: strike | nothing | net | off | tick."""

    t_s: float
    kind: str
    key: str


@dataclass(frozen=True, slots=True)
class Vessel:
    """Another boat: its distance, and its bearing from our bow (positive to starboard)."""

    distance_m: float
    bearing_deg: float
    closing_m_s: float


@dataclass(frozen=True, slots=True)
class Shown:
    """One moment of what the crew see; immutable."""

    drill_s: float
    rudder_deg: float
    heading_held_deg: float | None
    engine: str
    lever: float
    turned_deg: float
    events: tuple[Event, ...]  # recent events, oldest first
    striking: tuple[str, ...]  # rods that went off without an entry yet
    vessel: Vessel | None
    marks_passed: int
    over: bool
    done: bool
    held_s: float | None = None  # how long the goal has held; None: it does not hold


def shown_of(world: World) -> Shown:
    """The world as its crew now see it."""
    events = [event for strike in world.fish.strikes for event in _events(strike, world)]
    events += [Event(touch.t_s, "tick", touch.key) for touch in world.below.touches]
    recent = [event for event in events if world.t_s - event.t_s <= SAID_S]
    waiting = tuple(
        strike.key for strike in world.fish.strikes
        if keyed(strike, world.crew) is None and strike.off_s is None and world.t_s - strike.t_s <= KEY_WITHIN_S
    )  # fmt: skip
    return Shown(
        drill_s=world.drill_s,
        rudder_deg=world.boat.rudder_deg,
        heading_held_deg=world.orders.heading_deg,
        engine=world.orders.engine,
        lever=world.orders.lever,
        turned_deg=world.turned_deg,
        events=tuple(sorted(recent, key=lambda event: event.t_s)),
        striking=waiting,
        vessel=_vessel(world),
        marks_passed=world.tally.passed,
        over=world.tally.over,
        done=world.tally.done_s is not None,
        held_s=world.tally.held_s,
    )


def _events(strike: Strike, world: World) -> list[Event]:
    hit = keyed(strike, world.crew)
    if hit is not None and hit.outcome is not None:
        return []  # its entries are complete
    found = [Event(strike.t_s, "strike", strike.key)]
    if strike.kind == "false release" and world.t_s - strike.t_s >= TELLS_S:
        found.append(Event(strike.t_s + TELLS_S, "nothing", strike.key))
    if strike.ready_s is not None:
        found.append(Event(strike.ready_s, "net", strike.key))
    if strike.off_s is not None and strike.kind == "fish":
        found.append(Event(strike.off_s, "off", strike.key))
    return found


def _vessel(world: World) -> Vessel | None:
    there = vessel_at(world.drill, world.drill_s)
    spec = world.drill.vessel
    if there is None or spec is None:
        return None
    north, east = world.place_m
    dn, de = there[0] - north, there[1] - east
    distance = math.hypot(dn, de)
    if distance > LOOKOUT_M:
        return None
    bearing = (math.degrees(math.atan2(de, dn)) - world.boat.heading_deg + 180.0) % 360.0 - 180.0
    current = world.lake.surface_current_at(world.t_s)
    vn = spec.speed_m_s * math.cos(spec.heading_rad) - world.boat.velocity_m_s[0] - current[0]
    ve = spec.speed_m_s * math.sin(spec.heading_rad) - world.boat.velocity_m_s[1] - current[1]
    closing = -(vn * dn + ve * de) / distance if distance > 0.0 else 0.0
    return Vessel(distance, bearing, closing)


_WORDS = {
    "strike": "goes off",
    "tick": "ticks on the bottom",
    "nothing": "nothing on it",
    "net": "fish at the net",
    "off": "the line goes slack",
}


def event_words(event: Event, names: dict[str, str]) -> str:
    """ "3 P LOW: goes off"."""
    return f"{event.key} {names.get(event.key, '')}".strip() + f": {_WORDS[event.kind]}"


def goal_words(drill: Drill, units: DisplaySystem) -> str:
    """The goal in one line; empty without a goal."""
    goal = drill.goal
    return "" if goal is None else ", ".join(_goal_parts(goal, units)) + f", held for {m_ss(goal.hold_s)}"


def _goal_parts(goal: Goal, units: DisplaySystem) -> list[str]:
    parts = []
    if goal.turned is not None:
        parts.append(f"turned {abs(goal.turned):.0f}° to {side_of(goal.turned)}")
    if goal.heading_rad is not None:
        parts.append(f"heading {math.degrees(goal.heading_rad):03.0f}°")
    if goal.speed_m_s is not None:
        low, high = (units.show(v, Dimension.SPEED, 1, label=False) for v in goal.speed_m_s)
        parts.append(f"{low}–{high} {units.label(Dimension.SPEED)} through the water")
    if goal.rods is not None:
        parts.append("every rod set" if goal.rods == "out" else "every rod in")
    if goal.boxed is not None:
        parts.append("a fish landed" if goal.boxed == 1 else f"{goal.boxed} fish landed")
    if goal.marks:
        parts.append(f"{len(goal.marks)} marks passed")
    if goal.elapsed_s is not None:
        parts.append(f"{goal.elapsed_s / 60.0:.3g} min fished")
    return parts

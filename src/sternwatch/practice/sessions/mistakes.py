"""Finds what went wrong in a practice session: when, the cause, and what would have avoided it. Facts in SI units.

Causes are sought in what the crew did before: a turn beyond the limit on the screen, or a speed below the slowest.
Where none is found, none is named.
"""

from __future__ import annotations

import math
from typing import Any, Final

from sternwatch.practice.drills.model import Drill
from sternwatch.practice.sessions.kept import Allowed, Kept, Moment
from sternwatch.practice.world.fish import keyed, right
from sternwatch.practice.world.truth import Touch
from sternwatch.practice.world.world import World

# Lines cross a minute or two after the turn that brings them together (the turns of `tests/hydro/motion`).
BEFORE_S: Final = 180.0
BEYOND: Final = 0.5  # allowance in degrees in ten seconds, because the limit is shown in whole degrees
TURNING: Final = 2.0  # less in ten seconds is no turn
NEAR_PASSES: Final = 3  # how many mere near misses are named, the nearest first
ROOM_M: Final = 1.0  # the room with which a rod should pass the bottom
LOW_M: Final = 3.0  # with less room than this a crew should act
AFTER_TOUCH_S: Final = 40.0


def mistakes(world: World, kept: Kept) -> list[dict[str, Any]]:
    """All mistakes in order of time, by the drill's clock."""
    found = [*_meetings(world, kept), *_touches(world, kept), *_strikes(world), *_false_hits(world)]
    found += [*_vessel(world, kept), *_goal(world, kept)]
    return sorted(found, key=lambda one: (one["t_s"], one["kind"], one["keys"]))


def bent(drill: Drill) -> list[dict[str, Any]]:
    """What a drill changes on purpose without the console knowing."""
    facts: list[dict[str, Any]] = [
        {
            "kind": fault.kind, "sensor": fault.sensor, "from_s": fault.from_s,
            "for_s": None if fault.for_s >= drill.time_s else fault.for_s,
        }
        for fault in drill.fault
    ]  # fmt: skip
    facts += [
        {
            "kind": "current", "depth_m": one.depth_m, "speed_m_s": one.speed_m_s,
            "towards_deg": round(math.degrees(one.towards_rad), 1),
        }
        for one in drill.current
    ]  # fmt: skip
    return facts


def _fact(kind: str, t_s: float, *keys: str, **more: Any) -> dict[str, Any]:
    rounded = {name: round(value, 3) if isinstance(value, float) else value for name, value in more.items()}
    return {"kind": kind, "t_s": round(t_s, 1), "keys": list(keys)} | rounded


# -- lines that met ------------------------------------------------------------------------------------------------


def _meetings(world: World, kept: Kept) -> list[dict[str, Any]]:
    lead_in = world.drill.start.lead_in_s
    found = []
    for one in world.encounters.crossings:
        t = one.t_s - lead_in
        found.append(_fact("wrapped" if one.wrapped else "touched", t, *one.keys, **cause(kept, t)))
    met = {one.keys for one in world.encounters.crossings}
    near = [one for keys, one in world.encounters.least_of.items() if keys not in met and one.ratio < 1.0]
    for least in sorted(near, key=lambda one: one.ratio)[:NEAR_PASSES]:
        t = least.t_s - lead_in
        found.append(_fact("near", t, *least.keys, ratio=least.ratio, **cause(kept, t)))
    return found


def cause(kept: Kept, t_s: float) -> dict[str, Any]:
    """The helm's part: the moment furthest beyond a limit, else of the tightest turn; empty on a straight course.

    ``cause`` is "tight" (beyond the limit), "slow", "within" (the limit was kept) or "unlooked" (no limit was known);
    ``cause_t_s``, ``turned_deg`` or ``speed_m_s``, and the ``limit`` then in force, None where none was found.
    """
    before = kept.between(t_s - BEFORE_S, t_s)
    over = [(excess, one) for one in before if (excess := _excess(one)) > 0.0]
    if over:
        return _turn(max(over, key=lambda pair: pair[0])[1], beyond=True)
    slow = [one for one in before if one.allowed is not None and _too_slow(one, one.allowed)]
    if slow:
        one = min(slow, key=lambda moment: moment.speed_m_s)
        assert one.allowed is not None
        return {"cause": "slow", "cause_t_s": round(one.drill_s, 1), "speed_m_s": one.speed_m_s,
                "limit": one.allowed.speed_m_s, "risk": one.allowed.risk}  # fmt: skip
    turned = max(before, key=lambda one: abs(one.turned_deg), default=None)
    if turned is None or abs(turned.turned_deg) < TURNING:
        return {}
    return _turn(turned, beyond=False)


def _excess(one: Moment) -> float:
    """Degrees in ten seconds beyond the limit on the side of the turn; not positive within it."""
    if one.allowed is None or abs(one.turned_deg) < TURNING:
        return 0.0
    limit = one.allowed.turn_deg(one.turned_deg)
    return abs(one.turned_deg) if math.isnan(limit) else abs(one.turned_deg) - limit - BEYOND


def _too_slow(one: Moment, allowed: Allowed) -> bool:
    return allowed.speed_m_s is not None and one.speed_m_s < 0.97 * allowed.speed_m_s


def _turn(one: Moment, *, beyond: bool) -> dict[str, Any]:
    limit = None if one.allowed is None else one.allowed.turn_deg(one.turned_deg)
    found = limit is not None and not math.isnan(limit)
    why = "tight" if beyond else "unlooked" if one.allowed is None else "within"
    return {
        "cause": why, "cause_t_s": round(one.drill_s, 1), "turned_deg": one.turned_deg,
        "limit": limit if found else None, "risk": None if one.allowed is None else one.allowed.risk,
    }  # fmt: skip


# -- the bottom ----------------------------------------------------------------------------------------------------


def _touches(world: World, kept: Kept) -> list[dict[str, Any]]:
    lead_in = world.drill.start.lead_in_s
    wanted = world.drill.goal is not None and world.drill.goal.noted is not None  # touching it is the drill's task
    if wanted:
        return []
    times = [(one.t_s - lead_in, one) for one in world.below.touches]
    return [_touch(one, t_s, kept) for t_s, one in times if 0.0 <= t_s <= world.tally.last_s]


def _touch(one: Touch, t_s: float, kept: Kept) -> dict[str, Any]:
    """How much shallower the lure had to be, and when the room became small."""
    about = kept.between(t_s - 2.0, t_s + AFTER_TOUCH_S)
    after = [moment.room_m[one.key] for moment in about if one.key in moment.room_m]
    since = None
    for moment in reversed(kept.between(t_s - BEFORE_S, t_s)):
        if moment.room_m.get(one.key, math.inf) > LOW_M:
            break
        since = moment.drill_s
    least = min(after, default=math.inf)
    return _fact(
        "bottom", t_s, one.key, cause_t_s=since, raise_m=ROOM_M - least if least < ROOM_M else None
    )  # fmt: skip


# -- the crew ------------------------------------------------------------------------------------------------------


def _strikes(world: World) -> list[dict[str, Any]]:
    lead_in, found = world.drill.start.lead_in_s, []
    for one in world.fish.strikes:
        if right(one, world.crew):
            continue
        kind = "not written" if keyed(one, world.crew) is None else "not ended"
        found.append(_fact(kind, one.t_s - lead_in, one.key, what=one.kind))
    return found


def _false_hits(world: World) -> list[dict[str, Any]]:
    matched = {hit.id for one in world.fish.strikes if (hit := keyed(one, world.crew)) is not None}
    lead_in = world.drill.start.lead_in_s
    return [
        _fact("false hit", hit.when.elapsed_s - lead_in, hit.rod)
        for hit in world.crew.hits
        if hit.counts and hit.id not in matched and hit.when.elapsed_s is not None and hit.rod is not None
    ]


# -- the boat ------------------------------------------------------------------------------------------------------


def _vessel(world: World, kept: Kept) -> list[dict[str, Any]]:
    least = next((one.least for one in world.drill.limit if one.measure == "vessel distance"), None)
    near = min(
        (one for one in kept.moments if one.vessel_m is not None), key=lambda one: one.vessel_m or 0.0, default=None
    )
    if least is None or near is None or near.vessel_m is None or world.tally.vessel_m >= least:
        return []
    return [_fact("vessel", near.drill_s, away_m=world.tally.vessel_m, least_m=float(least))]


def _goal(world: World, kept: Kept) -> list[dict[str, Any]]:
    goal = world.drill.goal
    if goal is None or world.tally.done_s is not None:
        return []
    best = max(kept.moments, key=lambda one: one.held_s or 0.0, default=None)
    held = 0.0 if best is None else best.held_s or 0.0
    at = world.tally.last_s if best is None or not held else best.drill_s
    return [_fact("goal", at, held_s=held, hold_s=goal.hold_s)]

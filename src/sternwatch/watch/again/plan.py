"""Plans how to bring a lure through a place: a way for the boat, aimed by the lure and tried with every member.

The place is fixed over ground, while the chains live in water that drifts over it. A boat steered by her position
keeps to the way over ground, so members who believe in another current go another way through the water. Where the
lure lies behind the boat on a long straight gives the first aim. Running the members along the whole way corrects it.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.hydro.separation.distance import Required, closest
from sternwatch.watch.again.legs import SIDES, SIGN, Leg, length_of, way_of
from sternwatch.watch.again.track import track_of
from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.chains.ensemble import Fleet, Run, rods_of, run, settled, with_line
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.forecast.bottom_ahead import Ground, run_touches
from sternwatch.watch.forecast.closer import looked_at
from sternwatch.watch.forecast.make import Risk
from sternwatch.watch.forecast.steered import aside_m, behind_m, lures_m, middle, nears, over_ground_m, transom_m
from sternwatch.watch.picture.manoeuvre import Side
from sternwatch.watch.picture.outlook import RISK

Floats = NDArray[np.float64]
Place2 = tuple[float, float]

USUAL_RADIUS_M = 60.0  # for a side whose limit is not known yet
# Ways turn no tighter than this, whatever the lines allow: nobody keeps to a circle much tighter by the compass, and
# a boat that is slow to turn leaves the way (tried in practice: 20 m put her 38 m beside it, 45 m a few).
LEAST_RADIUS_M = 45.0
# The last straight: long enough for the chain to lie as on a long course, or as short as possible.
LONG_S, SHORT_S = 150.0, 45.0
AFTER_S = 24.0  # on the last straight, beyond the place
LATEST_S = 1800.0  # nobody plans further ahead
AIMED_M = 0.5  # an aim this good is not corrected again
AIMS = 3
LEAST_M_S = 0.2  # through the water: slower than this she drifts, and has no way to plan
NEAR_PLACE_M = 10.0  # a pass this near counts as a pass ...
MOST = 0.5  # ... and ranks before others where so many members pass that near


@dataclass(frozen=True, slots=True)
class Target:
    """What is wanted: rod ``key``'s lure through a place over ground, at a depth, on a heading."""

    key: str
    place_m: Place2  # north, east in the plane of the soundings
    depth_m: float | None  # None: whatever it comes to
    heading_rad: float  # through the water, as at the hit
    speed_m_s: float  # through the water, or over ground
    over_ground: bool = False
    longer_m: float = 0.0  # line to let out (or take in) first, so that there is as much as at the hit
    as_then: RodNow | None = None  # how the rod was set then, for one that is not in the water now
    put_out: bool = False  # the rod must be put out first; the plan counts it as out


@dataclass(frozen=True)
class Asked:
    """All that a plan is made from."""

    target: Target
    fleet: Fleet
    ground: Ground
    speed_m_s: float  # through the water now
    required: Required
    radius_m: dict[Side, float]  # the tightest turn to each side; sides left out are not known
    dangers_m: tuple[tuple[Place2, float], ...] = ()  # nets and snags over ground, and how far to keep from them
    on_bottom: frozenset[str] = frozenset()
    reverse: bool | None = None  # only this direction: a way being steered is aimed again


@dataclass(frozen=True, slots=True)
class Pass:
    """How the members' lures pass the place. Lengths in metres; to starboard of the way positive."""

    time_s: float  # from now
    off_m: float  # median distance in plan at its closest
    within_m: float  # 90 % of the members pass so near
    deeper_m: float | None  # median depth less the depth wanted
    depth_m: float
    depth_range_m: tuple[float, float]
    near: float  # share of the members within NEAR_PLACE_M


@dataclass(frozen=True)
class Proposal:
    """One way, and its results."""

    target: Target
    legs: tuple[Leg, ...]  # the last is the straight through the place
    heading_rad: float  # of the last straight
    reverse: bool
    path: Path
    over_ground_m: Floats  # (samples, 2) where the boat goes: north, east in the plane of the soundings
    passed: Pass
    risk: float  # share of the members in which any lines touch
    members: int  # that decide about it
    worst: tuple[str, str] | None
    touching: tuple[str, ...]  # rods that come to the bottom
    names: tuple[str, ...] = ()  # soonest | surest | same direction

    @property
    def time_s(self) -> float:
        return self.passed.time_s


@dataclass(frozen=True, slots=True)
class Cannot:
    """Raised where there is no way; the message says why in one sentence."""

    why: str


def propose(asked: Asked) -> tuple[Proposal, ...] | Cannot:
    """Propose the soonest way, the surest, and one in the same direction; equal ways are proposed once."""
    target = asked.target
    if target.key not in asked.fleet.cast.keys:
        return Cannot("That rod is not in the water")
    fleet = asked.fleet
    if target.longer_m:
        longer = with_line(fleet, target.key, target.longer_m)
        if longer is None:
            return Cannot("So much line cannot be taken in on that rod")
        fleet = longer
    asked = replace(asked, fleet=fleet)
    tried: list[Proposal] = []
    blocked = False
    for reverse in (False, True) if asked.reverse is None else (asked.reverse,):
        course = _course_of(asked, reverse=reverse)
        if course is None:
            continue
        for approach_s in (SHORT_S, LONG_S):
            made, was_blocked = _best(asked, course, approach_s)
            blocked |= was_blocked
            if made is not None:
                tried.append(made)
    if not tried:
        return Cannot("Every way there goes too near a marked net or snag" if blocked else _too_far(asked))
    return _chosen(tried)


def _too_far(asked: Asked) -> str:
    """Why no way was found although nothing is in the way, and what the crew could do."""
    far_s = math.dist(asked.target.place_m, transom_m(asked.ground)) / max(asked.speed_m_s, 0.1)
    if far_s > LATEST_S / 2.0:
        return f"It cannot be reached in half an hour: it is {far_s / 60.0:.0f} min away. Choose a nearer place"
    return "It cannot be reached in half an hour at that speed. Ask for another speed"


def _chosen(tried: Sequence[Proposal]) -> tuple[Proposal, ...]:
    def soonest(one: Proposal) -> tuple[bool, bool, float]:
        """Sort by lines kept apart, then by a near pass in most members, then by time."""
        return one.risk > RISK, one.passed.near < MOST, one.time_s

    best = {
        "soonest": min(tried, key=soonest),
        "surest": min(tried, key=lambda one: (one.risk > RISK, -one.passed.near, one.passed.within_m)),
    }
    same = [one for one in tried if not one.reverse]
    if same:
        best["same direction"] = min(same, key=soonest)
    out: list[Proposal] = []
    for one in sorted({id(p): p for p in best.values()}.values(), key=lambda p: p.time_s):
        out.append(replace(one, names=tuple(name for name, p in best.items() if p is one)))
    return tuple(out)


@dataclass(frozen=True, slots=True)
class _Course:
    """The last straight: its direction and speed, and how the rod's members alone lie behind the boat on it."""

    reverse: bool
    heading_rad: float
    speed_m_s: float  # through the water
    alone: Fleet
    behind_m: Place2


def _course_of(asked: Asked, *, reverse: bool) -> _Course | None:
    """None where the current does not allow the speed, or nobody knows where the lure would be."""
    target = asked.target
    heading = target.heading_rad + (math.pi if reverse else 0.0)
    speed = _through_water(asked, heading)
    if speed is None:
        return None
    alone = rods_of(asked.fleet, [target.key])
    behind = _behind(alone, target.key, heading, speed)
    return None if behind is None else _Course(reverse, heading, speed, alone, behind)


def _best(asked: Asked, course: _Course, approach_s: float) -> tuple[Proposal | None, bool]:
    """The shortest way clear of dangers, aimed; and whether a danger blocked any other."""
    heading, speed, blocked = course.heading_rad, course.speed_m_s, False
    begun = [(sides, _way(asked, heading, speed, approach_s, course.behind_m, sides)) for sides in SIDES]
    able = [(sides, legs) for sides, legs in begun if legs is not None]
    # The sides stay the same while the aim is corrected: on other sides the lure would pass somewhere else.
    for sides, begin in sorted(able, key=lambda one: length_of(one[1])):
        legs, (path, over) = begin, _track(asked, begin, speed)
        if nears(over, asked.dangers_m):
            blocked = True
            continue
        aim, passed = course.behind_m, _passes(asked, course.alone, path, heading)
        for _ in range(AIMS):
            if passed is None or abs(passed[1]) <= AIMED_M:
                break
            aim = (aim[0], aim[1] + passed[1])
            found = _way(asked, heading, speed, approach_s, aim, sides)
            if found is None:
                return None, blocked
            legs, (path, over) = found, _track(asked, found, speed)
            passed = _passes(asked, course.alone, path, heading)
        if passed is None:
            return None, blocked
        if aim != course.behind_m and nears(over, asked.dangers_m):  # aimed anew it goes elsewhere
            blocked = True
            continue
        return _tried(asked, legs, over, heading, course.reverse, passed[0], passed[2]), blocked
    return None, blocked


def steered_radius_m(limits_m: Mapping[Side, float], side: Side) -> float:
    """The tightest turn to a side that the lines allow and that can be steered."""
    return max(limits_m.get(side, USUAL_RADIUS_M), LEAST_RADIUS_M)


def _through_water(asked: Asked, heading: float) -> float | None:
    """The speed through the water that is wanted on a heading; None where the current does not allow it."""
    target = asked.target
    if not target.over_ground:
        return target.speed_m_s
    along = asked.ground.drift_m_s[0] * math.cos(heading) + asked.ground.drift_m_s[1] * math.sin(heading)
    across = asked.ground.drift_m_s[1] * math.cos(heading) - asked.ground.drift_m_s[0] * math.sin(heading)
    rest = target.speed_m_s**2 - across**2
    speed = math.sqrt(rest) - along if rest > 0 else 0.0
    return speed if speed > LEAST_M_S else None


def _behind(alone: Fleet, key: str, heading: float, speed: float) -> Place2 | None:
    """Place of the lure on a long straight, the median of the members: (astern, to starboard); None: unknown."""
    lying = settled(alone.cast, heading_rad=heading, speed_m_s=speed)
    astern, abeam, _ = middle(behind_m(lying, lying.cast.keys.index(key)))
    return (float(astern), float(abeam)) if math.isfinite(astern + abeam) else None


def _way(
    asked: Asked, heading: float, speed: float, approach_s: float, offset: Place2, sides: tuple[Side, Side]
) -> tuple[Leg, ...] | None:
    """The way that turns to these sides and brings the lure through the place, which drifts through the water."""
    ground, target = asked.ground, asked.target
    begin = transom_m(ground)
    c, s = math.cos(heading), math.sin(heading)
    aim = (
        target.place_m[0] + offset[0] * c + offset[1] * s - begin[0],
        target.place_m[1] + offset[0] * s - offset[1] * c - begin[1],
    )
    approach = approach_s * speed
    radii = {side: steered_radius_m(asked.radius_m, side) for side in SIGN}
    takes_s = math.hypot(*aim) / speed + approach_s
    way: tuple[Leg, ...] = ()
    for _ in range(12):
        north, east = (aim[axis] - ground.drift_m_s[axis] * takes_s for axis in range(2))
        end = (north - approach * c, east - approach * s, heading)
        found = way_of((0.0, 0.0, asked.fleet.heading_rad), end, sides, radii)
        if found is None:
            return None
        way = found
        before, takes_s = takes_s, (length_of(way) + approach) / speed
        if takes_s > LATEST_S:
            return None
        if abs(takes_s - before) < 0.2:
            break
    return (*way, Leg(approach + AFTER_S * speed))


def _track(asked: Asked, legs: tuple[Leg, ...], speed: float) -> tuple[Path, Floats]:
    """A way as a track through the water, and over ground."""
    path = track_of(legs, heading_rad=asked.fleet.heading_rad, speed_m_s=asked.speed_m_s, to_speed_m_s=speed)
    return path, over_ground_m(path, asked.ground)


def _passes(asked: Asked, alone: Fleet, path: Path, heading: float) -> tuple[Pass, float, Run] | None:
    """How the lure passes the place, its median distance to starboard of it, and the rod's run along the path.

    None where too little is known.
    """
    target = asked.target
    aside = aside_m(alone, path, asked.speed_m_s)
    done = run(alone, path, aside)
    rod = done.cast.keys.index(target.key)
    known = done.known[:, rod]
    if known.mean() < 0.5:
        return None
    way = lures_m(done, alone, asked.ground, rod, aside)[:, known]
    c, s = math.cos(heading), math.sin(heading)
    north, east = way[..., 0] - target.place_m[0], way[..., 1] - target.place_m[1]
    along, across = north * c + east * s, east * c - north * s
    times, off, depth = [], [], []
    for member in range(way.shape[1]):
        behind = np.flatnonzero((along[:-1, member] < 0.0) & (along[1:, member] >= 0.0))
        if not len(behind):
            continue
        k = int(behind[-1])
        share = -along[k, member] / (along[k + 1, member] - along[k, member])
        times.append(path.time_s[k] + share * path.step_s[k])
        off.append(across[k, member] + share * (across[k + 1, member] - across[k, member]))
        depth.append(way[k, member, 2] + share * (way[k + 1, member, 2] - way[k, member, 2]))
    if len(times) < 0.5 * way.shape[1]:
        return None
    middle, low, high = np.quantile(depth, (0.5, 0.05, 0.95)).tolist()
    off_m, within_m = np.quantile(np.abs(off), (0.5, 0.9)).tolist()
    time_s, beside_m = np.median((times, off), axis=1).tolist()
    passed = Pass(
        time_s=time_s,
        off_m=off_m,
        within_m=within_m,
        deeper_m=None if target.depth_m is None else middle - target.depth_m,
        depth_m=middle,
        depth_range_m=(low, high),
        near=float(np.mean(np.abs(off) <= NEAR_PLACE_M)) * len(times) / way.shape[1],
    )
    return passed, beside_m, done


def _tried(
    asked: Asked, legs: tuple[Leg, ...], over_m: Floats, heading: float, reverse: bool, passed: Pass, alone: Run
) -> Proposal:
    """The whole spread along the way: lines that touch, rods that come to the bottom. ``alone``: the rod's run."""
    path, whole = alone.path, asked.fleet

    def aside(fleet: Fleet) -> Floats:
        return aside_m(fleet, path, asked.speed_m_s)

    done = alone if alone.cast.keys == whole.cast.keys else run(whole, path, aside(whole))
    risk = None
    if len(whole.cast.keys) > 1:  # else there is no line to touch
        found = closest(polylines(done), path.time_s, done.cast.strands, asked.required, resolve=1.0)
        risk = Risk(done, found, looked_at(whole, done, found, asked.required, for_all=True, aside_m=aside))
    met = run_touches(done, asked.ground, asked.on_bottom, look_s=LATEST_S)
    return Proposal(
        target=asked.target,
        legs=legs,
        heading_rad=heading % math.tau,
        reverse=reverse,
        path=path,
        over_ground_m=over_m,
        passed=passed,
        risk=0.0 if risk is None else risk.any,
        members=done.cast.members if risk is None else risk.members,
        worst=None if risk is None else risk.worst,
        touching=tuple(touch.key for touch in met),
    )

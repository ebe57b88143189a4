"""Collects what a plan needs from the watch, on the watch's own thread: where things are now, and what is wanted."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.again.legs import SIGN
from sternwatch.watch.again.plan import LEAST_M_S, Asked, Cannot, Target
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.bottom.passings import MARGIN_M
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.chains.ensemble import Fleet, cast_of, required_of, settled
from sternwatch.watch.forecast.bottom_ahead import ground_of, on_purpose
from sternwatch.watch.forecast.snapshot import Casting, Snapshot
from sternwatch.watch.forecast.turn_limit import finish, side_limit
from sternwatch.watch.memory.hits import HitContext
from sternwatch.watch.picture.manoeuvre import Side
from sternwatch.watch.picture.outlook import Limits

# Added to the margin that lines keep from a net or snag, because the spread is wider than the boat.
SPREAD_M = 15.0
LEAST_LENGTH_M = 0.3  # a smaller change of line is not worth making


def of_hit(
    context: HitContext | None, origin_deg: tuple[float, float] | None, out_m: float | None
) -> Target | Cannot:
    """The lure's place, depth, heading and speed of a hit. ``out_m``: that rod's line out now, by its counter."""
    if context is None or context.moment is None or context.rod is None:
        return Cannot("Nothing is known about the time of that hit")
    moment, rod = context.moment, context.at_rod
    if rod is None or rod.position_deg is None or origin_deg is None:
        return Cannot("The place of the lure at that hit is not known")
    if moment.speed_m_s is None:
        return Cannot("The boat's speed at that hit is not known")
    if moment.speed_m_s <= LEAST_M_S:
        return Cannot("The boat made no way through the water at that hit")
    then = rod.line_out_m
    longer = then - out_m if then is not None and out_m is not None else 0.0
    return Target(
        key=context.rod,
        place_m=local_metres(origin_deg, rod.position_deg),
        depth_m=rod.depth_m,
        heading_rad=math.radians(moment.heading_deg if moment.heading_deg is not None else moment.points_deg),
        speed_m_s=moment.speed_m_s,
        longer_m=longer if abs(longer) > LEAST_LENGTH_M else 0.0,
        as_then=RodNow(line_out_as_counter_m=then, setting=rod.setting, lead_m=rod.lead_m),
    )


def of_place(key: str, place_m: tuple[float, float], depth_m: float | None, boat: Boat) -> Target | Cannot:
    """A mark, fish seen, or a place of the chart (north, east in the plane of the soundings): on this course."""
    if boat.speed_m_s <= LEAST_M_S:
        return Cannot("The boat makes no way through the water: a way is planned once she does")
    return Target(key, place_m, depth_m, math.radians(boat.heading_deg), boat.speed_m_s)


def asked_now(
    target: Target, now: Snapshot | None, bottom: Bottom, boat: Boat, limits: Limits | None = None,
    casting: Casting | None = None,
) -> Asked | Cannot:  # fmt: skip
    """The rest of a plan's input, as it is now. ``limits``: the tightest turns, where they are known.

    ``casting``: of another target at the same moment.
    """
    if now is None:
        return Cannot("There is no speed, or no rod in the water")
    ground = ground_of(now.t_s, bottom, boat)
    if ground is None:
        return Cannot("The boat's place is not known, or the bottom has not been sounded yet")
    if target.key not in now.rods and target.as_then is not None:
        fleet = _put_out(target.key, target.as_then, now)
        target = replace(target, longer_m=0.0, put_out=True)
    else:
        fleet = (casting or Casting()).fleet(now)
    return Asked(
        target, fleet, ground, now.speed_m_s, required_of(now.spread), radii_of(limits), dangers_of(bottom),
        on_purpose(now.spread),
    )  # fmt: skip


def dangers_of(bottom: Bottom) -> tuple[tuple[tuple[float, float], float], ...]:
    """Nets and snags over ground, and how far the boat must keep from each."""
    return tuple(
        (spot.at_m, MARGIN_M[spot.what] + SPREAD_M)
        for spot in bottom.marked.marks()
        if spot.what in MARGIN_M and spot.at_m is not None
    )


def _put_out(key: str, as_then: RodNow, now: Snapshot) -> Fleet:
    """The spread on a long straight at the present speed, with one rod more."""
    cast = cast_of(
        now.spread, {**now.rods, key: as_then}, water=now.water, flow=now.flow, draws=now.beliefs.draws,
        speed_m_s=now.speed_m_s,
    )  # fmt: skip
    lying = settled(cast, heading_rad=now.heading_rad, speed_m_s=now.speed_m_s)
    return replace(lying, velocity_m_s=now.beliefs.velocity_m_s.copy())


def radii_of(limits: Limits | None) -> dict[Side, float]:
    """The tightest turn to each side within the risk allowed. A side that is not known is left out."""
    out: dict[Side, float] = {}
    if limits is None:
        return out
    if limits.port.radius_m is not None:
        out["port"] = limits.port.radius_m
    if limits.starboard.radius_m is not None:
        out["starboard"] = limits.starboard.radius_m
    return out


def radii_found(fleet: Fleet, speed_m_s: float, required: Required, known: Mapping[Side, float]) -> dict[Side, float]:
    """The same, computed here for the lines as they lie now. Used where no outlook has computed it."""
    out = dict(known)
    for side in SIGN:
        limit = finish(side_limit(fleet, side, speed_m_s=speed_m_s, required=required))
        if limit.radius_m is not None:
            out[side] = limit.radius_m
    return out


def over_ground(target: Target, speed_m_s: float) -> Target:
    """The same with its speed over ground."""
    return replace(target, speed_m_s=speed_m_s, over_ground=True)

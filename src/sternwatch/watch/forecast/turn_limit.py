"""Finds the tightest turn to each side, and the slowest speed, with a risk of any crossing within a set limit.

Risk need not be monotone in radius or speed. The result is the smallest radius (the least speed) above which all that
were tried pass. All are tried with the same members (common random numbers). Where a search has been made of nearly
the same, only its edges are tried again: the tightest that passed and what follows; if the first fails now, all are.
"""

from __future__ import annotations

import math
from collections.abc import Container, Generator, Sequence
from typing import TypeVar

import numpy as np

from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.boat.manoeuvres import turn
from sternwatch.watch.chains.ensemble import Fleet
from sternwatch.watch.forecast.make import Risk, risk
from sternwatch.watch.picture.manoeuvre import Manoeuvre, Side
from sternwatch.watch.picture.outlook import RISK, Limits, SideLimit, SpeedLimit

RADII_M = (120.0, 100.0, 80.0, 60.0, 50.0, 40.0, 32.0, 25.0, 20.0, 15.0, 12.0)
NEAR = 1.15  # radii whose ratio is smaller have none between them
# Shares of the present speed.
SPEED_SHARES = (0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3)
HALF_CIRCLE_DEG = 180.0

T = TypeVar("T")
# A search yields after each run of the ensemble, and returns its result at the end.
Search = Generator[None, None, T]


def side_limit(
    fleet: Fleet,
    side: Side,
    *,
    speed_m_s: float,
    required: Required,
    set_risk: float = RISK,
    radii_m: Sequence[float] = RADII_M,
    before: SideLimit | None = None,
) -> Search[SideLimit]:
    """Try half circles of smaller and smaller radius until one fails. ``before``: the limit of nearly the same.

    Between the last radius that passes and the first that fails, one more is tried.
    """
    radii = sorted(radii_m, reverse=True)
    edge = None if before is None else before.radius_m
    wider = [one for one in before.tried_m if edge is not None and one[0] > edge] if before is not None else []
    tried: list[tuple[float, float]] = []
    passed: float | None = None
    between = False
    limited_by = None
    left = radii if edge is None else [edge, *(radius for radius in radii if radius < edge)]
    while left and speed_m_s > 0.0:
        radius = left.pop(0)
        found = risk(fleet, turn(side, HALF_CIRCLE_DEG, radius_m=radius), speed_m_s=speed_m_s, required=required)
        yield
        if found.any > set_risk and radius == edge:
            left, edge, wider = list(radii), None, []  # no longer: all are tried
            continue
        tried.append((radius, found.any))
        if found.any > set_risk:
            limited_by = found.worst
            left = [] if passed is None or between else _between(passed, radius)
            between = True
            continue
        passed = radius
    tried = sorted(wider + tried, reverse=True)
    if passed is None:
        return SideLimit(side, None, None, None, limited_by, tuple(tried))
    seconds = math.pi * passed / speed_m_s
    return SideLimit(side, passed, HALF_CIRCLE_DEG / seconds, seconds, limited_by, tuple(tried))


def _between(passed_m: float, failed_m: float) -> list[float]:
    """A radius between two, to a whole metre; none where they are near."""
    return [float(round(math.sqrt(passed_m * failed_m)))] if passed_m > NEAR * failed_m else []


def slowest(
    fleet: Fleet,
    *,
    speed_m_s: float,
    required: Required,
    bottom_m: float | None = None,
    on_bottom: Container[str] = (),
    set_risk: float = RISK,
    shares: Sequence[float] = SPEED_SHARES,
    before: SpeedLimit | None = None,
) -> Search[SpeedLimit]:
    """Try slower and slower straight courses until lines cross or, over known bottom, something touches it.

    ``on_bottom``: rods fished on the bottom on purpose; they may touch. ``before``: the limit of nearly the same.
    """
    steps = [1.0, *sorted(shares, reverse=True)]
    first = 0
    if before is not None and before.speed_m_s is not None:
        first = int(np.argmin([abs(share * speed_m_s - before.speed_m_s) for share in steps]))
    tried: list[tuple[float, float]] = [] if before is None else list(before.tried_m_s[:first])
    passed: float | None = None
    left = steps[first:]
    while left:
        share = left.pop(0)
        slow = Manoeuvre("slower", to_speed_m_s=share * speed_m_s)
        found = risk(fleet, slow, speed_m_s=speed_m_s, required=required)
        touching = touches(found, bottom_m, on_bottom)
        trouble = max(found.any, max(touching.values(), default=0.0))
        yield
        if trouble > set_risk and first and share == steps[first]:
            left, first, tried = list(steps), 0, []  # no longer: all are tried
            continue
        tried.append((share * speed_m_s, trouble))
        if trouble > set_risk:
            cause, keys = "bottom", tuple(key for key, part in touching.items() if part > set_risk)
            if found.any > set_risk:
                cause, keys = "crossing", found.worst or ()
            return SpeedLimit(passed, cause, keys, tuple(tried))
        passed = share * speed_m_s
    return SpeedLimit(passed, "", (), tuple(tried))


def touches(found: Risk, bottom_m: float | None, on_bottom: Container[str]) -> dict[str, float]:
    """For each rod the share of members whose chain touches a level bottom."""
    if bottom_m is None:
        return {}
    done = found.run
    out = {}
    for rod, key in enumerate(done.cast.keys):
        known = done.known[:, rod]
        if key in on_bottom or not known.any():
            continue
        # In two steps: a mask and a number on both sides of a slice would move the members to the front.
        depths = done.positions_m[:, :, rod, : done.cast.rows.n_nodes[rod], 2][:, known]
        deepest = depths.max(axis=(0, 2))
        out[key] = float(np.mean(deepest >= bottom_m))
    return out


def search_limits(
    fleet: Fleet,
    t_s: float,
    *,
    speed_m_s: float,
    required: Required,
    bottom_m: float | None = None,
    on_bottom: Container[str] = (),
    set_risk: float = RISK,
    before: Limits | None = None,
) -> Search[Limits]:
    """Search both sides and the slowest speed, from the fleet's place at ``t_s``. ``before``: of nearly the same."""
    port = yield from side_limit(
        fleet,
        "port",
        speed_m_s=speed_m_s,
        required=required,
        set_risk=set_risk,
        before=None if before is None else before.port,
    )
    starboard = yield from side_limit(
        fleet, "starboard", speed_m_s=speed_m_s, required=required, set_risk=set_risk,
        before=None if before is None else before.starboard,
    )  # fmt: skip
    slow = yield from slowest(
        fleet, speed_m_s=speed_m_s, required=required, bottom_m=bottom_m, on_bottom=on_bottom, set_risk=set_risk,
        before=None if before is None else before.slowest,
    )  # fmt: skip
    return Limits(t_s, port, starboard, slow, set_risk)


def finish(search: Search[T]) -> T:
    """Run a search to its end, and return its result."""
    while True:
        try:
            next(search)
        except StopIteration as done:
            result: T = done.value
            return result

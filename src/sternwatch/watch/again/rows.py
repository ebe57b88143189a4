"""Proposals for programs: JSON rows in SI, and routes as GPX 1.1.

A row: ``names`` (soonest, surest, same direction), ``rod``, ``longer_m``, ``heading_deg`` and ``speed_m_s`` of the
last straight, ``reverse``, ``legs`` (``side`` or null, ``degrees``, ``length_m``, ``seconds``), ``time_s`` to the
pass, ``put_out`` (the rod must be put out first), ``off_m`` (median), ``within_m`` (90 % of the members),
``near_10_m`` (share of the members), ``depth_m``, ``depth_interval_m`` (5 and 95 %), ``deeper_m`` than wanted,
``probability`` that any lines touch, ``members``, ``worst`` pair, ``touching`` the bottom.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import Any

from sternwatch.watch.again.legs import HAIR, Leg
from sternwatch.watch.again.plan import Cannot, Proposal
from sternwatch.watch.again.steering import Way
from sternwatch.watch.bottom.soundings import local_degrees
from sternwatch.watch.picture.manoeuvre import side_of

EVERY_M = 25.0  # between the points of a route on an arc


def rows(found: tuple[Proposal, ...] | Cannot) -> dict[str, Any]:
    """``{"proposals": [...]}``, or an empty list and ``why``."""
    if isinstance(found, Cannot):
        return {"proposals": [], "why": found.why}
    return {"proposals": [row(one) for one in found]}


def row(made: Proposal) -> dict[str, Any]:
    """One proposal as JSON; numbers to the millimetre and millisecond."""
    passed, speed = made.passed, float(made.path.speed_m_s[-1])
    return {
        "names": list(made.names),
        "rod": made.target.key,
        "longer_m": short(made.target.longer_m),
        "put_out": made.target.put_out,
        "heading_deg": short(math.degrees(made.heading_rad) % 360.0),
        "speed_m_s": short(speed),
        "reverse": made.reverse,
        "legs": leg_rows(made.legs, speed),
        "time_s": short(passed.time_s),
        "off_m": short(passed.off_m),
        "within_m": short(passed.within_m),
        "near_10_m": short(passed.near),
        "depth_m": short(passed.depth_m),
        "depth_interval_m": [short(end) for end in passed.depth_range_m],
        "deeper_m": None if passed.deeper_m is None else short(passed.deeper_m),
        "probability": short(made.risk),
        "members": made.members,
        "worst": None if made.worst is None else list(made.worst),
        "touching": list(made.touching),
    }


def leg_rows(legs: Iterable[Leg], speed_m_s: float) -> list[dict[str, Any]]:
    """Legs as JSON."""
    return [
        {
            "side": side_of(leg.turn_rad) if leg.turn_rad else None,
            "degrees": short(abs(math.degrees(leg.turn_rad))),
            "length_m": short(leg.length_m),
            "seconds": short(leg.length_m / speed_m_s),
        }
        for leg in legs
    ]


def short(value: float) -> float:
    """Round to the millimetre or millisecond."""
    return round(float(value), 3)


def route_names(found: Iterable[Proposal], name: str) -> list[str]:
    """A name for each proposal's route; ``name``: of the place to pass again."""
    return [f"{name}: {', '.join(one.names) or number}" for number, one in enumerate(found, 1)]


def routes(named: Iterable[tuple[str, Way]], origin_deg: tuple[float, float]) -> str:
    """Ways with their names as routes of a GPX 1.1 file."""
    import gpxpy.gpx

    made = gpxpy.gpx.GPX()
    made.creator = "sternwatch"
    made.description = "Proposals of where to steer, computed. Not for navigation."
    for name, one in named:
        route = gpxpy.gpx.GPXRoute(name=name)
        for north, east in _points(one):
            latitude, longitude = local_degrees(origin_deg, (north, east))
            route.points.append(gpxpy.gpx.GPXRoutePoint(round(latitude, 7), round(longitude, 7)))
        made.routes.append(route)
    return str(made.to_xml(version="1.1"))


def _points(made: Way) -> list[tuple[float, float]]:
    """The ends of straights, and points on arcs at equal distances."""
    over, heading = made.over_ground_m, made.path.heading_rad
    kept, since = [0], 0.0
    for k in range(1, len(over) - 1):
        since += math.dist(over[k], over[k - 1])
        bends = abs(heading[k + 1] - heading[k]) > HAIR
        bent = abs(heading[k] - heading[k - 1]) > HAIR
        if bends != bent or (bends and since >= EVERY_M):
            kept.append(k)
            since = 0.0
    return [(float(over[k, 0]), float(over[k, 1])) for k in [*kept, len(over) - 1]]

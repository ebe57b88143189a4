"""Legs of a way: arcs and straights from where the boat is to where her last straight begins.

The shortest ways between two places with given headings, where a boat may turn no tighter than a radius, are an arc,
a straight and an arc, or three arcs [Dubins 1957, On curves of minimal length with a constraint on average curvature,
Amer. J. Math. 79:497; from memory]. Those with a straight in the middle are taken, each side with its own radius.
Headings are clockwise from north, in radians; places are (north, east) in metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sternwatch.watch.picture.manoeuvre import Side

Pose = tuple[float, float, float]  # north, east, heading
HAIR = 1e-6  # lengths and angles that differ by less are the same [m, rad]
SIGN: dict[Side, float] = {"port": -1.0, "starboard": 1.0}
SIDES: tuple[tuple[Side, Side], ...] = (
    ("port", "port"), ("port", "starboard"), ("starboard", "port"), ("starboard", "starboard"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Leg:
    """A straight (``turn_rad`` 0) or an arc; to starboard positive."""

    length_m: float
    turn_rad: float = 0.0


def length_of(way: tuple[Leg, ...]) -> float:
    """How far it is, in metres."""
    return sum(leg.length_m for leg in way)


def _centre(pose: Pose, side: Side, radius: float) -> tuple[float, float]:
    north, east, heading = pose
    sign = SIGN[side]
    return north - sign * radius * math.sin(heading), east + sign * radius * math.cos(heading)


def way_of(start: Pose, end: Pose, sides: tuple[Side, Side], radius_m: dict[Side, float]) -> tuple[Leg, ...] | None:
    """The way whose first and last turns go to these sides. Its straight touches both circles.

    None where one circle is inside the other, or where circles of different sides overlap.
    """
    first, last = sides
    r1, r2, s1, s2 = radius_m[first], radius_m[last], SIGN[first], SIGN[last]
    c1, c2 = _centre(start, first, r1), _centre(end, last, r2)
    north, east = c2[0] - c1[0], c2[1] - c1[1]
    apart = math.hypot(north, east)
    # From circle to circle, the straight's distance to starboard changes from -s1 r1 to -s2 r2.
    shift = s1 * r1 - s2 * r2
    if apart <= abs(shift) + HAIR:
        if apart > HAIR or abs(shift) > HAIR:
            return None
        turn = _turned(s1, end[2] - start[2])
        return _joined([Leg(r1 * turn, s1 * turn)])
    straight = math.sqrt(apart * apart - shift * shift)
    heading = math.atan2(east, north) + math.asin(shift / apart)
    before, after = _turned(s1, heading - start[2]), _turned(s2, end[2] - heading)
    return _joined([Leg(r1 * before, s1 * before), Leg(straight), Leg(r2 * after, s2 * after)])


def _turned(sign: float, by: float) -> float:
    """How far to turn to this side, in [0, 2 pi). All but a whole circle counts as no turn."""
    turn = (sign * by) % math.tau
    return 0.0 if math.tau - turn < HAIR else turn


def _joined(legs: list[Leg]) -> tuple[Leg, ...]:
    return tuple(leg for leg in legs if leg.length_m > HAIR)


def end_of(start: Pose, way: tuple[Leg, ...]) -> Pose:
    """Where a way ends."""
    north, east, heading = start
    for leg in way:
        chord = leg.length_m * (math.sin(0.5 * leg.turn_rad) / (0.5 * leg.turn_rad) if leg.turn_rad else 1.0)
        middle = heading + 0.5 * leg.turn_rad
        north, east = north + chord * math.cos(middle), east + chord * math.sin(middle)
        heading += leg.turn_rad
    return north, east, heading

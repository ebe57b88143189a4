"""Converts between the boat's axes and the frame that drifts with the surface water."""

from __future__ import annotations

import math
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]


class Towing(Protocol):
    """What tows chains: the boat as the watch estimates it, or a simulated one that is known exactly.

    Place and velocity in the frame that drifts with the surface water; headings clockwise from north.
    """

    @property
    def north_m(self) -> float: ...
    @property
    def east_m(self) -> float: ...
    @property
    def heading_deg(self) -> float: ...
    @property
    def speed_m_s(self) -> float: ...
    @property
    def velocity_m_s(self) -> tuple[float, float]: ...


def turn_of(boat: Towing) -> tuple[float, float]:
    """Cosine and sine of the heading."""
    a = math.radians(boat.heading_deg)
    return math.cos(a), math.sin(a)


def to_earth(points_m: Floats, boat: Towing) -> Floats:
    """Boat axes (forward, starboard, down) to the water frame (north, east, down); (n, 3)."""
    return laid(points_m, boat.north_m, boat.east_m, turn_of(boat))


def to_boat(points_m: Floats, boat: Towing) -> Floats:
    """The water frame to (astern, to starboard, down); (n, 3)."""
    return seen(points_m, boat.north_m, boat.east_m, turn_of(boat))


def laid(points_m: Floats, north_m: float, east_m: float, turn: tuple[float, float]) -> Floats:
    """Boat axes to the water frame for a boat at its own place. ``turn``: cosine and sine of its heading."""
    c, s = turn
    if len(points_m) == 1:  # as most are; whole arrays would take ten times as long
        x, y, z = points_m[0].tolist()
        return np.array([[north_m + x * c - y * s, east_m + x * s + y * c, z]])
    ahead, abeam = points_m[:, 0], points_m[:, 1]
    out = np.empty(points_m.shape)
    out[:, 0] = north_m + ahead * c - abeam * s
    out[:, 1] = east_m + ahead * s + abeam * c
    out[:, 2] = points_m[:, 2]
    return out


def seen(points_m: Floats, north_m: float | Floats, east_m: float | Floats, turn: tuple[float, float]) -> Floats:
    """The inverse of ``laid``, astern positive. Every point may have its own boat: places (n,)."""
    c, s = turn
    north, east = points_m[:, 0] - north_m, points_m[:, 1] - east_m
    out = np.empty_like(points_m)
    out[:, 0] = -(north * c + east * s)
    out[:, 1] = east * c - north * s
    out[:, 2] = points_m[:, 2]
    return out


def arc_of(lengths_m: Floats) -> Floats:
    """Arc length (n + 1,) of the nodes between segments of these lengths (n,)."""
    arc: Floats = np.concatenate([[0.0], np.cumsum(lengths_m)])
    return arc


def share_along(start_m: Floats, along_m: Floats, at_m: Floats) -> Floats:
    """Where straight pieces (n,) come nearest to a place: the share of each that lies before that point, 0 to 1."""
    length = np.maximum((along_m * along_m).sum(axis=1), 1e-12)  # a piece of no length is as near everywhere
    share: Floats = np.clip(((at_m - start_m) * along_m).sum(axis=1) / length, 0.0, 1.0)
    return share


def point_on(rest_m: Floats, nodes_m: Floats, node: int, inward_m: float) -> Floats:
    """The point (3,) on a chain ``inward_m`` of line before its node ``node``. Rest lengths (segments,)."""
    arc = arc_of(rest_m[:node])
    at = max(float(arc[-1]) - inward_m, 0.0)
    return np.array([np.interp(at, arc, nodes_m[: node + 1, axis]) for axis in range(3)])

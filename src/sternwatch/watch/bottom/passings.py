"""Finds nets and snags that the lines will pass if the boat goes straight on, in time to steer round."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.bottom.marked_places import SHOWN_WITHIN_M, Spot
from sternwatch.watch.bottom.over_ground import OverGround, Place2
from sternwatch.watch.bottom.soundings import Soundings

if TYPE_CHECKING:
    from sternwatch.watch.chains.rod_chain import RodChain

Floats = NDArray[np.float64]

WARN_S = 180.0
# A chain must not come this near. A mark is one point of a long net; a snag is where the fix said (memory).
MARGIN_M = {"net": 30.0, "snag": 10.0}
# A snag stands this high off the bottom (memory). Anything higher passes over it.
SNAG_HEIGHT_M = 5.0


@dataclass(frozen=True, slots=True)
class Passing:
    """Rods that pass a mark if the boat goes straight on. ``aside_m`` to starboard (port negative) clears it."""

    spot: Spot
    keys: tuple[str, ...]
    time_s: float
    aside_m: float


def passings(
    marks: Iterable[Spot],
    chains: Mapping[str, RodChain],
    soundings: Soundings,
    over: OverGround,
    velocity_m_s: Place2,
) -> list[Passing]:
    """Nets and snags that chains reach within three minutes, soonest first.

    ``velocity_m_s``: the boat's velocity over ground, (north, east), not zero.
    """
    velocity, place = velocity_m_s, over.place_m
    spots = [spot for spot in marks if spot.what in MARGIN_M]
    if not spots or place is None:
        return []
    speed = math.hypot(*velocity)
    one = (velocity[0] / speed, velocity[1] / speed)
    shapes = {key: _course_axes(over, chain.place.shape_m, one) for key, chain in chains.items() if chain.place}
    found = []
    for spot in spots:
        if spot.at_m is None:
            continue
        north, east = spot.at_m[0] - place[0], spot.at_m[1] - place[1]
        along, across = north * one[0] + east * one[1], east * one[0] - north * one[1]
        if not -SHOWN_WITHIN_M < along < WARN_S * speed:
            continue
        passing = _passing(soundings, spot, along, across, shapes, speed)
        if passing is not None:
            found.append(passing)
    return sorted(found, key=lambda one: (one.time_s, one.spot.id))


def _course_axes(over: OverGround, shape_m: Floats, one: Place2) -> Floats:
    """A chain (n, 3) as (along the course from the antenna, across it to starboard, depth)."""
    c, s = over.turn
    forward = -shape_m[:, 0] - over.antenna_m
    north = forward * c - shape_m[:, 1] * s
    east = forward * s + shape_m[:, 1] * c
    return np.column_stack([north * one[0] + east * one[1], east * one[0] - north * one[1], shape_m[:, 2]])


def _passing(
    soundings: Soundings, spot: Spot, along: float, across: float, shapes: dict[str, Floats], speed: float
) -> Passing | None:
    margin = MARGIN_M[spot.what]
    least_depth = -math.inf
    if spot.what == "snag":
        bottom = soundings.about(*spot.at_m) if spot.at_m is not None else None
        least_depth = bottom.depth_m - SNAG_HEIGHT_M if bottom is not None else -math.inf
    keys, times, sides = [], [], []
    for key, shape in shapes.items():
        deep = shape[shape[:, 2] >= max(least_depth, 0.0)]
        if not len(deep):
            continue
        near = deep[np.abs(deep[:, 1] - across) <= margin]
        if not len(near):
            between = deep[:, 1].min() <= across <= deep[:, 1].max()
            near = deep[[int(np.argmin(np.abs(deep[:, 1] - across)))]] if between else near
        times_s = (along - near[:, 0]) / speed
        to_come = times_s[times_s > 0.0]
        if not len(to_come) or to_come.min() > WARN_S:
            continue
        keys.append(key)
        times.append(float(to_come.min()) if len(to_come) == len(times_s) else 0.0)
        sides += [float(deep[:, 1].min()), float(deep[:, 1].max())]
    if not keys:
        return None
    starboard, port = across + margin - min(sides), max(sides) + margin - across
    return Passing(spot, tuple(keys), min(times), starboard if starboard <= port else -port)

"""A boat steered by her position: each member's track through its own water, and its lures' paths over ground.

The chains are in the water, which drifts over the ground. When a boat keeps to a track over ground, each member, with
its own current, has another track through the water.
"""

from __future__ import annotations

import math
import warnings

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.boat.manoeuvres import Path
from sternwatch.watch.chains.ensemble import Fleet, Run
from sternwatch.watch.forecast.bottom_ahead import Ground
from sternwatch.watch.forecast.make import body_nodes

Floats = NDArray[np.float64]
Place2 = tuple[float, float]


def transom_m(ground: Ground) -> Place2:
    """Place of the transom now, in the plane of the soundings."""
    return (
        ground.place_m[0] - ground.antenna_m * math.cos(ground.heading_rad),
        ground.place_m[1] - ground.antenna_m * math.sin(ground.heading_rad),
    )


def over_ground_m(path: Path, ground: Ground) -> Floats:
    """(S, 2) the transom's track over ground: north, east in the plane of the soundings."""
    through = np.stack([path.north_m, path.east_m], axis=1)
    over: Floats = through + path.time_s[:, None] * np.array(ground.drift_m_s) + np.array(transom_m(ground))
    return over


def aside_m(fleet: Fleet, path: Path, speed_m_s: float) -> Floats:
    """(S, M, 2) each member's track through the water less the nominal one, for the same track over ground.

    ``speed_m_s``: through the water now, for the nominal chain.
    """
    if fleet.velocity_m_s is None:
        return np.zeros((len(path.time_s), fleet.cast.members, 2))
    along = speed_m_s * np.array([math.cos(fleet.heading_rad), math.sin(fleet.heading_rad)])
    return path.time_s[:, None, None] * (fleet.velocity_m_s - along)[None]


def lures_m(done: Run, fleet: Fleet, ground: Ground, rod: int, aside: Floats) -> Floats:
    """(S, M, 3) a rod's lure: north, east in the plane of the soundings, and depth."""
    node = int(body_nodes(done.cast, rod)[-1])
    lure = done.positions_m[:, :, rod, node].copy()
    drift = done.path.time_s[:, None, None] * np.array(ground.drift_m_s)
    lure[..., :2] += drift - fleet.boat_m[None] - aside + np.array(transom_m(ground))
    return lure


def behind_m(lying: Fleet, rod: int) -> Floats:
    """(M, 3) place of a rod's lure behind the boat on a long straight: astern, to starboard, depth; nan: unknown."""
    rows = rod + lying.cast.rods * np.arange(lying.cast.members)
    lure = lying.state.position_m[rows, int(body_nodes(lying.cast, rod)[-1])]
    lure[lying.state.failed[rows]] = np.nan
    c, s = math.cos(lying.heading_rad), math.sin(lying.heading_rad)
    north, east = lure[:, 0], lure[:, 1]
    return np.stack([-(north * c + east * s), east * c - north * s, lure[:, 2]], axis=1)


def middle(of_members: Floats) -> Floats:
    """Medians over the members of (..., M, n), each of the n by itself; nan where no member knows."""
    if not np.isnan(of_members).any():
        return np.median(of_members, axis=-2)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", RuntimeWarning)  # no member knows
        medians: Floats = np.nanmedian(of_members, axis=-2)
    return medians


def nears(over_m: Floats, dangers_m: tuple[tuple[Place2, float], ...]) -> bool:
    """Whether a track over ground comes nearer to a danger than its margin."""
    return any(
        float(np.hypot(over_m[:, 0] - place[0], over_m[:, 1] - place[1]).min()) < margin
        for place, margin in dangers_m
    )

"""Where every lure of a spread is at one steady speed.

Boat axes as everywhere: astern behind the transom, abeam to starboard, depth down. A rod without a solution has None
and a reason.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import AS_FILED, Rig, RodNow, rig_of, water_of
from sternwatch.gear.spread_file.models import Spread, WaterSpec
from sternwatch.hydro.chain.model import Line
from sternwatch.hydro.steady.solver import Steady, solve
from sternwatch.water.profile import TemperatureProfile
from sternwatch.water.properties import Water

Array = NDArray[np.float64]
Current = tuple[Array, Array]


@dataclass(frozen=True, slots=True)
class PointAnswer:
    """Place of a piece of tackle. None: unknown."""

    what: str
    depth_m: float | None
    astern_m: float | None
    abeam_m: float | None


@dataclass(frozen=True, slots=True)
class RodAnswer:
    """Place of a rod's lure, and the pull of its line. None: unknown, and ``why`` says why."""

    key: str
    name: str
    depth_m: float | None
    astern_m: float | None
    abeam_m: float | None
    tension_N: float | None
    entry_angle_deg: float | None
    temperature_c: float | None
    points: tuple[PointAnswer, ...]
    why: str
    remarks: tuple[str, ...]
    depth_quantiles_m: tuple[float, ...] | None = None  # 0.05, 0.25, 0.5, 0.75, 0.95

    @property
    def depth_interval_m(self) -> tuple[float, float] | None:
        """From the 5 % to the 95 % quantile."""
        return None if self.depth_quantiles_m is None else (self.depth_quantiles_m[0], self.depth_quantiles_m[-1])


@dataclass(frozen=True, slots=True)
class DepthAnswer:
    """The whole spread at one speed through the surface water."""

    speed_through_water_m_s: float
    heading_deg: float | None
    rods: tuple[RodAnswer, ...]


def current_in_boat_axes(spec: WaterSpec, heading_rad: float) -> Current | None:
    """The current relative to the surface water, forward and to starboard. None where all water moves alike.

    Returns depths (n,) [m] and velocities (n, 2) [m/s].
    """
    if not spec.current:
        return None
    depths = np.array([layer.depth_m for layer in spec.current])
    speed = np.array([layer.speed_m_s for layer in spec.current])
    angle = np.array([layer.towards_rad for layer in spec.current]) - heading_rad
    velocity = np.stack([speed * np.cos(angle), speed * np.sin(angle)], axis=1)
    relative = velocity - velocity[0]
    return (depths, relative) if np.abs(relative).max() > 0.0 else None


def steady_rigs(
    rigs: Mapping[str, Rig], speed_m_s: float, *, water: Water, current: Current | None, tolerance: float = 1e-9
) -> dict[str, Steady]:
    """Every rig's steady state. A rig clipped to another's cable starts at its place on that cable."""
    solved = {
        key: solve(rig.chain, speed_m_s, water=water, current=current, tolerance=tolerance)
        for key, rig in rigs.items()
        if rig.attach is None
    }
    for key, rig in rigs.items():
        if rig.attach is not None:
            chain = rig.chain
            carrier = rigs.get(rig.attach[0])
            place = place_on_cable(carrier, solved[carrier.key], rig.attach[1]) if carrier is not None else None
            if place is not None:
                chain = replace(chain, tip_m=place)
            solved[key] = solve(chain, speed_m_s, water=water, current=current, tolerance=tolerance)
    return {key: solved[key] for key in rigs}


def place_on_cable(carrier: Rig, state: Steady, above_ball_m: float) -> tuple[float, float, float] | None:
    """The point of a cable at a distance above its ball along the cable, boat axes [m]. None if unknown."""
    if not state.ok:
        return None
    first = carrier.chain.items[0]
    assert isinstance(first, Line)  # a cable
    arc = max(0.0, first.length_m - above_ball_m)
    x, y, z = (float(np.interp(arc, state.arc_m, state.shape_m[:, axis])) for axis in range(3))
    return x, y, z


def depth_answer(
    spread: Spread,
    speed_m_s: float,
    *,
    heading_rad: float | None = None,
    now: Mapping[str, RodNow] | None = None,
) -> DepthAnswer:
    """Places of all lures at a steady speed through the surface water, with the coefficients in use.

    ``heading_rad`` (true) matters only with a current that changes with depth; None counts as north.
    ``now``: what differs from the file, by rod key. Intervals come from ``answers.belief.answer``.
    """
    water = water_of(spread)
    current = current_in_boat_axes(spread.water, heading_rad or 0.0)
    rigs = {rod.key: rig_of(spread, rod, (now or {}).get(rod.key, AS_FILED), water) for rod in spread.rods}
    states = steady_rigs(rigs, speed_m_s, water=water, current=current)
    profile = TemperatureProfile.from_pairs((p.depth_m, p.temperature_c) for p in spread.water.profile)
    rods = tuple(_rod_answer(spread, rigs[rod.key], states[rod.key], profile) for rod in spread.rods)
    return DepthAnswer(
        speed_through_water_m_s=speed_m_s,
        heading_deg=None if heading_rad is None else math.degrees(heading_rad),
        rods=rods,
    )


def _known(value: float) -> float | None:
    return float(value) if math.isfinite(value) else None


def _rod_answer(spread: Spread, rig: Rig, state: Steady, profile: TemperatureProfile) -> RodAnswer:
    points = tuple(
        PointAnswer(
            what,
            _known(state.body_m[i, 2]),
            _known(-state.body_m[i, 0]),
            _known(state.body_m[i, 1]),
        )
        for i, what in enumerate(rig.what)
    )
    return RodAnswer(
        key=rig.key,
        name=rig.name,
        depth_m=_known(state.depth_m),
        astern_m=_known(state.astern_m),
        abeam_m=_known(state.abeam_m),
        tension_N=_known(state.tip_tension_N),
        # A line clipped to a cable never passes the surface.
        entry_angle_deg=_known(state.entry_angle_deg) if rig.attach is None else None,
        temperature_c=profile.temperature_c(_known(state.depth_m)),
        points=points,
        why=state.why,
        remarks=tuple(_remarks(spread, rig, state)),
    )


def _remarks(spread: Spread, rig: Rig, state: Steady) -> list[str]:
    remarks = []
    if state.ok and state.slack:
        remarks.append("slack: the diver does not hold its line at this speed")
    if state.ok and state.pulled_under:
        remarks.append("the board is pulled under")
    if state.ok and state.depth_m < 0:
        remarks.append("the lure hangs in the air")
    rod = spread.rod_by_key(rig.key)
    if rod is not None and "ball" in rig.kinds and rod.rod_line is None:
        remarks.append("the pull of the rod's own line is left out")
    return remarks

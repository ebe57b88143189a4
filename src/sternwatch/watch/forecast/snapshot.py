"""The watch's state that an outlook needs, taken on the watch's thread at one moment and used on another.

The outlook starts every member's chains from their present places, not from a guess.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sternwatch.answers.belief.priors import MEMBERS
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.rows import Flow
from sternwatch.hydro.motion import fleet as motion
from sternwatch.watch.chains.ensemble import Cast, Fleet, cast_of
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.water.properties import Water

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch


@dataclass(frozen=True)
class Snapshot:
    """One moment. ``states``: a copy of each rod's chain in the first members, for outlooks."""

    t_s: float
    spread: Spread
    rods: dict[str, RodNow]  # the lengths for which each chain was cut; the states have the real lengths
    states: dict[str, motion.State]
    segments: dict[str, int]  # number of segments of each chain
    beliefs: Beliefs
    water: Water
    flow: Flow
    heading_rad: float
    speed_m_s: float
    rate_rad_s: float
    acceleration_m_s2: float
    usual_m_s: tuple[float, float] | None = None  # usual lowest and highest speed from here; None: unknown


def snapshot(watch: Watch) -> Snapshot | None:
    """A snapshot of a watch with a speed and at least one rod with members; else None."""
    boat, beliefs = watch.boat, watch.chains.beliefs
    if beliefs is None or watch.t_s is None or boat.t_s is None or boat.dark_since_s is not None:
        return None
    rods: dict[str, RodNow] = {}
    states: dict[str, motion.State] = {}
    segments: dict[str, int] = {}
    first = np.arange(min(MEMBERS, beliefs.draws.members))
    for key, chain in watch.chains.items():
        if chain.members is None or chain.place is None or chain.cut_for is None:
            continue
        rods[key] = chain.cut_for
        states[key] = chain.members.state.take(first)
        segments[key] = chain.segments
    if not rods:
        return None
    return Snapshot(
        t_s=watch.t_s,
        spread=watch.spread,
        rods=rods,
        states=states,
        segments=segments,
        beliefs=beliefs.first(MEMBERS),
        water=watch.waters.water(watch.sensors(watch.t_s)),
        flow=watch.waters.flow,
        heading_rad=math.radians(boat.heading_deg),
        speed_m_s=boat.speed_m_s,
        rate_rad_s=math.radians(boat.rate_of_turn_deg_s or 0.0),
        acceleration_m_s2=boat.filters.speed.v,
        usual_m_s=watch.memory.moments.usual_m_s(),
    )


@dataclass
class Casting:
    """Makes fleets from snapshots. It keeps the cast while rods, rigs, lengths and settings stay the same."""

    _cast: Cast | None = None
    _of: tuple[object, ...] = ()
    _spread: Spread | None = None

    def fleet(self, now: Snapshot) -> Fleet:
        """Every member of every rod, at its place at that moment."""
        of = (now.beliefs.draws, *now.rods.items(), *now.segments.items())
        if self._cast is None or self._of != of or self._spread is not now.spread:
            self._cast = cast_of(
                now.spread,
                now.rods,
                water=now.water,
                flow=now.flow,
                draws=now.beliefs.draws,
                segments=now.segments,
                speed_m_s=now.speed_m_s,
            )
            self._of, self._spread = of, now.spread
        cast = self._cast
        n, m = cast.rods, cast.members
        shapes = np.zeros((m * n, cast.rows.nodes, 3))
        for rod, key in enumerate(cast.keys):
            own = now.states[key].position_m
            shapes[rod::n, : own.shape[1]] = own[:, : cast.rows.nodes]
            shapes[rod::n, own.shape[1] :] = own[:, -1:]
        velocity = np.zeros((m * n, 3))
        state = motion.start(cast.rows, shapes, velocity)
        for rod, key in enumerate(cast.keys):
            state.put_all(slice(rod, None, n), now.states[key])
        cast = replace(cast, rows=motion.with_lengths(cast.rows, state))
        return Fleet(cast, state, now.beliefs.place_m.copy(), now.heading_rad, now.beliefs.velocity_m_s.copy())

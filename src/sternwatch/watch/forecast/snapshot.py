"""The watch's state that an outlook needs, taken on the watch's thread at one moment and used on another.

The outlook starts every member's chains from their present places, not from a guess.
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from sternwatch.answers.belief.priors import DECIDING, MEMBERS
from sternwatch.answers.chains.arrays import RodNow
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.rows import Flow
from sternwatch.hydro.motion import fleet as motion
from sternwatch.watch.chains.ensemble import Cast, Fleet, Reserve, cast_of, members_of_cast
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.water.properties import Water

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch


@dataclass(frozen=True)
class Snapshot:
    """One moment of the members that decide. ``states``: a copy of each rod's chain in all of them."""

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
    mean_m_s: float | None = None  # speed, the mean of the last seconds


def snapshot(watch: Watch) -> Snapshot | None:
    """A snapshot of a watch with a speed and at least one rod with members; else None."""
    boat, beliefs = watch.boat, watch.chains.beliefs
    if beliefs is None or watch.t_s is None or boat.t_s is None or boat.dark_since_s is not None:
        return None
    beliefs = beliefs.first(DECIDING)
    deciding = range(len(beliefs.place_m))
    rods: dict[str, RodNow] = {}
    states: dict[str, motion.State] = {}
    segments: dict[str, int] = {}
    for key, chain in watch.chains.items():
        if chain.members is None or chain.place is None or chain.cut_for is None:
            continue
        rods[key] = chain.cut_for
        states[key] = chain.members.state.take(deciding)
        segments[key] = chain.segments
    if not rods:
        return None
    return Snapshot(
        t_s=watch.t_s,
        spread=watch.spread,
        rods=rods,
        states=states,
        segments=segments,
        beliefs=beliefs,
        water=watch.waters.water(watch.sensors(watch.t_s)),
        flow=watch.waters.flow,
        heading_rad=math.radians(boat.heading_deg),
        speed_m_s=boat.speed_m_s,
        rate_rad_s=math.radians(boat.rate_of_turn_deg_s or 0.0),
        acceleration_m_s2=boat.filters.speed.v,
        usual_m_s=watch.memory.moments.usual_m_s(),
        mean_m_s=boat.mean_m_s,
    )


class Casting:
    """Makes fleets from snapshots. It keeps the cast while rods, rigs, lengths and settings stay the same."""

    def __init__(self) -> None:
        self._first, self._further = _Kept(), _Kept()

    def copy(self) -> Casting:
        own = Casting()
        own._first, own._further = copy.copy(self._first), copy.copy(self._further)
        return own

    def fleet(self, now: Snapshot) -> Fleet:
        """The members that outlooks run, of every rod, at their places at that moment; the others as a reserve."""
        carried = len(now.beliefs.place_m)
        fleet = self._first.fleet(now, tuple(now.rods), 0, min(MEMBERS, carried))
        if carried <= MEMBERS:
            return fleet
        return replace(fleet, reserve=Reserve(lambda keys: self._further.fleet(now, keys, MEMBERS, carried)))


class _Kept:
    """Makes fleets of some members, and keeps the last cast."""

    def __init__(self) -> None:
        self._cast: Cast | None = None
        self._of: tuple[object, ...] = ()
        self._spread: Spread | None = None

    def fleet(self, now: Snapshot, keys: tuple[str, ...], first: int, end: int) -> Fleet:
        """The members from ``first`` on and before ``end``, of some rods and the cables to which they are clipped."""
        carriers = {rod.clipped_to.rod for rod in now.spread.rods if rod.key in keys and rod.clipped_to is not None}
        rods = {key: own for key, own in now.rods.items() if key in keys or key in carriers}
        segments = {key: now.segments[key] for key in rods}
        of = (now.beliefs.draws, end, *rods.items(), *segments.items())
        if self._cast is None or self._of != of or self._spread is not now.spread:
            self._cast = cast_of(
                now.spread,
                rods,
                water=now.water,
                flow=now.flow,
                draws=replace(now.beliefs.draws, members=end),
                segments=segments,
                speed_m_s=now.speed_m_s,
            )
            if first:
                self._cast = members_of_cast(self._cast, range(first, end))
            self._of, self._spread = of, now.spread
        cast, members = self._cast, np.arange(first, end)
        n, m = cast.rods, cast.members
        own = {key: now.states[key].take(members) for key in cast.keys}
        shapes = np.zeros((m * n, cast.rows.nodes, 3))
        for rod, key in enumerate(cast.keys):
            place = own[key].position_m
            shapes[rod::n, : place.shape[1]] = place[:, : cast.rows.nodes]
            shapes[rod::n, place.shape[1] :] = place[:, -1:]
        velocity = np.zeros((m * n, 3))
        state = motion.start(cast.rows, shapes, velocity)
        for rod, key in enumerate(cast.keys):
            state.put_all(slice(rod, None, n), own[key])
        cast = replace(cast, rows=motion.with_lengths(cast.rows, state))
        beliefs = now.beliefs
        return Fleet(cast, state, beliefs.place_m[members], now.heading_rad, beliefs.velocity_m_s[members])

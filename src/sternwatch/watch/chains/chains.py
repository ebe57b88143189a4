"""Every chain of the spread with its members: moves them together, one step at a time."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from sternwatch.feed.readings import Sensors
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.separation.distance import nearest
from sternwatch.logbook.crew.state import Crew
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.chains.bridging import BRIDGED_S, Bridge, Pose
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.side_by_side import SideBySide
from sternwatch.water.properties import Water

# Without speed, numbers stay for this long, marked old, and then disappear. The lines are still towed on from there
# where the speed comes back soon.
OLD_FOR_S = 30.0


@dataclass(slots=True, eq=False)
class Chains(Mapping[str, RodChain]):
    """The chains by their rods' keys, in file order. Only the watch's step changes them."""

    by_key: dict[str, RodChain]
    beliefs: Beliefs | None  # what the members believe of the water; None: no members are carried
    _last: tuple[float, Pose] | None = None  # feed time and boat at the last step with a known speed
    _followed: Crew | None = None  # as the rods are set now
    _side_by_side: SideBySide = field(default_factory=SideBySide)

    def __getitem__(self, key: str) -> RodChain:
        return self.by_key[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.by_key)

    def __len__(self) -> int:
        return len(self.by_key)

    def copy(self) -> Chains:
        beliefs = self.beliefs.copy() if self.beliefs is not None else None
        return Chains({key: chain.copy() for key, chain in self.by_key.items()}, beliefs, self._last, self._followed)

    def follow_crew(self, before: Crew, after: Crew, spread: Spread) -> None:
        """Rig and set the rods as the crew has them now. ``spread``: the one in force."""
        if after is self._followed:
            return
        self._followed = after
        if after.gear is not before.gear:
            self._rig(spread)
        for key, chain in self.by_key.items():
            chain.follow_crew(before.rods[key], after.rods[key])

    def _rig(self, spread: Spread) -> None:
        """Take another spread: restart rods that are rigged differently, and the rods clipped to their cables."""
        rigged = {key for key, chain in self.by_key.items() if chain.rig_as(spread)}
        for chain in self.by_key.values():
            if chain.attached_to in rigged:
                chain.drop()

    def step(self, t_s: float, dt_s: float, boat: Boat, waters: Waters, sensors: Sensors, *, follows: bool) -> None:
        """Tow every chain to ``t_s``. Without speed they stay, and after a while they are dropped.

        ``follows``: the boat's place in the water continues from the step before; else the chains are towed through
        the hole, and restart where it was long.
        """
        if boat.dark_since_s is not None:
            dark_s = t_s - boat.dark_since_s
            for chain in self.by_key.values():
                chain.go_dark(hidden=dark_s > OLD_FOR_S, gone=dark_s > BRIDGED_S)
            return
        water = waters.water(sensors)
        before = None if self.beliefs is None else self.beliefs.velocity_m_s
        if self.beliefs is not None:
            apart_m_s = boat.speeds_differ.apart_m_s
            self.beliefs.step(dt_s, boat.velocity_m_s, boat.source, follows, boat.current, apart_m_s)
        now, last = Pose.of(boat), self._last
        if follows or last is None or not 0.0 < t_s - last[0] <= BRIDGED_S:
            self._side_by_side.tow(self.by_key, t_s, boat, waters, water, follows, self.beliefs)
        else:
            self._bridge(Bridge(last[0], t_s, last[1], now, before), waters, water)
        self._last = t_s, now

    def _bridge(self, bridge: Bridge, waters: Waters, water: Water) -> None:
        """Tow the chains through a hole."""
        nominal = bridge.nominal()
        members = None if self.beliefs is None else bridge.members(self.beliefs)
        for chain in self.by_key.values():
            chain.carry(nominal, members)
        for t_s, pose, beliefs in bridge.moments(self.beliefs):
            self._side_by_side.tow(self.by_key, t_s, pose, waters, water, True, beliefs)
        for chain in self.by_key.values():
            chain.begin_anew(bridge.ends_s)

    def nearest(self) -> dict[str, tuple[float, str]]:
        """For every rod with a chain, the distance [m] to the nearest other chain, and that chain's rod."""
        shapes = {key: chain.place.shape_m for key, chain in self.by_key.items() if chain.place is not None}
        if len(shapes) < 2:
            return {}
        keys = list(shapes)
        most = max(len(shape) for shape in shapes.values())
        positions = np.zeros((len(keys), most, 3))  # nodes beyond a chain's own are not looked at
        for row, shape in enumerate(shapes.values()):
            positions[row, : len(shape)] = shape
        found = nearest(positions, np.array([len(shape) for shape in shapes.values()], dtype=np.int64))
        return {
            key: (float(found.distance_m[row]), keys[int(found.other[row])])
            for row, key in enumerate(keys)
            if found.other[row] >= 0
        }

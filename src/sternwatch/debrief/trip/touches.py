"""Touches of rods that are fished on the bottom on purpose: no alert tells of them, so a debrief lists them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

from sternwatch.watch.bottom.room import TOUCH_M
from sternwatch.watch.picture.model import Picture

if TYPE_CHECKING:  # they bring the kernels, which the first screen must not wait for
    from sternwatch.watch.bottom.room import Ground
    from sternwatch.watch.chains.chains import Chains

# Touching again within this time is the same touch.
SAME_S = 20.0

Room = tuple[str, float, float]
"""Rod, room under its lure [m], depth of the bottom there [m]."""


@dataclass(frozen=True, slots=True)
class Touch:
    """A lure at the bottom where it is meant to be. ``ended_s``: when it last was."""

    key: str
    begun_s: float
    ended_s: float
    bottom_m: float  # where it began
    under_m: float  # how far under the bottom it would have run at most; 0: it only came near


@dataclass(slots=True)
class Touches:
    """The touches of a session. ``take`` alone changes it."""

    _all: list[Touch] = field(default_factory=list)
    _last: dict[str, int] = field(default_factory=dict)

    def take(self, t_s: float, rooms: Iterable[Room]) -> None:
        """What stands at feed time ``t_s`` of the rods on the bottom on purpose."""
        for key, room_m, bottom_m in rooms:
            if room_m > TOUCH_M:
                continue
            under = round(max(-room_m, 0.0), 3)
            i = self._last.get(key)
            if i is not None and t_s - self._all[i].ended_s <= SAME_S:
                one = self._all[i]
                self._all[i] = replace(one, ended_s=round(t_s, 3), under_m=max(one.under_m, under))
            else:
                self._last[key] = len(self._all)
                self._all.append(Touch(key, round(t_s, 3), round(t_s, 3), round(bottom_m, 3), under))

    @property
    def all(self) -> tuple[Touch, ...]:
        """In order of time."""
        return tuple(self._all)


def of_chains(ground: Ground, chains: Chains) -> Iterator[Room]:
    """The rods on the bottom on purpose, as a step of the watch has them."""
    for key, chain in chains.items():
        room = ground.clearance_m(chain) if chain.rod.bottom is not None else None
        if room is not None and chain.place is not None and not (chain.dark or chain.ball_only):
            yield key, room, room + chain.place.depth_m


def of_picture(picture: Picture) -> Iterator[Room]:
    """The same as a picture has them."""
    for rod in picture.rods:
        if rod.on_bottom and rod.clearance_m is not None and rod.depth_m is not None:
            yield rod.key, rod.clearance_m, rod.clearance_m + rod.depth_m

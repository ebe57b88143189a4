"""Marked places and fish seen, as seen from the boat now, and the rods that pass the fish.

For fish seen at a depth, each rod's line out for that depth is computed once, at the speed of that moment.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.inverse import line_out_for_depth
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import FishSeen, Marked
from sternwatch.logbook.crew.state import Crew
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.bottom.over_ground import OverGround, Place2
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.picture.model import FISH_WITHIN_M, FishPicture, LineForFish, MarkPicture, RodPicture

# Fish seen are shown for this long, while they are within reach.
FISH_FOR_S = 1800.0
SHOWN_WITHIN_M = 1000.0
LEAST_LINE_SPEED_M_S = 0.2


@dataclass(frozen=True, slots=True)
class Spot:
    """A mark, or fish, at its place in the plane of the soundings. None: nobody knows where."""

    id: str
    what: str
    at_m: Place2 | None
    t_s: float | None  # feed time; negative for an earlier trip's
    earlier: bool = False
    depth_m: float | None = None  # of fish
    lines: tuple[LineForFish, ...] = ()
    speed_m_s: float | None = None  # the lines were computed at this speed


@dataclass(slots=True)
class MarkedPlaces:
    """Every mark and every sight of fish that was not taken back. Only ``step`` changes it."""

    spots: dict[str, Spot] = field(default_factory=dict)
    _recalled: tuple[Spot, ...] | None = None

    def copy(self) -> MarkedPlaces:
        return MarkedPlaces(dict(self.spots), self._recalled)

    def step(
        self,
        crew: Crew,
        spread: Spread,
        boat: Boat,
        earlier: Iterable[Marked],
        origin_deg: Place2 | None,
        utc_offset_s: float | None,
        boat_at: Callable[[float], Place2 | None],
    ) -> None:
        """Update from the crew's entries: find the place of new ones, drop those taken back.

        ``earlier``: marks of earlier trips, loaded once; ``origin_deg``: of the plane of the soundings;
        ``boat_at``: where the boat was at a feed time, (latitude, longitude).
        """
        offset = utc_offset_s
        if self._recalled is None and origin_deg is not None:
            self._recalled = tuple(_recalled(earlier, origin_deg, offset))
        standing = {}
        for entry in crew.places:
            at_s = entry.elapsed_s
            if at_s is None and offset is not None:
                at_s = entry.time.timestamp() - offset
            known = self.spots.get(entry.id)
            if known is None or (known.at_m is None and entry.place_deg is not None):
                place = entry.place_deg
                if place is None and at_s is not None:
                    place = boat_at(at_s)
                at_m = local_metres(origin_deg, place) if place is not None and origin_deg is not None else None
                known = (
                    replace(known, at_m=at_m) if known is not None else _new(entry, at_s, at_m, crew, spread, boat)
                )
            standing[entry.id] = known
        self.spots = standing

    def marks(self) -> Iterator[Spot]:
        """All marks whose place is known, earlier trips' first."""
        yield from self._recalled or ()
        yield from (spot for spot in self.spots.values() if spot.what != "fish" and spot.at_m is not None)

    def fish(self, t_s: float) -> list[Spot]:
        """Fish seen recently, newest last."""
        seen = (spot for spot in self.spots.values() if spot.what == "fish")
        return [spot for spot in seen if spot.t_s is None or t_s - spot.t_s <= FISH_FOR_S]


def _recalled(marked: Iterable[Marked], origin_deg: Place2, offset_s: float | None) -> Iterator[Spot]:
    for mark in marked:
        if mark.place_deg is not None:
            t_s = None if offset_s is None else mark.time.timestamp() - offset_s
            yield Spot(mark.id, mark.what, local_metres(origin_deg, mark.place_deg), t_s, earlier=True)


def _new(
    entry: Marked | FishSeen, at_s: float | None, at_m: Place2 | None, crew: Crew, spread: Spread, boat: Boat
) -> Spot:
    if isinstance(entry, Marked):
        return Spot(entry.id, entry.what, at_m, at_s)
    speed = boat.speed_m_s if boat.t_s is not None else None
    slow = speed is None or speed < LEAST_LINE_SPEED_M_S
    lines = () if speed is None or slow else _lines(crew, spread, entry.depth_m, speed, boat.heading_deg)
    return Spot(entry.id, "fish", at_m, at_s, False, entry.depth_m, lines, speed if lines else None)


def _lines(
    crew: Crew, spread: Spread, depth_m: float, speed_m_s: float, heading_deg: float
) -> tuple[LineForFish, ...]:
    """For every rod, the line out at which its lure runs at that depth at this speed."""
    found = []
    heading = math.radians(heading_deg)
    for rod in spread.rods:
        mine = crew.rods[rod.key]
        now = RodNow(None, mine.setting, mine.lead_m)
        answer = line_out_for_depth(spread, rod, depth_m, speed_m_s, heading_rad=heading, now=now)
        found.append(LineForFish(rod.key, answer.line_out_as_counter_m, answer.why))
    return tuple(found)


# -- into the picture ------------------------------------------------------------------------------------------


def _seen_from(over: OverGround, spot: Spot) -> Place2 | None:
    return None if spot.at_m is None else over.seen(spot.at_m)


def _age_s(now_s: float, spot: Spot) -> float | None:
    return None if spot.t_s is None else max(now_s - spot.t_s, 0.0)


def mark_pictures(places: MarkedPlaces, over: OverGround, now_s: float) -> tuple[MarkPicture, ...]:
    """Marks within a kilometre, nearest first."""
    made = []
    for spot in places.marks():
        at = _seen_from(over, spot)
        if at is not None and math.hypot(*at) <= SHOWN_WITHIN_M:
            made.append(MarkPicture(spot.id, spot.what, at[0], at[1], _age_s(now_s, spot), spot.earlier))
    return tuple(sorted(made, key=lambda mark: (math.hypot(mark.astern_m, mark.abeam_m), mark.id)))


def fish_pictures(
    places: MarkedPlaces, over: OverGround, now_s: float, rods: Iterable[RodPicture]
) -> tuple[FishPicture, ...]:
    """Fish seen in the last half hour, newest last: the rods that pass them, and the line out for the others."""
    depths = {rod.key: rod.depth_m for rod in rods if rod.depth_m is not None}
    made = []
    for spot in places.fish(now_s):
        assert spot.depth_m is not None
        at = _seen_from(over, spot)
        within = tuple(key for key, depth in depths.items() if abs(depth - spot.depth_m) <= FISH_WITHIN_M)
        others = tuple(line for line in spot.lines if line.key not in within)
        made.append(
            FishPicture(
                spot.id,
                spot.depth_m,
                at[0] if at else None,
                at[1] if at else None,
                _age_s(now_s, spot),
                within,
                others,
                spot.speed_m_s,
            )
        )
    return tuple(made)

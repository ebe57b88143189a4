"""Places marked and fish seen, from where the boat is now: what a chain will pass, which rods pass the fish.

A net or a snag ahead is told while there is time to steer round it. For fish seen at a depth the line that would
bring every other rod there is worked out once, at the speed of that moment.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.inverse import line_out_for_depth
from sternwatch.gear.values.units import Dimension
from sternwatch.logbook.actions.kinds import FishSeen, Marked
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.bottom.room import in_boat_axes
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.picture.model import FISH_WITHIN_M, FishPicture, LineForFish, MarkPicture, RodPicture

if TYPE_CHECKING:
    from sternwatch.watch.core.engine import Watch

Place2 = tuple[float, float]
Floats = NDArray[np.float64]

# Fish seen are told of for this long, and are found again on the view while they lie within reach.
FISH_FOR_S = 1800.0
SHOWN_WITHIN_M = 1000.0
WARN_S = 180.0
# How near a chain must not come: a net is long and its mark one point of it; a snag is where the fix said (memory).
MARGIN_M = {"net": 30.0, "snag": 10.0}
# A snag stands this high off the bottom (memory): what runs higher passes over it.
SNAG_HEIGHT_M = 5.0
LEAST_LINE_SPEED_M_S = 0.2


@dataclass(frozen=True, slots=True)
class Spot:
    """A mark, or fish, at its place in the plane of the soundings; None: nobody knows where."""

    id: str
    what: str
    at_m: Place2 | None
    t_s: float | None  # feed time; negative for an earlier trip's
    earlier: bool = False
    depth_m: float | None = None  # of fish
    lines: tuple[LineForFish, ...] = ()
    speed_m_s: float | None = None  # that the lines were worked out for


@dataclass(slots=True)
class Sights:
    """Every mark and every sight of fish that stands; values are replaced, never changed."""

    spots: dict[str, Spot] = field(default_factory=dict)
    _recalled: tuple[Spot, ...] | None = None

    def copy(self) -> Sights:
        return Sights(dict(self.spots), self._recalled)

    def step(self, watch: Watch, t_s: float) -> None:
        """After actions were taken: new ones find their place, those taken back go."""
        offset = watch.board.utc_offset(t_s)
        if self._recalled is None and watch.origin_deg is not None:
            self._recalled = tuple(_recalled(watch.setup.marked, watch.origin_deg, offset))
        standing = {}
        for entry in watch.crew.places:
            at_s = entry.elapsed_s
            if at_s is None and offset is not None:
                at_s = entry.time.timestamp() - offset
            known = self.spots.get(entry.id)
            if known is None or (known.at_m is None and entry.place_deg is not None):
                known = _new(watch, entry, at_s, known)
            standing[entry.id] = known
        self.spots = standing

    def marks(self) -> Iterator[Spot]:
        """All marks whose place is known, earlier trips' first."""
        yield from self._recalled or ()
        yield from (spot for spot in self.spots.values() if spot.what != "fish" and spot.at_m is not None)

    def fish(self, t_s: float) -> list[Spot]:
        """Fish seen lately, newest last."""
        seen = (spot for spot in self.spots.values() if spot.what == "fish")
        return [spot for spot in seen if spot.t_s is None or t_s - spot.t_s <= FISH_FOR_S]


def _recalled(marked: Iterable[Marked], origin_deg: Place2, offset_s: float | None) -> Iterator[Spot]:
    for mark in marked:
        if mark.place_deg is not None:
            t_s = None if offset_s is None else mark.time.timestamp() - offset_s
            yield Spot(mark.id, mark.what, local_metres(origin_deg, mark.place_deg), t_s, earlier=True)


def _new(watch: Watch, entry: Marked | FishSeen, at_s: float | None, known: Spot | None) -> Spot:
    place = entry.place_deg
    if place is None and at_s is not None:
        moment = watch.memory.at(at_s + 1e-3) or (watch.memory.moments[-1] if watch.memory.moments else None)
        place = moment.position_deg if moment is not None else None
    at_m = local_metres(watch.origin_deg, place) if place is not None and watch.origin_deg is not None else None
    if known is not None:
        return replace(known, at_m=at_m)
    if isinstance(entry, Marked):
        return Spot(entry.id, entry.what, at_m, at_s)
    speed = watch.boat.speed_m_s if watch.boat.t_s is not None else None
    lines = () if speed is None or speed < LEAST_LINE_SPEED_M_S else _lines(watch, entry.depth_m, speed)
    return Spot(entry.id, "fish", at_m, at_s, False, entry.depth_m, lines, speed if lines else None)


def _lines(watch: Watch, depth_m: float, speed_m_s: float) -> tuple[LineForFish, ...]:
    """For every rod the line out, at this speed, at which its lure runs at that depth."""
    found = []
    heading = math.radians(watch.boat.heading_deg)
    for rod in watch.spread.rods:
        mine = watch.crew.rods[rod.key]
        now = RodNow(None, mine.setting, mine.lead_m)
        answer = line_out_for_depth(watch.spread, rod, depth_m, speed_m_s, heading_rad=heading, now=now)
        found.append(LineForFish(rod.key, answer.line_out_as_counter_m, answer.why))
    return tuple(found)


# -- into the picture ------------------------------------------------------------------------------------------


def _seen_from(watch: Watch, spot: Spot) -> Place2 | None:
    return None if spot.at_m is None else in_boat_axes(watch, spot.at_m)


def _age_s(watch: Watch, spot: Spot) -> float | None:
    return None if spot.t_s is None else max(watch.now_s - spot.t_s, 0.0)


def mark_pictures(watch: Watch) -> tuple[MarkPicture, ...]:
    """Marks within a kilometre, nearest first."""
    made = []
    for spot in watch.sights.marks():
        at = _seen_from(watch, spot)
        if at is not None and math.hypot(*at) <= SHOWN_WITHIN_M:
            made.append(MarkPicture(spot.id, spot.what, at[0], at[1], _age_s(watch, spot), spot.earlier))
    return tuple(sorted(made, key=lambda mark: (math.hypot(mark.astern_m, mark.abeam_m), mark.id)))


def fish_pictures(watch: Watch, rods: Iterable[RodPicture]) -> tuple[FishPicture, ...]:
    """Fish seen in the last half hour, newest last, with the rods that pass them and what would bring the others."""
    depths = {rod.key: rod.depth_m for rod in rods if rod.depth_m is not None}
    made = []
    for spot in watch.sights.fish(watch.now_s):
        assert spot.depth_m is not None
        at = _seen_from(watch, spot)
        within = tuple(key for key, depth in depths.items() if abs(depth - spot.depth_m) <= FISH_WITHIN_M)
        others = tuple(line for line in spot.lines if line.key not in within)
        made.append(
            FishPicture(
                spot.id,
                spot.depth_m,
                at[0] if at else None,
                at[1] if at else None,
                _age_s(watch, spot),
                within,
                others,
                spot.speed_m_s,
            )
        )
    return tuple(made)


# -- what a chain will pass ------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Passing:
    """Rods that pass a mark if the boat goes straight on; ``aside_m`` to starboard (port negative) clears it."""

    spot: Spot
    keys: tuple[str, ...]
    time_s: float
    aside_m: float


def passings(watch: Watch) -> list[Passing]:
    """Nets and snags that chains come to within three minutes, the first to be passed first."""
    velocity = watch.ground.velocity_m_s
    spots = [spot for spot in watch.sights.marks() if spot.what in MARGIN_M]
    if not spots or velocity is None or watch.ground.turning or watch.place_m is None:
        return []
    speed = math.hypot(*velocity)
    one = (velocity[0] / speed, velocity[1] / speed)
    shapes = {
        key: _course_axes(watch, chain.place.shape_m, one) for key, chain in watch.chains.items() if chain.place
    }
    found = []
    for spot in spots:
        if spot.at_m is None:
            continue
        north, east = spot.at_m[0] - watch.place_m[0], spot.at_m[1] - watch.place_m[1]
        along, across = north * one[0] + east * one[1], east * one[0] - north * one[1]
        if not -SHOWN_WITHIN_M < along < WARN_S * speed:
            continue
        passing = _passing(watch, spot, along, across, shapes, speed)
        if passing is not None:
            found.append(passing)
    return sorted(found, key=lambda one: (one.time_s, one.spot.id))


def _course_axes(watch: Watch, shape_m: Floats, one: Place2) -> Floats:
    """A chain (n, 3) as (along the course from the antenna, across it to starboard, depth)."""
    a = math.radians(watch.boat.heading_deg)
    forward = -shape_m[:, 0] - watch.setup.spread.boat.antenna_m
    north = forward * math.cos(a) - shape_m[:, 1] * math.sin(a)
    east = forward * math.sin(a) + shape_m[:, 1] * math.cos(a)
    return np.column_stack([north * one[0] + east * one[1], east * one[0] - north * one[1], shape_m[:, 2]])


def _passing(
    watch: Watch, spot: Spot, along: float, across: float, shapes: dict[str, Floats], speed: float
) -> Passing | None:
    margin = MARGIN_M[spot.what]
    least_depth = -math.inf
    if spot.what == "snag":
        bottom = watch.soundings.about(*spot.at_m) if spot.at_m is not None else None
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


def passing_causes(watch: Watch) -> Iterator[Cause]:
    """An alert for each net or snag ahead, with the side on which it is cleared sooner."""
    units = watch.setup.units
    for passing in passings(watch):
        side = "starboard" if passing.aside_m > 0 else "port"
        far = units.show(abs(passing.aside_m), Dimension.LENGTH)
        what = passing.spot.what
        where = "is among" if passing.time_s <= 0.0 else "lies on the way of"
        lines = "this line" if len(passing.keys) == 1 else "these lines"
        yield Cause(
            f"{what} ahead",
            f"A {what} {where} {lines}",
            f"Pass {far} farther to {side}",
            passing.keys,
            passing.time_s,
            about=passing.spot.id,
        )

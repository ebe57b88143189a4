"""Collects the input of planning a pass on the watch's own thread; another thread makes the floor of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sternwatch.watch.again.asking import dangers_of, radii_of
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.chains.ensemble import required_of
from sternwatch.watch.chart.bed import Chartlike
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.forecast.bottom_ahead import Ground, ground_of, on_purpose
from sternwatch.watch.forecast.make import InZone
from sternwatch.watch.forecast.snapshot import Casting, Snapshot, snapshot
from sternwatch.watch.outlook.lookout import zone_of
from sternwatch.watch.picture.outlook import Limits
from sternwatch.watch.whole_pass.asked import PassAsked
from sternwatch.watch.whole_pass.floor import floor_of
from sternwatch.watch.whole_pass.wish import Box, Wish

ROOM_M = 120.0  # added to what the boat reaches, for the width of the spread


@dataclass(frozen=True)
class Taken:
    """One moment of a watch, with a wish."""

    wish: Wish
    now: Snapshot
    ground: Ground
    limits: Limits | None
    dangers_m: tuple[tuple[tuple[float, float], float], ...]
    in_zone: InZone | None
    origin_deg: tuple[float, float] | None


def taken(wish: Wish, watch: Watch, limits: Limits | None) -> Taken | Cannot:
    """Copy everything that will change."""
    now = snapshot(watch)
    if now is None:
        return Cannot("There is no speed, or no rod in the water")
    sensors = watch.board.table(watch.now_s)
    ground = ground_of(now.t_s, watch.bottom, watch.boat, unsounded=True)
    if ground is None:
        return Cannot("The boat's place is not known")
    column = watch.waters.column(watch.crew.gauges, sensors, watch.spread.boat.transducer_depth_m)
    in_zone = zone_of(column, watch.setup.zone_c)
    return Taken(wish, now, ground, limits, dangers_of(watch.bottom), in_zone, watch.bottom.origin_deg)


def asked_of(one: Taken, charts: Sequence[Chartlike] = ()) -> PassAsked:
    """The full input, with the floor from all soundings and, outside their reach, from ``charts``."""
    wish, ground, speed = one.wish, one.ground, one.now.speed_m_s
    reach = speed * wish.lasts_s + ROOM_M
    centre, half = _about(ground.place_m, reach, wish.box)
    soundings = np.concatenate([ground.soundings.rows(), ground.soundings.earlier_rows()])
    return PassAsked(
        wish=wish,
        fleet=Casting().fleet(one.now),
        ground=ground,
        floor=floor_of(soundings, ground.t_s, centre, half, charts, one.origin_deg),
        speed_m_s=speed,
        required=required_of(one.now.spread),
        radius_m=radii_of(one.limits),
        dangers_m=one.dangers_m,
        on_bottom=on_purpose(one.now.spread),
        in_zone=one.in_zone,
    )


def _about(place_m: tuple[float, float], reach_m: float, box: Box | None) -> tuple[tuple[float, float], float]:
    """A square around everything that counts: what the boat reaches, or the box if smaller."""
    if box is None:
        return place_m, reach_m
    centre = 0.5 * (box.south_m + box.north_m), 0.5 * (box.west_m + box.east_m)
    half = 0.5 * max(box.north_m - box.south_m, box.east_m - box.west_m)
    return (centre, half) if half < reach_m else (place_m, reach_m)

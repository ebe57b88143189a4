"""Boat, marks and soundings over ground as one value for the picture."""

from __future__ import annotations

from collections.abc import Iterable

from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.bottom.marked_places import Spot
from sternwatch.watch.bottom.over_ground import Place2
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.picture.ground import GroundPicture, PlacePicture


def ground_picture(
    bottom: Bottom, points_deg: float, wake_deg: Iterable[Place2], now_s: float
) -> GroundPicture | None:
    """Everything that has a place over ground. None before the first fix.

    ``points_deg``: where she points; ``wake_deg``: her recent places, (latitude, longitude), oldest first.
    """
    origin = bottom.origin_deg
    if origin is None:
        return None
    spots = [*bottom.marked.marks(), *bottom.marked.fish(now_s)]
    return GroundPicture(
        origin_deg=origin,
        boat_m=bottom.over.transom_m,
        points_deg=points_deg,
        wake_m=tuple(local_metres(origin, place) for place in wake_deg),
        places=tuple(place for spot in spots if (place := _place(spot, now_s)) is not None),
        sounded=bottom.soundings.copy(),
    )


def _place(spot: Spot, now_s: float) -> PlacePicture | None:
    if spot.at_m is None:
        return None
    age = None if spot.t_s is None else max(now_s - spot.t_s, 0.0)
    return PlacePicture(spot.id, spot.what, *spot.at_m, spot.depth_m, age, spot.earlier)

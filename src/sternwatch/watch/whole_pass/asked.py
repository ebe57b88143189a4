"""The input of planning a pass, and the test whether a lure is where it is wanted."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.hydro.separation.distance import Required
from sternwatch.watch.again.plan import steered_radius_m
from sternwatch.watch.chains.ensemble import Fleet
from sternwatch.watch.forecast.bottom_ahead import Ground
from sternwatch.watch.forecast.make import InZone
from sternwatch.watch.picture.manoeuvre import Side
from sternwatch.watch.whole_pass.floor import Floor
from sternwatch.watch.whole_pass.wish import Band, Wish

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class PassAsked:
    """Everything that planning a pass needs."""

    wish: Wish
    fleet: Fleet
    ground: Ground
    floor: Floor
    speed_m_s: float  # through the water, now and on the pass
    required: Required
    radius_m: dict[Side, float]  # the tightest turn to each side; a missing side is unknown
    dangers_m: tuple[tuple[tuple[float, float], float], ...] = ()
    on_bottom: frozenset[str] = frozenset()
    in_zone: InZone | None = None

    def radius(self, side: Side) -> float:
        """The tightest turn of a pass."""
        return steered_radius_m(self.radius_m, side)


def wanted(
    asked: PassAsked,
    north_m: Floats,
    east_m: Floats,
    depth_m: Floats,
    bottom_m: Floats,
    soft_m: float = 0.0,
    *,
    anywhere: bool = False,
) -> Floats:
    """How far lures at these places are where they are wanted: 1 or 0, and between them within ``soft_m`` of an edge.

    ``bottom_m``: its depth there; where it is not known no height over it is. A search needs the slope that
    ``soft_m`` gives. ``anywhere``: the box is left out.
    """
    wish = asked.wish
    out = np.ones(np.broadcast_shapes(north_m.shape, depth_m.shape))
    if wish.over_bottom_m is not None:
        out = out * _within(bottom_m - depth_m, wish.over_bottom_m, soft_m)
    if wish.depth_m is not None:
        out = out * _within(depth_m, wish.depth_m, soft_m)
    if wish.zone and asked.in_zone is not None:
        out = out * asked.in_zone(depth_m)
    if wish.box is not None and not anywhere:
        out = out * wish.box.holds(north_m, east_m)
    return out


def _within(value: Floats, band: Band, soft_m: float) -> Floats:
    inside = np.minimum(value - band[0], band[1] - value)  # nan where the bottom is unknown
    if soft_m <= 0.0:
        return (inside >= 0.0).astype(np.float64)
    return np.nan_to_num(np.clip(1.0 + inside / soft_m, 0.0, 1.0))

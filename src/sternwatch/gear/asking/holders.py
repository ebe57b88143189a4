"""Computes where a rod tip is from what one sees in the boat: the holder, the rod's length and how it points."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

Lay = Literal["flat, out to the side", "flat, halfway aft", "flat, straight aft", "upright"]

# How a rod points: elevation above the horizontal, bearing from straight aft toward the side [rad]. All memory:
# a holder "laid flat" still rises about ten degrees, an upright one leans aft and a little outward.
LAYS: dict[Lay, tuple[float, float]] = {
    "flat, out to the side": (math.radians(10), math.radians(90)),
    "flat, halfway aft": (math.radians(10), math.radians(45)),
    "flat, straight aft": (math.radians(10), 0.0),
    "upright": (math.radians(70), math.radians(30)),
}
# The length of rod behind the holder, and the straight distance to the bent tip as a share of the rod: memory.
BUTT_M = 0.4
BENT = 0.92


@dataclass(frozen=True, slots=True)
class TipPlace:
    """A rod tip: aft of the transom, from the middle toward the rod's side, above the water [m]."""

    astern_m: float
    abeam_m: float
    height_m: float


def tip_of(
    ahead_m: float, abeam_m: float, height_m: float, rod_length_m: float, lay: Lay, *, centre: bool = False
) -> TipPlace:
    """The tip of a rod in a holder ``ahead_m`` of the transom, ``abeam_m`` from the middle, ``height_m`` up.

    The reach from holder to tip is ``BENT × (rod length − BUTT_M)``; with elevation e and bearing b of the lay it
    goes ``reach cos e cos b`` aft, ``reach cos e sin b`` outward and ``reach sin e`` up. A rod at the centre points
    aft whatever its lay. Plain geometry; angles and shortening are from memory, so a measured tip is better.
    Raises ``ValueError`` for a rod no longer than its butt.
    """
    if rod_length_m <= BUTT_M:
        raise ValueError(f"a rod is longer than its butt of {BUTT_M:g} m")
    elevation, bearing = LAYS[lay]
    if centre:
        bearing = 0.0
    reach = BENT * (rod_length_m - BUTT_M)
    level = reach * math.cos(elevation)
    return TipPlace(
        astern_m=level * math.cos(bearing) - ahead_m,
        abeam_m=0.0 if centre else abeam_m + level * math.sin(bearing),
        height_m=height_m + reach * math.sin(elevation),
    )

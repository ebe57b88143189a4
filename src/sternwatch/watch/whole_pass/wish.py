"""What a pass should bring the lures into. Imports little: the console needs it before the solver is ready."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sternwatch.watch.picture.outlook import RISK

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEAST_S, MOST_S = 600.0, 2400.0  # 10 to 40 minutes
USUAL_S = 1200.0
Band = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Box:
    """The area over ground in which lures count, in the plane of the soundings."""

    south_m: float
    west_m: float
    north_m: float
    east_m: float

    def holds(self, north_m: Floats, east_m: Floats) -> Flags:
        inside: Flags = (
            (north_m >= self.south_m) & (north_m <= self.north_m) & (east_m >= self.west_m) & (east_m <= self.east_m)
        )
        return inside


@dataclass(frozen=True, slots=True)
class Wish:
    """A lure is where it is wanted while all of this holds. None: not a condition."""

    over_bottom_m: Band | None = None  # height over the bottom
    depth_m: Band | None = None
    zone: bool = False  # in the session's wanted temperatures
    box: Box | None = None
    lasts_s: float = USUAL_S
    risk: float = RISK  # the allowed risk that any lines touch

    def __post_init__(self) -> None:
        if self.over_bottom_m is None and self.depth_m is None and not self.zone:
            raise ValueError("a pass needs a height over the bottom, a depth or the zone of temperatures")

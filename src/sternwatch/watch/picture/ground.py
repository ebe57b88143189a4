"""Places over ground for a chart: the boat, marks, the wake, soundings.

North and east in metres from the session's origin, its first fix; ages in seconds.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from sternwatch.quickly import quickly_made

Floats = NDArray[np.float64]
Place2 = tuple[float, float]  # (north, east)


class Sounded(Protocol):
    """The soundings of the session and of earlier trips. It only grows; a copy in a picture stays as it is."""

    def __len__(self) -> int: ...

    def rows(self, first: int = 0) -> Floats:
        """This trip's from the ``first`` on, (n, 4): north, east, depth, feed time [s]."""
        ...

    def earlier_rows(self) -> Floats:
        """Earlier trips', likewise. Their feed time is negative, or nan without a clock."""
        ...


@dataclass(frozen=True, slots=True)
class PlacePicture:
    """A marked place, or a place where fish were seen."""

    id: str
    what: str  # net | snag | bait | break | fish
    north_m: float
    east_m: float
    depth_m: float | None  # of fish
    age_s: float | None
    earlier: bool  # on an earlier trip


@quickly_made
@dataclass(frozen=True, slots=True)
class GroundPicture:
    """The boat over ground at one instant."""

    origin_deg: Place2  # (latitude, longitude)
    boat_m: Place2 | None  # the transom; None: nobody knows where she is
    points_deg: float  # where she points, from north by east
    wake_m: tuple[Place2, ...]  # her places in the last half minute, oldest first
    places: tuple[PlacePicture, ...]  # marks of this and earlier trips, fish seen in the last half hour
    sounded: Sounded = field(compare=False)

    def to_ground(self, boat_axes: Floats) -> Floats:
        """Points (n, 2 or more) [astern, abeam, …] in her axes as (n, 2) [north, east]; nan where she is unknown."""
        if self.boat_m is None:
            return np.full((len(boat_axes), 2), np.nan)
        turn = np.radians(self.points_deg)
        c, s = np.cos(turn), np.sin(turn)
        forward, abeam = -boat_axes[:, 0], boat_axes[:, 1]
        north = self.boat_m[0] + forward * c - abeam * s
        return np.column_stack([north, self.boat_m[1] + forward * s + abeam * c])

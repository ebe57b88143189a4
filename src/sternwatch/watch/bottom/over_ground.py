"""Where the boat is over ground; converts between her axes and the plane of the soundings."""

from __future__ import annotations

from dataclasses import dataclass

Place2 = tuple[float, float]


@dataclass(frozen=True, slots=True)
class OverGround:
    """The boat in the plane of the soundings. ``place_m`` None: nobody knows where she is."""

    place_m: Place2 | None = None  # (north, east) of the antenna
    turn: Place2 = (1.0, 0.0)  # cosine and sine of the direction in which she points
    antenna_m: float = 0.0  # forward of the transom

    @property
    def transom_m(self) -> Place2 | None:
        """(north, east) of the transom's centre."""
        return self.at(0.0, 0.0)

    def at(self, astern_m: float, abeam_m: float) -> Place2 | None:
        """(north, east) of a place in boat axes."""
        if self.place_m is None:
            return None
        c, s = self.turn
        forward = -astern_m - self.antenna_m
        return (self.place_m[0] + forward * c - abeam_m * s, self.place_m[1] + forward * s + abeam_m * c)

    def seen(self, at_m: Place2) -> Place2 | None:
        """The inverse of ``at``: (astern, abeam) of a place."""
        if self.place_m is None:
            return None
        c, s = self.turn
        north, east = at_m[0] - self.place_m[0], at_m[1] - self.place_m[1]
        return -(north * c + east * s) - self.antenna_m, east * c - north * s

"""The water column's temperature as the crew knows it: pairs of depth and temperature, and nothing outside them."""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

COLDEST_C, WARMEST_C = -2.0, 40.0
DEEPEST_M = 500.0

# This far past the last reading a temperature still has a value, with a wider range: some eight feet (a choice, no
# source).
PAST_M = 2.5
LEAST_OFF_C = 0.5


class ProfileError(ValueError):
    """Raised for a pair that cannot be part of a profile. The message says which and why."""


@dataclass(frozen=True, slots=True)
class TemperatureProfile:
    """Temperature against depth. ``depths_m`` ascend strictly; both tuples have one length; empty means unknown.

    Build with ``from_pairs``. Between two pairs it is linear; above the shallowest and below the deepest it is
    unknown, because a thermocline may be there.
    """

    depths_m: tuple[float, ...] = ()
    temperatures_c: tuple[float, ...] = ()

    @classmethod
    def from_pairs(cls, pairs: Iterable[tuple[float, float]]) -> TemperatureProfile:
        """From (depth m, temperature °C) in any order. Of two at one depth the later counts. Raises ProfileError."""
        column: dict[float, float] = {}
        for depth, temperature in pairs:
            if not (math.isfinite(depth) and 0.0 <= depth <= DEEPEST_M):
                raise ProfileError(f"temperature profile: depth {depth:g} m; accepted are 0 to 1640 ft (500 m)")
            if not (math.isfinite(temperature) and COLDEST_C <= temperature <= WARMEST_C):
                raise ProfileError(
                    f"temperature profile: {temperature:g} °C at {depth:g} m; accepted are -2 to 40 °C (28 to 104 °F)"
                )
            column[float(depth)] = float(temperature)
        depths = tuple(sorted(column))
        return cls(depths, tuple(column[d] for d in depths))

    def with_pair(self, depth_m: float, temperature_c: float, within_m: float = 0.0) -> TemperatureProfile:
        """This profile with a new reading, which replaces older ones within ``within_m`` [m] of it."""
        known = zip(self.depths_m, self.temperatures_c, strict=True)
        kept = [(depth, old) for depth, old in known if abs(depth - depth_m) > within_m]
        return TemperatureProfile.from_pairs([*kept, (depth_m, temperature_c)])

    @property
    def pairs(self) -> tuple[tuple[float, float], ...]:
        """(depth [m], temperature [°C]) from the surface downward."""
        return tuple(zip(self.depths_m, self.temperatures_c, strict=True))

    def temperature_c(self, depth_m: float | None) -> float | None:
        """Temperature [°C] at a depth, or None where nothing is known."""
        if depth_m is None or not math.isfinite(depth_m) or not self.depths_m:
            return None
        if not self.depths_m[0] <= depth_m <= self.depths_m[-1]:
            return None
        k = bisect_right(self.depths_m, depth_m)
        if k == len(self.depths_m):
            return self.temperatures_c[-1]
        below, above = self.depths_m[k], self.depths_m[k - 1]
        share = (depth_m - above) / (below - above)
        return self.temperatures_c[k - 1] + share * (self.temperatures_c[k] - self.temperatures_c[k - 1])

    def range_c(self, depth_m: float | None) -> tuple[float, float] | None:
        """The range of temperature [°C] a little past the first or last reading. None farther out, and inside.

        It is the reading at that end, plus and minus the column's change over the same distance there, at least half
        a degree: an estimate, not a measurement.
        """
        if depth_m is None or not math.isfinite(depth_m) or len(self.depths_m) < 2:
            return None
        over = depth_m > self.depths_m[-1]
        end, before = (-1, -2) if over else (0, 1)
        past = abs(depth_m - self.depths_m[end])
        if self.depths_m[0] <= depth_m <= self.depths_m[-1] or past > PAST_M:
            return None
        slope = (self.temperatures_c[end] - self.temperatures_c[before]) / (
            self.depths_m[end] - self.depths_m[before]
        )
        off = max(abs(slope) * past, LEAST_OFF_C)
        return self.temperatures_c[end] - off, self.temperatures_c[end] + off

    def depths_at_c(self, temperature_c: float) -> tuple[float, ...]:
        """Every depth [m] at which the known column has this temperature, from the surface downward."""
        found: list[float] = []
        for k, depth in enumerate(self.depths_m):
            here = self.temperatures_c[k]
            if here == temperature_c:
                found.append(depth)
            elif k + 1 < len(self.depths_m):
                below = self.temperatures_c[k + 1]
                if (here - temperature_c) * (below - temperature_c) < 0.0:
                    share = (temperature_c - here) / (below - here)
                    found.append(depth + share * (self.depths_m[k + 1] - depth))
        return tuple(found)

    def band_m(self, low_c: float, high_c: float) -> tuple[tuple[float, float], ...]:
        """The layers (top m, bottom m) with a temperature in [low_c, high_c], from the surface downward.

        The ends of the profile end a layer too: beyond them the temperature is unknown.
        """
        edges = sorted({*self.depths_m, *self.depths_at_c(low_c), *self.depths_at_c(high_c)})
        layers: list[tuple[float, float]] = []
        for top, bottom in pairwise(edges):
            middle = self.temperature_c(0.5 * (top + bottom))
            if middle is None or not low_c <= middle <= high_c:
                continue
            if layers and layers[-1][1] == top:
                layers[-1] = (layers[-1][0], bottom)
            else:
                layers.append((top, bottom))
        return tuple(layers)

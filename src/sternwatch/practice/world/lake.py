"""The simulated lake: its bottom, its temperatures, its currents. Closed formulas with seeded small-scale relief.

All places are metres north and east of the boat's start, over ground.
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, field

from sternwatch.practice.world.sea import Sines

LEAST_DEPTH_M = 1.5


@dataclass(frozen=True, slots=True)
class Mound:
    """A hump (height above the bottom around) or a hole (negative), of Gaussian shape."""

    north_m: float
    east_m: float
    height_m: float
    radius_m: float

    def rise_m(self, north_m: float, east_m: float) -> float:
        away = ((north_m - self.north_m) ** 2 + (east_m - self.east_m) ** 2) / self.radius_m**2
        return self.height_m * math.exp(-away) if away < 40.0 else 0.0


@dataclass(frozen=True, slots=True)
class Shelf:
    """A shelf: beyond an edge through (north, east) the bottom rises to ``depth_m`` over a width of ``width_m``.

    ``towards_deg`` points from the deep onto the shelf; the edge winds by ``winding_m`` to either side.
    """

    north_m: float
    east_m: float
    towards_deg: float
    depth_m: float
    width_m: float
    winding_m: float = 0.0
    wave_m: float = 400.0

    def share(self, north_m: float, east_m: float) -> float:
        """0 in the deep to 1 on the shelf."""
        a = math.radians(self.towards_deg)
        n, e = north_m - self.north_m, east_m - self.east_m
        across, along = n * math.cos(a) + e * math.sin(a), e * math.cos(a) - n * math.sin(a)
        across += self.winding_m * math.sin(2.0 * math.pi * along / self.wave_m)
        return 0.5 * (1.0 + math.tanh(2.0 * across / self.width_m))


@dataclass(frozen=True, slots=True)
class Thermocline:
    """Temperature by depth: warm above, cold below, a smooth step between; and the step's tilt.

    The step is a hyperbolic tangent, the usual shape for a lake in summer. ``tilt`` is how many metres deeper the
    step is per metre toward ``tilt_towards_deg`` (wind piles warm water up on the lee shore); an internal wave swings
    it slowly.
    """

    surface_c: float
    deep_c: float
    depth_m: float
    thickness_m: float
    tilt: float = 0.0
    tilt_towards_deg: float = 0.0
    swing: Sines = field(default_factory=lambda: Sines((), (), ()))

    def centre_m(self, north_m: float, east_m: float, t_s: float) -> float:
        """Depth of the middle of the step."""
        a = math.radians(self.tilt_towards_deg)
        along = north_m * math.cos(a) + east_m * math.sin(a)
        return max(self.depth_m + self.tilt * along + self.swing.at(t_s), 1.0)

    def temperature_c(self, north_m: float, east_m: float, depth_m: float, t_s: float) -> float:
        below = (depth_m - self.centre_m(north_m, east_m, t_s)) / (0.5 * self.thickness_m)
        return self.deep_c + (self.surface_c - self.deep_c) * 0.5 * (1.0 - math.tanh(below))


@dataclass(frozen=True, slots=True)
class Layer:
    """The current over ground at a depth."""

    depth_m: float
    north_m_s: float
    east_m_s: float


@dataclass(frozen=True, slots=True)
class Lake:
    """The lake under the boat."""

    depth_m: float  # at the start, without shelf and mounds
    fall: float  # metres deeper per metre toward ``fall_towards_deg``
    fall_towards_deg: float
    mounds: tuple[Mound, ...]
    shelf: Shelf | None
    thermocline: Thermocline
    current: tuple[Layer, ...]  # by depth
    relief: tuple[tuple[float, float, float, float], ...]  # (amplitude m, per m north, per m east, phase)
    current_turns_rad_s: float = 0.0  # clockwise, equal over the whole surface

    def bottom_m(self, north_m: float, east_m: float) -> float:
        """Depth of the bottom below the surface."""
        a = math.radians(self.fall_towards_deg)
        depth = self.depth_m + self.fall * (north_m * math.cos(a) + east_m * math.sin(a))
        if self.shelf is not None:
            depth += self.shelf.share(north_m, east_m) * (self.shelf.depth_m - depth)
        depth -= sum(mound.rise_m(north_m, east_m) for mound in self.mounds)
        depth += sum(a * math.sin(kn * north_m + ke * east_m + p) for a, kn, ke, p in self.relief)
        return max(depth, LEAST_DEPTH_M)

    @property
    def shallowest_m(self) -> float:
        """A depth that the bottom is never shallower than."""
        if self.fall != 0.0:
            return LEAST_DEPTH_M
        level = self.depth_m if self.shelf is None else min(self.depth_m, self.shelf.depth_m)
        rises = sum(max(mound.height_m, 0.0) for mound in self.mounds) + sum(abs(wave[0]) for wave in self.relief)
        return max(level - rises, LEAST_DEPTH_M)

    def temperature_c(self, north_m: float, east_m: float, depth_m: float, t_s: float) -> float:
        return self.thermocline.temperature_c(north_m, east_m, max(depth_m, 0.0), t_s)

    def surface_current_at(self, t_s: float) -> tuple[float, float]:
        """(north, east) of the surface water over ground at a time. Layers below keep their motion relative to it."""
        north, east = self.surface_current_m_s
        c, s = math.cos(self.current_turns_rad_s * t_s), math.sin(self.current_turns_rad_s * t_s)
        return north * c - east * s, north * s + east * c

    @property
    def surface_current_m_s(self) -> tuple[float, float]:
        """The surface current at the session's beginning."""
        return (self.current[0].north_m_s, self.current[0].east_m_s) if self.current else (0.0, 0.0)


def relief(seed: int, rms_m: float) -> tuple[tuple[float, float, float, float], ...]:
    """Small waves of the bottom, 30 to 200 m long, with a given root mean square."""
    rng = random.Random(f"{seed} relief")
    found = []
    for _ in range(8):
        k = 2.0 * math.pi / rng.uniform(30.0, 200.0)
        a = rng.uniform(0.0, 2.0 * math.pi)
        found.append((rng.uniform(0.5, 1.0), k * math.cos(a), k * math.sin(a), rng.uniform(0.0, 2.0 * math.pi)))
    norm = math.sqrt(2.0) * rms_m / math.sqrt(sum(one[0] ** 2 for one in found))
    return tuple((norm * a, kn, ke, p) for a, kn, ke, p in found)


def swing(seed: int, rms_m: float) -> Sines:
    """A slow internal wave: periods of about twenty minutes (memory)."""
    return Sines.around(random.Random(f"{seed} internal wave"), rms_m, 1200.0, 0.5)

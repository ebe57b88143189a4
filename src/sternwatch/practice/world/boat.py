"""The simulated boat: a helm, two engines, wind and waves, and the pull of the lines she tows.

Steering is Nomoto's first-order model, T r' + r = K δ (Nomoto, Taguchi, Honda & Hirano, On the steering qualities of
ships, Int. Shipbuilding Progress 4, 1957), its constants scaled by length and speed: K = K' U/L, T = T' L/U. Surge
is the forward speed model of Fossen, Handbook of Marine Craft Hydrodynamics and Motion Control (2011, chapter 7):
(m - X_u') u' = F - X_uu |u| u - D, of first order in u, F the engine's thrust and D the pull of the lines. Numbers
for a boat of 8 m are from memory.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Literal

from sternwatch.practice.world.sea import Sea

EngineName = Literal["kicker", "main"]


@dataclass(frozen=True, slots=True)
class Engine:
    """Thrust [N] at a standstill with the lever shut (in gear) and open. It falls to 0 at ``none_m_s``."""

    idle_N: float
    full_N: float
    none_m_s: float

    def thrust_N(self, lever: float, speed_m_s: float) -> float:
        """The thrust, which falls linearly with speed."""
        return (self.idle_N + lever * (self.full_N - self.idle_N)) * max(1.0 - speed_m_s / self.none_m_s, 0.0)


# A kicker of about 10 hp, in neutral with its lever shut; a main engine that trolls too fast even at idle.
ENGINES: dict[EngineName, Engine] = {"kicker": Engine(0.0, 900.0, 5.0), "main": Engine(420.0, 6000.0, 15.0)}


@dataclass(frozen=True, slots=True)
class Hull:
    """A trolling boat; all from memory."""

    length_m: float = 8.0
    mass_kg: float = 3500.0
    added_mass: float = 0.05  # added mass in surge, as a share of the mass
    drag_N_s2_m2: float = 130.0  # X_uu
    turning: float = 0.8  # K'
    lag: float = 1.2  # T'
    leeway: float = 0.025  # leeway, as a share of the wind's speed
    falls_off_deg_s: float = 0.008  # the bow before a wind abeam, per (m/s)^2 of wind
    rudder_max_deg: float = 35.0
    rudder_rate_deg_s: float = 10.0
    engine_lag_s: float = 1.5
    least_way_m_s: float = 0.2  # below this the helm answers as at this speed


HULL = Hull()
# Autopilot: helm per degree off, and per degree a second of turning. Nearly critical damping.
HOLD_PER_DEG = 1.2
HOLD_PER_DEG_S = 10.0
HOLD_RUDDER_DEG = 22.0


@dataclass(frozen=True, slots=True)
class Orders:
    """The helm's orders: a rudder or a heading to hold; an engine and its lever."""

    rudder_deg: float = 0.0
    heading_deg: float | None = None
    engine: EngineName = "kicker"
    lever: float = 0.0


@dataclass(frozen=True, slots=True)
class Boat:
    """The boat at one instant, in the frame that drifts with the surface water, without waves."""

    north_m: float = 0.0
    east_m: float = 0.0
    heading_deg: float = 0.0
    rate_deg_s: float = 0.0  # positive to starboard
    surge_m_s: float = 0.0
    rudder_deg: float = 0.0
    thrust_N: float = 0.0
    velocity_m_s: tuple[float, float] = (0.0, 0.0)  # (north, east) through the surface water, leeway included
    turned_deg: float = 0.0  # total, positive to starboard


def lever_for(speed_m_s: float, pull_N: float, engine: EngineName = "kicker", hull: Hull = HULL) -> float:
    """The lever, 0 to 1, at which the boat keeps a speed against a pull."""
    chosen = ENGINES[engine]
    fading = max(1.0 - speed_m_s / chosen.none_m_s, 0.05)
    wanted = (hull.drag_N_s2_m2 * speed_m_s**2 + pull_N) / fading
    return min(max((wanted - chosen.idle_N) / (chosen.full_N - chosen.idle_N), 0.0), 1.0)


def step(
    boat: Boat, orders: Orders, wind_m_s: tuple[float, float], pull_N: float, dt_s: float, hull: Hull = HULL
) -> Boat:
    """The boat ``dt_s`` later. ``pull_N``: the pull of the lines."""
    rudder = _steered(boat, orders, dt_s, hull)
    way = max(abs(boat.surge_m_s), hull.least_way_m_s)
    gain, lag_s = hull.turning * way / hull.length_m, hull.lag * hull.length_m / way
    heading = math.radians(boat.heading_deg)
    c, s = math.cos(heading), math.sin(heading)
    wind_n, wind_e = wind_m_s
    # Positive for wind from port to starboard: the bow falls off with it.
    across = wind_e * c - wind_n * s
    falls = hull.falls_off_deg_s * across * math.hypot(wind_n, wind_e)
    rate = boat.rate_deg_s + (gain * rudder + falls - boat.rate_deg_s) * (1.0 - math.exp(-dt_s / lag_s))
    wanted_N = ENGINES[orders.engine].thrust_N(orders.lever, boat.surge_m_s)
    thrust = boat.thrust_N + (wanted_N - boat.thrust_N) * (1.0 - math.exp(-dt_s / hull.engine_lag_s))
    # The pull of the lines vanishes with her way, so that they never drive her astern.
    held = pull_N * min(max(boat.surge_m_s, 0.0) / 0.3, 1.0)
    force = thrust - hull.drag_N_s2_m2 * abs(boat.surge_m_s) * boat.surge_m_s - held
    surge = boat.surge_m_s + force / (hull.mass_kg * (1.0 + hull.added_mass)) * dt_s
    turned = 0.5 * (rate + boat.rate_deg_s) * dt_s
    heading_deg = (boat.heading_deg + turned) % 360.0
    heading = math.radians(heading_deg)
    leeway = (hull.leeway * wind_n, hull.leeway * wind_e)
    velocity = (surge * math.cos(heading) + leeway[0], surge * math.sin(heading) + leeway[1])
    return Boat(
        boat.north_m + 0.5 * (velocity[0] + boat.velocity_m_s[0]) * dt_s,
        boat.east_m + 0.5 * (velocity[1] + boat.velocity_m_s[1]) * dt_s,
        heading_deg, rate, surge, rudder, thrust, velocity, boat.turned_deg + turned,
    )  # fmt: skip


def _steered(boat: Boat, orders: Orders, dt_s: float, hull: Hull) -> float:
    wanted = orders.rudder_deg
    if orders.heading_deg is not None:
        off = (orders.heading_deg - boat.heading_deg + 180.0) % 360.0 - 180.0
        wanted = HOLD_PER_DEG * off - HOLD_PER_DEG_S * boat.rate_deg_s
        wanted = min(max(wanted, -HOLD_RUDDER_DEG), HOLD_RUDDER_DEG)
    wanted = min(max(wanted, -hull.rudder_max_deg), hull.rudder_max_deg)
    most = hull.rudder_rate_deg_s * dt_s
    return boat.rudder_deg + min(max(wanted - boat.rudder_deg, -most), most)


@dataclass(frozen=True, slots=True)
class Pose:
    """The boat with her motion in waves, which instruments measure and which tows the chains."""

    t_s: float
    north_m: float
    east_m: float
    heading_deg: float
    speed_m_s: float  # through the surface water, never negative
    velocity_m_s: tuple[float, float]
    along_m_s: float  # through the surface water along the keel: what a paddle wheel feels

    @classmethod
    def of(cls, boat: Boat, sea: Sea, t_s: float) -> Pose:
        """The sum of the low-frequency and the wave-frequency motion."""
        heading = boat.heading_deg + sea.yaw.at(t_s)
        mean = math.radians(boat.heading_deg)
        c, s = math.cos(mean), math.sin(mean)
        push, shift = sea.surge.at(t_s), sea.surge.integral(t_s)
        velocity = (boat.velocity_m_s[0] + push * c, boat.velocity_m_s[1] + push * s)
        h = math.radians(heading)
        return cls(
            t_s,
            boat.north_m + shift * c,
            boat.east_m + shift * s,
            heading % 360.0,
            math.hypot(*velocity),
            velocity,
            velocity[0] * math.cos(h) + velocity[1] * math.sin(h),
        )


def under_way(heading_deg: float, speed_m_s: float, orders: Orders, wind_m_s: tuple[float, float]) -> Boat:
    """The boat on a steady course, at a speed along her heading."""
    heading = math.radians(heading_deg)
    leeway = (HULL.leeway * wind_m_s[0], HULL.leeway * wind_m_s[1])
    velocity = (speed_m_s * math.cos(heading) + leeway[0], speed_m_s * math.sin(heading) + leeway[1])
    boat = Boat(heading_deg=heading_deg, surge_m_s=speed_m_s, velocity_m_s=velocity)
    return replace(boat, thrust_N=ENGINES[orders.engine].thrust_N(orders.lever, speed_m_s))

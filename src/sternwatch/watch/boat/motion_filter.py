"""Filters the boat's own motion from fixes at 1-10 Hz with noise, yaw and quantisation.

Speed and direction each get a small Kalman filter: speed with its acceleration, direction with its rate of turn
(the constant-turn-rate model: measured speed and direction do not mix in it, so it splits into these two).
Both advance only to the times of the readings, so the result does not depend on when anybody looks.

Noise figures: SOG 0.05-0.2 m/s and yaw of about +-10 deg in a sea, from memory of small-boat recordings.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field

SPEED_NOISE_M_S = 0.10
# A trolling boat changes speed by about 0.1 m/s in a second when the throttle is moved (memory).
SPEED_JERK_PSD = 0.01  # (m/s^2)^2/s
DIRECTION_NOISE_DEG = 4.0
# Entering a turn of 5 deg/s takes a few seconds (memory).
TURN_PSD = 1.0  # (deg/s)^2/s
RATE_NOISE_DEG_S = 1.0
# Without a reading a value keeps changing for this long and then stays. A plug that comes out must not stop a boat
# that was slowing, nor turn for ever a boat that was turning.
COASTS_S = 3.0
# Below this speed the course over ground is noise of the fixes, not a direction.
LEAST_SPEED_FOR_COURSE_M_S = 0.3


def wrap_deg(angle: float) -> float:
    """The angle in (-180, 180]."""
    return -((-angle + 180.0) % 360.0 - 180.0)


@dataclass(slots=True)
class RateFilter:
    """A value and its rate, driven by white noise on the rate; the variance starts as if nothing were known.

    State (x, v), covariance (pxx, pxv, pvv); process noise spectral density ``q`` on the rate.
    """

    q: float
    circular: bool = False
    x: float = 0.0
    v: float = 0.0
    pxx: float = math.nan  # these are not known before the first reading
    pxv: float = math.nan
    pvv: float = math.nan
    t_s: float | None = None
    read_s: float = -math.inf  # time of the last reading of the value or of its rate

    def reset(self) -> None:
        self.t_s = None

    def read_since(self, t_s: float) -> bool:
        """Whether a reading came at or after ``t_s``."""
        return self.t_s is not None and self.read_s >= t_s

    def advance(self, t_s: float) -> None:
        """Predict to ``t_s``. Nothing happens for a time before the state's own.

        The value changes for ``COASTS_S`` after the last reading and then stays. Its variance keeps growing.
        """
        if self.t_s is None:
            return
        dt = t_s - self.t_s
        if dt <= 0.0:
            return
        self.x += self.v * max(min(dt, self.read_s + COASTS_S - self.t_s), 0.0)
        if t_s > self.read_s + COASTS_S:
            self.v = 0.0
        if self.circular:
            self.x = wrap_deg(self.x)
        q = self.q
        self.pxx += dt * (2.0 * self.pxv + dt * self.pvv) + q * dt**3 / 3.0
        self.pxv += dt * self.pvv + q * dt**2 / 2.0
        self.pvv += q * dt
        self.t_s = t_s

    def measure(self, t_s: float, value: float, noise: float) -> None:
        """Take a measurement of the value with standard deviation ``noise``."""
        if self.t_s is None:
            self.x, self.v = (wrap_deg(value) if self.circular else value), 0.0
            self.pxx, self.pxv, self.pvv = noise**2, 0.0, self.q * 4.0
            self.t_s = self.read_s = t_s
            return
        self.advance(t_s)
        self.read_s = max(self.read_s, t_s)
        error = value - self.x
        if self.circular:
            error = wrap_deg(error)
        s = self.pxx + noise**2
        kx, kv = self.pxx / s, self.pxv / s
        self.x += kx * error
        self.v += kv * error
        if self.circular:
            self.x = wrap_deg(self.x)
        pxx, pxv = self.pxx, self.pxv
        self.pxx -= kx * pxx
        self.pxv -= kx * pxv
        self.pvv -= kv * pxv

    def measure_rate(self, t_s: float, rate: float, noise: float) -> None:
        """Take a measurement of the rate."""
        if self.t_s is None:
            return
        self.advance(t_s)
        self.read_s = max(self.read_s, t_s)
        s = self.pvv + noise**2
        kx, kv = self.pxv / s, self.pvv / s
        error = rate - self.v
        self.x += kx * error
        self.v += kv * error
        if self.circular:
            self.x = wrap_deg(self.x)
        pxv, pvv = self.pxv, self.pvv
        self.pxx -= kx * pxv
        self.pxv -= kx * pvv
        self.pvv -= kv * pvv


def _speed_filter() -> RateFilter:
    return RateFilter(SPEED_JERK_PSD)


def _direction_filter() -> RateFilter:
    return RateFilter(TURN_PSD, circular=True)


@dataclass(slots=True)
class MotionFilter:
    """Speed through the surface water, the direction of that motion, and the way the boat points.

    With speed through water, she moves along her heading (her course where no heading comes). With only speed over
    ground, her motion is the ground velocity less the current that the user gave (none: the water is taken as still).
    """

    current_m_s: tuple[float, float] = (0.0, 0.0)  # (north, east) of the surface water over ground
    speed: RateFilter = field(default_factory=_speed_filter)
    direction: RateFilter = field(default_factory=_direction_filter)
    heading: RateFilter = field(default_factory=_direction_filter)

    def take_speed(self, t_s: float, speed_m_s: float) -> None:
        """Take a speed through water, or one over ground with the current already subtracted."""
        self.speed.measure(t_s, speed_m_s, SPEED_NOISE_M_S)

    def take_ground_velocity(self, t_s: float, sog_m_s: float, cog_deg: float | None) -> None:
        """Take speed and course over ground, for use where nothing gives the speed through water."""
        north, east = self.current_m_s
        if north == 0.0 and east == 0.0:
            self.take_speed(t_s, sog_m_s)
            if cog_deg is not None and sog_m_s >= LEAST_SPEED_FOR_COURSE_M_S:
                self.direction.measure(t_s, cog_deg, DIRECTION_NOISE_DEG)
            return
        if cog_deg is None:
            self.take_speed(t_s, sog_m_s)
            return
        c = math.radians(cog_deg)
        vn, ve = sog_m_s * math.cos(c) - north, sog_m_s * math.sin(c) - east
        speed = math.hypot(vn, ve)
        self.take_speed(t_s, speed)
        if speed >= LEAST_SPEED_FOR_COURSE_M_S:
            self.direction.measure(t_s, math.degrees(math.atan2(ve, vn)), DIRECTION_NOISE_DEG)

    def take_heading(self, t_s: float, heading_deg: float) -> None:
        self.heading.measure(t_s, heading_deg, DIRECTION_NOISE_DEG)

    def take_rate(self, t_s: float, rate_deg_s: float) -> None:
        """Take a rate-of-turn sensor's value, positive to starboard."""
        self.heading.measure_rate(t_s, rate_deg_s, RATE_NOISE_DEG_S)
        self.direction.measure_rate(t_s, rate_deg_s, RATE_NOISE_DEG_S)

    def advance(self, t_s: float) -> None:
        for part in (self.speed, self.direction, self.heading):
            part.advance(t_s)

    def reset(self) -> None:
        for part in (self.speed, self.direction, self.heading):
            part.reset()

"""A manoeuvre: what the helm does, or plans to do, from now on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

PLAN = "plan"  # the name of a manoeuvre that the helm only plans
SPEED_CHANGE_S = 8.0  # how long a change of throttle takes (memory)

Side = Literal["port", "starboard"]


def side_of(value: float) -> Side:
    """The side of an angle, a rate or a distance that is positive to starboard."""
    return "starboard" if value > 0.0 else "port"


@dataclass(frozen=True, slots=True)
class Manoeuvre:
    """What the helm does from now on (or after ``wait_s`` on the present course).

    A turn by ``turn_rad`` (to starboard positive) at ``rate_rad_s`` or, where given, on ``radius_m``; a new speed,
    reached evenly over ``speed_change_s``; or a stop: down to zero, ``stop_s`` at rest, and back to the speed.
    """

    name: str
    turn_rad: float = 0.0
    rate_rad_s: float | None = None
    radius_m: float | None = None
    to_speed_m_s: float | None = None
    speed_change_s: float = SPEED_CHANGE_S
    stop_s: float | None = None
    wait_s: float = 0.0

"""A plan at the controls: a turn, a new speed or a stop that the crew consider."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sternwatch.gear.values.units import UNITS
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre

USUAL_HALF_CIRCLE_S = 120


@dataclass(frozen=True, slots=True)
class Plan:
    """The plan. ``turn_deg``: positive to starboard. ``to_speed``: in the crew's unit; None: as now."""

    turn_deg: int = 0
    fine: bool = False  # the arrows turn it in small steps, because an arrow has gone back once
    half_circle_s: int = USUAL_HALF_CIRCLE_S
    to_speed: float | None = None
    stop_s: float | None = None
    shaping: bool = True
    last_t_s: float = 0.0  # monotonic time of the last key

    def manoeuvre(self, speed_unit: str) -> Manoeuvre | None:
        """The plan as a manoeuvre; None where the boat goes on as now."""
        if self.stop_s is not None:
            return Manoeuvre(PLAN, stop_s=self.stop_s)
        if not self.turn_deg and self.to_speed is None:
            return None
        to_speed = None if self.to_speed is None else UNITS[speed_unit].to_si(self.to_speed)
        rate = math.pi / self.half_circle_s if self.turn_deg else None
        return Manoeuvre(PLAN, math.radians(self.turn_deg), rate, to_speed_m_s=to_speed)

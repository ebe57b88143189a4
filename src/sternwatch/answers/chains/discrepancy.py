"""The model's own error, as a factor on the drag of one whole rig that is smooth in log speed and log length.

After Kennedy & O'Hagan 2001 and Brynjarsdottir & O'Hagan 2014 (both from memory), but applied inside the physics. So
it hardly changes a ball that hardly blows back, and changes a long light line much.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from sternwatch.gear.spread_file.models import Rod, Spread
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line

MIDDLE_M_S = 1.0  # at this speed the speed's part is zero
FARTHEST = 1.0  # in log speed or length; a straight line is not trusted farther


@dataclass(frozen=True, slots=True)
class Discrepancy:
    """Logarithm of the factor: at the middle, and per log speed and log length."""

    level: float = 0.0
    by_speed: float = 0.0
    by_length: float = 0.0
    middle_m: float = 0.0  # at this length the length's part is zero; 0: no length is known

    @classmethod
    def of(cls, spread: Spread, rod: Rod) -> Discrepancy:
        """The discrepancy of a rod, from the spread's values."""
        name = f"rod {rod.key} discrepancy"
        get = spread.values.get
        return cls(
            math.log(get(name, 1.0)), get(f"{name} speed", 0.0), get(f"{name} length", 0.0), rod.line_out_m or 0.0
        )

    @property
    def is_nothing(self) -> bool:
        """Whether it changes no drag at any speed or length."""
        return self.level == self.by_speed == self.by_length == 0.0

    def log_factor(self, speed_m_s: float, length_m: float | None) -> float:
        """Logarithm of the drag's factor at a speed through the water and a counter reading."""
        made = self.level + self.by_speed * _log(speed_m_s / MIDDLE_M_S)
        if length_m is not None and self.middle_m > 0.0:
            made += self.by_length * _log(length_m / self.middle_m)
        return made


NO_DISCREPANCY = Discrepancy()


def _log(ratio: float) -> float:
    return min(max(math.log(max(ratio, 1e-3)), -FARTHEST), FARTHEST)


def dragged(chain: Chain, log_factor: float) -> Chain:
    """The chain with the drag of all its parts multiplied; a disc changes its trim."""
    if log_factor == 0.0:
        return chain
    by = math.exp(log_factor)
    return replace(chain, items=tuple(_dragged(item, by) for item in chain.items))


def _dragged(item: Line | Body, by: float) -> Line | Body:
    if isinstance(item, Line):
        return replace(item, drag_factor=item.drag_factor * by)
    if item.kind is BodyKind.DIVER:
        return replace(item, trim_rad=item.trim_rad * by)
    return replace(item, drag_area_m2=item.drag_area_m2 * by)

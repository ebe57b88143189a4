"""An alert as shown."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Priority(StrEnum):
    """Alert priorities of IMO MSC.302(87); tackle ranks no higher than warning."""

    ALARM = "alarm"
    WARNING = "warning"
    CAUTION = "caution"


class AlertState(StrEnum):
    ACTIVE = "active"
    ACKNOWLEDGED = "acknowledged"


@dataclass(frozen=True, slots=True)
class Alert:
    """One raised alert. ``advice``: what to do; ``keys``: the rods concerned."""

    id: str
    kind: str
    priority: Priority
    state: AlertState
    keys: tuple[str, ...]
    text: str
    advice: str = ""
    since_t_s: float = 0.0
    time_left_s: float | None = None
    over: bool = False  # the danger has gone; the alert stands a while longer and says so

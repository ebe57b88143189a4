"""When an alert is heard: alarms again and again until they are acknowledged, warnings as they are raised.

The rhythm is that of IMO MSC.302(87) for audible signals (from memory): an alarm every 7 to 10 s, a warning once and
again after five minutes at most while nobody has acknowledged it; a caution is silent.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sternwatch.watch.picture.alert import Alert, AlertState, Priority

EVERY_S = {Priority.ALARM: 8.0, Priority.WARNING: 300.0}


@dataclass(slots=True)
class Ringing:
    """What has been heard, by alert and by the priority it had then."""

    _heard_s: dict[tuple[str, Priority], float] = field(default_factory=dict)

    def step(self, alerts: Iterable[Alert], t_s: float) -> Alert | None:
        """The alert to ring for at monotonic time ``t_s`` [s]: the first that is due; one ring does for all of them.

        ``alerts``: those that stand, worst first.
        """
        active = [a for a in alerts if a.state is AlertState.ACTIVE and a.priority in EVERY_S]
        known = {(alert.id, alert.priority) for alert in active}
        self._heard_s = {name: at for name, at in self._heard_s.items() if name in known}
        due = [alert for alert in active if self._is_due(alert, t_s)]
        for alert in due:
            self._heard_s[alert.id, alert.priority] = t_s
        return due[0] if due else None

    def _is_due(self, alert: Alert, t_s: float) -> bool:
        heard_s = self._heard_s.get((alert.id, alert.priority))
        return heard_s is None or t_s - heard_s >= EVERY_S[alert.priority]

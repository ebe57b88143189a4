"""Events of alerts: what is kept of them when they are raised, acknowledged and gone, and when rods join them."""

from __future__ import annotations

from collections.abc import Iterable

from sternwatch.logbook.store.trips import Event
from sternwatch.watch.picture.alert import Alert

GONE = "gone"


class Told:
    """Compares the alerts of each moment with those before."""

    def __init__(self) -> None:
        self._raised: dict[str, Alert] = {}

    def copy(self) -> Told:
        own = Told()
        own._raised = dict(self._raised)
        return own

    @property
    def standing(self) -> frozenset[str]:
        """The ids of the alerts that stood last."""
        return frozenset(self._raised)

    def take(self, alerts: Iterable[Alert], t_s: float) -> list[Event]:
        """The events of a moment, from all alerts that stand then."""
        standing = {alert.id: alert for alert in alerts}
        made = []
        for alert in standing.values():
            before = self._raised.get(alert.id)
            joined = before is not None and not set(alert.keys) <= set(before.keys)
            if before is None or before.state is not alert.state or joined:
                made.append(_event(alert, alert.state.value, t_s))
        made += [_event(alert, GONE, t_s) for alert in self._raised.values() if alert.id not in standing]
        self._raised = standing
        return made


def _event(alert: Alert, state: str, t_s: float) -> Event:
    return Event(alert.id, t_s, alert.kind, alert.priority.value, state, alert.keys, alert.text, alert.advice)

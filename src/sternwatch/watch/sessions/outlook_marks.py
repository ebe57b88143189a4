"""Alerts that the lookout raised while a recording was played, as marks of its timeline.

The background pass makes no outlook: it would take as long as the trip did. So these marks are where the recording
has been played in this session.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sternwatch.watch.sessions.runner import Mark

if TYPE_CHECKING:
    from sternwatch.watch.picture.outlook import Outlook

# The same stretch played again, faster or slower, raises the same alert a little earlier or later.
SAME_S = 60.0


class Foreseen:
    """One thread looks; any may read the marks."""

    def __init__(self) -> None:
        self.marks: tuple[Mark, ...] = ()
        self._raised: dict[tuple[str, tuple[str, ...]], list[float]] = {}
        self._ids: set[str] = set()

    def look(self, outlook: Outlook | None) -> None:
        """Take what the newest outlook raises."""
        for alert in () if outlook is None else outlook.alerts:
            if alert.id in self._ids:
                continue
            self._ids.add(alert.id)
            times = self._raised.setdefault((alert.kind, alert.keys), [])
            if all(abs(alert.since_t_s - t) > SAME_S for t in times):
                times.append(alert.since_t_s)
                self.marks = (*self.marks, Mark(alert.since_t_s, "alert", alert.text))

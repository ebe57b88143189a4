"""The lookout's alerts during a replay, as marks of its timeline.

The background pass makes no outlooks: they would take as long as the trip did. So these marks exist only where the
recording has been played in this session.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from sternwatch.watch.sessions.runner import Mark

if TYPE_CHECKING:
    from sternwatch.watch.picture.outlook import Outlook

# Playing the same part again, faster or slower, raises the same alert a little earlier or later.
SAME_S = 60.0


class Foreseen:
    """One thread calls ``look``; any may read the marks."""

    def __init__(self) -> None:
        self.marks: tuple[Mark, ...] = ()
        self._raised: dict[tuple[str, tuple[str, ...]], list[float]] = {}
        self._ids: set[str] = set()

    def look(self, outlook: Outlook | None) -> None:
        """Take the alerts of the newest outlook."""
        for alert in () if outlook is None else outlook.alerts:
            if alert.id in self._ids:
                continue
            self._ids.add(alert.id)
            times = self._raised.setdefault((alert.kind, alert.keys), [])
            if all(abs(alert.since_t_s - t) > SAME_S for t in times):
                times.append(alert.since_t_s)
                self.marks = (*self.marks, Mark(alert.since_t_s, "alert", alert.text))

"""What was forecast over a recording, as marks of its timeline.

They come from what is played, from the pass that looks ahead along the whole recording, or from what the trip's
console kept. Once the whole is known, it alone counts.
"""

from __future__ import annotations

import threading
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sternwatch.watch.sessions.runner import Mark

if TYPE_CHECKING:
    from sternwatch.logbook.store.trips import Event
    from sternwatch.watch.picture.outlook import Outlook

# Playing the same part again, faster or slower, raises the same alert a little earlier or later.
SAME_S = 60.0


class Foreseen:
    """Any thread may give, and any may read the marks."""

    def __init__(self) -> None:
        self.marks: tuple[Mark, ...] = ()
        self.whole = False  # the marks of the whole recording are known
        self._lock = threading.Lock()
        self._raised: dict[tuple[str, tuple[str, ...]], list[float]] = {}
        self._ids: set[str] = set()

    def look(self, outlook: Outlook | None) -> None:
        """Take the alerts of the newest outlook."""
        with self._lock:
            for alert in () if outlook is None or self.whole else outlook.alerts:
                if alert.id not in self._ids:
                    self._ids.add(alert.id)
                    self._add(alert.since_t_s, alert.kind, alert.keys, alert.text)

    def take(self, events: Sequence[Event]) -> None:
        """Take events of a part."""
        with self._lock:
            for event in events if not self.whole else ():
                if event.state == "active":
                    self._add(event.elapsed_s, event.kind, event.keys, event.text)

    def take_whole(self, events: Sequence[Event]) -> None:
        """Take the events of the whole recording."""
        with self._lock:
            self.whole, self.marks, self._raised = True, (), {}
            for event in events:
                if event.state == "active":
                    self._add(event.elapsed_s, event.kind, event.keys, event.text)

    def drop_whole(self) -> None:
        """An entry has changed what is known: what is found next counts again."""
        with self._lock:
            self.whole = False

    def _add(self, t_s: float, kind: str, keys: tuple[str, ...], text: str) -> None:
        times = self._raised.setdefault((kind, keys), [])
        if all(abs(t_s - other) > SAME_S for other in times):
            times.append(t_s)
            self.marks = (*self.marks, Mark(t_s, "alert", text))

"""From a key press to a stored action: stamps it at once, stores it on another thread, reports when it is safe."""

from __future__ import annotations

import threading
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sternwatch.logbook.actions.kinds import Action, ActionError, new_id, parse
from sternwatch.logbook.store.logbook import Logbook, LogbookError, Stored
from sternwatch.watch.sessions.runner import Saved


class Acts:
    """Stamps and stores actions for one trip. ``take`` returns what is stored.

    Any thread may call ``submit``; only the session's calls ``take``. The logbook's thread calls ``saved`` at once,
    because the crew must not wait for a session that computes; ``take`` calls it for a refusal.
    """

    def __init__(
        self, logbook: Logbook, trip_id: str, wake: Callable[[], None], saved: Callable[[Saved], None]
    ) -> None:
        self._logbook = logbook
        self._trip = trip_id
        self._wake, self._saved = wake, saved
        self._lock = threading.Lock()
        self._pending: dict[str, float] = {}  # id to feed time: submitted, but not taken yet
        self._done: list[Stored] = []

    def submit(self, kind: str, rod: str | None, fields: dict[str, Any], t_s: float, unix_s: float) -> str:
        """Stamp with feed time and UTC, queue for storing, and return the id. A refusal comes through ``take``."""
        identity = new_id()
        given = {
            "id": identity,
            "time": datetime.fromtimestamp(unix_s, UTC),
            "elapsed_s": round(t_s, 3),
            "kind": kind,
        }
        if rod is not None:
            given["rod"] = rod
        given.update(fields)
        try:
            action = parse(given, kind)
        except ActionError as fault:
            self._told(Stored(identity, None, "refused", str(fault)))
            return identity
        with self._lock:
            self._pending[identity] = round(t_s, 3)
        try:
            self._logbook.submit(self._trip, action, self._told)
        except LogbookError as fault:
            self._told(Stored(identity, action, "refused", str(fault)))
        return identity

    def _told(self, stored: Stored) -> None:
        with self._lock:
            self._done.append(stored)
        if stored.kept != "refused":
            self._tell(stored)
        self._wake()

    def _tell(self, stored: Stored) -> None:
        self._saved(Saved(stored.id, accepted(stored), stored.error, stored.kept))

    def take(self) -> list[Stored]:
        """The outcome of submitted actions since the last call, in the order of storing."""
        with self._lock:
            done, self._done = self._done, []
            for stored in done:
                self._pending.pop(stored.id, None)
        for stored in done:
            if stored.kept == "refused":
                self._tell(stored)
        return done

    @property
    def earliest_pending_s(self) -> float | None:
        """Feed time of the oldest action still on its way: to the disk, or from there to ``take``."""
        with self._lock:
            return min(self._pending.values(), default=None)


def accepted(stored: Stored) -> Action | None:
    """The action, if it is kept anywhere; then it counts."""
    return stored.action if stored.kept != "refused" else None

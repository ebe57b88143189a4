"""Marks of a replay's timeline: turns and alerts, found while the recording is read."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

from sternwatch.feed.recording.splices import Splice
from sternwatch.logbook.actions.kinds import Action, Bite, Hit
from sternwatch.watch.core.engine import Watch
from sternwatch.watch.sessions.runner import Mark

# A turn begins above this rate (smoothed over ten seconds) and ends when the rate has been lower for a while.
TURN_DEG_S = 1.5
TURN_OVER_S = 10.0


@dataclass(slots=True)
class Marker:
    """Collects marks from a watch as it steps forward. ``copy`` is cheap enough for checkpoints."""

    marks: list[Mark] = field(default_factory=list)
    _turning_since_s: float | None = None
    _slow_since_s: float | None = None
    _alerts: frozenset[str] = frozenset()

    def until(self, t_s: float) -> Marker:
        """Its state at ``t_s`` [s], for reading on from there."""
        return Marker([mark for mark in self.marks if mark.t_s <= t_s])

    def look(self, watch: Watch) -> None:
        """Call after every step."""
        if watch.t_s is None:
            return
        t, rate = watch.t_s, watch.boat.rate_of_turn_deg_s
        if rate is not None and abs(rate) >= TURN_DEG_S:
            if self._turning_since_s is None:
                self._turning_since_s = t
                self.marks.append(Mark(t, "turn", "turn to starboard" if rate > 0 else "turn to port"))
            self._slow_since_s = None
        elif self._turning_since_s is not None:
            if self._slow_since_s is None:
                self._slow_since_s = t
            elif t - self._slow_since_s >= TURN_OVER_S:
                self._turning_since_s = self._slow_since_s = None
        standing = watch.alerts.standing()
        self.marks += [Mark(t, "alert", alert.text) for alert in standing if alert.id not in self._alerts]
        self._alerts |= {alert.id for alert in standing}


def splice_marks(splices: Iterable[Splice]) -> list[Mark]:
    """Marks where pieces of the recording meet."""
    return [Mark(one.at_s, "splice", f"another piece: {one.words}") for one in splices]


def hit_marks(actions: Iterable[Action], utc_offset_s: float | None) -> list[Mark]:
    """Marks of the hits and bites that the crew entered."""
    found = []
    for action in actions:
        if not isinstance(action, Hit | Bite):
            continue
        t = action.elapsed_s
        if t is None and utc_offset_s is not None:
            t = action.time.timestamp() - utc_offset_s
        if t is not None:
            found.append(Mark(t, "hit", f"hit on {action.rod}" if action.rod else "bite"))
    return found

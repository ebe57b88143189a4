"""The last pass over a recording: what a console would have warned of, once every depth is known.

It takes a sixtieth of the trip's time and more, so it goes on beside the play, on a thread of its own that rests as
long as it works. (A low priority would do harm: while such a thread waits for the processor it may hold the
interpreter, and every key would wait with it.) What it found is kept: the next time it is there at once. An entry
changes only what comes after it, so the pass goes on from a moment before it.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.store.trips import Event

if TYPE_CHECKING:
    from sternwatch.gear.values.units import DisplaySystem
    from sternwatch.watch.core.moments_file import MomentsFile
    from sternwatch.watch.core.player import Checkpoint, Player
    from sternwatch.watch.outlook.afterwards import Afterwards
    from sternwatch.watch.sessions.outlook_marks import Foreseen

_log = logging.getLogger(__name__)

# After so much work it rests for as long, so that it takes at most half of a core.
WORK_S = 0.05
# The moments to which a pass can go back: a minute apart, and farther in a long recording.
LEFT_EVERY_S, MOST_LEFT = 60.0, 40


class Kept(Protocol):
    """Where the events of a recording with these entries are kept."""

    def load(self, actions: Sequence[Action]) -> list[Event] | None:
        """None where they are not there."""
        ...

    def keep(self, actions: Sequence[Action], events: Sequence[Event]) -> None: ...


@dataclass(frozen=True, slots=True)
class Left:
    """A moment of a pass from which it can go on."""

    at: Checkpoint
    entries: int  # how many were known then
    looking: Afterwards
    events: tuple[Event, ...]  # until then


class Way:
    """The moments that the passes over one recording have left behind them."""

    def __init__(self) -> None:
        self._left: list[Left] = []
        self._acted: Sequence[Action] = ()
        self._file: MomentsFile | None = None

    def back(self, acted: Sequence[Action]) -> None:
        """Forget what lies at or after the first new entry: a step takes what was entered up to it."""
        known = len(self._acted)
        same = acted[:known] == self._acted
        since_s = min((entry.elapsed_s or 0.0 for entry in acted[known:]), default=float("inf")) if same else 0.0
        self._left = [left for left in self._left if left.at.t_s < since_s]
        self._acted = acted

    def begin(self, player: Player, units: DisplaySystem) -> tuple[Afterwards, list[Event]]:
        """Set the player to where a pass must begin. Returns what looks ahead there, and the events until then."""
        from sternwatch.watch.outlook.afterwards import Afterwards

        if not self._left:
            return Afterwards(player.watch.spread, units), []
        last = self._left[-1]
        try:
            player.restore(last.at, self._acted[last.entries :])
        except OSError:
            _log.exception("the moments to go on from are lost")
            self._left = []
            return self.begin(player, units)
        return last.looking.copy(), list(last.events)

    def leave(self, player: Player, looking: Afterwards, events: Sequence[Event]) -> None:
        """Call after every look."""
        from sternwatch.watch.core.moments_file import MomentsFile

        self._file = self._file or MomentsFile()
        every_s = max(LEFT_EVERY_S, player.recording.span_s / MOST_LEFT)
        if player.t_s - (self._left[-1].at.t_s if self._left else 0.0) >= every_s:
            self._left.append(Left(player.checkpoint(self._file), len(self._acted), looking.copy(), tuple(events)))


def foretell(
    player: Player,
    way: Way,
    units: DisplaySystem,
    ended: Callable[[], bool],
    each: Callable[[Sequence[Event]], None],
    rest: Callable[[float], object] = time.sleep,
) -> list[Event] | None:
    """All events of a recording; ``each`` gets new ones at once. None where ``ended`` stopped it."""
    looking, events = way.begin(player, units)
    each(events)
    began = time.perf_counter()
    while not player.ended:
        if ended():
            return None
        player.to(player.t_s + 1.0)
        if fresh := looking.look(player.watch):
            events += fresh
            each(fresh)
        way.leave(player, looking, events)
        if (spent := time.perf_counter() - began) >= WORK_S:
            rest(spent)
            began = time.perf_counter()
    return events


class Foretelling:
    """Finds what is foretold over the whole recording, or makes it, and what follows on every new entry."""

    def __init__(self, kept: Kept, foreseen: Foreseen) -> None:
        self._kept, self._foreseen, self._way = kept, foreseen, Way()
        self._asked: Sequence[Action] | None = None  # the entries for which was looked whether it is kept
        self._told: Sequence[Action] | None = None  # those for which it is known

    def look(
        self,
        acted: Sequence[Action],
        make_player: Callable[[], Player],
        units: DisplaySystem,
        *,
        ready: bool,
        ended: Callable[[], bool],
    ) -> None:
        """Call from time to time. ``ready``: every depth is known, and the crew enters nothing now."""
        if acted == self._told:
            return
        events = None
        if acted != self._asked:
            self._asked, events = acted, self._kept.load(acted)
        if events is None:
            self._foreseen.drop_whole()
            if ready:
                self._way.back(acted)
                events = foretell(make_player(), self._way, units, ended, self._foreseen.take)
            if events is None:
                return
            self._kept.keep(acted, events)
        self._told = acted
        self._foreseen.take_whole(events)

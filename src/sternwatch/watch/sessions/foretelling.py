"""The last pass over a recording: what a console would have warned of, once every depth is known.

It takes a twentieth of the trip's time and more, so it goes on beside the play, on a thread of its own that rests as
long as it works. (A low priority would do harm: while such a thread waits for the processor it may hold the
interpreter, and every key would wait with it.) What it found is kept: the next time it is there at once.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, Protocol

from sternwatch.logbook.actions.kinds import Action
from sternwatch.logbook.store.trips import Event

if TYPE_CHECKING:
    from sternwatch.gear.values.units import DisplaySystem
    from sternwatch.watch.core.player import Player
    from sternwatch.watch.sessions.outlook_marks import Foreseen

# After so much work it rests for as long, so that it takes at most half of a core.
WORK_S = 0.05


class Kept(Protocol):
    """Where the events of a recording with these entries are kept."""

    def load(self, actions: Sequence[Action]) -> list[Event] | None:
        """None where they are not there."""
        ...

    def keep(self, actions: Sequence[Action], events: Sequence[Event]) -> None: ...


def foretell(
    player: Player,
    units: DisplaySystem,
    ended: Callable[[], bool],
    each: Callable[[Sequence[Event]], None],
    rest: Callable[[float], object] = time.sleep,
) -> list[Event] | None:
    """All events of a recording; ``each`` gets new ones at once. None where ``ended`` stopped it."""
    from sternwatch.watch.outlook.afterwards import Afterwards

    looking, events = Afterwards(player.watch.spread, units), []
    began = time.perf_counter()
    while not player.ended:
        if ended():
            return None
        player.to(player.t_s + 1.0)
        if fresh := looking.look(player.watch):
            events += fresh
            each(fresh)
        if (spent := time.perf_counter() - began) >= WORK_S:
            rest(spent)
            began = time.perf_counter()
    return events


class Foretelling:
    """Finds what is foretold over the whole recording, or makes it, anew whenever the entries have changed."""

    def __init__(self, kept: Kept, foreseen: Foreseen) -> None:
        self._kept, self._foreseen = kept, foreseen
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
            events = foretell(make_player(), units, ended, self._foreseen.take) if ready else None
            if events is None:
                return
            self._kept.keep(acted, events)
        self._told = acted
        self._foreseen.take_whole(events)

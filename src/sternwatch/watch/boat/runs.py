"""Notices that the boat runs. Lines cannot be out at that speed, so rods still shown out are taken as in.

Nobody presses a key before running to another place, and hours that were never fished would spoil every
rate. Taking rods in is an entry of its own: said once, and undone with one key.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import TYPE_CHECKING

from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import BoatTime
from sternwatch.logbook.actions.kinds import RanIn

if TYPE_CHECKING:
    from sternwatch.logbook.crew.state import Crew

# At this speed for this long, lines cannot be out (common practice, no source).
FAST_M_S = 6 * 0.44704
AFTER_S = 20.0
# A wave that slows the boat for a moment does not end a run.
OVER_AFTER_S = 5.0
SAID_FOR_S = 60.0


@dataclass(slots=True)
class Running:
    """Whether the boat runs now, and since when."""

    since_s: float | None = None
    last_fast_s: float = math.nan
    done: bool = False  # the rods have been taken in for this run
    entry: RanIn | None = None  # the last entry made
    before: tuple[float, float] | None = None  # the last run that lasted and is over

    def step(self, t_s: float, speed_m_s: float | None) -> None:
        """Take the speed of a step. Without a speed a run goes on for a moment."""
        if speed_m_s is not None and speed_m_s > FAST_M_S:
            if self.since_s is None:
                self.since_s, self.done = t_s, False
            self.last_fast_s = t_s
        elif self.since_s is not None and t_s - self.last_fast_s >= OVER_AFTER_S:
            if self.lasts:
                self.before = (self.since_s, self.last_fast_s)
            self.since_s = None

    @property
    def lasts(self) -> bool:
        """Whether it has lasted long enough to be a run."""
        return self.since_s is not None and self.last_fast_s - self.since_s >= AFTER_S

    def take_in(self, t_s: float, utc_offset_s: float | None, crew: Crew) -> RanIn | None:
        """The entry that takes rods in, once for each run. None when no rod is out."""
        if not self.lasts or self.done or self.since_s is None:
            return None
        self.done = True
        keys = tuple(key for key, rod in crew.rods.items() if rod.state != "in")
        if not keys:
            return None
        # Without any clock the moments are feed time counted from the epoch: in order, and unlike any real day.
        now = datetime(1970, 1, 1, tzinfo=UTC) + timedelta(seconds=t_s + (utc_offset_s or 0.0))
        self.entry = RanIn(
            id=f"ran-{round(t_s * 1000)}",
            time=now,
            elapsed_s=round(t_s, 3),
            keys=keys,
            since=now - timedelta(seconds=t_s - self.since_s),
            since_elapsed_s=round(self.since_s, 3),
        )
        return self.entry

    def covers(self, t_s: float, crew: Crew) -> bool:
        """Whether a moment is in a run, unless the crew said that the rods stayed out."""
        now = (self.since_s, self.last_fast_s) if self.lasts and self.since_s is not None else None
        for run in (now, self.before):
            if run is not None and run[0] <= t_s <= run[1]:
                entry = self.entry
                own = entry is not None and entry.since_elapsed_s == round(run[0], 3)
                return not (own and entry is not None and entry.id in crew.undone)
        return False

    def words(self, t_s: float, crew: Crew, units: DisplaySystem) -> str:
        """The sentence shown for a minute after rods were taken in. Empty later, or if undone."""
        entry = self.entry
        if entry is None or entry.elapsed_s is None or t_s - entry.elapsed_s > SAID_FOR_S:
            return ""
        if entry.id not in crew.standing:
            return ""
        rods = "Rod" if len(entry.keys) == 1 else "Rods"
        since = BoatTime(crew.facts.utc_offset_min, units.utc).hms(entry.since)
        fast = units.show(FAST_M_S, Dimension.SPEED)
        return f"{rods} {' '.join(entry.keys)} taken as in: the boat has run above {fast} since {since}"

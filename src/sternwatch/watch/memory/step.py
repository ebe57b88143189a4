"""One step of the watch, as memory and alerts look at it."""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.feed.readings import Sensors
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.crew.state import Crew
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.boat.twins import Twins
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.chains.chains import Chains


@dataclass(frozen=True, slots=True)
class Step:
    """What stands once boat, chains and bottom have moved. Whoever is handed one reads it and changes nothing."""

    t_s: float
    utc_offset_s: float | None  # UTC less feed time; None: the feed has no clock
    heard_s: float | None  # feed time of the last reading of any kind; None before the first
    sensors: Sensors
    crew: Crew
    spread: Spread  # in force
    boat: Boat
    waters: Waters
    chains: Chains
    bottom: Bottom
    twins: Twins

    @property
    def silent_s(self) -> float | None:
        """How long nothing has been heard."""
        return None if self.heard_s is None else self.t_s - self.heard_s

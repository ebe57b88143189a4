"""One step of the watch, as memory and alerts see it."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from sternwatch.feed.readings import Sensors
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.crew.state import Crew
from sternwatch.quickly import quickly_made
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.boat.twins import Twins
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.chains.chains import Chains
from sternwatch.water.profile import TemperatureProfile


@quickly_made
@dataclass(frozen=True)
class Step:
    """The state after boat, chains and bottom have moved. Its readers change nothing."""

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
        """For how long the feed has been silent."""
        return None if self.heard_s is None else self.t_s - self.heard_s

    @cached_property
    def column(self) -> TemperatureProfile:
        """Temperature with depth."""
        return self.waters.column(self.crew.gauges, self.sensors, self.spread.boat.transducer_depth_m)

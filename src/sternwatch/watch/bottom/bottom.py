"""What a session knows of the bottom and of marked places, and where the boat is over them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from sternwatch.feed.readings import Quantity, Sensors
from sternwatch.gear.spread_file.models import Boat as BoatOfFile
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.place_acts import Marked
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.soundings import Charted
from sternwatch.watch.boat.axes import turn_of
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.boat.water import bottom_m
from sternwatch.watch.bottom.imported_grids import Beyond, Grid
from sternwatch.watch.bottom.marked_places import MarkedPlaces
from sternwatch.watch.bottom.over_ground import OverGround, Place2
from sternwatch.watch.bottom.passings import Passing, passings
from sternwatch.watch.bottom.room import Ground
from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_degrees, local_metres
from sternwatch.watch.picture.model import STEP_S

if TYPE_CHECKING:
    from sternwatch.watch.chains.rod_chain import RodChain

# A position older than this no longer says where a sounding was taken.
FIX_HOLDS_S = 2.0


@dataclass(slots=True)
class Bottom:
    """The bottom as one session knows it. Only the watch's step changes it. ``copy`` shares what only grows."""

    boat: BoatOfFile
    charted: tuple[Charted, ...] = ()  # what earlier trips sounded
    marked_before: tuple[Marked, ...] = ()  # and what they marked
    grids: tuple[Grid, ...] = ()  # imported, the finest first
    soundings: Soundings = field(default_factory=Soundings)
    ground: Ground = field(default_factory=Ground)
    marked: MarkedPlaces = field(default_factory=MarkedPlaces)
    origin_deg: Place2 | None = None  # origin of the soundings' plane: the session's first fix
    over: OverGround = field(default_factory=OverGround)  # replaced at every step

    def copy(self) -> Bottom:
        return Bottom(
            self.boat, self.charted, self.marked_before, self.grids, self.soundings.copy(), self.ground.copy(),
            self.marked.copy(), self.origin_deg, self.over,
        )  # fmt: skip

    def step(
        self,
        t_s: float,
        sensors: Sensors,
        utc_offset_s: float | None,
        boat: Boat,
        chains: Mapping[str, RodChain],
    ) -> None:
        """Take the step's fix and sounding, after boat and chains have moved."""
        place_m = self._place(sensors, utc_offset_s)
        self.over = OverGround(place_m, turn_of(boat), self.boat.antenna_m)
        if place_m is not None:
            self._sound(t_s, sensors, place_m)
        self.ground.step(t_s, chains, self.soundings, self.over, boat.rate_of_turn_deg_s)

    def _place(self, sensors: Sensors, utc_offset_s: float | None) -> Place2 | None:
        """Where the boat is. The first fix becomes the origin; then earlier trips' soundings are loaded."""
        fix = sensors.get(Quantity.POSITION)
        fresh = fix is not None and fix.age_s is not None and fix.age_s < FIX_HOLDS_S
        place = fix.value if fix is not None and fresh else None
        if not isinstance(place, tuple):
            return None
        if self.origin_deg is None:
            self.origin_deg = place
            self.soundings.recall(self.charted, place, utc_offset_s)
            self.soundings.beyond = Beyond(self.grids, place) if self.grids else None
        return local_metres(self.origin_deg, place)

    def _sound(self, t_s: float, sensors: Sensors, place_m: Place2) -> None:
        bottom = sensors.get(Quantity.BOTTOM)
        depth = bottom_m(sensors, self.boat.transducer_depth_m)
        if depth is not None and bottom is not None and bottom.age_s is not None and bottom.age_s <= STEP_S:
            self.soundings.take(Sounding(t_s, *place_m, depth))

    def take_entries(
        self,
        crew: Crew,
        spread: Spread,
        boat: Boat,
        utc_offset_s: float | None,
        boat_at: Callable[[float], Place2 | None],
    ) -> None:
        """Update the marked places from the crew's entries. ``boat_at``: where the boat was at a feed time."""
        self.marked.step(crew, spread, boat, self.marked_before, self.origin_deg, utc_offset_s, boat_at)

    def passings(self, chains: Mapping[str, RodChain]) -> list[Passing]:
        """Nets and snags that the chains reach if she goes straight on. Empty while she turns or hardly moves."""
        velocity = self.ground.velocity_m_s
        if velocity is None or self.ground.turning:
            return []
        return passings(self.marked.marks(), chains, self.soundings, self.over, velocity)

    def degrees_at(self, astern_m: float, abeam_m: float) -> Place2 | None:
        """(latitude, longitude) of a place in boat axes. None where the boat's place is unknown."""
        at_m = self.over.at(astern_m, abeam_m)
        return None if at_m is None or self.origin_deg is None else local_degrees(self.origin_deg, at_m)

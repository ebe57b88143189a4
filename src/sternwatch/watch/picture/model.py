"""The picture: everything known at one instant, as one immutable value.

The screen and the machine-readable output show only pictures. SI units; the screen converts.
Boat axes: astern positive behind the transom, abeam positive to starboard, depth positive down.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sternwatch.feed.readings import Sensors
from sternwatch.gear.values.units import DisplaySystem
from sternwatch.local_time import BoatTime
from sternwatch.quickly import quickly_made
from sternwatch.watch.picture.alert import Alert

if TYPE_CHECKING:
    from sternwatch.answers.belief.observations import Observation
    from sternwatch.logbook.crew.state import Crew
    from sternwatch.logbook.store.samples import HitRow
    from sternwatch.watch.picture.fishing import Fishing
    from sternwatch.watch.picture.ground import GroundPicture
    from sternwatch.watch.picture.outlook import Forecast, Outlook


STEP_S = 1.0
"""Between the watch's own pictures [s of feed time]: what a single step of a recording is."""


class Session(StrEnum):
    """The kind of session. Every screen's frame shows all kinds but LIVE."""

    LIVE = "live"
    DEMO = "demo"
    REPLAY = "replay"
    PRACTICE = "practice"


class RodState(StrEnum):
    """What a rod is doing. The values are the contract's."""

    IN = "in"
    LETTING_OUT = "letting out"
    FISHING = "fishing"
    REELING = "reeling"
    FIGHTING = "fighting"


class SolverState(StrEnum):
    """How good the computed place of a rod is."""

    SETTLED = "settled"
    UNSETTLED = "unsettled"  # just started, resumed or jumped: the chain's start still matters
    SLACK = "slack"  # a diver's flow is under 0.3 m/s or its line's pull under 1 N
    PULLED_UNDER = "pulled under"  # a board has been below its own height for 3 s
    FAILED = "failed"  # the step did not converge: no depth is shown
    OLD = "old"  # no speed now; the numbers are from before
    NONE = "none"  # no speed for long, or the rod is in: no numbers


class SpeedSource(StrEnum):
    """The speed that drives the depths. The screen always names it."""

    THROUGH_WATER = "through water"
    OVER_GROUND = "over ground"
    NONE = "none"


@quickly_made
@dataclass(frozen=True, slots=True)
class WaterSpeed:
    """How well the speed through the surface water is known, and from what. Half widths are at 90 %."""

    off_m_s: float  # of the speed that drives the chains
    current_m_s: tuple[float, float] | None  # (north, east) of the surface water over ground; None: unknown
    current_off_m_s: float  # of the current along the course
    told: str  # source of the current: "legs" | "helm" | "file"; empty: unknown
    scale: float | None  # factor on the paddle wheel's reading; None: unknown, the reading is used as it is
    scale_off: float | None  # None: no paddle wheel drives the depths
    missing: str = ""  # what would improve it; empty: nothing at the helm


@quickly_made
@dataclass(frozen=True, slots=True)
class OwnBoat:
    """The filtered motion of the boat. None: unknown."""

    speed_source: SpeedSource
    speed_m_s: float | None  # the speed that drives the chains, filtered
    speed_mean_m_s: float | None  # 15 s mean of it
    speed_range_m_s: tuple[float, float] | None  # over the last minute
    sog_m_s: float | None
    stw_m_s: float | None
    course_deg: float | None
    heading_deg: float | None
    rate_of_turn_deg_s: float | None  # smoothed over 10 s; positive to starboard
    position_deg: tuple[float, float] | None  # latitude, longitude
    why_no_speed: str = ""  # a sentence, when speed_source is NONE
    water: WaterSpeed | None = None  # None: no speed


@quickly_made
@dataclass(frozen=True, slots=True)
class Point:
    """A tackle item of a chain, in chain order."""

    what: str
    depth_m: float
    astern_m: float
    abeam_m: float
    clearance_m: float | None = None  # bottom under it minus its depth


@quickly_made
@dataclass(frozen=True, slots=True)
class BottomPicture:
    """The body of a rod with the least room to the bottom, and what it meets if the boat goes straight on."""

    what: str
    room_m: float
    off_m: float  # distance from the body to the sounding
    age_s: float | None  # of that sounding; None: the feed has no clock
    earlier: bool  # sounded on an earlier trip
    touches: str = ""  # the body that touches first; empty: none on the known bottom
    touches_s: float | None = None  # when, from now
    raise_m: float = 0.0  # by how much the rod must come up to pass with room to spare
    known_s: float | None = None  # how long the bottom ahead is known; None: there is room enough not to ask
    error_m: float | None = None  # an imported grid tells it, which may be so far off; None: it was sounded


@quickly_made
@dataclass(frozen=True, slots=True)
class RodPicture:
    """One rod at one instant. Computed values are None while the rod is in or nothing is known."""

    key: str
    name: str
    side: str  # port | starboard | centre
    tip_abeam_m: float  # to starboard
    state: RodState
    solver: SolverState
    line_out_m: float | None  # as the counter reads; 0 until the line that it measures goes out
    setting: str | None
    lead_m: float | None  # the length that carries ``adjust``
    target_depth_m: float | None
    depth_m: float | None = None
    astern_m: float | None = None
    abeam_m: float | None = None
    depth_interval_m: tuple[float, float] | None = None
    depth_quantiles_m: tuple[float, ...] | None = None  # 0.05, 0.25, 0.5, 0.75, 0.95; the third is ``depth_m``
    rough: bool = False  # the interval is wider than a quarter of the depth
    lure_speed_m_s: float | None = None
    vertical_speed_m_s: float | None = None  # positive sinking
    depth_change_10s_m: float | None = None  # over the last 10 s, positive deeper
    temperature_c: float | None = None
    temperature_range_c: tuple[float, float] | None = None  # instead of it, a little past the last reading
    in_zone: bool | None = None
    left_zone_s: float | None = None  # how long ago it left the zone; None: it has not
    unchecked: bool = False  # nobody has set or checked its line for forty minutes
    clearance_m: float | None = None  # bottom under the lure minus its depth
    bottom: BottomPicture | None = None  # None: nothing was sounded where its tackle is
    clearance_wanted_m: float | None = None  # of a rod fished on the bottom on purpose
    on_bottom: bool = False  # it is fished there on purpose
    nearest_m: float | None = None  # distance to the nearest other chain
    nearest_key: str | None = None
    tension_N: float | None = None
    entry_angle_deg: float | None = None
    points: tuple[Point, ...] = ()
    # The chain from the rod tip outward as (n, 3) [astern, abeam, depth]; read-only.
    shape_m: NDArray[np.float64] | None = field(default=None, compare=False)
    moving_to_m: float | None = None  # the length at which letting out or reeling in will end
    past_tip_m: float | None = None  # the whole length past the rod tip, with the leader
    uncounted_m: float = 0.0  # what goes out first, before the line that the counter measures
    why_no_depth: str = ""
    hits: int = 0  # this trip, without doubtful ones and "no fish"
    last_hit_t_s: float | None = None
    set_t_s: float | None = None  # the last time it was let out, changed or checked
    chosen: bool = False
    rig: str = ""  # the device that carries it: diver | ball | board | weight; empty: the line alone
    settings: tuple[str, ...] = ()  # the diver's labels in order of their angles; empty without a diver


@dataclass(frozen=True, slots=True)
class EntryPicture:
    """An entry of the crew that can be taken back or put back, with its name on the screen."""

    id: str
    words: str


@quickly_made
@dataclass(frozen=True, slots=True)
class HitPicture:
    """A hit for the screen's list, newest last."""

    id: str
    t_s: float
    utc_s: float | None
    rod: str | None  # None: a bite whose rod is still unknown
    state: str  # open | boxed | freed | dropped | no fish
    doubtful: bool
    depth_m: float | None
    note: str = ""
    species: str | None = None
    length_m: float | None = None
    mass_kg: float | None = None
    line_out_m: float | None = None
    setting: str | None = None


@dataclass(frozen=True, slots=True)
class MarkPicture:
    """A marked place, from the boat's present place; ahead of her ``astern_m`` is negative."""

    id: str
    what: str  # net | snag | bait | break
    astern_m: float
    abeam_m: float
    age_s: float | None
    earlier: bool  # on an earlier trip


# A rod passes fish within this distance above or below its lure: five feet, as crews asked for.
FISH_WITHIN_M = 1.524


@dataclass(frozen=True, slots=True)
class LineForFish:
    """The line out at which a rod's lure would run at the fish. None: no length does; ``why`` says why."""

    key: str
    line_out_m: float | None  # as the counter reads
    why: str = ""


@dataclass(frozen=True, slots=True)
class FishPicture:
    """Fish seen on the sounder."""

    id: str
    depth_m: float
    astern_m: float | None  # where they were seen, from the boat's present place; None: unknown
    abeam_m: float | None
    age_s: float | None
    passing: tuple[str, ...]  # rods whose lures run within five feet of that depth now
    others: tuple[LineForFish, ...]  # the line out for each other rod, at ``speed_m_s``
    speed_m_s: float | None


@dataclass(frozen=True, slots=True)
class FightPicture:
    """A fish on, where it struck, and the lines between it and the boat."""

    key: str
    astern_m: float | None  # None: nobody knows where its lure was
    abeam_m: float | None
    clear: tuple[str, ...] | None  # rods to clear, the one next to it first; None: unknown
    ball_down: bool = False  # its line has left the ball, and the ball is still down


@dataclass(frozen=True, slots=True)
class Pulling:
    """All lines that are out, in the order to pull them."""

    keys: tuple[str, ...]
    time_s: float | None  # None: the line out of some rod is unknown
    hands: int  # number of people who pull at the same time


@dataclass(frozen=True, slots=True)
class DepthSpeed:
    """Speed through the water at a depth, as the crew read it off a gauge."""

    speed_m_s: float
    depth_m: float
    t_s: float  # when


@dataclass(frozen=True, slots=True)
class PracticePicture:
    """The state of a practice boat and her drill; only in practice."""

    drill: str
    briefing: str
    goal: str  # in words; empty: none
    drill_s: float  # since the drill began, negative before
    time_left_s: float | None
    rudder_deg: float  # positive to starboard
    heading_held_deg: float | None  # None: steered by hand
    engine: str  # kicker | main
    lever: float  # 0 to 1
    turned_deg: float  # since the drill began, positive to starboard
    over: bool
    waits: bool  # for the crew to read the briefing
    hold_s: float
    says: tuple[str, ...] = ()  # recent events, oldest first
    striking: tuple[str, ...] = ()  # rods that have gone off and are not entered yet
    vessel: str = ""  # another boat, in words
    held_s: float | None = None  # how long the goal has held, of ``hold_s``; None: it does not hold
    result: tuple[str, ...] = ()  # lines of text: earlier attempts, and the result when it is over


@quickly_made
@dataclass(frozen=True, slots=True)
class Picture:
    """Everything known at one instant of feed time."""

    t_s: float
    utc_s: float | None
    session: Session
    trip: str
    sensors: Sensors
    own: OwnBoat
    rods: tuple[RodPicture, ...]  # in file order
    alerts: tuple[Alert, ...]  # worst first
    hits: tuple[HitPicture, ...]
    zone_c: tuple[float, float] | None = None  # None: no zone chosen
    zone_name: str = ""
    zone_source: str = ""
    temperature_profile: tuple[tuple[float, float], ...] = ()  # (depth_m, degC) from the surface downward
    depth_speed: DepthSpeed | None = None  # the newest one entered
    bottom_m: float | None = None  # under the transducer, below the surface; None when lost
    bottom_track: tuple[tuple[float, float], ...] = ()  # (astern_m along the track, depth_m)
    bottom_age_s: float | None = None  # the oldest of those soundings from earlier trips, if any
    marks: tuple[MarkPicture, ...] = ()  # within a kilometre, nearest first
    fish_seen: tuple[FishPicture, ...] = ()  # in the last half hour, newest last
    fights: tuple[FightPicture, ...] = ()  # the longest fight first
    pulling: Pulling | None = None  # None: all rods are in
    newest_entry: str = ""  # the entry that `u` would take back, in words
    spread_name: str = ""
    calibration: str = ""  # its name; empty: the priors alone
    observations: tuple[Observation, ...] = ()  # of rods, in order of entry; those that tell nothing have the reason
    crew: Crew | None = field(default=None, compare=False)  # the actions folded: facts, box, put back
    hit_rows: tuple[HitRow, ...] = field(default=(), compare=False)  # hits with what was known at them
    fishing: Fishing | None = field(default=None, compare=False)  # the trip's samples so far
    ground: GroundPicture | None = None  # None: no fix yet
    entries: tuple[EntryPicture, ...] = ()  # those that count now, newest last; the last dozen is enough
    taken_back: tuple[EntryPicture, ...] = ()  # taken back by `u`, in that order, newest last
    practice: PracticePicture | None = None
    # The newest outlook. The screen that shows both puts it here; the watch knows nothing of it.
    ahead: Outlook | None = field(default=None, compare=False)
    # Likewise a plan of the spread that waits to be entered, as a forecast with its lines.
    planned: Forecast | None = field(default=None, compare=False)
    people: int | None = None  # people aboard, as the crew said, else by the file
    rods_per_person: int | None = None  # the user's own number

    def clock(self, units: DisplaySystem) -> BoatTime:
        """The clock for times of day."""
        return BoatTime(None if self.crew is None else self.crew.facts.utc_offset_min, units.utc)

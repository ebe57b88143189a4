"""The own boat's place, speed and direction in the water: turns sensor values into numbers that drive chains.

The chains live in a frame that drifts with the surface water; the boat's place in it is the integral of its
velocity through that water. The place over ground serves soundings and records only.
"""

from __future__ import annotations

import copy
import math
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from sternwatch.feed.readings import Quantity, Reading, Sensors, SensorState, SensorValue
from sternwatch.watch.boat.compass import HeadingAgainstCourse, Way
from sternwatch.watch.boat.contradiction import Explains, LogAgainstGround
from sternwatch.watch.boat.current import Belief, CurrentFilter, Said
from sternwatch.watch.boat.drift import Drift
from sternwatch.watch.boat.motion_filter import LEAST_SPEED_FOR_COURSE_M_S, MotionFilter, RateFilter, wrap_deg
from sternwatch.watch.boat.runs import Running
from sternwatch.watch.boat.through_water import through_water
from sternwatch.watch.picture.model import OwnBoat, SpeedSource

MEAN_S = 15.0
RANGE_S = 60.0
RATE_S = 10.0
# A course older than this no longer belongs to the speed that comes with it.
COURSE_HOLDS_S = 3.0
# A paddle wheel that reads nothing while the boat clearly moves for this long is stuck, not still.
STUCK_AFTER_S = 15.0
# With way on but no compass or course for this long, assume a straight course: a line's depth needs neither.
BLIND_AFTER_S = 30.0
STUCK_BELOW_M_S = 0.1
MOVING_ABOVE_M_S = 0.8
# The current found from legs is taken from this long ago: a drifting log bends the newest estimate.
TOLD_BEFORE_S = 120.0
_TOLD_EVERY_S = 10.0
# However well a current is known, here and now it may differ by this much (memory).
_CURRENT_SD_M_S = 0.05
# Where the crew give no current, depths allow for more than ordinary ones, so that they hold in a coastal jet too.
# A false log is commoner than such a jet. So log and ground are compared by ordinary currents, +-0.25 m/s at 90 %;
# while they contradict each other, the intervals cover both. A crew that enters stronger currents is believed.
_ORDINARY_CURRENT_SD_M_S = 0.152
_UNSAID_CURRENT_SD_M_S = 0.213


def usable(value: SensorValue | None) -> float | None:
    """The number of a fresh, undoubted scalar, else None."""
    if value is None or value.state is not SensorState.FRESH or value.suspect or not isinstance(value.value, float):
        return None
    return value.value


@dataclass(slots=True)
class Boat:
    """The own boat: her motion, and what is known of it. Only the watch's step changes it."""

    filters: MotionFilter
    current: CurrentFilter = field(default_factory=CurrentFilter)
    speeds_differ: LogAgainstGround = field(default_factory=LogAgainstGround)
    compass_differs: HeadingAgainstCourse = field(default_factory=HeadingAgainstCourse)
    drift: Drift = field(default_factory=Drift)  # of the surface water over ground
    running: Running = field(default_factory=Running)  # whether she goes too fast for any line to be out
    north_m: float = 0.0  # in the water frame
    east_m: float = 0.0
    t_s: float | None = None  # of the last step with a known speed
    source: SpeedSource = SpeedSource.NONE
    why_no_speed: str = ""  # why no speed is used, in a sentence; empty otherwise; set by `choose`
    dark_since_s: float | None = None  # since when no known speed or course tows the lines; set by `follow`
    _speeds: deque[tuple[float, float]] = field(default_factory=deque)
    _headings: deque[tuple[float, float]] = field(default_factory=deque)
    _course: tuple[float, float] | None = None  # (t_s, deg)
    _still_since_s: float | None = None
    _told: deque[tuple[float, Belief]] = field(default_factory=deque)  # oldest first, `TOLD_BEFORE_S` of them
    _said: Said | None = None  # the current that the crew had entered when these were kept
    _velocity: tuple[float, float] = (0.0, 0.0)
    rate_of_turn_deg_s: float | None = None  # over the last ten seconds, positive to starboard
    heading_known: bool = False
    way_known: bool = False  # whether her direction is known; until it is, nothing can be laid astern of her
    way_assumed: bool = False  # no compass and no course: she is taken to go straight, in some direction
    _blind_since_s: float | None = None

    def copy(self) -> Boat:
        twin = copy.copy(self)
        twin.filters, twin.current = copy.deepcopy(self.filters), self.current.copy()
        twin.speeds_differ = self.speeds_differ.copy()
        twin.compass_differs = self.compass_differs.copy()
        twin.running, twin.drift = copy.copy(self.running), copy.copy(self.drift)
        twin._speeds, twin._headings = self._speeds.copy(), self._headings.copy()
        twin._told = self._told.copy()
        return twin

    @property
    def known(self) -> bool:
        """Whether her speed is known now."""
        return self.source is not SpeedSource.NONE and self.t_s is not None

    @property
    def speed_m_s(self) -> float:
        """Through the surface water, never negative."""
        return max(self.filters.speed.x, 0.0)

    @property
    def heading_deg(self) -> float:
        """Where the boat points: her heading, else her direction of motion. Meaningless until ``way_known``."""
        return self._points().x

    def stuck(self, t_s: float, sensors: Sensors) -> bool:
        """Whether speed through water reads zero although the boat moves over ground."""
        stw = usable(sensors.get(Quantity.STW))
        sog = usable(sensors.get(Quantity.SOG))
        if stw is None or sog is None or stw >= STUCK_BELOW_M_S or sog <= MOVING_ABOVE_M_S:
            self._still_since_s = None
            return False
        if self._still_since_s is None:
            self._still_since_s = t_s
        return t_s - self._still_since_s >= STUCK_AFTER_S

    def choose(self, t_s: float, sensors: Sensors) -> None:
        """Choose the speed for the depths, or say why there is none."""
        stuck = self.stuck(t_s, sensors)
        doubted = self.speeds_differ.stands and usable(sensors.get(Quantity.SOG)) is not None
        if usable(sensors.get(Quantity.STW)) is not None and not stuck and not doubted:
            self.source = SpeedSource.THROUGH_WATER
        elif usable(sensors.get(Quantity.SOG)) is not None:
            self.source = SpeedSource.OVER_GROUND
        else:
            self.source = SpeedSource.NONE
        self.why_no_speed = _why_none(sensors) if self.source is SpeedSource.NONE else ""

    def take(self, readings: Iterable[Reading], sensors: Sensors) -> None:
        """Filter a step's readings from the sources in charge, in time order."""
        for reading in readings:
            chosen = sensors.get(reading.quantity)
            if chosen is None or not isinstance(reading.value, float) or reading.suspect:
                continue
            if chosen.sentence != reading.sentence or chosen.talker != reading.talker:
                continue
            if chosen.source != reading.source:
                continue
            t, value = reading.t_s, reading.value
            self._tell_window(reading, value)
            if reading.quantity is Quantity.STW:
                self.speeds_differ.take_log(t, value)
            elif reading.quantity is Quantity.SOG:
                self.speeds_differ.take_ground(t, value)
            match reading.quantity:
                case Quantity.STW if self.source is SpeedSource.THROUGH_WATER:
                    self.filters.take_speed(t, value * self.current.driving_scale)
                case Quantity.SOG if self.source is SpeedSource.OVER_GROUND:
                    self.filters.take_ground_velocity(t, value, self._course_at(t))
                case Quantity.COG:
                    self._course = (t, value)
                    sog = usable(sensors.get(Quantity.SOG))
                    moving = sog is not None and sog >= LEAST_SPEED_FOR_COURSE_M_S
                    if self.source is SpeedSource.THROUGH_WATER and not self.heading_known and moving:
                        self.filters.direction.measure(t, value, 4.0)
                case Quantity.HEADING:
                    self.filters.take_heading(t, value)
                case Quantity.RATE_OF_TURN:
                    self.filters.take_rate(t, value)

    def _tell_window(self, reading: Reading, value: float) -> None:
        """Give both speeds to the current filter, whichever of them drives the depths."""
        window = self.current.window
        match reading.quantity:
            case Quantity.SOG:
                course = self._course_at(reading.t_s)
                if course is not None:
                    window.take_ground(value, course)
            case Quantity.STW if self.source is SpeedSource.THROUGH_WATER:
                window.logs.append(value)
            case Quantity.HEADING if reading.reference != "magnetic" and not self.compass_differs.stands:
                window.take_heading(value)
            case Quantity.PROBE_SPEED:
                window.probes.append(value)

    def _course_at(self, t_s: float) -> float | None:
        """The course over ground that goes with a speed at ``t_s``."""
        fresh = self._course is not None and t_s - self._course[0] <= COURSE_HOLDS_S
        return self._course[1] if fresh and self._course is not None else None

    def step(self, t_s: float, sensors: Sensors) -> bool:
        """Advance to ``t_s``. Returns whether her place in the water continues from the step before.

        False after a gap in the speed: the boat moved meanwhile, and nobody knows where.
        """
        self._compare_compass(t_s, sensors)
        self.heading_known = usable(sensors.get(Quantity.HEADING)) is not None and not self.compass_differs.stands
        self.current.step(t_s)
        self._compare_speeds(t_s)
        self.filters.current_m_s = self.current.driving_m_s
        if self.source is SpeedSource.NONE or self.filters.speed.t_s is None:
            self.t_s = None
            return False
        self.filters.advance(t_s)
        self._assume_way(t_s, sensors)
        follows = self._move_on(t_s)
        self._tell_drift(t_s, sensors)
        self._speeds.append((t_s, self.speed_m_s))
        while self._speeds[0][0] < t_s - RANGE_S:
            self._speeds.popleft()
        if not self.way_known or not self._points().read_since(t_s - COURSE_HOLDS_S):
            self._headings.clear()  # a direction that differs after a gap is not a turn
            self.rate_of_turn_deg_s = None
            return follows
        self._headings.append((t_s, self.heading_deg))
        while self._headings[0][0] < t_s - RATE_S:
            self._headings.popleft()
        self.rate_of_turn_deg_s = _rate_of_turn(self._headings)
        return follows

    def _tell_drift(self, t_s: float, sensors: Sensors) -> None:
        sog, course = usable(sensors.get(Quantity.SOG)), usable(sensors.get(Quantity.COG))
        if sog is None or course is None or not self.way_known:
            return
        a = math.radians(course)
        self.drift.take(t_s, (sog * math.cos(a), sog * math.sin(a)), self._velocity)

    def _assume_way(self, t_s: float, sensors: Sensors) -> None:
        """Assume a straight course where none was measured for long. The first measured course ends that."""
        told = self._way().t_s is not None or any(
            usable(sensors.get(one)) is not None for one in (Quantity.COG, Quantity.HEADING)
        )
        if told or self.speed_m_s < LEAST_SPEED_FOR_COURSE_M_S:
            self._blind_since_s = None
        elif self._blind_since_s is None:
            self._blind_since_s = t_s
        assumed = not told and (
            self.way_assumed or (self._blind_since_s is not None and t_s - self._blind_since_s >= BLIND_AFTER_S)
        )
        if self.way_assumed and not assumed:
            self.way_known = False  # lay the lines again, along the measured course
        self.way_assumed = assumed

    def _move_on(self, t_s: float) -> bool:
        """Move her place in the water once her direction is known. Returns whether the place continues."""
        way = self._way()
        follows = self.t_s is not None and self.way_known
        self.way_known = way.t_s is not None or self.way_assumed
        a = math.radians(way.x)
        velocity = (self.speed_m_s * math.cos(a), self.speed_m_s * math.sin(a)) if self.way_known else (0.0, 0.0)
        if follows and self.t_s is not None:
            half = 0.5 * (t_s - self.t_s)
            self.north_m += half * (velocity[0] + self._velocity[0])
            self.east_m += half * (velocity[1] + self._velocity[1])
        self._velocity, self.t_s = velocity, t_s
        return follows

    def _way(self) -> RateFilter:
        """The filter that gives her direction through the water: heading or course."""
        points = self._points()
        return points if self._along_heading() or self.filters.direction.t_s is None else self.filters.direction

    def _points(self) -> RateFilter:
        """The filter that gives where she points. A silent compass still serves until a course comes."""
        heading, course = self.filters.heading, self.filters.direction
        return heading if heading.t_s is not None and (self.heading_known or course.t_s is None) else course

    def _told_before(self, t_s: float) -> Belief:
        """The belief of `TOLD_BEFORE_S` ago. A current that the crew enters counts at once."""
        if self._said != self.current.said:
            self._said = self.current.said
            self._told.clear()
            self.speeds_differ.forget()
        if not self._told or t_s - self._told[-1][0] >= _TOLD_EVERY_S:
            self._told.append((t_s, self.current.belief))
        while len(self._told) > 1 and self._told[1][0] <= t_s - TOLD_BEFORE_S:
            self._told.popleft()
        return self._told[0][1]

    def _compare_speeds(self, t_s: float) -> None:
        """Compare log and ground, by the current found and by the one believed before."""
        course = self._course_at(t_s)
        if course is None:
            course = self.heading_deg
        a = math.radians(course)
        north, east = math.cos(a), math.sin(a)
        belief, prior = self._told_before(t_s), self.current.prior
        most = self._most_current_sd_m_s
        told = Explains(
            belief.current_m_s[0] * north + belief.current_m_s[1] * east,
            min(max(belief.along_sd_m_s(a), _CURRENT_SD_M_S), most),
        )
        before = Explains(
            prior.given_m_s[0] * north + prior.given_m_s[1] * east,
            min(math.hypot(prior.current_sd_m_s[0] * north, prior.current_sd_m_s[1] * east), most),
        )
        self.speeds_differ.step(t_s, belief.scale, prior.scale_sd, (told, before), course, before.sd_m_s)

    @property
    def _most_current_sd_m_s(self) -> float:
        """How uncertain a current may be in these comparisons: an ordinary one, unless the crew report stronger."""
        unsaid = max(self.current.prior.current_sd_m_s) <= _UNSAID_CURRENT_SD_M_S
        return _ORDINARY_CURRENT_SD_M_S if unsaid else math.inf

    def _compare_compass(self, t_s: float, sensors: Sensors) -> None:
        """Compare heading and course, by the current found some time ago and by the one believed before."""
        heading, log = sensors.get(Quantity.HEADING), usable(sensors.get(Quantity.STW))
        ground, course = usable(sensors.get(Quantity.SOG)), usable(sensors.get(Quantity.COG))
        stood = self.compass_differs.stands
        prior, most = self.current.prior, self._most_current_sd_m_s
        told = self._told[0][1] if self._told else self.current.belief
        ways: tuple[Way, ...] = ()
        if ground is not None and course is not None:
            across_sd = told.along_sd_m_s(math.radians(course + 90.0))
            ways = (
                Way.of(course, ground, told.current_m_s, min(max(across_sd, _CURRENT_SD_M_S), most)),
                Way.of(course, ground, prior.given_m_s, min(max(prior.current_sd_m_s), most)),
            )
        speed = 0.0 if ground is None else ground if log is None or self.speeds_differ.stands else min(ground, log)
        magnetic = heading is not None and heading.reference == "magnetic"
        self.compass_differs.step(t_s, usable(heading), course, speed, ways, magnetic=magnetic)
        if self.compass_differs.stands is not stood:
            self.way_known = False  # lay the lines again, along the direction that counts now: she has not turned

    def follow(self, t_s: float, *, hole: bool) -> None:
        """Note since when her speed or direction is unknown.

        A hole in the feed drops the motion: it starts afresh. A lost speed also drops the course, so that lines are
        not laid along an old one when the speed comes back first.
        """
        if self.known and self.way_known:
            self.dark_since_s = None
            return
        if self.dark_since_s is None:
            self.dark_since_s = t_s
        if not self.known and t_s - self.dark_since_s >= COURSE_HOLDS_S:
            self.filters.direction.reset()
            self.way_known = self.way_assumed = False
            self._blind_since_s = None
        if hole:
            self._forget()

    def _forget(self) -> None:
        self.filters.reset()
        self.drift = Drift()
        self._speeds.clear()
        self._headings.clear()
        self.rate_of_turn_deg_s = None
        self.t_s = None
        self.way_known = self.way_assumed = False
        self._blind_since_s = None

    def _along_heading(self) -> bool:
        return self.source is SpeedSource.THROUGH_WATER and self.heading_known

    @property
    def velocity_m_s(self) -> tuple[float, float]:
        """(north, east) through the surface water."""
        return self._velocity

    @property
    def mean_m_s(self) -> float | None:
        """The mean speed of the last seconds. None without any."""
        if self.t_s is None:
            return None
        recent: list[float] = []
        for t, speed in reversed(self._speeds):
            if t <= self.t_s - MEAN_S:
                break
            recent.append(speed)
        return sum(reversed(recent)) / len(recent) if recent else None

    def own(self, sensors: Sensors) -> OwnBoat:
        """The boat for the picture."""
        known = self.known
        speeds = [v for _, v in self._speeds]
        position = sensors.get(Quantity.POSITION)
        place = position.value if position is not None and position.state is SensorState.FRESH else None
        return OwnBoat(
            speed_source=self.source if known else SpeedSource.NONE,
            speed_m_s=self.speed_m_s if known else None,
            speed_mean_m_s=self.mean_m_s if known else None,
            speed_range_m_s=(min(speeds), max(speeds)) if known and speeds else None,
            sog_m_s=usable(sensors.get(Quantity.SOG)),
            stw_m_s=usable(sensors.get(Quantity.STW)),
            course_deg=usable(sensors.get(Quantity.COG)),
            heading_deg=usable(sensors.get(Quantity.HEADING)),
            rate_of_turn_deg_s=self.rate_of_turn_deg_s if known else None,
            position_deg=place if isinstance(place, tuple) else None,
            why_no_speed=self.why_no_speed or ("" if known else "waiting for the first speed"),
            water=through_water(
                self.current,
                self.source,
                self.speed_m_s,
                self.velocity_m_s,
                self.heading_deg,
                self.speeds_differ.apart_m_s,
            )
            if known
            else None,
        )


def _rate_of_turn(headings: Sequence[tuple[float, float]]) -> float | None:
    """Degrees a second over times and headings. None until five seconds are known."""
    (t0, before), (t1, _) = headings[0], headings[-1]
    if t1 - t0 < RATE_S / 2:
        return None
    turned = 0.0
    for _, heading in headings:
        turned += wrap_deg(heading - before)
        before = heading
    return turned / (t1 - t0)


def why_no_way(sensors: Sensors) -> str:
    """Why the boat's direction is unknown, from what her sensors last said."""
    course = sensors.get(Quantity.COG)
    if course is None or course.state is SensorState.NEVER:
        return "no course ever came"
    if course.suspect:
        return f"the course is doubted ({course.suspect})"
    sog = usable(sensors.get(Quantity.SOG))
    if sog is not None and sog < LEAST_SPEED_FOR_COURSE_M_S:
        return "she moves too slowly to tell her course"
    return "waiting for the first course"


def _why_none(sensors: Sensors) -> str:
    """Why there is no speed, from what each speed sensor last said."""
    parts = []
    for quantity, name in ((Quantity.STW, "speed through water"), (Quantity.SOG, "speed over ground")):
        value = sensors.get(quantity)
        if value is None or value.state is SensorState.NEVER:
            parts.append(f"no {name} ever came")
        elif value.suspect:
            parts.append(f"{name} is doubted ({value.suspect})")
        elif value.state is SensorState.NONE:
            parts.append(f"the sensor says it has no {name}")
        elif value.age_s is not None:
            parts.append(f"{name} fell silent {value.age_s:.0f} s ago")
        else:
            parts.append(f"{name} fell silent")
    return "; ".join(parts)

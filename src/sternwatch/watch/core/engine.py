"""The watch: readings and actions in, pictures out.

``observe`` and ``act`` only queue. ``advance`` steps a fixed grid of feed time, one second apart, whatever the calls
look like, and each step uses exactly what was stamped up to it. The same two streams therefore give the same
pictures to the last digit, live or replayed, at any speed.
"""

from __future__ import annotations

import copy
import math
from bisect import insort
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.priors import MEMBERS, Draws, believed
from sternwatch.feed.readings import Quantity, Reading, Sensors
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS, DisplaySystem
from sternwatch.logbook.actions.kinds import Acknowledge, Action
from sternwatch.logbook.actions.place_acts import Marked
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew, RodWord
from sternwatch.logbook.store.samples import HitRow, Sample
from sternwatch.logbook.store.soundings import Charted
from sternwatch.watch.alerts.causes import causes
from sternwatch.watch.alerts.rod_care import Tending
from sternwatch.watch.alerts.rules import AlertBook, Cause
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat, usable
from sternwatch.watch.boat.runs import Running
from sternwatch.watch.boat.through_water import read_gauge, said_current
from sternwatch.watch.boat.water import Waters, bottom_m
from sternwatch.watch.bottom.marked_places import Sights
from sternwatch.watch.bottom.room import Ground
from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_metres
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.spread_in_force import Rigging, spread_of
from sternwatch.watch.core.compose import compose
from sternwatch.watch.memory.fishing_time import released
from sternwatch.watch.memory.hits import HitContexts
from sternwatch.watch.memory.moments import Memory, moment_of
from sternwatch.watch.memory.observed import Observing
from sternwatch.watch.memory.sample_rows import Fishing
from sternwatch.watch.picture.model import STEP_S, Picture, Session, SpeedSource

# A feed without a clock starts its grid this long after its first reading: until then one may still come.
WAIT_FOR_CLOCK_S = 3.0
# And this long after the session's beginning where nothing comes at all: that must be said too.
WAIT_FOR_FEED_S = 10.0
# Without speed, numbers stay for this long, marked old; then they go.
OLD_FOR_S = 30.0
# A position older than this no longer says where a sounding was taken.
FIX_HOLDS_S = 2.0
# A hole this long is a hole: no rows, and the chains start afresh after it.
HOLE_S = 60.0


@dataclass(frozen=True, slots=True)
class Setup:
    """What a session does not change."""

    spread: Spread
    session: Session = Session.LIVE
    trip: str = ""
    start: RodWord = "in"
    calibration: Calibration | None = None  # what observations have taught of this gear; None: the priors alone
    pay_out_m_s: float = (
        0.6  # line let out or taken in per second: under the boat's speed, a thumb on the spool (memory)
    )
    members: int = MEMBERS  # of the ensemble behind every interval; 0 carries none
    seed: int = 0
    zone_c: tuple[float, float] | None = None  # the temperatures wanted; None: no zone chosen
    zone_name: str = ""
    zone_source: str = ""
    units: DisplaySystem = field(default_factory=lambda: SYSTEMS["us"])  # of what is put in words
    risk: float = 0.1  # of any crossing, up to which an outlook's limits go
    charted: tuple[Charted, ...] = field(default=(), repr=False)  # what earlier trips sounded
    marked: tuple[Marked, ...] = field(default=(), repr=False)  # and what they marked

    def __post_init__(self) -> None:
        if self.calibration is not None:
            object.__setattr__(self, "spread", believed(self.spread, self.calibration))


@dataclass(slots=True)
class Watch:
    """One session's state. Not thread-safe: one thread owns it."""

    setup: Setup
    board: SensorBoard
    crew: Crew
    boat: Boat
    waters: Waters
    beliefs: Beliefs | None
    chains: dict[str, RodChain]
    soundings: Soundings = field(default_factory=Soundings)
    ground: Ground = field(default_factory=Ground)
    alerts: AlertBook = field(default_factory=AlertBook)
    memory: Memory = field(default_factory=Memory)
    contexts: HitContexts = field(default_factory=HitContexts)
    running: Running = field(default_factory=Running)
    tending: Tending = field(default_factory=Tending)
    sights: Sights = field(default_factory=Sights)
    observing: Observing = field(default_factory=Observing)
    made: deque[Action] = field(default_factory=lambda: deque(maxlen=100))  # entries of its own, not stored yet
    fishing: Fishing = field(default_factory=Fishing)
    outside: tuple[Cause, ...] = ()  # causes that no feed tells of: a disk that does not save
    complaints: tuple[str, ...] = ()  # of sources most of whose lines are refused, a sentence each
    t_s: float | None = None  # the last step taken
    why_no_speed: str = ""
    dark_since_s: float | None = None  # since when there is no speed
    origin_deg: tuple[float, float] | None = None  # of the plane in which soundings lie
    place_m: tuple[float, float] | None = None  # over ground in that plane
    _readings: deque[Reading] = field(default_factory=deque)
    _actions: list[tuple[float, int, Action]] = field(default_factory=list)
    _undated: list[Action] = field(default_factory=list)
    _serial: int = 0
    _first_s: float | None = None
    _last_reading_s: float | None = None

    @property
    def now_s(self) -> float:
        """Feed time of what is known: the last step, or the last reading before the first step."""
        return self.t_s if self.t_s is not None else self._last_reading_s or 0.0

    @property
    def spread(self) -> Spread:
        """The spread in force: the file's, and what the crew has changed of it."""
        return spread_of(self.crew, self.setup.spread)

    @property
    def next_step_s(self) -> float:
        """Before this moment ``advance`` has nothing to do; -inf while the grid has not begun."""
        return -math.inf if self.t_s is None else self.t_s + STEP_S

    def observe(self, reading: Reading) -> None:
        """Take a reading. Times must not run backwards."""
        self._readings.append(reading)

    def act(self, action: Action) -> None:
        """Take a stored action. It counts from the first step not yet taken at or after its moment."""
        if action.elapsed_s is None:
            self._undated.append(action)
        else:
            self._due(action.elapsed_s, action)

    def _due(self, t_s: float, action: Action) -> None:
        self._serial += 1
        insort(self._actions, (t_s, self._serial, action), key=lambda entry: entry[:2])

    def _date(self, t_s: float) -> None:
        """Place the actions that know only their UTC; they wait until the feed has a clock."""
        offset = self.board.utc_offset(t_s)
        if offset is not None:
            for action in self._undated:
                self._due(action.time.timestamp() - offset, action)
            self._undated.clear()

    def knows(self, action_id: str) -> bool:
        """Whether an action is in the crew's state or waits for its step."""
        waiting = (*self._undated, *(action for _, _, action in self._actions))
        return action_id in self.crew.entries or any(action.id == action_id for action in waiting)

    def advance(self, to_s: float, each: Callable[[Picture], None] | None = None) -> None:
        """Take every step up to ``to_s``; ``each`` is handed the picture of each."""
        if self.t_s is None:
            begin = self._begin(to_s)
            if begin is None or begin > to_s:
                return
            self._step(begin)
            if each is not None:
                each(self.picture())
        assert self.t_s is not None
        while self.t_s + STEP_S <= to_s:
            self._step(self.t_s + STEP_S)
            if each is not None:
                each(self.picture())

    def picture(self) -> Picture:
        """The picture of the last step, or of a feed that has not begun."""
        return compose(self)

    def preview(self, now_s: float) -> Picture:
        """The picture of the last step, the crew's part up to ``now_s``: a hit shows before the next step."""
        crew = self.crew
        for t, _, action in self._actions:
            if t > now_s:
                break
            crew = apply(crew, action)
        return compose(self, crew)

    def resume(self, samples: list[Sample], hits: Iterable[HitRow]) -> None:
        """Go on from what was kept of a trip taken up again."""
        self.fishing = Fishing.of(samples)
        self.contexts.earlier = {hit.id: hit for hit in hits}
        self.contexts.step(self.crew, self.memory, None)

    # -- the grid ---------------------------------------------------------------------------------------------

    def _begin(self, to_s: float) -> float | None:
        """Feed time of the first step: a whole UTC second as soon as a clock is known; None while it waits."""
        while self._readings and self._readings[0].t_s <= to_s:
            reading = self._readings[0]
            if self._first_s is None:
                self._first_s = reading.t_s
            if reading.t_s > self._first_s + WAIT_FOR_CLOCK_S:
                break
            self._readings.popleft()
            self._last_reading_s = reading.t_s
            self.board.take(reading)
            offset = self.board.utc_offset(reading.t_s)
            if offset is not None:
                return math.ceil(reading.t_s + offset - 1e-6) - offset
        if self._first_s is None and to_s >= WAIT_FOR_FEED_S:
            return WAIT_FOR_FEED_S
        if self._first_s is not None and to_s >= self._first_s + WAIT_FOR_CLOCK_S:
            return math.ceil(self._first_s + WAIT_FOR_CLOCK_S)
        return None

    def _step(self, t_s: float) -> None:
        fresh: list[Reading] = []
        while self._readings and self._readings[0].t_s <= t_s:
            reading = self._readings.popleft()
            self.board.take(reading)
            fresh.append(reading)
        if fresh:
            self._last_reading_s = fresh[-1].t_s
        if self._undated:
            self._date(t_s)
        before = self.crew
        while self._actions and self._actions[0][0] <= t_s:
            action = self._actions.pop(0)[2]
            self.crew = apply(self.crew, action)
            if isinstance(action, Acknowledge):
                self.alerts.acknowledge(action.alert)
        if self.crew is not before or self.t_s is None:
            self.boat.current.hear(said_current(self.crew), read_gauge(self.crew))
        sensors = self.board.table(t_s)
        hole = self._last_reading_s is None or t_s - self._last_reading_s > HOLE_S
        self.why_no_speed = self.boat.choose(t_s, sensors)
        self.boat.take(fresh, sensors)
        follows = self.boat.step(t_s, sensors)
        if self.boat.source is SpeedSource.NONE or self.boat.t_s is None:
            if self.dark_since_s is None:
                self.dark_since_s = t_s
            if hole:
                self.boat.forget()
        else:
            self.dark_since_s = None
        self._run_over(t_s, sensors)
        self._move_chains(t_s, before, follows, sensors)
        self._sound(t_s, sensors)
        self.ground.step(self, t_s)
        self.t_s = t_s
        self._remember(sensors, acted=self.crew is not before)
        self.alerts.step(t_s, causes(self, sensors))

    # -- parts of a step --------------------------------------------------------------------------------------

    def _move_chains(self, t_s: float, before: Crew, follows: bool, sensors: Sensors) -> None:
        if self.crew.gear is not before.gear:
            self._rig(self.spread)
        for key, chain in self.chains.items():
            chain.follow_crew(before.rods[key], self.crew.rods[key])
        if self.dark_since_s is not None:
            gone = t_s - self.dark_since_s > OLD_FOR_S
            for chain in self.chains.values():
                chain.go_dark(gone)
            return
        water = self.waters.water(sensors)
        if self.beliefs is not None:
            dt = 0.0 if self.t_s is None else t_s - self.t_s
            self.beliefs.step(dt, self.boat.velocity_m_s, self.boat.source, follows, self.boat.current)
        order = sorted(self.chains.values(), key=lambda chain: chain.attached_to is not None)
        for chain in order:
            parent = self.chains[chain.attached_to] if chain.attached_to is not None else None
            chain.step(t_s, self.boat, self.waters, water, follows, parent, self.beliefs)

    def _rig(self, spread: Spread) -> None:
        """Another spread is in force: rods that hang otherwise start anew, and what is clipped to their cables."""
        rigged = {key for key, chain in self.chains.items() if chain.rig_as(spread)}
        for chain in self.chains.values():
            if chain.attached_to in rigged:
                chain.drop()

    def _run_over(self, t_s: float, sensors: Sensors) -> None:
        """Rods still out at a speed at which none can be are taken in, where the crew tells when rods are out."""
        sog = usable(sensors.get(Quantity.SOG))
        known = self.boat.source is not SpeedSource.NONE and self.boat.t_s is not None
        self.running.step(t_s, sog if sog is not None else self.boat.speed_m_s if known else None)
        if self.setup.start != "in":
            return
        entry = self.running.take_in(t_s, self.board.utc_offset(t_s), self.crew)
        if entry is not None:
            self.made.append(entry)
            self.crew = apply(self.crew, entry)

    def _remember(self, sensors: Sensors, *, acted: bool) -> None:
        assert self.t_s is not None
        if acted:
            self.contexts.step(self.crew, self.memory, self.board.utc_offset(self.t_s))
            heard = self._last_reading_s
            self.observing.step(self, None if heard is None else self.t_s - heard)
        self.memory.moments.append(moment_of(self, sensors, self._last_reading_s))
        self.tending.step(self, self.t_s)
        if acted or self.origin_deg is not None:
            self.sights.step(self, self.t_s)
        sample = released(self)
        if sample is not None:
            self.fishing.add(sample)

    def _sound(self, t_s: float, sensors: Sensors) -> None:
        position = sensors.get(Quantity.POSITION)
        place = (
            position.value if position is not None and position.age_s is not None and position.age_s < 2.0 else None
        )
        if not isinstance(place, tuple):
            self.place_m = None
            return
        if self.origin_deg is None:
            self.origin_deg = place
            self.soundings.recall(self.setup.charted, place, self.board.utc_offset(t_s))
        self.place_m = local_metres(self.origin_deg, place)
        bottom = sensors.get(Quantity.BOTTOM)
        depth = bottom_m(sensors, self.setup.spread.boat.transducer_depth_m)
        if depth is not None and bottom is not None and bottom.age_s is not None and bottom.age_s <= STEP_S:
            self.soundings.take(Sounding(t_s, *self.place_m, depth))

    # -- checkpoints ------------------------------------------------------------------------------------------

    def copy(self) -> Watch:
        """An independent watch that goes on from here to the very same pictures."""
        return Watch(
            self.setup, copy.deepcopy(self.board), self.crew, self.boat.copy(), self.waters,
            self.beliefs.copy() if self.beliefs is not None else None,
            {key: chain.copy() for key, chain in self.chains.items()}, self.soundings.copy(), self.ground.copy(),
            copy.deepcopy(self.alerts), self.memory.copy(), self.contexts.copy(), copy.copy(self.running),
            self.tending.copy(), self.sights.copy(), self.observing.copy(),
            self.made.copy(), self.fishing.copy(), self.outside, self.complaints, self.t_s, self.why_no_speed,
            self.dark_since_s,
            self.origin_deg, self.place_m,
            deque(self._readings), list(self._actions), list(self._undated), self._serial, self._first_s,
            self._last_reading_s,
        )  # fmt: skip


def new_watch(setup: Setup, board: SensorBoard | None = None, actions: Iterable[Action] = ()) -> Watch:
    """A watch at the start of a session; ``actions`` already stored (a trip resumed) are folded in."""
    spread = setup.spread
    crew = fold(actions, Rigging.of(spread), setup.start)
    waters = Waters.of(spread)
    spread = spread_of(crew, spread)
    learned = setup.calibration
    chains = {rod.key: RodChain.of(spread, rod, crew.rods[rod.key], setup.pay_out_m_s) for rod in spread.rods}
    given = waters.surface_current_m_s
    boat = Boat(MotionFilter(current_m_s=given), CurrentFilter(Prior.of(spread, given)))
    beliefs = Beliefs.of(spread, Draws(setup.seed, setup.members, learned), waters) if setup.members else None
    return Watch(setup, board or SensorBoard(), crew, boat, waters, beliefs, chains)

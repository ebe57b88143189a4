"""The watch: readings and actions in, pictures out.

``observe`` and ``act`` only queue. ``advance`` takes steps on a fixed grid of feed time, one second apart, for any
calls. Each step uses exactly what was stamped up to it. So the same two streams give the same
pictures to the last digit, live or replayed, at any speed. Steps lie on whole milliseconds as stamps do: what is
stamped in the very millisecond of a step must not fall behind it by a rounding.
"""

from __future__ import annotations

import copy
import math
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from sternwatch.answers.belief.priors import Draws
from sternwatch.feed.readings import Quantity, Reading, Sensors
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Acknowledge, Action
from sternwatch.logbook.crew.fold import apply, fold
from sternwatch.logbook.crew.state import Crew
from sternwatch.logbook.store.samples import HitRow, Sample
from sternwatch.watch.alerts.alerts import Alerts
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat, usable
from sternwatch.watch.boat.through_water import read_gauge, said_current
from sternwatch.watch.boat.twins import Twins
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.chains.chains import Chains
from sternwatch.watch.chains.member_water import Beliefs
from sternwatch.watch.chains.rod_chain import RodChain
from sternwatch.watch.chains.spread_in_force import Rigging, spread_of
from sternwatch.watch.core.compose import Said, compose
from sternwatch.watch.core.inbox import Inbox
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.memory import Memory
from sternwatch.watch.memory.step import Step
from sternwatch.watch.picture.model import STEP_S, Picture

# Silence this long is a hole in the feed: no rows, and the chains restart after it (shorter ones: `bridging`).
HOLE_S = 60.0


@dataclass(slots=True)
class Watch:
    """One session's state. Not thread-safe: one thread owns it.

    Only a step changes its parts. Between two steps all of them are at ``t_s``.
    """

    setup: Setup
    board: SensorBoard  # the last values of every sensor
    crew: Crew  # the actions folded
    boat: Boat
    waters: Waters
    chains: Chains
    bottom: Bottom
    alerts: Alerts
    memory: Memory = field(default_factory=Memory)
    inbox: Inbox = field(default_factory=Inbox)
    made: deque[Action] = field(default_factory=lambda: deque(maxlen=100))  # its own entries, not stored yet
    twins: Twins = field(default_factory=Twins)
    t_s: float | None = None  # the last step taken
    next_step_s: float = -math.inf  # ``advance`` does nothing before it; -inf while the grid has not begun
    at: Step | None = None  # kept for the pictures
    said: Said | None = None

    @property
    def now_s(self) -> float:
        """Feed time of the newest knowledge: the last step, or the last reading before the first step."""
        return self.t_s if self.t_s is not None else self.inbox.heard_s or 0.0

    @property
    def spread(self) -> Spread:
        """The spread in force: the file's with the crew's changes."""
        return spread_of(self.crew, self.setup.spread)

    def observe(self, reading: Reading) -> None:
        """Take a reading. Times must not run backwards."""
        self.inbox.hear(reading)

    def act(self, action: Action) -> None:
        """Take a stored action. It counts from the first step not yet taken at or after its moment."""
        self.inbox.enter(action)

    def knows(self, action_id: str) -> bool:
        """Whether an action is in the crew's state or waits for its step."""
        return action_id in self.crew.entries or self.inbox.holds(action_id)

    def advance(self, to_s: float, each: Callable[[Picture], None] | None = None) -> None:
        """Take every step up to ``to_s``. ``each`` gets the picture of each step."""
        begin = self.inbox.begin(to_s, self.board) if self.t_s is None else self.next_step_s
        while begin is not None and begin <= to_s:
            self._step(begin)
            if each is not None:
                each(self.picture())
            begin = self.next_step_s

    def sensors(self, t_s: float | None = None) -> Sensors:
        """What counts at a feed time, now where none is given; of two sounders that differ the shallower."""
        at_s = self.now_s if t_s is None else t_s
        return self.twins.minding(self.board.table(at_s), lambda quantity: self.board.others(quantity, at_s))

    def picture(self) -> Picture:
        """The picture of the last step, or of a feed that has not begun."""
        return self._picture(self.crew)

    def preview(self, now_s: float) -> Picture:
        """The picture of the last step with the crew's entries up to ``now_s``: a hit shows before the next step."""
        crew = self.crew
        for action in self.inbox.soon(now_s):
            crew = apply(crew, action)
        return self._picture(crew)

    def _picture(self, crew: Crew) -> Picture:
        if self.said is None or self.said.crew is not crew:
            self.said = Said.of(crew, self.setup.units, spread_of(crew, self.setup.spread))
        at = self.at
        if at is None or at.crew is not crew:
            at = self._at(self.now_s, self.sensors(), crew)
        return compose(
            self.setup, at, self.memory, self.alerts, self.said, stepped=self.crew, begun=self.t_s is not None
        )

    def _at(self, t_s: float, sensors: Sensors, crew: Crew) -> Step:
        """The state at a step, for its readers."""
        return Step(
            t_s, self.board.utc_offset(t_s), self.inbox.heard_s, sensors, crew, spread_of(crew, self.setup.spread),
            self.boat, self.waters, self.chains, self.bottom, self.twins,
        )  # fmt: skip

    def resume(self, samples: list[Sample], hits: Iterable[HitRow]) -> None:
        """Continue from the stored samples and hits of a resumed trip."""
        self.memory.resume(samples, hits, self.crew)

    # -- one step ---------------------------------------------------------------------------------------------

    def _step(self, t_s: float) -> None:
        fresh = self.inbox.readings(t_s, self.board)
        offset, before = self.board.utc_offset(t_s), self.crew
        for action in self.inbox.actions(t_s, offset):
            self.crew = apply(self.crew, action)
            if isinstance(action, Acknowledge):
                self.alerts.acknowledge(action.alert)
        if self.crew is not before or self.t_s is None:
            self.boat.current.hear(said_current(self.crew), read_gauge(self.crew))
        self._compare(t_s)
        sensors = self.sensors(t_s)
        follows = self._sail(t_s, fresh, sensors)
        self._take_in(t_s, offset, sensors)
        self.chains.follow_crew(before, self.crew, self.spread)
        dt_s = 0.0 if self.t_s is None else t_s - self.t_s
        self.chains.step(t_s, dt_s, self.boat, self.waters, sensors, follows=follows)
        self.bottom.step(t_s, sensors, offset, self.boat, self.chains)
        self.t_s, self.next_step_s = t_s, round(t_s + STEP_S, 3)
        self.at = self._at(t_s, sensors, self.crew)
        self._remember(self.at, acted=self.crew is not before)

    def _compare(self, t_s: float) -> None:
        """Hold two of a kind against each other."""
        table = self.board.table(t_s)
        for quantity, twin in self.twins.by_quantity.items():
            twin.step(t_s, table.get(quantity), self.board.others(quantity, t_s))

    def _sail(self, t_s: float, fresh: list[Reading], sensors: Sensors) -> bool:
        """Move the boat. Returns whether her place in the water continues from the step before."""
        heard = self.inbox.heard_s
        self.boat.choose(t_s, sensors)
        self.boat.take(fresh, sensors)
        follows = self.boat.step(t_s, sensors)
        self.boat.follow(t_s, hole=heard is None or t_s - heard > HOLE_S)
        return follows

    def _take_in(self, t_s: float, utc_offset_s: float | None, sensors: Sensors) -> None:
        """Take in rods still shown out at a speed at which none can be, if the crew enters when rods go out."""
        boat, sog = self.boat, usable(sensors.get(Quantity.SOG))
        boat.running.step(t_s, sog if sog is not None else boat.speed_m_s if boat.known else None)
        if self.setup.start != "in":
            return
        entry = boat.running.take_in(t_s, utc_offset_s, self.crew)
        if entry is not None:
            self.made.append(entry)
            self.crew = apply(self.crew, entry)

    def _remember(self, step: Step, *, acted: bool) -> None:
        """After all has moved: store the step in memory, and raise its alerts."""
        if acted:
            self.memory.take_entries(step, self.setup.calibration)
        self.memory.take_moment(step, self.boat.running)
        moments = self.memory.moments
        if acted or self.bottom.origin_deg is not None:
            self.bottom.take_entries(step.crew, step.spread, self.boat, step.utc_offset_s, moments.boat_at)
        self.alerts.step(step, moments[-1])

    # -- checkpoints ------------------------------------------------------------------------------------------

    def copy(self) -> Watch:
        """An independent watch that makes the same pictures from here on."""
        return Watch(
            self.setup, copy.deepcopy(self.board), self.crew, self.boat.copy(), self.waters, self.chains.copy(),
            self.bottom.copy(), self.alerts.copy(), self.memory.copy(), self.inbox.copy(), self.made.copy(),
            self.twins.copy(), self.t_s, self.next_step_s,
        )  # fmt: skip


def new_watch(
    setup: Setup, board: SensorBoard | None = None, actions: Iterable[Action] = (), since_s: float = 0.0
) -> Watch:
    """A watch at the start of a session. ``actions``: those already stored of a resumed trip; they are folded in.

    ``since_s`` [s]: feed time at which the session begins; there are no steps before it.
    """
    spread = setup.spread
    crew = fold(actions, Rigging.of(spread), setup.start)
    waters = Waters.of(spread)
    spread = spread_of(crew, spread)
    given = waters.surface_current_m_s
    chains = {rod.key: RodChain.of(spread, rod, crew.rods[rod.key], setup.pay_out_m_s) for rod in spread.rods}
    beliefs = None
    if setup.members:
        beliefs = Beliefs.of(spread, Draws(None, setup.members, setup.calibration), waters)
    return Watch(
        setup=setup,
        board=board or SensorBoard(),
        crew=crew,
        boat=Boat(MotionFilter(current_m_s=given), CurrentFilter(Prior.of(spread, given))),
        waters=waters,
        chains=Chains(chains, beliefs),
        bottom=Bottom(setup.spread.boat, setup.charted, setup.marked, setup.grids),
        alerts=Alerts(setup.units, setup.zone_c),
        inbox=Inbox(since_s),
    )

"""A practice session behind the screen: a live session whose only source is the simulated boat."""

from __future__ import annotations

import logging
import threading
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Any, Final

from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import FeedSetup
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.logbook.store.logbook import Logbook, LogbookError
from sternwatch.logbook.store.results import Attempt
from sternwatch.practice.drills.faults import SensorFault
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.sessions.crew_view import Shown, Vessel, event_words, goal_words, shown_of
from sternwatch.practice.sessions.kept import Kept, Moment
from sternwatch.practice.sessions.result import result_of
from sternwatch.practice.sessions.source import HeldClock, WorldSource
from sternwatch.practice.sessions.words import progress_lines, result_lines
from sternwatch.practice.world.believed import Believed, pair_rows
from sternwatch.practice.world.world import World
from sternwatch.watch.again.following import Following
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.model import Picture, PracticePicture, RodPicture, Session
from sternwatch.watch.picture.outlook import Outlook
from sternwatch.watch.planner.check import Checked
from sternwatch.watch.sessions.how_sure import Knowing
from sternwatch.watch.sessions.live import Live
from sternwatch.watch.sessions.runner import ReplayControl, Saved, Senses, TripControl
from sternwatch.watch.whole_pass.following import Passing

_log = logging.getLogger(__name__)

# The trainee sees this much of the straight course before the drill, to read the briefing.
READING_S: Final = 30.0


@dataclass(frozen=True, slots=True)
class Plan:
    """What to practise."""

    file: DrillFile
    spread: Spread
    seed: int
    faults: tuple[SensorFault, ...] = ()


@dataclass(frozen=True, slots=True)
class LookingBack:
    """What can be played again afterwards: the truth, and the mistakes (``practice.sessions.mistakes``)."""

    moments: tuple[Moment, ...]
    mistakes: tuple[Mapping[str, Any], ...]


class PracticeRunner:
    """A live runner that also keeps the truth and puts the simulated boat's events into its pictures.

    ``make_setup`` is as for a live session, with session PRACTICE. The logbook closes when the session stops.
    """

    def __init__(
        self,
        plan: Plan,
        make_setup: Callable[[], Setup],
        logbook: Logbook,
        trip_id: str,
        units: DisplaySystem,
        recorder: Recorder | None = None,
        earlier: Sequence[Attempt] = (),
        reading_s: float = READING_S,
        *,
        waits: bool = False,
    ) -> None:
        self.session = Session.PRACTICE
        self._practised, self._units, self._logbook, self._trip = plan, units, logbook, trip_id
        self._earlier = tuple(earlier)
        self._begin = datetime.now(UTC).replace(microsecond=0)
        clock = HeldClock()
        begin_s = max(plan.file.drill.start.lead_in_s - reading_s, 0.0)
        self._source = WorldSource(self._world, clock, begin_s, self._pending, self._stepped, waits=waits)
        self._live = Live(
            Hub([self._source], recorder=recorder, clock=clock), FeedSetup(), make_setup, logbook, trip_id
        )
        self._clock = clock
        self._lock = threading.Lock()
        self._awaited: dict[str, float] = {}  # feed times, by id, of actions submitted but not stored yet
        self._believed, self._moments = Believed(), Kept()
        self._shown: Shown | None = None
        self._result = tuple(progress_lines(self._earlier))
        self._kept = False
        self._looking_back: LookingBack | None = None
        self._names = {rod.key: rod.name for rod in plan.spread.rods}
        self._on_picture: Callable[[Picture], None] = lambda _: None
        self._on_saved: Callable[[Saved], None] = lambda _: None

    # -- the runner's protocol -----------------------------------------------------------------------------

    def start(self, on_picture: Callable[[Picture], None], on_saved: Callable[[Saved], None]) -> None:
        self._on_picture, self._on_saved = on_picture, on_saved
        self._live.start(self._pictured, self._saved)
        for key, line_out_m in self._practised.file.drill.start.line_out_m.items():
            self.submit("length", key, line_out_m=line_out_m)

    def stop(self) -> None:
        self._source.stop()  # it stores the result of an unscored session before the logbook closes
        try:
            self._logbook.end_trip(self._trip, datetime.now(UTC))
        except LogbookError as fault:
            _log.warning("the practice was not ended in the logbook: %s", fault)
        self._live.stop()

    def submit(self, kind: str, rod: str | None = None, **fields: Any) -> str:
        with self._lock:
            # The world must not pass this moment before it has the action.
            t_s = self._clock.now()[0]
            action_id = self._live.submit(kind, rod, **fields)
            self._awaited[action_id] = t_s
        return action_id

    def go(self) -> None:
        """Start the drill's clock: the briefing is read."""
        self._source.go()

    @property
    def waits(self) -> bool:
        """Whether it waits for ``go``."""
        return self._source.waits

    def senses(self) -> Senses:
        return self._live.senses()

    @property
    def again(self) -> Following | None:
        return self._live.again

    @property
    def passing(self) -> Passing | None:
        return self._live.passing

    @property
    def knowing(self) -> Knowing | None:
        return self._live.knowing

    def findings(self) -> Checked | None:
        return self._live.findings()

    def outlook(self) -> Outlook | None:
        return self._live.outlook()

    def plan(self, manoeuvre: Manoeuvre | None) -> None:
        self._live.plan(manoeuvre)

    @property
    def trips(self) -> TripControl | None:
        return None

    @property
    def replay(self) -> ReplayControl | None:
        return None

    @property
    def busy(self) -> str:
        return self._live.busy

    @property
    def result(self) -> tuple[str, ...]:
        """The session's result in lines; empty before there is one."""
        return self._result if self._kept else ()

    @property
    def looking_back(self) -> LookingBack | None:
        """The truth, moment by moment; None before the result."""
        return self._looking_back

    # -- on the live session's thread ----------------------------------------------------------------------

    def _saved(self, saved: Saved) -> None:
        if saved.action is not None:
            self._source.act(saved.action)
        with self._lock:
            self._awaited.pop(saved.id, None)
        self._on_saved(saved)

    def _pictured(self, picture: Picture) -> None:
        self._source.believed(picture.t_s, picture.rods)
        shown = self._shown
        if shown is not None:
            practice = self._practice(shown)
            strikes = tuple(self._strike(key, picture.t_s) for key in shown.striking)
            picture = replace(picture, practice=practice, alerts=(*picture.alerts, *strikes))
        self._on_picture(picture)

    def _strike(self, key: str, t_s: float) -> Alert:
        name = f"{key} {self._names.get(key, '')}".strip()
        return Alert(
            f"strike {key}", "strike", Priority.CAUTION, AlertState.ACTIVE, (key,), f"{name} goes off",
            f"Enter it: key {key}", t_s,
        )  # fmt: skip

    def _practice(self, shown: Shown) -> PracticePicture:
        drill = self._practised.file.drill
        return PracticePicture(
            drill=drill.name,
            briefing=drill.briefing,
            goal=goal_words(drill, self._units),
            drill_s=shown.drill_s,
            time_left_s=None if drill.free else max(drill.time_s - max(shown.drill_s, 0.0), 0.0),
            rudder_deg=shown.rudder_deg,
            heading_held_deg=shown.heading_held_deg,
            engine=shown.engine,
            lever=shown.lever,
            turned_deg=shown.turned_deg,
            says=tuple(event_words(event, self._names) for event in shown.events),
            striking=shown.striking,
            vessel="" if shown.vessel is None else _vessel_words(shown.vessel, self._units),
            over=shown.over,
            waits=self._source.waits,
            held_s=shown.held_s,
            hold_s=0.0 if drill.goal is None else drill.goal.hold_s,
            result=self._result,
        )

    # -- on the source's thread ----------------------------------------------------------------------------

    def _world(self) -> World:
        plan = self._practised
        return World(plan.file.drill, plan.spread, plan.seed, int(self._begin.timestamp()), plan.faults)

    def _pending(self) -> float | None:
        with self._lock:
            return min(self._awaited.values(), default=None)

    def _stepped(self, world: World, believed: list[tuple[float, tuple[RodPicture, ...]]]) -> None:
        lead_in = world.drill.start.lead_in_s
        for t_s, rods in believed:
            if t_s >= lead_in and not self._kept:
                self._believed.take(t_s, rods, world.below)
        if not self._kept:
            self._moments.take(world, self._live.outlook())
        self._shown = shown_of(world)
        ended = self._source.stopping and world.drill.goal is None and world.drill_s > 0.0
        if (world.tally.over or ended) and not self._kept:
            self._kept = True
            self._keep(world)

    def _keep(self, world: World) -> None:
        """Store the session's result and put it into words."""
        result = result_of(self._practised.file, world, self._believed, self._moments)
        stored = self._logbook.keep_result(self._trip, result | {"pairs": pair_rows(self._believed)})
        if stored.error:
            _log.warning("the result was not stored: %s", stored.error)
        now = Attempt(
            self._trip, self._begin, result["drill"], result["seed"], result["score"], result["passed"],
            result["par"], result,
        )  # fmt: skip
        self._looking_back = LookingBack(tuple(self._moments.moments), tuple(result["mistakes"]))
        self._result = tuple(result_lines(result, [*self._earlier, now], self._units))


def _vessel_words(vessel: Vessel, units: DisplaySystem) -> str:
    side = "S" if vessel.bearing_deg >= 0.0 else "P"
    away = units.show(vessel.distance_m, Dimension.LENGTH)
    how = "closing" if vessel.closing_m_s > 0.1 else "opening" if vessel.closing_m_s < -0.1 else "keeping off"
    return f"boat {abs(vessel.bearing_deg):.0f}° {side} {away} {how}"

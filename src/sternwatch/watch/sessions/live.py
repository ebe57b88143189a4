"""A live session: reads sources, records every line, and steps the watch as feed time passes."""

from __future__ import annotations

import logging
import math
import threading
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import replace
from datetime import UTC, datetime
from typing import TYPE_CHECKING, Any

from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import FeedSetup
from sternwatch.logbook.actions.kinds import Acknowledge, Action
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.watch.alerts.told import Told
from sternwatch.watch.picture.alert import Alert
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions import prepare
from sternwatch.watch.sessions.companions import Companions
from sternwatch.watch.sessions.entries import Acts, accepted
from sternwatch.watch.sessions.runner import Anew, ReplayControl, Saved, Senses, TripControl

if TYPE_CHECKING:
    from sternwatch.feed.readings import Line
    from sternwatch.watch.core.engine import Watch
    from sternwatch.watch.core.intake import Intake
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.sessions.power import Laptop

_log = logging.getLogger(__name__)

TICK_S = 0.05
# A step waits for earlier actions that are still on their way to the disk, but no longer than this.
SAVE_WAITS_S = 2.0


class Live(Companions):
    """A runner on live sources.

    Parameters
    ----------
    hub
        Sources, recorder and clock; started and stopped here.
    feed
        What the decoder needs to know of the sources.
    make_setup
        Makes the watch's setup. Called on the session's own thread, because it imports the solver.
    actions
        The actions of the open trip, when one is resumed.
    laptop
        The machine, if it must be kept awake and its power watched.
    another
        Begins another trip in the logbook. Called on the session's own thread.
    instead
        Why the spread is not that of her file, and what replaces it. Empty where it is.
    """

    def __init__(
        self,
        hub: Hub,
        feed: FeedSetup,
        make_setup: Callable[[], Setup],
        logbook: Logbook,
        trip_id: str,
        actions: Sequence[Action] = (),
        laptop: Laptop | None = None,
        another: Callable[[], Anew] | None = None,
        instead: str = "",
    ) -> None:
        super().__init__()
        self._instead = instead
        self._laptop, self._another = laptop, another
        self._turn = threading.Event()  # another trip is wanted
        self._turning = threading.Lock()  # an entry is stamped and stored under one trip, never under two
        self._ended: datetime | None = None  # as in the logbook
        self.session = Session.LIVE
        self._hub, self._feed, self._make_setup = hub, feed, make_setup
        self._logbook, self._trip = logbook, trip_id
        self._resumed = tuple(actions)
        self._wake = threading.Event()
        self._acts = Acts(logbook, trip_id, self._wake.set, lambda saved: self._on_saved(saved))
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._busy = "" if prepare.can_tow() else prepare.PREPARING
        self._offset_s: float | None = None
        self._told = Told()
        self._senses = Senses()
        self._waiting: deque[Line] = deque()  # lines behind a step that waits for an action to be stored
        self._on_picture: Callable[[Picture], None] = lambda _: None
        self._on_saved: Callable[[Saved], None] = lambda _: None

    # -- the runner's protocol --------------------------------------------------------------------------------

    def start(self, on_picture: Callable[[Picture], None], on_saved: Callable[[Saved], None]) -> None:
        self._on_picture, self._on_saved = on_picture, on_saved
        self._hub.start()  # recording begins before the solver is ready
        self._thread = threading.Thread(target=self._guarded, name="watch", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        self._stop.set()
        self._wake.set()
        if self._thread is not None:
            self._thread.join(timeout=5.0)
        self._part()
        self._hub.stop()
        if self._hub.recorder is not None:
            self._hub.recorder.close()
        self._logbook.close()

    def submit(self, kind: str, rod: str | None = None, **fields: Any) -> str:
        with self._turning:
            t_s, unix_ms = self._hub.moment()
            offset = self._offset_s
            return self._acts.submit(kind, rod, fields, t_s, t_s + offset if offset is not None else unix_ms / 1000)

    def senses(self) -> Senses:
        # A source's state matters most while no picture comes.
        return replace(self._senses, statuses=self._hub.statuses())

    @property
    def replay(self) -> ReplayControl | None:
        return None

    @property
    def trips(self) -> TripControl | None:
        return self if self._another is not None else None

    def begin(self) -> None:
        if self._ended is None:
            self.submit("end")
        self._turn.set()
        self._wake.set()

    # -- the session's thread ---------------------------------------------------------------------------------

    def _guarded(self) -> None:
        if self._laptop is not None:
            self._laptop.hold()
        try:
            self._run()
        except prepare.PreparationError as fault:
            self._busy = str(fault)
        except Exception as fault:  # noqa: BLE001 - it ends this thread: the screen must say so, the log keeps it whole
            _log.exception("the watch stopped")
            self._busy = f"The watch has stopped; hits are still kept: {fault}"
            self._keep_saving()
        finally:
            if self._laptop is not None:
                self._laptop.let_go()

    def _keep_saving(self) -> None:
        """Answer the crew's entries after the watch is gone."""
        while not self._stop.is_set():
            self._acts.take()
            self._wake.wait(TICK_S)
            self._wake.clear()

    def _run(self) -> None:
        prepare.prepare()
        from sternwatch.watch.outlook.alerts import merged
        from sternwatch.watch.sessions.keeping import Keeper

        setup = self._make_setup()
        intake, keeper = self._intake(setup), Keeper(self._logbook, self._trip)
        if self._resumed:
            keeper.resume(intake.watch)
        from sternwatch.watch.outlook.lookout import CALM_LIVE_EVERY_S

        lookout = self._accompany(setup, calm_every_s=CALM_LIVE_EVERY_S)
        self._busy = ""
        shown: float | None = -math.inf
        while not self._stop.is_set():
            watch, decoder = intake.watch, intake.decoder
            changed = self._take_saved(watch)
            self._take_lines(intake)
            stepped = watch.t_s != shown
            if stepped:
                keeper.keep(watch)
                self._keep_end(watch)
            if self._turn.is_set() and self._acts.earliest_pending_s is None:
                intake, keeper = self._intake(self._turn_over()), Keeper(self._logbook, self._trip)
                lookout.reset()
                shown = -math.inf
                continue
            looked = self._look_ahead(watch)
            if changed or looked or stepped:
                shown = watch.t_s
                picture = watch.preview(self._hub.clock.now()[0])
                self._keep_events(merged(picture.alerts, lookout.outlook, watch.now_s), watch.now_s)
                now = watch.now_s
                self._senses = Senses(now, watch.board.entries(now), decoder.reports(), self._hub.statuses())
                self._check(picture)
                self._on_picture(picture)
            self._wake.wait(TICK_S)
            self._wake.clear()

    def _intake(self, setup: Setup) -> Intake:
        from sternwatch.feed.decoding import Decoder
        from sternwatch.feed.sensors.board import SensorBoard
        from sternwatch.watch.core.engine import new_watch
        from sternwatch.watch.core.intake import Intake

        # A resumed trip goes on at its feed's present time; the time before is over.
        since_s = self._hub.clock.began_s
        watch = new_watch(setup, SensorBoard(self._hub.priorities), self._resumed, since_s)
        return Intake(
            watch, Decoder(probes=self._feed.probes, unchecked=self._feed.unchecked, speech=self._feed.speech)
        )

    def _keep_end(self, watch: Watch) -> None:
        """Write the end of the trip, or its undoing, to the logbook's list of trips.

        It uses the computer's clock, like the beginning; the entry has the feed's. The observations go into the
        season.
        """
        ended = watch.crew.facts.ended
        if ended != self._ended:
            self._ended = ended
            self._logbook.end_trip(self._trip, datetime.now(UTC) if ended is not None else None)
            if ended is not None and self._knowing is not None:
                self._knowing.teach(watch.spread, watch.memory.observed.all)

    def _turn_over(self) -> Setup:
        """Store everything from now on under another trip, with its own recording and feed time."""
        assert self._another is not None
        self._acts.take()  # so that a refusal is reported
        self._logbook.end_trip(self._trip, datetime.now(UTC))  # unchanged if the entry came first
        anew = self._another()
        with self._turning:
            self._hub.turn_over(anew.recording)
            self._trip, self._ended, self._offset_s = anew.trip_id, None, None
            if self._knowing is not None:
                self._knowing.trip = anew.trip_id
            self._acts = Acts(self._logbook, anew.trip_id, self._wake.set, lambda saved: self._on_saved(saved))
            self._turn.clear()
        self._resumed = ()
        self._told, self._senses = Told(), Senses()
        self._waiting.clear()
        return anew.make_setup()

    def _take_lines(self, intake: Intake) -> None:
        with self._turning:  # actions are stamped and known under this lock: none stamped before comes after
            lines, now = self._hub.cut()
            pending = self._acts.earliest_pending_s
        self._waiting += lines
        if pending is not None and now - pending < SAVE_WAITS_S:
            now = min(now, round(pending - 0.001, 3))
        intake.watch.alerts.outside = self._troubles()
        while self._waiting and self._waiting[0].t_s <= now:
            intake.take(self._waiting.popleft())
        intake.to(now)
        self._offset_s = intake.watch.board.utc_offset(now)

    def _take_saved(self, watch: Watch) -> bool:
        done = self._acts.take()
        for stored in done:
            action = accepted(stored)
            if action is not None and not watch.knows(action.id):
                watch.act(action)
                if isinstance(action, Acknowledge) and self._lookout is not None:
                    self._lookout.acknowledge(action.alert)
        return bool(done)

    def _troubles(self) -> tuple[Any, ...]:
        from sternwatch.watch.alerts.rules import Cause

        found = []
        if self._instead:
            found.append(Cause("boat file", self._instead, "Depths are of that gear: compare it with what you tow"))
        if self._logbook.trouble:
            found.append(Cause("cannot save", f"Cannot save: {self._logbook.trouble}", "Entries are kept aside"))
        recorder = self._hub.recorder
        if recorder is not None and (error := recorder.error):
            found.append(Cause("cannot save", f"Cannot record the feed: {error}", "The watch goes on", ("feed",)))
        return (*found, *self._laptop.causes()) if self._laptop is not None else tuple(found)

    def _keep_events(self, alerts: tuple[Alert, ...], t_s: float) -> None:
        """Write to the events table what happened to alerts."""
        for event in self._told.take(alerts, t_s):
            self._logbook.record(self._trip, event)

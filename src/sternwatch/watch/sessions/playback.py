"""Plays a recorded feed on the screen: at any rate, to any moment, forwards and back.

Two players share one recording. One is at the screen's moment. The other goes through the whole recording in the
background, leaves a checkpoint every minute and collects the timeline's marks. To go back, the first restores the
nearest earlier checkpoint and plays on from there. So a picture is the same however it was reached.
"""

from __future__ import annotations

import bisect
import logging
import math
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import partial
from typing import TYPE_CHECKING, Any

from sternwatch.logbook.actions.kinds import Acknowledge, Action
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Event
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions import prepare
from sternwatch.watch.sessions.companions import Companions
from sternwatch.watch.sessions.entries import Acts, accepted
from sternwatch.watch.sessions.foretelling import Foretelling, Kept
from sternwatch.watch.sessions.outlook_marks import Foreseen
from sternwatch.watch.sessions.pace import BEHIND_S, Pace
from sternwatch.watch.sessions.runner import RATES, Mark, ReplayControl, ReplayStatus, Saved, Senses

if TYPE_CHECKING:
    from sternwatch.feed.recording.reader import Recording
    from sternwatch.watch.core.moments_file import MomentsFile
    from sternwatch.watch.core.player import Checkpoint, Player
    from sternwatch.watch.core.setup import Setup
    from sternwatch.watch.sessions.timeline import Marker

_log = logging.getLogger(__name__)

CHECKPOINT_EVERY_S = 60.0
# In a ten-hour recording they are three minutes apart, which eight rods play in three seconds. Of eight rods this
# many take about 700 MB, nearly all of it in a file.
MOST_CHECKPOINTS = 200
TICK_S = 0.05
RUN_UP_LEAST_S = 60.0  # shortest run-up after which lines that began settled on one course can be trusted
# How long the play may work before it checks for requests, and the pass before it yields to other threads.
SLICE_S = 0.04
PASS_SLICE_S = 0.02
NEAR_S = 10.0  # a moment within this is not worth saying that it is being gone to
STALL_S = 1.0  # the most of a halt of this computer that is played afterwards
WIND_SLICE_S = 1.0  # on the way to its start: painting costs as much as a minute of the feed
# The pass takes about a sixth of one core, so that nobody notices it. A jump past it plays at full speed anyway.
PASS_REST_S = 0.1
# Entries come in groups (a hit, its fish, its size): the pass goes back once, after the last of them.
PASS_WAITS_S = 1.0
# What is foretold of the whole depends on every entry: it waits until the crew has entered nothing for a while.
ENTRIES_REST_S = 20.0
FORETELL_EVERY_S = 0.5


class Playback(Companions):
    """A runner over a recording.

    Parameters
    ----------
    open_feed
        Opens the recording. Called on the session's own thread.
    make_setup
        Makes the watch's setup, on the same thread, because it imports the solver.
    actions
        The stored actions of the crew.
    begin_s, run_up_s
        Where it begins to play, and how much before that it plays to get there; None: everything. After a
        run-up the pictures are close to the exact ones, and become exact when the background pass gets there.
    foretold
        Where the alerts of forecasts over the whole recording are kept, and made once the background pass is over.
        None: only what is played is looked ahead from.
    warned
        The events of forecasts that the trip's own console kept.
    """

    def __init__(
        self,
        session: Session,
        open_feed: Callable[[], Recording],
        make_setup: Callable[[], Setup],
        actions: list[Action],
        logbook: Logbook,
        trip_id: str,
        *,
        begin_s: float = 0.0,
        run_up_s: float | None = None,
        rate: float = 1.0,
        unchecked: bool = False,
        foretold: Kept | None = None,
        warned: Sequence[Event] = (),
    ) -> None:
        super().__init__()
        self.session = session
        self._open_feed, self._make_setup = open_feed, make_setup
        self._actions = list(actions)
        self._own: list[Action] = []  # entered in this session
        self._logbook = logbook
        self._wanted = threading.Event()
        self._acts = Acts(logbook, trip_id, self._wanted.set, lambda saved: self._on_saved(saved))
        self._lock = threading.RLock()
        self._stop = threading.Event()
        self._threads: list[threading.Thread] = []
        self._busy = "" if prepare.can_tow() else prepare.PREPARING
        self._playing, self._rate = True, rate
        self._unchecked = unchecked
        self._target_s = self._t_s = begin_s
        self._seek_s: float | None = begin_s or None
        self._taken_up_s = 0.0 if run_up_s is None else max(begin_s - run_up_s, 0.0)  # 0: played from its beginning
        self._span_s = (0.0, 0.0)
        self._timing = ""
        self._offset_s: float | None = None
        self._manages: float | None = None
        self._checkpoints: list[Checkpoint] = []
        self._file: MomentsFile | None = None
        self._reached_s = 0.0
        self._every_s = CHECKPOINT_EVERY_S
        self._marks: list[Mark] = []
        self._splices: list[Mark] = []
        self._foretold, self._foreseen = foretold, Foreseen()
        self._foreseen.take(warned)
        self._senses = Senses()
        self._entered_s = 0.0  # when an entry was last made, on this computer's monotonic clock
        self._pass_from = threading.Event()  # the pass must restart (from its last valid checkpoint)
        self._on_picture: Callable[[Picture], None] = lambda _: None
        self._on_saved: Callable[[Saved], None] = lambda _: None

    # -- the runner's protocol --------------------------------------------------------------------------------

    def start(self, on_picture: Callable[[Picture], None], on_saved: Callable[[Saved], None]) -> None:
        self._on_picture, self._on_saved = on_picture, on_saved
        thread = threading.Thread(target=self._guarded, args=(self._run,), name="playback", daemon=True)
        self._threads.append(thread)
        thread.start()

    def stop(self) -> None:
        self._stop.set()
        self._wanted.set()
        for thread in self._threads:
            thread.join(timeout=5.0)
        self._part()
        self._logbook.close()

    def submit(self, kind: str, rod: str | None = None, **fields: Any) -> str:
        with self._lock:
            t = self._t_s
            unix = t + self._offset_s if self._offset_s is not None else time.time()
        return self._acts.submit(kind, rod, fields, t, unix)

    def senses(self) -> Senses:
        return self._senses

    @property
    def replay(self) -> ReplayControl | None:
        return self if self.session is not Session.LIVE else None

    # -- the control ------------------------------------------------------------------------------------------

    def status(self) -> ReplayStatus:
        with self._lock:
            target = self._target_s if self._seek_s is None else self._seek_s
            near = abs(target - self._t_s) <= max(2.0 * BEHIND_S * self._rate, NEAR_S)
            return ReplayStatus(
                self._t_s, self._span_s, self._playing, self._rate, self._reached_s, tuple(self._marks),
                self._timing, self._offset_s, self._manages if self._playing else None, None if near else target,
                self._taken_up_s,
            )  # fmt: skip

    def play(self, playing: bool) -> None:
        with self._lock:
            self._playing = playing
        self._wanted.set()

    def set_rate(self, rate: float) -> None:
        """Set the feed seconds per second, within the possible range."""
        with self._lock:
            self._rate = min(max(rate, RATES[0]), RATES[-1])
        self._wanted.set()

    def seek(self, t_s: float) -> None:
        with self._lock:
            self._seek_s = min(max(t_s, self._span_s[0]), self._span_s[1])
        self._wanted.set()

    def step(self, seconds: float) -> None:
        with self._lock:
            # From its target, not from its present moment, so that two quick steps count as two.
            base = self._seek_s if self._seek_s is not None else self._target_s
        self.seek(base + seconds)

    # -- the play ---------------------------------------------------------------------------------------------

    def _guarded(self, work: Callable[[], None]) -> None:
        try:
            work()
        except prepare.PreparationError as fault:
            self._busy = str(fault)
        except Exception as fault:  # noqa: BLE001 - it ends this thread: the screen must say so, the log keeps it whole
            _log.exception("the playback stopped")
            self._busy = f"The replay has stopped: {fault}"

    def _run(self) -> None:
        from sternwatch.watch.sessions.timeline import splice_marks

        prepare.prepare()
        recording, setup = self._open_feed(), self._make_setup()
        with self._lock:
            self._span_s = (0.0, recording.span_s)
            self._timing = "; ".join((recording.timing, *recording.notes))
            self._marks = self._splices = splice_marks(recording.splices)
            self._every_s = max(CHECKPOINT_EVERY_S, recording.span_s / MOST_CHECKPOINTS)
            if recording.start_utc is not None:
                self._offset_s = recording.start_utc
        from sternwatch.watch.core.moments_file import MomentsFile
        from sternwatch.watch.outlook.lookout import CALM_EVERY_S
        from sternwatch.watch.sessions.timeline import Marker

        self._file = MomentsFile()
        player = self._player(recording, setup)
        calm_s = CALM_EVERY_S if self.session is Session.REPLAY else 0.0
        lookout = self._accompany(setup, calm_every_s=calm_s)
        self._busy = ""
        if self._taken_up_s:
            player.rewind(since_s=self._taken_up_s)
        marker = Marker()
        self._mark(marker)
        self._wind(player, marker)
        background = threading.Thread(
            target=self._guarded, args=(lambda: self._pass(recording, setup, marker),), name="background pass",
            daemon=True,
        )  # fmt: skip
        self._threads.append(background)
        background.start()
        if self._foretold is not None:
            kept = self._foretold
            last = threading.Thread(
                target=self._guarded, args=(lambda: self._foretell(recording, setup, kept),), name="foretelling",
                daemon=True,
            )  # fmt: skip
            self._threads.append(last)
            last.start()
        before = time.monotonic()
        pace = Pace(before, player.t_s)
        shown: float | None = -math.inf  # so that the first turn shows something, even of a feed that has not begun
        while not self._stop.is_set():
            changed = self._take_saved(player)
            now = time.monotonic()
            with self._lock:
                near_s = BEHIND_S * self._rate
                if self._playing and self._seek_s is None and self._target_s - player.t_s <= near_s:
                    self._target_s = min(self._target_s + min(now - before, STALL_S) * self._rate, self._span_s[1])
                if self._seek_s is not None:
                    self._target_s, self._seek_s = self._seek_s, None
                target = self._target_s
            pace.look(now, player.t_s, target, self._rate, playing=self._playing)
            self._manages = pace.manages
            before = now
            self._reach(player, target)
            with self._lock:
                self._t_s = player.t_s
                if self._target_s >= self._span_s[1] and player.t_s >= self._target_s:
                    self._playing = False  # it is at the end, not only on its way there
                self._offset_s = player.watch.board.utc_offset(player.t_s) or self._offset_s
            step = player.watch.t_s
            if changed or step != shown:
                shown = step
                self._show(player)
            if target - player.t_s > near_s:
                lookout.pass_over(player.watch)
            elif self._look_ahead(player.watch):
                self._foreseen.look(lookout.outlook)
            if player.t_s >= target:
                self._wanted.wait(TICK_S)
                self._wanted.clear()

    def _show(self, player: Player) -> None:
        at = player.watch.now_s
        self._senses = Senses(at, player.watch.board.entries(at), player.decoder.reports())
        picture = player.watch.preview(player.t_s)
        self._check(picture)
        self._on_picture(picture)

    def _wind(self, player: Player, marker: Marker) -> None:
        """Play to its start at full speed, visibly. What it passes need not be read again."""
        due = self._every_s
        while not self._stop.is_set():
            changed = self._take_saved(player)
            with self._lock:
                target = self._seek_s
            if target is None or player.t_s >= target or self._pass_from.is_set():
                return
            until = time.monotonic() + WIND_SLICE_S
            while player.t_s < target and time.monotonic() < until and not self._stop.is_set():
                if self._taken_up_s:
                    player.to(min(player.t_s + 1.0, target))
                else:
                    due = self._read_on(player, marker, due, target)
            with self._lock:
                self._t_s = self._target_s = player.t_s
                if not self._taken_up_s:
                    self._reached_s = player.t_s
                self._offset_s = player.watch.board.utc_offset(player.t_s) or self._offset_s
            self._mark(marker)
            if changed or player.watch.t_s is not None:
                self._show(player)

    def _read_on(self, player: Player, marker: Marker, due_s: float, to_s: float = math.inf) -> float:
        """Play one second more, take its marks, and a checkpoint when due. Returns when the next one is due."""
        player.to(min(player.t_s + 1.0, to_s))
        marker.look(player.watch)
        if player.t_s < due_s:
            return due_s
        reached = player.checkpoint(self._file)
        with self._lock:
            if not self._pass_from.is_set():
                self._checkpoints.append(reached)
        return due_s + self._every_s

    def _mark(self, marker: Marker) -> None:
        """Put the known marks on the timeline. The crew's hits are known from the beginning."""
        from sternwatch.watch.sessions.timeline import hit_marks

        hits = hit_marks([*self._actions, *self._own], self._offset_s)
        marks = sorted([*self._splices, *marker.marks, *hits, *self._foreseen.marks], key=lambda m: m.t_s)
        with self._lock:
            self._marks = marks

    def _player(self, recording: Recording, setup: Setup, actions: Sequence[Action] | None = None) -> Player:
        from sternwatch.watch.core.player import Player

        return Player(recording, setup, self._actions if actions is None else actions, unchecked=self._unchecked)

    def _reach(self, player: Player, target_s: float) -> None:
        """Bring the player toward a moment by one slice of work; the next call does more."""
        with self._lock:
            at = bisect.bisect_right(self._checkpoints, target_s, key=lambda c: c.t_s)
            near = self._checkpoints[at - 1] if at else None
            rough_s = self._taken_up_s
            caught_up = rough_s > 0.0 and self._reached_s >= target_s
        back = target_s < player.t_s
        if rough_s and back and not caught_up and target_s >= rough_s + RUN_UP_LEAST_S:
            player.rewind(self._own, rough_s)
        elif near is not None and (back or caught_up or near.t_s > player.t_s + self._every_s):
            self._restore(player, near, self._own)
            self._taken_up_s = 0.0
        elif back:
            player.rewind(self._own)
            self._taken_up_s = 0.0
        until = time.monotonic() + SLICE_S
        while player.t_s < target_s and time.monotonic() < until and not self._stop.is_set():
            player.to(min(player.t_s + 1.0, target_s))

    def _restore(self, player: Player, at: Checkpoint, own: Sequence[Action]) -> None:
        """Set a player to a checkpoint; to the beginning where its file cannot be read any more."""
        try:
            player.restore(at, own)
        except OSError:
            _log.exception("the moments to go back to are lost")
            self._checkpoints = []
            player.rewind(own)

    def _take_saved(self, player: Player) -> bool:
        done = self._acts.take()
        for stored in done:
            action = accepted(stored)
            if action is not None and all(action.id != known.id for known in self._own):
                with self._lock:
                    self._own.append(action)
                    self._forget_after(action.elapsed_s or 0.0)
                player.watch.act(action)
                if isinstance(action, Acknowledge) and self._lookout is not None:
                    self._lookout.acknowledge(action.alert)
        return bool(done)

    def _forget_after(self, t_s: float) -> None:
        """Drop checkpoints at and after a new entry: the step at its moment knows it."""
        self._checkpoints = [c for c in self._checkpoints if c.t_s < t_s]
        self._reached_s = min(self._reached_s, t_s)
        self._entered_s = time.monotonic()
        self._pass_from.set()

    # -- the background pass ----------------------------------------------------------------------------------

    def _pass(self, recording: Recording, setup: Setup, marker: Marker) -> None:
        player = self._player(recording, setup)
        due = self._every_s
        if self._checkpoints or marker.marks:
            self._pass_from.set()  # it goes on from what was read on the way to its start
        while not self._stop.is_set():
            if self._pass_from.is_set():
                if time.monotonic() - self._entered_s < PASS_WAITS_S:
                    self._stop.wait(PASS_REST_S)
                    continue
                with self._lock:  # not while it goes back: a key press takes this lock
                    self._pass_from.clear()
                    near, own = self._checkpoints[-1] if self._checkpoints else None, list(self._own)
                if near is not None:
                    self._restore(player, near, own)
                else:
                    player.rewind(own)
                due = player.t_s + self._every_s
                marker = marker.until(player.t_s)
            until = time.monotonic() + PASS_SLICE_S
            while not player.ended and time.monotonic() < until:
                due = self._read_on(player, marker, due)
            self._mark(marker)
            with self._lock:
                if not self._pass_from.is_set():
                    self._reached_s = self._span_s[1] if player.ended else player.t_s
            if player.ended:
                self._pass_from.wait(0.5)
            else:
                time.sleep(PASS_REST_S)

    def _foretell(self, recording: Recording, setup: Setup, kept: Kept) -> None:
        """Once every depth is known and the crew enters nothing: look ahead along the whole recording.

        The members that only sharpen shown depths are left out: no look depends on them.
        """
        from sternwatch.answers.belief.priors import DECIDING

        last = Foretelling(kept, self._foreseen)
        setup = replace(setup, members=min(setup.members, DECIDING))
        while not self._stop.wait(FORETELL_EVERY_S):
            with self._lock:
                acted, whole = (*self._actions, *self._own), self._reached_s >= self._span_s[1]
            rested = time.monotonic() - self._entered_s >= ENTRIES_REST_S
            last.look(
                acted, partial(self._player, recording, setup, acted), setup.units,
                ready=whole and rested and self._whole_solver(), ended=partial(self._outdated, acted),
            )  # fmt: skip

    def _outdated(self, acted: tuple[Action, ...]) -> bool:
        """Whether it must stop: the session ends, or there are newer entries."""
        return self._stop.is_set() or len(acted) != len(self._actions) + len(self._own)

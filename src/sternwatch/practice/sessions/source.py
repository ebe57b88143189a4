"""Runs the world as a live source: on its own thread it follows the session's clock and puts its lines."""

from __future__ import annotations

import logging
import threading
from collections import deque
from collections.abc import Callable
from typing import Final

from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.sources.base import Put, SourceState, SourceStatus, Tell
from sternwatch.logbook.actions.kinds import Action
from sternwatch.practice.world.instruments import SOURCE
from sternwatch.practice.world.truth import STEP_MS
from sternwatch.practice.world.world import World
from sternwatch.watch.picture.model import RodPicture
from sternwatch.watch.sessions import prepare

_log = logging.getLogger(__name__)

TICK_S: Final = 0.05


class HeldClock(FeedClock):
    """A session's clock that can be held at a moment until it is released."""

    def __init__(self) -> None:
        super().__init__()
        self._held_s: float | None = 0.0

    def now(self) -> tuple[float, int]:
        held, moment = self._held_s, super().now()
        return (held, moment[1]) if held is not None else moment

    @property
    def held(self) -> bool:
        """Whether the clock is held."""
        return self._held_s is not None

    def put(self, t_s: float) -> None:
        """Hold the clock at a later moment: all lines stamped up to it have been put."""
        if self._held_s is not None:
            self._held_s = round(t_s, 3)

    def release(self) -> None:
        """Let the clock run from there."""
        held = self._held_s
        if held is not None:
            FeedClock.__init__(self, held)
            self._held_s = None


class WorldSource:
    """A source of lines. Its thread calls ``make_world``, which imports the solver.

    Up to ``begin_s`` the world runs as fast as it can, then with the clock; where it ``waits``, only after ``go``.

    ``act`` and ``believed`` queue what the screen sends to the world. The source's thread calls ``on_step`` with the
    present world.
    """

    def __init__(
        self,
        make_world: Callable[[], World],
        clock: HeldClock,
        begin_s: float,
        pending_s: Callable[[], float | None],
        on_step: Callable[[World, list[tuple[float, tuple[RodPicture, ...]]]], None],
        *,
        waits: bool = False,
    ) -> None:
        self.name, self.priority = SOURCE, 0
        self._make_world, self._held, self._begin_s = make_world, clock, begin_s
        self._pending_s, self._on_step = pending_s, on_step
        self._acted: deque[Action] = deque()
        self._believed: deque[tuple[float, tuple[RodPicture, ...]]] = deque()
        self._stopping = threading.Event()
        self._ready = threading.Event()
        if not waits:
            self._ready.set()
        self._thread: threading.Thread | None = None

    def act(self, action: Action) -> None:
        """Pass a stored action to the world. Any thread may call this."""
        self._acted.append(action)

    def believed(self, t_s: float, rods: tuple[RodPicture, ...]) -> None:
        """Pass the console's computed depths to the world, to compare with the truth. Any thread may call this."""
        self._believed.append((t_s, rods))

    def go(self) -> None:
        """Start the world's clock at ``begin_s``: the crew is ready. Any thread may call this."""
        self._ready.set()

    @property
    def waits(self) -> bool:
        """Whether the world waits for ``go``."""
        return not self._ready.is_set()

    @property
    def stopping(self) -> bool:
        """Whether the session is ending."""
        return self._stopping.is_set()

    # -- the source's protocol -----------------------------------------------------------------------------

    def start(self, clock: FeedClock, put: Put, tell: Tell) -> None:
        self._stopping.clear()
        self._thread = threading.Thread(
            target=self._guarded, args=(clock, put, tell), name=f"source {self.name}", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        self._stopping.set()
        if self._thread is not None:
            self._thread.join(5.0)

    def _guarded(self, clock: FeedClock, put: Put, tell: Tell) -> None:
        def say(state: SourceState, text: str) -> None:
            tell(SourceStatus(self.name, state, text, "the practice boat", None, clock.now()[0]))

        say(SourceState.CONNECTING, "getting the practice boat ready")
        try:
            self._run(clock, put, say)
        except Exception as fault:  # noqa: BLE001 - it ends this thread: the screen must say so, the log keeps it whole
            _log.exception("the practice boat stopped")
            say(SourceState.LOST, f"the practice boat has stopped: {fault}")
            return
        say(SourceState.STOPPED, "the practice boat: stopped")

    def _run(self, clock: FeedClock, put: Put, say: Callable[[SourceState, str], None]) -> None:
        while not prepare.can_tow():  # the session compiles the solver
            if self._stopping.wait(0.2):
                return
        world = self._make_world()
        t_s = 0.0
        while not self._stopping.is_set():
            pending = self._pending_s()
            self._take_acts(world)
            if t_s < self._begin_s:
                # As fast as possible, but here too it waits for an action that is on its way to the disk.
                if pending is not None:
                    self._stopping.wait(TICK_S)
                    continue
                t_s = min(t_s + 1.0, self._begin_s)
                self._put(world, put, t_s)
                self._held.put(t_s)
                continue
            if self._held.held and not self._ready.is_set():
                say(SourceState.OPEN, "the practice boat waits for you")
                self._ready.wait(TICK_S)
                self._put(world, put, t_s)
                continue
            if self._held.held:
                say(SourceState.OPEN, "the practice boat is under way")
                self._held.release()
            now = clock.now()[0]
            self._put(world, put, now if pending is None else min(now, pending))
            self._stopping.wait(TICK_S)
        # The crew's last actions count too.
        self._take_acts(world)
        self._on_step(world, self._comparable(world))

    def _take_acts(self, world: World) -> None:
        while self._acted:
            world.act(self._acted.popleft())

    def _put(self, world: World, put: Put, t_s: float) -> None:
        for line in world.to(t_s):
            put(line)
        self._on_step(world, self._comparable(world))

    def _comparable(self, world: World) -> list[tuple[float, tuple[RodPicture, ...]]]:
        """Computed depths at moments of known truth: the chains' steps are coarser than the world's."""
        out = []
        while self._believed and self._believed[0][0] <= world.t_s - STEP_MS / 1000.0:
            out.append(self._believed.popleft())
        return out

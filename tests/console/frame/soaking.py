"""The whole console on a clock of its own, as fast as it can be stepped: feed, recorder, logbook, session, screen.

Only the clock, the boat and the terminal are made up. The clock goes on by a second once there is a picture of the
second before. Two pictures a minute are shown, and looks ahead are two minutes apart: an hour of painting costs the
same however long it lasts. Members are few: they cost time and, once dealt, no memory.
"""

from __future__ import annotations

import asyncio
import math
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.feed.readings import SENTENCES, Line
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.base import Put, SourceState, SourceStatus, Tell
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import parse_specs
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions.live import Live

SPEED_KN = 2.04
BEGIN_UNIX_S = 1_784_000_000
IN_ALARM_M, IN_ORDER_M = 13.0, 60.0
WAITS_S = 0.004
TICK_S = 0.006  # of the session; it is 0.1 s on the water
SHOWN_EVERY_S, LOOK_EVERY_S = 30, 120.0
MEMBERS = 4
TURNS_EVERY_S = 900  # so long straight on, then for a minute round
TURN_S = 60
FIRST_LOOK_S = 120.0
KEYS_EVERY_S = 60
HELD_FOR = 40  # times asked, a tenth of a second apart
KEYS = ("v", "v", "a", "up", "v", "down", "v", "question_mark", "escape", "v", "enter", "v")


class PacedClock(FeedClock):
    """Stands where it was put."""

    t_s = 0.0

    def now(self) -> tuple[float, int]:
        return self.t_s, round((BEGIN_UNIX_S + self.t_s) * 1000)


class PacedSource:
    """Says once a second what the boat does, and moves the clock on as soon as ``caught_up`` with it."""

    name, priority, speech = "boat", 0, SENTENCES

    def __init__(self, bottom_m: float, caught_up: Callable[[float], bool]) -> None:
        self.bottom_m, self._caught_up = bottom_m, caught_up
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self, clock: FeedClock, put: Put, tell: Tell) -> None:
        assert isinstance(clock, PacedClock)
        self._thread = threading.Thread(target=self._run, args=(clock, put), name="boat", daemon=True)
        tell(SourceStatus(self.name, SourceState.OPEN, "boat: open"))
        self._thread.start()

    def stop(self) -> None:
        self._stopping.set()
        if self._thread is not None:
            self._thread.join(5.0)

    def _run(self, clock: PacedClock, put: Put) -> None:
        north_m = east_m = 0.0
        heading_deg, second = 0.0, 0
        while not self._stopping.is_set():
            second += 1
            if second % TURNS_EVERY_S < TURN_S:
                heading_deg = (heading_deg + 3.0) % 360.0
            run_m = SPEED_KN * 1852.0 / 3600.0
            north_m += run_m * math.cos(math.radians(heading_deg))
            east_m += run_m * math.sin(math.radians(heading_deg))
            for body in self._bodies(second, heading_deg, north_m, east_m):
                put(Line(float(second), (BEGIN_UNIX_S + second) * 1000, self.name, _signed(body)))
            clock.t_s = second + 0.5
            while not (self._caught_up(float(second)) or self._stopping.is_set()):
                time.sleep(WAITS_S)

    def _bodies(self, second: int, heading_deg: float, north_m: float, east_m: float) -> Iterator[str]:
        when = datetime.fromtimestamp(BEGIN_UNIX_S + second, UTC)
        latitude, longitude = 47.0 + north_m / 111_195.0, 89.5 - east_m / 75_800.0
        place = f"{int(latitude):02}{latitude % 1 * 60:08.5f},N,{int(longitude):03}{longitude % 1 * 60:08.5f},W"
        yield f"GPRMC,{when:%H%M%S},A,{place},{SPEED_KN},{heading_deg:.1f},{when:%d%m%y},,,A"
        yield f"IIVHW,{heading_deg:.1f},T,,M,{SPEED_KN},N,,K"
        yield f"SDDPT,{self.bottom_m + 0.5 * math.sin(second / 200.0):.1f},0.3,"
        yield "IIMTW,12.4,C"


def _signed(body: str) -> bytes:
    checksum = 0
    for byte in body.encode():
        checksum ^= byte
    return f"${body}*{checksum:02X}".encode()


@dataclass(frozen=True, slots=True)
class Sample:
    """What the process holds at one moment of the soak."""

    minute: int
    resident_mb: float  # the least of some seconds: what is worked with for a moment is not held
    peak_mb: float  # the most since the sample before, looks ahead and screens included
    blocks: int  # of Python's own allocator; nothing is collected for the sample's sake
    widgets: int
    alerts: tuple[str, ...]
    looks: int


class Soak:
    """A console at sea. ``bottom_m`` under rods that hang deeper is an alarm that never ends."""

    def __init__(self, spread: Spread, folder: Path, bottom_m: float) -> None:
        book = Logbook(folder / "logbook.sqlite")
        book.begin_trip(Trip("t", datetime.now(UTC)))
        feed = parse_specs(["tcp:localhost:1"])
        self.clock = PacedClock()
        hub = Hub(
            [PacedSource(bottom_m, self._caught_up)],
            recorder=Recorder(folder / "trip.nmea", feed.declared),
            clock=self.clock,
        )
        self.runner = Live(hub, feed, lambda: _setup(spread), book, "t")
        self.app = SternwatchApp(self.runner, Preferences())
        self.app.clock = lambda: self.clock.t_s
        self._show, self._made_s = self.app._on_picture, -math.inf
        self.app._on_picture = self._take  # type: ignore[method-assign]
        self.looks, self._outlook = 0, None
        self._held: list[float] = []  # of the sample being taken

    def _take(self, picture: Picture) -> None:
        if picture.t_s // SHOWN_EVERY_S > self._made_s // SHOWN_EVERY_S:
            self._show(picture)
        self._made_s = picture.t_s

    def _caught_up(self, t_s: float) -> bool:
        if self._made_s < t_s:
            return False
        if t_s % SHOWN_EVERY_S:
            return True
        shown, ahead = self.app.controls.picture, self.runner.outlook()
        looked = t_s < FIRST_LOOK_S or (ahead is not None and ahead.t_s > t_s - 2.0 * LOOK_EVERY_S)
        return shown is not None and shown.t_s >= t_s and looked

    async def sail(self, minutes: float, each_min: float) -> list[Sample]:
        """Sail on; what is held every ``each_min``, printed as it comes."""
        samples: list[Sample] = []
        begin_s = time.monotonic()
        async with self.app.run_test(size=(120, 36)) as pilot:
            pressed = 0
            while self.clock.t_s < minutes * 60.0:
                await asyncio.sleep(0.1)
                self._slow_down()
                if (outlook := self.runner.outlook()) is not self._outlook:
                    self.looks, self._outlook = self.looks + 1, outlook
                if self.clock.t_s > (pressed + 1) * KEYS_EVERY_S:
                    await pilot.press(KEYS[pressed % len(KEYS)])
                    pressed += 1
                if self.clock.t_s >= (len(samples) + 1) * each_min * 60.0:
                    self._held.append(_status_mb("VmRSS"))
                if len(self._held) == HELD_FOR:
                    samples.append(self._sample())
                    _print(samples[-1], time.monotonic() - begin_s)
        return samples

    def _slow_down(self) -> None:
        """Looks ahead by the boat's own clock."""
        lookout = self.runner._lookout
        if lookout is not None and lookout._every_s != LOOK_EVERY_S:
            lookout._clock, lookout._began_s = lambda: self.clock.t_s, self.clock.t_s
            lookout._every_s = lookout._calm_every_s = LOOK_EVERY_S

    def _sample(self) -> Sample:
        picture = self.app.controls.picture
        assert picture is not None
        ahead = self.runner.outlook()
        standing = (*picture.alerts, *(ahead.alerts if ahead is not None else ()))
        least_mb, peak_mb = min(self._held), _status_mb("VmHWM")
        self._held.clear()
        Path("/proc/self/clear_refs").write_text("5", encoding="ascii")  # the peak begins anew
        return Sample(
            int(self.clock.t_s / 60.0),
            least_mb,
            peak_mb,
            sys.getallocatedblocks(),
            sum(len(list(screen.walk_children())) for screen in self.app.screen_stack),
            tuple(sorted({alert.kind for alert in standing})),
            self.looks,
        )


def _setup(spread: Spread) -> Setup:
    return Setup(spread, Session.LIVE, start="fishing", members=MEMBERS)


def _status_mb(name: str) -> float:
    """Of this process."""
    for line in Path("/proc/self/status").read_text(encoding="ascii").splitlines():
        if line.startswith(name):
            return int(line.split()[1]) / 1024.0
    raise AssertionError(name)


def _print(now: Sample, wall_s: float) -> None:
    print(
        f"{now.minute:5} min, {wall_s:6.0f} s: {now.resident_mb:7.1f} MB, at most {now.peak_mb:.1f}, "
        f"{now.blocks} blocks, {now.widgets} widgets, {now.looks} looks, alerts {', '.join(now.alerts) or 'none'}",
        flush=True,
    )

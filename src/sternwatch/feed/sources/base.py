"""The source protocol, and the loop that every live source runs: open, read, notice silence and loss, retry."""

from __future__ import annotations

import logging
import sys
import threading
import time
from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol

from sternwatch.feed.readings import SENTENCES, Line, Speech
from sternwatch.feed.recording.feed_clock import FeedClock, awake_s
from sternwatch.feed.sentences.framing import Framer
from sternwatch.system_words import reason

_log = logging.getLogger(__name__)

Put = Callable[[Line], None]

if sys.platform == "win32":
    FAULTS: tuple[type[Exception], ...] = (OSError, TypeError)
else:
    import termios

    # When a port goes away, the exception depends on the call in progress; pyserial's own is an OSError.
    FAULTS = (OSError, termios.error, TypeError)


class SourceState(StrEnum):
    """What a source is doing."""

    CONNECTING = "connecting"
    OPEN = "open"
    SILENT = "silent"  # open, but nothing comes
    LOST = "lost"  # missing; it is retried
    ENDED = "ended"  # it has ended
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class SourceStatus:
    """A source's state and a sentence about it."""

    source: str
    state: SourceState
    text: str
    address: str = ""  # the present connection
    baud: int | None = None
    since_t_s: float = 0.0


Tell = Callable[[SourceStatus], None]


class Source(Protocol):
    """A live source of lines. It has its own thread, from which it calls ``put`` and ``tell``."""

    name: str
    priority: int

    def start(self, clock: FeedClock, put: Put, tell: Tell) -> None: ...
    def stop(self) -> None: ...


class Channel(Protocol):
    """An open connection. ``read`` waits a little; it returns b"" if nothing came, and raises if it is gone."""

    @property
    def address(self) -> str: ...
    @property
    def baud(self) -> int | None: ...
    def read(self) -> bytes: ...
    def close(self) -> None: ...


class SilentError(OSError):
    """The channel opens, but nothing comes."""


class SleptError(OSError):
    """The computer was suspended: an open channel may be dead without notice."""


class EndOfFeed(Exception):  # noqa: N818 - not an error: the source is at its end
    """The feed has ended."""


class Backoff:
    """The waits between attempts: 0.1 s, then 1.5 times as long each time, at most 2 s."""

    FIRST_S, FACTOR, LONGEST_S = 0.1, 1.5, 2.0

    def __init__(self) -> None:
        self._next_s = self.FIRST_S

    def reset(self) -> None:
        """Start again at the shortest wait. Called after data has come; a connection alone does not count."""
        self._next_s = self.FIRST_S

    def next_s(self) -> float:
        """The wait before the next attempt."""
        wait_s, self._next_s = self._next_s, min(self._next_s * self.FACTOR, self.LONGEST_S)
        return wait_s


class LiveSource(ABC):
    """The loop. Each kind of source opens its own channel and may inspect lines before they are put."""

    SILENT_S = 10.0  # after so long without data the channel is reopened ...
    LONGEST_SILENT_S = 300.0  # ... after longer and longer waits, to spare a quiet port
    LOOK_S = 0.1
    SLEPT_S = 2.0  # after a longer sleep of the computer reopen at once: the other side may have dropped us
    OUTLIVES_SLEEP = False

    def __init__(self, name: str, priority: int = 0, *, speech: Speech = SENTENCES) -> None:
        self.name = name
        self.priority = priority
        self.speech = speech
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None
        self._clock = FeedClock()
        self._put: Put = lambda _: None
        self._tell: Tell = lambda _: None
        self._told: tuple[SourceState, str] | None = None

    def start(self, clock: FeedClock, put: Put, tell: Tell) -> None:
        """Begin. The source's own thread calls ``put`` and ``tell``."""
        self._clock, self._put, self._tell = clock, put, tell
        self._stopping.clear()
        self._thread = threading.Thread(target=self._guarded, name=f"source {self.name}", daemon=True)
        self._thread.start()

    def stop(self) -> None:
        """End, and wait until the thread has closed its port."""
        self._stopping.set()
        if self._thread is not None:
            self._thread.join(5.0)

    # What each kind of source defines.

    @abstractmethod
    def _open(self) -> Channel: ...

    @abstractmethod
    def _where(self) -> str:
        """The address in words, for sentences."""

    def _keep(self, line: bytes) -> bool:  # noqa: ARG002
        return True

    def _is_back(self) -> bool:
        """Whether to retry at once. Called several times a second during a wait."""
        return False

    def _sentence(self, error: Exception) -> str:
        return f"{self._where()}: {reason(error)}"

    # The loop.

    def _guarded(self) -> None:
        """Run the loop, and restart it after any unforeseen error: a feed must come back whatever happens."""
        while not self._stopping.is_set():
            try:
                self._run()
                return
            except Exception as fault:  # noqa: BLE001 - the log keeps it whole, the status says it
                _log.exception("source %s stopped", self.name)
                self._say(SourceState.LOST, f"{self._where()}: failed within ({fault}); begun anew")
                self._wait(Backoff.LONGEST_S)

    def _run(self) -> None:
        backoff = Backoff()
        silent_s = self.SILENT_S
        self._say(SourceState.CONNECTING, f"{self._where()}: connecting")
        while not self._stopping.is_set():
            asked = time.monotonic()
            try:
                channel = self._open()
            except EndOfFeed as end:
                self._say(SourceState.ENDED, str(end))
                return
            except FAULTS as error:
                if not self._stopping.is_set():
                    state = SourceState.SILENT if isinstance(error, SilentError) else SourceState.LOST
                    self._say(state, self._sentence(error))
                # An unanswered attempt has waited already.
                self._wait(max(backoff.next_s() - (time.monotonic() - asked), Backoff.FIRST_S))
                continue
            try:
                silent_s = self._read_all(channel, backoff, silent_s)
            except EndOfFeed as end:
                self._say(SourceState.ENDED, str(end))
                return
            except FAULTS as error:
                self._say(SourceState.LOST, self._sentence(error))
            finally:
                self._close(channel)
            self._wait(backoff.next_s())
        self._say(SourceState.STOPPED, f"{self._where()}: stopped")

    def _read_all(self, channel: Channel, backoff: Backoff, silent_s: float) -> float:
        """Read until the channel is gone (raises) or silent for too long (returns the patience for the next time)."""
        framer = Framer(self.speech.longest)
        last = time.monotonic()
        heard = False
        before_s, before = self._clock.now()[0], awake_s()
        try:
            while not self._stopping.is_set():
                chunk = channel.read()
                t_s, unix_ms = self._clock.now()
                now = awake_s()
                # Feed time goes on while the computer sleeps.
                slept_s = t_s - before_s - (now - before)
                before_s, before = t_s, now
                if slept_s > self.SLEPT_S and not self.OUTLIVES_SLEEP:
                    # What waited in the port may be as old as the sleep: stamped now, it would look fresh.
                    raise SleptError(f"the computer slept for {slept_s:.0f} s; opened anew")
                if chunk:
                    last = time.monotonic()
                    if not heard:
                        heard, silent_s = True, self.SILENT_S
                        backoff.reset()
                        self._say(SourceState.OPEN, f"{channel.address}: data is arriving", channel)
                    for data, whole in framer.feed(chunk):
                        if self._keep(data):
                            self._put(Line(t_s, unix_ms, self.name, data, whole))
                elif time.monotonic() - last > silent_s:
                    self._say(
                        SourceState.SILENT, f"{channel.address}: open, but silent for {silent_s:.0f} s", channel
                    )
                    return silent_s if heard else min(silent_s * 2, self.LONGEST_SILENT_S)
                self._check(channel)
        finally:
            t_s, unix_ms = self._clock.now()
            for data, whole in framer.flush():
                if self._keep(data):
                    self._put(Line(t_s, unix_ms, self.name, data, whole))
        return silent_s

    def _check(self, channel: Channel) -> None:  # noqa: B027 - most kinds have nothing to find
        """Called after every read. A source that must reopen raises OSError here."""

    def _close(self, channel: Channel) -> None:
        try:
            channel.close()
        except FAULTS as error:
            self._say(SourceState.LOST, self._sentence(error))

    def _wait(self, seconds: float) -> None:
        until = time.monotonic() + seconds
        while not self._stopping.wait(min(self.LOOK_S, max(until - time.monotonic(), 0.0))):
            if time.monotonic() >= until or self._is_back():
                return

    def _say(self, state: SourceState, text: str, channel: Channel | None = None) -> None:
        if self._told == (state, text):
            return
        self._told = (state, text)
        self._tell(
            SourceStatus(
                self.name,
                state,
                text,
                channel.address if channel else "",
                channel.baud if channel else None,
                self._clock.now()[0],
            )
        )

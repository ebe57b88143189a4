"""Sources from standard input, and from a recording played as if live."""

from __future__ import annotations

import contextlib
import os
import selectors
import sys
import threading
import time
from pathlib import Path

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import SENTENCES, Line, Speech
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.sources.base import Channel, EndOfFeed, LiveSource, Put, SourceState, SourceStatus, Tell

_POLL_S = 0.25
_CHUNK = 65536


class _DescriptorChannel:
    address = "standard input"
    baud = None

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._selector: selectors.BaseSelector | None = selectors.DefaultSelector()
        try:
            self._selector.register(descriptor, selectors.EVENT_READ)
        except (OSError, ValueError):  # one neither can nor need wait for a plain file
            self._selector.close()
            self._selector = None

    def read(self) -> bytes:
        if self._selector is not None and not self._selector.select(_POLL_S):
            return b""
        chunk = os.read(self._descriptor, _CHUNK)
        if not chunk:
            raise EndOfFeed("standard input has ended")
        return chunk

    def close(self) -> None:
        if self._selector is not None:
            self._selector.close()


_set_apart: list[int] = []  # the descriptor of a feed on standard input, after the keyboard has replaced it there


def set_apart() -> None:
    """Keep standard input as a feed and put the keyboard in its place. Call this before a screen opens.

    Raises
    ------
    FeedError
        There is no terminal for the keyboard.
    """
    if _set_apart or sys.stdin.isatty():
        return
    try:
        terminal = os.open("/dev/tty", os.O_RDWR)
    except OSError as missing:
        raise FeedError(f"- is standard input, and there is no terminal for the keys ({missing})") from None
    descriptor = sys.stdin.fileno()
    _set_apart.append(os.dup(descriptor))
    os.dup2(terminal, descriptor)
    os.close(terminal)


class StdinSource(LiveSource):
    """A feed on standard input, until it ends. Silence is no fault here, so it is never reopened."""

    SILENT_S = float("inf")
    OUTLIVES_SLEEP = True

    def __init__(
        self, name: str, priority: int = 0, descriptor: int | None = None, *, speech: Speech = SENTENCES
    ) -> None:  # fmt: skip
        super().__init__(name, priority, speech=speech)
        self._descriptor = descriptor

    def _where(self) -> str:
        return "standard input"

    def _open(self) -> Channel:
        if self._descriptor is not None:
            return _DescriptorChannel(self._descriptor)
        return _DescriptorChannel(_set_apart[0] if _set_apart else sys.stdin.fileno())


class FileSource:
    """A recording played in its own timing, ``rate`` times as fast, with new stamps."""

    def __init__(
        self, name: str, path: Path, priority: int = 0, rate: float = 1.0, *, speech: Speech = SENTENCES
    ) -> None:  # fmt: skip
        self.speech = speech
        self.name = name
        self.priority = priority
        self.path = path
        self.rate = rate
        self._stopping = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self, clock: FeedClock, put: Put, tell: Tell) -> None:
        """Begin to play, on a thread of its own."""
        self._stopping.clear()
        self._thread = threading.Thread(
            target=self._play, args=(clock, put, tell), name=f"source {self.name}", daemon=True
        )
        self._thread.start()

    def stop(self) -> None:
        """Stop playing."""
        self._stopping.set()
        if self._thread is not None:
            self._thread.join(5.0)

    def _play(self, clock: FeedClock, put: Put, tell: Tell) -> None:
        def say(state: SourceState, text: str) -> None:
            tell(SourceStatus(self.name, state, text, str(self.path), None, clock.now()[0]))

        try:
            recording = open_recording(self.path, self.name, self.speech)
        except FeedError as error:
            say(SourceState.LOST, str(error))
            return
        with contextlib.closing(recording):
            say(SourceState.OPEN, f"{self.path}: playing; timing from {recording.timing}")
            begun = time.monotonic()
            for line in recording.lines():
                ahead = line.t_s / self.rate - (time.monotonic() - begun)
                if self._stopping.wait(ahead) if ahead > 0 else self._stopping.is_set():
                    break
                t_s, _ = clock.now()
                put(Line(t_s, line.unix_ms, self.name, line.data, line.whole))
        stopped = self._stopping.is_set()
        say(
            SourceState.STOPPED if stopped else SourceState.ENDED,
            f"{self.path}: {'stopped' if stopped else 'at its end'}",
        )

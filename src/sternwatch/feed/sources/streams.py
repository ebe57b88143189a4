"""Sources from standard input, and from a recording played as if live."""

from __future__ import annotations

import contextlib
import os
import queue
import sys
import threading
import time
from pathlib import Path

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import SENTENCES, Line, Speech
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.sources.base import Channel, EndOfFeed, LiveSource, Put, SourceState, SourceStatus, Tell
from sternwatch.system_words import reason

_POLL_S = 0.25
_CHUNK = 65536
_AHEAD = 16  # chunks read before anybody takes them


class _DescriptorChannel:
    """Read by a thread of its own, since Windows cannot wait for a pipe or a terminal with a limit."""

    address = "standard input"
    baud = None

    def __init__(self, descriptor: int) -> None:
        self._descriptor = descriptor
        self._chunks: queue.Queue[bytes | OSError] = queue.Queue(_AHEAD)
        self._closed = False
        threading.Thread(target=self._pump, name="standard input", daemon=True).start()

    def _pump(self) -> None:
        chunk: bytes | OSError = b"?"
        while chunk and not self._closed and not isinstance(chunk, OSError):
            try:
                chunk = os.read(self._descriptor, _CHUNK)
            except OSError as fault:
                chunk = fault
            self._chunks.put(chunk)

    def read(self) -> bytes:
        try:
            chunk = self._chunks.get(timeout=_POLL_S)
        except queue.Empty:
            return b""
        if isinstance(chunk, OSError):
            raise chunk
        if not chunk:
            raise EndOfFeed("standard input has ended")
        return chunk

    def close(self) -> None:
        self._closed = True
        with contextlib.suppress(queue.Empty):
            self._chunks.get_nowait()  # the thread may wait for room


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
        terminal = os.open("CONIN$" if os.name == "nt" else "/dev/tty", os.O_RDWR)
    except OSError as missing:
        raise FeedError(f"- is standard input, and there is no terminal for the keys ({reason(missing)})") from None
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

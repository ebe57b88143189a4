"""The hub joins several sources in one ordered queue of lines with one clock. The recorder gets every line first."""

from __future__ import annotations

import queue
import threading
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Line
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.base import Source, SourceState, SourceStatus

# After so long without a line the recording gets a stamp alone. Longer than instruments pause that speak each second.
QUIET_S = 1.5


class Hub:
    """Runs sources side by side. Feed time never decreases over all of them.

    Raises
    ------
    FeedError
        Two sources have the same name.
    """

    def __init__(
        self, sources: Sequence[Source], *, recorder: Recorder | None = None, clock: FeedClock | None = None
    ) -> None:
        names = [source.name for source in sources]
        for name in names:
            if names.count(name) > 1:
                raise FeedError(f"two sources are named {name}; give one another name: NAME=…")
        self.sources = tuple(sources)
        self.clock = clock or FeedClock()
        self.recorder = recorder
        self._queue: queue.SimpleQueue[Line] = queue.SimpleQueue()
        self._lock = threading.Lock()
        self._last_s = self._stamped_s = 0.0
        self._turned = False
        self._statuses = {
            name: SourceStatus(name, SourceState.CONNECTING, f"{name}: not started yet") for name in names
        }

    @property
    def priorities(self) -> dict[str, int]:
        """Source name to priority, for the sensor board."""
        return {source.name: source.priority for source in self.sources}

    def start(self) -> None:
        """Start every source."""
        for source in self.sources:
            source.start(self.clock, self.put, self._tell)

    def stop(self) -> None:
        """Stop every source. Queued lines can still be fetched."""
        for source in self.sources:
            source.stop()

    def put(self, line: Line) -> None:
        """Take one line: record it, then queue it. The sources' threads call this."""
        with self._lock:
            if self._turned:  # stamped before the clock restarted
                line = replace(line, t_s=min(line.t_s, self.clock.now()[0]))
            if line.t_s < self._last_s:
                line = Line(self._last_s, line.unix_ms, line.source, line.data, line.whole)
            self._last_s = self._stamped_s = line.t_s
            if self.recorder is not None:
                self.recorder.record(line)
            self._queue.put(line)

    def get(self, timeout_s: float) -> list[Line]:
        """All waiting lines; where there are none, the first to come within ``timeout_s``. Empty: nothing came."""
        lines: list[Line] = []
        try:
            lines.append(self._queue.get(timeout=timeout_s) if timeout_s > 0 else self._queue.get_nowait())
            while True:
                lines.append(self._queue.get_nowait())
        except queue.Empty:
            return lines

    def cut(self) -> tuple[list[Line], float]:
        """All waiting lines, and a moment of feed time before which no further line can come.

        Later lines get later stamps, in the queue and in the recording. So a session that works up to each cut sees
        exactly what a replay of its recording sees. While the sources are silent the recording is stamped here: a run
        that takes the trip up again must not begin before the end of this one.
        """
        lines: list[Line] = []
        with self._lock:
            now, unix_ms = self.clock.now()
            moment = max(now, self._last_s)
            if moment - self._stamped_s >= QUIET_S and self.recorder is not None:
                self._stamped_s = moment
                self.recorder.silent(moment, unix_ms)
            self._last_s = round(moment + 0.001, 3)
            while not self._queue.empty():
                lines.append(self._queue.get_nowait())
        return lines, moment

    def moment(self) -> tuple[float, int]:
        """(feed time [s], Unix time [ms]) for an entry of the crew: later than every cut so far.

        An entry in the very millisecond of a cut would miss the step that a replay gives it to.
        """
        with self._lock:
            t_s, unix_ms = self.clock.now()
            return max(t_s, self._last_s), unix_ms

    def turn_over(self, recording: Path) -> list[Line]:
        """Begin another feed at time 0 with the next line, in its own recording; returns the lines still waiting."""
        lines: list[Line] = []
        with self._lock:
            while not self._queue.empty():
                lines.append(self._queue.get_nowait())
            self.clock.restart()
            self._last_s, self._stamped_s, self._turned = 0.0, 0.0, True
            if self.recorder is not None:
                self.recorder.rotate(recording)
        return lines

    def statuses(self) -> tuple[SourceStatus, ...]:
        """The status of every source, in the order given."""
        with self._lock:
            return tuple(self._statuses.values())

    @property
    def ended(self) -> bool:
        """Whether every source has ended and every line was fetched."""
        over = (SourceState.ENDED, SourceState.STOPPED)
        return all(status.state in over for status in self.statuses()) and self._queue.empty()

    def _tell(self, status: SourceStatus) -> None:
        with self._lock:
            self._statuses[status.source] = status

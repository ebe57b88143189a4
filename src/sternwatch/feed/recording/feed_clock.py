"""The clock that stamps a live feed: monotonic feed time, and the computer's time of day.

It goes on while the machine sleeps. So a hole shows after a resume, and values from before it do not look fresh.
Every system has such a clock, and one that stands meanwhile, under names of its own.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from pathlib import Path

from sternwatch.feed.recording import tag_block as tagblock

_LONGEST_PAUSE_MS = 30 * 86_400_000
_SHORTEST_PAUSE_MS = 2_000  # a run may have gone on for so long after its last stamp (`hub.QUIET_S`)
_LONGEST_MS = 366 * 86_400_000  # no trip lasts so long: a later stamp is damaged
_TAIL = 1 << 16

if sys.platform == "win32":
    import ctypes

    def _unbiased_s() -> float:
        ticks = ctypes.c_ulonglong()
        ctypes.windll.kernel32.QueryUnbiasedInterruptTime(ctypes.byref(ticks))
        return ticks.value * 1e-7

else:

    def _unbiased_s() -> float:
        return time.monotonic()


def _ticks_ns() -> int:
    """A clock that goes on while the computer sleeps."""
    gettime_ns: Callable[[int | None], int] | None = getattr(time, "clock_gettime_ns", None)
    if gettime_ns is None:
        return time.monotonic_ns()  # on Windows it goes on
    # Linux's, else the one of macOS, which goes on there, though Python's monotonic() does not.
    return gettime_ns(getattr(time, "CLOCK_BOOTTIME", None) or getattr(time, "CLOCK_MONOTONIC", None))


def awake_s() -> float:
    """A clock that stands still while the computer sleeps [s]. On Windows, Python's monotonic() does not."""
    return time.monotonic() if hasattr(time, "clock_gettime_ns") else _unbiased_s()


class FeedClock:
    """Feed time since the clock was made at ``began_s``, in seconds, rounded to whole milliseconds."""

    def __init__(self, start_s: float = 0.0) -> None:
        self.began_s = round(start_s, 3)  # as lines are stamped: one of this very moment is no earlier
        self._origin_ns = _ticks_ns() - round(start_s * 1e9)
        self._start_unix_ms = time.time_ns() // 1_000_000 - round(start_s * 1000)

    @classmethod
    def resume(cls, recording: Path, reached_s: float = 0.0) -> FeedClock:
        """A clock that continues a recording. The computer's clock says how much time has passed since it stopped.

        That clock may have been set back meanwhile, and the disk may have refused the recording: whatever they say,
        it begins after the end of the run before, and after ``reached_s``, the feed time of the trip's newest entry.
        """
        last = last_stamp(recording)
        after_s = 0.0
        if last is not None:
            t_s, unix_ms = last
            paused_ms = 0 if unix_ms is None else time.time_ns() // 1_000_000 - unix_ms
            likely = _SHORTEST_PAUSE_MS < paused_ms <= _LONGEST_PAUSE_MS
            after_s = t_s + (paused_ms if likely else _SHORTEST_PAUSE_MS) / 1000
        if 0.0 < reached_s <= _LONGEST_MS / 1000:
            after_s = max(after_s, reached_s + _SHORTEST_PAUSE_MS / 1000)
        return cls(after_s)

    def restart(self) -> None:
        """Begin again at feed time 0."""
        self.began_s = 0.0
        self._origin_ns = _ticks_ns()
        self._start_unix_ms = time.time_ns() // 1_000_000

    def now(self) -> tuple[float, int]:
        """(feed time [s], Unix time [ms]) of this moment."""
        return round((_ticks_ns() - self._origin_ns) / 1e6) / 1000, time.time_ns() // 1_000_000

    @property
    def start_utc(self) -> float:
        """Unix seconds at feed time 0, by the computer's clock when this clock was made."""
        return self._start_unix_ms / 1000


def last_stamp(recording: Path) -> tuple[float, int | None] | None:
    """(feed time, Unix ms) of the last stamped line of a recording of ours; None if there is none."""
    if not recording.is_file():  # reading a pipe would block
        return None
    try:
        with recording.open("rb") as file:
            file.seek(0, 2)
            file.seek(max(file.tell() - _TAIL, 0))
            tail = file.read()
    except OSError:
        return None
    for line in reversed(tail.split(b"\n")):
        tag = tagblock.read(line)
        if tag is not None and tag.relative_ms is not None and tag.relative_ms <= _LONGEST_MS:
            return tag.relative_ms / 1000, tag.unix_ms
    return None

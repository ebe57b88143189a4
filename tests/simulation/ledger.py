"""What the recorder was given, held against its files: all in order, whole, nothing invented, no hole untold.

The lines are written down here in our own words: nothing of the code under test says what a file should hold.
"""

from __future__ import annotations

import math
import re
from array import array
from bisect import bisect_right
from functools import reduce
from operator import xor
from pathlib import Path
from typing import Any

from simulation.clockwork import Clockwork
from sternwatch.feed.readings import Declared, Line, Tongue
from sternwatch.feed.recording import recorder

# What was given so long ago is in the file while there is no word of trouble, and outlives a loss of power.
WITHIN_S = 3.0
ENDED = re.compile(rb"[\r\n]+")  # a line that a death cut off is ended before the next one


class UntrueError(AssertionError):
    """The recorder says what is not so."""


def _tagged(tag: bytes, data: bytes) -> bytes:
    return b"\\%s*%02X\\%s\r\n" % (tag, reduce(xor, tag), data)


def encoded(line: Line) -> bytes:
    """A line as it should stand in a recording: behind a tag block with its checksum (IEC 61162-450)."""
    tag = b"s:%s,c:%d,r:%d" % (line.source.encode(), line.unix_ms or 0, round(line.t_s * 1000))
    return _tagged(tag if line.whole else tag + b",t:cut", line.data)


def declaration(source: Declared, t_s: float, unix_ms: int) -> bytes:
    """What a file says of a source before all else."""
    tongue = b"" if source.speech.tongue is Tongue.SENTENCES else b" " + source.speech.tongue.value.encode()
    stamped = b"s:%s,c:%d,r:%d" % (source.name.encode(), unix_ms, round(t_s * 1000))
    return _tagged(b"%s,t:source %d%s" % (stamped, source.priority, tongue), b"")


class File:
    """One recording in one run of the program: what stood there before, and what was given since."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self.before = path.read_bytes() if path.exists() else b""
        self.given = bytearray()
        self.gone = 0  # bytes given that somebody removed, ...
        self.begun, self.declared = False, b""
        self.anew = b""  # ... and what the file in its place begins with
        self.hole_s = math.inf  # feed time of the first line that is lost
        self._at_s = array("d")  # when each line was given, ...
        self._t_s = array("d")  # ... its feed time, ...
        self._ends = array("q")  # ... and where it ends in ``given``

    def take(self, data: bytes, t_s: float, now_s: float) -> None:
        self.given += data
        self._at_s.append(now_s)
        self._t_s.append(t_s)
        self._ends.append(len(self.given))

    def holds(self, kept: int) -> None:
        """So many of the bytes given are left: the first line that they do not hold whole is lost."""
        number = bisect_right(self._ends, kept)
        if number < len(self._t_s):
            self.hole_s = min(self.hole_s, self._t_s[number])

    def removed(self, kept: int, anew: bytes) -> None:
        self.before, self.gone, self.anew, self.hole_s = b"", kept, anew, 0.0
        del self.given[:kept]
        self._ends = array("q", [max(end - kept, 0) for end in self._ends])

    def given_until(self, now_s: float) -> int:
        """How many bytes were given until then."""
        number = bisect_right(self._at_s, now_s)
        return self._ends[number - 1] if number else 0

    def kept(self, path: Path, sure: int | None = None) -> int:
        """How many of the bytes given stand in a file (this one or its copy), which must hold nothing else.

        ``sure``: a loss of power may have left anything behind so many bytes of the file.
        """
        data = path.read_bytes() if path.exists() else b""
        end = len(data) if sure is None else min(sure, len(data))
        if data[:end] != self.before[:end] and not data.startswith(self.before):
            raise UntrueError(f"{path.name}: what stood in it before is another now")
        begun = len(self.before)
        if self.before and not self.before.endswith(b"\n"):
            found = ENDED.match(data, begun)
            if found is None and end > begun:
                raise UntrueError(f"{path.name}: a line that was cut off goes on with the next run's")
            begun = begun if found is None else found.end()
        own = data[begun : max(end, begun)]
        if not (own.startswith(self.anew) or self.anew.startswith(own)):
            raise UntrueError(f"{path.name}: was begun anew without its sources: {own[:60]!r}")
        own = own[len(self.anew) :]
        if not self.given.startswith(own):
            at = next(k for k, (a, b) in enumerate(zip(own, self.given + b"-" * len(own), strict=False)) if a != b)
            raise UntrueError(
                f"{path.name}: holds {own[at : at + 60]!r} where {bytes(self.given[at : at + 60])!r} was given"
            )
        return len(own)


class Ledger:
    """The files of one recorder, and what it says of them."""

    def __init__(self, clock: Clockwork, made: Any, sources: tuple[Declared, ...]) -> None:
        self.clock, self.recorder, self.sources = clock, made, sources
        self.files = [File(made._path)]
        self.lost = 0
        self.well_since_s = clock.now_s  # no word of trouble since
        self.troubled_since_s = math.inf  # trouble without a pause since

    def took(self, line: Line, *, lost: bool) -> None:
        self.lost += lost
        self._took(encoded(line), line.t_s, line.unix_ms or 0, lost=lost)

    def silent(self, t_s: float, unix_ms: int, *, lost: bool) -> None:
        """Nothing was said up to then."""
        self._took(_tagged(b"c:%d,r:%d" % (unix_ms, round(t_s * 1000)), b""), t_s, unix_ms, lost=lost)

    def _took(self, data: bytes, t_s: float, unix_ms: int, *, lost: bool) -> None:
        file = self.files[-1]
        if lost:
            file.hole_s = min(file.hole_s, t_s)
            return
        first = b"" if file.begun else b"".join(declaration(source, t_s, unix_ms) for source in self.sources)
        if not file.begun:
            file.begun, file.declared = True, first
        file.take(first + data, t_s, self.clock.now_s)

    def removed(self, kept: int) -> None:
        """Somebody removed the present file, which held so many of the bytes given."""
        file = self.files[-1]  # one that the recorder had not opened yet is no other to it
        file.removed(kept, b"" if self.recorder._fd is None else file.declared)

    @property
    def gone(self) -> int:
        """How many bytes were written besides those that the files should hold."""
        return sum(file.gone + len(file.anew) * bool(self.recorder._removed) for file in self.files)

    def check(self) -> None:
        """Each second: what waits and what is written are all that was given, and a hole is told."""
        now_s, made = self.clock.now_s, self.recorder
        given = sum(len(file.given) for file in self.files) + self.gone
        if (said := made._written + made._waiting_bytes) != given:
            raise UntrueError(f"{said} bytes are written or wait, as it says, and {given} were given")
        if made._lost != self.lost or (self.lost and f"{self.lost} lines of the feed" not in made.error):
            raise UntrueError(f"{self.lost} lines are lost, and it says: {made._lost}, {made.error!r}")
        if made.error:
            self.well_since_s, self.troubled_since_s = now_s, min(self.troubled_since_s, now_s)
            return
        self.troubled_since_s = math.inf
        if now_s - self.well_since_s > WITHIN_S and len(self.files) == 1:
            size = self.files[0].path.stat().st_size if self.files[0].path.exists() else 0
            if size - len(self.files[0].before) < self.files[0].given_until(now_s - WITHIN_S):
                raise UntrueError("lines are not in the file, and nothing says so")

    def died(self, copied: Any, synced: dict[Path, int] | None) -> None:
        """The process is gone, or the power (``synced``: what of each file is sure), and left a copy of every file.

        A sync that failed leaves the file of an earlier trip unsure, too.
        """
        kept = 0
        for file in self.files:
            sure = None if synced is None else synced.get(file.path, 0)
            own = file.kept(copied(file.path), sure)
            well = self.clock.now_s - self.well_since_s > 2.0 * WITHIN_S
            if well and own < file.given_until(self.clock.now_s - WITHIN_S):
                raise UntrueError(f"{file.path.name}: had no trouble, and lines of some seconds ago are not there")
            file.holds(own)
            kept += own
        if synced is None and kept < self.recorder._written - self.gone:
            raise UntrueError(f"{kept} bytes are there, and {self.recorder._written} were written, as it said")

    def closed(self) -> int:
        """At a run's proper end; returns how many bytes were held against what was given."""
        sizes = [file.kept(file.path) for file in self.files]
        for file, size in zip(self.files, sizes, strict=True):
            file.holds(size)
        kept = sum(sizes)
        given = sum(len(file.given) for file in self.files)
        if kept < given and not self.recorder._error:
            raise UntrueError(f"{given - kept} bytes of the feed are in no file, and nothing says so")
        if kept < self.recorder._written - self.gone:
            raise UntrueError(f"{kept} bytes are there, and {self.recorder._written} were written, as it says")
        return kept


def watched(clock: Clockwork, *, waits_bytes: int | None = None) -> type[recorder.Recorder]:
    """The recorder, with a ledger beside; ``waits_bytes``: what it holds in memory, if not as much as ever."""
    more = {} if waits_bytes is None else {"waits_bytes": waits_bytes}

    class Watched(recorder.Recorder):
        def __init__(self, path: Path, sources: Any = ()) -> None:
            super().__init__(path, sources, **more)
            self.ledger = Ledger(clock, self, tuple(sources))

        def _take(self, data: bytes, t_s: float, unix_ms: int | None) -> bool:
            self.taken = super()._take(data, t_s, unix_ms)
            return self.taken

        def record(self, line: Line) -> None:
            super().record(line)
            self.ledger.took(line, lost=not self.taken)

        def silent(self, t_s: float, unix_ms: int) -> None:
            super().silent(t_s, unix_ms)
            self.ledger.silent(t_s, unix_ms, lost=not self.taken)

        def rotate(self, path: Path) -> None:
            super().rotate(path)
            self.ledger.files.append(File(path))

    return Watched

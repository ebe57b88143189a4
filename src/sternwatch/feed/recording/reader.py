"""Reads recordings of any kind as lines with feed time. They open fast and can be read from any moment.

The reader chooses the timing: tag blocks, else stamps of the recording computer, else the sentences' own clock, else
their rhythm; ``Recording.timing`` says which. A file is never read into memory whole. A compressed one is first
unpacked to an unnamed temporary file.
"""

from __future__ import annotations

import gzip
import mmap
import os
import tempfile
import time
import zlib
from bisect import bisect_left
from collections.abc import Iterator, Mapping
from itertools import islice
from pathlib import Path
from typing import IO, Protocol

from sternwatch.feed.errors import FeedError
from sternwatch.feed.n2k.payloads import check_library
from sternwatch.feed.readings import SENTENCES, Declared, Line, Speech, Tongue
from sternwatch.feed.recording import frame_clock, speech_detection, splices
from sternwatch.feed.recording import own_clock as ownclock
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.splices import Splice
from sternwatch.feed.recording.stamps import STAYS, HostStamper, OwnStamper, Stamper, TagStamper, Walker
from sternwatch.feed.recording.unpacking import BLOCK, TooMuchError, blocks
from sternwatch.feed.sentences import dates
from sternwatch.feed.sentences.dates import Written
from sternwatch.feed.sentences.framing import MAX_LINE, cut
from sternwatch.system_words import reason

_LOOKED_AT = 400  # lines by which the kind of timing is chosen
_SHARE = 0.5


class _Timed(Protocol):
    """Lines of one block with their feed times."""

    words: str
    span_ms: int
    start_unix_s: float | None
    floors_ms: list[int]  # for each block: the latest feed time of all lines before it
    splices: tuple[Splice, ...]

    def lines(self, block: int, begin: int, data: bytes) -> Iterator[Line]: ...


class Recording:
    """A recorded feed. Iterating does not change it; several iterations may run at once."""

    def __init__(
        self, path: Path, data: mmap.mmap, source: str, notes: tuple[str, ...], speech: Speech = SENTENCES,
        written: Written | None = None,
    ) -> None:  # fmt: skip
        self.path = path
        self.written = written
        self._data = data
        self._blocks = _blocks(data)
        told = () if speech == SENTENCES else (Declared(source, speech=speech),)
        # As declared in the recording, else as the caller named them; empty without either.
        self.sources = _declared(data[: self._blocks[1]]) or told
        if any(declared.speech.tongue is Tongue.N2K for declared in self.sources):
            check_library()
        if speech == SENTENCES and not self.sources:
            self._refuse_other_tongues()
        longest = {declared.name: declared.speech.longest for declared in self.sources}
        self._timed = _timing(data, self._blocks, source, speech, longest, written)
        odd = (*notes, splices.sentence(self.splices), self._mending())
        self.notes = tuple(note for note in odd if note)  # sentences about oddities of the file itself

    def _refuse_other_tongues(self) -> None:
        looked = list(islice(_lines(self._data[: self._blocks[1]]), _LOOKED_AT))
        tongue = speech_detection.tongue_of(looked)
        if tongue is not None:
            raise FeedError(f"holds {speech_detection.NAMES[tongue]}, not sentences: {tongue}:{self.path} plays it")

    def _mending(self) -> str:
        """A sentence on how its dates are mended, by the first of them."""
        for line in islice(self.lines(), _LOOKED_AT):
            day = ownclock.day_in(line.data)
            if day is not None:
                return dates.mending(day, dates.mend(day, dates.host_day(line.unix_ms), self.written))
        return ""

    @property
    def splices(self) -> tuple[Splice, ...]:
        """The places where it is pieced together, in order."""
        return self._timed.splices

    @property
    def timing(self) -> str:
        """The source of its timing, in words."""
        return self._timed.words

    @property
    def span_s(self) -> float:
        """Feed time of the last line."""
        return self._timed.span_ms / 1000

    @property
    def start_utc(self) -> float | None:
        """Unix seconds at feed time 0 by the recording's stamps or own clock; None where neither has a date."""
        return self._timed.start_unix_s

    def lines(self) -> Iterator[Line]:
        """Every line from the beginning. Feed time never decreases."""
        return self._from_block(0)

    def lines_from(self, t_s: float) -> Iterator[Line]:
        """The lines from a feed time on, exactly as ``lines`` gives them."""
        block = max(bisect_left(self._timed.floors_ms, t_s * 1000) - 1, 0)
        return (line for line in self._from_block(block) if line.t_s >= t_s)

    def close(self) -> None:
        """Close the file."""
        self._data.close()

    def __enter__(self) -> Recording:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _from_block(self, block: int) -> Iterator[Line]:
        for k in range(block, len(self._blocks) - 1):
            begin, end = self._blocks[k], self._blocks[k + 1]
            yield from self._timed.lines(k, begin, self._data[begin:end])


UNNAMED = "recording"  # the source of lines that name none


def open_recording(path: Path | str, source: str = UNNAMED, speech: Speech = SENTENCES) -> Recording:
    """Open a recording, plain or gzipped.

    Parameters
    ----------
    source
        The source of lines that name none.
    speech
        What the recording speaks, unless it declares its sources itself.

    Raises
    ------
    FeedError
        The file is missing, is no file, is empty, or cannot be read; or the library for its tongue is missing.
    """
    path = Path(path)
    notes: tuple[str, ...] = ()
    try:
        if path.is_dir():
            raise FeedError(f"{path} is a folder; a recording is a file of NMEA 0183 sentences, plain or gzipped")
        if path.exists() and not path.is_file():
            raise FeedError(
                f"{path} is not a plain file; a recording is a file of NMEA 0183 sentences, plain or gzipped"
            )
        with path.open("rb") as file:
            if file.read(2) == b"\x1f\x8b":
                with tempfile.TemporaryFile() as unpacked:
                    notes = _unpack(path, unpacked)
                    data = _map(unpacked, path)
            else:
                data = _map(file, path)
            written = Written.of_file(os.fstat(file.fileno()).st_mtime, time.time())
    except FileNotFoundError:
        raise FeedError(f"{path} does not exist") from None
    except OSError as error:
        raise FeedError(f"{path} cannot be read: {reason(error)}") from error
    try:
        return Recording(path, data, source, notes, speech, written)
    except FeedError as missing:
        data.close()
        raise FeedError(f"{path}: {missing}") from None


def _map(file: IO[bytes], path: Path) -> mmap.mmap:
    try:
        return mmap.mmap(file.fileno(), 0, access=mmap.ACCESS_READ)
    except ValueError:
        raise FeedError(f"{path} is empty") from None


def _unpack(path: Path, into: IO[bytes]) -> tuple[str, ...]:
    """Unpack as much as possible: a recording that a power failure cut off is usable up to there."""
    try:
        with gzip.open(path) as packed:  # not read(): it loses all that comes before the damage
            for chunk in blocks(packed.read1, path.stat().st_size):
                into.write(chunk)
    except TooMuchError as fault:
        raise FeedError(f"{path} {fault}") from None
    except (EOFError, zlib.error, gzip.BadGzipFile):
        into.flush()
        return (f"{path} is damaged: it is read up to the damage",)
    into.flush()
    return ()


def _blocks(data: mmap.mmap) -> list[int]:
    """Offsets where blocks of about ``BLOCK`` bytes begin, each at the start of a line; then the end."""
    result, end = [0], len(data)
    while end - result[-1] > BLOCK:
        begin = result[-1] + BLOCK
        ends = [at for line_end in (b"\n", b"\r") if (at := data.find(line_end, begin, begin + BLOCK)) >= 0]
        at = min(ends) + 1 if ends else begin  # no line is that long: rubbish can be cut anywhere
        if at >= end:
            break
        result.append(at)
    result.append(end)
    return result


def _last_line(data: mmap.mmap) -> int:
    """The offset where the last line that is not empty begins."""
    end = len(data)
    while end and data[end - 1] in b"\r\n":
        end -= 1
    return max(data.rfind(b"\n", 0, end), data.rfind(b"\r", 0, end)) + 1


def _lines(data: bytes) -> Iterator[bytes]:
    """Every line that is not empty."""
    return filter(None, data.replace(b"\r", b"\n").split(b"\n"))


def _split(begin: int, data: bytes) -> Iterator[tuple[int, bytes]]:
    """(offset, line) for every line that is not empty."""
    offset = begin
    for line in data.replace(b"\r", b"\n").split(b"\n"):
        if line:
            yield offset, line
        offset += len(line) + 1


def _declared(block: bytes) -> tuple[Declared, ...]:
    """The sources that a recording's first block declares."""
    found = {}
    for line in _lines(block):
        tag = tagblock.read(line) if tagblock.DECLARES in line else None
        source = tagblock.declared(tag) if tag is not None else None
        if source is not None:
            found[source.name] = source
    return tuple(found.values())


def _timing(
    data: mmap.mmap, blocks: list[int], source: str, speech: Speech, longest: Mapping[str, int],
    written: Written | None,
) -> _Timed:  # fmt: skip
    looked = list(islice(_lines(data[: blocks[1]]), _LOOKED_AT))
    enough = _SHARE * len(looked)
    tags = [tag for line in looked if (tag := tagblock.read(line)) is not None]
    if looked and sum(tag.relative_ms is not None for tag in tags) >= enough:
        return _Stamped(data, blocks, source, TagStamper(relative=True), Walker(begin_at_zero=False), longest)
    if looked and sum(tag.unix_ms is not None for tag in tags) >= enough:
        return _Stamped(data, blocks, source, TagStamper(relative=False), Walker(), longest)
    if speech.tongue is not Tongue.SENTENCES:
        own = OwnStamper()
        if looked and sum(own.split(line).ms is not None for line in looked) >= enough:
            return _Stamped(data, blocks, source, own, Walker(stays=STAYS), longest)
        return _Tracked(data, blocks, source, frame_clock.track(data), speech.longest)
    host = HostStamper()
    if looked and sum(host.split(line).ms is not None for line in looked) >= enough:
        return _Stamped(data, blocks, source, host, Walker(), longest)
    return _Tracked(data, blocks, source, ownclock.track(data, written), MAX_LINE)


class _Stamped:
    """Timing by a stamp before each line. It keeps the walk's state at each block, so a jump equals straight play."""

    def __init__(
        self, data: mmap.mmap, blocks: list[int], source: str, stamper: Stamper, walker: Walker,
        longest: Mapping[str, int],
    ) -> None:  # fmt: skip
        self._longest = longest
        self.words = stamper.words
        self._stamper = stamper
        self._source = source
        self._walkers: list[Walker] = []
        for k in range(len(blocks) - 1):
            self._walkers.append(walker.copy())
            block = data[blocks[k] : blocks[k + 1]]
            stamps = stamper.quick(block)
            if stamps and k == 0:
                first = stamper.split(next(_lines(block)))
                walker.step(first.ms, first.unix_ms)
            if stamps is None or not walker.quick(stamps):
                for line in _lines(block):
                    stamped = stamper.split(line)
                    walker.step(stamped.ms, stamped.unix_ms)
        self.floors_ms = [w.last_ms for w in self._walkers]
        self.span_ms = walker.last_ms
        self.splices = walker.splices
        shift = walker.start_shift_ms
        self.start_unix_s = None if shift is None else -shift / 1000

    def lines(self, block: int, begin: int, data: bytes) -> Iterator[Line]:
        walker = self._walkers[block].copy()
        for _, raw in _split(begin, data):
            s = self._stamper.split(raw)
            t_s = walker.step(s.ms, s.unix_ms) / 1000
            if not s.data:  # a tag block alone declares something; no line was received
                continue
            source = s.source or self._source
            longest = self._longest.get(source, MAX_LINE)
            if len(s.data) <= longest:
                yield Line(t_s, s.unix_ms, source, s.data, s.whole)
            else:
                for piece, whole in cut(s.data, longest):
                    yield Line(t_s, s.unix_ms, source, piece, whole and s.whole)


class _Tracked:
    """Timing by a line's offset in the file."""

    def __init__(
        self, data: mmap.mmap, blocks: list[int], source: str, track: ownclock.Track, longest: int
    ) -> None:  # fmt: skip
        self._track = track
        self._source = source
        self._longest = longest
        self.words = self._track.words
        self.splices = track.splices
        self.start_unix_s = self._track.start_unix_s
        self.floors_ms = [self._track.at(offset) for offset in blocks[:-1]]
        self.span_ms = self._track.at(_last_line(data))

    def lines(self, block: int, begin: int, data: bytes) -> Iterator[Line]:  # noqa: ARG002
        at = self._track.at
        for offset, raw in _split(begin, data):
            t_s = at(offset) / 1000
            for piece, whole in cut(raw, self._longest):
                yield Line(t_s, None, self._source, piece, whole)

"""Feed time from the stamps that a recorder wrote before each line: tag blocks, or the host's clock.

A stamp that goes back by more than a few seconds means that the recorder restarted or a clock was set; feed time
never goes back. Among frames it may be an old message that a gateway repeats, unless the stamps stay back.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Protocol

from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.splices import GAP_S, Splice
from sternwatch.quickly import quickly_made

_BACK_MS = 5_000  # a smaller step back is disorder among sources, not a new start
_FAR_MS = 30 * 86_400_000  # a larger step ahead is an unreadable stamp, unless the stamps stay ahead
STAYS = 20
_MOST_PIECES = 100
_QUICK_MS = 3_600_000

_ISO = re.compile(rb"\s*(\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d{1,9})?)\s?(Z|[+-]\d\d:?\d\d)?[\s,;|]*(?=[$!\\])")
_UNIX = re.compile(rb"\s*(\d{13}|\d{10}(?:\.\d{1,9})?)[\s,;|]+(?=[$!\\])")
_FRAME_ISO = re.compile(rb"(\d{4}-\d\d-\d\d[T -]\d\d:\d\d:\d\d(?:[.,]\d{1,9})?)Z?[ ,]")
_FRAME_UNIX = re.compile(rb"\((\d{10}\.\d{1,9})\) ")
_FRAME_TIME = re.compile(rb"A?(\d\d):?(\d\d):?(\d\d)\.(\d{1,6}) ")
_COUNTED = re.compile(rb"!PDGY,\d+,\d+,\d+,\d+,(\d+\.\d+),")
_OBJECT = re.compile(rb'\{.*?"timestamp" ?: ?"(\d{4}-\d\d-\d\d[T -]\d\d:\d\d:\d\d(?:[.,]\d{1,9})?)Z?"')
_ISO_QUICK = re.compile(rb"^\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d{1,9})?", re.MULTILINE)
_TAG_QUICK = re.compile(rb"^\\[^\\\r\n]*?\br:(\d{1,15})", re.MULTILINE)


@quickly_made
@dataclass(frozen=True, slots=True)
class Stamped:
    """A line in parts: its stamp, and the bytes received."""

    ms: int | None  # the stamp that carries feed time
    unix_ms: int | None
    source: str | None
    whole: bool
    data: bytes


class Stamper(Protocol):
    """How one kind of recording stamps its lines."""

    words: str

    def split(self, line: bytes) -> Stamped: ...
    def quick(self, block: bytes) -> list[int] | None:
        """All stamps of a block of lines [ms]; None where that needs every line taken apart."""
        ...


class TagStamper:
    """Stamps in tag blocks: the relative time, else the Unix time."""

    def __init__(self, relative: bool) -> None:
        self._relative = relative
        self.words = "tag blocks" if relative else "tag blocks, the recording computer's clock"

    def split(self, line: bytes) -> Stamped:
        tag = tagblock.read(line)
        if tag is None:
            return Stamped(None, None, None, True, line)
        ms = tag.relative_ms if self._relative else tag.unix_ms
        return Stamped(ms, tag.unix_ms, tag.source, not tag.cut, line[tag.end :])

    def quick(self, block: bytes) -> list[int] | None:
        return [int(digits) for digits in _TAG_QUICK.findall(block)] if self._relative else None


class HostStamper:
    """The host's clock before each line: ISO 8601 (without a zone: UTC) or Unix seconds or milliseconds."""

    words = "the recording computer's clock before each line"

    def split(self, line: bytes) -> Stamped:
        match = _ISO.match(line)
        if match:
            ms = _iso_ms(match[1], match[2])
        else:
            match = _UNIX.match(line)
            ms = _unix_ms(match[1]) if match else None
        if match is None or ms is None:
            return Stamped(None, None, None, True, line)
        return Stamped(ms, ms, None, True, line[match.end() :])

    def quick(self, block: bytes) -> list[int] | None:
        """Only the first and last stamps, where all texts have one length and are sorted as text."""
        texts = _ISO_QUICK.findall(block)
        if len(texts) < 2 or len(set(map(len, texts))) > 1 or texts != sorted(texts):
            return None
        if re.search(rb"^[^$!\\\r\n]*[+-]\d\d:?\d\d[\s,;|]*[$!\\]", block, re.MULTILINE):
            return None  # with zones, text order is not time order
        first, last = _iso_ms(texts[0], b""), _iso_ms(texts[-1], b"")
        return None if first is None or last is None else [first, last]


class OwnStamper:
    """The stamp that a frame or delta itself carries. The line stays whole.

    A stamp without a date (gateways print the time of day) has no Unix time.
    """

    words = "the stamps in the lines themselves"

    def split(self, line: bytes) -> Stamped:
        for pattern in (_FRAME_ISO, _FRAME_UNIX, _OBJECT):
            match = pattern.search(line) if pattern is _OBJECT else pattern.match(line)
            if match:
                ms = _unix_ms(match[1]) if pattern is _FRAME_UNIX else _iso_ms(_joined(match[1]), b"")
                return Stamped(ms, ms, None, True, line)
        match = _FRAME_TIME.match(line)
        if match:
            hours, minutes, seconds = int(match[1]), int(match[2]), int(match[3])
            ms = ((hours * 60 + minutes) * 60 + seconds) * 1000 + _thousandths(match[4].decode())
            return Stamped(ms, None, None, True, line)
        match = _COUNTED.match(line)
        return Stamped(_unix_ms(match[1]) if match else None, None, None, True, line)

    def quick(self, block: bytes) -> list[int] | None:  # noqa: ARG002
        """None: a line may hold several stamps, or none."""
        return None


def _joined(text: bytes) -> bytes:
    """The text with one mark between date and time: some writers put a hyphen there."""
    return text[:10] + b"T" + text[11:]


def _iso_ms(text: bytes, zone: bytes | None) -> int | None:
    """Unix milliseconds; None where the text is no time."""
    plain = text.decode("ascii").replace(",", ".")
    whole, _, fraction = plain.partition(".")
    try:
        moment = datetime.fromisoformat(whole + (zone or b"Z").decode("ascii"))
    except ValueError:
        return None
    return int(moment.astimezone(UTC).timestamp()) * 1000 + _thousandths(fraction)


def _thousandths(fraction: str) -> int:
    """Of the digits behind a point."""
    return int(f"{fraction:0<3.3}")


def _unix_ms(text: bytes) -> int:
    seconds, _, fraction = text.partition(b".")
    return int(seconds) if len(seconds) == 13 else int(seconds) * 1000 + _thousandths(fraction.decode())


@dataclass(slots=True)
class Walker:
    """Turns the stamps of successive lines into feed time [ms], never decreasing."""

    last_ms: int = 0
    shift_ms: int | None = None  # feed time = stamp + shift
    unix_shift_ms: int | None = None  # feed time = Unix time + this, from the first line that had both
    start_shift_ms: int | None = None  # its value at the start of the recording
    ahead: int = 0
    begin_at_zero: bool = True  # False: the stamp itself is feed time
    stays: int = 1  # so many lines in a row with stamps behind mean a new start; fewer are repeated old messages
    behind: int = 0
    began_ms: int = 0  # the first stamp of the present piece
    pieces: tuple[tuple[int, int], ...] = ()  # first and last stamps of the pieces before it
    splices: tuple[Splice, ...] = ()

    def step(self, stamp_ms: int | None, unix_ms: int | None) -> int:
        """Feed time of the next line [ms]."""
        if stamp_ms is None:
            return self.last_ms
        if self.shift_ms is None:
            self.shift_ms = -stamp_ms if self.begin_at_zero else 0
            self.last_ms = stamp_ms + self.shift_ms
            self.began_ms = stamp_ms
            if unix_ms is not None:
                self.unix_shift_ms = self.start_shift_ms = self.last_ms - unix_ms
            return self.last_ms
        now = stamp_ms + self.shift_ms
        if now > self.last_ms + _FAR_MS:
            self.ahead += 1
            if self.ahead < STAYS:
                return self.last_ms
            now = self._start_again(stamp_ms, unix_ms)
        elif now < self.last_ms - _BACK_MS:
            self.behind += 1
            if self.behind < self.stays:
                return self.last_ms
            now = self._start_again(stamp_ms, unix_ms)
        self.ahead = self.behind = 0
        self.last_ms = max(now, self.last_ms)
        return self.last_ms

    def quick(self, stamps: list[int]) -> bool:
        """Take a whole block's stamps at once. False where they are unusual; then nothing is taken."""
        if self.shift_ms is None or self.ahead or self.behind or not stamps or stamps != sorted(stamps):
            return False
        first, last = stamps[0] + self.shift_ms, stamps[-1] + self.shift_ms
        if first < self.last_ms or last > self.last_ms + _QUICK_MS:
            return False
        self.last_ms = last
        return True

    def copy(self) -> Walker:
        """A copy of the state, to continue from later."""
        return replace(self)

    def _start_again(self, stamp_ms: int, unix_ms: int | None) -> int:
        """Continue feed time by the computer's clock, where that is credible.

        Otherwise begin another piece, a fixed time later.
        """
        if self.unix_shift_ms is not None and unix_ms is not None:
            by_clock = unix_ms + self.unix_shift_ms
            if self.last_ms <= by_clock <= self.last_ms + _FAR_MS:
                self.shift_ms = by_clock - stamp_ms
                return by_clock
        assert self.shift_ms is not None
        high = self.last_ms - self.shift_ms
        now = self.last_ms + round(GAP_S * 1000)
        self.pieces = (*self.pieces[-_MOST_PIECES:], (self.began_ms, high))
        again = any(begin - _BACK_MS <= stamp_ms <= end for begin, end in self.pieces)
        self.splices = (*self.splices, Splice(now / 1000, (stamp_ms - high) / 1000, again))
        self.began_ms, self.shift_ms = stamp_ms, now - stamp_ms
        if unix_ms is not None:
            self.unix_shift_ms = now - unix_ms
        return now

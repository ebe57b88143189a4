"""Feed time for a recording without stamps, from the clock in its own sentences or from their rhythm.

Lines between two clock sentences are spread evenly by bytes. Too few bytes for the time between the two mean that the
instruments were off: then the lines follow at the usual rhythm, and the rest is a gap.
"""

from __future__ import annotations

import math
import mmap
import re
from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from functools import cache
from itertools import pairwise
from statistics import median, median_low

from sternwatch.feed.recording.splices import GAP_S, Splice
from sternwatch.feed.sentences import dates, fields
from sternwatch.feed.sentences.framing import checksum
from sternwatch.feed.sentences.handlers import HANDLERS
from sternwatch.feed.sentences.layouts import Sentence, UnreadableError, parse

Buffer = bytes | mmap.mmap

_GAP_S = 60.0
_SPLICE_S = 7 * dates.DAY_S
_LOOK_AHEAD = 5
_LONGEST_BEHIND = 4000  # readings: about an hour
_STICKS_S = 61.0  # a clock whose minute sticks falls back by no more than this
_HOLE_FACTOR, _HOLE_S = 2.0, 5.0
_ASSUMED_BYTES_S = 480.0  # 4800 baud, 10 bits a byte (IEC 61162-1)
_SOURCES = ("RMC", "ZDA", "GNS", "GGA", "GLL")  # sentences with a date first
_ENOUGH = 0.3


@dataclass(frozen=True, slots=True)
class Track:
    """Feed time [ms] by byte offset: piecewise linear, never decreasing."""

    offsets: tuple[int, ...]
    ms: tuple[float, ...]
    slopes: tuple[float, ...]  # ms per byte after each offset
    start_unix_s: float | None  # UTC at feed time 0, where the clock has a date and right checksums
    words: str
    splices: tuple[Splice, ...] = ()

    def at(self, offset: int) -> int:
        """Feed time [ms, whole] of a line that begins at ``offset``."""
        k = max(bisect_right(self.offsets, offset) - 1, 0)
        now = self.ms[k] + (offset - self.offsets[k]) * self.slopes[k]
        if k + 1 < len(self.ms):
            now = min(now, self.ms[k + 1])
        return max(int(now), 0)


def track(data: Buffer, written: dates.Written | None = None) -> Track:
    """Feed time along a recording without stamps. ``written``: when the recording was written."""
    for verified in (True, False):
        found = _best(data, verified, written)
        if found is not None:
            return found
    return _by_rhythm(data)


def _best(data: Buffer, verified: bool, written: dates.Written | None) -> Track | None:
    """The track by the best clock sentence. ``verified`` false: wrong checksums are accepted."""
    spoken = Counter(found[1] for found in re.finditer(rb"\$[A-Z]{2}(RMC|ZDA|GNS|GGA|GLL),", data))

    @cache
    def mended(day: date) -> date:
        return dates.mend(day, None, written)

    heard = {_SOURCES[0]: list(_clock(data, _SOURCES[0], verified, mended))}
    enough = _enough(spoken.values())
    if len(heard[_SOURCES[0]]) < enough:  # this kind alone is not good enough: compare the others
        heard |= {name: list(_clock(data, name, verified, mended)) for name in _SOURCES[1:]}
        enough = _enough(len(epochs) for epochs in heard.values())
    for name, epochs in heard.items():
        if len(epochs) < enough:
            continue
        dated = all(day is not None for _, day, _ in epochs)
        clean, steps = _clean(_unrolled(epochs, dated))
        if len(clean) < 2:
            continue
        words = f"the sentences' own clock ({name}{'' if dated else ', without a date'})"
        if not verified:
            words += ", though their checksums are wrong"
        return _track(clean, steps, words, dated and verified)
    return None


def _enough(counts: Iterable[int]) -> float:
    """How many readings make a clock, beside sentences that come so often."""
    return max([3.0, *(_ENOUGH * count for count in counts)])


def _clock(
    data: Buffer, name: str, verified: bool, mended: Callable[[date], date]
) -> Iterator[tuple[int, date | None, float]]:  # fmt: skip
    """(offset of the line, date, seconds of day) for every sentence of one kind that gives a time."""
    pattern = re.compile(rb"\$[A-Z]{2}%s,[^\r\n$!]{5,120}" % name.encode())
    for match in pattern.finditer(data):
        body, star, digits = match[0][1:].partition(b"*")
        if verified and star:
            try:
                if int(digits[:2], 16) != checksum(body):
                    continue
            except ValueError:
                continue
        try:
            sentence = parse(body.decode("ascii"))
            seconds = fields.seconds_of_day(sentence["timestamp"])
            if seconds is not None and _has_fix(name, sentence):
                day = said_day(name, sentence)
                yield match.start(), None if day is None else mended(day), seconds
        except (UnreadableError, UnicodeDecodeError, fields.BadFieldError):
            continue


def _has_fix(name: str, s: Sentence) -> bool:
    if name == "RMC":
        return s["status"] == "A" and s["mode_indicator"] not in ("N", "V")
    if name == "GLL":
        return s["status"] == "A" and s["faa_mode"] not in ("N", "V")
    if name == "GGA":
        return s["gps_qual"] not in ("", "0")
    return name == "ZDA" or s["mode_indicator"].strip("N") != ""


def day_in(line: bytes) -> date | None:
    """The date in one line; None unless it is a correct sentence with a date."""
    for name in ("RMC", "ZDA"):
        for _, day, _ in _clock(line, name, verified=True, mended=lambda day: day):
            return day
    return None


def said_day(name: str, s: Sentence) -> date | None:
    """The date in a sentence, not mended; None where it has none."""
    try:
        if name == "RMC":
            text = s["datestamp"]
            return date(dates.two_digit_year(int(text[4:6])), int(text[2:4]), int(text[:2]))
        if name == "ZDA" and len(s["year"]) == 4:
            return date(int(s["year"]), int(s["month"]), int(s["day"]))
    except ValueError:
        return None
    return None


def _unrolled(epochs: list[tuple[int, date | None, float]], dated: bool) -> list[tuple[int, float]]:
    """(offset, seconds): Unix time, or seconds of day that go on past midnight."""
    if dated:
        return [(offset, dates.unix_s(day, seconds)) for offset, day, seconds in epochs if day is not None]
    result: list[tuple[int, float]] = []
    for offset, _, seconds in epochs:
        result.append((offset, dates.nearest_day(seconds, result[-1][1]) if result else seconds))
    return result


def _clean(epochs: list[tuple[int, float]]) -> tuple[list[tuple[int, float, float]], dict[int, tuple[float, bool]]]:
    """(offset, seconds, seconds since the entry before), with one entry each time the clock moves on.

    A jump counts if the next readings follow on from it; else it was a wrong reading. A clock may fall back by a
    minute and later catch up (the minute of some receivers sticks): readings in between are left out. Any other step
    back, and a step forward of more than a week, begins another piece. The second result gives pieces by offset: how
    far the clock steps, and whether its new time is within an earlier piece.
    """
    clean: list[tuple[int, float, float]] = []
    steps: dict[int, tuple[float, bool]] = {}
    pieces: list[tuple[float, float]] = []
    piece_began = math.nan  # no piece has begun
    i = -1
    while (i := i + 1) < len(epochs):
        offset, now = epochs[i]
        if not clean:
            if _goes_on(epochs, i):
                clean.append((offset, now, 0.0))
                piece_began = now
            continue
        moved = now - clean[-1][1]
        if -_HOLE_S <= moved <= 0:
            continue
        if not 0 < moved <= _GAP_S:
            if not _goes_on(epochs, i):
                continue
            caught_up = _catches_up(epochs, i, clean[-1][1]) if -_STICKS_S <= moved < 0 else None
            if caught_up is not None:
                i = caught_up - 1
                continue
            if not 0 < moved <= _SPLICE_S:
                pieces.append((piece_began, clean[-1][1]))
                steps[offset] = moved, any(begin - _HOLE_S <= now <= end for begin, end in pieces)
                piece_began, moved = now, GAP_S
        clean.append((offset, now, moved))
    return clean, steps


def _catches_up(epochs: list[tuple[int, float]], i: int, high: float) -> int | None:
    """The index where a clock behind ``high`` passes it again and goes on from there."""
    for j in range(i + 1, min(i + _LONGEST_BEHIND, len(epochs))):
        if epochs[j][1] < high - _STICKS_S:
            return None
        if high < epochs[j][1] <= high + _SPLICE_S and _goes_on(epochs, j):
            return j
    return None


def _goes_on(epochs: list[tuple[int, float]], i: int) -> bool:
    following = epochs[i + 1 : i + 1 + _LOOK_AHEAD]
    agreeing = sum(0 <= later - epochs[i][1] <= _GAP_S for _, later in following)
    return 2 * agreeing >= len(following)


def _track(
    clean: list[tuple[int, float, float]], steps: dict[int, tuple[float, bool]], words: str, dated: bool
) -> Track:  # fmt: skip
    ticks = [(b[0] - a[0], b[2]) for a, b in pairwise(clean) if b[2] <= _HOLE_S * 2]
    bytes_s = median(n / s for n, s in ticks) if ticks else _ASSUMED_BYTES_S
    usual = 1000.0 / max(bytes_s, 1.0)
    before_ms = clean[0][0] * usual
    offsets, ms, slopes = [0], [0.0], [usual]
    splices: list[Splice] = []
    now = before_ms
    for k, (offset, _, moved) in enumerate(clean):
        now += moved * 1000.0
        if offset == 0:
            offsets, ms, slopes = [], [], []
        if offset in steps:
            splices.append(Splice(now / 1000.0, *steps[offset]))
        offsets.append(offset)
        ms.append(now)
        slope = usual
        if k + 1 < len(clean):
            n, seconds = clean[k + 1][0] - offset, clean[k + 1][2]
            if seconds <= _HOLE_FACTOR * n / bytes_s + _HOLE_S:
                slope = seconds * 1000.0 / n
        slopes.append(slope)
    start = clean[0][1] - before_ms / 1000.0 if dated else None
    return Track(tuple(offsets), tuple(ms), tuple(slopes), start, words, tuple(splices))


def _by_rhythm(data: Buffer) -> Track:
    """The track without any clock: the sentence of median frequency counts as coming once a second."""
    kinds = Counter(found[1] for found in re.finditer(rb"\$([A-Z]{2}[A-Z]{3}),", data))
    counts = [n for kind, n in kinds.items() if kind[2:].decode() in HANDLERS]
    slope = 1000.0 / _ASSUMED_BYTES_S
    if counts:
        slope = 1000.0 * median_low(counts) / max(len(data), 1)
    return Track((0,), (0.0,), (slope,), None, "it has no clock: one round of sentences counts as a second")

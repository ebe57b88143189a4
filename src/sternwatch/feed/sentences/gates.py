"""Rate gates mark a value as suspect where it changes faster than its quantity can. They never hide it.

A checksum does not find every fault (transposed digits, paired flips), and a sounder that loses the bottom reports
another depth in a perfectly good sentence. The limits are judgement, wide enough for a drop-off, a thermal front or
opening the throttle. A level that persists is believed after a while.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from sternwatch.feed.readings import Quantity, Value


@dataclass(frozen=True, slots=True)
class Limits:
    """How fast one quantity can change: by ``base + share * |last| + rate * seconds``."""

    base: float
    rate: float
    low: float
    high: float
    jump: str
    beyond: str
    share: float = 0.0
    persists: int = 4  # so many readings in a row near one another make a new level believed ...
    persists_s: float = 3.0  # ... once they span this long


_SPEED = Limits(2.0, 1.0, 0.0, 25.0, "jumps faster than a boat speeds up", "faster than a trolling boat")

LIMITS = {
    Quantity.SOG: _SPEED,
    Quantity.STW: _SPEED,
    Quantity.BOTTOM: Limits(
        2.0, 1.0, 0.0, 12000.0, "jumps faster than the bottom does: bottom lost?", "deeper than any water", share=0.15
    ),
    Quantity.WATER_TEMPERATURE: Limits(
        1.5, 0.2, -1.0, 35.0, "jumps faster than water changes", "not a temperature of open water",
        persists=10, persists_s=20.0,
    ),
}  # fmt: skip

# Further limits for a source without checksums, where any value may have a wrong digit. Degrees, metres and seconds
# off feed time.
WARY_LIMITS = {
    **LIMITS,
    Quantity.HEADING: Limits(15.0, 60.0, 0.0, 360.0, "turns faster than a boat", "no heading", persists_s=1.0),
    # Any course is near any other after three seconds: it never has to persist.
    Quantity.COG: Limits(30.0, 60.0, 0.0, 360.0, "turns faster than a boat", "no course"),
    Quantity.POSITION: Limits(50.0, 30.0, -math.inf, math.inf, "jumps further than a boat goes", "no position"),
    Quantity.CLOCK: Limits(2.0, 0.1, 0.0, 32503680000.0, "jumps as a clock never does", "no date", persists_s=5.0),
}
_CIRCLES = (Quantity.HEADING, Quantity.COG)
_FORGETS_S = 60.0
_ZERO_NEAR = 1.5  # degC
_M_PER_DEGREE = 111_195.0  # of a great circle on a sphere of 6,371 km


class Gate:
    """The gate of one quantity from one speaker.

    ``unconfirmed`` after ``doubt``: a wary gate has heard nothing like it before. The address or the message's number
    may be wrong, and the value not this speaker's at all.
    """

    __slots__ = (
        "_last", "_last_t", "_limits", "_new", "_new_count", "_new_since", "_quantity", "_wary", "unconfirmed",
    )  # fmt: skip

    def __init__(self, quantity: Quantity, *, wary: bool = False) -> None:
        self._limits = WARY_LIMITS[quantity] if wary else LIMITS[quantity]
        self._quantity = quantity
        self._wary = wary
        self.unconfirmed = False
        self._last: Value | None = None
        self._last_t = math.nan
        self._new: Value = math.nan
        self._new_count = 0
        self._new_since = math.nan

    def doubt(self, value: Value, t_s: float) -> str:
        """Why the value is suspect, in words; empty where it is not."""
        self.unconfirmed = self._wary and self._last is None
        if self._quantity is Quantity.CLOCK and isinstance(value, float):
            value -= t_s  # its offset from feed time
        if why := self._beyond(value):
            return why
        if self._last is None and self._wary:
            return self._first_heard(value, t_s)
        elapsed = t_s - self._last_t
        if self._last is None or elapsed > _FORGETS_S or self._near(value, self._last, elapsed):
            self._believe(value, t_s)
            return ""
        return self._jumped(value, t_s)

    def _beyond(self, value: Value) -> str:
        """Why the value is impossible: out of range, or what sensors send before they have measured. Else empty."""
        if isinstance(value, float) and not self._limits.low <= value <= self._limits.high:
            return self._limits.beyond
        zero = self._quantity is Quantity.WATER_TEMPERATURE and value == 0
        if zero and (self._last is None or not _near_zero(self._last)):
            return "exactly zero, which sensors send before they have measured"
        return ""

    def _first_heard(self, value: Value, t_s: float) -> str:
        """Doubt a wary source's first value until a second one confirms it."""
        if t_s - self._new_since <= _FORGETS_S and self._near(value, self._new, 0.0):
            self._believe(value, t_s)
            self.unconfirmed = False
            return ""
        self._new, self._new_since = value, t_s
        return self._limits.jump

    def _jumped(self, value: Value, t_s: float) -> str:
        """Doubt a jump until it has persisted."""
        if self._new_count and self._near(value, self._new, 0.0):
            self._new_count += 1
        else:
            self._new_count, self._new_since = 1, t_s
        self._new = value
        if self._new_count >= self._limits.persists and t_s - self._new_since >= self._limits.persists_s:
            self._believe(value, t_s)
            return ""
        return self._limits.jump

    def let(self, value: Value, t_s: float) -> None:
        """Take a value that may jump. Later values are not compared with it."""
        self._believe(value, t_s - _FORGETS_S - 1.0)

    def _near(self, value: Value, other: Value, elapsed: float) -> bool:
        limits = self._limits
        if isinstance(value, tuple) or isinstance(other, tuple):
            off, size = _apart_m(value, other), 0.0
        else:
            off, size = abs(value - other), abs(other)
            if self._quantity in _CIRCLES:
                off = min(off, 360.0 - off)
        return off <= limits.base + limits.share * size + limits.rate * elapsed

    def _believe(self, value: Value, t_s: float) -> None:
        self._last, self._last_t, self._new_count = value, t_s, 0


def _near_zero(value: Value) -> bool:
    return isinstance(value, float) and abs(value) <= _ZERO_NEAR


def _apart_m(one: Value, other: Value) -> float:
    """The distance between two positions; infinite where one is not a position."""
    if not isinstance(one, tuple) or not isinstance(other, tuple):
        return math.inf
    north = one[0] - other[0]
    east = math.remainder(one[1] - other[1], 360.0)
    return _M_PER_DEGREE * math.hypot(north, east * math.cos(math.radians(one[0])))

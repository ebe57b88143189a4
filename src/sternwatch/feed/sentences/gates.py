"""Rate gates: a value that changes faster than its quantity can is marked suspect. It is never hidden.

A checksum cannot see every fault (transposed digits, paired flips), and a sounder that loses the bottom reports
another one in a perfectly good sentence. The limits are chosen by judgement, wide enough that a drop-off, a
thermal front or opening the throttle passes; a level that persists is believed after a while.
"""

from __future__ import annotations

from dataclasses import dataclass

from sternwatch.feed.readings import Quantity


@dataclass(frozen=True, slots=True)
class Limits:
    """What one quantity can do. A change of ``base + share * |last| + rate * seconds`` passes."""

    base: float
    share: float
    rate: float
    persists: int  # readings in a row near one another after which a new level is believed ...
    persists_s: float  # ... once they span this long
    low: float
    high: float
    jump: str
    beyond: str


_SPEED = Limits(2.0, 0.0, 1.0, 4, 3.0, 0.0, 25.0, "jumps faster than a boat speeds up", "faster than a trolling boat")

LIMITS = {
    Quantity.SOG: _SPEED,
    Quantity.STW: _SPEED,
    Quantity.BOTTOM: Limits(
        2.0,
        0.15,
        1.0,
        4,
        3.0,
        0.0,
        12000.0,
        "jumps faster than the bottom does: bottom lost?",
        "deeper than any water",
    ),
    Quantity.WATER_TEMPERATURE: Limits(
        1.5, 0.0, 0.2, 10, 20.0, -1.0, 35.0, "jumps faster than water changes", "no temperature of open water"
    ),
}
_FORGETS_S = 60.0
_ZERO_NEAR = 1.5  # degC


class Gate:
    """The memory of one value of one speaker."""

    __slots__ = ("_last", "_last_t", "_limits", "_new", "_new_count", "_new_since", "_zero_is_doubtful")

    def __init__(self, quantity: Quantity) -> None:
        self._limits = LIMITS[quantity]
        self._zero_is_doubtful = quantity is Quantity.WATER_TEMPERATURE
        self._last: float | None = None
        self._last_t = 0.0
        self._new = 0.0
        self._new_count = 0
        self._new_since = 0.0

    def doubt(self, value: float, t_s: float) -> str:
        """Why the value is suspect, in words; empty when it is not."""
        limits, last = self._limits, self._last
        if not limits.low <= value <= limits.high:
            return limits.beyond
        if self._zero_is_doubtful and value == 0 and (last is None or abs(last) > _ZERO_NEAR):
            return "exactly zero, as sensors say before they have measured"
        elapsed = t_s - self._last_t
        if last is None or elapsed > _FORGETS_S or self._near(value, last, elapsed):
            self._believe(value, t_s)
            return ""
        if self._new_count and self._near(value, self._new, 0.0):
            self._new_count += 1
        else:
            self._new_count, self._new_since = 1, t_s
        self._new = value
        if self._new_count >= limits.persists and t_s - self._new_since >= limits.persists_s:
            self._believe(value, t_s)
            return ""
        return limits.jump

    def _near(self, value: float, other: float, elapsed: float) -> bool:
        limits = self._limits
        return abs(value - other) <= limits.base + limits.share * abs(other) + limits.rate * elapsed

    def _believe(self, value: float, t_s: float) -> None:
        self._last, self._last_t, self._new_count = value, t_s, 0

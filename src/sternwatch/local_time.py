"""Decides, alone, the time of day that people read and type: the boat's own, or UTC where the user asks for it.

Everything that programs read (JSON, CSV, GPX, the recording) is always in UTC.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo

DAY_S = 86400
_UNITS_S = (3600, 60, 1)
_LETTERS = 5  # the most that a zone's name in letters has


@dataclass(frozen=True, slots=True)
class BoatTime:
    """The boat's clock.

    Parameters
    ----------
    said_min
        Minutes east of UTC by the crew or the trip; None: by this computer's zone at the moment shown.
    utc
        Whether the user reads UTC.
    """

    said_min: int | None = None
    utc: bool = False

    @property
    def zone(self) -> tzinfo | None:
        """The zone for ``astimezone``; None: this computer's own zone with its summer time."""
        if self.utc:
            return UTC
        return None if self.said_min is None else timezone(timedelta(minutes=self.said_min))

    def at(self, moment: datetime | float) -> datetime:
        """A moment (aware, or Unix seconds) on this clock."""
        aware = moment if isinstance(moment, datetime) else datetime.fromtimestamp(moment, UTC)
        return aware.astimezone(self.zone)

    def offset_min(self, moment: datetime | float) -> int:
        """Minutes east of UTC at a moment."""
        offset = self.at(moment).utcoffset()
        return 0 if offset is None else round(offset.total_seconds() / 60.0)

    def hm(self, moment: datetime | float) -> str:
        """Hours and minutes: ``19:08``; followed by ``UTC`` where the clock is UTC."""
        return f"{self.at(moment):%H:%M}{self.mark}"

    def hms(self, moment: datetime | float) -> str:
        """Hours, minutes, seconds: ``19:08:03``."""
        return f"{self.at(moment):%H:%M:%S}{self.mark}"

    @property
    def mark(self) -> str:
        """The mark after a time of day: nothing for the boat's own."""
        return " UTC" if self.utc else ""

    def name(self, moment: datetime | float) -> str:
        """The zone's name: the computer's letters for its own (``EDT``), else ``UTC-4``.

        Windows has whole words for a zone (``Eastern Daylight Time``), and some zones have no letters (``-03``).
        """
        letters = self.at(moment).tzname() or ""
        if (self.utc or self.said_min is None) and letters.isalpha() and len(letters) <= _LETTERS:
            return letters
        return "UTC" + offset_words(self.offset_min(moment))


def offset_words(minutes: int) -> str:
    """Minutes east of UTC as ``-4`` or ``+5:30``; nothing for 0."""
    if minutes == 0:
        return ""
    hours, rest = divmod(abs(minutes), 60)
    return f"{'-' if minutes < 0 else '+'}{hours}" + (f":{rest:02d}" if rest else "")


def m_ss(seconds: float) -> str:
    """A duration as minutes and seconds, to the nearest second: "1:50". Never below "0:00"."""
    whole = max(round(seconds), 0)
    return f"{whole // 60}:{whole % 60:02d}"


def h_mm_ss(seconds: float) -> str:
    """A time since a beginning as hours, minutes and whole seconds passed: "1:02:07". Never below "0:00:00"."""
    whole = max(int(seconds), 0)
    return f"{whole // 3600}:{whole // 60 % 60:02d}:{whole % 60:02d}"


def clock_at(t_s: float, ahead_s: float) -> str:
    """The clock at feed time ``t_s`` as hh:mm:ss. ``ahead_s``: feed time and this are the clock's seconds."""
    return h_mm_ss(round(t_s + ahead_s, 3) % DAY_S).rjust(8, "0")


def typed_moment(text: str, span_s: tuple[float, float], ahead_s: float | None, now_s: float) -> float | str:
    """The feed time [s] that ``text`` means in a recording, or one sentence that says why it means none.

    ``19:42``, ``19:42:30``, ``1942`` and ``194230`` are clock times. From the start, ``+5`` is minutes and ``+1:20``
    or ``+1:20:00`` hours. The minute in which the recording starts means its start.

    Parameters
    ----------
    span_s
        The recording's beginning and end.
    ahead_s
        Feed time and this are the clock's seconds; None: the recording has no clock.
    now_s
        Of two days on which the clock shows the time, the one nearer to this feed time counts.
    """
    from_start = text.startswith("+")
    whole_s = _from_start_s(text[1:]) if from_start else clock_s(text)
    if whole_s is None:
        return f"not a time; type {accepted_moments(clock=ahead_s is not None)}"
    begin, end = span_s
    if from_start:
        if whole_s > end - begin:
            return f"the recording is {h_mm_ss(end - begin)} long"
        return begin + whole_s
    if ahead_s is None:
        return f"this recording has no clock; type {accepted_moments(clock=False)}"
    precise_s = 1 if text.count(":") == 2 or len(text) == 6 else 60
    first = whole_s - ahead_s
    first += DAY_S * math.ceil((begin - precise_s + 1e-3 - first) / DAY_S)
    found = [max(first + day * DAY_S, begin) for day in range(int((end - begin) // DAY_S) + 2)]
    inside = [t for t in found if t <= end]
    if not inside:
        return f"not in this recording, which goes from {clock_at(begin, ahead_s)} to {clock_at(end, ahead_s)}"
    return min(inside, key=lambda t: abs(t - now_s))


def accepted_moments(*, clock: bool) -> str:
    """What ``typed_moment`` accepts, where the recording has a clock or has none."""
    from_start = "+5 (minutes) or +1:20:00 from the start"
    return f"19:42 or 19:42:30, or {from_start}" if clock else from_start


def clock_s(text: str) -> int | None:
    """A clock reading as seconds of the day."""
    if text.isdigit() and len(text) in (4, 6):
        text = ":".join(text[n : n + 2] for n in range(0, len(text), 2))
    parts = _parts(text)
    if parts is None or len(parts) < 2 or parts[0] > 23:
        return None
    return _seconds(parts)


def _from_start_s(text: str) -> int | None:
    parts = _parts(text)
    if parts is None:
        return None
    return parts[0] * 60 if len(parts) == 1 else _seconds(parts)


def _parts(text: str) -> list[int] | None:
    """One to three numbers between colons, with minutes and seconds under 60."""
    written = text.split(":")
    if len(written) > 3 or not all(part.isdigit() for part in written):
        return None
    parts = [int(part) for part in written]
    return None if any(part > 59 for part in parts[1:]) else parts


def _seconds(parts: list[int]) -> int:
    return sum(part * unit for part, unit in zip(parts, _UNITS_S, strict=False))

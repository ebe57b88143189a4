"""Decides, alone, the time of day that people read: the boat's own, or UTC where the user asks for it.

Everything that programs read (JSON, CSV, GPX, the recording) is always in UTC.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta, timezone, tzinfo

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

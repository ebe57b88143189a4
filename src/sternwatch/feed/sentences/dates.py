"""Mends dates from receivers: two-digit years, and the 1,024-week roll-over of GPS week numbers (IS-GPS-200)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

ROLLOVER = timedelta(weeks=1024)
# A date before this means that the receiver missed one or more roll-overs. Such a receiver says a date in 2007–2009
# during 2026–2029, so the floor is above those.
FLOOR = date(2010, 1, 1)
_HOST_AGREES = timedelta(days=400)
_EPOCH_DAY = date(1970, 1, 1)
DAY_S = 86400.0
_NO_CLOCK = date(1981, 1, 1)  # file systems and archives without a clock say 1970 or 1980
_YEARS = timedelta(days=2 * 365)
_LAST_UNIX_MS = 32_503_680_000_000  # the year 3000: a later clock is rubbish


@dataclass(frozen=True, slots=True)
class Written:
    """The span of days in which the lines were written, as far as known. It limits mended dates, not others."""

    latest: date
    earliest: date | None = None

    @classmethod
    def at(cls, day: date) -> Written:
        """Written on a known day. The day after is allowed (time zones); years before are not."""
        return cls(day + timedelta(days=1), day - _YEARS)

    @classmethod
    def of_file(cls, changed_unix_s: float, now_unix_s: float) -> Written:
        """Written before the file's last change, and before now."""
        now = _EPOCH_DAY + timedelta(days=int(now_unix_s // DAY_S))
        changed = _EPOCH_DAY + timedelta(days=int(max(changed_unix_s, 0.0) // DAY_S))
        if not _NO_CLOCK < changed <= now:
            return cls(now + timedelta(days=1))
        return cls.at(changed)

    def holds(self, day: date) -> bool:
        """Whether lines written then can have this date."""
        return day <= self.latest and (self.earliest is None or day >= self.earliest)


def two_digit_year(year: int) -> int:
    """The full year: 80–99 are 1980–1999, the rest 2000–2079, because GPS time began in 1980."""
    return year + (1900 if year >= 80 else 2000)


def mend(day: date, host: date | None, written: Written | None = None) -> date:
    """The date that a receiver means.

    With a credible computer clock (not before the floor), it takes the epoch that agrees with that clock within
    400 days. Otherwise it takes the first epoch that is not before the floor, if that fits the time of writing: by
    the computer's clock, else by ``written``. A date that no roll-over makes fit stays as it is.
    """
    if host is not None:
        if abs(day - host) <= _HOST_AGREES:
            return day
        rolls = round((host - day) / ROLLOVER)
        if host >= FLOOR and rolls > 0 and abs(day + rolls * ROLLOVER - host) <= _HOST_AGREES:
            return day + rolls * ROLLOVER
    if host is not None and host >= FLOOR:
        written = Written.at(host)
    meant = _after_floor(day)
    return meant if written is None or written.holds(meant) else day


def mending(day: date, meant: date) -> str:
    """A sentence on how a receiver's date is mended; empty where it is not."""
    if meant != day:
        rolls = round((meant - day) / ROLLOVER)
        return (
            f"its receiver says {day:%Y-%m-%d}; its count of weeks has rolled over, so {rolls * 1024} weeks are "
            f"added: {meant:%Y-%m-%d}"
        )
    if day < FLOOR:
        return (
            f"its receiver says {day:%Y-%m-%d}, and that is believed: with its count of weeks rolled over it would "
            f"be {_after_floor(day):%Y-%m-%d}, which does not fit the time of writing"
        )
    return ""


def _after_floor(day: date) -> date:
    while day < FLOOR:
        day += ROLLOVER
    return day


def host_day(unix_ms: int | None) -> date | None:
    """UTC date of the computer's clock; None where there is no clock or no valid date."""
    if unix_ms is None or not 0 <= unix_ms < _LAST_UNIX_MS:
        return None
    return _EPOCH_DAY + timedelta(days=unix_ms // 86_400_000)


def unix_s(day: date, seconds_of_day: float) -> float:
    """Unix time from a UTC date and the seconds since its midnight."""
    return (day - _EPOCH_DAY).days * DAY_S + seconds_of_day


def nearest_day(seconds_of_day: float, near_unix_s: float) -> float:
    """Unix time of a bare time of day, on the day that brings it nearest to a known moment."""
    days = round((near_unix_s - seconds_of_day) / DAY_S)
    return days * DAY_S + seconds_of_day

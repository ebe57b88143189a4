"""Dates from receivers: two-digit years, and the 1,024-week roll-over of GPS week numbers (IS-GPS-200)."""

from __future__ import annotations

from datetime import date, timedelta

ROLLOVER = timedelta(weeks=1024)
# A date before this is taken for a receiver that lost one or more roll-overs. A receiver with that fault says
# a date in 2007–2009 during 2026–2029, so the floor lies above those.
FLOOR = date(2010, 1, 1)
_HOST_AGREES = timedelta(days=400)
_EPOCH_DAY = date(1970, 1, 1)
DAY_S = 86400.0
_LAST_UNIX_MS = 32_503_680_000_000  # the year 3000: a clock beyond it is rubbish


def two_digit_year(year: int) -> int:
    """79 was before GPS time began (1980): 80–99 are 1980–1999, the rest 2000–2079."""
    return year + (1900 if year >= 80 else 2000)


def mend(day: date, host: date | None) -> date:
    """The date a receiver means.

    With a computer clock that is itself credible (not before the floor), the epoch that agrees with it within
    400 days is taken; else the first that is not before the floor.
    """
    if host is not None:
        if abs(day - host) <= _HOST_AGREES:
            return day
        rolls = round((host - day) / ROLLOVER)
        if host >= FLOOR and rolls > 0 and abs(day + rolls * ROLLOVER - host) <= _HOST_AGREES:
            return day + rolls * ROLLOVER
    while day < FLOOR:
        day += ROLLOVER
    return day


def host_day(unix_ms: int | None) -> date | None:
    """UTC date of the computer's clock; None if it has none or one that is no date."""
    if unix_ms is None or not 0 <= unix_ms < _LAST_UNIX_MS:
        return None
    return _EPOCH_DAY + timedelta(days=unix_ms // 86_400_000)


def unix_s(day: date, seconds_of_day: float) -> float:
    """Unix time of a UTC date and the seconds since its midnight."""
    return (day - _EPOCH_DAY).days * DAY_S + seconds_of_day


def nearest_day(seconds_of_day: float, near_unix_s: float) -> float:
    """Unix time of a bare time of day, on the day that brings it nearest to a moment known."""
    days = round((near_unix_s - seconds_of_day) / DAY_S)
    return days * DAY_S + seconds_of_day

"""Converts sentence fields strictly: finite, in range, matched whole, with the right unit letter.

Every function returns None for "no value" and raises ``BadFieldError`` for a wrong value, so that both can be counted
separately. Nothing ever becomes zero by default.
"""

from __future__ import annotations

import re

_NUMBER = re.compile(r"[+-]?(?:\d{1,9}(?:\.\d{0,9})?|\.\d{1,9})", re.ASCII).fullmatch
_LATITUDE = re.compile(r"(\d{2})(\d{2}(?:\.\d{0,9})?)", re.ASCII).fullmatch
_LONGITUDE = re.compile(r"(\d{3})(\d{2}(?:\.\d{0,9})?)", re.ASCII).fullmatch
_TIME = re.compile(r"(\d{2})(\d{2})(\d{2})(?:\.(\d{0,6}))?", re.ASCII).fullmatch

KNOT_M_S = 1852 / 3600  # exact: the international nautical mile (SI brochure)
KM_H_M_S = 1 / 3.6
FOOT_M = 0.3048  # exact
FATHOM_M = 6 * FOOT_M


class BadFieldError(ValueError):
    """A field is present, but unreadable or out of its quantity's range."""


def number(text: str, low: float, high: float) -> float | None:
    """A decimal number in [low, high]; None if the field is empty."""
    if not text:
        return None
    if not _NUMBER(text):
        raise BadFieldError(f"{text!r} is not a number")
    value = float(text)
    if not low <= value <= high:
        raise BadFieldError(f"{text} is outside {low:g} to {high:g}")
    return value


def quantity(text: str, unit: str, expected: str, low: float, high: float) -> float | None:
    """A number whose next field must be the expected unit letter."""
    value = number(text, low, high)
    if value is not None and unit != expected:
        raise BadFieldError(f"unit {unit!r} where {expected!r} is expected")
    return value


def bearing(text: str) -> float | None:
    """Degrees in [0, 360); 360 becomes 0."""
    value = number(text, 0.0, 360.0)
    return value if value != 360.0 else 0.0


def position(lat: str, ns: str, lon: str, ew: str) -> tuple[float, float] | None:
    """(latitude, longitude) in degrees, north and east positive; None if both are empty."""
    if not (lat or lon):
        return None
    north, east = _LATITUDE(lat), _LONGITUDE(lon)
    if not north or not east or ns not in ("N", "S") or ew not in ("E", "W"):
        raise BadFieldError(f"{lat},{ns},{lon},{ew} is not a position")
    lat_minutes, lon_minutes = float(north[2]), float(east[2])
    latitude, longitude = int(north[1]) + lat_minutes / 60, int(east[1]) + lon_minutes / 60
    if lat_minutes >= 60 or lon_minutes >= 60 or latitude > 90 or longitude > 180:
        raise BadFieldError(f"{lat},{ns},{lon},{ew} is outside the globe")
    if latitude == 0 and longitude == 0:
        raise BadFieldError("a position of exactly 0, 0: the receiver has none")
    return (latitude if ns == "N" else -latitude, longitude if ew == "E" else -longitude)


def seconds_of_day(text: str) -> float | None:
    """hhmmss or hhmmss.s as seconds since midnight UTC; None if empty."""
    if not text:
        return None
    match = _TIME(text)
    if not match:
        raise BadFieldError(f"{text!r} is not a time of day")
    hours, minutes, seconds = int(match[1]), int(match[2]), int(match[3])
    if hours > 23 or minutes > 59 or seconds > 59:
        raise BadFieldError(f"{text} is not a time of day")
    fraction = int((match[4] or "0").ljust(6, "0")) / 1e6
    return hours * 3600 + minutes * 60 + seconds + fraction


def signed_by(value: float | None, letter: str, positive: str, negative: str) -> float | None:
    """Variation or deviation from its magnitude and the letter for its sign."""
    if value is None:
        return None
    if letter == positive:
        return value
    if letter == negative:
        return -value
    raise BadFieldError(f"{letter!r} where {positive} or {negative} is expected")

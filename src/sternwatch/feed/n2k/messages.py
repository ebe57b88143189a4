"""One function per message (PGN): which fields make which reading. Layouts are NMEA 2000's, from canboat.

Only temperatures marked as the sea's count: a boat measures a dozen others.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import date, timedelta

from sternwatch.feed.n2k.bus import Bus
from sternwatch.feed.n2k.payloads import Fields
from sternwatch.feed.readings import Quantity

CLAIM = 60928  # ISO address claim
_ZERO_C_K = 273.15
_SPEED_M_S = (0.0, 62.0)
_DEPTH_M = (0.0, 11000.0)  # no water is deeper
_WATER_C = (-5.0, 50.0)
_STEERED_M_S = 0.5  # below this the course over ground is only the receiver's noise
_DAY_S = 86400.0
_EPOCH = date(1970, 1, 1)
_SEA = ("Sea Temperature", 0)
_TRUE, _MAGNETIC = ("True", 0), ("Magnetic", 1)
_NO_FIX = ("no GNSS", 0)


def _number(stream: Bus, f: Fields, name: str, low: float, high: float) -> float | None:
    """A field in range; None where it is not available. A value out of range is counted and gives None."""
    value = f.numbers.get(name)
    if value is None or low <= value <= high:
        return value
    stream.bad_field(f"{name} {value:g} is outside {low:g} to {high:g}")
    return None


def _is(f: Fields, name: str, meant: tuple[str, int]) -> bool:
    """Whether a lookup has this word."""
    label, code = meant
    return f.labels.get(name) == label or f.codes.get(name) == code or f.numbers.get(name) == code


def _angle(stream: Bus, f: Fields, name: str) -> float | None:
    """An angle in radians as degrees in [0, 360)."""
    value = _number(stream, f, name, 0.0, 2 * math.pi + 1e-4)
    return None if value is None else math.degrees(value) % 360.0


def _signed(stream: Bus, f: Fields, name: str) -> float | None:
    value = _number(stream, f, name, -math.pi, math.pi)
    return None if value is None else math.degrees(value)


def _speed(stream: Bus, f: Fields) -> None:
    value = _number(stream, f, "speedwaterreferenced", *_SPEED_M_S)
    stream.emit(Quantity.PROBE_SPEED if stream.is_probe else Quantity.STW, value)


def _depth(stream: Bus, f: Fields) -> None:
    stream.bottom(_number(stream, f, "depth", *_DEPTH_M), _number(stream, f, "offset", -100.0, 100.0))


def _temperature(stream: Bus, kelvin: float | None) -> None:
    celsius = None if kelvin is None else kelvin - _ZERO_C_K
    if celsius is not None and not _WATER_C[0] <= celsius <= _WATER_C[1]:
        stream.bad_field(f"{celsius:.1f} °C is outside {_WATER_C[0]:g} to {_WATER_C[1]:g}")
        celsius = None
    stream.emit(Quantity.PROBE_TEMPERATURE if stream.is_probe else Quantity.WATER_TEMPERATURE, celsius)


def _environment_old(stream: Bus, f: Fields) -> None:
    _temperature(stream, f.numbers.get("watertemperature"))


def _environment(stream: Bus, f: Fields) -> None:
    if _is(f, "temperaturesource", _SEA):
        _temperature(stream, f.numbers.get("temperature"))


def _of_a_source(stream: Bus, f: Fields) -> None:
    if not _is(f, "source", _SEA):
        return
    instance = f.numbers.get("instance")
    stream.part(int(instance) if instance else 0)
    _temperature(stream, f.numbers.get("actualtemperature", f.numbers.get("temperature")))


def _position(stream: Bus, f: Fields) -> None:
    lat, lon = _number(stream, f, "latitude", -90.0, 90.0), _number(stream, f, "longitude", -180.0, 180.0)
    place = None if lat is None or lon is None or stream.is_void(stream.talker) else (lat, lon)
    if place == (0.0, 0.0):
        stream.bad_field("a position of exactly 0, 0: the receiver has none")
        place = None
    stream.emit(Quantity.POSITION, place)


def _course_and_speed(stream: Bus, f: Fields) -> None:
    void = stream.is_void(stream.talker)
    speed, course = _number(stream, f, "sog", *_SPEED_M_S), _angle(stream, f, "cog")
    if course is not None and _is(f, "cogreference", _MAGNETIC):
        variation = stream.common.variation
        course = None if variation is None else (course + variation) % 360.0
    elif not _is(f, "cogreference", _TRUE):
        course = None
    stream.emit(Quantity.SOG, None if void else speed)
    drifts = speed is not None and speed < _STEERED_M_S
    stream.emit(Quantity.COG, None if void else course, jumps=drifts)


def _heading(stream: Bus, f: Fields) -> None:
    heading = _angle(stream, f, "heading")
    if _is(f, "reference", _TRUE):
        stream.emit(Quantity.HEADING, heading, "true")
        return
    if not _is(f, "reference", _MAGNETIC):
        return
    deviation = _signed(stream, f, "deviation")
    if heading is not None and deviation is not None:
        heading = (heading + deviation) % 360.0
    stream.heading(heading, _signed(stream, f, "variation"))


def _variation(stream: Bus, f: Fields) -> None:
    value = _signed(stream, f, "variation")
    if value is not None:
        stream.common.heard_variation_deg = value


def _clock(stream: Bus, f: Fields) -> None:
    days = _number(stream, f, "date", 1.0, 65532.0)
    seconds = _number(stream, f, "time", 0.0, _DAY_S)
    if days is None or seconds is None or stream.is_void(stream.talker):
        stream.emit(Quantity.CLOCK, None)
        return
    day = _EPOCH + timedelta(days=int(days))
    stream.clock(stream.mended_date(day.day, day.month, day.year), seconds)


def _fix(stream: Bus, f: Fields) -> None:
    has_fix = "method" in f.labels and not _is(f, "method", _NO_FIX)
    stream.fix(stream.talker, has_fix)
    _position(stream, f)
    _clock(stream, f)


def _claim(stream: Bus, f: Fields) -> None:
    """A NAME from a decoded message: the maker's number of the device, and which of several it is."""
    number = f.numbers.get("uniquenumber")
    if number is not None:
        lower, upper = f.numbers.get("deviceinstancelower") or 0.0, f.numbers.get("deviceinstanceupper") or 0.0
        stream.claim(f"{int(number):06X}.{int(upper):02X}{int(lower):X}")


HANDLERS: dict[int, Callable[[Bus, Fields], None]] = {
    CLAIM: _claim, 128259: _speed, 128267: _depth, 130310: _environment_old, 130311: _environment,
    130312: _of_a_source, 130316: _of_a_source, 129025: _position, 129026: _course_and_speed, 129029: _fix,
    127250: _heading, 127258: _variation, 129033: _clock, 126992: _clock,
}  # fmt: skip
FAST = frozenset({129029})

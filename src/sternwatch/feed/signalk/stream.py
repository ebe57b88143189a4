"""Turns a server's deltas into readings. Never raises on a line.

A server keeps the last value of everything and repeats it on request, however old. So a value counts only when its
stamp moves. A value stamped before the server's greeting counts once the same speaker sends a newer stamp; the same
stamp twice is one value. A server greets whoever comes back too: what it heard meanwhile may be as old as our sleep.
Where the greeting says no time, the first value of every speaker after it does not count. Stamps are compared only
with one another; time comes from ``navigation.datetime``.
"""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

from sternwatch.feed.readings import Line, Quantity, Reading
from sternwatch.feed.sentences.accounts import Account, Cause
from sternwatch.feed.sentences.hearing import Common, Hearing

NOTHING = "nothing that arrives is a Signal K delta"
OLD_S = 3.0  # before the greeting: the shortest time-out of a quantity
_SELF = "vessels.self"
_ZERO_C_K = 273.15
_MOST_SPEAKERS = 1024
_MOST_TALKER = 40


class DeltaStream(Hearing):
    """One server."""

    def __init__(self, common: Common, source: str, is_probe: bool) -> None:
        super().__init__(common, source, is_probe, Account(source, nothing=NOTHING))
        self._self = _SELF
        self._greeted: datetime | None = None  # the server's own time when it greeted us
        self._stamps: dict[tuple[str, str], datetime] = {}  # the last stamp, by (path, talker)
        self._was_greeted = False
        self._heard: set[tuple[str, str]] = set()  # who has spoken since

    def decode(self, line: Line) -> list[Reading]:
        """The readings in a line, in the order of its values."""
        self._begin(line.t_s, line.unix_ms)
        if not line.whole:
            self.account.reject(Cause.CUT_OFF, line.data)
            return self._out
        try:
            given = json.loads(line.data)
        except (ValueError, RecursionError):
            given = None
        if not isinstance(given, dict):
            self.account.reject(Cause.NO_DELTA, line.data)
        elif isinstance(given.get("updates"), list):
            self._delta(given)
        elif "version" in given or "self" in given:
            self._hello(given)
        else:
            self.account.unhandled("answer")
        return self._out

    def _hello(self, given: dict[str, Any]) -> None:
        own = given.get("self")
        if isinstance(own, str) and own:
            self._self = own if own.startswith("vessels.") else f"vessels.{own}"
        self._greeted, self._was_greeted = _moment(given.get("timestamp")), True
        self._heard.clear()
        self.account.unhandled("hello")

    def _delta(self, given: dict[str, Any]) -> None:
        context = given.get("context", _SELF)
        if context not in (_SELF, self._self):
            self.account.unhandled("another vessel")
            return
        for update in given["updates"]:
            if not isinstance(update, dict):
                self.account.reject(Cause.NO_DELTA, str(update).encode())
                continue
            values = update.get("values")
            if not isinstance(values, list):
                self.account.unhandled("meta")
                continue
            talker, stamp = _talker(update), _moment(update.get("timestamp"))
            for value in values:
                if isinstance(value, dict) and isinstance(value.get("path"), str) and "value" in value:
                    self._value(value["path"], value["value"], talker, stamp)
                else:
                    self.account.reject(Cause.NO_DELTA, str(value).encode())

    def _value(self, path: str, value: Any, talker: str, stamp: datetime | None) -> None:
        account = self.account
        handler = HANDLERS.get(path)
        if handler is None:
            account.unhandled(path)
        elif stamp is not None and self._is_old(path, talker, stamp):
            account.reject(Cause.OLD, f"{path} {value} of {stamp.isoformat()}".encode())
        else:
            name = path.rpartition(".")[2]
            account.accepted[name] = account.accepted.get(name, 0) + 1
            self._speaking(talker, name, f"{path} {value}")
            handler(self, value)

    def _is_old(self, path: str, talker: str, stamp: datetime) -> bool:
        """Whether the value was sent before, or dates from before we connected."""
        key = (path, talker)
        if key not in self._stamps and len(self._stamps) >= _MOST_SPEAKERS:
            self._stamps.clear()
            self._heard.clear()
        first = self._was_greeted and key not in self._heard
        self._heard.add(key)
        if self._stamps.get(key) == stamp:
            return True
        self._stamps[key] = stamp
        return first and (self._greeted is None or (self._greeted - stamp).total_seconds() > OLD_S)

    # What the handlers use.

    def number(self, value: Any, low: float, high: float) -> float | None:
        """A value in range; None for null. An impossible value is counted and gives None."""
        if value is None:
            return None
        if isinstance(value, int | float) and not isinstance(value, bool) and math.isfinite(value):
            if low <= value <= high:
                return float(value)
            self.bad_field(f"{value:g} is outside {low:g} to {high:g}")
        else:
            self.bad_field(f"{str(value)[:40]!r} is not a number")
        return None

    def angle(self, value: Any, low: float = 0.0) -> float | None:
        """An angle in radians as degrees."""
        radians = self.number(value, low, 2 * math.pi + 1e-4)
        return None if radians is None else math.degrees(radians)


def _talker(update: dict[str, Any]) -> str:
    """``$source``, else the words of the ``source`` object."""
    given = update.get("$source")
    if isinstance(given, str) and given:
        return given[:_MOST_TALKER]
    source = update.get("source")
    if isinstance(source, dict):
        parts = (source.get("label"), source.get("canName") or source.get("src") or source.get("talker"))
        return ".".join(str(part) for part in parts if part is not None)[:_MOST_TALKER]
    return ""


def _moment(text: Any) -> datetime | None:
    if not isinstance(text, str):
        return None
    try:
        found = datetime.fromisoformat(text)
    except ValueError:
        return None
    return found if found.tzinfo is not None else found.replace(tzinfo=UTC)


# -- one function per path ---------------------------------------------------------------------------------------


def _stw(stream: DeltaStream, value: Any) -> None:
    stream.emit(Quantity.PROBE_SPEED if stream.is_probe else Quantity.STW, stream.number(value, 0.0, 62.0))


def _sog(stream: DeltaStream, value: Any) -> None:
    stream.emit(Quantity.SOG, stream.number(value, 0.0, 62.0))


def _cog(stream: DeltaStream, value: Any) -> None:
    degrees = stream.angle(value)
    stream.emit(Quantity.COG, None if degrees is None else degrees % 360.0)


def _heading_true(stream: DeltaStream, value: Any) -> None:
    degrees = stream.angle(value)
    stream.emit(Quantity.HEADING, None if degrees is None else degrees % 360.0, "true")


def _heading_magnetic(stream: DeltaStream, value: Any) -> None:
    degrees = stream.angle(value)
    stream.heading(None if degrees is None else degrees % 360.0)


def _variation(stream: DeltaStream, value: Any) -> None:
    degrees = stream.angle(value, -math.pi)
    if degrees is not None:
        stream.common.heard_variation_deg = degrees


def _position(stream: DeltaStream, value: Any) -> None:
    place = None
    if isinstance(value, dict):
        lat = stream.number(value.get("latitude"), -90.0, 90.0)
        lon = stream.number(value.get("longitude"), -180.0, 180.0)
        if lat is not None and lon is not None:
            place = (lat, lon)
    elif value is not None:
        stream.bad_field("no position")
    if place == (0.0, 0.0):
        stream.bad_field("a position of exactly 0, 0: the receiver has none")
        place = None
    stream.emit(Quantity.POSITION, place)


def _datetime(stream: DeltaStream, value: Any) -> None:
    moment = _moment(value)
    if moment is None:
        if value is not None:
            stream.bad_field(f"{str(value)[:40]!r} is not a date and time")
        stream.emit(Quantity.CLOCK, None)
        return
    utc = moment.astimezone(UTC)
    seconds = utc.hour * 3600 + utc.minute * 60 + utc.second + utc.microsecond / 1e6
    stream.clock(stream.mended_date(utc.day, utc.month, utc.year), seconds)


def _below(reference: str) -> Callable[[DeltaStream, Any], None]:
    def depth(stream: DeltaStream, value: Any) -> None:
        stream.bottom_below(stream.number(value, 0.0, 11000.0), reference)

    return depth


def _temperature(stream: DeltaStream, value: Any) -> None:
    kelvin = stream.number(value, _ZERO_C_K - 5.0, _ZERO_C_K + 50.0)
    celsius = None if kelvin is None else kelvin - _ZERO_C_K
    stream.emit(Quantity.PROBE_TEMPERATURE if stream.is_probe else Quantity.WATER_TEMPERATURE, celsius)


HANDLERS: dict[str, Callable[[DeltaStream, Any], None]] = {
    "navigation.speedThroughWater": _stw,
    "navigation.speedOverGround": _sog,
    "navigation.courseOverGroundTrue": _cog,
    "navigation.headingTrue": _heading_true,
    "navigation.headingMagnetic": _heading_magnetic,
    "navigation.magneticVariation": _variation,
    "navigation.position": _position,
    "navigation.datetime": _datetime,
    "environment.depth.belowSurface": _below("surface"),
    "environment.depth.belowTransducer": _below("transducer"),
    "environment.depth.belowKeel": _below("keel"),
    "environment.water.temperature": _temperature,
}

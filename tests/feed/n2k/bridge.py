"""A gateway's log carried over to sentences and to deltas, by a decoder and two encoders of our own.

Nothing of the code under test is used: lines are taken apart by one pattern each, fast packets put together and
fields read by offsets from the layouts that canboat publishes. Like the source it stands beside, the bridge passes
on what a speaker says of a quantity only from the second time on that it says so.
"""

from __future__ import annotations

import json
import math
import re
import struct
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import reduce
from operator import xor
from typing import Any

KNOT_M_S = 1852.0 / 3600.0
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_NO_DATA = {1: 0xFD, 2: 0xFFFD, 3: 0xFFFFFD, 4: 0xFFFFFFFD}  # from here on: not available, error, reserved
# Messages that give the same, best first: each has an output of its own, and the best one's is preferred.
BEST = {"temperature": (130316, 130312, 130311, 130310), "clock": (126992, 129033, 129029)}

_ID = re.compile(r"\b(?:0x)?([01][0-9A-Fa-f]{7})(?:>? +\[\d\]|#| )(?P<data>(?: ?[0-9A-Fa-f]{2})*)\b")
_FIELDS = re.compile(r"^\d{4}-[^,]*,\d,(\d+),(\d+),\d+,\d+,([0-9A-Fa-f,]+)$")
_SPACED = re.compile(r"^\S+ \d +(\d+) +\d+ +(\d+) : ([0-9a-f ]+)$")


def message(text: str) -> tuple[int, int, bytes] | None:
    """(PGN, address, data) of a line; None if it is no frame. Base64 gateways are not bridged."""
    text = text.strip()
    found = _FIELDS.match(text)
    if found:
        return int(found[1]), int(found[2]), bytes.fromhex(found[3].replace(",", ""))
    found = _SPACED.match(text)
    if found:
        return int(found[2]), int(found[1]), bytes.fromhex(found[3])
    found = _ID.search(text)
    if not found or text[0] == "#":
        return None
    number = int(found[1], 16)
    pgn = number >> 8 & 0x3FFFF
    return pgn if pgn >> 8 & 0xFF >= 240 else pgn & 0x3FF00, number & 0xFF, bytes.fromhex(found["data"])


@dataclass
class Said:
    """What one message says, in SI and degrees; None is "not available"."""

    quantity: str
    value: Any
    pgn: int


@dataclass
class Heard:
    """What the bridge remembers of the bus."""

    names: dict[int, str] = field(default_factory=dict)
    parts: dict[tuple[int, int], tuple[int, int, bytes]] = field(default_factory=dict)
    void: set[str] = field(default_factory=set)
    variation: float | None = None

    def whole(self, pgn: int, address: int, data: bytes) -> bytes | None:
        """A message of several frames, once its last one is here."""
        sequence, index = data[0] & 0xE0, data[0] & 0x1F
        if index == 0:
            self.parts[pgn, address] = (sequence, data[1], data[2:])
        else:
            begun = self.parts.get((pgn, address))
            if begun is None or begun[0] != sequence or len(begun[2]) != 6 + 7 * (index - 1):
                self.parts.pop((pgn, address), None)
                return None
            self.parts[pgn, address] = (*begun[:2], begun[2] + data[1:])
        _, size, so_far = self.parts[pgn, address]
        return so_far[:size] if len(so_far) >= size else None


def _unsigned(data: bytes, at: int, size: int, unit: float) -> float | None:
    raw = int.from_bytes(data[at : at + size], "little")
    return None if raw >= _NO_DATA[size] else raw * unit


def _signed(data: bytes, at: int, size: int, unit: float) -> float | None:
    raw = int.from_bytes(data[at : at + size], "little", signed=True)
    return None if raw >= (1 << 8 * size - 1) - 3 else raw * unit


def _celsius(kelvin: float | None) -> float | None:
    return None if kelvin is None else kelvin - 273.15


def _moment(data: bytes, at: int) -> datetime | None:
    days, seconds = _unsigned(data, at, 2, 1), _unsigned(data, at + 2, 4, 1e-4)
    return None if not days or seconds is None else _EPOCH + timedelta(days=days, seconds=seconds)


def meanings(heard: Heard, pgn: int, address: int, data: bytes) -> tuple[str, list[Said]]:
    """Who speaks, and what the message says."""
    who = heard.names.get(address, f"@{address}")
    if len(data) < 8 and pgn != 127258:
        return who, []
    degrees = math.degrees(1e-4)
    said: list[tuple[str, Any]] = []
    match pgn:
        case 60928:
            name = f"{int.from_bytes(data[:8], 'little'):016X}"
            heard.names = {at: known for at, known in heard.names.items() if known != name}
            if address < 252:
                heard.names[address] = name
        case 128259:
            said.append(("stw", _unsigned(data, 1, 2, 0.01)))
        case 128267:
            said.append(("bottom", (_unsigned(data, 1, 4, 0.01) or None, _signed(data, 5, 2, 1e-3))))
        case 130310:
            said.append(("temperature", _celsius(_unsigned(data, 1, 2, 0.01))))
        case 130311 if data[1] & 0x3F == 0:
            said.append(("temperature", _celsius(_unsigned(data, 2, 2, 0.01))))
        case 130312 if data[2] == 0:
            said.append(("temperature", _celsius(_unsigned(data, 3, 2, 0.01))))
        case 130316 if data[2] == 0:
            said.append(("temperature", _celsius(_unsigned(data, 3, 3, 1e-3))))
        case 129025:
            said.append(("position", _pair(_signed(data, 0, 4, 1e-7), _signed(data, 4, 4, 1e-7))))
        case 129026:
            course = _unsigned(data, 2, 2, degrees)
            if data[1] & 3 == 1 and course is not None and heard.variation is not None:  # magnetic
                course = (course + heard.variation) % 360.0
            elif data[1] & 3:
                course = None
            said.append(("motion", (_unsigned(data, 4, 2, 0.01), course)))
        case 129029:
            (heard.void.discard if data[31] >> 4 in range(1, 9) else heard.void.add)(who)
            lat, lon = struct.unpack_from("<qq", data, 7)
            most = (1 << 63) - 1
            said.append(
                ("position", _pair(None if lat == most else lat * 1e-16, None if lon == most else lon * 1e-16))
            )
            said.append(("clock", _moment(data, 1)))
        case 127250:
            reference = ("true", "magnetic", None, None)[data[7] & 3]
            if reference is not None:
                given = (_unsigned(data, 1, 2, degrees), _signed(data, 3, 2, degrees), _signed(data, 5, 2, degrees))
                said.append(("heading", (reference, *given)))
        case 127258:
            variation = _signed(data, 4, 2, degrees)
            heard.variation = variation if variation is not None else heard.variation
        case 126992:
            said.append(("clock", _moment(data, 2)))
        case 129033:
            said.append(("clock", _moment(data, 0)))
    if pgn in (130312, 130316) and data[1] and data[1] < 253:  # one of several thermometers of a device
        who = f"{who}/{data[1]}"
    if who in heard.void:
        said = [(what, _nothing(what) if what in ("position", "motion", "clock") else value) for what, value in said]
    return who, [Said(what, value, pgn) for what, value in said]


def _pair(lat: float | None, lon: float | None) -> tuple[float, float] | None:
    return None if lat is None or lon is None else (lat, lon)


def _nothing(what: str) -> Any:
    return (None, None) if what == "motion" else None


@dataclass(frozen=True)
class Bridged:
    """One thing to say, by whom, at a feed time."""

    t_s: float
    unix_ms: int | None
    who: str
    said: Said
    variation: float | None


def bridged(lines: list[Any]) -> list[Bridged]:
    """All that a log says. ``lines`` carry t_s, unix_ms and data."""
    heard, found = Heard(), []
    for line in lines:
        taken = message(line.data.decode("ascii", "replace"))
        if taken is None:
            continue
        pgn, address, data = taken
        if pgn == 129029 and len(data) <= 8:
            joined = heard.whole(pgn, address, data)
            if joined is None:
                continue
            data = joined
        who, said = meanings(heard, pgn, address, data)
        found += [Bridged(line.t_s, line.unix_ms, who, one, heard.variation) for one in said]
    quick = {one.who for one in found if one.said.pgn == 129025}  # who says it thus need not say it twice
    twice = [one.said.pgn == 129029 and one.said.quantity == "position" and one.who in quick for one in found]
    confirmed = _Confirmed()
    kept = [confirmed.of(one) for one, again in zip(found, twice, strict=True) if not again]
    return [one for one in kept if one is not None]


_SAME_COURSE_DEG = 30.0


class _Confirmed:
    """What was said before by the same speaker in the same message; a course counts from the second one like it."""

    def __init__(self) -> None:
        self._once: dict[tuple[str, str, int, int], float] = {}
        self._sure: set[tuple[str, str, int, int]] = set()

    def of(self, one: Bridged) -> Bridged | None:
        """The message with what is confirmed in it; None if that is nothing."""
        value = one.said.value
        if one.said.quantity != "motion":
            given = value[0] if isinstance(value, tuple) and one.said.quantity == "bottom" else value
            return one if given is None or self._has(one, 0, 0.0) else None
        speed, course = value
        speed_counts = speed is None or self._has(one, 0, 0.0)
        course_counts = course is None or self._has(one, 1, course)
        return one if speed_counts and course_counts else None

    def _has(self, one: Bridged, part: int, value: float) -> bool:
        key = (one.who, one.said.quantity, one.said.pgn, part)
        if key in self._sure:
            return True
        before = self._once.get(key)
        self._once[key] = value
        if before is not None and abs((value - before + 180.0) % 360.0 - 180.0) <= _SAME_COURSE_DEG:
            self._sure.add(key)
        return key in self._sure


def port(one: Bridged) -> tuple[str, int]:
    """(name, priority) of the bridge's output that says it: better messages come out of a preferred one."""
    rank = BEST[one.said.quantity].index(one.said.pgn) if one.said.quantity in ("temperature", "clock") else 0
    return f"{one.said.quantity}{rank}" if rank else "main", rank


def sentence(one: Bridged, talker: str) -> bytes:
    """As NMEA 0183 (IEC 61162-1) says it, with more digits than instruments give."""
    match one.said.quantity, one.said.value:
        case "stw", m_s:
            body = f"VHW,,T,,M,{_text(m_s, 1 / KNOT_M_S, 6)},N,,K"
        case "bottom", (depth, offset):
            body = f"DPT,{_text(depth)},{_text(offset)}"
        case "temperature", celsius:
            body = f"MTW,{_text(celsius)},C"
        case "position", None:
            body = "GLL,,,,,,V,N"
        case "position", (lat, lon):
            body = f"GLL,{_angle(lat, 2)},{'NS'[lat < 0]},{_angle(lon, 3)},{'EW'[lon < 0]},,A,A"
        case "motion", (speed, course):
            mode = "A" if speed is not None or course is not None else "N"
            body = f"VTG,{_text(course)},T,,M,{_text(speed, 1 / KNOT_M_S, 6)},N,,K,{mode}"
        case "clock", None:
            body = "ZDA,,,,,,"
        case "clock", at:
            body = f"ZDA,{at:%H%M%S.%f},{at:%d,%m,%Y},00,00"
        case "heading", ("true", heading, _, _):
            body = f"HDT,{_text(heading)},T"
        case "heading", (_, heading, deviation, own):
            variation = own if own is not None else one.variation
            body = f"HDG,{_text(heading)},{_lettered(deviation)},{_lettered(variation)}"
        case what:
            raise AssertionError(what)
    body = talker + body
    return f"${body}*{reduce(xor, body.encode(), 0):02X}".encode()


def _text(value: float | None, factor: float = 1.0, digits: int = 5) -> str:
    return "" if value is None else f"{value * factor:.{digits}f}"


def _lettered(value: float | None) -> str:
    return "," if value is None else f"{abs(value):.5f},{'EW'[value < 0]}"


def _angle(value: float, width: int) -> str:
    whole, minutes = divmod(round(abs(value) * 60.0, 7), 60.0)
    return f"{int(whole):0{width}d}{minutes:010.7f}"


def delta(one: Bridged, source: str, stamp: str) -> bytes:
    """As a Signal K server says it (specification 1.7)."""
    given = one.said.value
    values: list[tuple[str, Any]]
    match one.said.quantity:
        case "stw":
            values = [("navigation.speedThroughWater", given)]
        case "bottom":
            depth, offset = given
            values = [("environment.depth.belowTransducer", depth)]
            if depth is not None and offset is not None and offset > 0:
                values = [("environment.depth.belowSurface", depth + offset)]
        case "temperature":
            values = [("environment.water.temperature", None if given is None else given + 273.15)]
        case "position":
            place = None if given is None else {"latitude": given[0], "longitude": given[1]}
            values = [("navigation.position", place)]
        case "motion":
            values = [
                ("navigation.speedOverGround", given[0]),
                ("navigation.courseOverGroundTrue", None if given[1] is None else math.radians(given[1])),
            ]
        case "clock":
            values = [("navigation.datetime", None if given is None else given.isoformat())]
        case "heading":
            reference, heading, deviation, own = given
            if heading is not None and reference == "magnetic":
                heading = (heading + (deviation or 0.0)) % 360.0
            variation = own if own is not None else one.variation
            values = []
            if variation is not None and reference == "magnetic":
                values.append(("navigation.magneticVariation", math.radians(variation)))
            path = "navigation.headingTrue" if reference == "true" else "navigation.headingMagnetic"
            values.append((path, None if heading is None else math.radians(heading)))
        case what:
            raise AssertionError(what)
    said = [{"path": path, "value": value} for path, value in values]
    return json.dumps({"updates": [{"$source": source, "timestamp": stamp, "values": said}]}).encode()

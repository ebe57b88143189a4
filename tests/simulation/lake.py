"""A boat on a made lake, and the instruments aboard: what they say once a second, spoiled as the day's faults say.

They speak sentences, frames of a bus or a server's deltas, over one wire or two that stand beside each other.
"""

from __future__ import annotations

import json
import math
import struct
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import UTC, datetime
from functools import reduce
from operator import xor
from typing import Any

from simulation.clockwork import Clockwork
from sternwatch.feed.readings import Quantity, Speech, Tongue
from sternwatch.feed.sources.base import LiveSource

KNOT = 1852.0 / 3600.0
RUNS_M_S, SLOW_M_S, QUICKENS_M_S2 = 8.0, 2.0, 0.7
POLL_S = 0.25  # as a source in the network waits


def signed(body: str) -> bytes:
    """A sentence with its checksum and line end."""
    return f"${body}*{reduce(xor, body.encode()):02X}\r\n".encode()


@dataclass
class Boat:
    """Steers straight and turns at random, over a bottom that slopes and has humps."""

    north_m: float = 0.0
    east_m: float = 0.0
    heading_deg: float = 40.0
    speed_m_s: float = 1.05
    rate_deg_s: float = 0.0
    left_s: float = 0.0
    runs: bool = False  # straight and fast, out to the grounds or home

    def step(self, clockwork: Clockwork) -> None:
        rng = clockwork.rng
        if self.runs:
            self.rate_deg_s, self.speed_m_s, self.left_s = 0.0, min(self.speed_m_s + QUICKENS_M_S2, RUNS_M_S), 2.0
        elif self.speed_m_s > SLOW_M_S:
            self.speed_m_s, self.left_s = max(self.speed_m_s - QUICKENS_M_S2, 1.05), 2.0
        self.left_s -= 1.0
        if self.left_s <= 0.0:
            turns = self.rate_deg_s == 0.0
            self.rate_deg_s = rng.choice((-3.0, -1.5, 1.5, 3.0)) if turns else 0.0
            self.left_s = rng.uniform(20.0, 60.0)
            self.speed_m_s = rng.choice((0.9, 1.05, 1.2, 0.0)) if rng.random() < 0.2 else 1.05
        self.heading_deg = (self.heading_deg + self.rate_deg_s) % 360.0
        self.north_m += self.speed_m_s * math.cos(math.radians(self.heading_deg))
        self.east_m += self.speed_m_s * math.sin(math.radians(self.heading_deg))

    @property
    def bottom_m(self) -> float:
        return 45.0 + 8.0 * math.sin(self.north_m / 90.0) + 5.0 * math.cos(self.east_m / 60.0)


Said = list[tuple[tuple[Quantity, ...], bytes]]  # what a line says, and the line without its end


@dataclass
class Wire:
    """What lies between the instruments and the laptop."""

    tongue: Tongue = Tongue.SENTENCES
    plugged: bool = True
    port: int = 0  # another number after it was plugged in again
    waiting: deque[bytes] = field(default_factory=deque)
    late: deque[bytes] = field(default_factory=deque)
    kept: dict[tuple[Quantity, ...], bytes] = field(default_factory=dict)  # a server repeats it to whoever comes
    spoiled: int = 0

    def opened(self) -> None:
        """Whoever opens it gets what comes from now on; of a server its greeting first, and its last values."""
        self.waiting.clear()
        if self.tongue is Tongue.SIGNALK:
            hello = json.dumps({"name": "made", "version": "1.7.0", "self": "vessels.self"}).encode()
            self.waiting.append(b"".join(line + b"\n" for line in (hello, *self.kept.values())))


class Instruments:
    """Says what the boat does, once a second, whether anybody listens or not."""

    def __init__(self, clockwork: Clockwork, wires: list[Wire]) -> None:
        self.clockwork, self.wires, self.boat = clockwork, wires, Boat()
        self.faults: dict[str, float] = {}  # kind to boot time until which it lasts
        self.said: dict[Quantity, float] = {}  # when anything of it was last sent, boot time
        self.quiet_until_s = 0.0  # boot time
        self.off = 0  # which instrument is off, if one is

    def run(self) -> None:
        clock = self.clockwork
        while True:
            clock.wait(None, 1.0)
            self.boat.step(clock)
            for wire in self.wires if clock.boot_s >= self.quiet_until_s else ():
                self.send(wire, clock.boot_s)

    def send(self, wire: Wire, boot_s: float) -> None:
        """What her instruments have to say at this moment."""
        rng = self.clockwork.rng
        out = b"".join(wire.late)
        wire.late.clear()
        said = SPOKEN[wire.tongue](self.boat, self.clockwork.wall_s)
        if self.faults.get("instrument off", 0.0) > boot_s:
            del said[self.off % len(said)]
        for quantities, body in said:
            for quantity in quantities:
                self.said[quantity] = boot_s
            line = wire.kept[quantities] = body
            line += b"\r\n"
            kind = next((k for k, until in self.faults.items() if until > boot_s and rng.random() < 0.3), "")
            if kind:
                wire.spoiled += 1
            match kind:
                case "cut":
                    line = line[: rng.randrange(len(line))]
                case "doubled":
                    line += line
                case "delayed":
                    wire.late.append(line)
                    continue
                case "two talkers":
                    line += _of_another(wire.tongue, body) + b"\r\n"
                case "wrong unit" if wire.tongue is Tongue.SENTENCES:
                    text = body[1:-3].decode()
                    line = signed(text.replace(",N,", ",K,").replace(",C", ",F").replace(",M,", ",f,"))
                case "noise":
                    line = bytes(rng.randrange(256) for _ in range(rng.randrange(60))) + line
            out += line
        if self.faults.get("flood", 0.0) > boot_s:
            out += IDLE[wire.tongue] * FLOOD
        if wire.plugged:
            wire.waiting.append(out)


def _place(boat: Boat) -> tuple[float, float]:
    return 47.0 + boat.north_m / 111_000.0, -89.5 + boat.east_m / 76_000.0


def _sentences(boat: Boat, wall_s: float) -> Said:
    """NMEA 0183."""
    knots, (latitude, longitude), wall = boat.speed_m_s / KNOT, _place(boat), int(wall_s)
    longitude = -longitude
    clock = f"{wall // 3600 % 24:02}{wall // 60 % 60:02}{wall % 60:02}"
    place = f"{int(latitude):02}{latitude % 1 * 60:07.4f},N,{int(longitude):03}{longitude % 1 * 60:07.4f},W"
    rmc = f"GPRMC,{clock},A,{place},{knots:.2f},{boat.heading_deg:.1f},180726,,,A"
    return [
        ((Quantity.SOG, Quantity.COG, Quantity.POSITION, Quantity.CLOCK), signed(rmc)[:-2]),
        ((Quantity.STW, Quantity.HEADING), signed(f"IIVHW,{boat.heading_deg:.1f},T,,M,{knots:.2f},N,,K")[:-2]),
        ((Quantity.BOTTOM,), signed(f"SDDPT,{boat.bottom_m:.1f},0.3,")[:-2]),
        ((Quantity.WATER_TEMPERATURE,), signed("IIMTW,12.4,C")[:-2]),
    ]


def _frames(boat: Boat, wall_s: float) -> Said:
    """NMEA 2000, as a gateway prints it."""
    degrees, (latitude, longitude) = 1e-4, _place(boat)
    heading, speed = round(math.radians(boat.heading_deg) / degrees), round(boat.speed_m_s * 100.0)
    days, seconds = divmod(wall_s, 86400.0)
    given = [
        (Quantity.POSITION, 129025, struct.pack("<ii", round(latitude * 1e7), round(longitude * 1e7))),
        (Quantity.SOG, 129026, struct.pack("<BBHHH", 0, 0xFC, heading, speed, 0xFFFF)),
        (Quantity.HEADING, 127250, struct.pack("<BHhhB", 0, heading, 0x7FFF, 0x7FFF, 0xFC)),
        (Quantity.STW, 128259, struct.pack("<BHHBH", 0, speed, 0xFFFF, 0, 0xFFFF)),
        (Quantity.BOTTOM, 128267, struct.pack("<BIhB", 0, round(boat.bottom_m * 100.0), 300, 0xFF)),
        (Quantity.WATER_TEMPERATURE, 130312, struct.pack("<BBBHHB", 0, 0, 0, 28555, 0xFFFF, 0xFF)),
        (Quantity.CLOCK, 126992, struct.pack("<BBHI", 0, 0xF0, int(days), int(seconds * 1e4))),
    ]
    return [
        ((what, Quantity.COG) if what is Quantity.SOG else (what,), _frame(pgn, 35, data))
        for what, pgn, data in given
    ]


def _frame(pgn: int, address: int, data: bytes) -> bytes:
    return f"{2 << 26 | pgn << 8 | address:08X} {data.hex(' ').upper()}".encode()


def _deltas(boat: Boat, wall_s: float) -> Said:
    """Signal K, stamped by the server's clock, which is the laptop's."""
    (latitude, longitude), heading = _place(boat), math.radians(boat.heading_deg)
    moment = datetime.fromtimestamp(wall_s, UTC)
    given: list[tuple[tuple[Quantity, ...], list[tuple[str, Any]]]] = [
        ((Quantity.POSITION,), [("navigation.position", {"latitude": latitude, "longitude": longitude})]),
        ((Quantity.SOG, Quantity.COG), [
            ("navigation.speedOverGround", boat.speed_m_s), ("navigation.courseOverGroundTrue", heading)]),
        ((Quantity.HEADING, Quantity.STW), [
            ("navigation.headingTrue", heading), ("navigation.speedThroughWater", boat.speed_m_s)]),
        ((Quantity.BOTTOM,), [("environment.depth.belowSurface", boat.bottom_m)]),
        ((Quantity.WATER_TEMPERATURE,), [("environment.water.temperature", 285.55)]),
        ((Quantity.CLOCK,), [("navigation.datetime", moment.isoformat())]),
    ]  # fmt: skip
    return [(what, _delta("made.1", moment, said)) for what, said in given]


def _delta(source: str, moment: datetime, said: list[tuple[str, Any]]) -> bytes:
    values = [{"path": path, "value": value} for path, value in said]
    stamp = moment.isoformat(timespec="milliseconds").replace("+00:00", "Z")
    return json.dumps({"updates": [{"$source": source, "timestamp": stamp, "values": values}]}).encode()


SPOKEN: dict[Tongue, Callable[[Boat, float], Said]] = {
    Tongue.SENTENCES: _sentences, Tongue.N2K: _frames, Tongue.SIGNALK: _deltas,
}  # fmt: skip


# What nobody asked for, in a flood each second.
FLOOD = 1000
IDLE = {
    Tongue.SENTENCES: signed("GPGSV,1,1,02,07,40,083,46,12,17,308,41"),
    Tongue.N2K: _frame(127505, 36, bytes(8)) + b"\r\n",
    Tongue.SIGNALK: b'{"updates":[{"$source":"made.3","values":[{"path":"tanks.fuel.level","value":0.5}]}]}\r\n',
}


def _of_another(tongue: Tongue, body: bytes) -> bytes:
    """The same, said by another instrument."""
    match tongue:
        case Tongue.N2K:
            return body[:6] + b"24" + body[8:]
        case Tongue.SIGNALK:
            return body.replace(b"made.1", b"made.2")
    return signed("XX" + body[3:-3].decode())[:-2]


class SimulatedSource(LiveSource):
    """The loop of every live source, over the made wire."""

    def __init__(self, clockwork: Clockwork, wire: Wire, name: str, priority: int) -> None:
        super().__init__(name, priority, speech=Speech(wire.tongue))
        self._clockwork, self._wire = clockwork, wire

    def _where(self) -> str:
        return "the made wire"

    def _open(self) -> Reading:
        if not self._wire.plugged:
            raise OSError("not there")
        return Reading(self._clockwork, self._wire)


class Reading:
    """An open wire: gone for good once it was unplugged, though another may stand in its place."""

    baud = None

    def __init__(self, clockwork: Clockwork, wire: Wire) -> None:
        self._clockwork, self._wire, self._port = clockwork, wire, wire.port
        wire.opened()

    @property
    def address(self) -> str:
        return f"made wire {self._port}"

    def read(self) -> bytes:
        wire = self._wire
        self._clockwork.wait(lambda: bool(wire.waiting) or wire.port != self._port or not wire.plugged, POLL_S)
        if not wire.plugged or wire.port != self._port:
            raise OSError("gone")
        return wire.waiting.popleft() if wire.waiting else b""

    def close(self) -> None:
        pass

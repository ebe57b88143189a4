"""A boat on a made lake, and the instruments aboard: sentences once a second, spoiled as the day's faults say."""

from __future__ import annotations

import math
from collections import deque
from dataclasses import dataclass, field
from functools import reduce
from operator import xor

from simulation.clockwork import Clockwork
from sternwatch.feed.readings import Quantity
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


@dataclass
class Wire:
    """What lies between the instruments and the laptop."""

    plugged: bool = True
    port: int = 0  # another number after it was plugged in again
    waiting: deque[bytes] = field(default_factory=deque)
    faults: dict[str, float] = field(default_factory=dict)  # kind to boot time until which it lasts
    said: dict[Quantity, float] = field(default_factory=dict)  # when anything of it was last sent, boot time
    spoiled: int = 0


class Instruments:
    """Says what the boat does, once a second, whether anybody listens or not."""

    def __init__(self, clockwork: Clockwork, wire: Wire) -> None:
        self.clockwork, self.wire, self.boat = clockwork, wire, Boat()
        self.late: deque[tuple[float, bytes]] = deque()

    def run(self) -> None:
        clock = self.clockwork
        while True:
            clock.wait(None, 1.0)
            self.boat.step(clock)
            self._send(clock.boot_s)

    def _send(self, boot_s: float) -> None:
        wire, rng = self.wire, self.clockwork.rng
        out = b"".join(line for _, line in self.late)
        self.late.clear()
        for quantities, body in self._bodies():
            for quantity in quantities:
                wire.said[quantity] = boot_s
            line = signed(body)
            kind = next((k for k, until in wire.faults.items() if until > boot_s and rng.random() < 0.3), "")
            if kind:
                wire.spoiled += 1
            match kind:
                case "cut":
                    line = line[: rng.randrange(len(line))]
                case "doubled":
                    line += line
                case "delayed":
                    self.late.append((boot_s, line))
                    continue
                case "two talkers":
                    line += signed("XX" + body[2:])
                case "wrong unit":
                    line = signed(body.replace(",N,", ",K,").replace(",C", ",F").replace(",M,", ",f,"))
                case "noise":
                    line = bytes(rng.randrange(256) for _ in range(rng.randrange(60))) + line
            out += line
        if wire.plugged:
            wire.waiting.append(out)

    def _bodies(self) -> list[tuple[tuple[Quantity, ...], str]]:
        boat, knots = self.boat, self.boat.speed_m_s / KNOT
        latitude, longitude = 47.0 + boat.north_m / 111_000.0, 89.5 - boat.east_m / 76_000.0
        wall = int(self.clockwork.wall_s)
        clock = f"{wall // 3600 % 24:02}{wall // 60 % 60:02}{wall % 60:02}"
        place = f"{int(latitude):02}{latitude % 1 * 60:07.4f},N,{int(longitude):03}{longitude % 1 * 60:07.4f},W"
        rmc = f"GPRMC,{clock},A,{place},{knots:.2f},{boat.heading_deg:.1f},180726,,,A"
        return [
            ((Quantity.SOG, Quantity.COG, Quantity.POSITION, Quantity.CLOCK), rmc),
            ((Quantity.STW, Quantity.HEADING), f"IIVHW,{boat.heading_deg:.1f},T,,M,{knots:.2f},N,,K"),
            ((Quantity.BOTTOM,), f"SDDPT,{boat.bottom_m:.1f},0.3,"),
            ((Quantity.WATER_TEMPERATURE,), "IIMTW,12.4,C"),
        ]


class SimulatedSource(LiveSource):
    """The loop of every live source, over the made wire."""

    def __init__(self, clockwork: Clockwork, wire: Wire) -> None:
        super().__init__("boat")
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
        wire.waiting.clear()

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

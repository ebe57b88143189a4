"""The boat's instruments: what they sense, with which delay, rate and error, and what they write.

Rates, noise and delays are those of small-boat instruments, from memory. No delay is shorter than ``LEAST_DELAY_S``:
every line is due some time after the moment that it describes.
"""

from __future__ import annotations

import heapq
import math
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from sternwatch.feed.readings import Line
from sternwatch.logbook.actions.practice_acts import Sensor
from sternwatch.practice.drills.faults import DAMAGED, SensorFault
from sternwatch.practice.world import nmea
from sternwatch.practice.world.boat import Pose
from sternwatch.watch.bottom.soundings import EARTH_RADIUS_M

LEAST_DELAY_S = 0.25
SOURCE = "practice"

# An invented place on Lake Superior, off a harbour that does not exist. Variation about as charted there (memory).
ORIGIN_DEG = (47.6, -89.2)
VARIATION_W_DEG = 3.5

SENTENCE_SENSOR: dict[str, Sensor] = {
    "RMC": "gps", "VTG": "gps", "GGA": "gps", "HDG": "compass", "VHW": "log", "MTW": "thermometer", "DPT": "sounder",
}  # fmt: skip
# (every, delay) in milliseconds.
RHYTHM: dict[str, tuple[int, int]] = {
    "RMC": (1000, 300), "VTG": (1000, 340), "GGA": (1000, 380), "HDG": (200, 260), "VHW": (1000, 420),
    "MTW": (2000, 560), "DPT": (1000, 480),
}  # fmt: skip
JITTER_MS = 12


@dataclass(frozen=True, slots=True)
class Truth:
    """The true values to measure at one instant."""

    pose: Pose
    north_m: float  # over ground, of the antenna
    east_m: float
    ground_m_s: tuple[float, float]  # velocity over ground
    surface_c: float
    bottom_m: float


@dataclass(slots=True)
class _Lag:
    """A first-order lag."""

    seconds: float
    value: float | None = None

    def step(self, value: float, dt_s: float) -> float:
        before = value if self.value is None else self.value
        self.value = before + (value - before) * (1.0 - math.exp(-dt_s / self.seconds))
        return self.value


class Instruments:
    """Instruments that sense at every tick. Lines come out in order, when they are due."""

    def __init__(
        self, seed: int, begin_unix_s: float, transducer_m: float, log_factor: float, faults: Iterable[SensorFault]
    ) -> None:
        self._begin_unix_s = begin_unix_s
        self._transducer_m = transducer_m
        self._log_factor = log_factor  # the paddle wheel's reading divided by the truth
        self._faults = list(faults)
        self._due: list[tuple[int, int, bytes]] = []
        self._serial = 0
        self._frozen: dict[str, bytes] = {}
        self._rng = {name: random.Random(f"{seed} {name}") for name in (*RHYTHM, "fix", "jitter", "damage")}
        character = random.Random(f"{seed} instruments")
        self._deviation = (character.uniform(0.5, 2.0), character.uniform(0.0, 360.0))  # deg, phase
        self._warm_c = character.uniform(-0.2, 0.2)
        self._wander = [0.0, 0.0]
        self._velocity = (_Lag(1.0), _Lag(1.0))
        self._log, self._warmth, self._compass = _Lag(1.5), _Lag(15.0), (_Lag(0.3), _Lag(0.3))
        self._last_ms: int | None = None

    def sense(self, t_ms: int, truth: Truth) -> None:
        """Sense the truth at ``t_ms`` and write the lines that it makes due."""
        dt = 0.1 if self._last_ms is None else (t_ms - self._last_ms) / 1000.0
        self._last_ms = t_ms
        north = self._velocity[0].step(truth.ground_m_s[0], dt)
        east = self._velocity[1].step(truth.ground_m_s[1], dt)
        stw = self._log.step(truth.pose.along_m_s * self._log_factor, dt)
        warm = self._warmth.step(truth.surface_c, dt)
        a = math.radians(truth.pose.heading_deg)
        heading = math.degrees(
            math.atan2(self._compass[1].step(math.sin(a), dt), self._compass[0].step(math.cos(a), dt))
        )
        for name, (every, delay) in RHYTHM.items():
            if t_ms % every == 0:
                body = self._write(name, t_ms, truth, (north, east), stw, warm, heading)
                self._put(name, t_ms, delay, body)

    def lines(self, until_ms: int) -> Iterator[Line]:
        """The lines due up to a moment, each stamped with its own."""
        while self._due and self._due[0][0] <= until_ms:
            at, _, data = heapq.heappop(self._due)
            yield Line(at / 1000.0, round(self._begin_unix_s * 1000.0) + at, SOURCE, data)

    # -- what each one writes ---------------------------------------------------------------------------------

    def _write(
        self, name: str, t_ms: int, truth: Truth, ground: tuple[float, float], stw: float, warm: float, heading: float
    ) -> bytes:
        rng = self._rng[name]
        unix = self._begin_unix_s + t_ms / 1000.0
        match name:
            case "RMC" | "VTG" | "GGA":
                return self._fix(name, unix, t_ms, truth, ground, rng)
            case "HDG":
                return nmea.hdg(self._compass_deg(heading, rng), VARIATION_W_DEG)
            case "VHW":
                said = max(stw + rng.gauss(0.0, 0.02), 0.0)
                return nmea.vhw(self._compass_deg(heading, rng), said)
            case "MTW":
                return nmea.mtw(warm + self._warm_c + rng.gauss(0.0, 0.04))
            case _:
                depth = max(truth.bottom_m - self._transducer_m, 0.3) + rng.gauss(0.0, 0.08)
                lost = rng.random() < 0.004 or self._ails("lost bottom", "sounder", t_ms)
                return nmea.dpt(None if lost else max(depth, 0.2), self._transducer_m)

    def _compass_deg(self, heading: float, rng: random.Random) -> float:
        most, phase = self._deviation
        off = most * math.sin(math.radians(heading + phase))
        return heading + off + VARIATION_W_DEG + rng.gauss(0.0, 0.5)

    def _fix(
        self, name: str, unix: float, t_ms: int, truth: Truth, ground: tuple[float, float], rng: random.Random
    ) -> bytes:
        if name == "RMC":  # once a second: the receiver's error wanders (Gauss-Markov, a minute)
            keep = math.exp(-1.0 / 60.0)
            fresh = 1.5 * math.sqrt(1.0 - keep**2)
            self._wander = [keep * w + fresh * self._rng["fix"].gauss(0.0, 1.0) for w in self._wander]
        if self._ails("no fix", "gps", t_ms):
            return {
                "RMC": lambda: nmea.rmc(unix, None, 0.0, 0.0, VARIATION_W_DEG),
                "VTG": lambda: nmea.vtg(None, 0.0, VARIATION_W_DEG),
                "GGA": lambda: nmea.gga(unix, None, 0),
            }[name]()
        north, east = truth.north_m + self._wander[0], truth.east_m + self._wander[1]
        latitude = ORIGIN_DEG[0] + math.degrees(north / EARTH_RADIUS_M)
        longitude = ORIGIN_DEG[1] + math.degrees(east / (EARTH_RADIUS_M * math.cos(math.radians(ORIGIN_DEG[0]))))
        where = nmea.place(latitude, longitude)
        if name == "GGA":
            return nmea.gga(unix, where, 9 + rng.randrange(4))
        v_north, v_east = ground[0] + rng.gauss(0.0, 0.03), ground[1] + rng.gauss(0.0, 0.03)
        sog, cog = math.hypot(v_north, v_east), math.degrees(math.atan2(v_east, v_north))
        if name == "RMC":
            return nmea.rmc(unix, where, sog, cog, VARIATION_W_DEG)
        return nmea.vtg(sog, cog, VARIATION_W_DEG)

    # -- faults ------------------------------------------------------------------------------------------------

    def fail(self, fault: SensorFault | None, t_s: float) -> None:
        """Add a fault; None mends all faults that have begun."""
        if fault is not None:
            self._faults.append(fault)
        else:
            self._faults = [later for later in self._faults if later.from_s > t_s]

    def _ails(self, kind: str, sensor: Sensor, t_ms: int) -> bool:
        return any(fault.kind == kind and fault.hits(sensor, t_ms / 1000.0) for fault in self._faults)

    def _put(self, name: str, t_ms: int, delay_ms: int, data: bytes) -> None:
        sensor = SENTENCE_SENSOR[name]
        at = t_ms + delay_ms + self._rng["jitter"].randrange(JITTER_MS)
        damaged = self._rng["damage"].random() < DAMAGED
        if self._ails("dropout", sensor, t_ms):
            return
        if self._ails("frozen", sensor, t_ms):
            data = self._frozen.get(name, data)
        else:
            self._frozen[name] = data
        if damaged and self._ails("bad checksums", sensor, t_ms):
            data = data[:-2] + b"%02X" % (int(data[-2:], 16) ^ 0x15)
        self._serial += 1
        heapq.heappush(self._due, (at, self._serial, data))

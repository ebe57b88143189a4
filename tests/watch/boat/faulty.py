"""A recording heard through a log with a fault, and what the boat's own comparison of speeds says of it."""

from __future__ import annotations

import math
import random
from collections import deque
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.feed.recording.reader import Recording
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat, usable

SAID_S = 20.0  # a contradiction must be said within
HOLDS_S, MOSTLY = 15.0, 0.6  # shorter ones nobody need be told of
OFF_M_S = 0.6
GAP_S = 3.0
# What is stated of currents where the crew say nothing (+-0.25 m/s at 90 %), and of a receiver's speed.
ORDINARY_SD_M_S, UNSAID_SD_M_S, RECEIVER_SD_M_S, TROLLS_M_S = 0.152, 0.213, 0.05, 2.5

Fault = Callable[[float, float], float]  # seconds since it began, the true reading [m/s] -> what is read


def faults() -> dict[str, Callable[[], Fault]]:
    """Fresh ones; a frozen log keeps what it read first, an echoed one what it read a minute before."""
    return {
        "frozen": frozen,
        "zero": lambda: lambda _s, _v: 0.0,
        "half": lambda: lambda _, v: 0.5 * v,
        "double": lambda: lambda _, v: 2.0 * v,
        "drifting": lambda: lambda s, v: v * (1.0 + s / 120.0),
        "drifting slowly": lambda: lambda s, v: v * (1.0 + s / 240.0),
        "echoed": echoed,
        "noisy": _noisy,
        "swapped with the wind's": _swapped,
        "km/h taken for knots": lambda: lambda _, v: 1.852 * v,
        "m/s taken for knots": lambda: lambda _, v: 0.514 * v,
    }


def frozen() -> Fault:
    kept: list[float] = []

    def read(_: float, v: float) -> float:
        kept.append(v)
        return kept[0]

    return read


def echoed() -> Fault:
    heard: list[tuple[float, float]] = []

    def read(s: float, v: float) -> float:
        heard.append((s, v))
        return next(value for t, value in reversed(heard) if t <= max(s - 60.0, heard[0][0]))

    return read


def _noisy() -> Fault:
    rng = random.Random(1)
    return lambda _, v: abs(v + rng.gauss(0.0, 1.5))


def _swapped() -> Fault:
    rng = random.Random(2)
    return lambda _s, _v: 6.0 + rng.gauss(0.0, 0.7)


@dataclass(frozen=True, slots=True)
class Heard:
    """What came of one run."""

    seconds: int  # with both speeds
    said_s: tuple[float, ...]  # feed time of every saying
    # Feed time at which the false reading was first off the true one, and contradicted the other sensor by more than
    # is stated of both, for so long on end.
    apart_s: float | None

    @property
    def wait_s(self) -> float | None:
        """How long after the contradiction it was said; None where there was none, or it was not said."""
        return self.said_s[0] - self.apart_s if self.said_s and self.apart_s is not None else None


def stated_m_s(log_m_s: float, ground_m_s: float, prior: Prior) -> float:
    """How far a sound log and a sound receiver may differ by what is stated of both and of the water.

    Each at two standard deviations, added up: the current that is believed before anything was told (an ordinary one
    where the crew say nothing), the log's scale, a receiver's 0.05 m/s, and a tenth of what she goes faster than
    anybody trolls.
    """
    current = max(prior.current_sd_m_s)
    if current <= UNSAID_SD_M_S:
        current = min(current, ORDINARY_SD_M_S)
    faster = 0.1 * max(max(log_m_s, ground_m_s) - TROLLS_M_S, 0.0)
    return 2.0 * (current + prior.scale_sd * max(log_m_s, ground_m_s) + RECEIVER_SD_M_S + faster)


class Since:
    """When a condition first began to hold for so long: of readings without a gap, in more than half."""

    def __init__(self) -> None:
        self._told: deque[tuple[float, bool]] = deque()
        self.first_s: float | None = None

    def take(self, t_s: float, *, holds: bool) -> None:
        """Whether it holds now."""
        told = self._told
        if told and t_s - told[-1][0] > GAP_S:
            told.clear()
        told.append((t_s, holds))
        long = t_s - told[0][0] >= HOLDS_S
        if self.first_s is None and long and sum(one for _, one in told) > MOSTLY * len(told):
            self.first_s = next(at_s for at_s, one in told if one)
        while told[0][0] <= t_s - HOLDS_S:
            told.popleft()


def table(cases: dict[str, Sequence[Heard]]) -> Iterator[tuple[str, int, int, float]]:
    """Print the campaign's table; fault by fault the contradictions, those that were said, and the longest wait."""
    print("\nfault                        cases  said  median s  worst s")
    for name, heard in cases.items():
        apart = [one for one in heard if one.apart_s is not None]
        waits = sorted(one.wait_s for one in apart if one.wait_s is not None)
        middle = f"{waits[len(waits) // 2]:8.0f}  {waits[-1]:7.0f}" if waits else "       –        –"
        print(f"{name:28} {len(apart):5} {len(waits):5}  {middle}")
        yield name, len(apart), len(waits), max(waits, default=0.0)


def hear(
    recording: Recording | Sequence[Reading],
    prior: Prior,
    fault: Fault | None = None,
    from_s: float = 0.0,
    to_s: float = 1e9,
    begin_s: float = 0.0,
) -> Heard:
    """Seconds ``begin_s`` to ``to_s`` of a recording or of its readings; from ``from_s`` on its log reads
    through ``fault``."""
    board, boat = SensorBoard(), Boat(MotionFilter(), CurrentFilter(prior))
    fresh: list[Reading] = []
    said: list[float] = []
    both, stood, ground = 0, False, (-math.inf, 0.0)
    apart = Since()
    t_s = begin_s
    for reading in _readings(recording, begin_s):
        while reading.t_s > t_s:
            sensors = board.table(t_s)
            boat.choose(t_s, sensors)
            boat.take(fresh, sensors)
            boat.step(t_s, sensors)
            boat.follow(t_s, hole=False)
            fresh = []
            both += all(usable(sensors.get(q)) is not None for q in (Quantity.STW, Quantity.SOG))
            if boat.speeds_differ.stands and not stood:
                said.append(t_s)
            stood = boat.speeds_differ.stands
            t_s += 1.0
        if reading.t_s > to_s:
            break
        if reading.quantity is Quantity.STW and isinstance(reading.value, float) and fault and reading.t_s >= from_s:
            false = fault(reading.t_s - from_s, reading.value)
            is_off = abs(false - reading.value) >= OFF_M_S
            differ = abs(ground[1] - false) > stated_m_s(false, ground[1], prior)
            if reading.t_s - ground[0] <= GAP_S:
                apart.take(reading.t_s, holds=is_off and differ)
            reading = replace(reading, value=false)
        if reading.quantity is Quantity.SOG and isinstance(reading.value, float):
            ground = reading.t_s, reading.value
        board.take(reading)
        fresh.append(reading)
    return Heard(both, tuple(said), apart.first_s)


def _readings(recording: Recording | Sequence[Reading], begin_s: float) -> Iterator[Reading]:
    if not isinstance(recording, Recording):
        yield from (reading for reading in recording if reading.t_s >= begin_s)
        return
    decoder = Decoder()
    for line in recording.lines_from(begin_s):
        yield from decoder.decode(line)

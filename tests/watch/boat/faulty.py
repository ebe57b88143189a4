"""A recording heard through a log with a fault, and what the boat's own comparison of speeds says of it."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Quantity, Reading
from sternwatch.feed.recording.reader import Recording
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat, usable

Fault = Callable[[float, float], float]  # seconds since it began, the true reading [m/s] -> what is read


def faults() -> dict[str, Callable[[], Fault]]:
    """Fresh ones; a frozen log keeps what it read first, an echoed one what it read a minute before."""
    return {
        "frozen": _frozen,
        "zero": lambda: lambda _s, _v: 0.0,
        "half": lambda: lambda _, v: 0.5 * v,
        "double": lambda: lambda _, v: 2.0 * v,
        "drifting": lambda: lambda s, v: v * (1.0 + s / 120.0),
        "echoed": _echoed,
        "noisy": _noisy,
        "swapped with the wind's": _swapped,
        "km/h taken for knots": lambda: lambda _, v: 1.852 * v,
        "m/s taken for knots": lambda: lambda _, v: 0.514 * v,
    }


def _frozen() -> Fault:
    kept: list[float] = []

    def read(_: float, v: float) -> float:
        kept.append(v)
        return kept[0]

    return read


def _echoed() -> Fault:
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
    apart_s: float | None  # feed time at which the false reading was first 0.6 m/s off the true one for six seconds


def table(cases: dict[str, Sequence[Heard]]) -> Iterator[tuple[str, int, int]]:
    """Print the campaign's table; fault by fault the cases in which the log was off, and those that were said."""
    print("\nfault                     cases  said  median s  worst s")
    for name, heard in cases.items():
        apart = [c for c in heard if c.apart_s is not None]
        waits = sorted(c.said_s[0] - c.apart_s for c in apart if c.said_s and c.apart_s is not None)
        middle = f"{waits[len(waits) // 2]:8.0f}  {waits[-1]:7.0f}" if waits else "       –        –"
        print(f"{name:24} {len(apart):6} {len(waits):5}  {middle}")
        yield name, len(apart), len(waits)


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
    both, stood, off_since, apart = 0, False, None, None
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
            if abs(false - reading.value) < 0.6:
                off_since = None
            elif off_since is None:
                off_since = reading.t_s
            elif apart is None and reading.t_s - off_since >= 6.0:
                apart = off_since
            reading = replace(reading, value=false)
        board.take(reading)
        fresh.append(reading)
    return Heard(both, tuple(said), apart)


def _readings(recording: Recording | Sequence[Reading], begin_s: float) -> Iterator[Reading]:
    if not isinstance(recording, Recording):
        yield from (reading for reading in recording if reading.t_s >= begin_s)
        return
    decoder = Decoder()
    for line in recording.lines_from(begin_s):
        yield from decoder.decode(line)

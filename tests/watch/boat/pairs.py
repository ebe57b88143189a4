"""Two of a kind heard side by side, one of them with a fault: compass and course, two sounders, two thermometers.

Where a recording has one sounder or thermometer the second is made of it: another place, noise of its own.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from sternwatch.feed.readings import Quantity, Reading
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat, usable
from sternwatch.watch.boat.twins import Twins
from watch.boat.faulty import GAP_S, ORDINARY_SD_M_S, RECEIVER_SD_M_S, Fault, Heard, Since, echoed, frozen

TWO = "TWO"  # the second sensor's sentence
PAIRS = (Quantity.HEADING, Quantity.BOTTOM, Quantity.WATER_TEMPERATURE)
PLACE = {Quantity.BOTTOM: (0.7, 0.2, 0.01), Quantity.WATER_TEMPERATURE: (0.4, 0.1, 0.0)}  # offset, noise, share
LEAST_M_S = 0.8
MAGNETIC_DEG = 20.0


def _added(sd: float, seed: int) -> Callable[[], Fault]:
    def make() -> Fault:
        rng = random.Random(seed)
        return lambda _, v: v + rng.gauss(0.0, sd)

    return make


def faults_of(quantity: Quantity) -> dict[str, Callable[[], Fault]]:
    """Fresh ones; of a heading they are faults of its degrees."""
    common: dict[str, Callable[[], Fault]] = {
        "frozen": frozen,
        "half": lambda: lambda _, v: 0.5 * v,
        "double": lambda: lambda _, v: 2.0 * v,
        "echoed": echoed,
    }
    match quantity:
        case Quantity.BOTTOM:
            return common | {
                "drifting": lambda: lambda s, v: v * (1.0 + s / 120.0),
                "noisy": _added(15.0, 1),
                "swapped with the thermometer": lambda: lambda *_: 12.0,
                "feet taken for metres": lambda: lambda _, v: v / 0.3048,
                "fathoms taken for metres": lambda: lambda _, v: v / 1.8288,
            }
        case Quantity.WATER_TEMPERATURE:
            return common | {
                "drifting": lambda: lambda s, v: v + s / 20.0,
                "noisy": _added(8.0, 2),
                "swapped with the air's": lambda: lambda _, v: v + 9.0,
                "°F taken for °C": lambda: lambda _, v: 1.8 * v + 32.0,
            }
        case _:
            return common | {
                "drifting": lambda: lambda s, v: v + s,
                "noisy": _added(100.0, 3),
                "swapped end for end": lambda: lambda _, v: v + 180.0,
                "radians taken for degrees": lambda: lambda _, v: math.radians(v),
            }


@dataclass(frozen=True, slots=True)
class Contradicts:
    """The test's own measure of a contradiction: by more than is stated of both."""

    prior: Prior

    def holds(self, false: Reading, true: float, boat: tuple[float | None, ...]) -> bool:
        """``true``: the other sensor's, the course for a heading. ``boat``: log and ground [m/s].

        Sounders 3 m and 12 % apart (half a metre and 2 % each, keel or surface, two beams on a slope), thermometers
        2.5 degC (two depths of a warm surface), a heading 30 deg, 20 more where it is magnetic, and what two standard
        deviations of current across the way and of a receiver's velocity make of it, with way on (common practice, no
        source).
        """
        assert isinstance(false.value, float)
        off = abs(false.value - true)
        match false.quantity:
            case Quantity.BOTTOM:
                return off > 3.0 + 0.12 * min(false.value, true)
            case Quantity.WATER_TEMPERATURE:
                return off > 2.5
            case _:
                speeds = [speed for speed in boat if speed is not None]
                slowest = min(speeds, default=0.0)
                if slowest < LEAST_M_S:
                    return False
                sd = min(max(self.prior.current_sd_m_s), ORDINARY_SD_M_S)
                across = math.degrees(math.asin(min(2.0 * sd / slowest, 1.0)) + 2.0 * RECEIVER_SD_M_S / slowest)
                variation = MAGNETIC_DEG if false.reference == "magnetic" else 0.0
                return abs(math.remainder(off, 360.0)) > 30.0 + variation + across


def doubled(readings: Sequence[Reading], quantity: Quantity) -> list[Reading]:
    """The readings with a second, sound sensor of a quantity beside the first; a heading has its course."""
    if quantity is Quantity.HEADING:
        return list(readings)
    offset, sd, share = PLACE[quantity]
    rng, made = random.Random(f"{quantity} beside"), list[Reading]()
    first = next((r for r in readings if r.quantity is quantity and isinstance(r.value, float)), None)
    for reading in readings:
        made.append(reading)
        own = first is not None and (reading.quantity, reading.sentence) == (quantity, first.sentence)
        if own and isinstance(reading.value, float):
            value = reading.value + offset + rng.gauss(0.0, sd + share * reading.value)
            made.append(replace(reading, value=max(value, 0.1), sentence=TWO))
    return made


def hear_pair(
    readings: Sequence[Reading],
    quantity: Quantity,
    prior: Prior,
    fault: Fault | None = None,
    from_s: float = 0.0,
    to_s: float = 1e9,
    begin_s: float = 0.0,
) -> Heard:
    """Seconds ``begin_s`` to ``to_s``; from ``from_s`` on the second, or the compass, has the fault."""
    board, boat, twins = SensorBoard(), Boat(MotionFilter(), CurrentFilter(prior)), Twins()
    contradicts, apart = Contradicts(prior), Since()
    fresh: list[Reading] = []
    said: list[float] = []
    both, stood, true, t_s = 0, False, (-math.inf, 0.0), begin_s
    speeds: dict[Quantity, float] = {}
    faulty = "" if quantity is Quantity.HEADING else TWO
    against = Quantity.COG if quantity is Quantity.HEADING else quantity
    for reading in readings:
        if reading.t_s < begin_s:
            continue
        while reading.t_s > t_s:
            for kind, twin in twins.by_quantity.items():
                twin.step(t_s, board.table(t_s).get(kind), board.others(kind, t_s))
            sensors = twins.minding(board.table(t_s), lambda kind, t_s=t_s: board.others(kind, t_s))
            boat.choose(t_s, sensors)
            boat.take(fresh, sensors)
            boat.step(t_s, sensors)
            boat.follow(t_s, hole=False)
            fresh = []
            heading = quantity is Quantity.HEADING
            stands = boat.compass_differs.stands if heading else twins.by_quantity[quantity].stands
            told = usable(sensors.get(quantity)) is not None
            beside = usable(sensors.get(against)) if heading else board.others(quantity, t_s)
            both += told and beside not in (None, ())
            if stands and not stood:
                said.append(t_s)
            stood = stands
            t_s += 1.0
        if reading.t_s > to_s:
            break
        value = reading.value
        if isinstance(value, float):
            if reading.quantity in (Quantity.STW, Quantity.SOG):
                speeds[reading.quantity] = value
            is_faulty = reading.quantity is quantity and (not faulty or reading.sentence == faulty)
            if reading.quantity is against and not (is_faulty and faulty):
                true = reading.t_s, value
            if is_faulty and fault is not None and reading.t_s >= from_s:
                false = fault(reading.t_s - from_s, value)
                false = false % 360.0 if quantity is Quantity.HEADING else max(false, 0.0)
                boat_m_s = (speeds.get(Quantity.STW), speeds.get(Quantity.SOG))
                reading = replace(reading, value=false)
                if reading.t_s - true[0] <= GAP_S and not reading.suspect:
                    apart.take(reading.t_s, holds=contradicts.holds(reading, true[1], boat_m_s))
        board.take(reading)
        fresh.append(reading)
    return Heard(both, tuple(said), apart.first_s)

"""Decides whether two sounders or two thermometers can both be true, and which counts while they cannot.

The innovation is the difference of the two readings in standard deviations: a fixed part and a share of the smaller
reading (judgement: two sounders look at different places of a slope, one below the keel and one below the surface;
two thermometers are at different depths). Its root mean square over some seconds is compared with `GATE_SD`. So
the test finds a sensor that jumps about as well as one that is off.

While two sounders contradict each other, the shallower counts in depths, warnings and forecasts: a rod raised
without need costs less than one on the bottom. Nobody can know which of two thermometers is right.
"""

from __future__ import annotations

import copy
import math
from collections import deque
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from typing import Final

from sternwatch.feed.readings import Quantity, Sensors, SensorValue
from sternwatch.watch.boat.own_boat import usable
from sternwatch.watch.boat.verdict import MEAN_S, Verdict

LEAST: Final = 4  # fewest differences for a mean
GATE_SD: Final = 3.0
# Standard deviation of the difference: a fixed part, and a share of the smaller reading [m, degC].
_APART_SD: Final = {Quantity.BOTTOM: (1.0, 0.04), Quantity.WATER_TEMPERATURE: (0.85, 0.0)}
TWICE_TOLD: Final = tuple(_APART_SD)


@dataclass(slots=True)
class Twin:
    """Compares a quantity's sensor in use with the other that differs most. Only the watch's step changes it."""

    quantity: Quantity
    pair: tuple[SensorValue, SensorValue] | None = None  # the last pair compared, the one in use first
    _z: deque[tuple[float, float]] = field(default_factory=deque)  # feed time, innovation
    _verdict: Verdict = field(default_factory=Verdict)

    def copy(self) -> Twin:
        """An independent copy in the same state."""
        return Twin(self.quantity, self.pair, self._z.copy(), copy.copy(self._verdict))

    @property
    def stands(self) -> bool:
        """Whether the two contradict each other."""
        return self._verdict.stands

    def step(self, t_s: float, own: SensorValue | None, others: Iterable[SensorValue]) -> None:
        """Compare at feed time ``t_s``. Where one of the two is silent, nothing contradicts the other."""
        dt = self._verdict.passed_s(t_s)
        mine = usable(own)
        told = [(theirs, other) for other in others if (theirs := usable(other)) is not None]
        if mine is not None and own is not None and told:
            theirs, other = max(told, key=lambda one: abs(one[0] - mine))
            self.pair = own, other
            self._z.append((t_s, (theirs - mine) / self._sd(min(mine, theirs))))
        while self._z and self._z[0][0] <= t_s - MEAN_S:
            self._z.popleft()
        apart = len(self._z) >= LEAST and math.sqrt(sum(z * z for _, z in self._z) / len(self._z)) > GATE_SD
        self._verdict.ask(dt, apart=apart)

    def _sd(self, least: float) -> float:
        own, share = _APART_SD[self.quantity]
        return own + share * max(least, 0.0)


def _twins() -> dict[Quantity, Twin]:
    return {quantity: Twin(quantity) for quantity in TWICE_TOLD}


@dataclass(slots=True)
class Twins:
    """A test for every quantity that two sensors may give."""

    by_quantity: dict[Quantity, Twin] = field(default_factory=_twins)

    def copy(self) -> Twins:
        """Independent copies in the same state."""
        return Twins({quantity: twin.copy() for quantity, twin in self.by_quantity.items()})

    def minding(self, sensors: Sensors, others: Callable[[Quantity], Iterable[SensorValue]]) -> Sensors:
        """The table with the shallowest sounder while two contradict each other. ``others``: who else says it."""
        if not self.by_quantity[Quantity.BOTTOM].stands:
            return sensors
        own = sensors.get(Quantity.BOTTOM)
        mine = usable(own)
        if mine is None or own is None:
            return sensors
        found = ((usable(other), other) for other in others(Quantity.BOTTOM))
        told = [(mine, own), *((theirs, other) for theirs, other in found if theirs is not None)]
        return {**sensors, Quantity.BOTTOM: min(told, key=lambda one: one[0])[1]}

"""Faults of instruments in practice, and when they occur."""

from __future__ import annotations

import re
from dataclasses import dataclass

from sternwatch.gear.values.units import Dimension, QuantityError, parse_quantity
from sternwatch.gear.values.words import nearest
from sternwatch.logbook.actions.practice_acts import KINDS, OWN, SENSORS, Fault, FaultKind, Sensor

FOREVER_S = 1e9
# The share of damaged sentences from a source with bad checksums.
DAMAGED = 0.6

ACCEPTED = f"KIND[:SENSOR][@START[+LENGTH]], KIND one of {', '.join(KINDS)}, SENSOR one of {', '.join(SENSORS)}"
_GIVEN = re.compile(r"([a-z ]+)(?::([a-z]+))?(?:@([^+]+)(?:\+(.+))?)?").fullmatch


class FaultError(ValueError):
    """The text of a fault is not understood; the message says what is accepted."""


@dataclass(frozen=True, slots=True)
class SensorFault:
    """One fault: from ``from_s`` on, for ``for_s`` seconds of the session."""

    kind: FaultKind
    sensor: Sensor
    from_s: float = 0.0
    for_s: float = FOREVER_S

    def hits(self, sensor: Sensor, t_s: float) -> bool:
        """Whether it affects a sensor at a moment."""
        return self.sensor in (sensor, "all") and self.from_s <= t_s < self.from_s + self.for_s


def parse_fault(given: str) -> SensorFault:
    """Read ``dropout:gps@120 s+60 s`` and the like. Without a start the fault begins with the session.

    Raises FaultError.
    """
    match = _GIVEN(given.strip())
    kind = next((k for k in KINDS if match is not None and k == match[1].strip()), None)
    if match is None or kind is None:
        raise FaultError(f'"{given}" is no fault{nearest(given.partition(":")[0], KINDS)}; accepted: {ACCEPTED}')
    named = match[2] or OWN.get(kind, "all")
    sensor = next((s for s in SENSORS if s == named), None)
    if sensor is None:
        raise FaultError(f'"{given}": no sensor "{named}"{nearest(named, SENSORS)}; accepted: {", ".join(SENSORS)}')
    try:
        start = parse_quantity(match[3], Dimension.TIME) if match[3] else 0.0
        length = parse_quantity(match[4], Dimension.TIME) if match[4] else FOREVER_S
    except QuantityError as error:
        raise FaultError(f'"{given}": {error}') from None
    return SensorFault(kind, sensor, start, length)


def fault_of(action: Fault, t_s: float) -> SensorFault | None:
    """The fault that an entry starts at ``t_s``; None where the entry mends."""
    if action.what == "mended":
        return None
    sensor = action.sensor or OWN.get(action.what, "all")
    return SensorFault(action.what, sensor, t_s, FOREVER_S if action.for_s is None else action.for_s)

"""Rounds numbers for the page, in the crew's units. None stays None: the page shows it as unknown."""

from __future__ import annotations

import math

from sternwatch.gear.values.units import DisplaySystem, convert


def _finite(value: float | None) -> float | None:
    return None if value is None or not math.isfinite(value) else value


def depth(value_m: float | None, units: DisplaySystem) -> float | int | None:
    """A depth in whole feet or half metres."""
    value = _finite(value_m)
    if value is None:
        return None
    number = convert(value, units.length)
    return round(number) if units.length == "ft" else round(number * 2) / 2 + 0.0


def whole(value_m: float | None, units: DisplaySystem) -> int | None:
    """A length without decimals."""
    value = _finite(value_m)
    return None if value is None else round(convert(value, units.length))


def line(value_m: float | None, units: DisplaySystem) -> float | int | None:
    """Line out in whole feet or tenths of a metre."""
    value = _finite(value_m)
    if value is None:
        return None
    number = convert(value, units.length)
    return round(number) if units.length == "ft" else round(number, 1) + 0.0


def ends(interval_m: tuple[float, float] | None, units: DisplaySystem) -> tuple[int | None, int | None]:
    """The ends of an interval in whole units, rounded outward."""
    if interval_m is None or not all(math.isfinite(end) for end in interval_m):
        return None, None
    low, high = (convert(end, units.length) for end in interval_m)
    return math.floor(max(low, 0.0) + 1e-9), math.ceil(max(high, 0.0) - 1e-9)


def temperature(value_c: float | None, units: DisplaySystem) -> float | int | None:
    """A temperature in whole degrees Fahrenheit or tenths of a degree Celsius."""
    value = _finite(value_c)
    if value is None:
        return None
    number = convert(value, units.temperature)
    return round(number) if units.temperature == "degF" else round(number, 1) + 0.0


def speed(value_m_s: float | None, units: DisplaySystem) -> float | None:
    """A speed to one decimal."""
    value = _finite(value_m_s)
    return None if value is None else round(convert(value, units.speed), 1) + 0.0

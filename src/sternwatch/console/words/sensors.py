"""Words for sensors: a value with its unit, each quantity's name, the sentences that carry it. No layout."""

from __future__ import annotations

from sternwatch.console.words import rods as words
from sternwatch.feed.readings import Quantity, SensorState, SensorValue, Value
from sternwatch.gear.values.units import Dimension, DisplaySystem
from sternwatch.local_time import BoatTime

# A quantity's name, and what on a boat measures it (the sentences that this console reads; equal frames or deltas
# serve too), most needed first.
NAMES: dict[Quantity, tuple[str, str]] = {
    Quantity.STW: ("through water", "VHW"),
    Quantity.SOG: ("over ground", "RMC or VTG"),
    Quantity.COG: ("course", "RMC or VTG"),
    Quantity.HEADING: ("heading", "HDT, HDG or HDM"),
    Quantity.BOTTOM: ("bottom", "DPT or DBT"),
    Quantity.WATER_TEMPERATURE: ("surface", "MTW"),
    Quantity.POSITION: ("position", "RMC, GGA, GNS or GLL"),
    Quantity.CLOCK: ("clock", "RMC or ZDA"),
    Quantity.RATE_OF_TURN: ("rate of turn", "ROT"),
    Quantity.PROBE_SPEED: ("probe speed", "XDR, or a source named as the probe"),
    Quantity.PROBE_TEMPERATURE: ("probe temp", "XDR, or a source named as the probe"),
    Quantity.PROBE_DEPTH: ("probe depth", "XDR, or a source named as the probe"),
}
# A trolling boat should have these; the screen names missing ones.
EXPECTED = (
    Quantity.STW, Quantity.SOG, Quantity.COG, Quantity.HEADING, Quantity.BOTTOM, Quantity.WATER_TEMPERATURE,
    Quantity.POSITION, Quantity.CLOCK,
)  # fmt: skip

_SPEEDS = (Quantity.SOG, Quantity.STW, Quantity.PROBE_SPEED)
_DEPTHS = (Quantity.BOTTOM, Quantity.PROBE_DEPTH)
_WARMTHS = (Quantity.WATER_TEMPERATURE, Quantity.PROBE_TEMPERATURE)


def value(quantity: Quantity, given: Value | None, units: DisplaySystem, time: BoatTime) -> str:
    """A value with its unit, for the crew; the dash where there is none."""
    if isinstance(given, tuple):
        return _position(*given) if quantity is Quantity.POSITION else words.UNKNOWN
    if given is None:
        return words.UNKNOWN
    if quantity in _SPEEDS:
        return f"{words.speed(given, units)} {units.label(Dimension.SPEED)}"
    if quantity in _DEPTHS:
        return f"{words.length(given, units)} {units.label(Dimension.LENGTH)}"
    if quantity in _WARMTHS:
        return f"{words.temperature(given, units, 1)} {units.label(Dimension.TEMPERATURE)}"
    if quantity is Quantity.RATE_OF_TURN:
        return f"{abs(given) * 60:.0f}°/min {'S' if given > 0 else 'P'}"
    if quantity is Quantity.CLOCK:
        return time.hms(given)
    return f"{round(given) % 360:03d}°"


def lost(sensor: SensorValue | None) -> bool:
    """Whether a sounder has lost the bottom, so that its last depth does not hold now."""
    if sensor is None or sensor.quantity is not Quantity.BOTTOM:
        return False
    return sensor.state not in (SensorState.NEVER, SensorState.FRESH)


def _position(latitude: float, longitude: float) -> str:
    north, east = "N" if latitude >= 0 else "S", "E" if longitude >= 0 else "W"
    return f"{_minutes(latitude, 2)}{north} {_minutes(longitude, 3)}{east}"


def _minutes(angle: float, width: int) -> str:
    hundredths = round(abs(angle) * 60 * 100)
    return f"{hundredths // 6000:0{width}d}°{hundredths % 6000 / 100:05.2f}′"


def sentence(data: bytes) -> str:
    """A line as received, with unprintable bytes written as \\xhh."""
    return "".join(chr(byte) if 32 <= byte < 127 else f"\\x{byte:02x}" for byte in data)

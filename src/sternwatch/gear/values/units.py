"""Quantities with their units: reads ``"180 ft"``, checks its dimension, writes it back.

A quantity is text with its unit; inside the program it is a plain float in SI (temperatures in degC, angles in
rad). Factors are exact by definition unless said otherwise: the international yard and pound of 1959
(ft = 0.3048 m, lb = 0.45359237 kg), the standard acceleration 9.80665 m/s² for lbf and kgf, the international
nautical mile of 1852 m (BIPM, SI brochure, 9th ed., table 8). A colour is 30 ft of lead-core: common practice,
no source.
"""

from __future__ import annotations

import difflib
import math
import re
from dataclasses import dataclass
from enum import StrEnum

STANDARD_GRAVITY_M_S2 = 9.80665
FOOT_M = 0.3048
POUND_KG = 0.45359237
KNOT_M_S = 1852.0 / 3600.0
COLOUR_M = 30.0 * FOOT_M


class Dimension(StrEnum):
    """What a quantity measures. The value is its name in a sentence."""

    LENGTH = "length"
    SPEED = "speed"
    MASS = "mass"
    FORCE = "force"
    TEMPERATURE = "temperature"
    ANGLE = "angle"
    TIME = "time"
    DENSITY = "density"
    LINEAR_DENSITY = "mass per length"
    AREA = "area"
    VOLUME = "volume"
    VISCOSITY = "kinematic viscosity"


@dataclass(frozen=True, slots=True)
class Unit:
    """``SI value = number × factor + offset``."""

    symbol: str
    dimension: Dimension
    factor: float
    offset: float = 0.0

    def to_si(self, number: float) -> float:
        return number * self.factor + self.offset

    def from_si(self, value_si: float) -> float:
        return (value_si - self.offset) / self.factor


def _units() -> dict[str, Unit]:
    table: dict[Dimension, dict[str, float]] = {
        Dimension.LENGTH: {
            "m": 1.0,
            "mm": 1e-3,
            "cm": 1e-2,
            "ft": FOOT_M,
            "in": 0.0254,
            "fathom": 6 * FOOT_M,
            "colour": COLOUR_M,
        },
        Dimension.SPEED: {"m/s": 1.0, "kn": KNOT_M_S, "mph": 0.44704, "km/h": 1.0 / 3.6, "ft/s": FOOT_M},
        Dimension.MASS: {"kg": 1.0, "g": 1e-3, "lb": POUND_KG, "oz": POUND_KG / 16},
        Dimension.FORCE: {
            "N": 1.0,
            "lbf": POUND_KG * STANDARD_GRAVITY_M_S2,
            "kgf": STANDARD_GRAVITY_M_S2,
        },
        Dimension.ANGLE: {"deg": math.pi / 180.0},
        Dimension.TIME: {"s": 1.0, "min": 60.0},
        Dimension.DENSITY: {"kg/m^3": 1.0},
        Dimension.LINEAR_DENSITY: {"g/m": 1e-3},
        Dimension.AREA: {"m^2": 1.0, "cm^2": 1e-4, "in^2": 0.0254**2},
        Dimension.VOLUME: {"m^3": 1.0, "cm^3": 1e-6, "in^3": 0.0254**3},
        Dimension.VISCOSITY: {"m^2/s": 1.0, "mm^2/s": 1e-6},
    }
    units = {
        symbol: Unit(symbol, dimension, factor)
        for dimension, factors in table.items()
        for symbol, factor in factors.items()
    }
    units["degC"] = Unit("degC", Dimension.TEMPERATURE, 1.0)
    units["degF"] = Unit("degF", Dimension.TEMPERATURE, 5.0 / 9.0, -32.0 * 5.0 / 9.0)
    return units


UNITS: dict[str, Unit] = _units()

# Other common spellings of the units above. All others are refused, and the message names the nearest unit.
SPELLINGS = {"colours": "colour", "color": "colour", "colors": "colour", "fathoms": "fathom"}
SPOKEN = {
    "feet": "ft", "foot": "ft", "inch": "in", "inches": "in", "metre": "m", "metres": "m", "meter": "m",
    "meters": "m", "knot": "kn", "knots": "kn", "kt": "kn", "kts": "kn", "pound": "lb", "pounds": "lb", "lbs": "lb",
    "ounce": "oz", "ounces": "oz", "°": "deg", "degrees": "deg", "degree": "deg", "°f": "degF", "°c": "degC",
    "f": "degF", "c": "degC", "kph": "km/h", "kmh": "km/h", "mps": "m/s", "minutes": "min", "seconds": "s",
    "sec": "s", "miles per hour": "mph", "'": "ft", '"': "in", "newton": "N",
    "newtons": "N", "grams": "g", "gram": "g",
    "m2": "m^2", "cm2": "cm^2", "in2": "in^2", "kg/m3": "kg/m^3", "m²": "m^2", "cm²": "cm^2", "kg/m³": "kg/m^3",
}  # fmt: skip

_EXAMPLES: dict[Dimension, str] = {
    Dimension.LENGTH: "180 ft",
    Dimension.SPEED: "2.3 mph",
    Dimension.MASS: "10 lb",
    Dimension.FORCE: "40 lbf",
    Dimension.TEMPERATURE: "50 degF",
    Dimension.ANGLE: "20 deg",
    Dimension.TIME: "30 s",
    Dimension.DENSITY: "7930 kg/m^3",
    Dimension.LINEAR_DENSITY: "2.5 g/m",
    Dimension.AREA: "0.005 m^2",
    Dimension.VOLUME: "60 cm^3",
    Dimension.VISCOSITY: "1.3 mm^2/s",
}

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?"
_QUANTITY = re.compile(rf"\s*({_NUMBER})\s*(\S.*?)?\s*", re.ASCII)

# Giving a weight for a pull, or the reverse, is the commonest slip: say how to correct it.
_SIBLING = {("lb", Dimension.FORCE): "lbf", ("kg", Dimension.FORCE): "kgf", ("lbf", Dimension.MASS): "lb",
            ("kgf", Dimension.MASS): "kg"}  # fmt: skip


class QuantityError(ValueError):
    """The text is not a quantity of the dimension wanted. The message is one clause for a person."""


def accepted(dimension: Dimension) -> str:
    """The units of a dimension, as words in a sentence."""
    return ", ".join(u.symbol for u in UNITS.values() if u.dimension is dimension)


def example(dimension: Dimension) -> str:
    """An example of this dimension, as a user would write it."""
    return _EXAMPLES[dimension]


def _article(dimension: Dimension) -> str:
    return f"an {dimension}" if dimension.value[0] in "aeiou" else f"a {dimension}"


def pattern(dimension: Dimension) -> str:
    """A regular expression for this dimension, for the JSON Schema."""
    symbols = [u.symbol for u in UNITS.values() if u.dimension is dimension]
    symbols += [spelling for spelling, symbol in SPELLINGS.items() if symbol in symbols]
    return rf"^\s*{_NUMBER}\s*({'|'.join(re.escape(s) for s in symbols)})\s*$"


def _unknown_unit(symbol: str, dimension: Dimension) -> str:
    if re.match(r",\d{3}(?!\d)", symbol):
        return f'"{symbol}": a comma may mean thousands or decimals; write 1000 or 1.000'
    near = SPOKEN.get(symbol.lower())
    if near is None:
        close = difflib.get_close_matches(symbol, UNITS, n=1, cutoff=0.6)
        near = close[0] if close else None
    hint = f' (did you mean "{near}"?)' if near else ""
    return f'"{symbol}" is not a unit known here{hint}; {_article(dimension)} takes {accepted(dimension)}'


def parse_quantity(given: object, dimension: Dimension) -> float:
    """Read a quantity; returns its SI value (degC for temperature, rad for angle).

    Raises :class:`QuantityError` for a bare number, an unknown or wrong unit, text that is no quantity, or a
    value that is not finite.
    """
    if isinstance(given, bool) or not isinstance(given, str | int | float):
        raise QuantityError(
            f'{_article(dimension)} is text with its unit, for example "{example(dimension)}" ({accepted(dimension)})'
        )
    if not isinstance(given, str):
        raise QuantityError(
            f"a bare number has no unit; write {_article(dimension)} as text, "
            f'for example "{example(dimension)}" ({accepted(dimension)})'
        )
    match = _QUANTITY.fullmatch(given)
    if match is None:
        raise QuantityError(
            f"a number and its unit are wanted, for example "
            f'"{example(dimension)}": {_article(dimension)} takes {accepted(dimension)}'
        )
    number, symbol = float(match[1]), match[2]
    if symbol is None:
        raise QuantityError(f"the unit is missing; {_article(dimension)} takes {accepted(dimension)}")
    unit = UNITS.get(SPELLINGS.get(symbol, symbol))
    if unit is None:
        raise QuantityError(_unknown_unit(symbol, dimension))
    if unit.dimension is not dimension:
        sibling = _SIBLING.get((unit.symbol, dimension))
        hint = f'; for that pull or weight write "{match[1]} {sibling}"' if sibling else ""
        raise QuantityError(
            f"{unit.symbol} measures {_article(unit.dimension)}; here {_article(dimension)} is wanted "
            f"({accepted(dimension)}){hint}"
        )
    value = unit.to_si(number)
    if not math.isfinite(value):
        raise QuantityError("the number is too large")
    return value


def convert(value_si: float, symbol: str) -> float:
    """The number of units of ``symbol`` in an SI value."""
    return UNITS[symbol].from_si(value_si)


def round_step(least: float) -> float:
    """The smallest 1, 2 or 5 times a power of ten that is no less than ``least`` > 0, but for its last digits."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(n * power for n in (1.0, 2.0, 5.0, 10.0) if n * power >= least * (1.0 - 1e-9))


def unit_label(symbol: str) -> str:
    """How a unit is printed for a person; a spread file writes a pull as lbf, which nobody says."""
    return {"degF": "°F", "degC": "°C", "deg": "°", "lbf": "lb"}.get(symbol, symbol)


def limit_words(most_si: float, symbol: str) -> str:
    """A greatest value in a person's unit, down to two digits: 980 ft, not 984 ft, for 300 m."""
    value = convert(most_si, symbol)
    step = 10.0 ** (math.floor(math.log10(value)) - 1)
    return f"{math.floor(value / step + 1e-9) * step:g} {unit_label(symbol)}"


@dataclass(frozen=True, slots=True)
class DisplaySystem:
    """The units and the clock that a person reads. Labels are what the screen prints after a number."""

    name: str
    speed: str
    length: str
    temperature: str
    mass: str
    force: str
    utc: bool = False  # show times of day in UTC, not in the boat's time

    def show(self, value_si: float | None, dimension: Dimension, digits: int = 0, *, label: bool = True) -> str:
        """The text of an SI value in this system; an en dash where it is unknown."""
        if value_si is None or not math.isfinite(value_si):
            return "–"
        symbol = self.symbol(dimension)
        text = f"{convert(value_si, symbol):.{digits}f}"
        if float(text) == 0.0:
            text = text.lstrip("-")
        return f"{text} {self.label(dimension)}" if label else text

    def round_m(self, least_m: float) -> float:
        """The shortest length [m] of at least ``least_m`` > 0 that is 1, 2 or 5 times a power of ten in its unit."""
        return UNITS[self.length].to_si(round_step(convert(least_m, self.length)))

    def symbol(self, dimension: Dimension) -> str:
        """The unit for a dimension; SI where the system names none."""
        chosen = {
            Dimension.SPEED: self.speed,
            Dimension.LENGTH: self.length,
            Dimension.TEMPERATURE: self.temperature,
            Dimension.MASS: self.mass,
            Dimension.FORCE: self.force,
            Dimension.ANGLE: "deg",
            Dimension.TIME: "s",
        }
        return chosen[dimension]

    def label(self, dimension: Dimension) -> str:
        """How the unit is printed."""
        return unit_label(self.symbol(dimension))


SYSTEMS: dict[str, DisplaySystem] = {
    "us": DisplaySystem("us", "mph", "ft", "degF", "lb", "lbf"),
    "metric": DisplaySystem("metric", "km/h", "m", "degC", "kg", "N"),
    "knots": DisplaySystem("knots", "kn", "m", "degC", "kg", "N"),
}

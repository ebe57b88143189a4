"""Quantities as field types of the spread file's models: text with a unit in the file, an SI float inside.

Ranges are wide on purpose: they catch a wrong unit or decimal point, not unusual tackle.
"""

from __future__ import annotations

import math
from typing import Annotated, Any

from pydantic import BeforeValidator, Strict, WithJsonSchema
from pydantic_core import PydanticCustomError

from sternwatch.gear.values.units import Dimension, QuantityError, example, parse_quantity, pattern


def refuse(kind: str, reason: str) -> PydanticCustomError:
    """A fault with its own sentence. The text goes in as a value because pydantic formats templates."""
    return PydanticCustomError(kind, "{reason}", {"reason": reason})


def _reader(dimension: Dimension, low: float, high: float, words: str, above: bool) -> BeforeValidator:
    def read(given: Any) -> float:
        try:
            value = parse_quantity(given, dimension)
        except QuantityError as error:
            raise refuse("quantity", str(error)) from error
        if value < low or value > high or (above and value == low):
            raise refuse("quantity_range", f"out of range; accepted is {words}")
        return value

    return BeforeValidator(read)


def _quantity(dimension: Dimension, low: float, high: float, words: str, *, above: bool = False) -> tuple[Any, Any]:
    schema = {
        "type": "string",
        "pattern": pattern(dimension),
        "examples": [example(dimension)],
        "description": f"{dimension} with its unit: {words}",
    }
    return _reader(dimension, low, high, words, above), WithJsonSchema(schema)


Number = Annotated[float, Strict()]  # a plain number: no text, no true or false

Length = Annotated[float, *_quantity(Dimension.LENGTH, 0, 5000, "0 m to 5000 m (16,400 ft)")]
LengthAboveZero = Annotated[
    float, *_quantity(Dimension.LENGTH, 0, 5000, "more than 0 m, at most 5000 m (16,400 ft)", above=True)
]
SignedLength = Annotated[float, *_quantity(Dimension.LENGTH, -100, 100, "-100 m to 100 m (330 ft)")]
Abeam = Annotated[float, *_quantity(Dimension.LENGTH, 0, 30, "0 m to 30 m (98 ft), toward the rod's side")]
Diameter = Annotated[float, *_quantity(Dimension.LENGTH, 0, 2, "more than 0 m, at most 2 m (6.5 ft)", above=True)]
# The finest line sold is ten times as thick. Without drag the solver finds no solution.
LineDiameter = Annotated[float, *_quantity(Dimension.LENGTH, 1e-5, 0.05, "0.01 mm to 50 mm")]
Speed = Annotated[float, *_quantity(Dimension.SPEED, 0, 20, "0 m/s to 20 m/s (44 mph)")]
LET_OUT_M_S = 0.6  # line let out or taken in per second: slower than the boat, with a thumb on the spool (memory)
PayOut = Annotated[float, *_quantity(Dimension.SPEED, 0.02, 5, "0.02 m/s to 5 m/s")]
Mass = Annotated[float, *_quantity(Dimension.MASS, 0, 200, "0 kg to 200 kg (440 lb)")]
ForceAboveZero = Annotated[float, *_quantity(Dimension.FORCE, 0, 1e8, "more than 0 N, at most 1e8 N", above=True)]
SignedForce = Annotated[float, *_quantity(Dimension.FORCE, -2000, 2000, "-2000 N to 2000 N")]
Temperature = Annotated[float, *_quantity(Dimension.TEMPERATURE, -2, 40, "-2 degC to 40 degC (29 to 104 degF)")]
Roll = Annotated[float, *_quantity(Dimension.ANGLE, 0, math.radians(85), "0 deg to 85 deg (toward the rod's side)")]
Trim = Annotated[float, *_quantity(Dimension.ANGLE, math.radians(5), math.radians(85), "5 deg to 85 deg")]
EntryAngle = Annotated[float, *_quantity(Dimension.ANGLE, 0, math.radians(90), "0 deg to 90 deg")]
Bearing = Annotated[float, *_quantity(Dimension.ANGLE, 0, 2 * math.pi, "0 deg to 360 deg")]
Duration = Annotated[float, *_quantity(Dimension.TIME, 0, 86400, "0 s to 1440 min")]
Density = Annotated[float, *_quantity(Dimension.DENSITY, 0, 25000, "more than 0, at most 25000 kg/m^3", above=True)]
MassPerLength = Annotated[
    float, *_quantity(Dimension.LINEAR_DENSITY, 0, 1, "more than 0, at most 1000 g/m", above=True)
]
Area = Annotated[float, *_quantity(Dimension.AREA, 0, 10, "0 m^2 to 10 m^2")]
SignedArea = Annotated[float, *_quantity(Dimension.AREA, -10, 10, "-10 m^2 to 10 m^2")]
Volume = Annotated[float, *_quantity(Dimension.VOLUME, 0, 1, "more than 0, at most 1 m^3", above=True)]
Viscosity = Annotated[float, *_quantity(Dimension.VISCOSITY, 0, 1e-4, "more than 0, at most 100 mm^2/s", above=True)]

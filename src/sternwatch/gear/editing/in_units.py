"""Shows a file's quantities in the user's units. What stands in one of them already is shown as it was written."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sternwatch.gear.editing.edits import Path
from sternwatch.gear.values.units import (
    SPELLINGS,
    Dimension,
    DisplaySystem,
    QuantityError,
    convert,
    parse_quantity,
    unit_label,
)

# Units that belong to a system besides its usual one; a system measures lengths in feet or in metres.
_FEET = frozenset({"ft", "in", "fathom", "colour", "lb", "oz", "lbf", "in^2", "in^3"})
_METRES = frozenset({"m", "cm", "mm", "colour", "kg", "g", "N", "kgf"})
_FIGURES = 3  # of a converted value
_GEAR = {
    Dimension.DENSITY: "kg/m^3", Dimension.LINEAR_DENSITY: "g/m", Dimension.AREA: "cm^2",
    Dimension.VOLUME: "cm^3", Dimension.VISCOSITY: "mm^2/s",
}  # fmt: skip


# What a person is told of a piece, in this order, with what is measured.
_TOLD = {
    "material": None, "diameter": Dimension.LENGTH, "mass": Dimension.MASS, "form": None, "colour": None,
    "length": Dimension.LENGTH, "strength": Dimension.FORCE,
}  # fmt: skip


def told(kind: str, name: str, table: Mapping[str, Any], units: DisplaySystem) -> list[str]:
    """What a line or a piece of tackle is, in the user's units."""
    said = []
    for field, dimension in _TOLD.items():
        if field in table:
            text = str(table[field])
            said.append(text if dimension is None else shown_in(text, (kind, name, field), dimension, units))
    return said


def usual_unit(path: Path, dimension: Dimension, units: DisplaySystem) -> str:
    """The unit that a value at ``path`` has for the user: of gear, the one that labels print."""
    field = str(path[-1])
    if field == "diameter" and path[0] == "line":
        return "mm"
    if path[0] == "tackle" and field in ("diameter", "length"):
        return "cm" if units.length == "m" else "in"
    return _GEAR.get(dimension) or units.symbol(dimension)


def shown_in(text: str, path: Path, dimension: Dimension, units: DisplaySystem) -> str:
    """A quantity of the file for the user; text that is none comes back as it is."""
    try:
        value = parse_quantity(text, dimension)
    except QuantityError:
        return text
    number, _, written = text.strip().partition(" ")
    written = written.strip()
    symbol = SPELLINGS.get(written, written)
    usual = usual_unit(path, dimension, units)
    own = _FEET if units.length == "ft" else _METRES
    printed = symbol == "mm" and path[-1] == "diameter"  # as labels print it everywhere
    if symbol == usual or symbol in own or dimension in _GEAR or printed:
        return _written(number, written)  # 7 colours, not 7 colour
    return in_unit(value, usual)


def in_unit(value_si: float, symbol: str) -> str:
    """An SI value in a unit, to three figures."""
    return _written(f"{convert(value_si, symbol):.{_FIGURES}g}", symbol)


def _written(number: str, symbol: str) -> str:
    label = unit_label(symbol)
    return f"{number}{label}" if label == "°" else f"{number} {label}"

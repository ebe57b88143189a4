"""Turns what is typed on a row of the editor into the value for the file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from sternwatch.gear.editing.edits import value_at
from sternwatch.gear.editing.rows import Row
from sternwatch.gear.values.typed_quantities import as_written
from sternwatch.gear.values.units import Dimension, DisplaySystem, QuantityError, parse_quantity

_PASSES = re.compile(r"([0-9]+(?:[.,][0-9]+)?)\s*pass(?:es)?", re.IGNORECASE)
_BARE = re.compile(r"[+-]?\d+(?:[.,]\d*)?")
_UNIT = re.compile(r"\S+\s+(\S+)")
_TO = re.compile(r"(.+?)\s*(?:to|–|…)\s*(.+)")
_LABEL = re.compile(r"(.{1,12}?)\s+(\S+)\s*(deg)?")


class TypedError(ValueError):
    """What was typed is refused; the message is a sentence."""


def unit_for(row: Row, units: DisplaySystem) -> str:
    """The unit that a bare number gets: that of the value before, else the field's usual one."""
    before = _UNIT.fullmatch(row.value)
    if before is not None:
        return before[1]
    field = str(row.path[-1])
    ask = row.ask
    assert ask is not None  # a heading is never typed on
    assert ask.dimension is not None  # only a quantity has a unit
    metric = units.length == "m"
    if field == "diameter":
        return "mm"
    if row.path[0] == "tackle" and field == "length":
        return "cm" if metric else "in"
    usual = {
        Dimension.DENSITY: "kg/m^3", Dimension.LINEAR_DENSITY: "g/m", Dimension.AREA: "cm^2",
        Dimension.VOLUME: "cm^3", Dimension.VISCOSITY: "mm^2/s",
    }  # fmt: skip
    return usual.get(ask.dimension) or units.symbol(ask.dimension)


def value_of(row: Row, text: str, tables: Mapping[str, Any], units: DisplaySystem) -> Any:
    """The value for the file; None removes the entry. Raises :class:`TypedError`."""
    ask = row.ask
    assert ask is not None  # a heading is never typed on
    given = " ".join(text.split())
    if not given:
        if ask.needed:
            raise TypedError("this cannot be left out")
        return None
    match ask.kind:
        case "quantity":
            return _quantity(row, given, tables, units)
        case "range":
            return _range(given)
        case "number" | "whole":
            return _number(given, whole=ask.kind == "whole")
        case "flag":
            return given.lower() in ("yes", "y", "true")
        case "table":
            return _with_label(row, given, tables)
    return given


def _quantity(row: Row, given: str, tables: Mapping[str, Any], units: DisplaySystem) -> str:
    passes = _PASSES.fullmatch(given)
    if passes is not None and row.path[-1] == "out":
        per = value_at(tables, (*row.path[:2], "counter", "per_pass"))
        if per is None:
            raise TypedError("say first how much line a pass lays on: the row “counter per pass”")
        metres = float(passes[1].replace(",", ".")) * parse_quantity(per, Dimension.LENGTH)
        unit = units.symbol(Dimension.LENGTH)
        return f"{round(metres / parse_quantity(f'1 {unit}', Dimension.LENGTH), 2):g} {unit}"
    assert row.ask is not None
    assert row.ask.dimension is not None  # only quantities reach this line
    return as_written(given, row.ask.dimension, unit_for(row, units))


def _range(given: str) -> list[str]:
    """Two quantities. A unit behind the second only holds for both."""
    match = _TO.fullmatch(given)
    if match is None:
        raise TypedError("two are wanted, as 1.8 to 2.6 mph")
    low, high = match[1], match[2]
    unit = _UNIT.fullmatch(high)
    return [f"{low} {unit[1]}" if unit is not None and _BARE.fullmatch(low) else low, high]


def _number(given: str, *, whole: bool) -> float | int:
    try:
        return int(given) if whole else float(given.replace(",", "."))
    except ValueError:
        raise TypedError(f'"{given}" is no {"whole " if whole else ""}number') from None


def _with_label(row: Row, given: str, tables: Mapping[str, Any]) -> dict[str, Any]:
    """A diver's settings with one added."""
    match = _LABEL.fullmatch(given)
    if match is None:
        raise TypedError("a label and its angle are wanted, as “mid 30 deg”")
    angle = f"{match[2]} deg"
    try:
        parse_quantity(angle, Dimension.ANGLE)
    except QuantityError as wrong:
        raise TypedError(str(wrong)) from None
    return {**(value_at(tables, row.path) or {}), match[1]: angle}

"""Turns what is typed on a row of the editor into the value for the file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from sternwatch.gear.editing.edits import value_at
from sternwatch.gear.editing.in_units import usual_unit
from sternwatch.gear.editing.rows import Row, speeds_example
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
    assert row.ask is not None  # a heading is never typed on
    assert row.ask.dimension is not None  # only a quantity has a unit
    return usual_unit(row.path, row.ask.dimension, units)


def value_of(row: Row, text: str, tables: Mapping[str, Any], units: DisplaySystem) -> Any:
    """The value for the file; None removes the entry. Raises :class:`TypedError`."""
    ask = row.ask
    assert ask is not None  # a heading is never typed on
    given = " ".join(text.split())
    if given and given == row.value:
        return row.written  # what stands there is not rounded to the user's units
    if not given:
        if ask.needed:
            raise TypedError("this cannot be left out")
        return None
    match ask.kind:
        case "quantity":
            return _quantity(row, given, tables, units)
        case "range":
            return _range(given, units)
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


def _range(given: str, units: DisplaySystem) -> list[str]:
    """Two quantities. A unit behind the second only holds for both."""
    match = _TO.fullmatch(given)
    if match is None:
        raise TypedError(f"two are wanted, as {speeds_example(units)}")
    low, high = match[1], match[2]
    unit = _UNIT.fullmatch(high)
    symbol = unit[1] if unit is not None else units.speed
    return [as_written(low, Dimension.SPEED, symbol), as_written(high, Dimension.SPEED, symbol)]


def _number(given: str, *, whole: bool) -> float | int:
    try:
        return int(given) if whole else float(given.replace(",", "."))
    except ValueError:
        raise TypedError(f'"{given}" is no {"whole " if whole else ""}number') from None


def _with_label(row: Row, given: str, tables: Mapping[str, Any]) -> dict[str, Any]:
    """A diver's settings with one added."""
    match = _LABEL.fullmatch(given)
    if match is None:
        raise TypedError("a label and its angle are wanted, as “mid 30”")
    angle = f"{match[2]} deg"
    try:
        parse_quantity(angle, Dimension.ANGLE)
    except QuantityError as wrong:
        raise TypedError(str(wrong)) from None
    return {**(value_at(tables, row.path) or {}), match[1]: angle}

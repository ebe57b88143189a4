"""What is typed on a row of the editor, as it goes into the file."""

from __future__ import annotations

from typing import Any

import pytest

from sternwatch.gear.editing.rows import Ask, Row
from sternwatch.gear.editing.typed_values import TypedError, unit_for, value_of
from sternwatch.gear.values.units import SYSTEMS, Dimension

METRIC, US = SYSTEMS["metric"], SYSTEMS["us"]
OUT = ("rod", 0, "out")
TABLES: dict[str, Any] = {
    "rod": [{"counter": {"per_pass": "1.5 ft"}}, {}],
    "tackle": {"disc": {"settings": {"low": "20 deg"}}},
}


def row(kind: str, path: Any = OUT, *, dimension: Dimension | None = None, **more: Any) -> Row:
    ask = Ask(kind, dimension, needed=more.pop("needed", False))
    return Row("a row", path=path, ask=ask, **more)


LENGTH = row("quantity", dimension=Dimension.LENGTH)


@pytest.mark.parametrize(
    ("asked", "typed", "value"),
    [
        (LENGTH, "30", "30 ft"), (LENGTH, " 30   m ", "30 m"), (LENGTH, "far", "far"),
        (row("quantity", dimension=Dimension.LENGTH, value="12 m"), "30", "30 m"),
        (row("number"), "1,5", 1.5), (row("number"), "2", 2.0), (row("whole"), "3", 3),
        (row("flag"), "Yes", True), (row("flag"), "y", True), (row("flag"), "no", False),
        (row("text"), " a  boat ", "a boat"), (row("text"), "", None),
        (row("range"), "1.8 to 2.6", ["1.8 mph", "2.6 mph"]), (row("range"), "3 – 4 km/h", ["3 km/h", "4 km/h"]),
        (row("table", ("tackle", "disc", "settings")), "mid 30", {"low": "20 deg", "mid": "30 deg"}),
        (row("table", ("tackle", "other", "settings")), "mid 30 deg", {"mid": "30 deg"}),
    ],
)  # fmt: skip
def test_a_value_as_it_is_typed(asked: Row, typed: str, value: Any) -> None:
    assert value_of(asked, typed, TABLES, US) == value


def test_what_stands_there_already_stays_as_it_is_written() -> None:
    """The row shows it in the user's units: typed again, it is not rounded to them."""
    shown = row("quantity", dimension=Dimension.LENGTH, value="100 ft", written="30.5 m")
    assert value_of(shown, "100 ft", TABLES, US) == "30.5 m"
    assert value_of(shown, "101 ft", TABLES, US) == "101 ft"
    assert unit_for(shown, METRIC) == "ft"
    assert unit_for(LENGTH, METRIC) == "m"


def test_passes_of_a_counter_are_as_much_line_as_one_lays_on() -> None:
    assert value_of(LENGTH, "10 passes", TABLES, US) == "15 ft"
    assert value_of(LENGTH, "2,5 pass", TABLES, METRIC) == "1.14 m"
    other = row("quantity", ("rod", 0, "length"), dimension=Dimension.LENGTH)
    assert value_of(other, "10 passes", TABLES, US) == "10 passes", "which its reader refuses"
    with pytest.raises(TypedError, match="say first how much line a pass lays on"):
        value_of(row("quantity", ("rod", 1, "out"), dimension=Dimension.LENGTH), "10 passes", TABLES, US)


@pytest.mark.parametrize(
    ("asked", "typed", "why"),
    [
        (row("text", needed=True), " ", "this cannot be left out"), (row("number"), "x", '"x" is no number'),
        (row("whole"), "1.5", '"1.5" is no whole number'), (row("range"), "2", "two are wanted, as 1.8 to 2.6 mph"),
        (row("table"), "mid", "a label and its angle are wanted"), (row("table"), "mid far", "an angle takes deg"),
    ],
)  # fmt: skip
def test_why_it_is_refused(asked: Row, typed: str, why: str) -> None:
    with pytest.raises(TypedError) as refused:
        value_of(asked, typed, {}, US)
    assert why in str(refused.value)

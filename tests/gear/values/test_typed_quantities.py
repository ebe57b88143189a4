"""Lengths and speeds as people write them."""

import pytest

from sternwatch.gear.values.typed_quantities import as_written
from sternwatch.gear.values.units import Dimension, QuantityError, parse_quantity

NINE_AND_A_HALF = ("9'6\"", "9' 6", "9 ft 6 in", "9ft 6", "9 1/2 ft", "9½ feet", "9,5", "9.5", "9.5 foot", "9′6″")


@pytest.mark.parametrize("text", NINE_AND_A_HALF)
def test_nine_and_a_half_feet_in_ten_hands(text: str) -> None:
    assert parse_quantity(as_written(text, Dimension.LENGTH, "ft"), Dimension.LENGTH) == pytest.approx(9.5 * 0.3048)


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "kept"),
    [
        ("60", Dimension.LENGTH, "m", "60 m"),
        ("2.3 knots", Dimension.SPEED, "mph", "2.3 kn"),
        ("2,3", Dimension.SPEED, "mph", "2.3 mph"),
        ("1/2 inch", Dimension.LENGTH, "ft", "0.5 in"),
        ("1e3 ft", Dimension.LENGTH, "m", "1e3 ft"),
        ("12 colours", Dimension.LENGTH, "ft", "12 colours"),
        ("-5°F", Dimension.TEMPERATURE, "degC", "-5 degF"),
        ("10 pounds", Dimension.MASS, "kg", "10 lb"),
    ],
)
def test_what_the_file_keeps(text: str, dimension: Dimension, unit: str, kept: str) -> None:
    assert as_written(text, dimension, unit) == kept
    parse_quantity(kept, dimension)


@pytest.mark.parametrize("text", ["", "abc", "1/0 ft", "9'6'4", "6 7", "three ft", "5 furlongs", "1,000 ft", "1,250"])
def test_what_is_no_length_is_still_refused(text: str) -> None:
    with pytest.raises(QuantityError):
        parse_quantity(as_written(text, Dimension.LENGTH, "ft"), Dimension.LENGTH)


def test_inches_belong_to_lengths_alone() -> None:
    with pytest.raises(QuantityError):
        parse_quantity(as_written("9'6\"", Dimension.MASS, "lb"), Dimension.MASS)

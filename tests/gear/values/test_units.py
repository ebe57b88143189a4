"""Quantities: factors against an independent table, reading back what was written, and what is refused."""

from __future__ import annotations

import math

import pytest
import scipy.constants as c
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.gear.values.units import (
    SYSTEMS,
    UNITS,
    Dimension,
    QuantityError,
    convert,
    parse_quantity,
    pattern,
)

# CODATA and the exact definitions as scipy.constants carries them: an independent table.
FACTORS = {
    "ft": c.foot,
    "in": c.inch,
    "fathom": 6 * c.foot,
    "mph": c.mph,
    "kn": c.knot,
    "km/h": c.kmh,
    "lb": c.pound,
    "oz": c.ounce,
    "lbf": c.pound_force,
    "kgf": c.kilogram_force,
    "deg": c.degree,
    "min": c.minute,
    "in^2": c.inch**2,
    "in^3": c.inch**3,
}


@pytest.mark.parametrize(("symbol", "factor"), FACTORS.items())
def test_factor_agrees_with_scipy_constants(symbol: str, factor: float) -> None:
    assert UNITS[symbol].to_si(1.0) == pytest.approx(factor, rel=1e-15)


@pytest.mark.parametrize("fahrenheit", [-40.0, 32.0, 50.0, 212.0])
def test_temperature_agrees_with_scipy(fahrenheit: float) -> None:
    expected = c.convert_temperature(fahrenheit, "Fahrenheit", "Celsius")
    assert parse_quantity(f"{fahrenheit} degF", Dimension.TEMPERATURE) == pytest.approx(expected, abs=1e-12)


def test_a_colour_is_thirty_feet() -> None:
    # Common practice, no source: lead-core changes its colour every 10 yards.
    assert parse_quantity("2 colours", Dimension.LENGTH) == pytest.approx(60 * c.foot)
    assert parse_quantity("2 color", Dimension.LENGTH) == parse_quantity("2 colour", Dimension.LENGTH)


@given(
    symbol=st.sampled_from(sorted(UNITS)),
    number=st.floats(min_value=-1e9, max_value=1e9, allow_nan=False).filter(lambda x: x == 0 or abs(x) > 1e-9),
)
def test_what_is_written_is_read_back(symbol: str, number: float) -> None:
    unit = UNITS[symbol]
    value = unit.to_si(number)
    again = parse_quantity(f"{unit.from_si(value):.15g} {symbol}", unit.dimension)
    assert again == pytest.approx(value, rel=1e-13, abs=1e-12)


@given(symbol=st.sampled_from(sorted(UNITS)), text=st.sampled_from(["3", "3.", ".5", "+2e1", "-0.25", "1E-3"]))
def test_number_forms(symbol: str, text: str) -> None:
    unit = UNITS[symbol]
    assert parse_quantity(f"  {text} {symbol} ", unit.dimension) == unit.to_si(float(text))
    assert parse_quantity(f"{text}{symbol}", unit.dimension) == unit.to_si(float(text))


@given(st.text(max_size=12))
def test_any_text_is_a_quantity_or_a_clear_refusal(text: str) -> None:
    try:
        outcome = math.isfinite(parse_quantity(text, Dimension.LENGTH))
    except QuantityError as error:
        outcome = "m, mm, cm, ft, in, fathom, colour" in str(error)
    assert outcome


@pytest.mark.parametrize("given_value", [180, 180.0, True, None, [1], {"ft": 1}])
def test_what_is_no_text_is_refused_with_an_example(given_value: object) -> None:
    with pytest.raises(QuantityError, match=r'for example "180 ft"'):
        parse_quantity(given_value, Dimension.LENGTH)


@pytest.mark.parametrize(
    ("text", "dimension", "words"),
    [
        ("40 lb", Dimension.FORCE, 'write "40 lbf"'),
        ("40 lbf", Dimension.MASS, 'write "40 lb"'),
        ("180 feet", Dimension.LENGTH, 'did you mean "ft"?'),
        ("180 fathom s", Dimension.LENGTH, 'did you mean "fathom"?'),
        ("50 °F", Dimension.TEMPERATURE, 'did you mean "degF"?'),
        ("2.3 knots", Dimension.SPEED, 'did you mean "kn"?'),
        ("180", Dimension.LENGTH, "the unit is missing"),
        ("1,5 m", Dimension.LENGTH, "is not a unit known here"),
        ("ft", Dimension.LENGTH, "a number and its unit are wanted"),
        ("nan m", Dimension.LENGTH, "a number and its unit are wanted"),
        ("inf m", Dimension.LENGTH, "a number and its unit are wanted"),
        ("1e999 m", Dimension.LENGTH, "too large"),
        ("1 kg", Dimension.LENGTH, "kg measures a mass; here a length is wanted"),
        ("٣ m", Dimension.LENGTH, "a number and its unit are wanted"),
    ],
)
def test_refusals_say_the_way_out(text: str, dimension: Dimension, words: str) -> None:
    with pytest.raises(QuantityError) as error:
        parse_quantity(text, dimension)
    assert words in str(error.value)


def test_the_schema_pattern_accepts_what_is_read() -> None:
    import re

    for unit in UNITS.values():
        assert re.fullmatch(pattern(unit.dimension), f"1.5 {unit.symbol}")
    assert not re.fullmatch(pattern(Dimension.LENGTH), "1.5 kg")
    assert not re.fullmatch(pattern(Dimension.LENGTH), "1.5")


def test_display_systems() -> None:
    us, metric, knots = SYSTEMS["us"], SYSTEMS["metric"], SYSTEMS["knots"]
    assert us.show(18.288, Dimension.LENGTH) == "60 ft"
    assert us.show(1.028192, Dimension.SPEED, 1) == "2.3 mph"
    assert us.show(10.0, Dimension.TEMPERATURE) == "50 °F"
    assert metric.show(18.288, Dimension.LENGTH, 1) == "18.3 m"
    assert metric.show(1.0, Dimension.SPEED, 1) == "3.6 km/h"
    assert knots.show(1.028888888888889, Dimension.SPEED, 1, label=False) == "2.0"
    assert us.show(None, Dimension.LENGTH) == "–"
    assert us.show(math.nan, Dimension.LENGTH) == "–"
    assert us.show(-0.01, Dimension.LENGTH) == "0 ft"
    assert convert(1852 / 3600, "kn") == pytest.approx(1.0)


def test_round_lengths_for_scales() -> None:
    us, metric = SYSTEMS["us"], SYSTEMS["metric"]
    asked_ft = (0.9, 1.0, 3.1, 10.0, 99.0, 120.0, 6240.0)
    assert [us.show(us.round_m(0.3048 * ft), Dimension.LENGTH, label=False) for ft in asked_ft] == [
        "1", "1", "5", "10", "100", "200", "10000",
    ]  # fmt: skip
    assert [metric.round_m(m) for m in (0.3, 1.0, 21.0, 500.0)] == [0.5, 1.0, 50.0, 500.0]

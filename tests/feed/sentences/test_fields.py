"""Strict conversion: every value outside these rules is no value, never zero."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.feed.sentences import fields


@pytest.mark.parametrize(
    "text",
    ["2.4.1", "---", "-1.-1", "nan", "NaN", "inf", "-inf", "1e3", "1_0", " 1", "1 ", "0x10", "١٢", "+-1", ".", "1,2"],
)
def test_what_is_no_number_is_refused(text):
    with pytest.raises(fields.BadFieldError):
        fields.number(text, -1e6, 1e6)


@pytest.mark.parametrize(
    ("text", "value"), [("012.9", 12.9), ("+14.5", 14.5), ("-1.0", -1.0), ("0", 0.0), (".5", 0.5), ("7.", 7.0)]
)
def test_what_is_a_number(text, value):
    assert fields.number(text, -100, 100) == value


def test_empty_is_no_value_and_no_fault():
    assert fields.number("", 0, 1) is None
    assert fields.bearing("") is None
    assert fields.position("", "", "", "") is None
    assert fields.seconds_of_day("") is None


def test_range_and_unit_letter():
    assert fields.quantity("4.2", "N", "N", 0, 120) == 4.2
    with pytest.raises(fields.BadFieldError, match="outside"):
        fields.quantity("-0.1", "N", "N", 0, 120)
    with pytest.raises(fields.BadFieldError, match="'K' where 'N'"):
        fields.quantity("4.2", "K", "N", 0, 120)


def test_position():
    # Worked by hand: 46 deg 12.888 min = 46 + 12.888/60.
    assert fields.position("4612.888", "N", "00610.030", "E") == pytest.approx((46.2148, 6.167166667), abs=1e-9)
    assert fields.position("2200.1091", "S", "01756.3580", "W") == pytest.approx((-22.001818333, -17.9393), abs=1e-9)


@pytest.mark.parametrize(
    "given_fields",
    [
        ("4612.888", "", "00610.030", "E"),  # the library reads latitude 0.0 here
        ("4612.888", "N", "", ""),
        ("9999.99", "N", "00610.030", "E"),
        ("4660.000", "N", "00610.030", "E"),
        ("4612.888", "N", "00660.000", "E"),
        ("9000.001", "N", "00610.030", "E"),
        ("4612.888", "N", "18000.001", "E"),
        ("4612.888", "X", "00610.030", "E"),
        ("4612.888", "N", "18100.000", "E"),
        ("0000.000", "N", "00000.000", "E"),  # a receiver without a fix
        ("46.2148", "N", "6.1", "E"),
    ],
)
def test_bad_positions_are_none_at_all(given_fields):
    with pytest.raises(fields.BadFieldError):
        fields.position(*given_fields)


def test_time_of_day():
    assert fields.seconds_of_day("235959.226") == pytest.approx(86399.226, abs=1e-9)
    for bad in ("235960", "240000", "126000", "12345", "1234567", "12:34:56", "nan"):
        with pytest.raises(fields.BadFieldError):
            fields.seconds_of_day(bad)


def test_full_circle_is_north():
    assert fields.bearing("360") == 0.0
    with pytest.raises(fields.BadFieldError):
        fields.bearing("360.1")


@given(st.text(max_size=12))
def test_any_text_gives_a_finite_number_in_range_or_none(text):
    try:
        value = fields.number(text, -50.0, 50.0)
    except fields.BadFieldError:
        return
    assert value is None or (math.isfinite(value) and -50 <= value <= 50)

"""Rate gates: what jumps is suspect and shown; what stays is believed in the end."""

import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.feed.sentences.gates import Gate


def _judged(quantity, values, step_s=1.0):
    gate = Gate(quantity)
    return [bool(gate.doubt(value, i * step_s)) for i, value in enumerate(values)]


def test_a_single_spike():
    assert _judged(Quantity.SOG, [1.0, 1.1, 36.0, 1.2, 1.1]) == [False, False, True, False, False]
    assert _judged(Quantity.BOTTOM, [12.9, 12.8, 31.9, 12.9]) == [False, False, True, False]


def test_a_new_level_is_believed_once_it_has_lasted():
    judged = _judged(Quantity.BOTTOM, [12.0] * 3 + [40.0] * 8)
    assert judged == [False] * 3 + [True] * 3 + [False] * 5


def test_a_wrong_first_value_does_not_condemn_the_rest_for_ever():
    assert _judged(Quantity.BOTTOM, [80.0] + [12.0] * 6) == [False, True, True, True, False, False, False]


@pytest.mark.parametrize(
    ("quantity", "values"),
    [
        (Quantity.BOTTOM, [10.0, 11.5, 13.0, 14.5, 17.0, 20.0]),  # a drop-off
        (Quantity.SOG, [1.0, 2.5, 4.5, 7.0, 9.0]),  # the throttle opened
        (Quantity.WATER_TEMPERATURE, [14.0, 13.0, 12.0, 11.5]),  # a thermal front
    ],
)
def test_what_boats_and_lakes_do_passes(quantity, values):
    assert not any(_judged(quantity, values))


def test_temperature_at_power_up_and_of_a_broken_sensor():
    assert _judged(Quantity.WATER_TEMPERATURE, [0.0, 0.0, 17.5, 17.5]) == [True, True, False, False]
    assert all(_judged(Quantity.WATER_TEMPERATURE, [39.2] * 100))
    assert not any(_judged(Quantity.WATER_TEMPERATURE, [1.2, 0.8, 0.4, 0.0, 0.0]))  # a lake that freezes


def test_after_a_long_silence_the_next_value_counts():
    gate = Gate(Quantity.BOTTOM)
    assert gate.doubt(12.0, 0.0) == ""
    assert gate.doubt(60.0, 61.5) == ""

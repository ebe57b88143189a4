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


Q = Quantity


@pytest.mark.parametrize(
    ("quantity", "last", "seconds", "passes", "jumps"),
    [
        (Q.SOG, 1.0, 1.0, (4.0, 0.0), (4.125,)),
        (Q.SOG, 5.0, 2.0, (9.0, 1.0), (9.125, 0.875)),
        (Q.STW, 5.0, 1.0, (8.0, 2.0), (8.125, 1.875)),
        (Q.BOTTOM, 20.0, 1.0, (26.0, 14.0), (26.25, 13.75)),
        (Q.BOTTOM, 40.0, 4.0, (52.0, 28.0), (52.25, 27.75)),
        (Q.WATER_TEMPERATURE, 15.0, 0.0, (16.5, 13.5), (16.625, 13.375)),
        (Q.WATER_TEMPERATURE, 15.0, 10.0, (18.5, 11.5), (18.625, 11.375)),
        (Q.HEADING, 90.0, 0.0, (105.0, 75.0), (105.5, 74.5)),
        (Q.HEADING, 90.0, 1.0, (165.0, 15.0), (165.5, 14.5)),
        (Q.HEADING, 350.0, 0.0, (5.0, 335.0), (5.5, 334.5)),
        (Q.COG, 10.0, 0.0, (340.0, 40.0), (339.5, 40.5)),
        (Q.COG, 180.0, 1.0, (270.0, 90.0), (270.5, 89.5)),
        (Q.CLOCK, 1000.0, 0.0, (1002.0, 998.0), (1002.125, 997.875)),
        (Q.CLOCK, 1000.0, 10.0, (1013.0, 1007.0), (1013.125, 1006.875)),  # ten of them are the feed's own
    ],
)
def test_the_edge_of_what_a_quantity_can_do(quantity, last, seconds, passes, jumps):
    for value, suspect in [*((v, False) for v in passes), *((v, True) for v in jumps)]:
        gate = Gate(quantity, wary=True)
        gate.doubt(last, 0.0)
        assert gate.doubt(last, 0.0) == ""
        assert bool(gate.doubt(value, seconds)) is suspect, value


@pytest.mark.parametrize(
    ("quantity", "in_range", "beyond"),
    [
        (Q.SOG, (0.0, 25.0), (-0.125, 25.125)),
        (Q.STW, (0.0, 25.0), (-0.125, 25.125)),
        (Q.BOTTOM, (0.0, 12000.0), (-0.125, 12000.5)),
        (Q.WATER_TEMPERATURE, (-1.0, 35.0), (-1.125, 35.125)),
        (Q.HEADING, (0.0, 360.0), (-0.5, 360.5)),
        (Q.COG, (0.0, 360.0), (-0.5, 360.5)),
        (Q.CLOCK, (0.0, 32503680000.0), (-1.0, 32503680001.0)),
    ],
)
def test_what_no_boat_can_have(quantity, in_range, beyond):
    for value in in_range:
        gate = Gate(quantity, wary=True)
        gate.doubt(value, 0.0)
        assert gate.doubt(value, 0.0) == "", value
    for value in beyond:
        gate = Gate(quantity, wary=True)
        said = {gate.doubt(value + t if quantity is Q.CLOCK else value, t) for t in range(30)}
        assert "" not in said, value
        assert not any("jumps" in words or "turns" in words for words in said)


@pytest.mark.parametrize("wary", [False, True])
@pytest.mark.parametrize(
    ("quantity", "old", "new", "readings", "seconds"),
    [
        (Q.SOG, 1.0, 24.0, 4, 3.0),
        (Q.STW, 1.0, 24.0, 4, 3.0),
        (Q.BOTTOM, 10.0, 50.0, 4, 3.0),
        (Q.WATER_TEMPERATURE, 5.0, 30.0, 10, 20.0),
        (Q.HEADING, 10.0, 200.0, 4, 1.0),
        (Q.POSITION, (47.0, -89.0), (47.5, -89.0), 4, 3.0),
        (Q.CLOCK, 1000.0, 5000.0, 4, 5.0),
    ],
)
def test_a_new_level_needs_both_readings_and_seconds(quantity, old, new, readings, seconds, wary):
    if quantity in (Q.HEADING, Q.POSITION, Q.CLOCK) and not wary:
        return  # such are taken as they come
    # Steps so short that no level passes by itself before.
    for step_s in (seconds / (readings - 1), seconds / 4 / (readings - 1), min(seconds, 50.0 / readings)):
        gate = Gate(quantity, wary=wary)
        for _ in range(2):
            gate.doubt(old + 7.0 if quantity is Q.CLOCK else old, 7.0)
        ticks = [k * step_s for k in range(200)]
        judged = [gate.doubt(new + 7.0 + t if quantity is Q.CLOCK else new, 7.0 + t) == "" for t in ticks]
        at = judged.index(True)
        assert at + 1 >= readings
        assert ticks[at] >= seconds - 1e-9
        assert at + 1 == readings or ticks[at - 1] < seconds


def test_a_level_that_wanders_off_begins_anew():
    gate = Gate(Q.BOTTOM)
    gate.doubt(10.0, 0.0)
    assert [bool(gate.doubt(v, t)) for t, v in enumerate([60.0, 60.0, 60.0, 90.0, 90.0, 90.0, 90.0, 90.0])] == [
        True, True, True, True, True, True, False, False,
    ]  # fmt: skip


def test_readings_of_a_new_level_are_near_one_another_whatever_time_lies_between():
    gate = Gate(Q.BOTTOM)  # at 60 m eleven are near
    gate.doubt(10.0, 0.0)
    values = [60.0, 71.5, 60.0, 71.5, 60.0, 71.5]
    assert all(gate.doubt(value, 2.0 + t) for t, value in enumerate(values))
    near = Gate(Q.BOTTOM)
    near.doubt(10.0, 0.0)
    assert [bool(near.doubt(value, 2.0 + t)) for t, value in enumerate([60.0, 71.0, 60.0, 71.0])] == [
        True, True, True, False,
    ]  # fmt: skip


def test_a_good_value_between_ends_the_wait_for_a_new_level():
    gate = Gate(Q.BOTTOM)
    values = [10.0, 60.0, 60.0, 60.0, 10.0, 60.0, 60.0, 60.0, 60.0]
    assert [bool(gate.doubt(v, float(t))) for t, v in enumerate(values)] == [
        False, True, True, True, False, True, True, True, False,
    ]  # fmt: skip


def test_it_forgets_after_a_minute_and_not_before():
    for seconds, suspect in ((60.0, True), (60.5, False)):
        gate = Gate(Q.BOTTOM)
        gate.doubt(12.0, 0.0)
        assert bool(gate.doubt(200.0, seconds)) is suspect


def test_a_wary_gate_wants_the_first_value_twice_within_a_minute():
    for quantity, one in ((Q.SOG, 1.0), (Q.POSITION, (47.0, -89.0))):
        for seconds, suspect in ((1.0, False), (60.0, False), (60.5, True)):
            gate = Gate(quantity, wary=True)
            assert gate.doubt(one, 0.0)
            assert gate.unconfirmed
            assert bool(gate.doubt(one, seconds)) is suspect
            assert gate.unconfirmed is suspect
    plain = Gate(Q.SOG)
    assert plain.doubt(1.0, 0.0) == ""
    assert not plain.unconfirmed
    other = Gate(Q.SOG, wary=True)
    assert [bool(other.doubt(v, float(t))) for t, v in enumerate([1.0, 9.0, 9.5, 1.0])] == [True, True, False, True]


@pytest.mark.parametrize(("second", "confirms"), [(3.0, True), (3.1, False)])
def test_a_first_value_is_confirmed_by_one_as_near_as_a_jump_allows(second, confirms):
    """However much later it comes: who may be somebody else's reading gains nothing by waiting."""
    gate = Gate(Q.SOG, wary=True)
    assert gate.doubt(1.0, 0.0)
    assert (gate.doubt(second, 30.0) == "") is confirms


def test_positions_jump_by_metres_over_the_ground():
    north = 50.0 / 111_195.0
    for latitude, longitude, passes in (
        (47.0 + 0.99 * north, -89.0, True),
        (47.0 + 1.01 * north, -89.0, False),
        (47.0 - 0.99 * north, -89.0, True),
        (47.0 - 1.01 * north, -89.0, False),
        (47.0, -89.0 + 1.45 * north, True),  # the circles of longitude are nearer one another here
        (47.0, -89.0 + 1.48 * north, False),
        (47.0 + 0.8 * north, -89.0 + 0.7 * north, True),
        (47.0 + 0.8 * north, -89.0 + 1.0 * north, False),
    ):
        gate = Gate(Q.POSITION, wary=True)
        for _ in range(2):
            gate.doubt((47.0, -89.0), 0.0)
        assert (gate.doubt((latitude, longitude), 0.0) == "") is passes
    for metres, passes in ((79.0, True), (81.0, False)):
        moving = Gate(Q.POSITION, wary=True)
        for _ in range(2):
            moving.doubt((47.0, -89.0), 0.0)
        assert (moving.doubt((47.0 + metres / 111_195.0, -89.0), 1.0) == "") is passes
    date_line = Gate(Q.POSITION, wary=True)
    for _ in range(2):
        date_line.doubt((0.0, 179.9999), 0.0)
    assert date_line.doubt((0.0, -179.9999), 0.0) == ""
    assert date_line.doubt(3.0, 0.0) == "jumps further than a boat goes"


def test_zero_is_believed_of_water_that_was_nearly_freezing():
    for last, suspect in ((1.5, False), (1.625, True), (-1.0, False)):
        gate = Gate(Q.WATER_TEMPERATURE)
        gate.doubt(last, 0.0)
        assert ("exactly zero" in gate.doubt(0.0, 10.0)) is suspect
    assert Gate(Q.SOG).doubt(0.0, 0.0) == ""
    assert Gate(Q.WATER_TEMPERATURE).doubt(0.5, 0.0) == ""


def test_a_value_that_may_jump_is_held_against_none_that_follows():
    gate = Gate(Q.BOTTOM)
    gate.let(10.0, 100.0)
    assert gate.doubt(500.0, 100.0) == ""
    assert gate.doubt(10.0, 101.0)

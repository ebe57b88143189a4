"""The own boat step by step: which speed drives the depths, where she is in the water, what she says when dark."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity, Reading, Sensors, SensorState, SensorValue
from sternwatch.watch.boat.current import CurrentFilter, Prior
from sternwatch.watch.boat.motion_filter import MotionFilter
from sternwatch.watch.boat.own_boat import Boat, usable, why_no_way
from sternwatch.watch.picture.model import SpeedSource

SOG, STW, COG, HEADING = Quantity.SOG, Quantity.STW, Quantity.COG, Quantity.HEADING


def value(quantity: Quantity, number: Any, state: SensorState = SensorState.FRESH, **more: Any) -> SensorValue:
    return SensorValue(quantity, state, number, more.pop("age_s", 0.5), "hand", "TST", **more)


def sensors(**numbers: float) -> Sensors:
    return {
        quantity: value(quantity, float(numbers[quantity.value]))
        for quantity in Quantity
        if quantity.value in numbers
    }


def sail(boat: Boat, begin: int, seconds: int, **numbers: Any) -> None:
    """One step a second; a number may be a function of the time."""
    for t in range(begin, begin + seconds):
        now = {name: one(t) if callable(one) else one for name, one in numbers.items()}
        told = sensors(**now)
        boat.choose(float(t), told)
        boat.take([Reading(float(t), "hand", q, v.value, "TST") for q, v in told.items()], told)
        boat.step(float(t), told)
        boat.follow(float(t), hole=False)


def new() -> Boat:
    return Boat(MotionFilter())


def test_only_a_fresh_undoubted_number_is_usable() -> None:
    assert usable(value(SOG, 1.0)) == 1.0
    assert usable(None) is None
    assert usable(value(SOG, 1.0, SensorState.SILENT)) is None
    assert usable(value(SOG, 1.0, suspect="a jump")) is None
    assert usable(value(Quantity.POSITION, (1.0, 2.0))) is None


def test_speed_through_water_counts_before_speed_over_ground() -> None:
    boat = new()
    for told, source in (
        (sensors(sog=1.0, stw=1.1), SpeedSource.THROUGH_WATER), (sensors(sog=1.0), SpeedSource.OVER_GROUND),
        (sensors(stw=1.1), SpeedSource.THROUGH_WATER), ({}, SpeedSource.NONE),
    ):  # fmt: skip
        boat.choose(0.0, told)
        assert boat.source is source
        assert bool(boat.why_no_speed) is (source is SpeedSource.NONE)
    boat.speeds_differ.stands = True
    boat.choose(1.0, sensors(sog=1.0, stw=1.1))
    assert boat.source is SpeedSource.OVER_GROUND, "the log is doubted"
    boat.choose(2.0, sensors(stw=1.1))
    assert boat.source is SpeedSource.THROUGH_WATER, "nothing else is there"


@pytest.mark.parametrize(
    ("stw", "sog", "seconds", "stuck"),
    [(0.09, 0.81, 15, True), (0.09, 0.81, 14, False), (0.1, 0.81, 30, False), (0.09, 0.8, 30, False)],
)
def test_a_wheel_that_reads_nothing_while_she_moves_for_fifteen_seconds_is_stuck(
    stw: float, sog: float, seconds: int, stuck: bool
) -> None:
    boat = new()
    for t in range(100, 100 + seconds + 1):
        boat.choose(float(t), sensors(stw=stw, sog=sog))
    assert (boat.source is SpeedSource.OVER_GROUND) is stuck
    boat.choose(200.0, sensors(stw=0.5, sog=sog))
    boat.choose(201.0, sensors(stw=stw, sog=sog))
    assert boat.source is SpeedSource.THROUGH_WATER, "counted anew"


def test_why_there_is_no_speed() -> None:
    boat = new()
    boat.choose(0.0, {})
    assert boat.why_no_speed == "no speed through water ever came; no speed over ground ever came"
    boat.choose(0.0, {STW: value(STW, 1.0, suspect="a jump"), SOG: value(SOG, None, SensorState.NONE)})
    assert boat.why_no_speed == (
        "speed through water is doubted (a jump); the sensor says it has no speed over ground"
    )  # fmt: skip
    silent = value(STW, 1.0, SensorState.SILENT, age_s=41.6)
    boat.choose(0.0, {STW: silent, SOG: value(SOG, None, SensorState.SILENT, age_s=None)})
    assert boat.why_no_speed == "speed through water fell silent 42 s ago; speed over ground fell silent"


def test_why_there_is_no_course() -> None:
    assert why_no_way({}) == "no course ever came"
    assert why_no_way({COG: value(COG, None, SensorState.NEVER)}) == "no course ever came"
    assert why_no_way({COG: value(COG, 4.0, suspect="a jump")}) == "the course is doubted (a jump)"
    assert why_no_way(sensors(cog=4.0, sog=0.29)) == "she moves too slowly to tell her course"
    assert why_no_way(sensors(cog=4.0, sog=0.3)) == "waiting for the first course"


def test_her_place_is_the_integral_of_her_velocity() -> None:
    boat = new()
    sail(boat, 0, 61, stw=1.2, sog=1.2, cog=60.0, heading=60.0)
    assert (boat.north_m, boat.east_m) == pytest.approx((72.0 * 0.5, 72.0 * math.sqrt(0.75)), abs=0.2)
    assert boat.velocity_m_s == pytest.approx((0.6, 1.2 * math.sqrt(0.75)), abs=1e-3)
    twin = boat.copy()
    sail(boat, 61, 10, stw=1.2, sog=1.2, cog=60.0, heading=60.0)
    assert twin.north_m < boat.north_m - 5.0
    sail(twin, 61, 10, stw=1.2, sog=1.2, cog=60.0, heading=60.0)
    assert (twin.north_m, twin.east_m) == (boat.north_m, boat.east_m)


def test_rate_of_turn_over_ten_seconds_once_five_are_known() -> None:
    def turning(t: float) -> float:
        return (350.0 + 3.0 * min(t, 44.0)) % 360.0

    boat = new()
    sail(boat, 0, 5, stw=1.0, sog=1.0, cog=turning, heading=turning)
    assert boat.rate_of_turn_deg_s is None
    sail(boat, 5, 40, stw=1.0, sog=1.0, cog=turning, heading=turning)
    assert boat.rate_of_turn_deg_s == pytest.approx(3.0, abs=0.05)
    sail(boat, 45, 12, stw=1.0, sog=1.0, cog=turning, heading=turning)
    assert abs(boat.rate_of_turn_deg_s or 9.0) < 1.0, "older headings are forgotten"


def test_the_picture_has_the_mean_of_fifteen_seconds_and_the_range_of_a_minute() -> None:
    boat = new()
    sail(boat, 0, 40, stw=0.8, sog=0.8, cog=0.0, heading=0.0)
    sail(boat, 40, 41, stw=1.2, sog=1.2, cog=0.0, heading=0.0)
    own = boat.own(sensors(stw=1.2, sog=1.2, cog=0.0, heading=0.0))
    assert own.speed_source is SpeedSource.THROUGH_WATER
    assert own.speed_mean_m_s == pytest.approx(1.2, abs=0.01)
    assert own.speed_range_m_s == pytest.approx((0.8, 1.2), abs=0.05)
    assert (own.sog_m_s, own.stw_m_s, own.course_deg, own.heading_deg) == (1.2, 1.2, 0.0, 0.0)
    sail(boat, 81, 41, stw=1.2, sog=1.2, cog=0.0, heading=0.0)
    later = boat.own(sensors(stw=1.2))
    assert later.speed_range_m_s == pytest.approx((1.2, 1.2), abs=0.02)
    unknown = new().own({})
    assert (unknown.speed_m_s, unknown.speed_mean_m_s, unknown.water) == (None, None, None)
    assert unknown.why_no_speed == "waiting for the first speed"


def test_where_no_course_comes_a_straight_one_is_assumed_after_half_a_minute() -> None:
    boat = new()
    sail(boat, 0, 30, stw=1.0)
    assert not boat.way_known
    sail(boat, 30, 1, stw=1.0)
    assert (boat.way_known, boat.way_assumed) == (True, True)
    sail(boat, 31, 10, stw=1.0)
    assert boat.north_m == pytest.approx(10.0, abs=0.1)
    sail(boat, 41, 1, stw=1.0, heading=90.0)
    assert boat.way_assumed is False
    slow = new()
    sail(slow, 0, 60, stw=0.29)
    assert not slow.way_known, "she has no way on"


def test_a_lost_speed_makes_her_dark_and_forgets_the_course() -> None:
    boat = new()
    sail(boat, 0, 30, sog=1.0, cog=40.0)
    assert (boat.known, boat.way_known, boat.dark_since_s) == (True, True, None)
    for t in (30.0, 31.0, 32.0, 33.0):
        boat.choose(t, {})
        assert boat.step(t, {}) is False
        boat.follow(t, hole=False)
        assert boat.dark_since_s == 30.0
        assert boat.way_known is (t < 33.0)
    sail(boat, 34, 1, sog=1.0)
    assert not boat.way_known, "not along the old course"
    sail(boat, 35, 2, sog=1.0, cog=200.0)
    assert boat.way_known
    assert boat.heading_deg == pytest.approx(-160.0)
    boat.t_s = None
    boat.follow(40.0, hole=True)
    assert boat.filters.speed.t_s is None
    assert not boat.way_known


def test_readings_of_others_and_doubted_ones_do_not_move_her() -> None:
    boat = new()
    told = sensors(sog=1.0, cog=40.0)
    boat.choose(0.0, told)
    boat.take([Reading(0.0, "other", SOG, 9.0, "TST"), Reading(0.0, "hand", SOG, 9.0, "OTH")], told)
    assert boat.filters.speed.t_s is None
    boat.take([Reading(0.0, "hand", SOG, 1.0, "TST")], told)
    assert boat.filters.speed.x == 1.0
    boat.take([Reading(0.0, "hand", Quantity.POSITION, (1.0, 2.0), "TST")], told)
    assert boat.filters.speed.x == 1.0


@pytest.mark.parametrize(
    ("reference", "differs", "told"), [("true", False, 1), ("", False, 1), ("magnetic", False, 0), ("true", True, 0)]
)
def test_only_a_true_heading_that_is_not_doubted_tells_of_the_current(
    reference: str, differs: bool, told: int
) -> None:
    boat = new()
    boat.compass_differs._verdict.stands = differs
    boat._tell_window(Reading(1.0, "hand", HEADING, 40.0, "TST", reference=reference), 40.0)
    assert len(boat.current.window.headings) == told


def test_both_speeds_are_compared_whichever_drives_the_depths() -> None:
    boat, taken = new(), list[tuple[str, float, float]]()
    boat.speeds_differ = SimpleNamespace(  # type: ignore[assignment]
        stands=False,
        take_log=lambda t_s, value: taken.append(("log", t_s, value)),
        take_ground=lambda t_s, value: taken.append(("ground", t_s, value)),
    )
    told = sensors(sog=1.2, stw=1.1, cog=10.0, heading=12.0)
    boat.choose(0.0, told)
    boat.take([Reading(0.5, "hand", q, v.value, "TST") for q, v in told.items()], told)
    assert sorted(taken) == [("ground", 0.5, 1.2), ("log", 0.5, 1.1)]


@pytest.mark.parametrize(("current_sd_m_s", "contradicts"), [(0.2128, True), (0.25, False), (0.4, False)])
def test_a_current_stronger_than_ordinary_ones_is_believed_where_the_crew_say_that_it_may_be(
    current_sd_m_s: float, contradicts: bool
) -> None:
    """Log and ground are 0.45 m/s apart, course and heading the same."""
    prior = Prior(current_sd_m_s=(current_sd_m_s, current_sd_m_s))
    boat = Boat(MotionFilter(), current=CurrentFilter(prior))
    sail(boat, 0, 120, stw=1.0, sog=1.45, cog=30.0, heading=30.0)
    assert boat.speeds_differ.stands is contradicts

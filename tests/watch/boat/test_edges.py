"""Where exactly the boat's own numbers turn one way or the other, without a chain."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.logbook.actions.kinds import Gauge, parse
from sternwatch.watch.boat.contradiction import LogAgainstGround
from sternwatch.watch.boat.current import CurrentFilter
from sternwatch.watch.boat.legs import Means
from sternwatch.watch.boat.manoeuvres import LEAST_RATE_RAD_S, as_it_goes, carried_off, hold, path_of, turn
from sternwatch.watch.boat.motion_filter import MotionFilter, RateFilter, wrap_deg
from sternwatch.watch.boat.own_boat import Boat
from sternwatch.watch.boat.through_water import through_water
from sternwatch.watch.boat.water import Waters
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.picture.model import SpeedSource

# As agreed: a change of one is to be noticed.
NOW = 1000.0
FIRST, LAST = NOW - 60.0, NOW - 40.0
ONE_COURSE_DEG, LEAST_BEFORE = 25.0, 15

# -- tracks --------------------------------------------------------------------------------------------------------


def steps(manoeuvre: Manoeuvre, speed_m_s: float = 1.0, **more: Any) -> list[tuple[float, int]]:
    """The lengths of a track's steps, as (seconds, how many in a row)."""
    found: list[tuple[float, int]] = []
    for step in path_of(manoeuvre, heading_rad=0.3, speed_m_s=speed_m_s, **more).step_s.round(6).tolist():
        if found and abs(found[-1][0] - step) < 1e-5:
            found[-1] = (found[-1][0], found[-1][1] + 1)
        else:
            found.append((step, 1))
    return found


def test_steps_are_short_in_a_manoeuvre_and_just_after_it() -> None:
    """A second while the speed changes, four degrees or four seconds of a turn, two seconds for forty after it."""
    assert steps(hold()) == [(2.0, 20), (4.0, 35)]
    assert steps(hold(), longest_s=3.0) == [(2.0, 20), (3.0, 46), (2.0, 1)]
    assert steps(turn("port", 180.0, seconds=120.0)) == [(pytest.approx(120.0 / 45.0), 45), (2.0, 20), (4.0, 20)]
    assert steps(turn("port", 180.0, seconds=900.0)) == [(4.0, 150)]
    assert steps(turn("port", 90.0, seconds=10.0))[0] == (1.0, 10)
    slowing = Manoeuvre("slow", to_speed_m_s=0.5, speed_change_s=8.0)
    assert steps(slowing) == [(1.0, 8), (2.0, 20), (4.0, 33)]


def test_a_track_has_a_sample_wherever_its_speed_begins_or_ends_to_change() -> None:
    made = path_of(Manoeuvre("stop", wait_s=4.5, stop_s=20.0, speed_change_s=5.3), heading_rad=0.0, speed_m_s=1.0)
    for mark, speed in ((4.5, 1.0), (9.8, 0.0), (29.8, 0.0), (35.1, 1.0)):
        k = int(np.argmin(np.abs(made.time_s - mark)))
        assert made.time_s[k] == pytest.approx(mark)
        assert made.speed_m_s[k] == pytest.approx(speed)
    assert (made.starts_s, made.ends_s) == (4.5, pytest.approx(35.1))


def test_a_turn_without_a_rate_takes_two_minutes_for_half_a_circle_and_as_long_for_a_quarter() -> None:
    for degrees, seconds in ((180.0, 120.0), (360.0, 120.0), (90.0, 120.0), (45.0, 60.0)):
        made = path_of(turn("starboard", degrees), heading_rad=0.0, speed_m_s=1.0)
        assert made.ends_s == pytest.approx(seconds)
        assert made.heading_rad[-1] == pytest.approx(math.radians(degrees))


@pytest.mark.parametrize(
    ("rate_deg_s", "acceleration", "turn_deg", "to_speed", "change_s"),
    [
        (0.4, 0.0, 180.0, None, 8.0), (-0.4, 0.0, -180.0, None, 8.0), (0.399, 0.0, 0.0, None, 8.0),
        (0.0, 0.01, 0.0, 1.15, 15.0), (0.0, 0.0099, 0.0, None, 8.0), (0.0, -0.01, 0.0, 0.85, 15.0),
        (0.0, -0.2, 0.0, 0.0, 5.0), (0.0, 0.2, 0.0, 2.0, 5.0), (0.0, 5.0, 0.0, 2.0, 1.0),
    ],
)  # fmt: skip
def test_as_it_goes_goes_on_turning_and_changing_pace(
    rate_deg_s: float, acceleration: float, turn_deg: float, to_speed: float | None, change_s: float
) -> None:
    rate = LEAST_RATE_RAD_S * rate_deg_s / 0.4
    assert pytest.approx(math.radians(0.4)) == LEAST_RATE_RAD_S
    made = as_it_goes(rate, acceleration, 1.0)
    assert math.degrees(made.turn_rad) == pytest.approx(turn_deg)
    assert made.rate_rad_s == (pytest.approx(abs(rate)) if turn_deg else None)
    assert made.to_speed_m_s == (None if to_speed is None else pytest.approx(to_speed))
    assert made.speed_change_s == pytest.approx(change_s)


def test_a_drift_turns_with_her_and_fades_with_her_way() -> None:
    straight = path_of(hold(), heading_rad=0.7, speed_m_s=1.0)
    assert carried_off(straight)[-1] == pytest.approx([180.0, 0.0])
    stopped = path_of(Manoeuvre("s", to_speed_m_s=0.0, speed_change_s=10.0), heading_rad=0.0, speed_m_s=1.0)
    assert carried_off(stopped)[-1] == pytest.approx([5.0, 0.0])
    creeping = path_of(hold(), heading_rad=0.0, speed_m_s=0.05)
    assert carried_off(creeping)[-1] == pytest.approx([180.0, 0.0])
    faster = path_of(Manoeuvre("f", to_speed_m_s=2.0, speed_change_s=10.0), heading_rad=0.0, speed_m_s=1.0)
    assert carried_off(faster)[-1][0] == pytest.approx(faster.time_s[-1]), "no more than the whole of it"
    slower = path_of(Manoeuvre("s", to_speed_m_s=1.0, speed_change_s=10.0), heading_rad=0.0, speed_m_s=2.0)
    assert carried_off(slower)[-1][0] == pytest.approx(7.5 + 0.5 * (slower.time_s[-1] - 10.0)), (
        "half her way, half of it"
    )


# -- filters -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("angle", "wrapped"), [(180.0, 180.0), (-180.0, 180.0), (181.0, -179.0), (540.5, -179.5), (0.0, 0.0)]
)
def test_an_angle_lies_behind_minus_180_and_up_to_180(angle: float, wrapped: float) -> None:
    assert wrap_deg(angle) == pytest.approx(wrapped)


def test_a_rate_wanders_by_its_density() -> None:
    """In the direction by 1 (deg/s)^2, in the speed by 0.01 (m/s2)^2 a second."""
    motion = MotionFilter()
    for one, q in ((motion.direction, 1.0), (motion.heading, 1.0), (motion.speed, 0.01)):
        assert one.q == q
        one.x, one.v, one.pxx, one.pxv, one.pvv, one.t_s, one.read_s = 5.0, 0.1, 2.0, 0.3, 0.4, 10.0, 10.0
        one.advance(12.0)
        f = np.array([[1.0, 2.0], [0.0, 1.0]])
        p = f @ np.array([[2.0, 0.3], [0.3, 0.4]]) @ f.T + q * np.array([[8.0 / 3.0, 2.0], [2.0, 2.0]])
        assert [[one.pxx, one.pxv], [one.pxv, one.pvv]] == pytest.approx(p)
        assert one.x == pytest.approx(5.2)


def test_without_a_reading_a_value_goes_on_for_three_seconds() -> None:
    made = RateFilter(0.01)
    made.x, made.v, made.t_s, made.read_s = 5.0, 0.5, 10.0, 10.0
    made.advance(12.5)
    assert made.x == pytest.approx(6.25)
    made.advance(14.0)
    assert made.x == pytest.approx(6.5)
    made.advance(30.0)
    assert made.x == pytest.approx(6.5)
    made.advance(20.0)
    assert made.t_s == 30.0, "never back"


@pytest.mark.parametrize("of_rate", [False, True])
def test_a_reading_moves_value_and_rate_as_kalmans_matrices_do(of_rate: bool) -> None:
    made = RateFilter(0.3, circular=True, x=170.0, v=4.0, pxx=9.0, pxv=1.5, pvv=2.0, t_s=10.0, read_s=10.0)
    p = np.array([[9.0, 1.5], [1.5, 2.0]])
    f, x = np.array([[1.0, 2.0], [0.0, 1.0]]), np.array([178.0, 4.0])
    p = f @ p @ f.T + 0.3 * np.array([[8.0 / 3.0, 2.0], [2.0, 2.0]])
    h = np.array([0.0, 1.0]) if of_rate else np.array([1.0, 0.0])
    gain = p @ h / (h @ p @ h + 3.0**2)
    x = x + gain * ((7.0 - 4.0) if of_rate else (-175.0 + 360.0 - 178.0))
    (made.measure_rate if of_rate else made.measure)(12.0, 7.0 if of_rate else -175.0, 3.0)
    assert (made.x, made.v) == (pytest.approx(wrap_deg(float(x[0]))), pytest.approx(x[1]))
    assert [[made.pxx, made.pxv], [made.pxv, made.pvv]] == pytest.approx(p - np.outer(gain, h @ p))
    assert (made.t_s, made.read_s) == (12.0, 12.0)


def test_the_first_reading_is_taken_as_it_is_and_a_rate_alone_is_none() -> None:
    made = RateFilter(0.3, circular=True)
    made.measure_rate(5.0, 2.0, 1.0)
    assert made.t_s is None
    assert not made.read_since(0.0)
    made.measure(5.0, 190.0, 4.0)
    assert (made.x, made.v, made.pxx, made.pxv, made.t_s) == (-170.0, 0.0, 16.0, 0.0, 5.0)
    assert made.pvv == pytest.approx(1.2)
    assert [made.read_since(t) for t in (5.0, 5.1)] == [True, False]


# -- current and log -----------------------------------------------------------------------------------------------


def test_a_velocity_is_turned_as_if_she_pointed_along_her_leg(monkeypatch: pytest.MonkeyPatch) -> None:
    made, used = CurrentFilter(), []
    made._direction = 0.5  # of the leg; she points 0.1 rad to starboard of it now

    def ground(velocity: Any, noise: float, direction: float, *, compass: bool) -> bool:
        used.append((velocity.tolist(), noise, direction, compass))
        return True

    monkeypatch.setattr(CurrentFilter, "_ground", lambda _, *given, **more: ground(*given, **more))
    made._learn(Means(20.0, True, (1.2 * math.cos(0.9), 1.2 * math.sin(0.9)), 0.5, heading_rad=0.6))
    made._learn(Means(30.0, True, (1.2, 0.0), 0.01, heading_rad=None))
    (turned, noise, direction, compass), other = used
    assert turned == pytest.approx([1.2 * math.cos(0.8), 1.2 * math.sin(0.8)])
    assert (noise, direction, compass) == (0.5, 0.5, True)
    assert other[0] == [1.2, 0.0]
    assert not other[3]
    assert other[1] == 0.025, "no fix is better"


def test_a_velocity_that_does_not_fit_is_tried_once_more_and_the_sixth_begins_anew(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    made, answers = CurrentFilter(), []
    monkeypatch.setattr(CurrentFilter, "_ground", lambda *_, **__: answers.pop(0))
    means = Means(20.0, True, (1.0, 0.0), 0.1, heading_rad=0.0)
    answers += [False, True]
    made._learn(means)
    assert (made.windows, made._rejected, made.begun) == (1, 0, True)
    for k in range(1, 6):
        answers += [False, False]
        made._learn(means)
        assert (made.windows, made._rejected, made.begun) == (1, k, True)
    answers += [False, False]
    made._learn(means)
    assert (made._rejected, made.begun, made._direction) == (0, False, None)
    rest, _ = made.prior.state()
    assert made.x == pytest.approx(rest)


def test_a_boat_at_rest_has_the_doubt_of_the_way_she_points() -> None:
    class Belief:
        scale_sd = 0.1

        def along_sd_m_s(self, course: float) -> float:
            return 0.1 + 0.1 * abs(math.sin(course))

    found: Any = SimpleNamespace(
        belief=Belief(), found=False, said=None, prior=SimpleNamespace(given_m_s=(0.0, 0.0)), scale_found=False,
        along_found=lambda course: course > 1.0,
    )  # fmt: skip
    for velocity, heading, off, missing in (
        ((0.0, 0.0), 90.0, 0.2, ""), ((0.0, 0.0), 0.0, 0.1, "turn"), ((1.0, 0.0), 90.0, 0.1, "turn"),
        ((0.0, 1.0), 0.0, 0.2, ""),
    ):  # fmt: skip
        told = through_water(found, SpeedSource.OVER_GROUND, 1.0, velocity, heading)
        assert told.current_off_m_s == pytest.approx(1.6448536 * off)
        assert told.off_m_s == pytest.approx(1.6448536 * off)
        assert told.missing[:4] == missing
        assert (told.told, told.current_m_s, told.scale) == ("", None, None)
    apart = through_water(found, SpeedSource.OVER_GROUND, 1.0, (1.0, 0.0), 0.0, 0.3)
    assert apart.off_m_s == pytest.approx(math.hypot(0.3, 1.6448536 * 0.1))
    by_wheel = through_water(found, SpeedSource.THROUGH_WATER, 2.0, (1.0, 0.0), 0.0)
    assert by_wheel.off_m_s == pytest.approx(2.0 * 1.6448536 * 0.1), "a share of the speed"
    assert by_wheel.scale_off == pytest.approx(1.6448536 * 0.1)


def test_the_mean_speed_is_that_of_fifteen_seconds() -> None:
    boat = Boat(MotionFilter())
    assert (boat.speed_m_s, boat.heading_deg, boat.mean_m_s) == (0.0, 0.0, None), "nothing was heard yet"
    boat.t_s = 70.0
    boat._speeds.extend([(55.0, 9.0), (56.0, 1.0), (70.0, 3.0)])
    assert boat.mean_m_s == pytest.approx(2.0)


def value(quantity: Quantity, number: Any, **more: Any) -> SensorValue:
    return SensorValue(quantity, SensorState.FRESH, number, 0.5, "hand", "TST", **more)


@pytest.mark.parametrize(
    ("told", "stands", "known"), [(True, False, True), (True, True, False), (False, False, False)]
)
def test_a_heading_is_known_unless_the_course_contradicts_it(
    monkeypatch: pytest.MonkeyPatch, told: bool, stands: bool, known: bool
) -> None:
    boat = Boat(MotionFilter())
    monkeypatch.setattr(Boat, "_compare_compass", lambda *_: None)
    monkeypatch.setattr(type(boat.compass_differs), "stands", stands)
    sensors = {Quantity.HEADING: value(Quantity.HEADING, 90.0)} if told else {}
    boat.step(0.0, sensors)
    assert boat.heading_known is known


@pytest.mark.parametrize(
    ("sd", "before_sd", "told_sd"),
    [
        # an ordinary current is doubted by 0.152 m/s at most; a stronger one only where the crew report it
        ((0.2, 0.1), math.hypot(0.2 * 0.6, 0.1 * 0.8), 0.152),
        ((0.4, 0.5), math.hypot(0.4 * 0.6, 0.5 * 0.8), 0.35),
    ],
)
def test_speeds_are_compared_by_the_current_found_and_by_that_believed_before(
    monkeypatch: pytest.MonkeyPatch, sd: tuple[float, float], before_sd: float, told_sd: float
) -> None:
    boat = Boat(MotionFilter())
    belief = SimpleNamespace(current_m_s=(0.3, -0.1), along_sd_m_s=lambda _: 0.35, scale=1.02, sd_m_s=0.1)
    prior = SimpleNamespace(given_m_s=(0.1, 0.2), current_sd_m_s=sd, scale_sd=0.04)
    asked: list[Any] = []
    monkeypatch.setattr(Boat, "_course_at", lambda *_: math.degrees(math.atan2(0.8, 0.6)))
    monkeypatch.setattr(Boat, "_told_before", lambda *_: belief)
    boat.current = SimpleNamespace(prior=prior)  # type: ignore[assignment]
    boat.speeds_differ = SimpleNamespace(step=lambda *given: asked.append(given))  # type: ignore[assignment]
    boat._compare_speeds(7.0)
    ((t_s, scale, scale_sd, (told, before), course, _),) = asked
    assert (t_s, scale, scale_sd, course) == (7.0, 1.02, 0.04, pytest.approx(53.130102))
    assert tuple(getattr(told, name) for name in told.__slots__) == pytest.approx((0.3 * 0.6 - 0.1 * 0.8, told_sd))
    assert tuple(getattr(before, name) for name in before.__slots__) == pytest.approx(
        (0.1 * 0.6 + 0.2 * 0.8, before_sd)
    )


@pytest.mark.parametrize(
    ("offs", "was"),
    [
        # from 60 to 40 seconds ago; older and newer ones do not count
        ([(FIRST, 10.0, 0.4), (LAST, 20.0, 0.2)], (LAST, 15.0, 0.3)),
        ([(FIRST - 1.0, 180.0, 9.0), (FIRST, 10.0, 0.4), (LAST, 20.0, 0.2), (LAST + 1.0, 180.0, 9.0)],
         (LAST, 15.0, 0.3)),
        ([(FIRST, 350.0, 0.4), (LAST, 4.0, 0.2)], (LAST, 357.0, 0.3)),  # across the north
        ([(FIRST, 4.0, -0.4), (LAST, 350.0, -0.2)], (LAST, -3.0, -0.3)),
        ([(FIRST, 10.0, 0.4), (LAST, 10.0 + ONE_COURSE_DEG, 0.2)], (LAST, 10.0 + ONE_COURSE_DEG / 2.0, 0.3)),
        ([(FIRST, 10.0, 0.4), (LAST, 10.1 + ONE_COURSE_DEG, 0.2)], None),  # she turned
        ([(FIRST - 1.0, 10.0, 0.4), (LAST + 1.0, 10.0, 0.2)], None),
    ],
)  # fmt: skip
def test_the_difference_of_before_is_the_mean_on_one_course(
    offs: list[tuple[float, float, float]], was: tuple[float, float, float] | None
) -> None:
    test = LogAgainstGround()
    for t, course, off in offs:
        for _ in range(LEAST_BEFORE):
            test._offs.append((t, course, off))
    found = test._before(NOW)
    assert (None if found is None else (found.t_s, found.course_deg, found.off_m_s)) == (
        was if was is None else pytest.approx(was)
    )
    few = LogAgainstGround()
    for k in range(LEAST_BEFORE):
        assert few._before(NOW) is None, k
        few._offs.append((LAST, 10.0, 0.2))
    assert few._before(NOW) is not None


# -- the water -----------------------------------------------------------------------------------------------------


def waters(water: str) -> Waters:
    return Waters.of(parse_spread(SPREAD + water))


SPREAD = """
[line.wire]
material = "stainless steel"
diameter = "0.5 mm"
[tackle.fly]
kind = "lure"
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
chain = [ { line = "wire", out = "15 m" }, { tackle = "fly" } ]
"""
LAYERS = """
[water]
current = [ { depth = "0 m", speed = "0.1 m/s", towards = "0 deg" },
            { depth = "10 m", speed = "0.3 m/s", towards = "90 deg" } ]
"""


@pytest.mark.parametrize("heading", [0.0, 30.0, 200.0])
def test_the_current_below_the_surface_in_the_boats_axes(heading: float) -> None:
    """Forward and to starboard: by complex numbers, whose argument is a direction clockwise from north."""
    made, boat = waters(LAYERS), SimpleNamespace(heading_deg=heading)
    assert made.surface_current_m_s == pytest.approx((0.1, 0.0))
    depths, velocities = made.in_boat_axes(boat)  # type: ignore[misc,arg-type]
    assert depths == [0.0, 10.0]
    below = complex(-0.1, 0.3) * np.exp(-1j * math.radians(heading))
    assert velocities[0] == pytest.approx((0.0, 0.0))
    assert velocities[1] == pytest.approx((below.real, below.imag))
    assert waters("").in_boat_axes(boat) is None  # type: ignore[arg-type]
    assert waters("").surface_current_m_s == (0.0, 0.0)


def gauge(t_s: float, depth_m: float, temperature_c: float) -> Gauge:
    time = f"2026-07-18T23:00:{t_s:02.0f}Z"
    made = parse(
        {"id": f"g{t_s:g}", "time": time, "kind": "gauge", "depth_m": depth_m, "temperature_c": temperature_c}
    )
    assert isinstance(made, Gauge)
    return made


@pytest.mark.parametrize(("apart_m", "both"), [(0.59, False), (0.61, True)])
def test_a_reading_within_two_feet_replaces_an_older_one(apart_m: float, both: bool) -> None:
    made = waters("").column([gauge(1, 20.0, 9.0), gauge(2, 20.0 + apart_m, 8.0)], {}, None)
    assert len(made.depths_m) == (2 if both else 1)
    assert made.temperature_c(20.0 + apart_m) == pytest.approx(8.0)


@pytest.mark.parametrize(("at_m", "counts"), [(0.59, False), (0.61, True)])
def test_the_surface_counts_once_something_deeper_is_known(at_m: float, counts: bool) -> None:
    felt = {Quantity.WATER_TEMPERATURE: value(Quantity.WATER_TEMPERATURE, 18.0)}
    made = waters("").column([gauge(1, 0.5 + at_m, 9.0)], felt, 0.5)
    assert len(made.depths_m) == (2 if counts else 1)


@pytest.mark.parametrize(("transducer_m", "at_m"), [(None, 0.0), (0.0, 0.0), (0.5, 0.5)])
def test_the_surface_temperature_is_at_the_transducer_and_else_at_the_surface(
    transducer_m: float | None, at_m: float
) -> None:
    felt = {Quantity.WATER_TEMPERATURE: value(Quantity.WATER_TEMPERATURE, 18.0)}
    made = waters("").column([gauge(1, 10.0, 9.0)], felt, transducer_m)
    assert made.pairs == ((at_m, 18.0), (10.0, 9.0))


def test_a_probes_pair_counts_at_its_depth() -> None:
    felt = {
        Quantity.PROBE_DEPTH: value(Quantity.PROBE_DEPTH, 12.0),
        Quantity.PROBE_TEMPERATURE: value(Quantity.PROBE_TEMPERATURE, 7.5),
    }
    assert waters("").column([gauge(1, 10.0, 9.0)], felt, None).pairs == ((10.0, 9.0), (12.0, 7.5))
    assert waters("").column([], {Quantity.PROBE_DEPTH: felt[Quantity.PROBE_DEPTH]}, None).pairs == ()


# -- what was believed before ----------------------------------------------------------------------------------------


def test_speeds_are_compared_by_what_was_believed_two_minutes_ago() -> None:
    """Kept every ten seconds. A current that the crew enters counts at once, and the comparison begins anew."""
    boat = Boat(MotionFilter())
    forgot: list[float] = []
    told: Any = SimpleNamespace(said=None, belief=0)
    boat.current, boat.speeds_differ = told, SimpleNamespace(forget=lambda: forgot.append(told.belief))  # type: ignore[assignment]
    found = []
    for t in range(301):
        told.belief = t
        found.append(boat._told_before(float(t)))
    assert forgot == []
    assert [found[t] for t in (0, 9, 119, 120, 129, 130, 300)] == [0, 0, 0, 0, 0, 10, 180]
    told.said, told.belief = "entered", 999
    assert boat._told_before(301.0) == 999
    assert forgot == [999]
    assert boat._told_before(302.0) == 999
    assert forgot == [999], "once"


# -- twins -----------------------------------------------------------------------------------------------------------


def test_two_sounders_are_held_against_each_other_over_six_seconds() -> None:
    """A metre and 4 % of the lesser depth are one deviation; the root mean square of six seconds counts."""
    from sternwatch.watch.boat.twins import Twin

    def z(own: float, *others: float, t_s: float = 0.0) -> list[float]:
        twin = Twin(Quantity.BOTTOM)
        twin.step(t_s, value(Quantity.BOTTOM, own), [value(Quantity.BOTTOM, one) for one in others])
        return [round(one, 6) for _, one in twin._z]

    sd = 1.0 + 0.04 * 20.0
    assert z(20.0, 25.0) == [round(5.0 / sd, 6)]
    assert z(25.0, 20.0) == [round(-5.0 / sd, 6)]
    assert z(20.0, 21.0, 15.0) == [round(-5.0 / (1.0 + 0.04 * 15.0), 6)], "the one that differs most"
    assert z(20.0) == []
    twin, stood = Twin(Quantity.BOTTOM), []
    for t in range(30):
        apart = 5.5 if t >= 10 else 0.0  # a little more than three deviations
        twin.step(float(t), value(Quantity.BOTTOM, 20.0), [value(Quantity.BOTTOM, 20.0 + apart)])
        assert len(twin._z) == min(t + 1, 6)
        stood.append(twin.stands)
    # From 15 s on all six differ, and eight seconds later it is said.
    assert stood == [t >= 22 for t in range(30)]
    silent = twin.copy()
    silent.step(40.0, value(Quantity.BOTTOM, 20.0), [])
    assert len(silent._z) == 0
    assert len(twin._z) == 6
    few = Twin(Quantity.BOTTOM)
    for t in range(40):
        few.step(float(t), value(Quantity.BOTTOM, 20.0), [value(Quantity.BOTTOM, 60.0)] if t % 2 else [])
    assert not few.stands, "three of six seconds are too few"
    few.step(40.0, value(Quantity.BOTTOM, 20.0), [value(Quantity.BOTTOM, 60.0)])
    for t in range(41, 60):
        few.step(float(t), value(Quantity.BOTTOM, 20.0), [value(Quantity.BOTTOM, 60.0)])
    assert few.stands


# -- log and ground, second by second --------------------------------------------------------------------------------


def counted(
    monkeypatch: pytest.MonkeyPatch, *told: tuple[float, bool], stands: bool = False
) -> list[tuple[Any, ...]]:
    """What counts for a contradiction after each second: (stands, seconds, seconds of a change)."""
    from sternwatch.watch.boat import contradiction as module

    made, waiting = LogAgainstGround(), list(told)
    made.stands = stands
    monkeypatch.setattr(module, "_median", lambda *_: 1.0)
    monkeypatch.setattr(module, "_jump", lambda _: 0.0)
    monkeypatch.setattr(module, "_share", lambda *_, **__: waiting[0][0])
    monkeypatch.setattr(LogAgainstGround, "_changed", lambda *_: waiting[0][1])
    explains: Any = SimpleNamespace(along_m_s=0.0, sd_m_s=0.1)
    found = []
    made.step(0.0, 1.0, 0.03, (explains,))
    for t in range(1, len(told) + 1):
        made.step(float(t), 1.0, 0.03, (explains,))
        found.append((made.stands, made._for_s, made._changed_for_s))
        waiting.pop(0)
    return found


def test_a_contradiction_is_said_after_eleven_seconds_apart_or_twelve_of_a_change(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    apart = counted(monkeypatch, *[(1.0, False)] * 12)
    assert [one[0] for one in apart] == [False] * 10 + [True] * 2
    assert apart[9] == (False, 10.0, 0.0)
    assert apart[10] == (True, 0.0, 0.0)
    half = counted(monkeypatch, *[(0.5, False)] * 23)
    assert [one[0] for one in half].index(True) == 21
    back = counted(monkeypatch, *[(1.0, False)] * 5, *[(-1.0, False)] * 9)
    assert [one[1] for one in back] == [1.0, 2.0, 3.0, 4.0, 5.0, 4.0, 3.0, 2.0, 1.0, 0.0, 0.0, 0.0, 0.0, 0.0]
    changed = counted(monkeypatch, *[(-1.0, True)] * 13)
    assert [one[0] for one in changed] == [False] * 11 + [True] * 2


def test_it_is_over_after_twenty_seconds_in_which_both_agree(monkeypatch: pytest.MonkeyPatch) -> None:
    over = counted(monkeypatch, *[(-1.0, False)] * 21, stands=True)
    assert [one[0] for one in over] == [True] * 19 + [False] * 2
    mixed = counted(monkeypatch, *[(-0.1, False)] * 10, *[(0.1, True)] * 3, *[(-1.0, False)] * 13, stands=True)
    assert mixed[9] == (True, 10.0, 10.0), "whether it is far apart does not matter, only whether it is"
    assert mixed[12] == (True, 7.0, 7.0)
    assert [one[0] for one in mixed].index(False) == 25
    still = counted(monkeypatch, *[(-1.0, True)] * 40, stands=True)
    assert all(one[0] for one in still), "the difference is another than it was"


@pytest.mark.parametrize(
    ("stands", "was", "changed"),
    [(True, True, True), (True, False, False), (False, True, False), (False, False, False)],
)
def test_while_she_hardly_moves_a_change_stands_as_it_stood(stands: bool, was: bool, changed: bool) -> None:
    from sternwatch.watch.boat.contradiction import Was

    made = LogAgainstGround()
    made.stands, made._was = stands, Was(0.0, 0.0, 0.0) if was else None
    for log, ground in ((0.6, 1.0), (1.0, 0.6), (0.0, 0.0)):
        made.log_m_s, made.ground_m_s = log, ground
        assert made._changed(5.0, 0.0, 9.0, 0.1) is changed


# -- which way she goes ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("through_water", "heading", "goes"), [(True, True, 20.0), (True, False, 60.0), (False, True, 60.0)]
)
def test_through_the_water_she_goes_where_she_points_and_over_ground_along_her_course(
    through_water: bool, heading: bool, goes: float
) -> None:
    boat = Boat(MotionFilter())
    boat.filters.heading.measure(0.0, 20.0, 4.0)
    boat.filters.direction.measure(0.0, 60.0, 4.0)
    boat.source = SpeedSource.THROUGH_WATER if through_water else SpeedSource.OVER_GROUND
    boat.heading_known = heading
    assert boat._way().x == goes
    boat.filters.direction.reset()
    assert boat._way().x == 20.0, "nothing else is known"


@pytest.mark.parametrize(
    ("sog", "course", "way", "told"),
    [(1.0, 90.0, True, True), (None, 90.0, True, False), (1.0, None, True, False), (1.0, 90.0, False, False),
     (0.0, 0.0, True, True)],
)  # fmt: skip
def test_her_drift_is_told_by_speed_and_course_over_ground_once_her_way_is_known(
    sog: float | None, course: float | None, way: bool, told: bool
) -> None:
    """Her velocity through the water is half a metre a second to the north."""
    boat = Boat(MotionFilter())
    boat.way_known, boat._velocity = way, (0.5, 0.0)
    given = ((Quantity.SOG, sog), (Quantity.COG, course))
    boat._tell_drift(5.0, {q: value(q, number) for q, number in given if number is not None})
    assert (boat.drift.now_m_s is not None) is told
    if sog == 1.0 and told:
        assert boat.drift.now_m_s == pytest.approx((-0.5, 1.0))


def test_the_first_measured_course_ends_an_assumed_one_and_lines_are_laid_anew() -> None:
    boat = Boat(MotionFilter())
    boat.filters.speed.measure(0.0, 1.0, 0.1)
    boat.way_assumed = boat.way_known = True
    boat._assume_way(5.0, {})
    assert (boat.way_assumed, boat.way_known) == (True, True)
    boat.filters.direction.measure(6.0, 60.0, 4.0)
    boat._assume_way(6.0, {})
    assert (boat.way_assumed, boat.way_known) == (False, False)


@pytest.mark.parametrize(("reference", "magnetic"), [("magnetic", True), ("true", False), ("", False)])
def test_a_compass_is_compared_as_what_it_says_that_it_is(reference: str, magnetic: bool) -> None:
    boat, told = Boat(MotionFilter()), []  # type: ignore[var-annotated]
    boat.compass_differs = SimpleNamespace(  # type: ignore[assignment]
        stands=False, step=lambda *given, magnetic: told.append((*given[:4], magnetic))
    )
    now = {
        Quantity.HEADING: value(Quantity.HEADING, 20.0, reference=reference), Quantity.SOG: value(Quantity.SOG, 1.2),
        Quantity.COG: value(Quantity.COG, 25.0), Quantity.STW: value(Quantity.STW, 0.9),
    }  # fmt: skip
    boat._compare_compass(5.0, now)
    assert told == [(5.0, 20.0, 25.0, 0.9, magnetic)], "the lesser of both speeds"
    boat.speeds_differ.stands = True
    boat._compare_compass(6.0, now)
    assert told[-1][3] == 1.2, "a log that is doubted does not count"
    boat._compare_compass(7.0, {})
    assert told[-1] == (7.0, None, None, 0.0, False)


@pytest.mark.parametrize(
    ("before", "after", "laid_anew"), [(False, True, True), (True, False, True), (True, True, False)]
)
def test_where_another_direction_counts_from_now_on_lines_are_laid_anew(
    before: bool, after: bool, laid_anew: bool
) -> None:
    """She has not turned: the compass came into doubt, or out of it."""
    boat = Boat(MotionFilter())
    boat.compass_differs = SimpleNamespace(stands=before)  # type: ignore[assignment]
    boat.compass_differs.step = lambda *_, **__: setattr(boat.compass_differs, "stands", after)  # type: ignore[method-assign]
    boat.way_known = True
    boat._compare_compass(5.0, {})
    assert boat.way_known is not laid_anew


# -- a turn that ends while her speed changes ------------------------------------------------------------------------


def test_a_turns_last_step_has_the_speed_of_its_own_end() -> None:
    """From 1 to 0.4 m/s in 60 s, after a wait of 20; a quarter of a circle in 33.3 s ends on the way."""
    plan = Manoeuvre("plan", math.pi / 2.0, math.pi / 2.0 / 33.3, to_speed_m_s=0.4, speed_change_s=60.0, wait_s=20.0)
    path = path_of(plan, heading_rad=0.0, speed_m_s=1.0)
    ended = int(np.argmax(path.heading_rad >= math.pi / 2.0 - 1e-9))
    assert path.time_s[ended] == pytest.approx(53.3)
    for k, t in enumerate(path.time_s.tolist()):
        assert path.speed_m_s[k] == pytest.approx(1.0 - 0.01 * min(max(t - 20.0, 0.0), 60.0)), t
    by_radius = path_of(
        Manoeuvre("plan", math.pi / 2.0, radius_m=20.0, to_speed_m_s=0.4, speed_change_s=60.0, wait_s=20.0),
        heading_rad=0.0, speed_m_s=1.0,
    )  # fmt: skip
    for k, t in enumerate(by_radius.time_s.tolist()):
        assert by_radius.speed_m_s[k] == pytest.approx(1.0 - 0.01 * min(max(t - 20.0, 0.0), 60.0), abs=2e-3), t

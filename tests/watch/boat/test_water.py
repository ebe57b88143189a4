"""Temperature with depth: from the file, the crew's gauge, a probe and the surface; who is in the zone."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from sternwatch.feed.readings import Quantity, Sensors, SensorState, SensorValue
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.logbook.actions.kinds import Gauge, parse
from sternwatch.watch.boat.water import Waters, _readable, bottom_m
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.water.properties import HIGHEST_C, LOWEST_C, fresh_water

SPREAD = """
[boat]
name = "hand boat"
transducer_depth = "0.5 m"
{water}
[line.wire]
material = "stainless steel"
diameter = "0.5 mm"
[tackle.ball]
kind = "ball"
mass = "10 lb"
[tackle.fly]
kind = "lure"
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = {{ astern = "2 ft", abeam = "3 ft", height = "3 ft" }}
chain = [ {{ line = "wire", out = "15 m" }}, {{ tackle = "ball" }}, {{ line = "wire", length = "5 m" }},
          {{ tackle = "fly" }} ]
"""
FILE = '[water]\nprofile = [ { depth = "0 m", temperature = "18 degC" }, { depth = "30 m", temperature = "6 degC" } ]'


def waters(profile: str = "") -> Waters:
    return Waters.of(parse_spread(SPREAD.format(water=profile)))


def gauge(t_s: float, depth_m: float, temperature_c: float | None = None, speed_m_s: float | None = None) -> Gauge:
    given = {
        "id": f"g{t_s:g}", "time": datetime.fromtimestamp(1e9 + t_s, UTC), "elapsed_s": t_s, "kind": "gauge",
        "depth_m": depth_m,
    }  # fmt: skip
    given |= {} if temperature_c is None else {"temperature_c": temperature_c}
    made = parse(given | ({} if speed_m_s is None else {"speed_m_s": speed_m_s}))
    assert isinstance(made, Gauge)
    return made


def sensors(
    values: Mapping[Quantity, float], *, state: SensorState = SensorState.FRESH, suspect: str = ""
) -> Sensors:
    return {q: SensorValue(q, state, value, 1.0, "hand", "TST", suspect) for q, value in values.items()}


SURFACE = {Quantity.WATER_TEMPERATURE: 17.0}
NOTHING: Sensors = {}


def test_the_surface_alone_says_nothing_about_the_depths() -> None:
    assert waters().column((), sensors(SURFACE), 0.5).pairs == ()
    # Nor does a reading right beneath the transducer.
    assert waters().column((gauge(1, 0.9, 16.9),), sensors(SURFACE), 0.5).pairs == ((0.9, 16.9),)


def test_one_reading_below_and_the_surface_make_a_column() -> None:
    column = waters().column((gauge(1, 20.0, 8.0),), sensors(SURFACE), 0.5)
    assert column.pairs == ((0.5, 17.0), (20.0, 8.0))
    assert column.temperature_c(10.25) == pytest.approx(12.5)
    assert column.temperature_c(20.5) is None


@pytest.mark.parametrize("felt", [
    NOTHING, sensors(SURFACE, state=SensorState.SILENT), sensors(SURFACE, suspect="a jump"),
    sensors({Quantity.WATER_TEMPERATURE: 45.0}),
])  # fmt: skip
def test_a_surface_that_is_old_doubted_or_impossible_is_left_out(felt: Sensors) -> None:
    assert waters().column((gauge(1, 20.0, 8.0),), felt, 0.5).pairs == ((20.0, 8.0),)


def test_later_words_stand_before_earlier_ones_whatever_the_order_of_storing() -> None:
    read = (gauge(30, 20.0, 9.0), gauge(10, 20.0, 7.0), gauge(20, 20.5, 8.0), gauge(40, 10.0, 15.0))
    assert waters(FILE).column(read, NOTHING, 0.5).pairs == ((0.0, 18.0), (10.0, 15.0), (20.0, 9.0), (30.0, 6.0))


def test_the_surface_now_stands_before_the_files() -> None:
    assert waters(FILE).column((), sensors(SURFACE), 0.5).pairs == ((0.5, 17.0), (30.0, 6.0))


def test_a_probe_is_a_point_where_it_is_now() -> None:
    probe = sensors({Quantity.PROBE_DEPTH: 21.0, Quantity.PROBE_TEMPERATURE: 9.5})
    assert waters().column((gauge(1, 30.0, 6.0),), probe, 0.5).pairs == ((21.0, 9.5), (30.0, 6.0))
    # Without its depth it is no point of the column.
    assert waters().column((), sensors({Quantity.PROBE_TEMPERATURE: 9.5}), 0.5).pairs == ()
    assert (
        waters().column((), sensors({Quantity.PROBE_DEPTH: 21.0, Quantity.PROBE_TEMPERATURE: 49.0}), 0.5).pairs == ()
    )


def test_a_speed_read_at_a_depth_is_no_temperature() -> None:
    assert waters().column((gauge(1, 20.0, speed_m_s=0.9),), NOTHING, 0.5).pairs == ()


@pytest.fixture
def at_sea(hand_feed: Callable[[Watch], Any]) -> tuple[Watch, Any]:
    """A downrigger with its lure at about 14 m, in water of 16 °C at the surface."""
    watch = new_watch(
        Setup(parse_spread(SPREAD.format(water="")), start="fishing", zone_c=(9.0, 12.0), zone_name="coho", members=0)
    )
    feed = hand_feed(watch)
    feed.run(60, each=lambda: feed.say(Quantity.WATER_TEMPERATURE, 16.0, "MTW"))
    return watch, feed


def test_the_lure_has_the_columns_temperature_and_is_in_the_zone_or_not(at_sea: tuple[Watch, Any]) -> None:
    watch, feed = at_sea
    rod = watch.picture().rods[0]
    assert rod.depth_m is not None
    assert (rod.temperature_c, rod.in_zone) == (None, None)
    depth = rod.depth_m

    watch.act(gauge(feed.t_s, 20.0, 8.0))
    feed.run(2, each=lambda: feed.say(Quantity.WATER_TEMPERATURE, 16.0, "MTW"))
    picture = watch.picture()
    rod = picture.rods[0]
    assert rod.depth_m is not None
    wanted = 16.0 + (rod.depth_m - 0.5) / (20.0 - 0.5) * (8.0 - 16.0)
    assert rod.temperature_c == pytest.approx(wanted, abs=1e-9)
    assert 9.0 < wanted < 12.0, "about 14 m down"
    assert rod.in_zone is True
    assert (picture.zone_c, picture.zone_name) == ((9.0, 12.0), "coho")

    watch.act(gauge(feed.t_s, depth - 2.0, 8.0))
    feed.run(2, each=lambda: feed.say(Quantity.WATER_TEMPERATURE, 16.0, "MTW"))
    assert watch.picture().rods[0].in_zone is False


def test_a_reading_taken_back_is_as_if_it_had_never_been(at_sea: tuple[Watch, Any]) -> None:
    watch, feed = at_sea
    read = gauge(feed.t_s, 20.0, 8.0)
    watch.act(read)
    feed.run(1)
    assert watch.picture().rods[0].temperature_c is not None
    at = datetime.fromtimestamp(1e9 + feed.t_s, UTC)
    watch.act(parse({"id": "u", "time": at, "elapsed_s": feed.t_s, "kind": "undo", "of": read.id}))
    feed.run(1)
    assert watch.picture().rods[0].temperature_c is None
    assert watch.picture().temperature_profile == ()


def test_the_newest_speed_read_at_a_depth_is_in_the_picture(at_sea: tuple[Watch, Any]) -> None:
    watch, feed = at_sea
    assert watch.picture().depth_speed is None
    watch.act(gauge(feed.t_s - 5.0, 18.0, speed_m_s=0.8))
    watch.act(gauge(feed.t_s - 2.0, 20.0, speed_m_s=0.9))
    feed.run(1)
    read = watch.picture().depth_speed
    assert read is not None
    assert (read.speed_m_s, read.depth_m, read.t_s) == (0.9, 20.0, feed.t_s - 3.0)


@pytest.mark.parametrize(
    ("felt", "counts"), [(LOWEST_C, True), (HIGHEST_C, True), (LOWEST_C - 0.1, False), (HIGHEST_C + 0.1, False)]
)
def test_water_has_the_density_of_what_the_feed_feels_if_that_can_be(felt: float, counts: bool) -> None:
    own = waters()
    made = own.water(sensors({Quantity.WATER_TEMPERATURE: felt}))
    assert made == fresh_water(felt if counts else own.spec.temperature_c)
    assert own.water() == fresh_water(own.spec.temperature_c)
    assert own.water({}) == own.water()


@pytest.mark.parametrize(
    ("depth", "degrees", "readable"),
    [
        (0.0, 10.0, True), (-0.1, 10.0, False), (500.0, 10.0, True), (500.1, 10.0, False),
        (5.0, -2.0, True), (5.0, -2.1, False), (5.0, 40.0, True), (5.0, 40.1, False),
    ],
)  # fmt: skip
def test_what_a_sensor_may_send_of_the_water(depth: float, degrees: float, readable: bool) -> None:
    assert _readable(depth, degrees) is readable


@pytest.mark.parametrize("reference", ["transducer", "surface"])
def test_a_doubted_sounding_tells_no_bottom(reference: str) -> None:
    sounding = SensorValue(Quantity.BOTTOM, SensorState.FRESH, 20.0, 0.0, reference=reference)
    deeper = 0.5 if reference == "transducer" else 0.0
    assert bottom_m({Quantity.BOTTOM: sounding}, 0.5) == 20.0 + deeper
    assert bottom_m({Quantity.BOTTOM: sounding}, None) == 20.0, "which errs on the shallow side"
    assert bottom_m({Quantity.BOTTOM: replace(sounding, suspect="a jump")}, 0.5) is None
    assert bottom_m({}, 0.5) is None

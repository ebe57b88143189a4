"""The bottom that rises under a ball and under a long line: told before it is touched, never on one reading alone."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from sternwatch.debrief.trip.touches import of_chains, of_picture
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.soundings import Charted
from sternwatch.watch.bottom.room import Ahead, Below
from sternwatch.watch.bottom.room import Ground as Room
from sternwatch.watch.bottom.slope import slope_of
from sternwatch.watch.bottom.soundings import Sounding, Soundings, local_degrees, local_metres
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.alert import Alert, Priority
from sternwatch.watch.picture.model import RodPicture

# As agreed: a change of one is to be noticed.
REACH_M = 12.0

# A copper line a long way back and a ball nearly under the boat.
SPREAD = """
[boat]
name = "hand boat"
[line.copper]
material = "copper"
diameter = "0.9 mm"
[line.wire]
material = "stainless steel"
diameter = "0.6 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.ball]
kind = "ball"
mass = "12 lb"
[tackle.spoon]
kind = "lure"
[[rod]]
key = "1"
name = "LONG"
side = "centre"
tip = { astern = "1 ft", height = "5 ft" }
chain = [ { line = "copper", out = "250 ft" }, { line = "mono", length = "10 ft" }, { tackle = "spoon" } ]
[[rod]]
key = "2"
name = "DOWN"
side = "starboard"
tip = { astern = "2 ft", abeam = "3 ft", height = "3 ft" }
BOTTOM
chain = [ { line = "wire", out = "60 ft" }, { tackle = "ball" },
  { line = "mono", length = "6 ft", adjust = true }, { tackle = "spoon" } ]
"""


@pytest.fixture(scope="module")
def spread() -> Spread:
    return parse_spread(SPREAD.replace("BOTTOM\n", ""))


@pytest.fixture
def sail(spread: Spread, hand_feed: Callable[[Watch], Any]) -> Callable[..., Any]:
    """Makes a feed whose watch has no members: intervals are not what is asked here."""

    def make(**setup: Any) -> Any:
        return hand_feed(new_watch(Setup(setup.pop("spread", spread), start="fishing", members=0, **setup)))

    return make


def _rod(feed: Any, key: str) -> RodPicture:
    return next(rod for rod in feed.watch.picture().rods if rod.key == key)


def _alerts(feed: Any) -> list[Alert]:
    return [alert for alert in feed.watch.picture().alerts if alert.kind == "bottom touch"]


def _rise(feed: Any, key: str, seconds: int, from_m: float, per_s: float) -> Alert | None:
    """Over a bottom that rises; the alert of a rod the moment it stands."""
    for k in range(seconds):
        feed.run(1, bottom=from_m - per_s * k)
        if found := [alert for alert in _alerts(feed) if alert.keys == (key,)]:
            return found[0]
    return None


def test_a_long_line_is_warned_for_by_the_bottom_the_boat_has_passed(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(200, bottom=40.0)
    deep = _rod(feed, "1").depth_m
    back = _rod(feed, "1").astern_m
    assert deep is not None
    assert back is not None
    assert back > 40.0
    assert _alerts(feed) == []
    feed.run(15, bottom=deep - 1.0)  # a step up under the boat, the lure a minute behind it
    alert = next(alert for alert in _alerts(feed) if alert.keys == ("1",))
    assert alert.priority is Priority.WARNING
    assert alert.text == f"1 LONG: spoon touches bottom at {(deep - 1.0) / 0.3048:.0f} ft"
    assert alert.advice.startswith("Take in about ")
    # The step was passed up to fifteen seconds ago; the lure comes to it a lure's distance later.
    assert alert.time_left_s == pytest.approx(back - 15.0, abs=9.0)
    bottom = _rod(feed, "1").bottom
    assert bottom is not None
    assert bottom.touches == "spoon"
    assert bottom.raise_m == pytest.approx(2.0, abs=0.05)  # a metre too deep, and a metre to spare


def test_what_was_said_comes_true(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(200, bottom=40.0)
    deep = _rod(feed, "1").depth_m
    assert deep is not None
    feed.run(15, bottom=deep - 1.0)
    left = _rod(feed, "1").bottom.touches_s  # type: ignore[union-attr]
    assert left is not None
    feed.run(int(left) - 8, bottom=deep - 1.0)
    assert _rod(feed, "1").clearance_m > 5.0  # type: ignore[operator]
    feed.run(18, bottom=deep - 1.0)
    assert _rod(feed, "1").clearance_m < 0.0  # type: ignore[operator]
    assert any(alert.text.startswith("1 LONG: spoon is on the bottom") for alert in _alerts(feed))


def test_a_ball_is_warned_for_by_the_slope_and_the_warning_is_short(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(150, bottom=40.0)
    alert = _rise(feed, "2", 120, 40.0, 0.3)
    assert alert is not None
    assert "touches bottom" in alert.text
    assert alert.text.endswith("if the bottom keeps rising like this")
    assert alert.advice.startswith("Raise the ball ")
    assert 10.0 < alert.time_left_s < 45.0  # type: ignore[operator]


def test_a_step_that_lies_behind_is_no_slope(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(150, bottom=40.0)
    for _ in range(30):
        feed.run(1, bottom=30.0)
        slope = feed.watch.bottom.ground.slope
        assert slope is None or slope.shoalest_m > 24.0
        assert not _alerts(feed)


def test_an_earlier_trip_warns_the_ball_where_the_sounder_cannot(sail: Callable[..., Any]) -> None:
    # A wall that rises 20 m at once, 120 m ahead: nothing under the boat tells of it.
    wall = [Charted(*local_degrees((47.0, -90.0), (270.0 + 5.0 * k, 0.0)), 12.0, 1_783_000_000.0) for k in range(12)]
    without, feed = sail(), sail(charted=tuple(wall))
    for one in (without, feed):
        one.run(170, bottom=40.0)
    assert not _alerts(without)
    alert = next(alert for alert in _alerts(feed) if alert.keys == ("2",))
    assert not alert.text.endswith("as it does")
    assert alert.time_left_s == pytest.approx(100.0, abs=20.0)
    feed.run(115, bottom=None)  # the sounder says nothing now: what is left is what the trip before sounded
    bottom = _rod(feed, "2").bottom
    assert bottom is not None
    assert bottom.earlier
    assert bottom.room_m < 0.0
    assert bottom.age_s == pytest.approx(1_000_000.0 + feed.t_s, abs=2.0)  # the hand feed's clock begins at 1.784e9
    assert feed.watch.picture().bottom_age_s == pytest.approx(bottom.age_s, abs=2.0)


def test_where_nothing_ahead_is_known_a_close_ball_says_how_little_warning_there_is(
    sail: Callable[..., Any],
) -> None:
    feed = sail()
    feed.run(60, bottom=40.0)
    deep = _rod(feed, "2").depth_m
    assert deep is not None
    feed.run(90, bottom=deep + 3.0)
    alerts = [alert for alert in feed.watch.picture().alerts if alert.kind == "bottom near"]
    assert [alert.keys for alert in alerts] == [("2",)]
    assert alerts[0].priority is Priority.CAUTION
    assert "off the bottom, at most" in alerts[0].text
    known = _rod(feed, "2").bottom.known_s  # type: ignore[union-attr]
    assert known is not None
    assert known < 20.0


ON_PURPOSE = parse_spread(SPREAD.replace("BOTTOM", 'bottom = "on purpose"\nclearance = "2 ft"'))


def _kinds(feed: Any, key: str) -> list[str]:
    return [alert.kind for alert in feed.watch.picture().alerts if alert.keys == (key,)]


def test_a_rod_fished_on_the_bottom_has_its_clearance_and_no_alert(sail: Callable[..., Any]) -> None:
    feed = sail(spread=ON_PURPOSE)
    feed.run(60, bottom=40.0)
    ball = _rod(feed, "2").points[0].depth_m
    feed.run(40, bottom=ball + 0.6)
    rod = _rod(feed, "2")
    assert rod.clearance_wanted_m == pytest.approx(0.6096)
    assert rod.bottom is not None
    assert 0.0 < rod.bottom.room_m < 1.0
    assert [kind for kind in _kinds(feed, "2") if kind != "bottom near"] == []


def test_a_lure_that_would_run_far_under_the_bottom_drags_even_on_purpose(sail: Callable[..., Any]) -> None:
    feed = sail(spread=ON_PURPOSE)
    feed.run(60, bottom=40.0)
    deep = _rod(feed, "2").depth_m
    assert deep is not None
    feed.run(40, bottom=deep - 7 * 0.3048)
    alert = next(alert for alert in feed.watch.picture().alerts if alert.kind == "dragging")
    assert alert.keys == ("2",)
    touch = {key: room_m for key, room_m, _ in of_chains(feed.watch.bottom.ground, feed.watch.chains)}
    assert touch == {"2": pytest.approx(-7 * 0.3048, abs=0.2)}, "listed in the debrief; rod 1 is not there on purpose"
    assert list(of_picture(feed.watch.picture())) == [
        (key, pytest.approx(room_m), pytest.approx(deep - 7 * 0.3048, abs=0.2)) for key, room_m in touch.items()
    ]
    assert alert.text == "2 DOWN: spoon drags, its depth would be 7 ft below the bottom"
    assert alert.advice.startswith("Raise the ball ")


def test_the_ball_of_a_rod_on_the_bottom_is_cued_before_a_hump_that_is_known(sail: Callable[..., Any]) -> None:
    hump = [Charted(*local_degrees((47.0, -90.0), (270.0 + 5.0 * k, 0.0)), 12.0, 1_783_000_000.0) for k in range(12)]
    feed = sail(spread=ON_PURPOSE, charted=tuple(hump))
    feed.run(170, bottom=40.0)
    alert = next(alert for alert in _alerts(feed) if alert.keys == ("2",))
    assert alert.text.startswith("2 DOWN: ball touches bottom")
    assert alert.time_left_s is not None
    assert alert.time_left_s >= 60.0
    assert _rod(feed, "2").bottom.touches_s is not None  # type: ignore[union-attr]


def test_the_ball_counts_where_it_hangs_lower_than_the_lure(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(90, bottom=30.0)
    rod = _rod(feed, "2")
    ball, spoon = rod.points
    assert ball.clearance_m == pytest.approx(30.0 - ball.depth_m)
    assert rod.clearance_m == pytest.approx(30.0 - spoon.depth_m)
    assert rod.bottom is not None
    lower = min(rod.points, key=lambda p: p.clearance_m or 0.0)
    assert (rod.bottom.what, rod.bottom.room_m) == (lower.what, lower.clearance_m)


def test_one_wrong_sounding_alarms_nobody(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(150, bottom=26.0)
    for _ in range(3):
        feed.run(1, bottom=23.5)  # within what the gate lets pass
        feed.run(1, bottom=20.9)
        feed.run(40, bottom=26.0)
        assert not _alerts(feed)
    assert min(s.depth_m for s in feed.watch.bottom.soundings.back()) > 22.0


def test_in_a_turn_nothing_is_said_of_what_lies_straight_on(sail: Callable[..., Any]) -> None:
    feed = sail()
    feed.run(200, bottom=40.0)
    deep = _rod(feed, "1").depth_m
    assert deep is not None
    feed.run(12, turn_deg_s=4.0, bottom=40.0)
    feed.run(12, turn_deg_s=4.0, bottom=deep - 1.0)
    assert feed.watch.bottom.ground.turning
    assert all(ahead.touches_s is None for ahead in feed.watch.bottom.ground.ahead.values())


# -- soundings by place ---------------------------------------------------------------------------------------------


def _taken(soundings: Soundings, depths: list[float], every_s: float = 1.0) -> list[float]:
    for k, depth in enumerate(depths):
        soundings.take(Sounding(every_s * k, 2.0 * k, 0.0, depth))
    return [s.depth_m for s in reversed(list(soundings.back()))]


def test_a_sounding_is_kept_when_five_in_a_row_agree_on_it() -> None:
    assert _taken(Soundings(), [30.0, 30.1, 12.0, 30.3, 30.4]) == [30.1]
    assert _taken(Soundings(), [30.0] * 4) == []
    assert _taken(Soundings(), [30.0, 29.0, 28.0, 27.0, 26.0, 25.0, 24.0]) == [28.0, 27.0, 26.0]


def test_too_few_in_too_long_a_time_are_a_lost_bottom() -> None:
    assert _taken(Soundings(), [30.0] * 12, every_s=6.0) == []


def test_this_trip_comes_before_earlier_ones_and_near_before_abreast() -> None:
    s = Soundings()
    origin = (47.0, -90.0)
    s.recall([Charted(*local_degrees(origin, (0.0, 1.0)), 20.0, 100.0)], origin, 1000.0)
    found = s.near(0.0, 0.0)
    assert found is not None
    assert (found.depth_m, found.earlier, found.t_s) == (20.0, True, -900.0)
    s.add(Sounding(5.0, 0.0, 8.0, 21.0))
    assert s.near(0.0, 0.0).depth_m == 21.0  # type: ignore[union-attr]
    assert s.near(0.0, 30.0) is None
    assert s.about(0.0, 30.0).depth_m == 21.0  # type: ignore[union-attr]
    assert s.about(0.0, 60.0) is None
    assert s.shoalest_m(0.0, 0.0, REACH_M) == 20.0


def test_places_come_back_from_degrees() -> None:
    origin = (47.3, -91.0)
    assert local_metres(origin, local_degrees(origin, (1234.5, -678.9))) == pytest.approx((1234.5, -678.9))


def test_a_slope_is_carried_on_only_as_far_as_it_was_measured_and_only_if_it_is_one() -> None:
    s = Soundings()
    for k in range(25):
        s.add(Sounding(float(k), 1.0 * k, 0.0, 30.0 - 0.2 * k))
    slope = slope_of(s, 24.0)
    assert slope is not None
    assert slope.per_m == pytest.approx(-0.2)
    assert slope.at(34.0, 0.0) == pytest.approx(30.0 - 0.2 * 34.0)
    assert slope.at(24.0 + 24.5, 0.0) is None
    assert slope.at(34.0, 20.0) is None
    level = Soundings()
    for k in range(25):
        level.add(Sounding(float(k), 1.0 * k, 0.0, 30.0 + 0.2 * (-1) ** k))
    assert slope_of(level, 24.0) is None


def test_a_feed_without_a_clock_does_not_know_how_old_a_sounding_is() -> None:
    s = Soundings()
    s.recall([Charted(47.0, -90.0, 20.0, 1e9)], (47.0, -90.0), None)
    assert s.near(0.0, 0.0).t_s is None  # type: ignore[union-attr]
    assert datetime.fromtimestamp(1e9, UTC).year == 2001


def way(*seen: tuple[float, bool] | None) -> Any:
    """What is known every five seconds, six metres each."""
    return iter((5.0 * k, 6.0 * k, one) for k, one in enumerate(seen, 1))


def ahead_of(*seen: tuple[float, bool] | None, depth_m: float = 20.0, room_m: float = 10.0) -> Ahead:
    under = Below("lure", room_m, depth_m + room_m, 0.0, 1.0, False)
    return Room._way(way(*seen), "lure", (30.0, 0.0, depth_m), under, 0.5)


def test_how_long_ahead_the_bottom_is_known_without_a_gap() -> None:
    deep = (40.0, False)
    assert ahead_of(deep, deep, None, deep).known_s == 10.0
    assert ahead_of(None, deep).known_s == 0.0
    assert ahead_of(deep, deep, deep).known_s == 15.0
    assert ahead_of().known_s == 0.0
    assert ahead_of(deep).touches_s is None


def test_a_touch_comes_between_two_places_where_the_bottom_rises_through_the_lure() -> None:
    """30, 26 and 14.3 m under a lure at 20 m, which touches 0.3 m over it: half way from the second to the third."""
    found = ahead_of((26.3, False), (14.3, False))
    assert found.touches_s == pytest.approx(7.5)
    assert (found.bottom_m, found.sloped) == (14.3, False)
    assert found.raise_m == pytest.approx(20.0 + 0.5 + 1.0 - 14.3)
    assert ahead_of((14.3, True)).sloped
    after_a_gap = ahead_of((30.0, False), None, (14.3, False))
    assert after_a_gap.touches_s == 15.0, "nobody knows where it rose"
    now = ahead_of((40.0, False), room_m=0.3)
    assert (now.touches_s, now.bottom_m) == (0.0, pytest.approx(20.3))
    assert ahead_of((22.0, False)).raise_m == 0.0
    assert ahead_of((21.4, False)).raise_m == pytest.approx(0.1)

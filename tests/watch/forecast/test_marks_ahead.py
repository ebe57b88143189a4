"""Nets and snags on the lines' way as she turns: known answers by hand, and through a watch that turns."""

from __future__ import annotations

import math
import sys
from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

from made_outlooks import TIMES, forecast, rod

from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast.marks_ahead import Danger, Marked, Passed, _near, marked_about, passed
from sternwatch.watch.outlook.alerts import ForecastAlerts
from sternwatch.watch.outlook.lookout import look_from
from sternwatch.watch.outlook.renewal import OutlookMaker, Wishes
from sternwatch.watch.picture.outlook import Forecast, Outlook

SPEED_M_S, RADIUS_M, BACK_M = 1.0, 60.0, 40.0
# As agreed: a change of it is to be noticed.
SNAG_HEIGHT_M = 5.0


def towed(name: str, *, turns: bool) -> Forecast:
    """A lure 40 m behind on the boat's own track, 20 m deep, straight ahead or on a circle to starboard."""
    way = SPEED_M_S * TIMES
    behind = way - BACK_M

    def place(s: Any) -> Any:
        if not turns:
            return np.column_stack([-s, np.zeros(len(s))])
        angle = np.maximum(s, 0.0) / RADIUS_M
        return np.column_stack([np.where(s > 0.0, -RADIUS_M * np.sin(angle), -s), RADIUS_M * (1.0 - np.cos(angle))])

    lure = np.column_stack([place(behind), np.full(len(TIMES), 20.0)])
    made = forecast(name, rods=(rod("1", lure[None]),))
    track = np.column_stack([place(way), way / RADIUS_M if turns else np.zeros(len(TIMES))])
    return replace(made, track_m=track)


def ahead(*, hold_turns: bool = False) -> Outlook:
    made = (towed("hold", turns=hold_turns), towed("as it goes", turns=True))
    return Outlook(0.0, 0.1, made, None, (), "")


def about(astern_m: float, abeam_m: float, what: str = "net", deep: float = 0.0, drift: float = 0.0) -> Marked:
    return Marked((Danger("m", what, astern_m, abeam_m, deep),), 0.0, drift)


def test_a_net_on_the_circle_is_passed_when_the_line_comes_within_its_margin() -> None:
    # A quarter of the circle on: 94.2 m of way; the net's margin is 30 m.
    (one,) = passed(ahead(), about(-RADIUS_M, RADIUS_M))
    assert (one.id, one.what, one.keys, one.steady) == ("m", "net", ("1",), True)
    assert one.time_s == pytest.approx(RADIUS_M * (math.pi / 2.0 - 2.0 * math.asin(15.0 / RADIUS_M)), abs=3.0)


def test_one_inside_or_outside_of_the_circle_by_more_than_the_margin_is_not() -> None:
    assert passed(ahead(), about(0.0, RADIUS_M)) == (), "its middle"
    assert passed(ahead(), about(-RADIUS_M - 31.0, RADIUS_M)) == ()
    assert passed(ahead(), about(-RADIUS_M - 29.0, RADIUS_M)) != ()


def test_a_snag_matters_to_what_runs_deep_enough() -> None:
    at = (-RADIUS_M, RADIUS_M, "snag")
    (one,) = passed(ahead(), about(*at, deep=15.0))
    # Only the last quarter of the line runs below 15 m: it comes some 30 s after the stern.
    assert one.time_s == pytest.approx(RADIUS_M * math.pi / 2.0 + 0.75 * BACK_M - 10.0, abs=6.0)
    assert passed(ahead(), about(*at, deep=21.0)) == ()


def test_the_ground_goes_by_under_water_that_flows() -> None:
    middle = about(0.0, RADIUS_M)
    drifting = replace(middle, drift_astern_m_s=-0.5)
    assert passed(ahead(), middle) == ()
    assert passed(ahead(), drifting) != ()
    # 60 s on she is 50 m ahead and 28 m to starboard: what lies 100 m to the side of that comes to her by then.
    for abeam_m, drift_m_s in ((128.0, -1.7), (-72.0, 1.7)):
        one = about(-50.0, abeam_m)
        assert passed(ahead(), replace(one, drift_abeam_m_s=drift_m_s)) != ()
        assert passed(ahead(), replace(one, drift_abeam_m_s=-drift_m_s)) == ()


def test_what_lies_straight_on_too_is_told_so() -> None:
    (one,) = passed(ahead(hold_turns=True), about(-RADIUS_M, RADIUS_M))
    assert not one.steady
    assert passed(ahead(), None) == ()


def test_on_after_three_renewals_with_side_and_time_and_off_when_none_is_passed() -> None:
    book = ForecastAlerts({"1": "P HIGH"})
    told = (Passed("m", "net", ("1",), 40.0, steady=True),)
    outlook = replace(ahead(), forecasts=())
    seen = [book.step(replace(outlook, t_s=2.0 * k), (), told) for k in range(6)]
    assert seen[:3] == [(), (), ()]
    alert = seen[-1][0]
    assert (alert.kind, alert.priority.value, alert.keys, alert.time_left_s) == ("net ahead", "warning", ("1",), 40.0)
    assert alert.text == "A net lies on the way of this line as she turns"
    assert alert.advice == "Keep to the course she has now"
    for time_s, where in ((0.5, "lies on the way of"), (0.0, "is among")):
        (alert,) = book.step(replace(outlook, t_s=11.0), (), (replace(told[0], time_s=time_s, keys=("1", "2")),))
        assert alert.text == f"A net {where} these lines as she turns"
    later = [book.step(replace(outlook, t_s=12.0 + 2.0 * k)) for k in range(7)]
    assert later[-1] == ()


def test_a_boat_that_turns_toward_a_net_is_warned_and_one_that_goes_straight_on_is_not(
    two_rods: Spread, hand_feed: Callable[[Watch], Any]
) -> None:
    watch = new_watch(Setup(two_rods, start="fishing"))
    feed = hand_feed(watch)
    feed.run(60)
    north_m, east_m = 60.0, 60.0  # of the boat that begins to turn to starboard on a circle of 57 m
    at = (47.0 + math.degrees((feed.t_s + north_m) / 6_371_008.8), -90.0 + math.degrees(
        east_m / (6_371_008.8 * math.cos(math.radians(47.0)))))  # fmt: skip
    watch.act(parse({"id": "m", "time": datetime(2026, 7, 1, tzinfo=UTC), "elapsed_s": feed.t_s, "kind": "mark",
                     "what": "net", "latitude_deg": at[0], "longitude_deg": at[1]}))  # fmt: skip
    feed.run(2)
    assert marked_about(watch.bottom, watch.boat) is None, "straight on: the watch's own alert tells it"
    for heading in range(1, 11):
        feed.run(1, turn_deg_s=1.0)
        assert feed.heading_deg == heading
    look = look_from(watch)
    assert look is not None
    assert look.marked is not None
    outlook = OutlookMaker().renew(look.now, Wishes(limits_share_s=0.0))
    (one,) = passed(outlook, look.marked)
    assert one.what == "net"
    assert 10.0 < one.time_s < 120.0
    # What is told for alerts alone, as along a recording, warns of it alike.
    brief = OutlookMaker().renew(look.now, Wishes(limits_share_s=0.0, alerts_only=True))
    assert passed(brief, look.marked) == (one,)


# -- what lies about her, and a piece of line ----------------------------------------------------------------------


def around(*, turning: bool = True, drift: Any = (0.3, -0.1), depth_m: float | None = 20.0) -> tuple[Any, Any]:
    """She heads 30 degrees; her antenna is 3 m before the stern, 100 m north and 200 m east of where she began."""
    spots = [
        ("n", "net", (160.0, 300.0)), ("s", "snag", (90.0, 180.0)), ("w", "waypoint", (110.0, 210.0)),
        ("u", "net", None),
    ]  # fmt: skip
    marks = [SimpleNamespace(id=name, what=what, at_m=at) for name, what, at in spots]
    sounded = None if depth_m is None else SimpleNamespace(depth_m=depth_m)
    angle = math.radians(30.0)
    bottom = SimpleNamespace(
        over=SimpleNamespace(place_m=(100.0, 200.0), turn=(math.cos(angle), math.sin(angle)), antenna_m=3.0),
        marked=SimpleNamespace(marks=lambda: marks), ground=SimpleNamespace(turning=turning),
        soundings=SimpleNamespace(about=lambda north, east: sounded if (north, east) == (90.0, 180.0) else None),
    )  # fmt: skip
    return bottom, SimpleNamespace(drift=SimpleNamespace(now_m_s=drift))


def test_marks_in_her_axes_and_the_ground_that_goes_by() -> None:
    """Of nets and snags whose place is known; the sums by hand, with half a root of three and a half."""
    found = marked_about(*around())
    assert found is not None
    ahead_m, aside_m = math.sqrt(0.75), 0.5
    net, snag = found.dangers
    assert (net.id, net.what, net.from_depth_m) == ("n", "net", 0.0)
    assert net.astern_m == pytest.approx(-(60.0 * ahead_m + 100.0 * aside_m) - 3.0)
    assert net.abeam_m == pytest.approx(100.0 * ahead_m - 60.0 * aside_m)
    assert (snag.id, snag.what, snag.from_depth_m) == ("s", "snag", 20.0 - SNAG_HEIGHT_M)
    assert snag.astern_m == pytest.approx(10.0 * ahead_m + 20.0 * aside_m - 3.0)
    assert snag.abeam_m == pytest.approx(-20.0 * ahead_m + 10.0 * aside_m)
    assert found.drift_astern_m_s == pytest.approx(0.3 * ahead_m - 0.1 * aside_m)
    assert found.drift_abeam_m_s == pytest.approx(0.3 * aside_m + 0.1 * ahead_m)


def test_a_snag_over_no_sounding_or_a_shoal_counts_from_the_surface_on() -> None:
    for depth_m in (None, SNAG_HEIGHT_M - 0.5):
        found = marked_about(*around(depth_m=depth_m))
        assert found is not None
        assert found.dangers[1].from_depth_m == 0.0


def test_without_a_known_drift_the_ground_stands_and_straight_on_nothing_is_looked_for() -> None:
    found = marked_about(*around(drift=None))
    assert found is not None
    assert (found.drift_astern_m_s, found.drift_abeam_m_s) == (0.0, 0.0)
    assert marked_about(*around(turning=False)) is None


@pytest.mark.parametrize(
    ("start", "end", "mark", "from_depth_m", "off_m"),
    [
        ((2.0, 3.0, 0.0), (32.0, 43.0, 20.0), (17.0 - 8.0, 23.0 + 6.0), 0.0, 10.0),  # beside its middle
        ((2.0, 3.0, 0.0), (32.0, 43.0, 20.0), (38.0, 51.0), 0.0, 10.0),  # beyond its end
        ((2.0, 3.0, 0.0), (32.0, 43.0, 20.0), (-4.0, -5.0), 0.0, 10.0),  # before its beginning
        ((2.0, 3.0, 4.0), (32.0, 43.0, 24.0), (11.0, 15.0), 14.0, 10.0),  # from its middle on it is deep enough
        ((2.0, 3.0, 24.0), (32.0, 43.0, 4.0), (23.0, 31.0), 14.0, 10.0),  # up to its middle
        ((2.0, 3.0, 24.0), (32.0, 43.0, 4.0), (2.0, 3.0), 14.0, 0.0),  # and there at its beginning
        ((2.0, 3.0, 14.2), (32.0, 43.0, 14.6), (2.0, 3.0), 14.4, 25.0),  # it falls by less than a metre
        ((2.0, 3.0, 14.6), (32.0, 43.0, 14.2), (32.0, 43.0), 14.4, 25.0),  # and rises
        ((2.0, 3.0, 15.0), (32.0, 43.0, 15.0), (17.0 - 8.0, 23.0 + 6.0), 14.0, 10.0),  # level
        ((5.0, 5.0, 0.0), (5.0, 5.0, 20.0), (5.0, 9.0), 3.0, 4.0),  # straight down
        ((5.0, 5.0, 0.0), (5.1, 5.0, 20.0), (9.1, 5.0), 0.0, 4.0),
        ((2.0, 3.0, 0.0), (32.0, 43.0, 20.0), (17.0, 23.0), 20.1, math.inf),  # nowhere deep enough
    ],
)
def test_how_far_a_mark_lies_from_the_deep_part_of_a_piece(
    start: tuple[float, ...], end: tuple[float, ...], mark: tuple[float, ...], from_depth_m: float, off_m: float
) -> None:
    def near(margin_m: float) -> bool:
        parts = (np.array([one]) for one in (mark, start, end))
        return bool(_near(*parts, margin_m, from_depth_m)[0])

    assert near(off_m + 0.001) is math.isfinite(off_m)
    assert not near(min(off_m, 1000.0) - 0.001)


def test_a_rod_without_tackle_under_water_is_left_out() -> None:
    made = ahead()
    bare = replace(made.forecasts[1], rods=(rod("0"), *made.forecasts[1].rods))
    (one,) = passed(replace(made, forecasts=(made.forecasts[0], bare)), about(-RADIUS_M, RADIUS_M))
    assert one.keys == ("1",)

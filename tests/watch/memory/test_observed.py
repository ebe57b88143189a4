"""What the crew observes becomes numbers with the moment's circumstances; what tells nothing keeps the reason."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.calibration import Calibration
from sternwatch.answers.belief.fit import fit
from sternwatch.answers.belief.observations import ANGLE_RAD, Observation, What, predicted
from sternwatch.answers.belief.priors import value_at
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.spread_file.uncertain import uncertain
from sternwatch.logbook.actions.kinds import Action, parse
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup

Sail = Callable[..., Any]


def observed(feed: Any, rod: str, what: str, **fields: Any) -> Action:
    moment = datetime.fromtimestamp(1_784_000_000.0 + feed.t_s, UTC)
    return parse(
        {
            "id": f"{what} {rod} {feed.t_s}", "time": moment.isoformat(), "elapsed_s": feed.t_s, "kind": "observed",
            "rod": rod, "what": what, **fields,
        }
    )  # fmt: skip


@pytest.fixture
def feed(two_rods: Spread, hand_feed: Callable[[Watch], Any]) -> Any:
    return hand_feed(new_watch(Setup(two_rods, start="fishing", members=0)))


def told(feed: Any, action: Action, seconds: int = 2, **run: Any) -> Observation:
    feed.watch.act(action)
    feed.run(seconds, **run)
    found: Observation = feed.watch.picture().observations[-1]
    assert found.id == action.id
    return found


def test_a_touch_is_the_bottom_as_sounded_where_the_disc_was(feed: Any) -> None:
    feed.run(200, bottom=21.0)
    # The sounder is over deeper water by now: the disc runs half a minute behind it, over the old bottom.
    feed.run(10, bottom=26.0)
    one = told(feed, observed(feed, "1", "touched bottom", at="device"), bottom=26.0)
    assert one.used, one.why
    assert one.what is What.DEPTH
    assert one.value == pytest.approx(21.0, abs=0.01)
    assert one.speed_m_s == pytest.approx(1.0, abs=0.02)
    assert one.now.line_out_as_counter_m == pytest.approx(120 * 0.3048)
    assert not one.over_ground
    feed.run(60, bottom=26.0)
    later = told(feed, observed(feed, "1", "touched bottom", at="device"), bottom=26.0)
    assert later.value == pytest.approx(26.0, abs=0.01)


def test_circumstances_give_back_what_the_watch_computed(feed: Any) -> None:
    feed.run(200)
    place = feed.watch.chains["1"].place
    one = told(feed, observed(feed, "1", "seen on sounder", at="device", depth_m=9.0))
    assert one.used, one.why
    # The steady shape of its circumstances, with what the moving one was off it, is the moving one.
    assert predicted(feed.watch.spread, one, {}) == pytest.approx(place.bodies_m[0][2], abs=0.02)
    angle = told(feed, observed(feed, "1", "entry angle", angle_deg=20.0))
    assert math.degrees(predicted(feed.watch.spread, angle, {})) == pytest.approx(place.entry_angle_deg, abs=0.5)
    pull = told(feed, observed(feed, "1", "pull", pull_N=12.0))
    assert predicted(feed.watch.spread, pull, {}) == pytest.approx(place.tension_N, rel=0.02)


def test_speed_over_ground_says_so(feed: Any) -> None:
    feed.run(200, stw=None)
    one = told(feed, observed(feed, "1", "logger", depth_m=9.0), stw=None)
    assert one.used, one.why
    assert one.over_ground


@pytest.mark.parametrize(
    ("before", "rod", "what", "fields", "why"),
    [
        ({}, "2", "touched bottom", {}, "the bottom where it was has not been sounded"),
        ({"turn_deg_s": 5.0}, "1", "logger", {"depth_m": 9.0}, "the boat was turning, 5° a second"),
        ({"stw": None, "sog": None}, "1", "logger", {"depth_m": 9.0}, "no speed was known"),
        ({"stw": 0.2, "sog": 0.2}, "1", "pull", {"pull_N": 9.0}, "its line was slack"),
    ],
)
def test_a_moment_that_cannot_inform_is_kept_with_the_reason(
    feed: Any, before: dict[str, Any], rod: str, what: str, fields: dict[str, Any], why: str
) -> None:
    feed.run(200)
    feed.run(60, **before)
    one = told(feed, observed(feed, rod, what, **fields), **before)
    assert not one.used
    assert why in one.why
    # It stands in the fit with its reason, and moves nothing.
    made = fit(feed.watch.spread, [one])
    assert made.posterior.names == ()
    assert not made.calibration.observations[0].used


def test_a_line_still_on_its_way_after_a_turn_is_not_taken_for_settled(feed: Any) -> None:
    feed.run(200)
    feed.run(36, turn_deg_s=5.0)
    feed.run(11)
    one = told(feed, observed(feed, "1", "logger", depth_m=9.0))
    assert one.why == "the line had not settled"
    feed.run(120)
    assert told(feed, observed(feed, "1", "logger", depth_m=9.0)).used


def test_a_rod_that_is_in_or_not_there(two_rods: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    feed = hand_feed(new_watch(Setup(two_rods, start="in", members=0)))
    feed.run(30)
    assert told(feed, observed(feed, "1", "pull", pull_N=9.0)).why == "the rod was in"
    assert told(feed, observed(feed, "7", "pull", pull_N=9.0)).why == "the spread has no rod 7"


def test_a_cables_angle_comes_with_its_error_and_a_hit_tells_nothing(feed: Any) -> None:
    """A fish strikes where it likes: its depth is not an observation of the line."""
    feed.run(200)
    hit = {"id": "hit", "time": "2026-07-14T00:00:00Z", "elapsed_s": feed.t_s, "kind": "hit", "rod": "1"}
    feed.watch.act(parse(hit))
    feed.run(2)
    assert feed.watch.picture().hits
    assert feed.watch.picture().observations == ()
    one = told(feed, observed(feed, "2", "cable angle", angle_deg=12.0))
    assert one.what is What.CABLE_ANGLE
    assert one.value == pytest.approx(math.radians(12.0))
    assert one.error >= ANGLE_RAD
    assert one.used, one.why
    assert abs(one.unsteady) < math.radians(0.5), "off the vertical, as the steady one is"


def test_what_is_known_needs_no_moment(feed: Any) -> None:
    feed.run(5, stw=None, sog=None)
    one = told(feed, observed(feed, "2", "known", depth_m=19.0, speed_m_s=1.0, line_out_m=20.0), stw=None, sog=None)
    assert one.used
    assert one.now.line_out_as_counter_m == 20.0


def test_an_entry_taken_back_is_gone_and_one_restored_is_the_same(feed: Any) -> None:
    feed.run(200)
    one = told(feed, observed(feed, "1", "logger", depth_m=9.0))
    undo = {"id": "u", "time": "2026-07-14T00:00:00Z", "elapsed_s": feed.t_s, "kind": "undo", "of": one.id}
    feed.watch.act(parse(undo))
    feed.run(2)
    assert feed.watch.picture().observations == ()


def test_entries_of_an_earlier_session_are_not_taken_for_now(two_rods: Spread, hand_feed: Any) -> None:
    feed = hand_feed(new_watch(Setup(two_rods, start="fishing", members=0)))
    feed.t_s = 10.0
    early = observed(feed, "1", "logger", depth_m=9.0)
    feed.t_s = 400.0
    feed.watch = new_watch(Setup(two_rods, start="fishing", members=0), actions=[early])
    feed.run(200)
    told(feed, observed(feed, "1", "pull", pull_N=12.0))
    first, second = feed.watch.picture().observations
    assert "before the console was started again" in first.why
    assert second.used


def test_a_calibration_moves_the_nominal_chain_and_draws_the_members_in(
    two_rods: Spread, hand_feed: Callable[[Watch], Any]
) -> None:
    names = ("line wire strumming", "rod 1 counter", "tackle disc trim")
    subjects = tuple(uncertain(two_rods)[name].subject for name in names)
    learned = Calibration("learned", names, np.array([1.5, 0.75, 0.0]), np.diag([0.1, 0.1, 0.1]), subjects)
    plain = hand_feed(new_watch(Setup(two_rods, start="fishing")))
    better = hand_feed(new_watch(Setup(two_rods, start="fishing", calibration=learned)))
    for one in (plain, better):
        one.run(150)
    before, after = (one.watch.picture() for one in (plain, better))
    assert (before.calibration, after.calibration) == ("", "learned")
    humming, wide = after.rods[0], before.rods[0]
    # A wire that hums more than what is believed of any is lifted, for all that its counter gives 5 % more.
    assert humming.depth_m < wide.depth_m - 0.3

    def width(rod: Any) -> float:
        return float(rod.depth_interval_m[1] - rod.depth_interval_m[0])

    assert width(humming) < width(wide)
    # Its counter gives out more than it reads, and the reading stays the reading.
    assert humming.line_out_m == pytest.approx(120 * 0.3048)
    rest = better.watch.chains["1"].state.rest_m[0, : better.watch.chains["1"].rows.first_segments[0]].sum()
    assert rest == pytest.approx(
        120 * 0.3048 * value_at(np.array(0.75), uncertain(two_rods)["rod 1 counter"]), rel=1e-3
    )

"""What the watch shows when things happen: speed comes and goes, rods go out, fish strike, entries are undone."""

from __future__ import annotations

import math
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from sternwatch.answers.belief.priors import MEMBERS
from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.motion import fleet as motion
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.alerts.rules import Cause
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import RodPicture, RodState, SolverState, SpeedSource

# As agreed: a change of one is to be noticed.
OLD_FOR_S = 30.0


def test_a_current_entered_by_the_helm_counts_from_its_own_step(
    two_rods: Spread, hand_feed: Callable[[Watch], Any]
) -> None:
    feed = hand_feed(new_watch(Setup(two_rods, members=0)))
    bench = Bench(feed.watch, feed)
    feed.run(5)
    assert feed.watch.boat.current.said is None
    bench.act("current", speed_m_s=0.5, towards_deg=90.0)
    feed.run(1)
    assert feed.watch.boat.current.said.current_m_s == pytest.approx((0.0, 0.5))


class Bench:
    """A watch with a hand-made feed and actions stamped at its moment."""

    def __init__(self, watch: Watch, feed: Any) -> None:
        self.watch, self.feed, self._serial = watch, feed, 0

    def act(self, kind: str, rod: str | None = None, **fields: Any) -> str:
        self._serial += 1
        given: dict[str, Any] = {
            "id": f"x{self._serial}",
            "time": datetime.fromtimestamp(self.feed.t_s + 1e9, UTC),
            "elapsed_s": self.feed.t_s,
            "kind": kind,
            **fields,
        }
        if rod is not None:
            given["rod"] = rod
        self.watch.act(parse(given))
        return f"x{self._serial}"

    def rod(self, key: str) -> RodPicture:
        return next(rod for rod in self.watch.picture().rods if rod.key == key)


@pytest.fixture
def bench(two_rods: Spread, hand_feed: Callable[[Watch], Any]) -> Bench:
    watch = new_watch(Setup(two_rods, start="fishing", members=MEMBERS))
    return Bench(watch, hand_feed(watch))


def test_before_any_speed_there_is_no_depth_and_a_reason(bench: Bench) -> None:
    bench.feed.run(20, stw=None, sog=None)
    picture = bench.watch.picture()
    assert all(rod.depth_m is None and rod.solver is SolverState.NONE for rod in picture.rods)
    assert "no speed over ground ever came" in picture.own.why_no_speed
    assert {rod.why_no_depth for rod in picture.rods} == {picture.own.why_no_speed}
    assert picture.own.speed_source is SpeedSource.NONE
    assert [alert.kind for alert in picture.alerts] == ["no speed"]


def test_speed_through_water_drives_and_is_said(bench: Bench) -> None:
    bench.feed.run(30, stw=1.1, sog=1.4)  # apart by no more than a current may explain
    assert bench.watch.boat.drift.now_m_s == pytest.approx((0.3, 0.0), abs=0.01)
    own = bench.watch.picture().own
    assert own.speed_source is SpeedSource.THROUGH_WATER
    assert own.speed_m_s == pytest.approx(1.1, abs=0.02)


def test_without_it_speed_over_ground_drives_and_is_said(bench: Bench) -> None:
    bench.feed.run(30, stw=None, sog=1.3)
    own = bench.watch.picture().own
    assert own.speed_source is SpeedSource.OVER_GROUND
    assert own.speed_m_s == pytest.approx(1.3, abs=0.02)


def test_a_paddle_wheel_that_stands_still_on_a_moving_boat_is_not_believed(bench: Bench) -> None:
    bench.feed.run(20, stw=1.0, sog=1.0)
    bench.feed.run(40, stw=0.0, sog=1.0)
    own = bench.watch.picture().own
    assert own.speed_source is SpeedSource.OVER_GROUND
    assert own.speed_m_s == pytest.approx(1.0, abs=0.05)


def test_numbers_go_old_and_then_go(bench: Bench) -> None:
    bench.feed.run(60)
    assert bench.rod("1").solver is SolverState.SETTLED
    depths: list[tuple[SolverState, float | None]] = []
    bench.feed.run(
        int(OLD_FOR_S) + 40,
        stw=None,
        sog=None,
        each=lambda: depths.append((bench.rod("1").solver, bench.rod("1").depth_m)),
    )
    assert SolverState.OLD in {state for state, _ in depths}
    assert depths[-1] == (SolverState.NONE, None)
    fresh = [depth for state, depth in depths if state in (SolverState.SETTLED, SolverState.UNSETTLED)]
    assert len(fresh) < 15  # a live look is kept only until the sensor's time-out


@pytest.mark.parametrize("gain_m_s2", [0.06, -0.06])
def test_a_speed_that_changes_runs_on_no_further_once_the_feed_is_lost(bench: Bench, gain_m_s2: float) -> None:
    """It ran on to 1.74 m/s (3.9 mph) from a little over 1, and stood in the range for a minute."""
    bench.feed.run(60)
    for k in range(8):
        bench.feed.run(1, stw=1.0 + gain_m_s2 * k, sog=1.0 + gain_m_s2 * k)
    last_m_s = 1.0 + 7 * gain_m_s2
    told: list[float] = []

    def look() -> None:
        own = bench.watch.picture().own
        told.extend([] if own.speed_m_s is None else [own.speed_m_s])
        told.extend(own.speed_range_m_s or ())

    bench.feed.run(30, stw=None, sog=None, each=look)
    assert told
    furthest = max(told) if gain_m_s2 > 0.0 else -min(told)
    assert furthest <= math.copysign(last_m_s, gain_m_s2) + 3.0 * 0.06 + 0.02  # three seconds of it, not thirty


def test_when_speed_returns_the_chain_starts_unsettled(bench: Bench) -> None:
    bench.feed.run(60)
    bench.feed.run(100, stw=None, sog=None)
    bench.feed.run(4)
    assert bench.rod("1").solver is SolverState.UNSETTLED
    assert bench.rod("1").depth_m is not None
    bench.feed.run(90)
    assert bench.rod("1").solver is SolverState.SETTLED


def test_faster_is_shallower_for_the_ball(bench: Bench) -> None:
    bench.feed.run(120, stw=0.8, sog=0.8)
    slow = bench.rod("2").depth_m
    bench.feed.run(240, stw=1.4, sog=1.4)
    fast = bench.rod("2").depth_m
    assert slow is not None
    assert fast is not None
    assert slow - fast > 0.3


def test_line_let_out_goes_out_at_a_rate_and_not_at_once(bench: Bench) -> None:
    bench.feed.run(90)
    before = bench.rod("1")
    assert before.line_out_m is not None
    assert before.depth_m is not None
    bench.act("length", "1", line_out_m=before.line_out_m + 6.0)
    bench.feed.run(3)
    moving = bench.rod("1")
    assert moving.state is RodState.LETTING_OUT
    assert moving.line_out_m is not None
    assert before.line_out_m < moving.line_out_m < before.line_out_m + 3.0
    assert moving.moving_to_m == pytest.approx(before.line_out_m + 6.0)
    bench.feed.run(100)
    after = bench.rod("1")
    assert after.state is RodState.FISHING
    assert after.line_out_m == pytest.approx(before.line_out_m + 6.0)
    assert after.depth_m is not None
    assert after.depth_m > before.depth_m + 1.0


def test_a_hit_makes_the_rod_fight_and_its_place_unknown(bench: Bench) -> None:
    bench.feed.run(40)
    hit = bench.act("hit", "1")
    shown = bench.watch.preview(bench.feed.t_s)
    assert [h.id for h in shown.hits] == [hit]  # before the next step already
    bench.feed.run(1)
    rod = bench.rod("1")
    assert rod.state is RodState.FIGHTING
    assert rod.depth_m is None
    assert rod.hits == 1
    bench.act("outcome", of=hit, outcome="no fish")
    bench.feed.run(2)
    rod = bench.rod("1")
    assert (rod.state, rod.hits) == (RodState.FISHING, 0)
    assert rod.solver is SolverState.UNSETTLED


def test_what_is_taken_back_was_never_done_and_restoring_does_it_again(bench: Bench) -> None:
    bench.feed.run(30)
    gone = bench.act("in", "2")
    bench.feed.run(2)
    assert bench.rod("2").state is RodState.IN
    bench.act("undo", of=gone)
    bench.feed.run(2)
    assert bench.rod("2").state is RodState.FISHING
    bench.act("restore", of=gone)
    bench.feed.run(2)
    rod = bench.rod("2")
    assert rod.state is RodState.IN
    assert (rod.depth_m, rod.line_out_m, rod.shape_m) == (None, None, None)


def test_a_setting_changes_where_the_diver_runs(bench: Bench) -> None:
    bench.feed.run(90)
    high = bench.rod("1")
    bench.act("setting", "1", setting="low")
    bench.feed.run(90)
    low = bench.rod("1")
    assert low.setting == "low"
    assert high.abeam_m is not None
    assert low.abeam_m is not None
    assert high.abeam_m < low.abeam_m - 3.0  # port is negative: a higher setting runs wider
    assert low.depth_m is not None
    assert high.depth_m is not None
    assert low.depth_m > high.depth_m


def test_a_step_that_does_not_converge_shows_no_depth(bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    bench.feed.run(40)

    def never(_rows: Any, state: Any, *_: Any, **__: Any) -> None:
        state.failed[:] = True

    monkeypatch.setattr(motion, "step", never)
    bench.feed.run(4)
    rod = bench.rod("1")
    assert rod.solver is SolverState.FAILED
    assert rod.depth_m is None
    assert rod.why_no_depth == "the step did not converge"
    assert "solver" in {alert.kind for alert in bench.watch.picture().alerts}


def test_an_inside_diver_in_a_hard_turn_is_said_to_be_slack(bench: Bench) -> None:
    bench.feed.run(90)
    states: set[SolverState] = set()
    # To port at 1 m/s on 12 m radius: the port diver is inside.
    bench.feed.run(60, turn_deg_s=-4.8, each=lambda: states.add(bench.rod("1").solver))
    assert SolverState.SLACK in states
    assert SolverState.FAILED not in states


def test_no_feed_with_rods_out_is_an_alarm(bench: Bench) -> None:
    bench.feed.run(30)
    bench.feed.run(15, stw=None, sog=None, clock=False)
    kinds = [(alert.kind, alert.priority.value) for alert in bench.watch.picture().alerts]
    assert ("no feed", "alarm") in kinds
    bench.feed.run(30)
    assert bench.watch.picture().alerts == ()


def test_the_alarm_comes_after_five_seconds_without_a_word(bench: Bench) -> None:
    bench.feed.run(30)
    quiet = 0
    while not any(alert.kind == "no feed" for alert in bench.watch.picture().alerts):
        quiet += 1
        assert quiet < 20
        bench.feed.run(1, stw=None, sog=None, clock=False)
    assert quiet == 6  # five whole seconds are over


def test_a_sensor_that_says_it_has_nothing_is_no_silence(bench: Bench) -> None:
    bench.feed.run(30)
    for _ in range(20):
        bench.feed.say(Quantity.SOG, None, "RMC")
        bench.feed.run(1, stw=None, sog=None, clock=False)
    assert [alert.kind for alert in bench.watch.picture().alerts] == ["no speed"]


def test_with_all_rods_in_a_silent_feed_is_nobodys_alarm(bench: Bench) -> None:
    bench.feed.run(30)
    bench.act("in", "1")
    bench.act("in", "2")
    bench.feed.run(30, stw=None, sog=None, clock=False)
    assert [(a.kind, a.priority.value) for a in bench.watch.picture().alerts] == [("feed silent", "caution")]
    bench.feed.run(12)
    assert bench.watch.picture().alerts == ()


def test_with_all_rods_in_only_saving_feed_and_power_are_told(bench: Bench) -> None:
    bench.feed.run(30)
    bench.act("mark", what="net")
    bench.act("in", "1")
    bench.act("in", "2")
    bench.feed.run(60, bottom=2.0)  # shoal
    bench.feed.run(30, stw=0.0, sog=0.0, bottom=1.0)  # and stopped
    bench.feed.run(30, turn_deg_s=6.0, bottom=1.0)
    assert bench.watch.picture().alerts == ()
    bench.feed.run(20, stw=None, sog=None)  # no speed, but the clock still comes
    assert bench.watch.picture().alerts == ()
    bench.watch.alerts.outside = (Cause("cannot save", "Cannot save"), Cause("power", "Mains lost"))
    bench.feed.run(5)
    assert [alert.kind for alert in bench.watch.picture().alerts] == ["cannot save", "power"]


def test_an_acknowledged_alert_says_so(bench: Bench) -> None:
    bench.feed.run(30)
    bench.feed.run(15, stw=None, sog=None, clock=False)
    first = bench.watch.picture().alerts[0]
    bench.act("acknowledge", alert=first.id)
    bench.feed.run(1, stw=None, sog=None, clock=False)
    assert bench.watch.picture().alerts[0].state.value == "acknowledged"


def test_clearance_comes_from_the_sounding_where_the_lure_is(bench: Bench) -> None:
    # The bottom steps up under the boat; the lure, 20 m and more behind, is still over the deep part.
    bench.feed.run(120, bottom=40.0)
    bench.feed.run(8, bottom=30.0)
    rod = bench.rod("2")
    assert rod.depth_m is not None
    assert rod.clearance_m == pytest.approx(40.0 - rod.depth_m, abs=1e-6)
    assert bench.watch.picture().bottom_m == pytest.approx(30.0)
    bench.feed.run(60, bottom=30.0)
    rod = bench.rod("2")
    assert rod.depth_m is not None
    assert rod.clearance_m == pytest.approx(30.0 - rod.depth_m, abs=1e-6)


def test_a_lost_bottom_is_unknown_not_zero(bench: Bench) -> None:
    bench.feed.run(20, bottom=40.0)
    bench.feed.say(Quantity.BOTTOM, None, "DPT")
    bench.feed.run(2)
    assert bench.watch.picture().bottom_m is None


def test_a_resumed_trip_has_every_rod_as_it_was_and_unsettled(
    two_rods: Spread, hand_feed: Callable[[Watch], Any]
) -> None:
    stamped = datetime(2026, 7, 1, 12, tzinfo=UTC)
    stored = [
        parse({"id": "a", "time": stamped, "elapsed_s": 1.0, "kind": "set", "rod": "1"}),
        parse({"id": "b", "time": stamped, "elapsed_s": 2.0, "kind": "length", "rod": "1", "line_out_m": 30.0}),
        parse({"id": "c", "time": stamped, "elapsed_s": 3.0, "kind": "setting", "rod": "1", "setting": "low"}),
    ]
    watch = new_watch(Setup(two_rods, start="in", members=MEMBERS), actions=stored)
    feed = hand_feed(watch)
    feed.t_s = 500.0
    feed.run(5)
    one, two = watch.picture().rods
    assert (one.state, one.setting, one.line_out_m) == (RodState.FISHING, "low", 30.0)
    assert one.solver is SolverState.UNSETTLED
    assert two.state is RodState.IN


def test_a_source_that_fails_most_checksums_is_said(bench: Bench) -> None:
    bench.feed.run(20)
    bench.watch.alerts.complaints = ("port: 95 % of its sentences have a wrong checksum and are refused",)
    bench.feed.run(2)
    alerts = bench.watch.picture().alerts
    assert [(alert.kind, alert.text) for alert in alerts] == [("checksums", bench.watch.alerts.complaints[0])]

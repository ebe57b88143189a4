"""What the watch remembers: hits written down late, fishing time, the boat running."""

from __future__ import annotations

import dataclasses
from copy import copy
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.actions.kinds import Action, RanIn, parse
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.memory.hits import HitContext, hit_row
from sternwatch.watch.picture.alert import Alert
from sternwatch.watch.picture.model import RodState, Session

from ..conftest import BEGIN_UNIX_S, HandFeed

FAST_M_S = 4.0


def act(action_id: str, t_s: float, kind: str, rod: str | None = None, **fields: Any) -> Action:
    time = datetime.fromtimestamp(BEGIN_UNIX_S, UTC) + timedelta(seconds=t_s)
    given = {"id": action_id, "time": time, "elapsed_s": t_s, "kind": kind, **fields}
    return parse(given if rod is None else given | {"rod": rod})


def two_in(spread: Spread) -> Watch:
    """Two rods, in; no members, for speed."""
    two = spread.model_copy(update={"rod": tuple(rod for rod in spread.rod if rod.key in "36")})
    return new_watch(Setup(two, Session.LIVE, start="in", members=0))


@pytest.fixture(scope="module")
def five_minutes(spread: Spread) -> HandFeed:
    feed = HandFeed(two_in(spread))
    for n, key in enumerate("36"):
        feed.watch.act(act(f"g{key}", 2 + n, "set", key))
    feed.run(300)
    return feed


@pytest.fixture
def watch(spread: Spread) -> Watch:
    return two_in(spread)


@pytest.fixture
def fishing(five_minutes: HandFeed) -> HandFeed:
    """Both rods out for five minutes."""
    feed = copy(five_minutes)
    feed.watch = five_minutes.watch.copy()
    return feed


class TestHits:
    def test_a_hit_keeps_the_moment_before_it(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        before = next(rod for rod in watch.picture().rods if rod.key == "3")
        watch.act(act("h", 300.4, "hit", "3"))
        fishing.run(1)
        (row,) = watch.memory.hits.rows
        assert row.rod_row is not None
        assert row.boat is not None
        assert row.rod_row.depth_m == pytest.approx(before.depth_m, abs=6e-4)
        assert row.boat.at_s == 300.0
        assert (row.rod_row.turn, row.rod_row.trend, row.state) == ("straight", "steady", "fishing")
        assert row.in_hours
        assert {r["quantity"] for r in row.readings} >= {"sog", "stw", "cog", "heading"}
        assert all(r["source"] == "hand" and r["age_s"] == 0.0 for r in row.readings if r["quantity"] == "stw")
        assert row.chain[0]["length_m"] == pytest.approx(before.line_out_m, abs=6e-4)
        assert watch.picture().hits[0].depth_m == row.rod_row.depth_m

    def test_a_hit_moved_back_is_what_it_was_then(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        then = watch.memory.moments.at(240.5)
        assert then is not None
        depth = then.rods["3"].depth_m
        fishing.run(60, stw=1.6, sog=1.6)  # quicker: elsewhere by now
        watch.act(act("h", 360.2, "hit", "3"))
        fishing.run(1)
        moved_from = watch.memory.hits.rows[0].rod_row
        to = datetime.fromtimestamp(BEGIN_UNIX_S, UTC) + timedelta(seconds=240.5)
        watch.act(act("r", 361.2, "retime", of="h", to=to, to_elapsed_s=240.5))
        fishing.run(1)
        (row,) = watch.memory.hits.rows
        assert row.from_memory
        assert row.rod_row is not None
        assert moved_from is not None
        assert row.rod_row.depth_m == pytest.approx(depth, abs=6e-4)
        assert row.rod_row.lure_speed_m_s != moved_from.lure_speed_m_s

    def test_before_the_quarter_of_an_hour_nobody_knows(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        fishing.run(700)
        watch.act(act("h", 1000.0, "hit", "3"))
        to = datetime.fromtimestamp(BEGIN_UNIX_S, UTC) + timedelta(seconds=50)
        watch.act(act("r", 1000.5, "retime", of="h", to=to, to_elapsed_s=50.0))
        fishing.run(2)
        (row,) = watch.memory.hits.rows
        assert (row.rod_row, row.boat, row.in_hours) == (None, None, False)
        assert watch.picture().hits[0].depth_m is None

    def test_what_was_kept_of_a_trip_taken_up_again_stays(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        watch.act(act("h", 300.4, "hit", "3"))
        fishing.run(1)
        (kept,) = watch.memory.hits.rows
        hit = dataclasses.replace(watch.crew.hits[0], outcome="boxed")
        again = hit_row(hit, HitContext(300.4, "3", None, False, False), kept)
        assert (again.rod_row, again.boat, again.outcome) == (kept.rod_row, kept.boat, "boxed")
        elsewhere = hit_row(hit, HitContext(200.0, "3", None, True, False), kept)
        assert elsewhere.rod_row is None


class TestTurns:
    def test_the_inside_and_the_outside_of_a_turn(self, fishing: HandFeed) -> None:
        fishing.run(40, turn_deg_s=2.0)
        moment = fishing.watch.memory.moments[-1]
        assert moment.rods["6"].turn == "inside"  # starboard, turning to starboard
        assert moment.rods["3"].turn == "outside"

    def test_slowing_and_quickening(self, fishing: HandFeed) -> None:
        fishing.run(8, stw=0.5, sog=0.5)
        assert fishing.watch.memory.moments[-1].pace == "slowing"
        fishing.run(60, stw=0.5, sog=0.5)
        assert fishing.watch.memory.moments[-1].pace == "steady"
        fishing.run(8, stw=1.2, sog=1.2)
        assert fishing.watch.memory.moments[-1].pace == "quickening"

    @pytest.mark.parametrize(("sog", "said"), [(1.3, "with"), (0.7, "against"), (1.02, "little")])
    def test_the_current_by_both_speeds(self, fishing: HandFeed, sog: float, said: str) -> None:
        fishing.run(40, sog=sog)
        assert fishing.watch.memory.moments[-1].current == said

    def test_with_one_speed_left_what_both_told_stands(self, fishing: HandFeed) -> None:
        fishing.run(40, stw=None)
        assert fishing.watch.memory.moments[-1].current == "little"


class TestFishingTime:
    def test_a_sample_every_ten_seconds_for_every_rod_that_fishes(self, fishing: HandFeed) -> None:
        samples = [
            *fishing.watch.memory.fishing.since(),
            *fishing.watch.memory.rest(fishing.watch.crew, fishing.watch.boat.running),
        ]
        assert [s.boat.time_ms % 10_000 for s in samples if s.boat.time_ms] == [0] * len(samples)
        assert len(samples) == 30
        assert sum(len(s.rods) for s in samples) == 60

    def test_a_hole_stays_a_hole(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        fishing.t_s += 200.0
        watch.advance(fishing.t_s)
        fishing.run(100)
        times = [s.boat.at_s for s in watch.memory.fishing.since()]
        assert not [t for t in times if 311 <= t <= 500]
        assert [t for t in times if t > 500]

    def test_a_rod_with_a_fish_on_is_not_fishing(self, fishing: HandFeed) -> None:
        fishing.watch.act(act("h", 300.4, "hit", "3"))
        fishing.run(60)
        last = fishing.watch.memory.fishing.since()[-1]
        assert [row.rig.rod for row in last.rods] == ["6"]

    def test_copies_go_on_by_themselves(self, fishing: HandFeed) -> None:
        twin = fishing.watch.copy()
        count = len(twin.memory.fishing)
        fishing.run(60)
        assert len(twin.memory.fishing) == count
        assert len(fishing.watch.memory.fishing) == count + 6


class TestTripEnded:
    def test_no_hours_from_then_on_though_a_rod_goes_out_again(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        watch.act(act("e", 300.4, "end"))
        fishing.run(5)
        assert {rod.state for rod in watch.picture().rods} == {RodState.IN}
        watch.act(act("again", 306.0, "set", "3"))
        fishing.run(60)
        watch.act(act("late", 366.0, "hit", "3"))
        watch.act(act("moved", 366.1, "hit", "6"))
        watch.act(act("to", 366.2, "retime", of="moved", to=watch.crew.facts.ended, to_elapsed_s=290.0))
        fishing.run(40)
        fished = [s.boat.at_s for s in watch.memory.fishing.since() if s.rods]
        assert max(fished) == 300.0
        assert max(s.boat.at_s for s in watch.memory.fishing.since()) > 360.0  # the boat is still followed
        assert {row.id: row.in_hours for row in watch.memory.hits.rows} == {"late": False, "moved": True}

    def test_taken_back_the_hours_go_on(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        watch.act(act("e", 300.4, "end"))
        fishing.run(4)
        watch.act(act("u", 304.5, "undo", of="e"))
        fishing.run(60)
        assert {rod.state for rod in watch.picture().rods} == {RodState.FISHING}
        assert max(s.boat.at_s for s in watch.memory.fishing.since() if s.rods) > 330.0


class TestRunning:
    def run_off(self, feed: HandFeed, seconds: int) -> None:
        feed.run(seconds, stw=FAST_M_S, sog=FAST_M_S)

    def of_running(self, watch: Watch) -> list[Alert]:
        """What is raised, but for releases: a diver towed at 4 m/s pulls as hard as what opens it."""
        return [alert for alert in watch.picture().alerts if alert.kind != "release"]

    def test_rods_are_in_from_when_the_speed_rose(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        self.run_off(fishing, 19)
        assert {rod.state for rod in watch.picture().rods} == {RodState.FISHING}
        self.run_off(fishing, 10)
        picture = watch.picture()
        assert {rod.state for rod in picture.rods} == {RodState.IN}
        (alert,) = self.of_running(watch)
        assert (alert.kind, alert.keys) == ("running", ())
        assert "Rods 3 6 taken as in" in alert.text
        (made,) = watch.made
        assert isinstance(made, RanIn)
        assert made.keys == ("3", "6")
        assert made.since_elapsed_s == pytest.approx(301.0, abs=1.0)
        assert watch.crew.rods["3"].state_since is not None
        assert watch.crew.rods["3"].state_since.elapsed_s == made.since_elapsed_s

    def test_no_hours_from_then_on(self, fishing: HandFeed) -> None:
        self.run_off(fishing, 100)
        fished = [s.boat.at_s for s in fishing.watch.memory.fishing.since() if s.rods]
        assert max(fished) == 300.0
        assert max(s.boat.at_s for s in fishing.watch.memory.fishing.since()) > 360.0  # the boat is still followed

    def test_said_once_and_taken_back_with_one_entry(self, fishing: HandFeed) -> None:
        watch = fishing.watch
        self.run_off(fishing, 25)
        (made,) = watch.made
        watch.act(act("u", fishing.t_s, "undo", of=made.id))
        self.run_off(fishing, 60)
        assert {rod.state for rod in watch.picture().rods} == {RodState.FISHING}
        assert self.of_running(watch) == []
        assert len(watch.made) == 1
        self.run_off(fishing, 30)
        assert watch.memory.fishing.since()[-1].rods  # the crew says they are out: their hours count

    def test_a_burst_is_not_a_run(self, fishing: HandFeed) -> None:
        self.run_off(fishing, 15)
        fishing.run(60)
        assert not fishing.watch.made
        samples = fishing.watch.memory.fishing.since()
        assert all(len(s.rods) == 2 for s in samples)

    def test_a_short_run_is_left_out_of_the_hours_afterwards_too(self, fishing: HandFeed) -> None:
        self.run_off(fishing, 24)
        fishing.run(60)
        fished = [s.boat.at_s for s in fishing.watch.memory.fishing.since() if s.rods]
        assert not [t for t in fished if t > 301.0]

    def test_where_nobody_says_in_or_out_rods_stay_out_but_their_hours_do_not_count(self, spread: Spread) -> None:
        watch = new_watch(Setup(spread, Session.REPLAY, start="fishing", members=0))
        feed = HandFeed(watch)
        feed.run(60)
        self.run_off(feed, 60)
        assert not watch.made
        assert {rod.state for rod in watch.picture().rods} == {RodState.FISHING}
        feed.run(60)
        fished = [s.boat.at_s for s in watch.memory.fishing.since() if s.rods]
        assert not [t for t in fished if 62 < t <= 120]
        assert [t for t in fished if t > 130]

    def test_a_stored_entry_and_one_made_again_are_the_same(self, fishing: HandFeed) -> None:
        twin = fishing.watch.copy()
        other = HandFeed(twin)
        other.t_s = fishing.t_s
        self.run_off(fishing, 40)
        (made,) = fishing.watch.made
        twin.act(made)  # as a replay has it from the logbook
        self.run_off(other, 40)
        assert not twin.made
        assert twin.crew.rods == fishing.watch.crew.rods


def test_how_slow_helms_go_is_told_by_her_own_record(two_rods: Spread, hand_feed: Any) -> None:
    watch = new_watch(Setup(two_rods, start="fishing", members=0))
    feed = hand_feed(watch)
    feed.run(10)
    assert watch.memory.moments.usual_m_s() is None
    feed.run(60)
    slowest, fastest = watch.memory.moments.usual_m_s()  # type: ignore[misc]
    assert slowest == pytest.approx(0.5, abs=0.02)
    assert fastest == pytest.approx(1.0, abs=0.05)


def test_how_she_slows_in_a_fight_is_not_yet_how_slow_she_goes(two_rods: Spread, hand_feed: Any) -> None:
    watch = new_watch(Setup(two_rods, start="fishing", members=0))
    feed = hand_feed(watch)
    feed.run(40)
    watch.act(
        parse({"id": "a", "time": "2026-07-14T03:00:40Z", "elapsed_s": 40.0, "kind": "hit", "rod": "1"}, "test")
    )
    slowest: list[float] = []
    for k in range(90):
        speed = max(1.0 - 0.02 * k, 0.4)
        feed.run(1, stw=speed, sog=speed)
        slowest.append(watch.memory.moments.usual_m_s()[0])  # type: ignore[index]
    assert slowest[38] == pytest.approx(0.5, abs=0.03), "half her trolling speed, while she still slows"
    assert slowest[-1] == pytest.approx(0.4, abs=0.02)

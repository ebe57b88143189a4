"""Everything that goes out passes through the water in order: lure, leader, weighted line, backing."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise
from typing import Any

import pytest

from sternwatch.answers.chains.arrays import RodNow, rig_of, water_of
from sternwatch.gear.spread_file.going_out import going_out
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.steady.solver import solve
from sternwatch.logbook.actions.kinds import parse
from sternwatch.watch.alerts.tackle_causes import raise_words
from sternwatch.watch.bottom.room import Ahead
from sternwatch.watch.chains.clearing_order import pull_s
from sternwatch.watch.chains.members import at_length
from sternwatch.watch.core.engine import Watch, new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, RodPicture, RodState, SolverState
from sternwatch.watch.planner.letting_out import LettingOut
from sternwatch.watch.planner.orders import practice_order

# As agreed: a change of one is to be noticed.
HANDLE_S = 30.0
WIND_M_S = 0.5

FT = 0.3048

HEAVY = """
[boat]
name = "hand boat"
[line.copper]
material = "copper"
diameter = "0.94 mm"
mass_per_length = "4.8 g/m"
[line.core]
material = "lead-core"
[line.wire]
material = "stainless steel"
diameter = "0.38 mm"
[line.mono]
material = "nylon"
diameter = "0.45 mm"
[tackle.disc]
kind = "diver"
diameter = "120 mm"
settings = { high = "45 deg" }
[tackle.board]
kind = "board"
[tackle.fly]
kind = "lure"
[[rod]]
key = "1"
name = "COPPER"
side = "centre"
tip = { astern = "1 ft", abeam = "0 ft", height = "5 ft" }
chain = [ { line = "mono", out = "15 ft" }, { line = "copper", length = "300 ft" },
  { line = "mono", length = "35 ft" },  { tackle = "fly" } ]
[[rod]]
key = "2"
name = "CORE"
side = "port"
tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }
chain = [ { line = "mono", out = "60 ft" }, { tackle = "board" }, { line = "core", length = "5 colour" },
  { line = "mono", length = "20 ft" }, { tackle = "fly" } ]
[[rod]]
key = "3"
name = "DIVER"
side = "starboard"
tip = { astern = "1 ft", abeam = "7 ft", height = "5 ft" }
chain = [ { line = "wire", out = "120 ft" }, { tackle = "disc", setting = "high" },
  { line = "mono", length = "8 ft" }, { tackle = "fly" } ]
"""
PAY_OUT_M_S = 0.6


@pytest.fixture(scope="module")
def heavy() -> Spread:
    return parse_spread(HEAVY)


class Sea:
    """A straight course, and what the crew does."""

    def __init__(self, spread: Spread, feed: Callable[[Watch], Any], members: int = 0) -> None:
        self.watch = new_watch(Setup(spread, members=members, pay_out_m_s=PAY_OUT_M_S))
        self.feed, self._serial = feed(self.watch), 0

    def act(self, kind: str, rod: str, **fields: Any) -> None:
        self._serial += 1
        time = datetime.fromtimestamp(1_784_000_000.0 + self.feed.t_s, UTC)
        given = {"id": f"a{self._serial}", "time": time, "elapsed_s": self.feed.t_s, "kind": kind, "rod": rod}
        self.watch.act(parse(given | fields))

    def rod(self, key: str, picture: Picture | None = None) -> RodPicture:
        return next(rod for rod in (picture or self.watch.picture()).rods if rod.key == key)


def test_the_counter_reads_less_than_nothing_until_its_line_goes_out(heavy: Spread) -> None:
    rod = heavy.rods[0]
    out = going_out(heavy, rod)
    assert out is not None
    assert out.past_tip_m(15 * FT) == pytest.approx(350 * FT)
    assert out.reading_m(335 * FT) == pytest.approx(0.0, abs=1e-9)
    assert [out.on_reel(past * FT) for past in (10, 39, 45, 334, 341, 350)] == [2, 2, 1, 1, 0, 0]
    diver = going_out(heavy, heavy.rods[2])
    assert diver is not None
    # The disc is held at the rail until there is wire enough for it to reach the water.
    assert [diver.on_reel(past * FT) for past in (10, 17, 19)] == [1, 1, 0]


def test_with_the_lure_at_the_water_the_counter_counts_all_of_it(heavy: Spread) -> None:
    rod = heavy.rods[0]
    counted = rod.model_copy(update={"counter": rod.counter.model_copy(update={"zero": "lure at water"})})
    out = going_out(heavy, counted)
    assert out is not None
    assert out.reading_m(out.start_m) == pytest.approx(1.5)
    assert out.past_tip_m(345 * FT) == pytest.approx(350 * FT)


def test_copper_takes_its_minutes_to_go_out(heavy: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    sea = Sea(heavy, hand_feed)
    sea.feed.run(5)
    sea.act("going out", "1")
    depths: list[float] = []
    states: list[RodState] = []
    past: list[float] = []
    read: list[float] = []

    def look() -> None:
        rod = sea.rod("1")
        read.append((rod.line_out_m or 0.0) - rod.uncounted_m)
        depths.append(rod.depth_m or 0.0)
        states.append(rod.state)
        past.append(rod.past_tip_m or 0.0)

    sea.feed.run(240, each=look)
    begun_m = 5 * FT + 1.5
    minutes = (350 * FT - begun_m) / PAY_OUT_M_S
    assert depths[2] < 2.0
    assert past[10] - past[5] == pytest.approx(5 * PAY_OUT_M_S)
    out = sea.watch.chains["1"].reel.out
    assert out is not None
    assert read == pytest.approx([out.reading_m(m) for m in past], abs=0.01)  # one measure, before it counts too
    assert [state is RodState.LETTING_OUT for state in states].index(False) == pytest.approx(minutes, abs=3)
    assert past[-1] == pytest.approx(350 * FT)
    assert sea.watch.chains["1"].past_tip_m == pytest.approx(350 * FT, abs=0.05)
    # It sinks as more of it goes out, never by more than it can sink in a second.
    assert max(after - before for before, after in pairwise(depths)) < 0.5
    sea.feed.run(240)
    steady = Sea(heavy, hand_feed)
    steady.act("set", "1")
    steady.feed.run(60)
    assert sea.rod("1").depth_m == pytest.approx(steady.rod("1").depth_m, abs=0.3)


@pytest.mark.parametrize("outcome", ["no fish", "dropped"])
def test_a_hit_that_was_none_on_the_way_out_does_not_begin_it_again(
    heavy: Spread, hand_feed: Callable[[Watch], Any], outcome: str
) -> None:
    sea = Sea(heavy, hand_feed)
    sea.feed.run(5)
    sea.act("going out", "1")
    sea.feed.run(60)
    before = sea.rod("1").past_tip_m
    assert before is not None
    assert before > 30.0
    sea.act("hit", "1")
    sea.feed.run(3)
    sea.act("outcome", "1", of=f"a{sea._serial}", outcome=outcome)
    sea.feed.run(2)
    after = sea.rod("1")
    assert after.state is RodState.LETTING_OUT
    assert after.past_tip_m == pytest.approx(before + 2 * PAY_OUT_M_S, abs=2 * PAY_OUT_M_S)
    sea.feed.run(30)
    assert sea.rod("1").past_tip_m == pytest.approx((after.past_tip_m or 0.0) + 30 * PAY_OUT_M_S, abs=0.1)
    sea.act("in", "1")
    sea.feed.run(2)
    sea.act("going out", "1")
    sea.feed.run(2)
    assert (sea.rod("1").past_tip_m or 0.0) < 6.0


def test_dropped_after_a_long_fight_nothing_is_told_until_the_length_is_said(
    heavy: Spread, hand_feed: Callable[[Watch], Any]
) -> None:
    """A fight of 3:40, then "dropped": the full length stood there at once with a tight interval."""
    sea = Sea(heavy, hand_feed, members=8)
    sea.act("set", "3")
    sea.feed.run(60)
    before = sea.rod("3")
    sea.act("hit", "3")
    sea.feed.run(220)
    sea.act("outcome", "3", of=f"a{sea._serial}", outcome="dropped")
    sea.feed.run(40)
    lost = sea.rod("3")
    assert (lost.state, lost.solver) == (RodState.FISHING, SolverState.NONE)
    assert (lost.depth_m, lost.depth_interval_m, lost.line_out_m, lost.past_tip_m) == (None, None, None, None)
    assert lost.why_no_depth == "line was wound in the fight: say how much is out"
    samples = [row for sample in sea.watch.memory.fishing.since() for row in sample.rods]
    assert (samples[-1].depth_m, samples[-1].line_out_m) == (None, None), "its hours count, at no depth"
    sea.act("length", "3", line_out_m=120 * FT)
    sea.feed.run(3)
    assert sea.rod("3").solver is SolverState.UNSETTLED
    sea.feed.run(90)
    said = sea.rod("3")
    assert said.solver is SolverState.SETTLED
    assert said.depth_m == pytest.approx(before.depth_m, abs=0.3)


def test_members_go_out_with_it(heavy: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    sea = Sea(heavy, hand_feed, members=12)
    sea.feed.run(5)
    for key in "12":
        sea.act("going out", key)
    for seconds in (3, 60, 110):
        sea.feed.run(seconds)
        for key in "12":
            rod = sea.rod(key)
            assert rod.depth_m is not None
            assert rod.depth_interval_m is not None
            low, high = rod.depth_interval_m
            assert low <= rod.depth_m <= high or abs(rod.depth_m - high) < 0.5
    members = sea.watch.chains["1"].members
    assert members is not None
    whole = [rest[: n - 1].sum() for rest, n in zip(members.state.rest_m, members.rows.n_nodes, strict=True)]
    assert whole == pytest.approx([sea.watch.chains["1"].past_tip_m] * 12, abs=0.6)


def test_taken_in_a_line_comes_back_in_the_reverse_order(heavy: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    sea = Sea(heavy, hand_feed)
    sea.act("set", "2")
    sea.feed.run(60)
    chain = sea.watch.chains["2"]
    assert chain.reel.on_reel == 0
    crew = sea.watch.crew  # into the lead-core, which no key asks for
    sea.watch.crew = replace(crew, rods=crew.rods | {"2": replace(crew.rods["2"], line_out_m=-30.0)})
    sea.feed.run(95)
    assert chain.reel.on_reel == 1
    assert chain.past_tip_m == pytest.approx(60 * FT + 150 * FT + 20 * FT - 60 * FT - 30.0, abs=0.1)
    assert sea.rod("2").line_out_m == 0.0
    assert sea.rod("2").depth_m is not None


def test_pulling_is_timed_for_all_that_is_past_the_tip(heavy: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    sea = Sea(heavy, hand_feed)
    for key in "123":
        sea.act("set", key)
    sea.feed.run(10)
    assert pull_s(sea.rod("1")) == pytest.approx(350 * FT / WIND_M_S + HANDLE_S)
    pulling = sea.watch.picture().pulling
    assert pulling is not None
    assert pulling.keys == ("1", "2", "3")  # the longest first, divers after it


def test_the_longest_of_all_goes_out_last(heavy: Spread) -> None:
    rods = {rod.key: RodNow() for rod in heavy.rods}
    assert practice_order(heavy, rods, {}) == ["3", "2", "1"]
    out = LettingOut(heavy, rods, 1.1, pay_out_m_s=PAY_OUT_M_S)
    begun_m = 5 * FT + 1.5
    assert out.goings["1"].runs_s == pytest.approx((350 * FT - begun_m) / PAY_OUT_M_S)
    assert out.goings["3"].runs_s == pytest.approx((128 * FT - begun_m) / PAY_OUT_M_S)
    for going in out.goings.values():
        assert not going.failed
        assert going.rest_m[0].sum() == pytest.approx(begun_m)
        assert going.rest_m[-1].sum() == pytest.approx(going.rig.length_m, abs=0.05)


def test_a_cure_is_reckoned_on_the_whole_length(heavy: Spread, hand_feed: Callable[[Watch], Any]) -> None:
    sea = Sea(heavy, hand_feed)
    sea.act("set", "1")
    sea.feed.run(60)
    chain = sea.watch.chains["1"]
    depth_m = sea.rod("1").depth_m
    assert depth_m is not None
    ahead = Ahead("fly", 60.0, 0.5 * depth_m, None, False, None)
    said = raise_words(chain, ahead, sea.watch.setup.units)
    assert said.startswith(("Take in about 175 ft", "Take in about 176 ft"))
    assert "it must come up" in said


@pytest.mark.parametrize("share", [0.15, 0.4])
def test_taking_in_what_a_cure_says_raises_copper_by_what_it_asks(
    heavy: Spread, hand_feed: Callable[[Watch], Any], share: float
) -> None:
    """Fifteen feet were said to raise it 43, and raised it 6: the whole of the line counts, backing and copper."""
    sea = Sea(heavy, hand_feed)
    sea.act("set", "1")
    sea.feed.run(60)
    chain, depth_m = sea.watch.chains["1"], sea.rod("1").depth_m
    assert depth_m is not None
    wanted_m = share * depth_m
    said = raise_words(chain, Ahead("fly", 60.0, wanted_m, None, False, None), sea.watch.setup.units)
    in_m = float(said.removeprefix("Take in about ").split(" ft")[0]) * FT
    depths = [_towed_m(heavy, past_tip_m) for past_tip_m in (350 * FT, 350 * FT - in_m)]
    print(f"{said}; it comes up {(depths[0] - depths[1]) / FT:.1f} ft")
    assert depths[0] == pytest.approx(depth_m, abs=0.1)
    assert 0.75 * wanted_m < depths[0] - depths[1] < 1.5 * wanted_m


def _towed_m(spread: Spread, past_tip_m: float) -> float:
    """How deep the copper runs at the feed's speed with so much past the tip: by the steady state, not the watch."""
    rod, water = spread.rods[0], water_of(spread)
    out = going_out(spread, rod)
    assert out is not None
    on_reel = out.on_reel(past_tip_m)
    rig = rig_of(spread, rod, RodNow(out.reading_m(past_tip_m), on_reel=on_reel), water)
    first_m = out.first_line_m(past_tip_m, on_reel) if on_reel else None
    chain = rig.chain if first_m is None else at_length(rig.chain, first_m)
    steady = solve(chain, 1.0, water=water)
    assert steady.ok
    return float(steady.shape_m[-1, 2])

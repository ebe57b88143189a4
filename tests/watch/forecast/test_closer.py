"""Pairs that touch in a few members only: the further members of the same beliefs decide about them alone."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import Draws
from sternwatch.answers.chains.arrays import AS_FILED, water_of
from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.rows import STILL
from sternwatch.hydro.separation.distance import closest
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.again import plan as again
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.track import track_of
from sternwatch.watch.boat.manoeuvres import path_of
from sternwatch.watch.chains.ensemble import (
    Fleet,
    cast_of,
    members_of,
    one_of,
    required_of,
    rods_of,
    run,
    settled,
    settled_members,
    with_line,
)
from sternwatch.watch.chains.polylines import polylines
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.forecast import closer as module
from sternwatch.watch.forecast.closer import Closer
from sternwatch.watch.forecast.make import Risk, forecast, risk
from sternwatch.watch.forecast.snapshot import Casting, snapshot
from sternwatch.watch.forecast.steered import aside_m
from sternwatch.watch.picture.manoeuvre import Manoeuvre
from sternwatch.watch.whole_pass import rating
from watch.twelve_rods import EVENING

SPEED_M_S = 1.9 * 0.44704
# Half a circle of 30 m to starboard: one board line meets its neighbour in one member of the first sixteen.
TURN = Manoeuvre("tight", math.pi, radius_m=30.0)
PAIR = ("7", "8")


@pytest.fixture(scope="module")
def demo() -> Spread:
    return parse_spread(EVENING.read_text(encoding="utf-8"), Path("evening.toml"))


@pytest.fixture(scope="module")
def fleet(demo: Spread) -> Fleet:
    rods = {rod.key: AS_FILED for rod in demo.rods}
    return settled_members(
        demo, rods, Draws(), water=water_of(demo), flow=STILL, heading_rad=0.6, speed_m_s=SPEED_M_S
    )  # fmt: skip


def all_of(demo: Spread) -> Fleet:
    """The same members in one fleet, of this pair alone."""
    rods = dict.fromkeys(PAIR, AS_FILED)
    cast = cast_of(demo, rods, water=water_of(demo), flow=STILL, draws=Draws(None, 48), speed_m_s=SPEED_M_S)
    return settled(cast, heading_rad=0.6, speed_m_s=SPEED_M_S)


def test_a_share_near_the_limit_is_that_of_forty_eight_members(demo: Spread, fleet: Fleet) -> None:
    required = required_of(demo)
    alone = forecast(replace(fleet, reserve=None), TURN, speed_m_s=SPEED_M_S, required=required)
    made = forecast(fleet, TURN, speed_m_s=SPEED_M_S, required=required)
    before, now = (next(pair for pair in one.pairs if pair.keys == PAIR) for one in (alone, made))
    assert (before.members, before.probability) == (16, 1.0 / 16.0)
    done = run(all_of(demo), path_of(TURN, heading_rad=0.6, speed_m_s=SPEED_M_S))
    found = closest(polylines(done), done.path.time_s, done.cast.strands, required, resolve=1.0)
    worst = found.verdict.max(axis=1)
    assert now.members == len(worst) == 48
    assert now.shares.touch == pytest.approx(float(np.mean(worst == Verdict.TOUCH)))
    assert now.shares.wrapped == pytest.approx(float(np.mean(worst == Verdict.WRAPPED)))
    assert 0.0 < now.probability != before.probability
    # Where and when is told of the same member, and pairs that touch in none of the first keep their shares.
    assert now.contact == before.contact
    others = [(one, other) for one, other in zip(alone.pairs, made.pairs, strict=True) if one.keys != PAIR]
    assert all(one == other for one, other in others if one.probability == 0.0)
    # Another pair crosses in over a quarter, so that the first members decide about the spread as a whole.
    assert max(pair.probability or 0.0 for pair in made.pairs) > 0.25
    assert (made.members, made.any_crossing) == (16, alone.any_crossing)
    never = replace(fleet.reserve, make=lambda keys: pytest.fail(str(keys)))  # type: ignore[type-var]
    unasked = replace(fleet, reserve=never)
    assert risk(unasked, TURN, speed_m_s=SPEED_M_S, required=required).any == made.any_crossing
    # Of the two rods alone the same members decide about all, for a limit as for a forecast.
    two = rods_of(fleet, PAIR)
    by_two = forecast(two, TURN, speed_m_s=SPEED_M_S, required=required)
    assert (by_two.members, by_two.any_crossing) == (48, now.probability)
    assert risk(two, TURN, speed_m_s=SPEED_M_S, required=required).any == now.probability


def over_ground(fleet: Fleet) -> Any:
    """What a way of the fleet over a level floor is asked of."""
    ground = SimpleNamespace(place_m=(0.0, 0.0), antenna_m=0.0, heading_rad=fleet.heading_rad, drift_m_s=(0.0, 0.0))
    return SimpleNamespace(
        fleet=fleet, speed_m_s=SPEED_M_S, ground=ground, dangers_m=(), on_bottom=(), required=required_of_demo(),
        floor=SimpleNamespace(depth_m=lambda north, _east: np.full_like(north, 100.0)), target=None,
    )  # fmt: skip


def required_of_demo() -> Any:
    return required_of(parse_spread(EVENING.read_text(encoding="utf-8"), Path("evening.toml")))


def test_the_same_members_decide_about_a_way_over_ground(fleet: Fleet, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both of a way back to a place and of a whole pass, each with the members' own motion through the water."""
    pair, radius_m = ("3", "7"), 26.0
    legs = (Leg(SPEED_M_S * 30.0), Leg(math.pi * radius_m, math.pi), Leg(SPEED_M_S * 60.0))
    path = track_of(legs, heading_rad=0.6, speed_m_s=SPEED_M_S, to_speed_m_s=SPEED_M_S)
    apart = np.array([[0.0, 0.1]])

    def own(some: Fleet) -> Fleet:
        along = SPEED_M_S * np.array([math.cos(0.6), math.sin(0.6)])
        return replace(some, velocity_m_s=along + apart * np.linspace(-1.0, 1.0, some.cast.members)[:, None])

    assert fleet.reserve is not None
    make = fleet.reserve.make
    two = replace(own(rods_of(fleet, pair)), reserve=replace(fleet.reserve, make=lambda keys: own(make(keys))))
    crosses = []
    for some in (two, two.reserve.of(pair)):  # type: ignore[union-attr]
        assert some is not None
        done = run(some, path, aside_m(some, path, SPEED_M_S))
        found = closest(polylines(done), path.time_s, done.cast.strands, required_of_demo(), resolve=1.0)
        crosses.append(found.crosses.any(axis=1))
    first, every = (float(np.mean(one)) for one in (crosses[0], np.concatenate(crosses)))
    assert 0.0 < first < 0.25
    assert every != first
    asked = over_ground(two)
    monkeypatch.setattr(rating, "wanted", lambda _asked, north, *_: np.zeros_like(north))
    one = rating.rated(asked, two, legs)
    assert one is not None
    assert one.risk is not None
    assert (one.risk.members, one.risk.any) == (48, pytest.approx(every))
    few = rating.rated(asked, replace(two, reserve=None), legs)
    assert few is not None
    assert few.risk is not None
    assert (few.risk.members, few.risk.any) == (16, pytest.approx(first))
    monkeypatch.setattr(again, "run_touches", lambda *_, **__: ())
    alone: Any = SimpleNamespace(path=path, cast=SimpleNamespace(keys=("3",)))
    tried = again._tried(asked, legs, np.zeros((2, 2)), 0.6, False, None, alone)  # type: ignore[arg-type]
    assert (tried.members, tried.risk) == (48, pytest.approx(every))


def test_nothing_more_is_run_where_nothing_is_near(demo: Spread, fleet: Fleet) -> None:
    def never(keys: tuple[str, ...]) -> Fleet:
        raise AssertionError(keys)

    assert fleet.reserve is not None
    guarded = replace(fleet, reserve=replace(fleet.reserve, make=never))
    wide = replace(TURN, radius_m=100.0)
    made = forecast(guarded, wide, speed_m_s=SPEED_M_S, required=required_of(demo))
    assert {pair.probability for pair in made.pairs} == {0.0}
    assert made.members == 16


def crossing(members: int, of: int) -> Any:
    """Two strands that touch in so many of the members."""
    verdict = np.zeros((of, 1), dtype=np.int64)
    verdict[:members] = Verdict.TOUCH
    return SimpleNamespace(pairs=np.array([(0, 1)]), verdict=verdict, crosses=verdict >= Verdict.TOUCH)


def made_run(of: int) -> Any:
    cast = SimpleNamespace(keys=("1", "2"), rods=2, rod_line_of=(), members=of)
    return SimpleNamespace(cast=cast, known=np.ones((of, 2), dtype=np.bool_), path=SimpleNamespace())


@pytest.mark.parametrize(("touching", "asked"), [(0, False), (1, True), (3, True), (4, False), (16, False)])
def test_which_pairs_are_looked_at_again(touching: int, asked: bool) -> None:
    wanted: list[tuple[str, ...]] = []

    def of(keys: list[str]) -> None:
        wanted.append(tuple(keys))

    fleet: Any = SimpleNamespace(reserve=SimpleNamespace(of=of))
    required: Any = None
    assert module.looked_at(fleet, made_run(16), crossing(touching, 16), required) is None
    assert wanted == ([("1", "2")] if asked else [])
    wanted.clear()
    module.looked_at(fleet, made_run(16), crossing(touching, 16), required, for_all=True)
    assert wanted == ([("1", "2")] if asked else [])
    lone: Any = SimpleNamespace(reserve=None)
    assert module.looked_at(lone, made_run(16), crossing(1, 16), required) is None


def test_a_pair_that_crosses_in_many_members_leaves_the_whole_spread_to_the_first() -> None:
    worst = np.array([Verdict.TOUCH] * 8 + [Verdict.CLEAR_OF_EACH_OTHER] * 24)
    decides = Closer({("1", "2"): worst}, worst >= Verdict.TOUCH, decides=True)
    found = Risk(made_run(16), crossing(2, 16), decides)
    assert found.any == found.by_pair["1", "2"] == pytest.approx(10.0 / 48.0)
    beside = Risk(made_run(16), crossing(2, 16), replace(decides, decides=False))
    assert beside.any == pytest.approx(2.0 / 16.0)
    assert beside.by_pair["1", "2"] == pytest.approx(10.0 / 48.0)


def test_further_members_of_a_session_are_its_live_ones(spread: Spread, hand_feed: type[Any]) -> None:
    feed = hand_feed(new_watch(Setup(spread, start="fishing", members=19)))
    feed.run(30, stw=1.03, sog=1.03)
    now = snapshot(feed.watch)
    assert now is not None
    fleet = Casting().fleet(now)
    assert fleet.cast.members == 16
    assert fleet.reserve is not None
    keys = ("1", "4")
    further = fleet.reserve.of(keys)
    assert further is not None
    assert (further.cast.keys, further.cast.members) == (keys, 3)
    for rod, key in enumerate(keys):
        live = feed.watch.chains[key].members
        nodes = int(live.rows.n_nodes[0])
        for member in range(3):
            row = member * 2 + rod
            assert np.array_equal(further.state.position_m[row, :nodes], live.state.position_m[16 + member, :nodes])
            assert further.cast.rows.rest_m[row, : nodes - 1] == pytest.approx(
                live.state.rest_m[16 + member, : nodes - 1]
            )
    assert further.boat_m == pytest.approx(feed.watch.chains.beliefs.place_m[16:])
    assert Casting().fleet(snapshot(few_members(spread, hand_feed))).reserve is None  # type: ignore[arg-type]


def few_members(spread: Spread, hand_feed: type[Any]) -> Any:
    feed = hand_feed(new_watch(Setup(spread, start="fishing", members=2)))
    feed.run(2, stw=1.03, sog=1.03)
    return feed.watch


def test_a_change_of_line_reaches_the_further_members_too(fleet: Fleet) -> None:
    longer = with_line(fleet, "7", 5.0)
    assert longer is not None
    assert longer.reserve is not None
    assert fleet.reserve is not None
    now, before = longer.reserve.of(("7", "8")), fleet.reserve.of(("7", "8"))
    assert now is not None
    assert before is not None
    by_m = now.state.rest_m.sum(axis=1) - before.state.rest_m.sum(axis=1)
    assert by_m[0::2] == pytest.approx(5.0, abs=1e-6)
    assert by_m[1::2] == pytest.approx(0.0, abs=1e-9)
    beside = longer.reserve.of(("8",))
    assert beside is not None
    assert beside.cast.keys == ("8",)
    too_short = with_line(fleet, "7", -20.0)
    assert too_short is not None
    none_left = replace(too_short.reserve, lines_m=(("7", -500.0),))  # type: ignore[type-var]
    assert none_left.of(("7", "8")) is None  # type: ignore[union-attr]


def test_parts_of_a_fleet(fleet: Fleet) -> None:
    assert rods_of(fleet, ("7", "8")).reserve is fleet.reserve
    assert one_of(fleet, 3).reserve is None
    assert members_of(fleet, range(4)).reserve is None


def test_a_pair_of_which_no_member_is_known_decides_nothing() -> None:
    wanted: list[tuple[str, ...]] = []
    fleet: Any = SimpleNamespace(reserve=SimpleNamespace(of=lambda keys: wanted.append(tuple(keys))))
    nothing, required = made_run(16), SimpleNamespace()
    nothing.known[:] = False
    for for_all in (False, True):
        assert module.looked_at(fleet, nothing, crossing(8, 16), required, for_all=for_all) is None  # type: ignore[arg-type]
    assert wanted == []
    two = SimpleNamespace(
        pairs=np.array([(0, 1), (0, 2)]), verdict=np.array([[Verdict.TOUCH, Verdict.TOUCH]] * 2 + [[0, 0]] * 14),
        crosses=None,
    )  # fmt: skip
    three = made_run(16)
    three.cast.keys, three.cast.rods = ("1", "2", "3"), 3
    three.known = np.ones((16, 3), dtype=np.bool_)
    three.known[:, 1] = False
    module.looked_at(fleet, three, two, required, for_all=True)  # type: ignore[arg-type]
    assert wanted == [("1", "3")], "the pair that is known is looked at all the same"

"""Letting lines out one after the other, simulated: the demo's spread, and orders against trying all of them.

The end of a line's way out is checked against the steady solver, which knows nothing of how it came there.
"""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest

from sternwatch.answers.chains.arrays import RodNow
from sternwatch.answers.depths.depth import depth_answer
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.separation.verdicts import Verdict
from sternwatch.watch.planner.letting_out import LetOut, LettingOut
from sternwatch.watch.planner.orders import fewest, practice_order

# As agreed: a change of one is to be noticed.
SETTLES_S = 150.0

SPEED_M_S = 2.3 * 0.44704


@pytest.fixture(scope="module")
def out(spread: Spread) -> LettingOut:
    """Every rod of the demo let out as its file has it."""
    return LettingOut(spread, {rod.key: RodNow() for rod in spread.rods}, SPEED_M_S)


@pytest.fixture(scope="module")
def practice(spread: Spread) -> list[str]:
    places = {rod.key: rod.abeam_m or 0.0 for rod in depth_answer(spread, SPEED_M_S).rods}
    return practice_order(spread, {rod.key: RodNow() for rod in spread.rods}, places)


def test_every_line_ends_where_the_steady_solver_has_it(spread: Spread, out: LettingOut) -> None:
    for rod in depth_answer(spread, SPEED_M_S).rods:
        going = out.goings[rod.key]
        astern, abeam, depth = going.shape_m[-1][-1] * np.array([-1.0, 1.0, 1.0])
        assert not going.failed
        assert going.body[-1], "its lure is a body"
        assert not going.body[0]
        assert depth == pytest.approx(rod.depth_m, abs=0.25), rod.key
        assert abeam == pytest.approx(rod.abeam_m, abs=0.8), rod.key
        assert astern == pytest.approx(rod.astern_m, abs=0.8), rod.key


def test_a_line_takes_as_long_as_it_is_and_begins_at_the_rail(out: LettingOut) -> None:
    going = out.goings["3"]
    assert going.runs_s == pytest.approx((going.rig.length_m - 3 * 0.3048 - 1.5) / 0.6, abs=1.0)
    assert going.rig.length_m > 190 * 0.3048, "the leader passes the tip before the wire"
    assert going.rest_m[0].sum() < 7.0, "hardly more than the leader"
    assert len(going.shape_m) == pytest.approx(going.runs_s + SETTLES_S, abs=3)
    assert going.rest_m[-1].sum() > 58.0
    gone = going.rest_m.sum(axis=1) - going.rest_m[0].sum()
    assert gone[:90] == pytest.approx(0.6 * np.arange(90.0), abs=1e-6), "a sample each second"
    tip = np.tile(going.shape_m[-1, 0], (len(going.shape_m), 1))
    assert going.shape_m[:, 0] == pytest.approx(tip, abs=1e-6), "it stays at the tip, from the first sample on"


def test_every_line_is_followed_until_two_and_a_half_minutes_after_it_has_stopped(out: LettingOut) -> None:
    for going in out.goings.values():
        samples, nodes = going.shape_m.shape[:2]
        assert samples == math.ceil(going.runs_s + SETTLES_S) + 1
        assert going.rest_m.shape == (samples, nodes - 1)
        assert (len(going.body), len(going.leader)) == (nodes, nodes - 1)
        assert going.at(1e6) == samples - 1


def test_a_line_to_a_release_bends_with_the_water_that_flows_past_and_not_aside(out: LettingOut) -> None:
    line = out.goings["4"].rod_line_m
    assert line is not None
    tip, *between, ball = line[-1]
    sag = [np.cross(ball - tip, point - tip) / math.dist(ball, tip) for point in between]
    assert max(float(np.linalg.norm(one)) for one in sag) > 0.05, "it is no straight line"
    for point in between:
        share = (point[2] - tip[2]) / (ball[2] - tip[2])
        assert point[1] == pytest.approx(tip[1] + share * (ball[1] - tip[1]), abs=1e-9)


def near_passes(order: LetOut) -> set[tuple[str, str]]:
    return {(one.going, one.out) for one in order.passings if one.verdict == Verdict.NEAR_PASS}


def test_the_demo_spread_goes_out_without_a_touch_and_in_the_order_of_fewest_near_passes(
    out: LettingOut, practice: list[str]
) -> None:
    best = out.best(practice)
    assert sorted(best.keys) == sorted(practice)
    assert best.crossings == ()
    assert len(best.passings) > 3, "some come near"
    usual = out.ordered(practice)
    assert usual.crossings == ()
    assert {("1", "2"), ("8", "7")} <= near_passes(usual), "boards pass the divers that are out already"
    assert len(near_passes(best)) <= 3 < len(near_passes(usual))
    # The board goes out over the diver before that one lies still.
    worse = out.ordered("87654321")
    assert worse.time_s == pytest.approx(best.time_s)
    assert len(worse.crossings) + len(near_passes(worse)) > len(near_passes(best))


def test_another_pay_out_takes_another_time(spread: Spread) -> None:
    rods = {"4": RodNow(), "5": RodNow(10.0)}
    slow, quick = (LettingOut(spread, rods, SPEED_M_S, pay_out_m_s=rate) for rate in (0.5, 1.0))
    assert slow.goings["4"].runs_s == pytest.approx(2.0 * quick.goings["4"].runs_s)
    assert slow.goings["5"].rest_m[-1].sum() < slow.goings["4"].rest_m[-1].sum()


def test_balls_go_first_and_boards_last_in_common_practice(practice: list[str]) -> None:
    assert set(practice[:2]) == {"4", "5"}
    assert set(practice[-2:]) == {"1", "8"}


@pytest.mark.parametrize("seed", range(6))
def test_of_all_orders_the_one_that_costs_least(seed: int) -> None:
    rng = random.Random(seed)
    keys = list("abcde")
    pairs = [(a, b) for a in keys for b in keys if a != b]
    costs = {pair: 1000.0 * rng.random() for pair in pairs if rng.random() < 0.5}

    def cost(order: tuple[str, ...]) -> float:
        paid = sum(costs.get((going, out), 0.0) for i, going in enumerate(order) for out in order[:i])
        late = sum(keys.index(b) < keys.index(a) for i, a in enumerate(order) for b in order[i + 1 :])
        return paid + late

    found = tuple(fewest(keys, costs))
    assert cost(found) == pytest.approx(min(cost(order) for order in itertools.permutations(keys)))


def test_nothing_in_the_way_leaves_it_as_in_practice() -> None:
    assert fewest(["x", "y", "z"], {}) == ["x", "y", "z"]
    assert fewest([], {}) == []


def test_a_pair_of_which_nothing_is_told_costs_nothing() -> None:
    """Going out past the other costs more than one departure from practice."""
    assert fewest(["x", "y"], {("y", "x"): 1.5}) == ["y", "x"]
    assert fewest(["x", "y"], {("y", "x"): 0.5}) == ["x", "y"]

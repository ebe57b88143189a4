"""Parts of a fleet, gaps in what is known of it, and clips on its cables: by hand, without a step of the solver."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.answers.belief.priors import SHEAR_DEPTH_M, Draws
from sternwatch.answers.chains.arrays import AS_FILED, RodNow, water_of
from sternwatch.gear.spread_file.models import Spread
from sternwatch.hydro.chain.rows import STILL, Flow
from sternwatch.hydro.motion import fleet as motion
from sternwatch.watch.boat.manoeuvres import hold, path_of
from sternwatch.watch.chains import ensemble as ensemble_module
from sternwatch.watch.chains.ensemble import (
    Cast,
    Fleet,
    _afloat,
    _bridge,
    _in_boat_axes,
    _on_cable,
    _set_aside,
    cast_of,
    members_of,
    required_of,
    rods_of,
    sheared,
    with_line,
)

# As agreed: a change of one is to be noticed.
BRIDGED = 3


@pytest.fixture(scope="module")
def cast(two_rods: Spread) -> Cast:
    rods = {rod.key: AS_FILED for rod in two_rods.rods}
    return cast_of(two_rods, rods, water=water_of(two_rods), flow=STILL, draws=Draws(0, 3), segments={"1": 8, "2": 9})


@pytest.fixture(scope="module")
def fleet(cast: Cast) -> Fleet:
    """Every node in a place that tells member, rod and node."""
    rows = cast.rows
    places = np.zeros((len(rows), rows.nodes, 3))
    places[..., 0] = np.arange(len(rows))[:, None]
    places[..., 2] = np.arange(rows.nodes)[None, :]
    state = motion.start(rows, places, np.zeros((len(rows), 3)))
    boat = np.arange(6.0).reshape(3, 2)
    return Fleet(cast, state, boat, 0.7, boat + 10.0)


def test_a_line_whose_shape_is_not_known_lies_straight_astern_and_has_failed(cast: Cast) -> None:
    rows = cast.rows
    shapes = np.ones((len(rows), rows.nodes, 3))
    shapes[1, 2, 0] = math.nan
    state = _afloat(cast, shapes, 0.0, np.full(cast.members, 1.5)).state
    assert np.flatnonzero(state.failed).tolist() == [1]
    off = state.position_m[1] - rows.tip_m[1]
    assert off[:, 1].tolist() == [0.0] * rows.nodes
    assert off[:, 2] == pytest.approx(-off[:, 0])
    assert np.linalg.norm(off, axis=1) == pytest.approx(rows.arc_m[1])
    assert (state.position_m[0] == 1.0).all()
    assert (state.velocity_m_s[:, :, 0] == 1.5).all()


def test_every_member_has_its_tackle_at_the_same_nodes(spread: Spread) -> None:
    """What is told of a fleet's tackle is read at the first member's nodes, and the kernel steps shapes as one."""
    rods = {rod.key: AS_FILED for rod in spread.rods}
    rows = cast_of(spread, rods, water=water_of(spread), flow=STILL, draws=Draws(None, 16)).rows
    n = len(rods)
    for own in (rows.n_nodes, rows.first_segments, rows.body_node, rows.node_body, rows.rod_node):
        assert (own.reshape(16, n, -1) == own[:n].reshape(n, -1)).all()
    assert len({float(rest) for rest in rows.rest_m[::n, 0]}) > 8, "though their lines differ"


def test_rows_are_member_by_member(cast: Cast) -> None:
    assert (cast.keys, cast.members, cast.rods, len(cast.rows), len(cast.chains)) == (("1", "2"), 3, 2, 6, 6)
    assert cast.rows.n_nodes.tolist() == [cast.rows.n_nodes[0], cast.rows.n_nodes[1]] * 3
    assert cast.parent == (-1, -1)
    assert len(set(cast.speed_factor)) == 3


def test_some_members_by_themselves(fleet: Fleet) -> None:
    some = members_of(fleet, [2, 0])
    assert some.state.position_m[:, 0, 0].tolist() == [4.0, 5.0, 0.0, 1.0]
    assert some.boat_m.tolist() == [[4.0, 5.0], [0.0, 1.0]]
    assert some.velocity_m_s is not None
    assert some.velocity_m_s.tolist() == [[14.0, 15.0], [10.0, 11.0]]
    assert some.cast.speed_factor.tolist() == fleet.cast.speed_factor[[2, 0]].tolist()
    assert some.cast.chains == (*fleet.cast.chains[4:], *fleet.cast.chains[:2])
    assert some.cast.flow.velocity_m_s == pytest.approx(fleet.cast.flow.velocity_m_s[[4, 5, 0, 1]])
    assert members_of(replace(fleet, velocity_m_s=None), [1]).velocity_m_s is None


def test_some_rods_by_themselves(fleet: Fleet) -> None:
    alone = rods_of(fleet, ["2"])
    assert alone.cast.keys == ("2",)
    assert alone.state.position_m[:, 0, 0].tolist() == [1.0, 3.0, 5.0]
    assert alone.cast.chains == fleet.cast.chains[1::2]
    assert alone.cast.rows.arc_m == pytest.approx(fleet.cast.rows.arc_m[1::2])
    assert alone.cast.flow.velocity_m_s == pytest.approx(fleet.cast.flow.velocity_m_s[1::2])
    of = [list(fleet.cast.keys).index("2"), *(2 + j for j, rod in enumerate(fleet.cast.rod_line_of) if rod == 1)]
    assert alone.cast.strands.arc_m == pytest.approx(fleet.cast.strands.arc_m[of])
    assert alone.cast.strands.owner.tolist() == [0] * len(of)
    assert rods_of(fleet, ["2", "1"]).cast.keys == ("1", "2"), "in the order of the fleet"


def test_with_a_rod_comes_the_cable_that_carries_it(fleet: Fleet) -> None:
    clipped = replace(fleet, cast=replace(fleet.cast, parent=(1, -1), above_ball_m=(3.0, 0.0)))
    both = rods_of(clipped, ["1"])
    assert (both.cast.keys, both.cast.parent, both.cast.above_ball_m) == (("1", "2"), (1, -1), (3.0, 0.0))
    assert rods_of(clipped, ["2"]).cast.keys == ("2",)
    assert with_line(clipped, "2", 1.0) is None, "the clip would jump"
    assert with_line(clipped, "1", 1.0) is not None


def test_more_line_on_one_rod_in_every_member(fleet: Fleet) -> None:
    first = fleet.cast.rows.first_segments

    def out(of: Fleet) -> list[float]:
        return [float(rest[:n].sum()) for rest, n in zip(of.state.rest_m, first, strict=True)]

    before = out(fleet)
    for by_m in (4.0, -4.0):
        longer = with_line(fleet, "2", by_m)
        assert longer is not None
        assert out(longer) == pytest.approx([b + by_m * (k % 2) for k, b in enumerate(before)])
        assert longer.cast.strands.arc_m[1].max() == pytest.approx(fleet.cast.strands.arc_m[1].max() + by_m)
        assert longer.cast.strands.arc_m[0] == pytest.approx(fleet.cast.strands.arc_m[0])
    assert out(fleet) == before
    least = min(before[1::2])
    assert with_line(fleet, "2", 3.0 - least + 1e-6) is not None
    assert with_line(fleet, "2", 3.0 - least - 1e-6) is None, "three metres are the least that is fished"


def test_a_clip_sits_so_far_above_the_ball(cast: Cast) -> None:
    """On a cable that goes straight down it is as deep as its place on it; on more than its length at the rail."""
    for row in (0, 2, 4):  # the first rod of every member, on the second one's cable
        ball = int(cast.rows.body_node[row + 1, cast.rigs[1].kinds.index("ball")])
        arc = cast.rows.arc_m[row + 1]
        shape = np.stack([np.zeros_like(arc), np.zeros_like(arc), arc], axis=1)
        for above in (0.0, 0.7, 3.0, 10.0, 999.0):
            clipped = replace(cast, parent=(1, -1), above_ball_m=(above, 0.0))
            at = _on_cable(clipped, np.stack([shape, shape + 1.0]), row, 0)
            assert at[:, 2] == pytest.approx([max(arc[ball] - above, 0.0), max(arc[ball] - above, 0.0) + 1.0])
    without = replace(cast, parent=(-1, 0), above_ball_m=(0.0, 1.0))
    nowhere = _on_cable(without, np.zeros((2, cast.rows.nodes, 3)), 1, 1)
    assert nowhere.shape == (2, 3)
    assert np.isnan(nowhere).all(), "the diver has no ball"


# -- gaps ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("bad", "known"),
    [
        ((), True), ((3,), True), ((3, 4, 5), True), ((3, 4, 5, 6), False), ((2, 3, 4, 6, 7), True), ((9,), False),
        ((1, 2, 3), True), ((6, 7, 8), True), (tuple(range(1, 10)), False),
    ],
)  # fmt: skip
def test_short_gaps_are_bridged_and_long_ones_are_not(bad: tuple[int, ...], known: bool) -> None:
    """Ten samples on a straight way, the first of them now."""
    assert BRIDGED == 3
    way = np.arange(10.0)[:, None, None, None] * np.array([1.0, -2.0, 0.5])
    positions = np.repeat(way, 2, axis=1)
    status = np.zeros((9, 2), dtype=np.int64)
    for k in bad:
        positions[k, 1], status[k - 1, 1] = 77.0, 1
    told = _bridge(positions[:, None], status, np.zeros(2, dtype=np.bool_))
    assert told.tolist() == [True, known]
    assert positions[:, 0] == pytest.approx(way[:, 0])
    if known:
        assert positions[:, 1] == pytest.approx(way[:, 0])
    else:
        assert np.isnan(positions[:, 1]).all()


def test_a_chain_that_is_unknown_now_is_unknown_later() -> None:
    positions = np.zeros((4, 2, 1, 3))
    told = _bridge(positions[:, None], np.zeros((3, 2), dtype=np.int64), np.array([True, False]))
    assert told.tolist() == [False, True]
    assert np.isnan(positions[:, 0]).all()
    assert (positions[:, 1] == 0.0).all()


# -- water ---------------------------------------------------------------------------------------------------------


def test_every_member_has_a_shear_of_its_own_that_grows_down_to_its_depth(two_rods: Spread) -> None:
    from sternwatch.answers.belief.priors import named

    draws = Draws(0, 3)
    file = Flow(np.array([0.0, 5.0, 50.0]), np.array([[0.1, 0.0], [0.2, 0.1], [0.3, -0.1]]))
    made = sheared(file, two_rods, draws, 2)
    own = np.stack([named(two_rods, draws, f"shear {axis}") for axis in ("north", "east")], axis=1)
    for row in range(6):
        mine = Flow(made.depths_m, made.velocity_m_s[row])
        for depth, share in ((0.0, 0.0), (5.0, 5.0 / SHEAR_DEPTH_M), (SHEAR_DEPTH_M, 1.0), (90.0, 1.0)):
            at = np.array([depth])
            assert mine.at(at)[0, :2] == pytest.approx(file.at(at)[0, :2] + share * own[row // 2])
    assert sheared(file, two_rods, None, 2) is file
    still = sheared(STILL, two_rods, draws, 1)
    assert still.depths_m.tolist() == [0.0, SHEAR_DEPTH_M]
    assert still.velocity_m_s[:, 1] == pytest.approx(own)
    assert (still.velocity_m_s[:, 0] == 0.0).all()


def test_water_in_the_axes_of_a_boat() -> None:
    """A current to the north is ahead of a boat that heads north, and to port of one that heads east."""
    flow = Flow(np.array([0.0, 9.0]), np.array([[[0.3, 0.0], [0.3, 0.1]], [[0.0, 0.2], [0.0, 0.0]]]))
    for heading, row, expected in (
        (0.0, 0, [[0.3, 0.0], [0.3, 0.1]]), (math.pi / 2.0, 0, [[0.0, -0.3], [0.1, -0.3]]),
        (math.pi / 2.0, 1, [[0.2, 0.0], [0.0, 0.0]]), (math.pi, 1, [[0.0, -0.2], [0.0, 0.0]]),
    ):  # fmt: skip
        found = _in_boat_axes(flow, row, heading)
        assert found is not None
        assert found[0].tolist() == [0.0, 9.0]
        assert found[1] == pytest.approx(np.array(expected), abs=1e-12)
    assert _in_boat_axes(STILL, 0, 1.0) is None
    common = Flow(np.array([0.0]), np.array([[0.5, 0.0]]))
    found = _in_boat_axes(common, 5, 0.0)
    assert found is not None
    assert found[1].tolist() == [[0.5, 0.0]]


def test_a_member_who_goes_another_way_is_set_aside_by_the_difference(fleet: Fleet) -> None:
    """Straight on to the east at 1 m/s: after ten seconds ten times the difference, turned with her."""
    times = np.linspace(0.0, 10.0, 11)
    path: Any = SimpleNamespace(
        heading_rad=np.full(11, math.pi / 2.0), speed_m_s=np.ones(11), time_s=times, step_s=np.ones(10),
        north_m=np.zeros(11), east_m=times,
    )  # fmt: skip
    factor = fleet.cast.speed_factor
    velocity = np.stack([np.array([0.1, 0.0, -0.2]), factor + np.array([0.0, 0.3, 0.0])], axis=1)
    aside = _set_aside(fleet, velocity, path)
    assert aside.shape == (11, 3, 2)
    assert aside[0] == pytest.approx(np.zeros((3, 2)))
    assert aside[10] == pytest.approx(np.array([[1.0, 0.0], [0.0, 3.0], [-2.0, 0.0]]), abs=1e-9)


def test_a_rod_on_a_cable_that_is_not_down_is_left_out(spread: Spread, stacked: Spread) -> None:
    def keys(*rods: str) -> tuple[tuple[str, ...], tuple[int, ...]]:
        of = {key: RodNow() for key in rods}
        made = cast_of(stacked, of, water=water_of(stacked), flow=STILL, draws=None, segments={"4": 6, "5": 5})
        return made.keys, made.parent

    assert keys("4", "5") == (("4", "5"), (-1, 0))
    assert keys("4") == (("4",), (-1,))
    assert keys("5")[0] == ()
    required = required_of(spread)
    assert (required.line_m, required.tackle_m, required.taper_m) == (
        spread.boat.required.line_m, spread.boat.required.tackle_m, spread.boat.required.taper_m,
    )  # fmt: skip


def test_a_clipped_rod_takes_the_first_rods_cable_along(stacked: Spread) -> None:
    of = {key: RodNow() for key in ("4", "5")}
    made = cast_of(stacked, of, water=water_of(stacked), flow=STILL, draws=Draws(0, 2), segments={"4": 6, "5": 5})
    places = np.arange(len(made.rows) * made.rows.nodes * 3.0).reshape(len(made.rows), made.rows.nodes, 3)
    fleet = Fleet(made, motion.start(made.rows, places, np.zeros((len(made.rows), 3))), np.zeros((2, 2)), 0.0)
    both = rods_of(fleet, ("5",))
    assert (both.cast.keys, both.cast.parent) == (("4", "5"), (-1, 0))
    alone = rods_of(fleet, ("4",))
    assert (alone.cast.keys, alone.cast.parent) == (("4",), (-1,))
    assert alone.state.position_m[:, 0, 0].tolist() == [places[0, 0, 0], places[2, 0, 0]], "in both members"
    assert alone.cast.strands.owner.tolist() == [0]
    assert both.cast.strands.owner.tolist() == [0, 0]


@pytest.mark.parametrize(("seed", "members", "more"), [(None, 16, True), (7, 16, False), (None, 48, False)])
def test_outlooks_have_the_other_members_in_reserve_where_everybodys_are_the_same(
    monkeypatch: pytest.MonkeyPatch, fleet: Fleet, two_rods: Spread, seed: int | None, members: int, more: bool
) -> None:
    monkeypatch.setattr(ensemble_module, "cast_of", lambda *_, **__: None)
    monkeypatch.setattr(ensemble_module, "settled", lambda *_, **__: replace(fleet, reserve=None))
    nothing: Any = None
    made = ensemble_module.settled_members(
        two_rods, {}, Draws(seed, members), water=nothing, flow=nothing, heading_rad=0.0, speed_m_s=1.0
    )
    assert (made.reserve is not None) is more


def test_a_run_begins_where_the_lines_lie_now(cast: Cast) -> None:
    lying = ensemble_module.settled(cast, heading_rad=0.7, speed_m_s=1.0)
    path = path_of(hold(), heading_rad=0.7, speed_m_s=1.0)
    done = ensemble_module.run(lying, path)
    now = lying.state.position_m.reshape(3, 2, cast.rows.nodes, 3)
    for rod in range(2):
        used = int(cast.rows.n_nodes[rod])
        assert np.array_equal(done.positions_m[0, :, rod, :used], now[:, rod, :used])
    assert not np.array_equal(done.positions_m[1], now)

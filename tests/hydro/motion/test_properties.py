"""What must hold of the motion whatever the numbers are: symmetry, order, batching, checkpoints, honest failures."""

from __future__ import annotations

import dataclasses
import math
from types import ModuleType, SimpleNamespace

import numpy as np
import pytest

from sternwatch.hydro.chain.cutting import advised_segments
from sternwatch.hydro.chain.model import Body, Chain
from sternwatch.hydro.chain.rows import Flow, Rows, pack
from sternwatch.hydro.motion.fleet import FAILED, State, run, settle, start, step, to_earth
from sternwatch.hydro.motion.kernel import run_rows
from sternwatch.hydro.motion.newton import Effort
from sternwatch.hydro.motion.report import report

EXACT = Effort(40, 1e-10)


@dataclasses.dataclass
class Drive:
    """Tips of rods and rod lines (steps, rows, 3) along a course of the transom's centre."""

    tips: np.ndarray
    rods: np.ndarray
    dt: np.ndarray


def drive(rows: Rows, course: object, steps: int, dt: float = 1.0) -> Drive:
    both = [course((k + 1) * dt) for k in range(steps)]  # type: ignore[operator]
    place = np.array([b[0] for b in both])[:, None]
    heading = np.array([math.atan2(b[1][1], b[1][0]) for b in both])
    arms = [np.stack([to_earth(arm, np.full(len(rows), h)) for h in heading]) for arm in (rows.tip_m, rows.rod_tip_m)]
    return Drive(place + arms[0], place + arms[1], np.full(steps, dt))


def spread(rigs: SimpleNamespace) -> Rows:
    return rigs.packed(
        rigs.diver(-1.0), rigs.diver(1.0), rigs.diver(1.0, roll_deg=45.0, out=60.0), rigs.downrigger(-1.0),
        rigs.lead_core(-1.0), rigs.lead_core(1.0, board=False),
    )  # fmt: skip


def same(one: State, other: State) -> bool:
    return all(
        np.array_equal(getattr(one, f.name), getattr(other, f.name), equal_nan=True) for f in dataclasses.fields(one)
    )


def mirrored(chain: Chain) -> Chain:
    def item(one: object) -> object:
        if not isinstance(one, Body):
            return one
        rod = one.rod_line
        if rod is not None:
            rod = dataclasses.replace(rod, tip_m=(rod.tip_m[0], -rod.tip_m[1], rod.tip_m[2]))
        return dataclasses.replace(one, roll_rad=-one.roll_rad, side=-one.side, rod_line=rod)

    x, y, z = chain.tip_m
    return Chain((x, -y, z), tuple(item(i) for i in chain.items))  # type: ignore[arg-type]


def test_port_is_starboards_mirror_image(rigs: SimpleNamespace, towing: ModuleType) -> None:
    chains = [rigs.diver(1.0), rigs.downrigger(1.0), rigs.lead_core(1.0), rigs.reference()]
    one, other = rigs.packed(*chains), rigs.packed(*[mirrored(c) for c in chains])
    flow = Flow(np.array([0.0, 20.0]), np.array([[0.0, 0.0], [0.05, 0.10]]))
    against = Flow(np.array([0.0, 20.0]), np.array([[0.0, 0.0], [0.05, -0.10]]))
    way = drive(one, towing.turn(30.0, 1.0), 120)
    flip = np.array([1.0, -1.0, 1.0])
    to_starboard = run(one, settle(one, 0.0, 1.0, flow), way.tips, way.dt, flow, way.rods)
    to_port = run(other, settle(other, 0.0, 1.0, against), way.tips * flip, way.dt, against, way.rods * flip)
    assert not to_starboard.status.any()
    assert to_port.positions_m * flip == pytest.approx(to_starboard.positions_m, abs=1e-9)


@pytest.mark.parametrize("rig", ["ball", "diver", "lead-core", "rod line"])
def test_second_order_in_time(rig: str, rigs: SimpleNamespace) -> None:
    """Halving the step quarters the error on a smooth course; at 1 s it is under 2 cm."""
    chain = {
        "ball": rigs.reference(), "diver": rigs.diver(1.0), "lead-core": rigs.lead_core(1.0),
        "rod line": rigs.downrigger(1.0),
    }[rig]  # fmt: skip
    rows = rigs.packed(chain)
    settled = settle(rows, 0.0, 1.0)

    def course(t: float) -> tuple[np.ndarray, np.ndarray]:
        w = 2.0 * math.pi / 60.0
        place = np.array([t + 0.15 * (t - math.sin(w * t) / w), 3.0 * (1.0 - math.cos(w * t)), 0.0])
        return place, np.array([1.0, 0.0, 0.0])

    def places(dt: float) -> np.ndarray:
        state = start(rows, settled.position_m, np.array([1.0, 0.0, 0.0]), step_s=dt)
        state.tension_N[:] = settled.tension_N
        way = drive(rows, course, round(60.0 / dt), dt)
        track = run(rows, state, way.tips, way.dt, rod_line_tips_m=way.rods, out_every=round(2.0 / dt), effort=EXACT)
        assert not track.status.any()
        return track.positions_m

    best = places(1.0 / 16.0)
    error = [float(np.abs(places(dt) - best).max()) for dt in (2.0, 1.0, 0.5)]
    assert 3.3 < error[0] / error[1] < 4.7
    assert 3.3 < error[1] / error[2] < 4.7
    assert error[1] < 0.02


def test_a_row_does_not_depend_on_its_neighbours(rigs: SimpleNamespace, towing: ModuleType) -> None:
    """Bit for bit, in a turn hard enough for line searches, alone, in another order and in company."""
    rows = spread(rigs)
    way = drive(rows, towing.turn(15.0, 1.0), 100)
    state = settle(rows, 0.0, 1.0)
    whole = run(rows, state, way.tips, way.dt, rod_line_tips_m=way.rods)
    order = [4, 2, 0, 5, 1, 3]
    shuffled = run(
        rows.take(order), state.take(order), way.tips[:, order], way.dt, rod_line_tips_m=way.rods[:, order]
    )
    assert np.array_equal(shuffled.positions_m, whole.positions_m[:, order])
    for row in range(len(rows)):
        alone = run(
            rows.take([row]), state.take([row]), way.tips[:, [row]], way.dt, rod_line_tips_m=way.rods[:, [row]]
        )
        assert np.array_equal(alone.positions_m[:, 0], whole.positions_m[:, row])
        assert np.array_equal(alone.tensions_N[:, 0], whole.tensions_N[:, row])


def test_stepping_running_and_checkpoints_give_the_same_bits(rigs: SimpleNamespace, towing: ModuleType) -> None:
    rows = spread(rigs)
    way = drive(rows, towing.turn(20.0, 1.2), 60)
    begin = settle(rows, 0.0, 1.2)
    kept = begin.copy()
    track = run(rows, begin, way.tips, way.dt, rod_line_tips_m=way.rods)
    assert same(begin, kept)  # an outlook leaves the state alone
    walked = begin.copy()
    for k in range(60):
        if k == 30:
            checkpoint = walked.copy()
        step(rows, walked, way.tips[k], 1.0, rod_line_tips_m=way.rods[k])
        assert np.array_equal(walked.position_m, track.positions_m[k])
    assert same(walked, track.state)
    for k in range(30, 60):
        step(rows, checkpoint, way.tips[k], 1.0, rod_line_tips_m=way.rods[k])
    assert same(checkpoint, walked)


def test_a_row_can_be_put_into_a_state_without_disturbing_the_others(rigs: SimpleNamespace) -> None:
    rows = spread(rigs)
    state = settle(rows, 0.0, 1.0)
    before = state.copy()
    fresh = settle(rigs.packed(rigs.diver(1.0)), 0.0, 1.4)
    state.put(1, fresh)
    others = [0, 2, 3, 4, 5]
    assert same(state.take(others), before.take(others))
    n = int(rows.n_nodes[1])
    assert np.array_equal(state.position_m[1, :n], fresh.position_m[0, :n])
    assert not np.array_equal(state.position_m[1], before.position_m[1])


@pytest.mark.parametrize("dt", [0.5, 1.0, 2.0])
def test_hard_turn_of_20_m_radius_completes(dt: float, rigs: SimpleNamespace, towing: ModuleType) -> None:
    """Every rig, inside and outside, through 180 degrees at 1.0 m/s: no step fails, none needs many rounds."""
    rows = rigs.packed(*[
        make(side, **more)
        for side in (-1.0, 1.0)
        for make, more in (
            (rigs.diver, {}), (rigs.diver, {"roll_deg": 45.0, "out": 60.0}), (rigs.downrigger, {}),
            (rigs.lead_core, {}), (rigs.lead_core, {"board": False}),
        )
    ])  # fmt: skip
    way = drive(rows, towing.turn(20.0, 1.0), round(200.0 / dt), dt)
    track = run(rows, settle(rows, 0.0, 1.0), way.tips, way.dt, rod_line_tips_m=way.rods)
    assert not track.status.any()
    assert np.isfinite(track.positions_m).all()
    assert track.iterations < 3.0 * way.dt.size * len(rows)


def test_every_chain_can_have_its_own_number_of_segments(rigs: SimpleNamespace) -> None:
    chains = [rigs.diver(1.0), rigs.lead_core(1.0)]
    asked = [advised_segments(chain, 1000.0) for chain in chains]
    assert asked[0] == 12
    assert asked[1] > 40
    rows = pack(chains, segments=asked, density_kg_m3=1000.0, viscosity_m2_s=1.3e-6)
    assert rows.n_nodes.tolist() == [13, asked[1] + 1]
    state, alone = settle(rows, 0.0, 1.0), settle(rigs.packed(rigs.diver(1.0)), 0.0, 1.0)
    assert np.array_equal(state.position_m[0, :13], alone.position_m[0])
    assert (state.position_m[0, 13:] == state.position_m[0, 12]).all()
    assert rows.rest_m.sum(axis=1) == pytest.approx([57.96, 102.0])


def test_no_array_that_is_handed_over_has_the_kernel_compiled_again(rigs: SimpleNamespace) -> None:
    """Read-only, strided or of another type: a second compilation would hold the screen for seconds."""
    rows = rigs.packed(rigs.downrigger(1.0))
    state = settle(rows, 0.0, 1.0)
    before = len(run_rows.signatures)
    tips = np.asfortranarray(np.broadcast_to(rows.tip_m, (1, 3)))
    tips.setflags(write=False)
    flow = Flow(np.array([0, 10]), np.broadcast_to(np.zeros(2), (2, 2)))
    step(rows, state, tips, 1, flow, rows.rod_tip_m.astype(np.float32), effort=Effort(25, 1))
    assert len(run_rows.signatures) == before


def test_a_stop_lets_every_rig_sink_and_none_fail(rigs: SimpleNamespace, towing: ModuleType) -> None:
    rows = spread(rigs)
    way = drive(rows, towing.speeds((0.0, 1.0), (5.0, 1.0), (7.0, 0.0), (107.0, 0.0), (109.0, 1.0)), 700)
    begin = settle(rows, 0.0, 1.0)
    track = run(rows, begin, way.tips, way.dt, rod_line_tips_m=way.rods)
    assert not track.status.any()
    sunk = track.positions_m[100, :, -1, 2] - begin.position_m[:, -1, 2]
    assert (sunk > 1.0).all()
    back = track.positions_m[-1] - begin.position_m - (way.tips[-1] - rows.tip_m)[:, None]
    assert np.abs(back).max() < 0.02


def test_slack_diver_is_reported(rigs: SimpleNamespace, towing: ModuleType) -> None:
    rows = rigs.packed(rigs.diver(1.0), rigs.reference())
    state = settle(rows, 0.0, 1.0)
    assert not report(rows, state).slack
    way = drive(rows, towing.speeds((0.0, 1.0), (2.0, 0.0)), 30)
    slack = []
    for k in range(30):
        step(rows, state, way.tips[k], 1.0)
        slack.append(report(rows, state).slack)
        diver = rows.body_node[0, 0]
        assert slack[-1] == (
            np.linalg.norm(state.velocity_m_s[0, diver]) < 0.3 or state.tension_N[0, diver - 1] < 1.0
        )
        assert not report(rows, state, row=1).slack  # a ball is never a slack diver
    assert slack[-1]


def test_a_board_that_its_rig_pulls_under_is_reported(rigs: SimpleNamespace) -> None:
    """A board holds lead-core; a diver behind it takes it under (common practice, no source)."""
    board = rigs.lead_core(1.0).items[1]
    behind = rigs.diver(1.0)
    sunk = Chain((-0.3, 3.0, -1.5), (rigs.nylon(30.0), board, *behind.items))
    rows = rigs.packed(rigs.lead_core(1.0), sunk)
    state = settle(rows, 0.0, 1.0)
    assert [report(rows, state, row=row).board_under for row in range(2)] == [False, True]


@pytest.mark.parametrize("bad", [math.nan, math.inf])
def test_a_tip_that_is_no_place_fails_its_row_only_and_is_made_up_for(bad: float, rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.reference(), rigs.reference())
    state = settle(rows, 0.0, 1.0)
    kept = state.copy()

    def tips(t: float) -> np.ndarray:
        return np.array([[t, 0.0, 0.0], [t, 0.0, 0.0]])

    broken = tips(1.0)
    broken[1, 0] = bad
    assert step(rows, state, broken, 1.0).tolist() == [0, FAILED]
    assert state.failed.tolist() == [False, True]
    assert np.array_equal(state.position_m[1], kept.position_m[1])  # the last good place, flagged
    assert step(rows, state, tips(2.0), 1.0).tolist() == [0, 0]
    assert not state.failed.any()
    assert state.position_m[1] == pytest.approx(state.position_m[0], abs=2e-3)


def test_a_step_that_does_not_converge_is_said(rigs: SimpleNamespace) -> None:
    """Forced: one iteration at most, of which none is allowed to end, through every halving."""
    rows = rigs.packed(rigs.diver(1.0))
    state = settle(rows, 0.0, 1.0)
    kept = state.copy()
    tip = rows.tip_m + np.array([1.0, 0.5, 0.0])
    assert step(rows, state, tip, 1.0, effort=Effort(1, 1e-12)).tolist() == [FAILED]
    assert state.failed.all()
    assert np.array_equal(state.position_m, kept.position_m)
    assert state.owed_s[0] == 1.0
    track = run(rows, kept, np.tile(tip, (4, 1, 1)), np.ones(4), effort=Effort(1, 1e-12), out_every=2)
    assert (track.status == FAILED).all()


def test_halved_steps_arrive_where_whole_ones_do(rigs: SimpleNamespace) -> None:
    """A jerk of the boat that the whole step may not solve in few iterations is cut, and ends in the same place."""
    rows = rigs.packed(rigs.diver(1.0))
    state = settle(rows, 0.0, 1.0)
    tip = rows.tip_m + np.array([1.6, 0.8, 0.0])
    whole, cut = state.copy(), state.copy()
    assert step(rows, whole, tip, 1.0, effort=EXACT)[0] == 0
    few = next(
        n for n in range(2, 12) if step(rows, (trial := state.copy()), tip, 1.0, effort=Effort(n, 1e-7))[0] == 0
        and not np.array_equal(trial.position_m, whole.position_m)
    )  # fmt: skip
    assert step(rows, cut, tip, 1.0, effort=Effort(few, 1e-7))[0] == 0
    assert cut.position_m == pytest.approx(whole.position_m, abs=0.15)
    assert cut.step_s[0] == 1.0


def test_an_even_current_only_carries_the_frame(rigs: SimpleNamespace) -> None:
    """The same velocity at all depths: motion relative to that water as in still water, to 1e-6."""
    rows = spread(rigs)
    drift = np.array([0.2, -0.3, 0.0])
    flow = Flow(np.array([0.0, 10.0]), np.tile(drift[:2], (2, 1)))
    state = settle(rows, 0.0, 1.0)
    carried = start(rows, state.position_m, np.array([1.0, 0.0, 0.0]) + drift)
    still = start(rows, state.position_m, np.array([1.0, 0.0, 0.0]))
    carried.tension_N[:] = still.tension_N[:] = state.tension_N
    t = np.arange(1, 61)[:, None, None]
    sway = np.array([1.0, 0.0, 0.0]) * t + np.array([0.0, 2.0, 0.0]) * (1.0 - np.cos(0.1 * t))
    way = [rows.tip_m + sway, rows.rod_tip_m + sway]
    one = run(rows, still, way[0], np.ones(60), rod_line_tips_m=way[1])
    other = run(rows, carried, way[0] + drift * t, np.ones(60), flow, way[1] + drift * t)
    assert other.positions_m - (drift * t)[:, :, None] == pytest.approx(one.positions_m, abs=1e-6)


def test_each_row_can_have_a_current_of_its_own(rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.reference(), rigs.reference())
    depths = np.array([0.0, 30.0])
    sheared = np.array([[0.0, 0.0], [0.0, 0.3]])
    both = Flow(depths, np.stack([np.zeros((2, 2)), sheared]))
    state = settle(rows, 0.0, 1.0, both)
    assert state.position_m[0] == pytest.approx(settle(rows, 0.0, 1.0).position_m[0], abs=1e-12)
    assert state.position_m[1] == pytest.approx(
        settle(rows, 0.0, 1.0, Flow(depths, sheared)).position_m[1], abs=1e-12
    )
    assert state.position_m[1, -1, 1] > 2.0


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"dt_s": 0.0}, "longer than 0 s"),
        ({"tips_m": np.zeros((3, 3))}, "tips must be"),
        ({"rod_line_tips_m": None}, "rod line"),
        ({"flow": Flow(np.array([0.0]), np.zeros((5, 1, 2)))}, "5 rows"),
    ],
)
def test_wrong_arrays_are_refused_in_words(change: dict[str, object], message: str, rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.downrigger(1.0))
    state = settle(rows, 0.0, 1.0)
    given: dict[str, object] = {"tips_m": rows.tip_m, "dt_s": 1.0, "rod_line_tips_m": rows.rod_tip_m, **change}
    with pytest.raises(ValueError, match=message):
        step(rows, state, **given)  # type: ignore[arg-type]


def test_chains_that_make_no_sense_are_refused_in_words(rigs: SimpleNamespace) -> None:
    ball = rigs.reference().items[1]
    for items, message in (
        ((ball,), "first item must be a Line"),
        ((rigs.steel(10.0), ball, ball), "merge"),
        ((rigs.steel(-1.0),), "length must be positive"),
        ((rigs.steel(math.nan),), "length must be positive"),
        ((dataclasses.replace(rigs.steel(1.0), stiffness_N=0.0),), "stiffness_N must be positive"),
    ):
        with pytest.raises(ValueError, match=message):
            rigs.packed(Chain((0.0, 0.0, 0.0), items))

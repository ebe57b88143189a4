"""One step of the moving solver against Newton's second law, put together here node by node from the forces.

Small chains of few segments: through the surface, in a sheared current, with a rod line, rolled, slack.
"""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise
from types import SimpleNamespace

import numpy as np
import pytest

from hydro.uncompiled import plain
from sternwatch.hydro.chain import forces as fo
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rod_line import rod_curve
from sternwatch.hydro.chain.rows import R_PULL, Flow, Rows, pack
from sternwatch.hydro.motion import batch
from sternwatch.hydro.motion.batch import Models, _alike
from sternwatch.hydro.motion.fleet import FAILED, OK, State, run, run_into, start, step, to_earth
from sternwatch.hydro.motion.newton import ETA_N, Effort

RHO, NU = 1000.0, 1.3e-6
DOWN = np.array([0.0, 0.0, 1.0])
EXACT = Effort(60, 1e-9)
SHEAR = Flow(np.array([1.0, 4.0, 9.0]), np.array([(0.05, -0.1), (-0.15, 0.2), (0.1, 0.3)]))
FLOWS = {"still": Flow(np.zeros(0), np.zeros((0, 2))), "shear": SHEAR}
WIRE = Line(9.0, 0.5e-3, 1.6e-3, 0.0137, 4e4, normal_drag=1.3, tangential_drag=0.02)
MONO = Line(4.0, 0.8e-3, 6e-4, 0.0006, 900.0, normal_drag=1.2)
LURE = Body(BodyKind.BLUFF, 0.02, 0.12, 0.01, drag_area_m2=0.0008)
DISC = Body(BodyKind.DIVER, 0.12, 0.5, 0.2, plate_area_m2=0.0113, trim_rad=0.6, roll_rad=0.4)
BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3, rod_line=RodLine((0.2, 1.0, -1.2), normal_drag=1.1))
BOARD = Body(BodyKind.BOARD, 0.3, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=-1.0, buoyancy_N=3.0)
CORE = Line(6.0, 0.9e-3, 2.6e-3, 0.019, 2000.0, normal_drag=1.4)
RIGS = {
    "ball": Chain((0.0, 0.0, -1.5), (WIRE, BALL, MONO, LURE)),
    "diver": Chain((0.0, 1.0, -1.0), (WIRE, DISC, MONO, LURE)),
    "board": Chain((0.0, -1.0, -1.0), (MONO, BOARD, CORE, LURE)),
}


def rows_of(name: str, segments: int = 7) -> Rows:
    return pack([RIGS[name]], segments=segments, density_kg_m3=RHO, viscosity_m2_s=NU)


def begun(rows: Rows, speed: float) -> State:
    """Straight, aft and down, as if it had been towed so."""
    down = math.sqrt(0.5)
    shape = rows.tip_m[:, None] + rows.arc_m[..., None] * np.array([-down, 0.0, down])
    return start(rows, shape, np.array([speed, 0.0, 0.0]), step_s=0.5)


def towed(rows: Rows, state: State, flow: Flow, steps: int, h: float, speed: float, effort: Effort) -> list[State]:
    """The states before each step and at the end; the tip goes ahead and swings."""
    states = [state.copy()]
    for k in range(1, steps + 1):
        way = np.array([speed * k * h, 0.3 * math.sin(0.5 * k * h), 0.05 * math.sin(k * h)])
        status = step(rows, state, rows.tip_m + way, h, flow, rows.rod_tip_m + way, effort=effort)
        assert status.tolist() == [OK]
        states.append(state.copy())
    return states


def residual(rows: Rows, before: State, after: State, flow: Flow, h: float, rod_tip: np.ndarray) -> np.ndarray:
    """(nodes - 1, 3) [N]: what is left of force less mass times acceleration at every node past the tip."""
    x, x0, x1 = after.position_m[0], before.position_m[0], before.before_m[0]
    v0, v1 = before.velocity_m_s[0], before.velocity_before_m_s[0]
    velocity = (1.5 * x - 2.0 * x0 + 0.5 * x1) / h  # BDF2 for two equal steps
    acceleration = (1.5 * velocity - 2.0 * v0 + 0.5 * v1) / h
    assert after.velocity_m_s[0] == pytest.approx(velocity, abs=1e-9)
    n = len(x) - 1
    force = np.zeros((n + 1, 3))
    for k in range(n):
        line, rest = rows.line[0, k], after.rest_m[0, k]
        along = x[k + 1] - x[k]
        length = float(np.linalg.norm(along))
        tangent = along / length
        tension = after.tension_N[0, k]
        strain = tension / line[fo.L_STIFF] - ETA_N / tension
        assert length == pytest.approx(rest * (1.0 + strain), abs=1e-8)
        force[k] += tension * tangent
        force[k + 1] -= tension * tangent
        middle = 0.5 * (x[k] + x[k + 1])
        water = flow.at(np.array(middle[2])) - 0.5 * (velocity[k] + velocity[k + 1])
        load = rest * (np.array(fo.line_force(line, *water, *tangent)) + line[fo.L_WET] * DOWN)
        weight = rest * line[fo.L_DRY] * DOWN
        # What is wet, and what is dry, each acts at its own middle.
        wet = min(max(0.5 + middle[2] / max(abs(along[2]), 0.02), 0.0), 1.0)
        deep, high = (k + 1, k) if along[2] > 0.0 else (k, k + 1)
        force[high] += load * wet * wet / 2.0 + weight * (1.0 - wet) * (1.0 + wet) / 2.0
        force[deep] += load * wet * (1.0 - wet / 2.0) + weight * (1.0 - wet) ** 2 / 2.0
        mass = 0.5 * rest * line[fo.L_MASS]
        force[k] -= mass * acceleration[k]
        force[k + 1] -= mass * acceleration[k + 1]
    for body, node in zip(rows.body[0], rows.body_node[0], strict=True):
        water = flow.at(np.array(x[node, 2])) - velocity[node]
        force[node] += np.array(fo.body_force(body, *water, x[node, 2])) - body[fo.B_MASS] * acceleration[node]
    node = rows.rod_node[0]
    if node >= 0:
        depth = x[node, 2]
        near, half = flow.at(np.array(depth)), flow.at(np.array(0.5 * depth))
        mean = (near + 2.0 * half - 2.0 * velocity[node] - velocity[0]) / 3.0
        curve = np.empty(8)
        rod_curve(rows.rod[0], x[node].copy(), rod_tip, *mean, curve)
        force[node] += rows.rod[0, R_PULL] * curve[:3]
    return force[1:]


@pytest.mark.parametrize("flow", FLOWS)
@pytest.mark.parametrize("rig", RIGS)
def test_forces_at_every_node_are_its_mass_times_its_acceleration(rig: str, flow: str) -> None:
    rows = rows_of(rig)
    h, speed = 0.5, 1.1
    states = towed(rows, begun(rows, speed), FLOWS[flow], 4, h, speed, EXACT)
    for k, (before, after) in enumerate(pairwise(states), 1):
        way = np.array([speed * k * h, 0.3 * math.sin(0.5 * k * h), 0.05 * math.sin(k * h)])
        left = residual(rows, before, after, FLOWS[flow], h, rows.rod_tip_m[0] + way)
        assert np.abs(left).max() < 2e-5, k


@pytest.mark.parametrize(
    ("rig", "flow", "most"),
    [("ball", "still", 33), ("ball", "shear", 34), ("diver", "still", 25), ("diver", "shear", 24),
     ("board", "still", 54), ("board", "shear", 60)],
)  # fmt: skip
def test_steps_take_few_iterations(rig: str, flow: str, most: int) -> None:
    """Newton's method with the whole derivative doubles its digits: what is wrong in the derivative costs more.

    Eight steps, to a micrometre; a board bobs.
    """
    rows = rows_of(rig)
    state = towed(rows, begun(rows, 1.1), FLOWS[flow], 4, 0.5, 1.1, EXACT)[-1]
    way = np.array([[(1.1 * 0.5 * k, 0.3 * math.sin(0.25 * k), 0.05 * math.sin(0.5 * k))] for k in range(5, 13)])
    done = run(
        rows, state, rows.tip_m + way, np.full(8, 0.5), FLOWS[flow], rows.rod_tip_m + way, effort=Effort(25, 1e-6)
    )
    assert not done.status.any()
    assert done.iterations <= most


# -- what it does where a step fails ---------------------------------------------------------------------------


@pytest.mark.parametrize(("onward_m", "bends"), [((4.0, 1.5, 0.0), False), ((1.6, 0.4, 0.1), True)])
def test_a_step_that_fails_as_a_whole_is_taken_in_halves(onward_m: tuple[float, ...], bends: bool) -> None:
    """With too few iterations for the whole step: exactly what two steps of half its length give.

    The tip's way between is the parabola through its last place, this one and the next; a jump has none.
    """
    rows = rows_of("diver")
    state = towed(rows, begun(rows, 1.1), SHEAR, 3, 0.5, 1.1, EXACT)[-1]
    tip = rows.tip_m + state.position_m[:, 0] - rows.tip_m
    end = tip + np.array([onward_m])
    half = np.array([0.5])
    times = np.array([-0.5, 0.0, 1.0])  # [s]
    places = np.stack([state.before_m[0, 0], tip[0], end[0]])
    curve = np.polynomial.polynomial.polyfit(times, places, 2)
    assert bool(2.0 * np.linalg.norm(curve[2]) < 1.0) is bends
    between = curve[0] + 0.5 * curve[1] + 0.25 * curve[2] if bends else 0.5 * (tip[0] + end[0])
    assert np.abs(between - 0.5 * (tip[0] + end[0])).max() > 0.05 or not bends
    for iterations in range(3, 25):
        few = Effort(iterations, 1e-6)
        first = run(rows, state, between[None, None], half, SHEAR, effort=few)
        second = run(rows, first.state, end[None], half, SHEAR, effort=few)
        done = run(rows, state, end[None], 2.0 * half, SHEAR, effort=few)
        whole_halves = max(first.iterations, second.iterations) <= iterations and not second.state.failed.any()
        if whole_halves and done.iterations > iterations:
            break
    else:
        pytest.fail("no number of iterations does for the halves alone")
    whole, halves = state, second.state
    assert done.status.tolist() == [[OK]]
    assert done.state.position_m == pytest.approx(halves.position_m, abs=1e-12)
    assert done.state.velocity_m_s == pytest.approx(halves.velocity_m_s, abs=1e-12)
    assert done.state.tension_N == pytest.approx(halves.tension_N, abs=1e-9)
    assert (done.state.before_m == whole.position_m).all(), "the next step sees whole ones"
    assert (done.state.velocity_before_m_s == whole.velocity_m_s).all()
    assert done.state.step_s.tolist() == [1.0]


def test_a_step_that_fails_is_owed_and_covered_by_the_next() -> None:
    rows = rows_of("ball")
    states = towed(rows, begun(rows, 1.1), SHEAR, 3, 0.5, 1.1, EXACT)
    good, bad = states[-1].copy(), states[-1].copy()
    nowhere = np.full((1, 3), np.nan)
    way = np.array([1.1 * 2.5, 0.0, 0.0])
    assert step(rows, bad, nowhere, 0.5, SHEAR, rows.rod_tip_m + way).tolist() == [FAILED]
    assert bad.failed.tolist() == [True]
    assert bad.owed_s.tolist() == [0.5]
    assert (bad.position_m == good.position_m).all(), "it keeps its last good place"
    assert step(rows, bad, rows.tip_m + way, 0.5, SHEAR, nowhere).tolist() == [FAILED], "a rod's tip as well"
    assert bad.owed_s.tolist() == [1.0]
    assert step(rows, bad, rows.tip_m + way, 0.5, SHEAR, rows.rod_tip_m + way, effort=EXACT).tolist() == [OK]
    assert step(rows, good, rows.tip_m + way, 1.5, SHEAR, rows.rod_tip_m + way, effort=EXACT).tolist() == [OK]
    assert (bad.position_m == good.position_m).all()
    assert (bad.owed_s.tolist(), bad.step_s.tolist(), bad.failed.tolist()) == ([0.0], [1.5], [False])


def test_a_row_that_failed_says_so_until_its_next_sample() -> None:
    rows = rows_of("diver")
    state = towed(rows, begun(rows, 1.1), SHEAR, 2, 0.5, 1.1, EXACT)[-1]
    tips = np.array([[rows.tip_m[0] + [1.1 * 0.5 * k, 0.0, 0.0]] for k in range(3, 9)])
    tips[1] = np.nan
    done = run(rows, state, tips, np.full(6, 0.5), SHEAR, out_every=2)
    assert done.status.tolist() == [[FAILED], [OK], [OK]]
    assert done.positions_m.shape[0] == 3
    assert (done.positions_m[-1] == done.state.position_m).all()
    assert (done.tensions_N[-1] == done.state.tension_N).all()
    assert not done.state.failed.any()
    short = run(rows, state, tips[:2], np.full(2, 0.5), SHEAR, out_every=2)
    assert short.state.failed.tolist() == [True]


def test_a_step_much_longer_than_the_one_before_is_eulers() -> None:
    """More than twice as long: velocity is the way over the time, and nothing older counts."""
    rows = rows_of("diver")
    state = towed(rows, begun(rows, 1.1), SHEAR, 2, 0.5, 1.1, EXACT)[-1]
    for h, second_order in ((1.0, True), (1.01, False)):
        after = state.copy()
        tip = rows.tip_m + np.array([1.1 * (1.0 + h), 0.1, 0.0])
        step(rows, after, tip, h, SHEAR, effort=EXACT)
        euler = (after.position_m - state.position_m) / h
        assert np.allclose(after.velocity_m_s, euler, atol=1e-9) is not second_order
        w = h / 0.5
        bdf2 = (
            (1.0 + 2.0 * w) / (1.0 + w) * after.position_m - (1.0 + w) * state.position_m
            + w * w / (1.0 + w) * state.before_m
        ) / h  # fmt: skip
        assert np.allclose(after.velocity_m_s, bdf2, atol=1e-9) is second_order


def test_line_let_out_comes_off_the_reel_at_its_rate() -> None:
    rows = rows_of("diver")
    state = towed(rows, begun(rows, 1.1), SHEAR, 2, 0.5, 1.1, EXACT)[-1]
    before = float(state.rest_m.sum())
    step(rows, state, rows.tip_m + np.array([1.65, 0.0, 0.0]), 0.5, SHEAR, length_rate_m_s=np.array([0.8]))
    assert float(state.rest_m.sum()) == pytest.approx(before + 0.4, abs=1e-12)
    assert state.rest_m[0, 0] == pytest.approx(rows.rest_m[0, 0] + 0.4, abs=1e-12), "at the tip"


def test_a_boat_on_another_heading_has_her_starboard_elsewhere() -> None:
    """North, east, down: on an easterly heading ahead is east and starboard south."""
    headings = np.radians([0.0, 90.0, 180.0, 30.0])
    ahead, starboard = (to_earth(np.tile(axis, (4, 1)), headings) for axis in ([1.0, 0.0, 2.0], [0.0, 1.0, -3.0]))
    half, most = 0.5, math.sqrt(0.75)
    assert ahead == pytest.approx(np.array([(1, 0, 2), (0, 1, 2), (-1, 0, 2), (most, half, 2)]))
    assert starboard == pytest.approx(np.array([(0, 1, -3), (-1, 0, -3), (0, -1, -3), (-half, most, -3)]))


def test_what_does_not_fit_is_refused() -> None:
    rows = rows_of("ball")
    state = begun(rows, 1.0)
    with pytest.raises(ValueError, match="longer than 0 s, not 0"):
        step(rows, state, rows.tip_m, 0.0)
    with pytest.raises(ValueError, match="every step must be longer than 0 s"):
        run(rows, state, rows.tip_m[None], np.array([0.0]))
    with pytest.raises(ValueError, match="its tips must be given"):
        step(rows, state, rows.tip_m, 1.0)
    with pytest.raises(ValueError, match="tips must be"):
        step(rows, state, np.zeros((2, 3)), 1.0, rod_line_tips_m=rows.rod_tip_m)
    with pytest.raises(ValueError, match="shapes must be"):
        start(rows, np.zeros((1, 2, 3)), np.zeros(3))
    with pytest.raises(ValueError, match="not a finite number"):
        start(rows, np.full((1, rows.nodes, 3), np.nan), np.zeros(3))


@pytest.mark.parametrize(
    ("rate_m_s", "first_m", "others_m"),
    [
        # Up to twice the mean of its Line's others, then all are as long as one another; down to half of it.
        (0.5, [2.5, 3.0, 3.5, 4.0, 2.5, 3.0], [2.0, 2.0, 2.0, 2.0, 2.5, 2.5]),
        (-0.5, [1.5, 1.0, 1.7, 1.2], [2.0, 2.0, 1.7, 1.7]),
        # Much line in one step: they are laid evenly before it, and once more before the next.
        (2.1, [4.1, 4.52], [2.0, 2.42]),
    ],
)
def test_nodes_are_laid_anew_where_the_first_segment_passes_its_limits(
    rate_m_s: float, first_m: list[float], others_m: list[float]
) -> None:
    """Five segments of 2 m."""
    rows = pack(
        [Chain((0.0, 0.0, -1.5), (replace(WIRE, length_m=10.0), DISC, MONO, LURE))], segments=7,
        density_kg_m3=RHO, viscosity_m2_s=NU,
    )  # fmt: skip
    assert rows.first_segments.tolist() == [5]
    state = begun(rows, 1.0)
    for k, (first, others) in enumerate(zip(first_m, others_m, strict=True), 1):
        step(rows, state, rows.tip_m + np.array([float(k), 0.0, 0.0]), 1.0, length_rate_m_s=np.array([rate_m_s]))
        assert state.rest_m[0, :5].sum() == pytest.approx(10.0 + k * rate_m_s)
        assert state.rest_m[0, 1:5] == pytest.approx(others)
        assert state.rest_m[0, 0] == pytest.approx(first)


def test_a_first_line_never_gets_shorter_than_half_a_metre() -> None:
    rows = rows_of("diver")
    state = begun(rows, 1.0)
    tip = rows.tip_m + np.array([1.0, 0.0, 0.0])
    segments = int(rows.first_segments[0])
    step(rows, state, tip, 1.0, length_rate_m_s=np.array([-8.7]))
    assert state.rest_m[0, :segments].sum() == pytest.approx(0.5)


def test_a_run_writes_each_rows_samples_where_they_are_wanted_and_nothing_else() -> None:
    rows = pack([RIGS["diver"], RIGS["board"]], segments=[7, 4], density_kg_m3=RHO, viscosity_m2_s=NU)
    state, way = begun(rows, 1.1), np.array([0.55, 0.0, 0.0])
    tips, steps = np.stack([rows.tip_m + k * way for k in (1, 2, 3, 4)]), np.full(4, 0.5)
    rods = np.stack([rows.rod_tip_m + k * way for k in (1, 2, 3, 4)])
    plain = run(rows, state, tips, steps, SHEAR, rods, out_every=2)
    # Three lines of three samples of nine nodes: the first row's come last, each after a sample that is kept.
    room = np.full((3, 3, 9, 3), 7.0)
    begins = np.array([2, 0]) * room[0].size + room[0, 0].size
    moved = run_into(room, begins, rows, state, tips, steps, SHEAR, rods, out_every=2)
    wanted = np.full_like(room, 7.0)
    wanted[2, 1:, :8] = plain.positions_m[:, 0]
    wanted[0, 1:, :5] = plain.positions_m[:, 1, :5]
    assert (room == wanted).all()
    assert (moved.tensions_N == plain.tensions_N).all()
    assert (moved.status.tolist(), moved.iterations) == (plain.status.tolist(), plain.iterations)
    for small, at in ((room[:, :, :7].copy(), begins), (room, begins[:1]), (room[:, :, ::-1], begins)):
        with pytest.raises(ValueError, match="no room for 2 chains of 8 nodes"):
            run_into(small, at, rows, state, tips, steps, SHEAR, rods, out_every=2)


def test_rows_of_a_call_do_not_depend_on_one_another_and_padding_follows_the_last_node() -> None:
    chains, segments = [RIGS["diver"], RIGS["board"]], [7, 4]
    rows = pack(chains, segments=segments, density_kg_m3=RHO, viscosity_m2_s=NU)
    assert rows.n_nodes.tolist() == [8, 5]
    state = begun(rows, 1.1)
    own = Flow(SHEAR.depths_m, np.stack([SHEAR.velocity_m_s, -SHEAR.velocity_m_s]))
    for k in (1, 2):
        way = np.array([0.55 * k, 0.1 * k, 0.0])
        step(rows, state, rows.tip_m + way, 0.5, own, rows.rod_tip_m, effort=EXACT)
    assert state.position_m[1, 5:] == pytest.approx(np.repeat(state.position_m[1, 4:5], 3, axis=0))
    done = run(rows, state, (rows.tip_m + 1.5 * way)[None], np.array([0.5]), own, rows.rod_tip_m[None], effort=EXACT)
    assert done.positions_m[0, 1, 5:] == pytest.approx(np.repeat(done.positions_m[0, 1, 4:5], 3, axis=0))
    for row, (chain, count) in enumerate(zip(chains, segments, strict=True)):
        alone = pack([chain], segments=count, density_kg_m3=RHO, viscosity_m2_s=NU)
        single = begun(alone, 1.1)
        for k in (1, 2):
            way = np.array([0.55 * k, 0.1 * k, 0.0])
            flow = Flow(own.depths_m, own.velocity_m_s[row])
            step(alone, single, alone.tip_m + way, 0.5, flow, alone.rod_tip_m, effort=EXACT)
        n = count + 1
        assert (state.position_m[row, :n] == single.position_m[0]).all()
        assert (state.tension_N[row, :count] == single.tension_N[0]).all()
        taken = state.take([row])
        assert (taken.position_m[0, :n] == single.position_m[0]).all()
        other = begun(rows, 0.5)
        other.put(row, single)
        assert (other.position_m[row, :n] == single.position_m[0]).all()
        assert (other.position_m[row, n:] == single.position_m[0, -1]).all()
        assert other.step_s[row] == single.step_s[0]


def test_rows_are_set_to_another_states_all_at_once() -> None:
    """Two rows of seven segments get what two of four hold; their padding follows the last node."""
    many = pack([RIGS["diver"]] * 4, segments=7, density_kg_m3=RHO, viscosity_m2_s=NU)
    few = pack([RIGS["board"]] * 2, segments=4, density_kg_m3=RHO, viscosity_m2_s=NU)
    state, other = begun(many, 1.1), begun(few, 0.7)
    other.tension_N[:] = np.arange(8.0).reshape(2, 4)
    other.step_s[:], other.owed_s[:], other.failed[:] = (0.25, 0.75), (0.0, 3.0), (False, True)
    kept = state.copy()
    state.put_all(slice(1, None, 2), other)
    assert len(state) == 4
    for name in ("position_m", "before_m", "velocity_m_s", "velocity_before_m_s"):
        assert (getattr(state, name)[1::2, :5] == getattr(other, name)).all()
    assert (state.position_m[1::2, 5:] == other.position_m[:, 4:]).all()
    assert (state.tension_N[1::2, :4] == other.tension_N).all()
    assert (state.rest_m[1::2, :4] == other.rest_m).all()
    assert state.step_s[1::2].tolist() == [0.25, 0.75]
    assert state.owed_s[1::2].tolist() == [0.0, 3.0]
    assert state.failed.tolist() == [False, False, False, True]
    assert (state.position_m[::2] == kept.position_m[::2]).all()
    state.put_all(slice(1, None, 2), kept.take([1, 3]))
    assert (state.position_m == kept.position_m).all()
    assert (state.tension_N == kept.tension_N).all()


@pytest.mark.parametrize(
    ("other", "alike"),
    [
        (RIGS["ball"], True), (Chain((1.0, 2.0, -3.0), (MONO, BALL, WIRE, LURE)), True), (RIGS["diver"], False),
        (Chain((0.0, 0.0, -1.5), (WIRE, BALL, MONO)), False),
        (Chain((0.0, 0.0, -1.5), (WIRE, replace(BALL, rod_line=None), MONO, LURE)), False),
        (Chain((0.0, 0.0, -1.5), (WIRE, BALL, MONO, replace(LURE, kind=BodyKind.LIPPED, lift_area_m2=1e-3))), False),
    ],
)  # fmt: skip
def test_chains_of_one_shape_have_bodies_of_one_kind_at_the_same_nodes(other: Chain, alike: bool) -> None:
    rows = pack([RIGS["ball"], other], segments=4, density_kg_m3=RHO, viscosity_m2_s=NU, cut_as=[0, 0])
    models = Models(rows.line, rows.body, rows.node_body, rows.n_nodes, rows.rod_node, rows.rod)
    told = plain(_alike)
    assert (told(models, 0, 1), told(models, 1, 0)) == (alike, alike)


def test_lures_that_lift_and_that_do_not_are_of_two_shapes() -> None:
    """Their kind is the same: the kernel asks the first of a batch whether its body lifts."""
    lip = replace(LURE, kind=BodyKind.LIPPED)
    chains = [Chain((0.0, 0.0, -1.5), (MONO, replace(lip, lift_area_m2=lift))) for lift in (0.0, 1e-3, 2e-3)]
    rows = pack(chains, segments=3, density_kg_m3=RHO, viscosity_m2_s=NU)
    models = Models(rows.line, rows.body, rows.node_body, rows.n_nodes, rows.rod_node, rows.rod)
    told = plain(_alike)
    assert [told(models, a, b) for a, b in ((0, 1), (1, 0), (1, 2), (0, 0))] == [False, False, True, True]


def test_a_body_nearer_the_tip_makes_another_shape() -> None:
    chains = [Chain((0.0, 0.0, -1.5), (replace(WIRE, length_m=m), DISC, MONO, LURE)) for m in (2.0, 90.0)]
    rows = pack(chains, segments=5, density_kg_m3=RHO, viscosity_m2_s=NU)
    assert rows.n_nodes.tolist() == [6, 6]
    assert rows.body_node[0, 0] < rows.body_node[1, 0]
    models = Models(rows.line, rows.body, rows.node_body, rows.n_nodes, rows.rod_node, rows.rod)
    assert not plain(_alike)(models, 0, 1)


def test_without_a_profile_the_water_is_still_and_no_slope_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(batch, "lanes", lambda number: number)
    shape = SimpleNamespace(depths=np.zeros(0), current_at=0)
    assert plain(batch.current)(shape, None, 3.0) == (0.0, 0.0, 0.0, 0.0)

"""The reference case: steel wire 60 m x 0.5 mm with a 4.5 kg ball, Cn 1.2, water of 1000 kg/m3.

Continuum values are our own, `independent` in steady/test_steady_independent.py; the step's from moordyn 2.7.2.
"""

from __future__ import annotations

import math
from types import ModuleType, SimpleNamespace

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Chain, Line
from sternwatch.hydro.motion.fleet import run, settle, start
from sternwatch.hydro.motion.report import report

FINE = 40


@pytest.mark.parametrize(
    ("speed", "depth", "aft", "tension"), [(1.2, 55.7855, 20.1546, 41.2253), (0.8, 59.0871, 9.7106, 41.0574)]
)
def test_settled_as_the_continuum(
    speed: float, depth: float, aft: float, tension: float, rigs: SimpleNamespace
) -> None:
    rows = rigs.packed(rigs.reference(), segments=FINE)
    state = settle(rows, 0.0, speed)
    end = state.position_m[0, -1]
    assert end == pytest.approx([-aft, 0.0, depth], abs=1e-3)
    assert report(rows, state).tip_tension_N == pytest.approx(tension, abs=1e-3)


def test_twelve_segments_are_within_a_centimetre_of_it(rigs: SimpleNamespace) -> None:
    state = settle(rigs.packed(rigs.reference()), 0.0, 1.2)
    assert state.position_m[0, -1] == pytest.approx([-20.1546, 0.0, 55.7855], abs=0.01)


def test_what_has_settled_was_last_moved_by_a_second(rigs: SimpleNamespace) -> None:
    """As its caller will go on."""
    state = settle(rigs.packed(rigs.reference()), 0.0, 1.2, seconds=5.0)
    assert state.step_s == pytest.approx([1.0])
    assert state.position_m[0, 0] == pytest.approx([0.0, 0.0, 0.0], abs=1e-9)
    assert state.before_m[0, 0] == pytest.approx([-1.2, 0.0, 0.0])


@pytest.mark.parametrize("dt", [0.25, 1.0])
def test_step_from_1_2_to_0_8_m_s_in_half_a_second(dt: float, rigs: SimpleNamespace, towing: ModuleType) -> None:
    rows = rigs.packed(rigs.reference(), segments=FINE)
    tips = towing.tips(towing.speeds((0.0, 1.2), (0.5, 0.8)), dt, round(30.0 / dt))
    track = run(rows, settle(rows, 0.0, 1.2), tips, np.full(len(tips), dt))
    place = track.positions_m[:, 0, -1] - tips[:, 0]
    for seconds, depth, aft in ((10.0, 57.237, 16.70), (30.0, 58.493, 12.40)):
        assert place[round(seconds / dt) - 1, [0, 2]] == pytest.approx([-aft, depth], abs=0.01)


def test_circle_of_40_m_radius(rigs: SimpleNamespace, towing: ModuleType) -> None:
    """Led round until it is steady: depth 56.620, the end's radius 37.41 and lag 26.74 degrees, pull 41.172 N."""
    rows = rigs.packed(rigs.reference(), segments=FINE)
    tips = towing.tips(towing.turn(40.0, 1.2, degrees=1e6, begin_s=0.0), 1.0, 600)
    track = run(rows, settle(rows, 0.0, 1.2), tips, np.ones(600), out_every=600)
    end = track.positions_m[-1, 0, -1] - [0.0, 40.0, 0.0]
    tip = tips[-1, 0] - [0.0, 40.0, 0.0]
    lag = math.degrees(math.atan2(tip[1], tip[0]) - math.atan2(end[1], end[0])) % 360.0
    assert end[2] == pytest.approx(56.620, abs=0.01)
    assert math.hypot(end[0], end[1]) == pytest.approx(37.41, abs=0.01)
    assert lag == pytest.approx(26.74, abs=0.05)
    assert report(rows, track.state).tip_tension_N == pytest.approx(41.172, abs=5e-3)


def test_without_speed_everything_hangs_straight_down(rigs: SimpleNamespace) -> None:
    rows = rigs.packed(rigs.reference(), rigs.diver(1.0))
    state = settle(rows, 0.0, 0.0)
    for row, tip in enumerate(rows.tip_m):
        nodes = state.position_m[row, : rows.n_nodes[row]]
        assert nodes[:, :2] == pytest.approx(np.broadcast_to(tip[:2], (len(nodes), 2)), abs=1e-3)
        assert nodes[:, 2] - tip[2] == pytest.approx(rows.arc_m[row, : rows.n_nodes[row]], rel=2e-3)


def test_a_ball_on_slack_line_sinks_at_its_terminal_speed(rigs: SimpleNamespace) -> None:
    """sqrt(2 W / rho Cd A), closed form; the line neutral, without tangential drag, and long enough to stay slack."""
    ball = rigs.reference().items[1]
    thread = Line(200.0, 1e-4, 1e-6, 0.0, 100.0, normal_drag=1.0, tangential_drag=0.0)
    rows = rigs.packed(Chain((0.0, 0.0, 1.0), (thread, ball)), segments=1)
    shape = np.array([[[0.0, 0.0, 1.0], [0.0, 0.0, 2.0]]])
    track = run(
        rows, start(rows, shape, np.zeros(3), step_s=0.1), np.tile([0.0, 0.0, 1.0], (100, 1, 1)), np.full(100, 0.1)
    )
    assert not track.status.any()
    fall = (track.positions_m[-1, 0, 1, 2] - track.positions_m[-11, 0, 1, 2]) / 1.0
    assert fall == pytest.approx(math.sqrt(2.0 * ball.wet_weight_N / (1000.0 * ball.drag_area_m2)), rel=0.01)


def test_a_level_line_sinks_at_its_terminal_speed(rigs: SimpleNamespace) -> None:
    """sqrt(2 w / rho Cn d), closed form; the tip led down at that speed, the line starting from rest."""
    wire = rigs.reference().items[0]
    fall = math.sqrt(2.0 * wire.wet_weight_N_m / (1000.0 * 1.2 * wire.diameter_m))
    rows = rigs.packed(Chain((0.0, 0.0, 1.0), (wire,)))
    shape = np.zeros((1, rows.nodes, 3))
    shape[0, :, 0], shape[0, :, 2] = -rows.arc_m[0], 1.0
    tips = np.zeros((60, 1, 3))
    tips[:, 0, 2] = 1.0 + fall * np.arange(1, 61)
    track = run(rows, start(rows, shape, np.zeros(3)), tips, np.ones(60))
    speed = track.positions_m[-1, 0, :, 2] - track.positions_m[-2, 0, :, 2]
    assert speed[1:] == pytest.approx(np.full(rows.nodes - 1, fall), rel=0.01)


def test_a_heavier_disc_is_deeper_inside_a_tight_turn(rigs: SimpleNamespace, towing: ModuleType) -> None:
    """Its weight in water decides how an inside diver sinks at 20 m radius (ordering; common practice, no source)."""
    chains = [rigs.diver(1.0, weight=weight) for weight in (0.2, 0.5, 1.0)]
    rows = rigs.packed(*chains)
    course = towing.turn(20.0, 1.0, begin_s=30.0)
    transom = towing.tips(course, 1.0, 200)
    heading = np.array([math.atan2(*course(k + 1.0)[1][1::-1]) for k in range(200)])
    cos, sin = np.cos(heading)[:, None], np.sin(heading)[:, None]
    arm = rows.tip_m[None]
    tips = transom + np.stack(
        [
            cos * arm[..., 0] - sin * arm[..., 1],
            sin * arm[..., 0] + cos * arm[..., 1],
            np.tile(arm[..., 2], (200, 1)),
        ],
        axis=-1,
    )
    state = settle(rows, 0.0, 1.0)
    track = run(rows, state, tips, np.ones(200))
    assert not track.status.any()
    before = state.position_m[np.arange(3), rows.body_node[:, 0], 2]
    deepest = track.positions_m[:, np.arange(3), rows.body_node[:, 0], 2].max(axis=0)
    assert (deepest - before > 4.0).all()
    assert (np.diff(deepest) > 2.0).all()

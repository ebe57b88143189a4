"""The rod's line to a downrigger release: its catenary against scipy, and what it does to the ball."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from sternwatch.hydro.chain.coefficients import cn
from sternwatch.hydro.chain.model import BodyKind
from sternwatch.hydro.chain.rod_line import rod_curve, rod_line_curves
from sternwatch.hydro.chain.rows import R_PULL, R_RE
from sternwatch.hydro.motion.fleet import settle

CASES = [
    ([-8.0, 1.2, 24.0], [-0.3, 2.5, -1.5], [-1.2, 0.1, 0.05]),
    ([-3.0, 0.0, 8.0], [0.0, 0.0, 0.0], [-0.6, 0.0, 0.0]),
    ([-20.0, -4.0, 40.0], [-0.3, -2.0, -2.0], [-1.4, 0.4, 0.0]),
]


@pytest.mark.parametrize(("ball", "tip", "flow"), CASES)
def test_curve_is_the_neutral_lines(
    ball: list[float], tip: list[float], flow: list[float], rigs: SimpleNamespace
) -> None:
    """From the ball along the direction found, dt/ds = -drag/T under water, straight above: meets the tip."""
    rod = rigs.packed(rigs.downrigger(1.0)).rod[0]
    out = np.empty(8)
    u = np.array(flow)
    rod_curve(rod, np.array(ball), np.array(tip), *u, out)
    chord = out[3:6] - ball
    across = float(np.linalg.norm(chord - chord @ u / (u @ u) * u))
    coefficient = cn(rod[R_RE] * float(np.linalg.norm(u)) * across / float(np.linalg.norm(chord)))

    def slope(_s: float, y: np.ndarray) -> np.ndarray:
        t = y[3:]
        normal = u - (u @ t) * t
        drag = 0.5 * 1000.0 * coefficient * 0.45e-3 * float(np.linalg.norm(normal)) * normal
        return np.concatenate([t, -drag / rod[R_PULL] if y[2] > 0.0 else 0.0 * t])

    def arrived(_s: float, y: np.ndarray) -> float:
        return float(y[2] - tip[2])

    arrived.terminal = True  # type: ignore[attr-defined]
    shot = solve_ivp(slope, [0.0, 200.0], [*ball, *out[:3]], events=arrived, rtol=1e-9, atol=1e-10, max_step=0.5)
    assert shot.y[:3, -1] == pytest.approx(np.array(tip), abs=0.01)
    # And the points told of it lie on that curve.
    points = rod_line_curves(rod, np.array(ball), np.array(tip), u, points=9)[0]
    assert points[0] == pytest.approx(np.array(tip))
    assert points[-1] == pytest.approx(np.array(ball), abs=1e-9)
    dense = shot.y[:3].T
    for point in points[1:]:
        k = int(np.argmin(np.linalg.norm(dense - point, axis=1)))
        near = dense[max(k - 1, 0) : k + 2]
        line = near[-1] - near[0]
        off = point - near[0] - (point - near[0]) @ line / (line @ line) * line
        assert np.linalg.norm(off) < 0.02


def test_without_flow_it_is_straight(rigs: SimpleNamespace) -> None:
    rod = rigs.packed(rigs.downrigger(1.0)).rod[0]
    out = np.empty(8)
    rod_curve(rod, np.array([-3.0, 1.0, 20.0]), np.array([0.0, 0.0, 0.0]), 0.0, 0.0, 0.0, out)
    assert out[:3] == pytest.approx(np.array([3.0, -1.0, -20.0]) / math.sqrt(410.0), rel=1e-9)


def test_points_along_a_line_without_flow_are_even_to_the_surface_and_the_tip_is_the_first(
    rigs: SimpleNamespace,
) -> None:
    rod = rigs.packed(rigs.downrigger(1.0)).rod[0]
    ball, tip = np.array([-3.0, 1.0, 18.0]), np.array([0.0, -1.0, -2.0])
    found = rod_line_curves(rod, ball, tip, np.zeros(3), points=5)
    shares = np.array([0.0, 0.1, 0.4, 0.7, 1.0])  # a tenth of it hangs in the air
    assert found[0] == pytest.approx(tip + shares[:, None] * (ball - tip), abs=1e-9)


@pytest.mark.parametrize("pull", [0.5, 12.0, 25.0])
def test_any_pull_gives_a_direction(pull: float, rigs: SimpleNamespace) -> None:
    """Even one that could not hold the line against the stream."""
    rod = rigs.packed(rigs.downrigger(1.0)).rod[0].copy()
    rod[R_PULL] = pull
    out = np.empty(8)
    for u in ([-2.5, 0.0, 0.0], [0.0, 0.0, -0.5], [2.0, 0.0, 0.1]):
        rod_curve(rod, np.array([-9.0, 0.0, 60.0]), np.array([0.0, 0.0, -1.5]), *u, out)
        assert np.isfinite(out[:6]).all()
        assert np.linalg.norm(out[:3]) == pytest.approx(1.0, rel=1e-9)


@pytest.mark.parametrize("pull", [1e-3, 1e-2])
def test_under_too_weak_a_pull_the_line_streams_no_steeper_than_ten_to_one(
    pull: float, rigs: SimpleNamespace
) -> None:
    """Its ends are abeam of each other, so both lie as steep: the sinh of 3, however weak the pull."""
    rod = rigs.packed(rigs.downrigger(1.0)).rod[0].copy()
    rod[R_PULL] = pull
    out = np.empty(8)
    rod_curve(rod, np.array([0.0, 0.0, 15.0]), np.array([0.0, 3.0, 11.0]), -1.2, 0.0, 0.0, out)
    assert out[6:] == pytest.approx([-math.sinh(3.0), math.sinh(3.0)], rel=1e-9)
    assert out[:3] == pytest.approx(
        np.array([-math.tanh(3.0), 0.6 / math.cosh(3.0), -0.8 / math.cosh(3.0)]), rel=1e-9
    )


def test_it_draws_the_ball_aft_and_up(rigs: SimpleNamespace) -> None:
    """0.45 mm line at 12 N, 4.5 kg on 26 m of cable, 1.2 m/s: 2-3 m further aft, 0.5-1.6 m higher (from memory)."""
    rows = rigs.packed(rigs.downrigger(1.0), rigs.downrigger(1.0, rod_line=False), segments=24)
    state = settle(rows, 0.0, 1.2)
    assert not state.failed.any()
    assert rows.body[0, 0, 0] == BodyKind.BLUFF
    with_it, without = (state.position_m[row, rows.body_node[row, 0]] for row in range(2))
    assert 2.0 < without[0] - with_it[0] < 3.0
    assert 0.5 < without[2] - with_it[2] < 1.6

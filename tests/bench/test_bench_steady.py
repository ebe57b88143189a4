"""Rows per second of the steady solver, beside scipy's integration of the same rigs in the same run."""

from __future__ import annotations

import math
import time

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.hydro.steady.solver import solve_many
from sternwatch.hydro.steady.turning import solve_turn
from sternwatch.water.properties import Water

pytestmark = pytest.mark.bench

G = 9.80665
WATER = Water(1000.0, 1.3e-6)
AREA = 0.25 * math.pi * 0.5e-3**2
WIRE = Line(60.0, 0.5e-3, 7930.0 * AREA, 6930.0 * G * AREA, 193e9 * AREA, normal_drag=1.2, tangential_drag=0.02)
BALL = Body(BodyKind.BLUFF, 4.5, 40.24, 0.2, drag_area_m2=3.07e-3)
DISC = Body(BodyKind.DIVER, 0.2, 0.5, 0.3, plate_area_m2=0.0113, trim_rad=math.radians(35.0), roll_rad=0.4)
SPOON = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=8e-4)
LEADER = Line(2.5, 0.55e-3, 4.2e-4, 1.8e-3, 600.0)
TIP = (-0.3, 2.0, -1.5)
BALL_RIG = Chain(TIP, (WIRE, BALL))
SPREAD = [BALL_RIG, Chain(TIP, (WIRE, DISC, LEADER, SPOON)), Chain(TIP, (WIRE, LEADER, SPOON))] * 4
LENGTHS = np.linspace(5.0, 80.0, 40)
SPEEDS = np.linspace(0.6, 1.8, 10)


def scipy_depth(length: float, speed: float) -> float:
    """The ball rig by scipy, to the tolerance of the table (1e-7): pull and place as one state."""

    def inward(z: float) -> float:
        u = np.array([-speed, 0.0, 0.0])

        def slope(_s: float, y: np.ndarray) -> np.ndarray:
            tension = np.linalg.norm(y[3:])
            t = y[3:] / tension
            f = np.array([0.0, 0.0, WIRE.mass_kg_m * G])
            if y[2] > 0.0:
                along = (u @ t) * t
                across = u - along
                f = 500.0 * 0.5e-3 * 1.2 * np.linalg.norm(across) * across
                f += 500.0 * math.pi * 0.5e-3 * 0.02 * np.linalg.norm(along) * along
                f[2] += WIRE.wet_weight_N_m
            return np.concatenate([(1.0 + tension / WIRE.stiffness_N) * t, -f])

        pull = [500.0 * BALL.drag_area_m2 * speed**2, 0.0, -BALL.wet_weight_N]
        y = solve_ivp(slope, (0.0, length), [0.0, 0.0, z, *pull], rtol=1e-7, atol=1e-8).y[:, -1]
        return float(y[2] - TIP[2])

    return float(brentq(inward, 0.0, length, xtol=1e-6))


def test_rows_per_second_beside_scipy(benchmark) -> None:  # type: ignore[no-untyped-def]
    """12 rods x 40 lengths x 10 speeds is one call; scipy does twelve rows of it."""
    table = solve_many(SPREAD, SPEEDS, water=WATER, out_m=LENGTHS)
    benchmark(solve_many, SPREAD, SPEEDS, water=WATER, out_m=LENGTHS)
    ours = table.depth_m.size / benchmark.stats.stats.median
    begun = time.perf_counter()
    rows = [(m, k) for m in (5, 20, 39) for k in (0, 3, 6, 9)]
    depths = [scipy_depth(float(LENGTHS[m]), float(SPEEDS[k])) for m, k in rows]
    peer = len(rows) / (time.perf_counter() - begun)
    benchmark.extra_info.update(
        rows_per_second=round(ours), scipy_rows_per_second=round(peer), ratio=round(ours / peer)
    )
    print(f"\nsteady: {ours:.0f} rows/s; scipy: {peer:.1f} rows/s; ratio {ours / peer:.0f}")
    for (m, k), depth in zip(rows, depths, strict=True):
        assert table.depth_m[0, m, k] == pytest.approx(depth, abs=2e-3)
    assert ours > peer


def test_turns_per_second(benchmark) -> None:  # type: ignore[no-untyped-def]
    solve_turn(BALL_RIG, 1.2, 40.0, "port", water=WATER)
    state = benchmark(solve_turn, BALL_RIG, 1.2, 40.0, "port", water=WATER)
    assert state.ok
    print(f"\nsteady turns: {1.0 / benchmark.stats.stats.median:.0f} per second")

"""Chains of one shape are computed side by side: none may feel the others, to the last bit."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from numba import config

from sternwatch.hydro.chain.lanes import WIDTH
from sternwatch.hydro.chain.model import Body, Chain, Line
from sternwatch.hydro.chain.rows import Flow, Rows
from sternwatch.hydro.motion.fleet import FAILED, State, Track, run, settle, step, to_earth

# As plain Python a second of a chain takes two hundred times as long.
PLAIN = bool(config.DISABLE_JIT)
SECONDS = 4 if PLAIN else 60
SETTLED_S = 1.0 if PLAIN else 900.0
SEGMENTS = 13 if PLAIN else 16
JERK, LOST = (slice(0, 1), slice(2, 3)) if PLAIN else (slice(20, 23), slice(30, 33))
FIELDS = (
    "position_m", "before_m", "velocity_m_s", "velocity_before_m_s", "tension_N", "rest_m", "step_s", "owed_s",
    "failed",
)  # fmt: skip


def member(chain: Chain, rng: np.random.Generator) -> Chain:
    """The chain with other numbers: the same lines and bodies at the same places."""
    drag, weight = np.exp(0.2 * rng.normal(size=2))
    items = tuple(
        replace(i, drag_factor=float(drag), wet_weight_N_m=i.wet_weight_N_m * float(weight))
        if isinstance(i, Line)
        else replace(i, drag_area_m2=i.drag_area_m2 * float(drag), wet_weight_N=i.wet_weight_N * float(weight))
        for i in chain.items
    )
    assert any(isinstance(i, Body) for i in items)
    return Chain(chain.tip_m, items)


class Course:
    """Chains of three shapes, more than a batch holds, through a turn with a yaw; one tip is jerked, one lost."""

    def __init__(self, rigs: SimpleNamespace) -> None:
        rng = np.random.default_rng(11)
        of_each = (WIDTH + 1, 1, 1) if PLAIN else (6, 3, 2)
        shapes = (rigs.diver(1.0), rigs.downrigger(1.0), rigs.lead_core(-1.0))
        kinds = [chain for chain, count in zip(shapes, of_each, strict=True) for _ in range(count)]
        self.rows: Rows = rigs.packed(*(member(chain, rng) for chain in kinds), segments=SEGMENTS)
        n = len(self.rows)
        velocity = rng.normal(0.0, 0.05, (n, 3, 2))
        velocity[0] = 0.0
        self.depths, self.current = np.array([0.0, 4.0, 12.0]), velocity
        self.state = settle(self.rows, 0.0, 1.0, self.flow(np.arange(n)), seconds=SETTLED_S)
        t = np.arange(1.0, SECONDS + 1.0)
        turned = np.clip(t - 5.0, 0.0, 25.0) / 15.0
        at = np.cumsum(np.stack([np.cos(turned), np.sin(turned), 0.0 * t], axis=1), axis=0)
        heading = turned + np.radians(6.0) * np.sin(2.0 * np.pi * t / 7.0) * (t > 25.0)
        self.tips = at[:, None] + np.stack([to_earth(self.rows.tip_m, np.full(n, h)) for h in heading])
        self.rods = at[:, None] + np.stack([to_earth(self.rows.rod_tip_m, np.full(n, h)) for h in heading])
        self.tips[JERK, 1] += [0.0, 0.0, 1.5]
        self.tips[LOST, 3] = np.nan

    def flow(self, chosen: np.ndarray) -> Flow:
        return Flow(self.depths, self.current[chosen])

    def run(self, chosen: np.ndarray) -> Track:
        return run(
            self.rows.take(chosen), self.state.take(chosen), np.ascontiguousarray(self.tips[:, chosen]),
            np.ones(SECONDS), self.flow(chosen), np.ascontiguousarray(self.rods[:, chosen]),
        )  # fmt: skip


@pytest.fixture(scope="module")
def course(rigs: SimpleNamespace) -> Course:
    return Course(rigs)


def same(mine: State, row: int, its: State, other: int) -> bool:
    return all(np.array_equal(getattr(mine, f)[row], getattr(its, f)[other]) for f in FIELDS)


def test_a_chain_never_feels_the_others(course: Course) -> None:
    n = len(course.rows)
    together = course.run(np.arange(n))
    assert (together.status[LOST, 3] == FAILED).all()
    assert together.status.sum() == LOST.stop - LOST.start
    rng = np.random.default_rng(2)
    groups = [np.array([i]) for i in range(n)]
    groups += [rng.permutation(n) for _ in range(0 if PLAIN else 3)]
    groups += [rng.choice(n, size, replace=False) for size in (2, WIDTH - 1, WIDTH, WIDTH + 1)]
    iterations = 0
    for chosen in groups:
        track = course.run(chosen)
        for lane, row in enumerate(chosen):
            assert np.array_equal(track.positions_m[:, lane], together.positions_m[:, row])
            assert np.array_equal(track.tensions_N[:, lane], together.tensions_N[:, row])
            assert np.array_equal(track.status[:, lane], together.status[:, row])
            assert same(track.state, lane, together.state, row)
        iterations += track.iterations if len(chosen) == 1 else 0
    assert iterations == together.iterations


def test_steps_one_by_one_are_those_of_a_run(course: Course) -> None:
    n = len(course.rows)
    together, state = course.run(np.arange(n)), course.state.copy()
    for second in range(SECONDS):
        step(course.rows, state, course.tips[second], 1.0, course.flow(np.arange(n)), course.rods[second])
        assert np.array_equal(state.position_m, together.positions_m[second])
    assert all(same(state, row, together.state, row) for row in range(n))


def test_a_lane_that_lets_line_out_leaves_the_others_alone(course: Course) -> None:
    n = len(course.rows)
    one, all_still = course.state.copy(), course.state.copy()
    rates = np.zeros(n)
    rates[2] = 0.4
    flow = course.flow(np.arange(n))
    step(course.rows, one, course.tips[0], 1.0, flow, course.rods[0], length_rate_m_s=rates)
    step(course.rows, all_still, course.tips[0], 1.0, flow, course.rods[0], length_rate_m_s=np.zeros(n))
    assert one.rest_m[2].sum() == pytest.approx(all_still.rest_m[2].sum() + 0.4)
    assert [same(one, row, all_still, row) for row in range(n)] == [row != 2 for row in range(n)]

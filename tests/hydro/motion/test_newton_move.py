"""One move of Newton's method against the same equations put together here and linearised by differences.

The unknowns are the places of all nodes past the tip and the tensions of all segments; a move of the kernel, which
eliminates the tensions and works on blocks, is that of the whole system at once.
"""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import NamedTuple

import numpy as np
import pytest

from hydro.uncompiled import use_plain
from sternwatch.hydro.chain import coefficients, rod_line
from sternwatch.hydro.chain import forces as fo
from sternwatch.hydro.chain.lanes import WIDTH
from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.chain.rows import R_PULL, Rows, pack
from sternwatch.hydro.motion import batch as ba
from sternwatch.hydro.motion import newton as nw
from sternwatch.hydro.motion import rod_pull
from sternwatch.hydro.motion.newton import Effort

RHO, NU = 1000.0, 1.3e-6
ETA_N = 1e-5  # as agreed
WIRE = Line(9.0, 0.5e-3, 1.6e-3, 0.0137, 4e4, normal_drag=1.3, tangential_drag=0.02)
MONO = Line(4.0, 0.8e-3, 6e-4, 0.0006, 900.0)  # its drag is by the Reynolds number
LURE = Body(BodyKind.BLUFF, 0.02, 0.12, 0.01, drag_area_m2=0.0008)
DISC = Body(BodyKind.DIVER, 0.12, 0.5, 0.2, plate_area_m2=0.0113, trim_rad=0.6, roll_rad=0.4)
BALL = Body(BodyKind.BLUFF, 4.5, 40.0, 0.2, 3.1e-3, rod_line=RodLine((0.2, 1.0, -1.2), pull_N=6.0, normal_drag=1.1))
BOARD = Body(BodyKind.BOARD, 0.3, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=-1.0, buoyancy_N=3.0)
CORE = Line(6.0, 0.9e-3, 2.6e-3, 0.019, 2000.0, normal_drag=1.4)
RIGS = {
    "ball": Chain((0.0, 0.0, -1.5), (WIRE, BALL, MONO, LURE)),
    "diver": Chain((0.0, 1.0, -1.0), (WIRE, DISC, MONO, LURE)),
    "board": Chain((0.0, -1.0, -1.0), (MONO, BOARD, CORE, LURE)),
    "bare": Chain((0.0, 0.0, -1.0), (replace(WIRE, length_m=5.0),)),
}


class Water(NamedTuple):
    """Depths (k,) of the current's profile, [north, east] velocities (k, 2)."""

    depths: np.ndarray
    current: np.ndarray


STILL = Water(np.zeros(0), np.zeros((0, 2)))
SHEAR = Water(np.array([1.0, 4.0, 9.0]), np.array([(0.05, -0.1), (-0.15, 0.2), (0.1, 0.3)]))
# How a chain lies: the direction of its line, and how far its tip is lifted.
DEEP = (np.array([-0.7, 0.1, 0.7]), 4.0)
OUT_OF_THE_AIR = (np.array([-0.8, 0.1, 0.6]), 0.0)
ALONG_THE_SURFACE = (np.array([-1.0, 0.1, 0.06]), 0.8)
IN_THE_AIR = (np.array([-0.5, 0.1, 0.9]), -12.0)
UPWARD = (np.array([-0.7, 0.1, -0.5]), 3.0)


@pytest.fixture(autouse=True)
def uncompiled(monkeypatch: pytest.MonkeyPatch) -> None:
    """Everything as Python, so that nothing is compiled for this file alone."""
    for module in (coefficients, fo, rod_line, ba, rod_pull, nw):
        use_plain(monkeypatch, module)


class Step:
    """One row before a step: velocity is a0 x + bv, acceleration a0 velocity + ba.

    It stands in all lanes of a batch, and only one of them is moved.
    """

    def __init__(self, rig: str, pose: tuple[np.ndarray, float], water: Water, *, seed: int = 7) -> None:
        self.rows: Rows = pack([RIGS[rig]], segments=5, density_kg_m3=RHO, viscosity_m2_s=NU)
        rows, (along, lift) = self.rows, pose
        self.n, self.water, rng = int(rows.n_nodes[0]) - 1, water, np.random.default_rng(seed)
        self.one = SimpleNamespace(
            rest=rows.rest_m[0].copy(), line=rows.line[0], body=rows.body[0], node_body=rows.node_body[0],
            rod_node=int(rows.rod_node[0]), rod=rows.rod[0],
        )  # fmt: skip
        self.tension = rng.uniform(4.0, 9.0, self.n)
        lengths = self.one.rest[: self.n] * (1.0 + self.tension / self.one.line[: self.n, fo.L_STIFF])
        aims = along / np.linalg.norm(along) + rng.normal(0.0, [0.1, 0.1, 0.01], (self.n, 3))
        aims *= (lengths * rng.normal(1.0, 1e-5, self.n) / np.linalg.norm(aims, axis=1))[:, None]
        self.x = np.vstack([np.zeros(3), np.cumsum(aims, axis=0)]) + rows.tip_m[0] + [0.0, 0.0, lift]
        self.rod_tip = rows.rod_tip_m[0] + [0.0, 0.0, 0.1]
        self.a0, self.lane = 3.0, WIDTH - 1
        velocity = np.array([1.0, 0.2, 0.05]) + rng.normal(0.0, 0.15, self.x.shape)
        self.bv = velocity - self.a0 * self.x
        self.ba = rng.normal(0.0, 0.05, self.x.shape) - self.a0 * velocity

    def batch(self) -> tuple[ba.Shape, np.ndarray, np.ndarray]:
        """The row in all lanes of a scratch: their shape, the scratch, and a view of it (nodes, numbers, lanes)."""
        rows, n = self.rows, self.n
        bodies_at = ba.OWN
        rod_at = bodies_at + rows.body[0].size * WIDTH
        current_at = rod_at + (rows.rod[0].size + 3) * WIDTH
        nodes_at = current_at + 4 * len(self.water.depths) * WIDTH
        shape = ba.Shape(
            n, rows.node_body[0], rows.body[0], int(rows.rod_node[0]), self.water.depths,
            0, nodes_at, bodies_at, rod_at, current_at,
        )  # fmt: skip
        w = np.zeros(nodes_at + (n + 1) * ba.STRIDE)
        none = np.zeros((1, n + 1, 3))
        states = ba.States(none, none, none, none, self.tension[None], rows.rest_m, np.ones(1), np.zeros(1))
        models = ba.Models(rows.line, rows.body, rows.node_body, rows.n_nodes, rows.rod_node, rows.rod)
        ba.gather(states, models, np.zeros(1), self.water.current[None], np.zeros(WIDTH, np.int64), shape, w)
        w[rod_at + rows.rod[0].size * WIDTH :][: 3 * WIDTH] = np.repeat(self.rod_tip, WIDTH)
        nodes = w[nodes_at:].reshape(n + 1, ba.STRIDE // WIDTH, WIDTH)
        for at, values in ((ba.X, self.x), (ba.BV, self.bv), (ba.BA, self.ba)):
            nodes[:, at // WIDTH : at // WIDTH + 3] = values[:, :, None]
        return shape, w, nodes

    def move(self, iterations: int = 1, tolerance_m: float = 1e-30) -> tuple[int, np.ndarray, np.ndarray]:
        """What the kernel says, and how it moves nodes and changes tensions."""
        n = self.n
        shape, w, nodes = self.batch()
        alone = np.arange(WIDTH) == self.lane
        used = nw.newton(np.full(WIDTH, self.a0), alone, shape, Effort(iterations, tolerance_m), w)
        moved = nodes[:, :3] - self.x[:, :, None]
        pulled = nodes[:n, ba.PULL // WIDTH] - self.tension[:, None]
        assert np.array_equal(nodes[:, :3, 0], self.x, equal_nan=True), "the others stay"
        assert not np.any(pulled[:, ~alone])
        assert (used[~alone] == nw.FAILED).all()
        return int(used[self.lane]), moved[:, :, self.lane], pulled[:, self.lane]

    def balance(self, x: np.ndarray, tension: np.ndarray, *, rod: bool = True) -> np.ndarray:
        """(4 n,) what is left of the forces at every node past the tip [N], then the gaps of all segments [m]."""
        one, velocity = self.one, self.a0 * x + self.bv
        acceleration = self.a0 * velocity + self.ba
        force, gap = np.zeros_like(x), np.zeros(self.n)

        def flow(z: float) -> np.ndarray:
            return np.array([*fo.current_at(*self.water, z)[:2], 0.0])

        for k in range(self.n):
            numbers, rest, along = one.line[k], one.rest[k], x[k + 1] - x[k]
            length = float(np.linalg.norm(along))
            t = along / length
            gap[k] = length - rest * (1.0 + tension[k] / numbers[fo.L_STIFF] - ETA_N / tension[k])
            force[k] += tension[k] * t
            force[k + 1] -= tension[k] * t
            middle = 0.5 * (x[k] + x[k + 1])
            u = flow(middle[2]) - 0.5 * (velocity[k] + velocity[k + 1])
            cross = u - (u @ t) * t
            speed = math.sqrt(cross @ cross + 1e-12)
            normal = fo.normal_law(numbers[fo.L_NORMAL], numbers[fo.L_CN], numbers[fo.L_RE], speed)[0]
            load = rest * (normal * cross + numbers[fo.L_TANGENT] * abs(u @ t) * (u @ t) * t)
            load[2] += rest * numbers[fo.L_WET]
            dry = np.array([0.0, 0.0, rest * numbers[fo.L_DRY]])
            # The wet part acts at its own middle, which is toward the deeper end; a level one is wet bit by bit.
            wet = min(max(0.5 + middle[2] / max(abs(along[2]), 0.02), 0.0), 1.0)
            lean = min(max(along[2] / 0.02, -1.0), 1.0)
            uneven = 0.5 * lean * wet * (1.0 - wet)
            force[k] += (0.5 * wet - uneven) * load + (0.5 * (1.0 - wet) + uneven) * dry
            force[k + 1] += (0.5 * wet + uneven) * load + (0.5 * (1.0 - wet) - uneven) * dry
            for node in (k, k + 1):
                force[node] -= 0.5 * rest * numbers[fo.L_MASS] * acceleration[node]
        for node, item in enumerate(one.node_body[: self.n + 1]):
            if item >= 0:
                u = flow(x[node, 2]) - velocity[node]
                force[node] += fo.body_force(one.body[item], *u, x[node, 2])
                force[node] -= one.body[item, fo.B_MASS] * acceleration[node]
        if rod and one.rod_node >= 0:
            force[one.rod_node] += one.rod[R_PULL] * self.rod_pull(x)
        return np.append(force[1:].ravel(), gap)

    def rod_pull(self, x: np.ndarray) -> np.ndarray:
        """The direction in which the rod's own line pulls at its ball."""
        velocity, node, out = self.a0 * x + self.bv, self.one.rod_node, np.empty(8)
        # The water at the ball and half way up, the line's own velocity between ball and tip.
        near, half = (np.array([*fo.current_at(*self.water, z)[:2], 0.0]) for z in (x[node, 2], 0.5 * x[node, 2]))
        u = (near + 2.0 * half - 2.0 * velocity[node] - velocity[0]) / 3.0
        rod_line.rod_curve(self.one.rod, x[node], np.array(self.rod_tip), *u, out)
        return out[:3]

    def matrix(self) -> np.ndarray:
        """The derivative of the balance, by central differences."""
        n, unknowns = self.n, np.append(self.x[1:].ravel(), self.tension)

        def at(v: np.ndarray) -> np.ndarray:
            return self.balance(np.vstack([self.x[:1], v[: 3 * n].reshape(-1, 3)]), v[3 * n :], rod=False)

        jacobian = np.empty((4 * n, 4 * n))
        for i in range(4 * n):
            h = 1e-6 if i < 3 * n else 1e-4
            ahead, behind = unknowns.copy(), unknowns.copy()
            ahead[i] += h
            behind[i] -= h
            jacobian[:, i] = (at(ahead) - at(behind)) / (2.0 * h)
        if (node := self.one.rod_node) >= 0:
            # By design the rod's line counts as straight in the derivative.
            pull, here = self.rod_pull(self.x), slice(3 * node - 3, 3 * node)
            far = np.linalg.norm(self.rod_tip - self.x[node]) + 1e-3
            jacobian[here, here] -= self.one.rod[R_PULL] / far * (np.eye(3) - np.outer(pull, pull))
        return jacobian

    def wanted(self) -> tuple[np.ndarray, np.ndarray]:
        """The move of the whole system."""
        n = self.n
        move = np.linalg.solve(self.matrix(), -self.balance(self.x, self.tension))
        return move[: 3 * n].reshape(-1, 3), move[3 * n :]


CASES = [
    (rig, pose, water)
    for rig in RIGS
    for pose in (DEEP, OUT_OF_THE_AIR, ALONG_THE_SURFACE, IN_THE_AIR, UPWARD)
    for water in (STILL, SHEAR)
]


def law_N(rest: float, length: float, stiffness: float) -> float:
    """The tension whose strain T / EA - ETA / T is that of a segment of this length."""
    strain = length / rest - 1.0
    return float(max(np.roots([1.0 / stiffness, -strain, -ETA_N])))


def check(made: Step) -> np.ndarray:
    """Compare one move with what is wanted; returns the tensions after it."""
    moved, pulled = made.wanted()
    scale = min(1.0, 3.0 / np.abs(moved).max())  # three metres at most
    _, by, tension = made.move()
    assert by[0] == pytest.approx(0.0, abs=0.0)
    assert by[1:] == pytest.approx(scale * moved, rel=2e-5, abs=2e-6)
    after, lengths = made.x + by, np.linalg.norm(np.diff(made.x + by, axis=0), axis=1)
    assert after[0] == pytest.approx(made.x[0])
    wanted = made.tension + scale * pulled
    for k in range(made.n):
        if wanted[k] < 1.0:  # below a newton a tension is no less than the present strain asks for, up to a newton
            law = law_N(made.one.rest[k], lengths[k], made.one.line[k, fo.L_STIFF])
            wanted[k] = max(wanted[k], min(law, 1.0))
    assert made.tension + tension == pytest.approx(wanted, rel=1e-4, abs=2e-5)
    return wanted


@pytest.mark.parametrize(("rig", "pose", "water"), CASES)
def test_a_move_is_that_of_the_whole_system(rig: str, pose: tuple[np.ndarray, float], water: Water) -> None:
    check(Step(rig, pose, water))


def test_a_far_guess_is_moved_three_metres() -> None:
    made = Step("diver", DEEP, SHEAR)
    made.x[3:] += [3.0, -9.0, 6.0]
    assert np.abs(made.wanted()[0]).max() > 3.0
    check(made)
    assert np.abs(made.move()[1]).max() == pytest.approx(3.0)


@pytest.mark.parametrize("sinking_m_s", [0.3, 1.5, -2.0])
def test_a_diver_that_sinks_or_is_drawn_up_is_moved_by_the_flow_from_below(sinking_m_s: float) -> None:
    """A flow that is steep past the disc: its drag grows to that of a plate square to it."""
    made = Step("diver", DEEP, STILL)
    made.bv += [-0.8, -0.1, sinking_m_s]
    check(made)


def test_slack_line_is_held_by_its_law() -> None:
    made = Step("bare", UPWARD, STILL)
    made.x[1:] -= 0.4 * (made.x[1:] - made.x[0])
    assert (check(made) < 1.0).any()


@pytest.mark.parametrize(("rig", "most"), [("ball", 10), ("diver", 12), ("board", 9), ("bare", 25)])
def test_moves_end_where_nothing_is_left(rig: str, most: int) -> None:
    """Then no force and no gap is left, and every tension is positive; a bare line falls slack on the way."""
    made = Step(rig, DEEP, SHEAR)
    used, by, tension = made.move(60, 1e-9)
    assert 2 <= used <= most
    left = made.balance(made.x + by, made.tension + tension)
    assert np.abs(left[: 3 * made.n]).max() < 1e-5
    assert np.abs(left[3 * made.n :]).max() < 1e-9
    assert (made.tension + tension > 0.0).all()
    assert made.move(used, 1e-9)[0] == used
    assert made.move(used - 1, 1e-9)[0] == nw.FAILED
    # One more move from there would be none.
    made.x += by
    made.tension += tension
    again, further, _ = made.move(60, 1e-6)
    assert again == 1
    assert np.abs(further).max() < 1e-6


@pytest.mark.parametrize("rig", ["diver", "board"])
def test_a_lane_that_goes_back_and_one_that_goes_on_are_as_each_alone(rig: str) -> None:
    """Guesses so far off that moves are taken back, at different times; to the last bit."""
    made = [Step(rig, DEEP, SHEAR, seed=seed) for seed in range(WIDTH)]
    for k, one in enumerate(made):
        one.x[2:] += np.array([(0.0, 0.0, 0.0), (2.0, -6.0, 3.0), (-4.0, 3.0, -9.0), (9.0, 0.0, 9.0)])[k]
    shape, w, nodes = made[0].batch()
    for k, one in enumerate(made):
        nodes[:, :, k] = one.batch()[2][:, :, k]
    before = nodes.copy()
    used = nw.newton(np.full(WIDTH, 3.0), np.ones(WIDTH, bool), shape, Effort(80, 1e-9), w)
    assert len(set(used.tolist())) > 1, "each takes its own number of moves"
    assert (used > 0).all()
    for k, one in enumerate(made):
        one.lane, one.x, one.tension = k, before[:, :3, k].copy(), before[: one.n, ba.PULL // WIDTH, k].copy()
        own, w_own, nodes_own = one.batch()
        alone = np.arange(WIDTH) == k
        assert nw.newton(np.full(WIDTH, 3.0), alone, own, Effort(80, 1e-9), w_own)[k] == used[k]
        assert np.array_equal(nodes_own[:, :3, k], nodes[:, :3, k])
        assert np.array_equal(nodes_own[: one.n, ba.PULL // WIDTH, k], nodes[: one.n, ba.PULL // WIDTH, k])


def test_what_is_no_number_is_no_solution() -> None:
    for spoil in (math.nan, math.inf, 1e12):
        made = Step("diver", DEEP, STILL)
        made.x[2, 1] = spoil
        with np.errstate(invalid="ignore"):
            assert made.move(30, 1e-6)[0] == nw.FAILED

"""The steady turn against our own shooting, what Chapman 1984 reports, and its symmetries."""

from __future__ import annotations

import dataclasses
import math
from itertools import pairwise

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import root

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.steady import turning
from sternwatch.hydro.steady.solver import solve
from sternwatch.hydro.steady.turning import solve_turn
from sternwatch.water.properties import Water

Rig = tuple[Chain, float]
G = 9.80665
WATER = Water(1000.0, 1.3e-6)
SPEED = 1.2
RADII = [400.0, 100.0, 60.0, 40.0, 25.0, 15.0, 10.0]

# Reference case: steel wire 60 m x 0.5 mm, Cn 1.2, Ct 0.02, lead ball of 4.5 kg with Cd 0.47, tip at the surface.
AREA = 0.25 * math.pi * 0.5e-3**2
VOLUME = 4.5 / 11340.0
BALL_AREA = 0.25 * math.pi * (6.0 * VOLUME / math.pi) ** (2.0 / 3.0)
WIRE = Line(60.0, 0.5e-3, 7930.0 * AREA, 6930.0 * G * AREA, 193e9 * AREA, normal_drag=1.2, tangential_drag=0.02)
BALL = Body(BodyKind.BLUFF, 4.5, (4.5 - 1000.0 * VOLUME) * G, 500.0 * VOLUME, 0.47 * BALL_AREA)
REFERENCE = Chain((0.0, 0.0, 0.0), (WIRE, BALL))


def shooting(radius: float, guess: tuple[float, float]) -> tuple[float, float]:
    """Radius and depth of the ball, by scipy, from the forces' own statement; the turn's centre is the origin."""
    omega = SPEED / radius

    def to_tip(unknown: np.ndarray) -> np.ndarray:
        r, z = unknown
        u = np.array([-omega * r, 0.0, 0.0])
        inertia = (4.5 + 500.0 * VOLUME) * omega**2 * r
        load = np.array([0.0, inertia, BALL.wet_weight_N]) + 500.0 * 0.47 * BALL_AREA * abs(omega * r) * u
        tension = float(np.linalg.norm(load))

        def slope(_s: float, state: np.ndarray) -> list[float]:  # plain numbers: it is asked many thousand times
            x, y, _, tx, ty, tz, tension = state.tolist()
            norm = math.sqrt(tx * tx + ty * ty + tz * tz)
            tx, ty, tz = tx / norm, ty / norm, tz / norm
            # Turning clockwise as seen from above (x forward at y > 0): velocity (omega y, -omega x).
            ux, uy = -omega * y, omega * x
            along = ux * tx + uy * ty
            ax, ay, az = ux - along * tx, uy - along * ty, -along * tz
            across_drag = 500.0 * 0.5e-3 * 1.2 * math.sqrt(ax * ax + ay * ay + az * az)
            along_drag = 500.0 * math.pi * 0.5e-3 * 0.02 * abs(along) * along
            outward = (7930.0 + 1000.0) * AREA * omega**2
            fx = across_drag * ax + along_drag * tx + outward * x
            fy = across_drag * ay + along_drag * ty + outward * y
            fz = across_drag * az + along_drag * tz + WIRE.wet_weight_N_m
            p = fx * tx + fy * ty + fz * tz
            longer = 1.0 + tension / WIRE.stiffness_N
            bend = -1.0 / tension
            return [
                longer * tx, longer * ty, longer * tz,
                bend * (fx - p * tx), bend * (fy - p * ty), bend * (fz - p * tz), -p,
            ]  # fmt: skip

        start = np.concatenate([[0.0, r, z], -load / tension, [tension]])
        y = solve_ivp(slope, (0.0, 60.0), start, method="LSODA", rtol=1e-9, atol=1e-11).y[:, -1]
        return np.array([math.hypot(y[0], y[1]) - radius, y[2]])

    found = root(to_tip, guess, tol=1e-9)
    assert found.success
    return float(found.x[0]), float(found.x[1])


@pytest.fixture(scope="module")
def turns() -> dict[float, tuple[float, float]]:
    """End radius and depth at each radius, each shot from the last."""
    found: dict[float, tuple[float, float]] = {}
    guess = (RADII[0] - 0.5, 55.8)
    for radius in RADII:
        found[radius] = shooting(radius, (guess[0] / RADII[max(len(found) - 1, 0)] * radius, guess[1]))
        guess = found[radius]
    return found


@pytest.mark.parametrize("radius", RADII)
@pytest.mark.parametrize("side", ["port", "starboard"])
def test_against_an_independent_shooting(radius: float, side: str, turns: dict[float, tuple[float, float]]) -> None:
    state = solve_turn(REFERENCE, SPEED, radius, side, water=WATER)  # type: ignore[arg-type]
    assert state.ok, state.why
    toward = 1.0 if side == "starboard" else -1.0
    end_radius = math.hypot(state.astern_m, radius - toward * state.abeam_m)
    assert state.depth_m == pytest.approx(turns[radius][1], abs=0.05)
    assert end_radius == pytest.approx(turns[radius][0], abs=0.05)


def test_the_reference_turn(turns: dict[float, tuple[float, float]]) -> None:
    """40 m: depth 56.620, end radius 37.41, lag 26.74 degrees, tension 41.172 (our own: `shooting`)."""
    assert turns[40.0] == pytest.approx((37.41, 56.620), abs=5e-3)
    state = solve_turn(REFERENCE, SPEED, 40.0, "starboard", water=WATER)
    assert state.depth_m == pytest.approx(56.620, abs=1e-3)
    assert math.hypot(state.astern_m, 40.0 - state.abeam_m) == pytest.approx(37.41, abs=5e-3)
    assert math.degrees(math.atan2(state.astern_m, 40.0 - state.abeam_m)) == pytest.approx(26.74, abs=5e-3)
    assert state.tip_tension_N == pytest.approx(41.172, abs=1e-3)


def test_depth_rises_monotonically_as_the_turn_tightens() -> None:
    """Chapman 1984: depth rises as radius over length falls; a gradual turn keeps the straight tow's shape."""
    depths = [solve_turn(REFERENCE, SPEED, r, "port", water=WATER).depth_m for r in [1e6, *RADII]]
    assert all(a < b for a, b in pairwise(depths))
    straight = solve(REFERENCE, SPEED, water=WATER)
    assert depths[0] == pytest.approx(straight.depth_m, abs=1e-4)


def test_a_wide_turn_is_a_straight_course(rig: Rig) -> None:
    chain, speed = rig
    straight = solve(chain, speed, water=WATER)
    state = solve_turn(chain, speed, 2e6, "starboard", water=WATER)
    assert state.ok, state.why
    assert state.shape_m == pytest.approx(straight.shape_m, abs=0.01)


@pytest.mark.parametrize("radius", [100.0, 30.0])
def test_port_is_starboards_mirror_image(rig: Rig, radius: float) -> None:
    chain, speed = rig
    items = tuple(
        dataclasses.replace(item, roll_rad=-item.roll_rad, side=-item.side) if isinstance(item, Body) else item
        for item in chain.items
    )
    mirrored = Chain((chain.tip_m[0], -chain.tip_m[1], chain.tip_m[2]), items)
    one = solve_turn(chain, speed, radius, "port", water=WATER)
    other = solve_turn(mirrored, speed, radius, "starboard", water=WATER)
    assert one.ok, one.why
    assert other.ok, other.why
    assert other.shape_m * [1.0, -1.0, 1.0] == pytest.approx(one.shape_m, abs=1e-9)
    assert other.tension_N == pytest.approx(one.tension_N, rel=1e-9)


def test_the_shape_meets_the_rod_tip(rig: Rig) -> None:
    chain, speed = rig
    for radius in (60.0, 25.0):
        state = solve_turn(chain, speed, radius, "port", water=WATER)
        assert state.ok, state.why
        assert state.shape_m[0] == pytest.approx(chain.tip_m, abs=1e-4)


def test_heavy_line_sinks_in_a_tight_turn_whichever_way(rigs: dict[str, Rig]) -> None:
    """Common practice, no source: long copper sinks most in a turn, to either side."""
    chain, speed = rigs["copper"]
    straight = solve(chain, speed, water=WATER).depth_m
    for side in ("port", "starboard"):
        deeper = [solve_turn(chain, speed, r, side, water=WATER).depth_m for r in (60.0, 30.0)]  # type: ignore[arg-type]
        assert straight < deeper[0] < deeper[1]


def test_a_chain_too_long_for_the_radius_hangs_below_the_turns_middle() -> None:
    """Light end, 90 m of wire, 15 m radius: the shape that trails no longer exists, the one that hangs does."""
    area = 0.25 * math.pi * 0.38e-3**2
    wire = Line(90.0, 0.38e-3, 7900.0 * area, 6900.0 * G * area, 193e9 * area)
    fly = Body(BodyKind.BLUFF, 0.005, 0.01, 0.002, drag_area_m2=3e-4)
    state = solve_turn(Chain((-0.3, 1.0, -1.5), (wire, fly)), 1.5, 15.0, "port", water=WATER)
    assert state.ok, state.why
    assert math.hypot(state.astern_m, state.abeam_m + 15.0) < 1.0
    assert state.depth_m > 60.0


LINKED = Chain(
    (-0.3, 1.5, -1.0),
    (WIRE, dataclasses.replace(BALL, rod_line=RodLine((-0.3, 2.5, -1.5), pull_N=6.0, normal_drag=1.1))),
)


def test_with_the_rods_line_a_wide_turn_is_a_straight_course_too() -> None:
    straight = solve(LINKED, SPEED, water=WATER)
    state = solve_turn(LINKED, SPEED, 2e6, "starboard", water=WATER)
    assert state.ok, state.why
    assert state.shape_m == pytest.approx(straight.shape_m, abs=0.01)
    assert np.abs(straight.body_m - solve(Chain(LINKED.tip_m, (WIRE, BALL)), SPEED, water=WATER).body_m).max() > 0.05


def test_in_a_turn_the_rods_line_draws_its_ball_up_and_the_chain_still_meets_its_tip() -> None:
    state = solve_turn(LINKED, SPEED, 40.0, "starboard", water=WATER)
    free = solve_turn(Chain(LINKED.tip_m, (WIRE, BALL)), SPEED, 40.0, "starboard", water=WATER)
    assert state.ok, state.why
    assert state.shape_m[0] == pytest.approx(LINKED.tip_m, abs=1e-6)
    assert state.depth_m < free.depth_m
    assert state.body_pull_N[0] == pytest.approx(free.body_pull_N[0], abs=6.0)
    assert state.body_pull_N[0] < free.body_pull_N[0]


def test_a_turn_that_is_not_found_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(turning, "tighten", lambda *_: turning.NOT_CONVERGED)
    state = solve_turn(REFERENCE, SPEED, 40.0, "port", water=WATER, arc_m=[0.0, 60.0])
    assert (state.ok, state.why) == (False, "no steady shape was found")
    assert np.isnan(state.shape_m).all()
    assert state.arc_m.tolist() == [0.0, 60.0]


@pytest.mark.parametrize(
    ("speed", "radius", "side", "why"),
    [
        (1.0, 0.0, "port", "radius must be positive"),
        (1.0, math.inf, "port", "radius must be positive"),
        (-1.0, 40.0, "port", "must be 0 or more"),
        (1.0, 40.0, "left", "port or starboard"),
    ],
)
def test_what_is_no_turn_says_why(speed: float, radius: float, side: str, why: str) -> None:
    state = solve_turn(REFERENCE, speed, radius, side, water=WATER)  # type: ignore[arg-type]
    assert not state.ok
    assert why in state.why
    assert math.isnan(state.depth_m)


def test_a_boat_without_way_does_not_turn() -> None:
    state = solve_turn(REFERENCE, 0.0, 20.0, "port", water=WATER)
    assert state.ok
    assert state.astern_m == pytest.approx(0.0, abs=1e-9)

"""The steady solver against an independent one.

It uses scipy's ``solve_ivp`` and its own statement of every force, in another form: pull and direction apart,
dT/ds = -f.t, T dt/ds = -(f - (f.t) t), with the surface crossed at an event.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line, RodLine
from sternwatch.hydro.steady.solver import solve
from sternwatch.water.properties import Water, fresh_water

Rig = tuple[Chain, float]
G = 9.80665
LAKE = fresh_water(8.0)
SHEAR = ((0.0, 10.0, 30.0), ((0.0, 0.0), (0.05, 0.10), (0.20, -0.15)))


def cylinder(re: float) -> float:
    """Sucker and Brauer, as printed in White 1991."""
    re = max(re, 1.0)
    return 1.18 + 6.8 * re**-0.89 + 1.96 * re**-0.5 - 4e-4 * re / (1.0 + 3.64e-7 * re**2)


def metre(item: Line, water: Water, u: np.ndarray, t: np.ndarray, wet: bool) -> np.ndarray:
    down = np.array([0.0, 0.0, 1.0])
    if not wet:
        return item.mass_kg_m * G * down
    along = (u @ t) * t
    across = u - along
    speed = float(np.linalg.norm(across))
    cn = item.normal_drag
    if cn is None:
        cn = cylinder(speed * item.diameter_m / water.viscosity_m2_s)
    normal = 0.5 * water.density_kg_m3 * item.diameter_m * cn * item.drag_factor * speed * across
    tangent = 0.5 * water.density_kg_m3 * math.pi * item.diameter_m * item.tangential_drag
    return normal + tangent * float(np.linalg.norm(along)) * along + item.wet_weight_N_m * down


def device(body: Body, water: Water, r: np.ndarray, z: float) -> np.ndarray:
    """In a horizontal flow the diver's lift is 0.5 rho A C_L r^2, rolled; C_N at 35 degrees is 1.50.

    A board leaves the water over its height: the water's forces fade, and its weight in air comes in.
    """
    q = 0.5 * water.density_kg_m3
    down, speed = np.array([0.0, 0.0, 1.0]), float(np.linalg.norm(r))
    ahead = -r / speed
    to_starboard = np.cross(down, ahead)
    force = body.wet_weight_N * down
    if body.kind == BodyKind.DIVER:
        lift = q * body.plate_area_m2 * 1.50 * math.cos(body.trim_rad) * speed**2
        force += lift * (math.cos(body.roll_rad) * down + math.sin(body.roll_rad) * to_starboard)
        return force + q * body.plate_area_m2 * 1.50 * math.sin(body.trim_rad) * speed * r
    force += q * body.drag_area_m2 * speed * r
    if body.kind == BodyKind.LIPPED:
        force += q * body.lift_area_m2 * speed**2 * down
    if body.kind == BodyKind.BOARD:
        force += q * body.lift_area_m2 * speed**2 * body.side * to_starboard
        x = min(max(z / body.height_m, 0.0), 1.0)
        force -= body.buoyancy_N * x * x * (3.0 - 2.0 * x) * down
        x = min(max(z / body.height_m + 1.0, 0.0), 1.0)
        wet = x * x * (3.0 - 2.0 * x)
        force = wet * force + (1.0 - wet) * body.mass_kg * G * down
    return force


def flow(speed: float, current: object, z: float) -> np.ndarray:
    u = np.array([-speed, 0.0, 0.0])
    if current is not None:
        depths, velocities = np.array(current[0]), np.array(current[1])  # type: ignore[index]
        u[:2] += [np.interp(z, depths, velocities[:, i]) for i in (0, 1)]
    return u


def inward(chain: Chain, speed: float, water: Water, current: object, z_end: float) -> np.ndarray:
    """Place and pull vector at the rod tip with the free end at depth ``z_end`` under x = y = 0."""
    x = np.array([0.0, 0.0, z_end])
    pull = np.zeros(3)
    for item in reversed(chain.items):
        if isinstance(item, Body):
            pull -= device(item, water, flow(speed, current, x[2]), x[2])
            continue
        tension = float(np.linalg.norm(pull))
        if tension == 0.0:
            # A bare heavy end lies at its critical angle: R sin^2 = w cos (Pode 1951).
            def unbalanced(angle: float, item: Line = item) -> float:
                t = np.array([math.cos(angle), 0.0, -math.sin(angle)])
                f = metre(item, water, flow(speed, current, z_end), t, True)
                return float(f @ np.array([math.sin(angle), 0.0, math.cos(angle)]))

            angle = brentq(unbalanced, 1e-6, math.pi / 2, xtol=1e-14)
            direction, tension = np.array([math.cos(angle), 0.0, -math.sin(angle)]), 1e-9
        else:
            direction = pull / tension

        def slope(_s: float, y: np.ndarray, item: Line = item, wet: bool = True) -> np.ndarray:
            t = y[3:6] / np.linalg.norm(y[3:6])
            f = metre(item, water, flow(speed, current, y[2]), t, wet)
            p = f @ t
            return np.concatenate([(1.0 + y[6] / item.stiffness_N) * t, -(f - p * t) / y[6], [-p]])

        def surface(_s: float, y: np.ndarray) -> float:
            return float(y[2])

        surface.terminal = True  # type: ignore[attr-defined]
        y, s, wet = np.concatenate([x, direction, [tension]]), 0.0, bool(x[2] > 0.0)
        while s < item.length_m - 1e-12:
            part = solve_ivp(
                lambda s, y, item=item, wet=wet: slope(s, y, item, wet), (s, item.length_m), y, method="LSODA",
                rtol=1e-9, atol=1e-11, events=surface,
            )  # fmt: skip
            y, s = part.y[:, -1], float(part.t[-1])
            if part.status == 1:
                wet = bool(slope(s, y, item, wet)[2] > 0.0)
                y[2] = 1e-12 if wet else -1e-12
        x, pull = y[:3], y[6] * y[3:6] / np.linalg.norm(y[3:6])
    return np.concatenate([x, pull])


def independent(chain: Chain, speed: float, current: object = None) -> tuple[float, float, float, float]:
    """Depth, astern, abeam of the free end and tension at the tip."""
    reach = sum(item.length_m for item in chain.items if isinstance(item, Line))
    tip = np.array(chain.tip_m)
    z = brentq(lambda z: inward(chain, speed, LAKE, current, z)[2] - tip[2], -0.02, tip[2] + 1.1 * reach, xtol=1e-10)
    at_tip = inward(chain, speed, LAKE, current, z)
    end = tip - at_tip[:3]
    return float(z), -float(end[0]), float(end[1]), float(np.linalg.norm(at_tip[3:]))


def test_against_scipy(rig: Rig) -> None:
    chain, speed = rig
    state = solve(chain, speed, water=LAKE)
    assert state.ok, state.why
    depth, astern, abeam, tension = independent(chain, speed)
    scale = sum(item.length_m for item in chain.items if isinstance(item, Line))
    assert state.depth_m == pytest.approx(depth, rel=1e-4)
    assert state.astern_m == pytest.approx(astern, rel=1e-4)
    assert state.abeam_m == pytest.approx(abeam, abs=1e-4 * scale)
    assert state.tip_tension_N == pytest.approx(tension, rel=1e-4)


@pytest.mark.parametrize("name", ["diver wide", "ball", "copper", "board with lead-core"])
def test_a_current_that_varies_with_depth_against_scipy(name: str, rigs: dict[str, Rig]) -> None:
    chain, speed = rigs[name]
    state = solve(chain, speed, water=LAKE, current=SHEAR)
    assert state.ok, state.why
    expected = independent(chain, speed, SHEAR)
    scale = sum(item.length_m for item in chain.items if isinstance(item, Line))
    found = (state.depth_m, state.astern_m, state.abeam_m)
    assert found == pytest.approx(expected[:3], abs=1e-4 * scale)
    assert state.tip_tension_N == pytest.approx(expected[3], rel=1e-4)
    at_rest = solve(chain, speed, water=LAKE)
    assert abs(at_rest.abeam_m - state.abeam_m) > 0.05


def test_a_uniform_current_at_all_depths_is_a_change_of_speed(rigs: dict[str, Rig]) -> None:
    chain, _ = rigs["copper"]
    along = solve(chain, 1.0, water=LAKE, current=((0.0, 50.0), ((-0.2, 0.0), (-0.2, 0.0))))
    faster = solve(chain, 1.2, water=LAKE)
    assert along.shape_m == pytest.approx(faster.shape_m, abs=1e-7)


def test_the_rods_own_line_against_an_independent_shooting(rigs: dict[str, Rig]) -> None:
    """The pull on the ball leads, by integrating a neutral line's own equation, from the ball to the rod tip."""
    rod_tip = (0.4, 1.2, 0.0)
    own = RodLine(rod_tip, pull_N=12.0, diameter_m=0.45e-3, normal_drag=1.3)
    cable, bare = rigs["ball"][0].items[:2]
    assert isinstance(cable, Line)
    assert isinstance(bare, Body)
    weight = dataclasses.replace(bare, rod_line=own)
    state = solve(Chain((-0.2, 0.8, -0.4), (cable, weight)), 1.2, water=LAKE)
    assert state.ok, state.why
    place = state.body_m[0]
    # What the solved cable's end has to carry beyond weight and drag is the line's pull.
    rest = device(weight, LAKE, np.array([-1.2, 0.0, 0.0]), 20.0)
    near = solve(Chain((-0.2, 0.8, -0.4), (cable, weight)), 1.2, water=LAKE, arc_m=[29.9998, 30.0], tolerance=1e-11)
    inwards = near.shape_m[0] - near.shape_m[1]
    pull = -rest - near.tension_N[1] * inwards / np.linalg.norm(inwards)
    assert float(np.linalg.norm(pull)) == pytest.approx(12.0, rel=1e-3)

    def slope(_s: float, y: np.ndarray) -> np.ndarray:
        t = y[3:] / np.linalg.norm(y[3:])
        u = np.array([-1.2, 0.0, 0.0])
        across = u - (u @ t) * t
        drag = 0.5 * LAKE.density_kg_m3 * own.diameter_m * 1.3 * float(np.linalg.norm(across)) * across
        return np.concatenate([t, -drag / 12.0])

    def at_the_tip(_s: float, y: np.ndarray) -> float:
        return float(y[2] - rod_tip[2])

    at_the_tip.terminal = True  # type: ignore[attr-defined]
    path = solve_ivp(
        slope, (0.0, 60.0), np.concatenate([place, pull / 12.0]), events=at_the_tip, rtol=1e-10, atol=1e-12
    )
    assert path.y[:3, -1] == pytest.approx(rod_tip, abs=0.02)
    free = solve(Chain((-0.2, 0.8, -0.4), (cable, bare)), 1.2, water=LAKE)
    assert state.depth_m < free.depth_m
    assert state.astern_m > free.astern_m

"""The steady solver against an independent one, its symmetries, and what it does with rigs that do not hang in order.

The independent solution uses scipy's ``solve_ivp`` and its own statement of every force, in another form: pull and
direction apart, dT/ds = -f.t, T dt/ds = -(f - (f.t) t), with the surface crossed at an event.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from sternwatch.hydro.chain import Body, BodyKind, Chain, Line
from sternwatch.hydro.steady import solve
from sternwatch.water.properties import Water, fresh_water

G = 9.80665
LAKE = fresh_water(8.0)


def line(length: float, diameter: float, density: float, modulus: float, **more: float) -> Line:
    area = 0.25 * math.pi * diameter**2
    return Line(length, diameter, density * area, (density - LAKE.density_kg_m3) * G * area, modulus * area, **more)


def weighted(length: float, diameter: float, mass: float, stiffness: float) -> Line:
    area = 0.25 * math.pi * diameter**2
    return Line(length, diameter, mass, (mass - LAKE.density_kg_m3 * area) * G, stiffness)


def ball(mass: float) -> Body:
    volume = mass / 11340.0
    area = 0.25 * math.pi * (6.0 * volume / math.pi) ** (2.0 / 3.0)
    return Body(BodyKind.BLUFF, mass, (mass - 1000.0 * volume) * G, 500.0 * volume, 0.47 * area)


def wire(length: float) -> Line:
    return line(length, 0.38e-3, 7900.0, 193e9, drag_factor=1.2)


def leader(length: float) -> Line:
    return line(length, 0.55e-3, 1780.0, 2.5e9)


def disc(roll_deg: float, area: float = 0.0113) -> Body:
    return Body(
        BodyKind.DIVER,
        0.2,
        0.5,
        0.3,
        plate_area_m2=area,
        trim_rad=math.radians(35.0),
        roll_rad=math.radians(roll_deg),
    )


PADDLE = Body(BodyKind.BLUFF, 0.05, 0.1, 0.05, drag_area_m2=0.005)
FLY = Body(BodyKind.BLUFF, 0.005, 0.01, 0.002, drag_area_m2=0.0003)
SPOON = Body(BodyKind.BLUFF, 0.02, 0.15, 0.01, drag_area_m2=0.0008)
PLUG = Body(BodyKind.LIPPED, 0.02, -0.02, 0.02, drag_area_m2=0.0015, lift_area_m2=0.002)
BOARD = Body(BodyKind.BOARD, 0.4, 0.0, 0.2, 0.008, lift_area_m2=0.016, side=1.0, buoyancy_N=3.0)
SHEAR = ((0.0, 10.0, 30.0), ((0.0, 0.0), (0.05, 0.10), (0.20, -0.15)))

TIP = (-0.3, 2.1, -1.5)
RIGS: dict[str, tuple[Chain, float]] = {
    "diver straight": (Chain(TIP, (wire(55.0), disc(0.0), leader(2.4), PADDLE, leader(0.6), FLY)), 1.03),
    "diver wide": (Chain(TIP, (wire(75.0), disc(45.0, 0.0158), leader(2.4), SPOON)), 1.2),
    "diver on braid": (
        Chain(TIP, (line(60.0, 0.40e-3, 920.0, 40e9, normal_drag=1.5), disc(-22.5), leader(2.0), PADDLE)),
        1.1,
    ),
    "ball": (Chain(TIP, (line(30.0, 1.0e-3, 7900.0, 60e9), ball(5.4), line(8.0, 0.45e-3, 1140.0, 2e9), SPOON)), 1.2),
    "lead-core": (
        Chain(TIP, (line(40.0, 0.4e-3, 960.0, 60e9), weighted(82.0, 0.85e-3, 2.5e-3, 4e3), leader(6.0), SPOON)),
        0.9,
    ),
    "copper": (Chain(TIP, (weighted(60.0, 0.94e-3, 4.8e-3, 3e4), leader(8.0), SPOON)), 1.03),
    "in-line weight": (
        Chain(TIP, (line(45.0, 0.45e-3, 1140.0, 2e9), ball(0.34), leader(3.0), PADDLE, leader(0.6), FLY)),
        1.0,
    ),
    "board with lead-core": (
        Chain(
            TIP, (line(25.0, 0.5e-3, 1140.0, 2e9), BOARD, weighted(27.4, 0.85e-3, 2.5e-3, 4e3), leader(4.0), SPOON)
        ),
        0.9,
    ),
    "flat line with a lipped plug": (Chain(TIP, (line(35.0, 0.40e-3, 1140.0, 2e9), PLUG)), 1.3),
    "wire alone": (Chain(TIP, (wire(40.0),)), 1.2),
    "bare spoon": (Chain(TIP, (line(30.0, 0.35e-3, 1780.0, 2.5e9), SPOON)), 0.7),
}


# ---- the independent solution ----


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
    if math.isnan(cn):
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


@pytest.mark.parametrize("name", RIGS)
def test_against_scipy(name: str) -> None:
    chain, speed = RIGS[name]
    state = solve(chain, speed, water=LAKE)
    assert state.ok, state.why
    depth, astern, abeam, tension = independent(chain, speed)
    scale = sum(item.length_m for item in chain.items if isinstance(item, Line))
    assert state.depth_m == pytest.approx(depth, rel=1e-4)
    assert state.astern_m == pytest.approx(astern, rel=1e-4)
    assert state.abeam_m == pytest.approx(abeam, abs=1e-4 * scale)
    assert state.tip_tension_N == pytest.approx(tension, rel=1e-4)

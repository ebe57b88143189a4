"""Closed forms of the steady towed line. The source of each stands beside it.

None is computed by the code under test. Digits printed here were worked from the closed forms.
"""

from __future__ import annotations

import dataclasses
import math

import numpy as np
import pytest

from sternwatch.hydro.chain.model import Body, BodyKind, Chain, Line
from sternwatch.hydro.steady.kernel import SOLVED, integrate
from sternwatch.hydro.steady.rows import pack
from sternwatch.hydro.steady.solver import Steady, solve
from sternwatch.water.properties import Water

G = 9.80665
WATER = Water(1000.0, 1.3e-6)
RIGID = 1e15


def line(length: float, diameter: float, wet: float, cn: float = 1.2, ct: float = 0.0) -> Line:
    return Line(length, diameter, 1.0, wet, RIGID, normal_drag=cn, tangential_drag=ct)


def metal(length: float, diameter: float, density: float, cn: float = 1.2) -> Line:
    area = 0.25 * math.pi * diameter**2
    return Line(length, diameter, density * area, (density - 1000.0) * G * area, RIGID, normal_drag=cn)


def towed(item: Line, pull: tuple[float, float, float], speed: float, arcs: int = 2) -> tuple[np.ndarray, np.ndarray]:
    """Places (arcs, 3) relative to the tip and pulls (arcs,), free end first, of a line with the force ``pull`` on
    its end, deep under water. In equal pieces, so that every place asked for is where a step ends."""
    piece = dataclasses.replace(item, length_m=item.length_m / (arcs - 1))
    packed = pack(Chain((0.0, 0.0, 0.0), (piece,) * (arcs - 1)), WATER)
    s = np.array([0.0, 0.0, 1000.0, *(-np.array(pull))])
    places, pulls = np.empty((arcs, 3)), np.empty(arcs)
    status = integrate(
        packed.rig, np.array([speed, 0.0, 0.0, 0.0, 1.0]), s, 1e-12, np.linspace(0.0, item.length_m, arcs),
        places, pulls, np.empty((arcs - 1, 6)), np.empty(3),
    )  # fmt: skip
    assert status == SOLVED
    return places - s[:3], pulls


# 1. Critical angle of a bare heavy line, R sin^2 = w cos with R = 0.5 rho Cn d U^2: Pode 1951, Zajac 1957.
CRITICAL = [
    (metal(30.0, 0.4e-3, 7930.0), 1.2, 8.98809108),
    (metal(30.0, 0.8e-3, 8960.0), 1.2, 13.58586499),
    (line(30.0, 0.7e-3, 0.019910), 1.0, 12.42500223),
]


@pytest.mark.parametrize(("item", "speed", "degrees"), CRITICAL)
def test_1_critical_angle_of_a_bare_line(item: Line, speed: float, degrees: float) -> None:
    state = solve(Chain((0.0, 0.0, 0.0), (item,)), speed, water=WATER)
    assert state.ok
    assert state.entry_angle_deg == pytest.approx(degrees, rel=1e-9)


@pytest.mark.parametrize(("item", "speed", "degrees"), CRITICAL)
def test_2_a_bare_line_at_that_angle_is_straight(item: Line, speed: float, degrees: float) -> None:
    state = solve(Chain((0.0, 0.0, 0.0), (item,)), speed, water=WATER)
    assert state.depth_m == pytest.approx(item.length_m * math.sin(math.radians(degrees)), rel=1e-9)
    assert state.astern_m == pytest.approx(item.length_m * math.cos(math.radians(degrees)), rel=1e-9)


@pytest.mark.parametrize("pull", [(-0.5, 0.0, 10.0), (-3.0, 4.0, 8.0), (-1.0, -6.0, 2.0)])
def test_3_tension_less_weight_times_height_is_constant(pull: tuple[float, float, float]) -> None:
    """Zajac 1957, for no tangential drag; it holds in three dimensions too. Only weight works along the line."""
    item = line(40.0, 0.5e-3, 0.05)
    places, pulls = towed(item, pull, 1.2, arcs=21)
    invariant = pulls + item.wet_weight_N_m * places[:, 2]  # z is down
    assert np.max(np.abs(invariant / invariant[0] - 1.0)) < 1e-10


def test_4_a_neutral_line_is_a_catenary() -> None:
    """a = sqrt(W^2 + D^2)/R, s0 = aD/W; depth a[asinh((L+s0)/a) - asinh(s0/a)] (Zajac 1957 without weight)."""
    places, _ = towed(line(60.0, 0.5e-3, 0.0), (-2.2, 0.0, 40.0), 1.2)
    assert places[0, 2] == pytest.approx(55.579248774, rel=1e-10)
    assert -places[0, 0] == pytest.approx(20.429434708, rel=1e-10)


def test_4_through_the_solver() -> None:
    drag_area = 2.2 / (0.5 * 1000.0 * 1.2**2)
    weight = Body(BodyKind.BLUFF, mass_kg=5.0, wet_weight_N=40.0, drag_area_m2=drag_area)
    state = solve(Chain((0.0, 0.0, 0.0), (line(60.0, 0.5e-3, 0.0), weight)), 1.2, water=WATER)
    assert state.depth_m == pytest.approx(55.579248774, rel=1e-6)
    assert state.astern_m == pytest.approx(20.429434708, rel=1e-6)


def test_5_the_same_with_its_end_force_rolled_by_35_degrees() -> None:
    roll = math.radians(35.0)
    places, _ = towed(line(60.0, 0.5e-3, 0.0), (-2.2, 40.0 * math.sin(roll), 40.0 * math.cos(roll)), 1.2)
    assert places[0, 2] == pytest.approx(45.527855253, rel=1e-10)
    assert places[0, 1] == pytest.approx(31.878947447, rel=1e-10)


@pytest.mark.parametrize("speed", [0.6, 1.2, 2.0])
def test_6_without_weight_the_shape_does_not_depend_on_speed(speed: float) -> None:
    """All forces go with speed squared. Depth by independent quadrature; z is down here, so the lift is +1.2."""
    q = 0.5 * 1000.0 * speed**2 * 0.02
    places, _ = towed(line(40.0, 0.8e-3, 0.0, ct=0.01), (-0.5 * q, -0.3 * q, 1.2 * q), speed)
    assert -places[0, 0] == pytest.approx(28.28631336, rel=1e-9)
    assert -places[0, 1] == pytest.approx(6.59635139, rel=1e-9)
    assert places[0, 2] == pytest.approx(26.38540555, rel=1e-9)


def test_7_heavy_line() -> None:
    """Pode 1951: his integrals for a heavy line without tangential drag."""
    drag_area = 0.5 / (0.5 * 1000.0 * 1.2**2)
    weight = Body(BodyKind.BLUFF, mass_kg=2.0, wet_weight_N=10.0, drag_area_m2=drag_area)
    state = solve(Chain((0.0, 0.0, 0.0), (line(40.0, 0.5e-3, 0.05), weight)), 1.2, water=WATER)
    assert state.depth_m == pytest.approx(31.25073595, rel=1e-6)
    assert state.astern_m == pytest.approx(22.75259873, rel=1e-6)
    assert state.tip_tension_N == pytest.approx(11.57502899, rel=1e-6)
    assert state.entry_angle_deg == pytest.approx(34.844674, rel=1e-6)


def test_8_at_zero_speed_a_chain_hangs_straight_down() -> None:
    weight = Body(BodyKind.BLUFF, mass_kg=2.0, wet_weight_N=10.0, drag_area_m2=1e-3)
    state = solve(Chain((-0.5, 2.0, -1.5), (line(20.0, 0.5e-3, 0.05), weight)), 0.0, water=WATER)
    assert state.ok
    assert (state.depth_m, state.astern_m, state.abeam_m) == pytest.approx((18.5, 0.5, 2.0), abs=1e-8)
    assert state.entry_angle_deg == pytest.approx(90.0, abs=1e-6)
    # The dry 1.5 m weighs in full (1 kg/m in this case), the wet 18.5 m its weight in water; 2 cm are partly wet.
    assert state.tip_tension_N == pytest.approx(10.0 + 18.5 * 0.05 + 1.5 * G, abs=0.11)


# Reference case: steel wire 60 m x 0.5 mm with stretch, lead ball of 4.5 kg, tip at the surface. Values: our own
# independent computation, `independent` in steady/test_steady_independent.py; moordyn 2.7.2 agrees (moordyn_tow.py).
def reference_chain() -> Chain:
    area = 0.25 * math.pi * 0.5e-3**2
    wire = Line(
        60.0, 0.5e-3, 7930.0 * area, (7930.0 - 1000.0) * G * area, 193e9 * area, normal_drag=1.2, tangential_drag=0.02
    )
    volume = 4.5 / 11340.0
    ball = Body(
        BodyKind.BLUFF,
        mass_kg=4.5,
        wet_weight_N=(4.5 - 1000.0 * volume) * G,
        added_mass_kg=500.0 * volume,
        drag_area_m2=0.47 * 0.25 * math.pi * (6.0 * volume / math.pi) ** (2.0 / 3.0),
    )
    return Chain((0.0, 0.0, 0.0), (wire, ball))


@pytest.mark.parametrize(
    ("speed", "depth", "astern", "tension"), [(1.2, 55.7855, 20.1546, 41.2253), (0.8, 59.0871, 9.7106, 41.0574)]
)
def test_reference_case(speed: float, depth: float, astern: float, tension: float) -> None:
    state: Steady = solve(reference_chain(), speed, water=WATER)
    assert state.depth_m == pytest.approx(depth, abs=6e-5)
    assert state.astern_m == pytest.approx(astern, abs=6e-5)
    assert state.tip_tension_N == pytest.approx(tension, abs=6e-5)


@pytest.mark.parametrize(("cn", "depth"), [(1.0, 56.80), (1.2, 55.79), (1.5, 54.16), (1.8, 52.49), (2.2, 50.26)])
def test_what_normal_drag_does_to_a_ball_rig(cn: float, depth: float) -> None:
    """Values: our own computation, `independent` in steady/test_steady_independent.py, to the centimetre."""
    wire, ball = reference_chain().items
    assert isinstance(wire, Line)
    changed = Line(
        wire.length_m, wire.diameter_m, wire.mass_kg_m, wire.wet_weight_N_m, wire.stiffness_N, normal_drag=cn,
        tangential_drag=0.02,
    )  # fmt: skip
    state = solve(Chain((0.0, 0.0, 0.0), (changed, ball)), 1.2, water=WATER)
    assert state.depth_m == pytest.approx(depth, abs=0.03)

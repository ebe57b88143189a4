"""The forces both solvers share: derivatives against differences, and the limits the lift must keep."""

from __future__ import annotations

import math

import numpy as np
import pytest

from hydro.uncompiled import plain
from sternwatch.hydro.chain.coefficients import DISC_CD, cn, cn_and_slope, plate_cn
from sternwatch.hydro.chain.forces import (
    B_KIND,
    B_LIFT,
    B_WET,
    body_force,
    body_jacobian,
    body_numbers,
    line_force,
    line_numbers,
    normal_law,
)
from sternwatch.hydro.chain.model import Body, BodyKind, Line

RHO, NU = 1000.0, 1.3e-6
DISC = Body(BodyKind.DIVER, 0.1, 0.5, plate_area_m2=0.0113, trim_rad=math.radians(35.0), roll_rad=0.4)
BODIES = {
    "ball": Body(BodyKind.BLUFF, 4.5, 40.0, drag_area_m2=0.003),
    "diver": DISC,
    "board": Body(BodyKind.BOARD, 0.3, drag_area_m2=0.008, lift_area_m2=0.016, side=-1.0, buoyancy_N=3.0),
    "plug": Body(BodyKind.LIPPED, 0.03, -0.02, drag_area_m2=0.0015, lift_area_m2=0.001),
}


def linearised(numbers: np.ndarray, *point: float) -> np.ndarray:
    """(15,) as plain Python: the force, its derivative by the flow in rows, and by the depth."""
    return np.array(
        plain(body_jacobian)(int(numbers[B_KIND]), numbers[B_LIFT] != 0.0, tuple(numbers[B_WET:]), *point)
    )


@pytest.mark.parametrize("name", BODIES)
def test_derivatives_are_those_of_the_force(name: str) -> None:
    """Against central differences, at flows from none to fast, level to vertical, about and below the surface."""
    numbers = body_numbers(BODIES[name], RHO)
    rng = np.random.default_rng(3)
    for _ in range(200):
        flow = rng.normal(size=3) * rng.choice([0.01, 0.3, 1.5]) * np.where(rng.random(3) < 0.3, 0.05, 1.0)
        point = np.append(flow, rng.choice([-0.2, -0.03, 0.01, 0.03, 0.045, 4.0]))
        out = linearised(numbers, *point)
        assert out[:3] == pytest.approx(np.array(body_force(numbers, *point)), abs=1e-12)
        for axis in range(4):
            ahead, behind = point.copy(), point.copy()
            ahead[axis] += 1e-6
            behind[axis] -= 1e-6
            slope = (np.array(body_force(numbers, *ahead)) - np.array(body_force(numbers, *behind))) / 2e-6
            mine = out[12:] if axis == 3 else out[3:12].reshape(3, 3)[:, axis]
            assert mine == pytest.approx(slope, abs=2e-5 * max(1.0, float(np.abs(slope).max())))


def test_a_disc_in_level_flow_obeys_the_plate_law() -> None:
    """C_L = C_N cos(trim) rolled about the stream, C_D = C_N sin(trim); q A = 1/2 rho A U^2."""
    force = np.array(body_force(body_numbers(DISC, RHO), -1.2, 0.0, 0.0, 5.0)) - [0.0, 0.0, 0.5]
    normal = plate_cn(DISC.trim_rad) * 0.5 * RHO * DISC.plate_area_m2 * 1.2**2
    lift = normal * math.cos(DISC.trim_rad)
    assert force[0] == pytest.approx(-normal * math.sin(DISC.trim_rad), rel=1e-5)
    assert force[1] == pytest.approx(lift * math.sin(DISC.roll_rad), rel=1e-5)
    assert force[2] == pytest.approx(lift * math.cos(DISC.roll_rad), rel=1e-5)


@pytest.mark.parametrize("sense", [-1.0, 1.0])
def test_a_disc_in_vertical_flow_has_no_lift_and_the_drag_of_one_square_to_it(sense: float) -> None:
    force = body_force(body_numbers(DISC, RHO), 0.0, 0.0, 0.5 * sense, 5.0)
    square = 0.5 * RHO * DISC.plate_area_m2 * DISC_CD * 0.25
    assert force[0] == pytest.approx(0.0, abs=1e-9)
    assert force[1] == pytest.approx(0.0, abs=1e-9)
    assert force[2] - 0.5 == pytest.approx(sense * square, rel=1e-4)


def test_lift_has_no_jump_where_its_law_changes() -> None:
    """At |r_h| = |r|/2 the force and its derivative agree from either side."""
    numbers = body_numbers(DISC, RHO)
    out = [
        linearised(numbers, -math.cos(angle), 0.0, math.sin(angle), 5.0)
        for angle in (math.radians(60.0) - 1e-9, math.radians(60.0) + 1e-9)
    ]
    assert out[0] == pytest.approx(out[1], abs=1e-6)


@pytest.mark.parametrize("name", BODIES)
def test_at_rest_a_body_has_only_its_weight(name: str) -> None:
    body = BODIES[name]
    force = body_force(body_numbers(body, RHO), 0.0, 0.0, 0.0, 5.0)
    # s^2 = r.r + 1e-6 leaves a lift as of 2 mm/s: 30 micronewtons of a disc.
    assert force == pytest.approx((0.0, 0.0, body.wet_weight_N - body.buoyancy_N), abs=1e-4)


@pytest.mark.parametrize("name", BODIES)
def test_in_the_air_a_body_has_its_mass_and_no_flow(name: str) -> None:
    body = BODIES[name]
    force = body_force(body_numbers(body, RHO), -1.5, 0.2, 0.1, -1.0)
    assert force == pytest.approx((0.0, 0.0, max(body.mass_kg * 9.80665, body.wet_weight_N)), rel=1e-12)


def test_board_pulls_to_its_side_and_floats_by_its_height() -> None:
    port = body_numbers(BODIES["board"], RHO)
    force = body_force(port, -1.0, 0.0, 0.0, 0.025)
    assert force[1] == pytest.approx(-0.5 * RHO * 0.016, rel=1e-5)
    assert force[0] == pytest.approx(-0.5 * RHO * 0.008, rel=1e-5)
    assert force[2] == pytest.approx(-1.5, rel=1e-9)  # half its height under: half its buoyancy
    assert body_force(port, -1.0, 0.0, 0.0, 1.0)[2] == pytest.approx(-3.0, rel=1e-9)


def test_drag_on_line_splits_along_and_across_it() -> None:
    """Normal on the frontal area, tangential on the wetted; at 30 degrees to the flow, Cn given."""
    own = line_numbers(Line(1.0, 1e-3, 1e-3, 0.0, 1e4, normal_drag=1.3, tangential_drag=0.02), RHO, NU)
    angle = math.radians(30.0)
    force = np.array(line_force(own, 2.0, 0.0, 0.0, math.cos(angle), 0.0, math.sin(angle)))
    across, along = 2.0 * math.sin(angle), 2.0 * math.cos(angle)
    tangent, normal = (
        np.array([math.cos(angle), 0, math.sin(angle)]),
        np.array([math.sin(angle), 0, -math.cos(angle)]),
    )
    assert force @ normal == pytest.approx(0.5 * RHO * 1.3 * 1e-3 * across**2, rel=1e-9)
    assert force @ tangent == pytest.approx(0.5 * RHO * math.pi * 1e-3 * 0.02 * along**2, rel=1e-9)


def test_the_kernels_table_is_the_correlation() -> None:
    """Value and slope of the drag law from Re 0.5 to beyond the table, against the closed form."""
    for re in np.geomspace(0.5, 40000.0, 3001):
        c1, c2 = normal_law(1.0, -1.0, 1.0, re)
        c, slope = cn_and_slope(re)
        assert c1 / re == pytest.approx(c, rel=6e-4 if re < 4.0 else 3e-5)
        if abs(re - 1.0) > 0.01:
            assert c2 * re == pytest.approx(c + slope * re, rel=0.02 if re < 4.0 else 1e-3)
    assert cn(100.0) == pytest.approx(1.4490, abs=5e-5)

"""Rod lines as polylines, against an integration of the line's equation and the catenary of physics' oracle 4."""

import math

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from hydro.uncompiled import plain
from sternwatch.hydro.chain.rows import R_CN, R_NORMAL, R_PULL, R_RE, ROD_FIELDS
from sternwatch.hydro.motion.rod_lines import POINTS, lay, lay_all

RHO, D, CN = 1000.0, 0.45e-3, 1.2


def rod(pull):
    numbers = np.zeros(ROD_FIELDS)
    numbers[R_PULL] = pull
    numbers[R_NORMAL] = 0.5 * RHO * D
    numbers[R_CN] = CN
    numbers[R_RE] = D / 1.3e-6
    return numbers


def integrated(pull, depth, aft, speed):
    """Depth and aft along a neutral line of constant pull from ball to the surface, by shooting: its own code.

    At angle a from the vertical the normal drag on a metre is R cos² a, and the line turns by that over its pull.
    """
    r = 0.5 * RHO * CN * D * speed**2

    def line(slope):
        def slopes(_, y):
            a = y[2]
            return [-math.cos(a), -math.sin(a), r * math.cos(a) ** 2 / pull]

        surface = lambda _, y: y[0]  # noqa: E731
        surface.terminal = True
        return solve_ivp(
            slopes, (0, 500), [depth, aft, slope], events=surface, rtol=1e-10, atol=1e-12, dense_output=True
        )

    # The line leaves the ball at such an angle that it meets the surface straight above the origin.
    start = brentq(lambda s: line(s).y[1, -1], -1.2, 1.5)
    return line(start)


@pytest.mark.parametrize(("pull", "depth", "aft", "speed"), [(12.0, 25.0, 8.0, 1.2), (8.0, 15.0, 3.0, 0.9)])
def test_the_curve_is_the_lines_equation(pull, depth, aft, speed):
    out = np.empty((POINTS, 3))
    # The rod tip stands at the surface, so that all of the line is wet.
    lay(rod(pull), np.array([-aft, 0.0, depth]), np.array([0.0, 0.0, 0.0]), -speed, 0.0, 0.0, out)
    sure = integrated(pull, depth, aft, speed)
    t = np.linspace(0, sure.t[-1], 4000)
    curve = sure.sol(t)
    for x, _, z in out[1:]:
        at = np.argmin(np.abs(curve[0] - z))
        assert -x == pytest.approx(curve[1, at], abs=0.03)


def test_ends_and_dry_part():
    ball, tip = np.array([-6.0, 1.0, 20.0]), np.array([0.0, 1.2, -1.8])
    out = np.empty((POINTS, 3))
    lay(rod(12.0), ball, tip, -1.0, 0.0, 0.0, out)
    assert out[0] == pytest.approx(tip)
    assert out[-1] == pytest.approx(ball)
    assert out[1, 2] == pytest.approx(0.0, abs=1e-6)
    # Bellied aft of the straight line between the ends.
    straight = np.interp(out[2:-1, 2], [tip[2], ball[2]], [tip[0], ball[0]])
    assert (out[2:-1, 0] < straight - 0.3).all()


def test_still_water_is_straight():
    ball, tip = np.array([-6.0, 3.0, 20.0]), np.array([0.0, 1.0, -2.0])
    out = np.empty((POINTS, 3))
    lay(rod(12.0), ball, tip, 0.0, 0.0, 0.0, out)
    share = (out[:, 2] - tip[2]) / (ball[2] - tip[2])
    for axis in (0, 1):
        assert out[:, axis] == pytest.approx(tip[axis] + share * (ball[axis] - tip[axis]), abs=1e-9)
    wet = np.linalg.norm(np.diff(out[1:], axis=0), axis=1)
    assert wet == pytest.approx(np.full(POINTS - 2, wet[0])), "in even steps"


@pytest.mark.parametrize("turned", [0.9, 2.0, -1.6, 3.0])
def test_north_is_like_any_other_way(turned):
    """Ball, tip and water turned about the upright: the curve is turned with them."""
    c, s = math.cos(turned), math.sin(turned)
    turn = np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]])
    ball, tip, flow = np.array([-6.0, 1.5, 20.0]), np.array([0.0, 1.2, -1.8]), np.array([-1.1, 0.3, 0.1])
    out, other = np.empty((POINTS, 3)), np.empty((POINTS, 3))
    lay(rod(12.0), ball, tip, *flow, out)
    lay(rod(12.0), turn @ ball, turn @ tip, *(turn @ flow), other)
    assert other == pytest.approx(out @ turn.T, abs=1e-7)


@pytest.mark.parametrize("tilted", [-0.5, 0.4])
def test_under_water_up_is_like_any_other_way(tilted):
    """With the rod tip at the surface all is wet: the scene may be tilted too, and rising water counts whole."""
    c, s = math.cos(tilted), math.sin(tilted)
    tilt = np.array([[c, 0.0, s], [0.0, 1.0, 0.0], [-s, 0.0, c]])
    ball, tip, flow = np.array([-4.0, 1.5, 20.0]), np.zeros(3), np.array([-1.1, 0.3, 0.0])
    out, other = np.empty((POINTS, 3)), np.empty((POINTS, 3))
    lay(rod(12.0), ball, tip, *flow, out)
    lay(rod(12.0), tilt @ ball, tip, *(tilt @ flow), other)
    assert other == pytest.approx(out @ tilt.T, abs=1e-7)


@pytest.mark.parametrize("flow", [(-1.0, 0.2, 0.3), (-0.8, -0.5, -0.4), (0.3, 0.9, 0.5)])
def test_its_wet_part_bellies_in_the_plane_of_its_ends_and_the_flow(flow):
    """All force on it lies in that plane, so all of it does; and it bellies the way the water goes."""
    ball, tip = np.array([-6.0, 1.5, 20.0]), np.array([0.0, 1.2, -1.8])
    out = np.empty((POINTS, 3))
    lay(rod(12.0), ball, tip, *flow, out)
    chord, way = out[-1] - out[1], np.array(flow)
    across = np.cross(chord, way)
    assert (out[1:] - out[1]) @ across / np.linalg.norm(across) == pytest.approx(np.zeros(POINTS - 1), abs=1e-9)
    beside = way - (way @ chord) / (chord @ chord) * chord
    assert ((out[2:-1] - out[1]) @ beside > 0.05 * np.linalg.norm(beside)).all()


def test_every_sample_is_laid_in_the_mean_flow_past_its_ends():
    """Ball and tip move by themselves; the water has its own velocity at the ball. Level flow, half of what sinks."""
    rng = np.random.default_rng(1)
    ball = np.cumsum(rng.normal(0.8, 0.1, (3, 2, 3)), axis=0) + np.array([-8.0, 1.0, 14.0])
    tip = np.cumsum(rng.normal(0.8, 0.1, (3, 2, 3)), axis=0) + np.array([0.0, 2.0, -1.5])
    current = rng.normal(0.0, 0.2, (3, 2, 3))
    dt, rods = np.array([0.5, 2.0]), np.stack([rod(9.0), rod(14.0)])
    out, own = np.empty((3, 2, POINTS, 3)), np.empty((POINTS, 3))
    plain(lay_all)(rods, ball, tip, dt, current, out)
    for k in range(3):
        before, after, h = max(k - 1, 0), max(k, 1), dt[max(k - 1, 0)]
        for i in range(2):
            gone = 0.5 * (ball[after, i] - ball[before, i] + tip[after, i] - tip[before, i]) / h
            u = current[k, i] - gone
            lay(rods[i], ball[k, i], tip[k, i], u[0], u[1], 0.5 * u[2], own)
            assert out[k, i] == pytest.approx(own, abs=1e-9), (k, i)

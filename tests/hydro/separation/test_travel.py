"""How far elements travel in axes that go and turn with the lines: against the same in complex numbers."""

from __future__ import annotations

import cmath
import math

import numpy as np
import pytest

from hydro.uncompiled import plain
from sternwatch.hydro.separation import pairs


def test_the_path_of_every_element_and_of_the_one_that_went_farthest() -> None:
    rng = np.random.default_rng(3)
    x = rng.normal(0.0, 5.0, (4, 3, 3))
    frame = np.stack([[0.0, 1.0, 3.0, 2.0], [0.0, -1.0, 0.5, 4.0], [0.2, 0.5, 0.4, 1.3]], axis=1)
    element = np.array([(0, 1), (1, 1), (1, 2)])
    out = np.full((4, 4), np.nan)
    plain(pairs.travel)(x, 3, element, 3, frame, np.empty((11, 3)), out)

    def seen(k: int, node: int) -> complex:
        return complex(x[k, node, 0] - frame[k, 0], x[k, node, 1] - frame[k, 1]) * cmath.exp(-1j * frame[k, 2])

    gone = np.zeros(4)
    assert out[0].tolist() == [0.0] * 4
    for k in range(1, 4):
        turned = frame[k, 2] - frame[k - 1, 2]
        step = []
        for node in range(3):
            level = abs(seen(k, node) - seen(k - 1, node))
            # A way that is straight in one of the axes sags in the other by an eighth of the angle's square.
            far = math.hypot(abs(seen(k, node)), abs(seen(k - 1, node)))
            step.append(math.hypot(level, x[k, node, 2] - x[k - 1, node, 2]) + 0.13 * turned**2 * far)
        each = [max(step[i], step[j]) for i, j in element]
        gone += [*each, max(each)]
        assert out[k] == pytest.approx(gone)


def test_the_axes_are_the_tips_mean_and_the_way_the_lines_trail() -> None:
    """Two lines that trail south, then west over two samples; one row is left out; at last they hang."""
    lines = np.zeros((3, 4, 2, 3))
    for row, tip in enumerate(((1.0, 2.0), (3.0, -4.0), (99.0, 99.0))):
        for k, (north, east) in enumerate(((-30.0, 0.0), (-20.0, -20.0), (0.0, -30.0), (0.5, 0.5))):
            lines[row, k, 0] = (*tip, -1.0)
            lines[row, k, 1] = (tip[0] + north, tip[1] + east, 15.0)
    out = np.empty((4, 3))
    plain(pairs.trailing)(lines, np.array([True, True, False]), np.array([2, 2, 2]), out)
    assert out[:, 0] == pytest.approx(2.0)
    assert out[:, 1] == pytest.approx(-1.0)
    assert out[:, 2] == pytest.approx([0.0, math.pi / 4.0, math.pi / 2.0, math.pi / 2.0])
    lines[:2, :, 1, :2] = lines[:2, :, 0, :2] + np.array([(0.0, -3.0), (-1.9, 0.0), (-2.1, 0.0), (0.0, -1.9)])
    plain(pairs.trailing)(lines, np.array([True, True, False]), np.array([2, 2, 2]), out)
    assert np.degrees(out[:, 2]) == pytest.approx([90.0, 90.0, 0.0, 0.0]), "less than two metres astern they hang"
    # Through south the angle goes on and does not jump.
    for k, deg in enumerate((170.0, 190.0, 210.0, 370.0)):
        lines[:2, k, 1, :2] = lines[:2, k, 0, :2] - 30.0 * np.array(
            [math.cos(math.radians(deg)), math.sin(math.radians(deg))]
        )
    plain(pairs.trailing)(lines, np.array([True, True, False]), np.array([2, 2, 2]), out)
    assert np.degrees(out[:, 2]) == pytest.approx([170.0, 190.0, 210.0, 370.0])


@pytest.mark.parametrize("seed", range(6))
def test_nearest_points_are_in_the_water_where_both_are_under_its_surface(seed: int) -> None:
    rng = np.random.default_rng(seed)
    xa, xb = rng.normal(0.3, 1.0, (2, 2, 3)), rng.normal(0.3, 1.0, (2, 2, 3))
    for _ in range(40):
        tau, s, u = rng.uniform(0.0, 1.0, 3)
        a, b = (1.0 - tau) * xa[0] + tau * xa[1], (1.0 - tau) * xb[0] + tau * xb[1]
        wet = min(a[0, 2] + s * (a[1, 2] - a[0, 2]), b[0, 2] + u * (b[1, 2] - b[0, 2])) >= 0.0
        inside = plain(pairs._in_water)
        assert bool(inside(xa, xb, 0, 0, 1, 0, 1, tau, s, u)) is bool(wet)

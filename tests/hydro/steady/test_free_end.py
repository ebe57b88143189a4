"""The direction of a line at an end without pull: its own loads lie along it [Pode 1951], in a turn too."""

from __future__ import annotations

import numpy as np
import pytest

from hydro.uncompiled import plain
from sternwatch.hydro.chain.model import Chain, Line
from sternwatch.hydro.steady import kernel
from sternwatch.hydro.steady.rows import pack
from sternwatch.water.properties import Water


@pytest.mark.parametrize("place", [(-3.0, 1.0, 4.0), (-8.0, -6.0, 9.0)])
@pytest.mark.parametrize("omega", [0.0, 0.04, -0.06])
def test_loads_lie_along_it(place: tuple[float, float, float], omega: float) -> None:
    line = Line(30.0, 0.8e-3, 4.5e-3, 0.04, 1e15, normal_drag=1.1, tangential_drag=0.02)
    packed = pack(Chain((0.0, 0.0, 0.0), (line,)), Water(1000.0, 1.3e-6))
    env = np.array([1.1, omega, 0.0, 0.0, 1.0])
    s = np.array([*place, 0.0, 0.0, 0.0])
    row = packed.rig.lines[0]
    way = np.array(plain(kernel.free_direction)(row, packed.rig, env, s))
    assert np.linalg.norm(way) == pytest.approx(1.0)
    load = np.array(plain(kernel.load)(row, packed.rig, env, *place, *way))
    assert np.linalg.norm(np.cross(way, load)) < 1e-9 * np.linalg.norm(load)
    assert way @ load < 0.0, "it leads inward, against them"
    assert way[2] < 0.0, "and up"


@pytest.mark.parametrize(
    ("weight", "speed", "current", "way"),
    [
        (0.04, 0.0, (0.0, 0.0), (0.0, 0.0, -1.0)), (-0.04, 0.0, (0.0, 0.0), (0.0, 0.0, 1.0)),
        (0.0, 0.0, (0.0, 0.0), (0.0, 0.0, -1.0)), (0.0, 1.1, (0.0, 0.0), (1.0, 0.0, 0.0)),
        (0.0, 1.1, (0.3, 0.6), (0.8, -0.6, 0.0)), (0.0, -1.1, (0.0, 0.0), (-1.0, 0.0, 0.0)),
    ],
)  # fmt: skip
def test_without_flow_it_hangs_and_without_weight_it_streams(
    weight: float, speed: float, current: tuple[float, float], way: tuple[float, float, float]
) -> None:
    line = Line(30.0, 0.8e-3, 4.5e-3, weight, 1e15, normal_drag=1.1, tangential_drag=0.02)
    rig = pack(Chain((0.0, 0.0, 0.0), (line,)), Water(1000.0, 1.3e-6), ([0.0], [current])).rig
    env, s = np.array([speed, 0.0, 0.0, 0.0, 1.0]), np.array([-3.0, 1.0, 4.0, 0.0, 0.0, 0.0])
    assert plain(kernel.free_direction)(rig.lines[0], rig, env, s) == pytest.approx(way, abs=1e-12)


@pytest.mark.parametrize(
    ("z", "rise", "film", "wet", "step"),
    [
        (4.0, 0.8, 0.0, 1.0, 5.0), (4.0, -0.8, 0.0, 1.0, 1e9), (-4.0, -0.8, 0.0, 0.0, 5.0),
        (-4.0, 0.8, 0.0, 0.0, 1e9),
        (4.0, 0.8, 0.0, 0.0, 1e9),  # it counts as dry, and is under: it does not come to the surface again
        # With a film: up to a quarter of it beyond its edge, and within it half of it at a time.
        (4.0, 0.8, 0.1, 1.0, 4.025 / 0.8), (4.0, -0.8, 0.1, 1.0, 1e9), (-4.0, -0.8, 0.1, 1.0, 3.925 / 0.8),
        (-4.0, 0.8, 0.1, 1.0, 1e9), (-0.05, 0.5, 0.1, 1.0, 0.1), (-0.05, -0.5, 0.1, 1.0, 0.1),
        (-0.05, 0.01, 0.1, 1.0, 2.5),
    ],
)  # fmt: skip
def test_a_step_lands_on_the_surface_or_does_not_jump_over_its_film(
    z: float, rise: float, film: float, wet: float, step: float
) -> None:
    assert plain(kernel.longest_step)(z, rise, film, wet) == pytest.approx(step)

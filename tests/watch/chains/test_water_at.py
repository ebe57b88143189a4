"""The water at depths of one rod's members: each has its own current, or all have one."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import numpy as np

from sternwatch.hydro.chain.rows import Flow
from sternwatch.watch.chains.polylines import water_at

MEMBERS, RODS = 2, 3
DEPTHS_M = np.array([0.0, 10.0])


def cast(velocity_m_s: Any) -> Any:
    return SimpleNamespace(members=MEMBERS, rods=RODS, flow=Flow(DEPTHS_M, velocity_m_s))


def test_each_member_of_a_rod_meets_its_own_current() -> None:
    of_row = np.arange(MEMBERS * RODS, dtype=float)
    table = np.stack([np.stack([of_row, of_row + 10.0], 1), np.stack([-of_row, -of_row], 1)], 2)
    made = water_at(cast(table), 1, np.array([[0.0, 5.0]]))
    assert made.tolist() == [[[1.0, -1.0], [4.0 + 5.0, -4.0]]]


def test_one_current_serves_all() -> None:
    made = water_at(cast(np.array([[1.0, 0.0], [0.0, 2.0]])), 2, np.array([[0.0, 2.5], [10.0, 99.0]]))
    assert made.tolist() == [[[1.0, 0.0], [0.75, 0.5]], [[0.0, 2.0], [0.0, 2.0]]]


def test_still_water_has_none() -> None:
    still = SimpleNamespace(members=MEMBERS, rods=RODS, flow=Flow(np.empty(0), np.empty((0, 2))))
    assert not water_at(still, 0, np.ones((4, MEMBERS))).any()  # type: ignore[arg-type]

"""When a depth is only about right, and that at the edge it does not change to and fro."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.hydro.motion.report import Report
from sternwatch.watch.chains.place import is_rough, place_of


@pytest.mark.parametrize(("wide_m", "before", "now"), [
    (5.1, False, True), (4.9, False, False), (4.9, True, True), (4.5, True, True), (4.3, True, False),
])  # fmt: skip
def test_an_interval_wider_than_a_quarter_of_the_depth(wide_m: float, before: bool, now: bool) -> None:
    assert is_rough(20.0, (20.0 - 0.4 * wide_m, 20.0 + 0.6 * wide_m), before) is now


def test_one_of_just_a_quarter_is_not_too_wide() -> None:
    assert not is_rough(16.0, (14.0, 18.0), before=False)
    assert is_rough(16.0, (14.0, 18.01), before=False)


def test_a_depth_without_an_interval_is_not_called_rough() -> None:
    assert not is_rough(20.0, None, before=True)


BOAT: Any = SimpleNamespace(north_m=100.0, east_m=50.0, heading_deg=90.0)  # she points east


def state_of(nodes: int) -> tuple[Any, Any]:
    """A chain straight astern, so to the west: the tip 1 m above the water, 10 m and 5 m deeper each segment."""
    k = np.arange(4.0)
    position = np.stack([0.0 * k + 101.0, 50.0 - 10.0 * k, 5.0 * k - 1.0], axis=1)
    rows = SimpleNamespace(n_nodes=np.array([nodes]), first_bodies=np.array([2, 3]))
    return rows, SimpleNamespace(position_m=position[None])


REPORT = Report(33.0, 0.5, 1.2, 0.5, slack=False, board_under=False)


def test_a_chain_as_seen_from_the_boat() -> None:
    rows, state = state_of(4)
    place = place_of(rows, state, REPORT, BOAT, None)
    assert place.shape_m[-1] == pytest.approx([30.0, -1.0, 14.0])
    assert (place.depth_m, place.astern_m, place.abeam_m) == pytest.approx((14.0, 30.0, -1.0))
    assert np.array(place.bodies_m) == pytest.approx(place.shape_m[2:])
    assert (place.lure_speed_m_s, place.vertical_speed_m_s, place.tension_N) == (1.2, 0.5, 33.0)
    assert place.entry_angle_deg == pytest.approx(math.degrees(0.5))
    assert (place.depth_interval_m, place.stretched) == (None, 1.0)


def test_depths_are_stretched_to_the_median_and_heights_are_not() -> None:
    rows, state = state_of(4)
    place = place_of(rows, state, REPORT, BOAT, (9.0, 10.0, 12.6, 14.0, 16.0))
    assert place.stretched == pytest.approx(0.9)
    assert place.shape_m[:, 2] == pytest.approx([-1.0, 3.6, 8.1, 12.6])
    assert place.depth_interval_m == (9.0, 16.0)


def test_a_bare_line_has_its_end_for_a_lure() -> None:
    rows, state = state_of(3)
    rows.first_bodies = np.array([], dtype=np.int64)
    place = place_of(rows, state, REPORT, BOAT, None)
    assert place.depth_m == pytest.approx(9.0)
    assert len(place.shape_m) == 3
    assert len(place.bodies_m) == 0


def test_a_lure_that_is_the_only_tackle() -> None:
    rows, state = state_of(4)
    rows.first_bodies = np.array([3])
    place = place_of(rows, state, REPORT, BOAT, None)
    assert place.bodies_m == (pytest.approx((30.0, -1.0, 14.0)),)

"""A boat steered by her position: tracks over ground and through each member's own water."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.forecast.steered import aside_m, behind_m, lures_m, middle, nears, over_ground_m, transom_m

# The antenna at (100, 50), 3 m ahead of the transom; she points east; the water drifts 0.2 north, 0.1 west.
GROUND: Any = SimpleNamespace(place_m=(100.0, 50.0), antenna_m=3.0, heading_rad=math.pi / 2.0, drift_m_s=(0.2, -0.1))
PATH: Any = SimpleNamespace(
    time_s=np.array([0.0, 10.0]), north_m=np.array([0.0, 1.0]), east_m=np.array([0.0, 12.0])
)  # fmt: skip


def test_the_track_over_ground_begins_at_the_transom_and_drifts_with_the_water() -> None:
    assert transom_m(GROUND) == pytest.approx((100.0, 47.0))
    assert over_ground_m(PATH, GROUND) == pytest.approx(np.array([(100.0, 47.0), (103.0, 58.0)]))


def test_a_member_with_another_current_goes_another_way_through_its_water() -> None:
    fleet: Any = SimpleNamespace(
        heading_rad=math.pi / 2.0, cast=SimpleNamespace(members=2),
        velocity_m_s=np.array([(0.0, 1.2), (0.1, 1.0)]),
    )  # fmt: skip
    aside = aside_m(fleet, PATH, 1.2)
    assert aside.shape == (2, 2, 2)
    assert aside[0] == pytest.approx(np.zeros((2, 2)))
    assert aside[1] == pytest.approx(np.array([(0.0, 0.0), (1.0, -2.0)]))
    fleet.velocity_m_s = None
    assert aside_m(fleet, PATH, 1.2) == pytest.approx(np.zeros((2, 2, 2)))


def test_where_lures_lie_behind_a_boat_on_a_long_straight() -> None:
    """Two rods and two members, she heads east: rows are member by member; a row that failed tells nothing."""
    nodes = np.zeros((4, 3, 3))
    nodes[:, 2] = [(1.0, -30.0, 9.0), (-2.0, -40.0, 10.0), (1.5, -31.0, 9.5), (-2.5, -41.0, 11.0)]
    cast = SimpleNamespace(rods=2, members=2, rows=SimpleNamespace(body_node=np.array([[1, 2]] * 4)))
    state = SimpleNamespace(position_m=nodes.copy(), failed=np.array([False, False, True, False]))
    lying: Any = SimpleNamespace(cast=cast, state=state, heading_rad=math.pi / 2.0)
    assert behind_m(lying, 1) == pytest.approx(np.array([(40.0, 2.0, 10.0), (41.0, 2.5, 11.0)]))
    first = behind_m(lying, 0)
    assert first[0] == pytest.approx([30.0, -1.0, 9.0])
    assert np.isnan(first[1]).all()
    assert middle(first) == pytest.approx([30.0, -1.0, 9.0])
    assert np.isnan(middle(first[1:])).all()
    assert (state.position_m == nodes).all(), "the state stays as it was"


@pytest.mark.parametrize(("margin", "near"), [(5.1, True), (5.0, False), (4.9, False)])
def test_a_track_that_comes_nearer_than_a_dangers_margin(margin: float, near: bool) -> None:
    track = np.array([(0.0, 0.0), (3.0, 6.0)])
    assert nears(track, (((6.0, 10.0), margin),)) is near
    assert nears(track, (((99.0, 99.0), 50.0), ((6.0, 10.0), margin))) is near
    assert not nears(track, ())


def test_members_stay_in_their_order() -> None:
    nodes = np.zeros((6, 2, 3))
    nodes[:, 1, 0] = [-10.0, -20.0, -11.0, -21.0, -12.0, -22.0]  # two rods of three members
    cast = SimpleNamespace(rods=2, members=3, rows=SimpleNamespace(body_node=np.array([[1]] * 6)))
    lying: Any = SimpleNamespace(
        cast=cast, state=SimpleNamespace(position_m=nodes, failed=np.zeros(6, dtype=np.bool_)), heading_rad=0.0
    )
    assert behind_m(lying, 0)[:, 0].tolist() == [10.0, 11.0, 12.0]
    assert behind_m(lying, 1)[:, 0].tolist() == [20.0, 21.0, 22.0]


def test_where_lures_are_over_ground_along_a_way() -> None:
    """Two members of two rods; the boat begins at (7, 8) of the chains' axes, and one member goes its own way."""
    positions = np.zeros((2, 2, 2, 3, 3))  # samples, members, rods, nodes, axes
    positions[:, :, 1, 2] = [[(7.0, -22.0, 9.0), (7.0, -32.0, 10.0)], [(8.0, -10.0, 9.5), (8.0, -20.0, 10.5)]]
    cast = SimpleNamespace(rows=SimpleNamespace(body_node=np.array([[0, 1], [1, 2]] * 2)))
    done: Any = SimpleNamespace(cast=cast, positions_m=positions.copy(), path=PATH)
    fleet: Any = SimpleNamespace(boat_m=np.array([(7.0, 8.0), (7.0, 8.0)]))
    aside = np.zeros((2, 2, 2))
    aside[1, 1] = (0.5, -2.0)
    made = lures_m(done, fleet, GROUND, 1, aside)
    assert made[0] == pytest.approx(np.array([(100.0, 17.0, 9.0), (100.0, 7.0, 10.0)])), "the transom is at (100, 47)"
    assert made[1, 0] == pytest.approx([103.0, 28.0, 9.5]), "ten seconds of drift"
    assert made[1, 1] == pytest.approx([102.5, 20.0, 10.5])
    assert (done.positions_m == positions).all()

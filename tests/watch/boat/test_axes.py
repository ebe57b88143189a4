"""Boat axes and the frame of the water: headings clockwise from north, astern positive on the way back."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest

from sternwatch.watch.boat.axes import point_on, seen, share_along, to_boat, to_earth, turn_of


def boat(heading_deg: float) -> SimpleNamespace:
    return SimpleNamespace(
        north_m=100.0, east_m=-20.0, heading_deg=heading_deg, speed_m_s=1.0, velocity_m_s=(1.0, 0.0)
    )


@pytest.mark.parametrize(
    ("heading_deg", "place"),
    [(0.0, (103.0, -18.0)), (90.0, (98.0, -17.0)), (180.0, (97.0, -22.0)), (270.0, (102.0, -23.0))],
)
def test_three_metres_ahead_and_two_to_starboard(heading_deg: float, place: tuple[float, float]) -> None:
    found = to_earth(np.array([(3.0, 2.0, 7.0)]), boat(heading_deg))
    assert found[0] == pytest.approx([*place, 7.0])
    assert to_boat(found, boat(heading_deg))[0] == pytest.approx([-3.0, 2.0, 7.0]), "astern is positive there"


def test_points_may_each_be_seen_from_a_boat_of_their_own() -> None:
    turn = turn_of(boat(30.0))
    assert turn == pytest.approx((math.cos(math.pi / 6.0), 0.5))
    points = np.array([(10.0, 5.0, 1.0), (10.0, 5.0, 1.0)])
    both = seen(points, np.array([10.0, 0.0]), np.array([5.0, 0.0]), turn)
    assert both[0] == pytest.approx([0.0, 0.0, 1.0])
    assert both[1] == pytest.approx(seen(points[1:], 0.0, 0.0, turn)[0])


def test_a_point_so_far_before_a_node_along_the_line() -> None:
    """Rest lengths 2, 3 and 5 m: 4 m before node 3 is a fifth of the way along the last of them."""
    rest, nodes = (
        np.array([2.0, 3.0, 5.0]),
        np.array([(0.0, 0.0, 0.0), (2.0, 0.0, 0.0), (2.0, 3.0, 0.0), (2.0, 3.0, 5.0)]),
    )
    assert point_on(rest, nodes, 3, 4.0) == pytest.approx([2.0, 3.0, 1.0])
    assert point_on(rest, nodes, 3, 6.5) == pytest.approx([2.0, 1.5, 0.0])
    assert point_on(rest, nodes, 2, 1.0) == pytest.approx([2.0, 2.0, 0.0])
    assert point_on(rest, nodes, 3, 8.5) == pytest.approx([1.5, 0.0, 0.0])
    assert point_on(rest, nodes, 3, 99.0) == pytest.approx([0.0, 0.0, 0.0])


def test_where_pieces_come_nearest_to_a_place() -> None:
    """A place beside the middle, before the beginning, beyond the end; and a piece of no length."""
    start = np.array([(0.0, 0.0), (2.0, 0.0), (-9.0, 1.0), (5.0, 5.0)])
    along = np.array([(4.0, 0.0), (4.0, 0.0), (4.0, 0.0), (0.0, 0.0)])
    assert share_along(start, along, np.array([1.0, 3.0])) == pytest.approx([0.25, 0.0, 1.0, 0.0])

"""Points of many boats' chains laid into the frame of the water in one compiled call."""

from __future__ import annotations

import numpy as np
import pytest

from sternwatch.watch.chains.side_by_side import _laid


def test_each_chain_lies_with_the_boat_of_its_own_member() -> None:
    """A boat to the east: ahead is east, and starboard south. Member 2 lies 5 m north, 7 m east and 0.5 m deeper."""
    points = np.array([(10.0, 2.0, 1.0), (10.0, 2.0, 1.0), (-4.0, -3.0, 6.0)])
    apart = np.array([(0.0, 0.0, 0.0), (1.0, 1.0, 0.25), (5.0, 7.0, 0.5)])
    found = _laid(points, apart, np.array([0, 2, 2]), 100.0, 200.0, (0.0, 1.0))
    assert found.tolist() == [[98.0, 210.0, 1.0], [103.0, 217.0, 1.5], [108.0, 203.0, 6.5]]


def test_it_is_turned_as_far_as_the_boat() -> None:
    """With three and four of five as cosine and sine."""
    found = _laid(np.array([(10.0, 5.0, 1.0)]), np.zeros((1, 3)), np.array([0]), 0.0, 0.0, (0.6, 0.8))
    assert found[0] == pytest.approx([2.0, 11.0, 1.0])

"""A way made by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Pass, Proposal, Target
from sternwatch.watch.again.track import track_of


@pytest.fixture
def way() -> Proposal:
    """100 m north, half a circle to starboard of 40 m radius, 200 m south; the pass after 150 of them."""
    legs = (Leg(100.0), Leg(40.0 * math.pi, math.pi), Leg(200.0))
    path = track_of(legs, heading_rad=0.0, speed_m_s=1.0, to_speed_m_s=1.0)
    over = np.stack([path.north_m, path.east_m], axis=1)
    passed = Pass(100.0 + 40.0 * math.pi + 150.0, 1.0, 4.0, 0.5, 18.0, (16.0, 20.0), 0.95)
    target = Target("2", (-50.0, 80.0), 17.5, math.pi, 1.0)
    return Proposal(target, legs, math.pi, False, path, over, passed, 0.0, 16, None, (), ("soonest",))

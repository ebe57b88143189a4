"""Ways of arcs and straights: they end where they should and turn as allowed."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest

from sternwatch.watch.again.legs import SIDES, Leg, Pose, Side, end_of, length_of, way_of
from sternwatch.watch.again.track import track_of

RADII: dict[Side, float] = {"port": 40.0, "starboard": 25.0}


def ways(start: Pose, end: Pose, radius_m: dict[Side, float]) -> list[tuple[Leg, ...]]:
    """To all sides, shortest first."""
    found = [way_of(start, end, sides, radius_m) for sides in SIDES]
    return sorted((way for way in found if way is not None), key=length_of)


def poses(seed: int) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    dice = random.Random(seed)
    return (0.0, 0.0, dice.uniform(0, 6.28)), (
        dice.uniform(-300, 300),
        dice.uniform(-300, 300),
        dice.uniform(0, 6.28),
    )


@pytest.mark.parametrize("seed", range(30))
def test_every_way_ends_at_its_pose_and_turns_as_allowed(seed: int) -> None:
    start, end = poses(seed)
    found = ways(start, end, RADII)
    assert found
    for way in found:
        north, east, heading = end_of(start, way)
        assert (north, east) == pytest.approx(end[:2], abs=1e-6)
        assert math.remainder(heading - end[2], 2 * math.pi) == pytest.approx(0.0, abs=1e-9)
        for leg in way:
            if leg.turn_rad:
                side: Side = "starboard" if leg.turn_rad > 0 else "port"
                assert leg.length_m / abs(leg.turn_rad) == pytest.approx(RADII[side])
                assert abs(leg.turn_rad) < 2 * math.pi
    assert [length_of(way) for way in found] == sorted(length_of(way) for way in found)


def test_ways_that_can_be_drawn_by_hand() -> None:
    """Half a circle to starboard; straight ahead; a quarter to port after a straight."""
    half = ways((0.0, 0.0, 0.0), (0.0, 50.0, math.pi), RADII)[0]
    assert [leg.turn_rad for leg in half] == pytest.approx([math.pi])
    assert length_of(half) == pytest.approx(math.pi * 25.0)
    (ahead,) = ways((0.0, 0.0, 0.0), (120.0, 0.0, 0.0), RADII)[0]
    assert (ahead.length_m, ahead.turn_rad) == pytest.approx((120.0, 0.0))
    straight, quarter = ways((0.0, 0.0, 0.0), (140.0, -40.0, -math.pi / 2), RADII)[0]
    assert (straight.length_m, straight.turn_rad) == pytest.approx((100.0, 0.0))
    assert (quarter.length_m, quarter.turn_rad) == pytest.approx((40.0 * math.pi / 2, -math.pi / 2))


@pytest.mark.parametrize("seed", range(8))
def test_a_track_follows_its_legs_and_its_speed(seed: int) -> None:
    start, end = poses(seed)
    way = ways(start, end, RADII)[0]
    track = track_of(way, heading_rad=start[2], speed_m_s=0.5, to_speed_m_s=1.2)
    assert (track.north_m[-1], track.east_m[-1]) == pytest.approx(end[:2], abs=1e-6)
    assert track.speed_m_s[0] == 0.5
    assert track.speed_m_s[-1] == pytest.approx(1.2)
    assert np.all(track.step_s > 0)
    gone = float((0.5 * (track.speed_m_s[1:] + track.speed_m_s[:-1]) * track.step_s).sum())
    assert gone == pytest.approx(length_of(way), rel=2e-3)
    assert np.abs(np.diff(track.heading_rad)).max() <= math.radians(4.0) + 1.3 * 1.2 / 25.0 * 1.0


def test_without_way_on_there_is_no_way() -> None:
    with pytest.raises(ValueError, match="above 0 m/s"):
        track_of((Leg(10.0),), heading_rad=0.0, speed_m_s=1.0, to_speed_m_s=0.0)

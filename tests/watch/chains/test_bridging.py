"""A hole in the feed: the lines go on through it, so they are where they would be had nothing been lost."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sternwatch.gear.spread_file.load import parse_spread
from sternwatch.gear.spread_file.models import Spread
from sternwatch.watch.chains.bridging import Bridge, Pose
from sternwatch.watch.core.engine import new_watch
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import RodPicture, SolverState
from watch.chains.test_first_course import SHORT, Gps

# As agreed: a change of one is to be noticed.
BRIDGED_S = 60.0

FAST_M_S, SLOW_M_S, SLOWS_S = 1.03, 0.45, 12


@pytest.fixture(scope="module")
def short() -> Spread:
    return parse_spread(SHORT.replace('out = "80 ft"', 'out = "150 ft"'))


def _slowed(
    spread: Spread, lost_s: int, *, members: int = 0, turned_deg: float = 0.0, seconds: int | None = None
) -> RodPicture:
    """The copper of a trip that slows as for a fish, with so many seconds of the feed lost from half way on."""
    gps = Gps(new_watch(Setup(spread, start="fishing", members=members)), 200.0)
    gps.run(120, sog=FAST_M_S)
    for k in range(1, (lost_s if seconds is None else seconds) + 20):
        if 6 < k <= 6 + lost_s:
            gps.t_s += 1.0
            gps.watch.advance(gps.t_s)
            gps.course_deg += turned_deg / lost_s
        else:
            gps.run(1, sog=max(FAST_M_S - (FAST_M_S - SLOW_M_S) * k / SLOWS_S, SLOW_M_S))
    return gps.watch.picture().rods[0]


def _at_rest_m(spread: Spread) -> float:
    """How deep the copper hangs where she has gone at the slow speed for long."""
    gps = Gps(new_watch(Setup(spread, start="fishing", members=0)), 200.0)
    gps.run(10, sog=SLOW_M_S)
    depth_m = gps.watch.picture().rods[0].depth_m
    assert depth_m is not None
    return depth_m


@pytest.mark.parametrize(("lost_s", "members", "share"), [(20, 0, 0.1), (20, 4, 0.1), (45, 0, 0.15)])
def test_a_line_hangs_as_deep_after_a_hole_in_a_slow_down_as_without_one(
    short: Spread, lost_s: int, members: int, share: float
) -> None:
    """Laid anew it hung as at rest at the slow speed, ten metres too deep, and warned of a bottom far under it.

    What is left comes of how she slowed unseen: the longer the hole, the more.
    """
    true = _slowed(short, 0, members=members, seconds=lost_s)
    back = _slowed(short, lost_s, members=members)
    assert back.solver is SolverState.UNSETTLED
    assert true.depth_m is not None
    assert back.depth_m == pytest.approx(true.depth_m, abs=share * (_at_rest_m(short) - true.depth_m))
    if members:
        assert back.depth_interval_m is not None
        assert back.depth_interval_m[0] < true.depth_m < back.depth_interval_m[1]


def test_after_a_long_hole_the_line_is_laid_anew(short: Spread) -> None:
    back = _slowed(short, int(BRIDGED_S) + 15)
    assert back.solver is SolverState.UNSETTLED
    assert back.depth_m == pytest.approx(_at_rest_m(short), abs=0.3)


def test_after_coming_about_unseen_the_line_lies_astern_and_as_deep(short: Spread) -> None:
    straight, about = _slowed(short, 20), _slowed(short, 20, turned_deg=180.0)
    assert about.astern_m is not None
    assert about.astern_m > 25.0
    assert abs(about.abeam_m or 0.0) < 3.0
    assert about.depth_m == pytest.approx(straight.depth_m, abs=0.5)


@pytest.mark.parametrize("turned_deg", [0.0, 90.0, -135.0])
def test_a_bridge_begins_where_the_lines_were_and_ends_where_she_is(turned_deg: float) -> None:
    a = math.radians(30.0 + turned_deg)
    before = Pose(100.0, -40.0, 30.0, (1.2 * math.cos(math.radians(30.0)), 1.2 * math.sin(math.radians(30.0))))
    after = Pose(100.0, -40.0, 30.0 + turned_deg, (0.4 * math.cos(a), 0.4 * math.sin(a)))
    bridge = Bridge(10.0, 32.0, before, after)
    moved = bridge.nominal()
    (begun,) = moved.to_m
    # Seen from the boat, a point lies where it lay: the track begins 22 s of 0.8 m/s behind her.
    assert math.dist(begun, (after.north_m, after.east_m)) == pytest.approx(22.0 * 0.8)
    *_, (last_s, end, _) = bridge.moments(None)
    assert last_s == pytest.approx(32.0)
    assert (end.north_m, end.east_m) == pytest.approx((after.north_m, after.east_m))
    assert end.velocity_m_s == pytest.approx(after.velocity_m_s)
    gone, at, t_s = 0.0, np.array(begun), 10.0
    for moment_s, pose, _ in bridge.moments(None):
        assert moment_s - t_s <= 4.0 + 1e-9
        gone += math.dist(at, (pose.north_m, pose.east_m))
        at, t_s = np.array([pose.north_m, pose.east_m]), moment_s
    assert gone == pytest.approx(22.0 * 0.8), "straight on"

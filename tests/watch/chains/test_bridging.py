"""A hole in the feed: the lines go on through it, so they are where they would be had nothing been lost."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import SimpleNamespace
from typing import Any

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


@dataclass(frozen=True)
class Members:
    """Where members' boats are, and how they go."""

    place_m: Any
    velocity_m_s: Any


@pytest.mark.parametrize(("seconds", "steps"), [(3.9, 1), (4.0, 1), (4.1, 2), (20.0, 5), (0.5, 1)])
def test_a_hole_is_crossed_in_steps_of_four_seconds_at_most(seconds: float, steps: int) -> None:
    """North at 1 m/s before, east at 2 m/s after: by hand, with complex numbers (north real, east imaginary)."""
    before, after = Pose(5.0, 6.0, 0.0, (1.0, 0.0)), Pose(100.0, 50.0, 90.0, (0.0, 2.0))
    made = Bridge(1000.0, 1000.0 + seconds, before, after, np.array([[0.8, 0.1], [1.2, -0.3]]))
    own: Any = Members(np.array([[100.5, 49.0], [99.0, 51.0]]), np.array([[0.2, 1.9], [-0.1, 2.2]]))
    moments = list(made.moments(own))
    assert len(moments) == steps
    turn = np.exp(1j * math.pi / 2.0)
    for k, (t_s, pose, member) in enumerate(moments, 1):
        share = k / steps
        assert t_s == pytest.approx(1000.0 + share * seconds)
        first, last = 1.0 * turn, 2.0j
        velocity = first + share * (last - first)
        place = 100.0 + 50.0j - 0.5 * (1.0 - share) * seconds * (velocity + last)
        assert complex(pose.north_m, pose.east_m) == pytest.approx(place)
        assert complex(*pose.velocity_m_s) == pytest.approx(velocity)
        assert (pose.heading_deg, pose.speed_m_s) == (90.0, pytest.approx(abs(velocity)))
        assert member is not None
        for row, (began, ends, there) in enumerate(
            ((0.8 + 0.1j, 0.2 + 1.9j, 100.5 + 49.0j), (1.2 - 0.3j, -0.1 + 2.2j, 99.0 + 51.0j))
        ):
            velocity = began * turn + share * (ends - began * turn)
            place = there - 0.5 * (1.0 - share) * seconds * (velocity + ends)
            assert complex(*member.place_m[row]) == pytest.approx(place)
            assert complex(*member.velocity_m_s[row]) == pytest.approx(velocity)
    assert moments[-1][0] == made.ends_s
    assert all(member is None for _, _, member in made.moments(None))
    alone = Bridge(1000.0, 1000.0 + seconds, before, after)
    assert all(member is own for _, _, member in alone.moments(own))


def test_lines_turn_with_her_about_her_last_place() -> None:
    """A quarter of a circle to starboard: what lay 30 m south of her lies 30 m west of where the hole began."""
    before, after = Pose(5.0, 6.0, 0.0, (1.0, 0.0)), Pose(100.0, 50.0, 90.0, (0.0, 1.0))
    moved = Bridge(0.0, 20.0, before, after).nominal()
    assert moved.about_m == pytest.approx(np.array([[5.0, 6.0]]))
    assert moved.to_m == pytest.approx(np.array([[100.0, 30.0]])), "twenty seconds at one metre a second before"
    made: Any = SimpleNamespace(
        position_m=np.array([[[-25.0, 6.0, 9.0]]]), before_m=np.array([[[-26.0, 6.0, 9.0]]]),
        velocity_m_s=np.array([[[1.0, 0.25, 0.5]]]), velocity_before_m_s=np.array([[[2.0, 0.0, 0.5]]]),
    )  # fmt: skip
    made.copy = lambda: made
    moved.state(made)
    assert made.position_m[0, 0] == pytest.approx([100.0, 0.0, 9.0])
    assert made.before_m[0, 0] == pytest.approx([100.0, -1.0, 9.0])
    assert made.velocity_m_s[0, 0] == pytest.approx([-0.25, 1.0, 0.5])
    assert made.velocity_before_m_s[0, 0] == pytest.approx([0.0, 2.0, 0.5])
    members = Bridge(0.0, 20.0, before, after, np.array([[1.0, 0.0]]))
    own: Any = Members(np.array([[101.0, 48.0]]), np.array([[0.0, 3.0]]))
    theirs = members.members(own)
    assert theirs.about_m == pytest.approx(np.array([[101.0, 48.0]]))
    assert theirs.to_m == pytest.approx(np.array([[101.0, 48.0 - 40.0]]))

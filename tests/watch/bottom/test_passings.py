"""Nets and snags straight on: which rods reach them, when, and how far to go round."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.bottom.marked_places import Spot
from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.passings import MARGIN_M, _course_axes, passings
from sternwatch.watch.bottom.soundings import Sounding, Soundings

# As agreed: a change of one is to be noticed.
WARN_S = 180.0

# She goes north at 2 m/s, the antenna at the transom; two lines straight astern, 5 m to port and 10 m to starboard.
OVER = OverGround((100.0, 50.0), (1.0, 0.0), 0.0)
VELOCITY = (2.0, 0.0)


def chain(abeam_m: float, *, end_m: float = 60.0, depth_m: float = 20.0) -> Any:
    """From the stern to ``end_m`` astern, going down evenly."""
    share = np.linspace(0.0, 1.0, 7)[:, None]
    shape = share * np.array([end_m, 0.0, depth_m]) + np.array([0.0, abeam_m, 0.0])
    return SimpleNamespace(place=SimpleNamespace(shape_m=shape))


CHAINS = {"1": chain(-5.0), "2": chain(10.0)}


def net(ahead_m: float, aside_m: float, what: str = "net", name: str = "n") -> Spot:
    return Spot(name, what, (100.0 + ahead_m, 50.0 + aside_m), 0.0)


def found(*spots: Spot, chains: Any = CHAINS, soundings: Soundings | None = None, **more: Any) -> list[Any]:
    given = {"over": OVER, "velocity": VELOCITY} | more
    return passings(spots, chains, soundings or Soundings(), given["over"], given["velocity"])


def test_a_net_ahead_is_reached_first_by_what_is_nearest_to_it() -> None:
    (one,) = found(net(40.0, 0.0))
    assert one.keys == ("1", "2")
    assert one.time_s == pytest.approx(20.0)
    # Thirty metres clear of every line: to starboard 35 m past the port one, to port 40 m past the other.
    assert one.aside_m == pytest.approx(35.0)
    (other,) = found(net(40.0, 6.0))
    assert other.aside_m == pytest.approx(-34.0)


@pytest.mark.parametrize(
    ("aside_m", "keys"),
    [(-35.1, ()), (-34.9, ("1",)), (-20.1, ("1",)), (-19.9, ("1", "2")), (40.1, ()), (39.9, ("2",))],
)
def test_only_lines_within_thirty_metres_of_it_pass_it(aside_m: float, keys: tuple[str, ...]) -> None:
    made = found(net(40.0, aside_m))
    assert tuple(made[0].keys) == keys if keys else made == []


def test_what_is_among_the_lines_is_passed_now_and_what_all_have_passed_is_over() -> None:
    (one,) = found(net(-30.0, 0.0))
    assert one.time_s == 0.0
    assert found(net(-60.1, 0.0)) == []
    ends_beyond = {"1": chain(-5.0, end_m=60.0), "2": chain(10.0, end_m=20.0)}
    (late,) = found(net(-30.0, 0.0), chains=ends_beyond)
    assert late.keys == ("1",), "the short one is past it"


def test_three_minutes_ahead_at_the_most() -> None:
    assert found(net(WARN_S * 2.0 - 0.1, 0.0))[0].time_s == pytest.approx(WARN_S, abs=0.1)
    assert found(net(WARN_S * 2.0 + 0.1, 0.0)) == []


def test_soonest_first_and_other_marks_are_none() -> None:
    made = found(net(80.0, 0.0, name="b"), net(40.0, 0.0, name="a"), net(40.0, 0.0, what="hump", name="c"))
    assert [one.spot.id for one in made] == ["a", "b"]
    assert found(Spot("n", "net", None, 0.0)) == []
    assert found(net(40.0, 0.0), over=OverGround()) == []
    hidden = {"1": SimpleNamespace(place=None)}
    assert found(net(40.0, 0.0), chains=hidden) == []


def test_a_snag_is_passed_by_what_runs_within_five_metres_of_the_bottom_there() -> None:
    """Lines go down to 20 m; the bottom at the snag is at 24.9 m, or at 25.1."""
    for depth, passes in ((24.9, True), (25.1, False)):
        soundings = Soundings()
        soundings.add(Sounding(0.0, 140.0, 50.0, depth))
        made = found(net(40.0, 0.0, "snag"), soundings=soundings)
        assert bool(made) is passes
        if made:
            # Only the deep end counts, 60 m astern, and a snag has a margin of ten metres.
            assert made[0].time_s == pytest.approx(50.0)
            assert made[0].aside_m == pytest.approx(15.0)
            assert MARGIN_M["snag"] == 10.0
    assert found(net(40.0, 0.0, "snag"))[0].time_s == pytest.approx(20.0), "no bottom known: every line"
    aside = Soundings()
    aside.add(Sounding(0.0, 140.0, 66.0, 24.9))
    assert found(net(40.0, 16.0, "snag"), soundings=aside)[0].keys == ("2",)


def test_between_two_parts_of_one_line_it_is_passed_though_neither_is_near() -> None:
    """A line whose middle hangs 50 m to port of its end: the net lies between, 40 m from either."""
    wide = np.array([(0.0, 0.0, 0.0), (20.0, -100.0, 5.0), (60.0, 0.0, 10.0)])
    bent = {"1": SimpleNamespace(place=SimpleNamespace(shape_m=wide))}
    (one,) = found(net(40.0, -50.0), chains=bent)
    assert one.keys == ("1",)
    assert one.aside_m == pytest.approx(80.0)


def test_her_axes_turn_with_her_and_the_course_may_be_another() -> None:
    """She points east but goes north: lines astern lie to the west; the antenna is 4 m forward of the transom."""
    over = OverGround((100.0, 50.0), (0.0, 1.0), 4.0)
    (one,) = found(net(40.0, -30.0), over=over, chains={"1": chain(0.0)})
    # Parts of it are 0 to 60 m and the antenna's 4 m to the west; it all lies at the boat's own northing.
    assert one.time_s == pytest.approx(20.0)
    assert one.aside_m == pytest.approx(-(-4.0 + 30.0 + 30.0))
    assert math.hypot(*VELOCITY) == 2.0


@pytest.mark.parametrize(("heading_deg", "course_deg"), [(30.0, 100.0), (200.0, 185.0), (0.0, 90.0)])
def test_a_line_in_the_axes_of_her_course(heading_deg: float, course_deg: float) -> None:
    """Ten metres astern of the transom, three to starboard; the antenna is two metres before it."""
    heading, course = math.radians(heading_deg), math.radians(course_deg)
    over = OverGround((100.0, 50.0), (math.cos(heading), math.sin(heading)), 2.0)
    one = (math.cos(course), math.sin(course))
    ((along, across, depth),) = _course_axes(over, np.array([[10.0, 3.0, 17.0]]), one).tolist()
    d = heading - course
    assert along == pytest.approx(-12.0 * math.cos(d) - 3.0 * math.sin(d))
    assert across == pytest.approx(-12.0 * math.sin(d) + 3.0 * math.cos(d))
    assert depth == 17.0

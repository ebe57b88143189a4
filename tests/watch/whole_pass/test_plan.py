"""A pass along a made slope: planned, then steered by a made boat, and counted where her lures went.

What is counted is what the watch says while it is stepped second by second over the bottom's own formula, not what
the plan said. Both come from the watch's chains: planning is looked at here, not the chains.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from sternwatch.feed.readings import Quantity
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.again.legs import Leg
from sternwatch.watch.again.plan import Cannot
from sternwatch.watch.bottom.soundings import local_metres
from sternwatch.watch.chains.ensemble import one_of
from sternwatch.watch.whole_pass.asked import PassAsked, wanted
from sternwatch.watch.whole_pass.asking import asked_of, taken
from sternwatch.watch.whole_pass.beam import grown
from sternwatch.watch.whole_pass.floor import floor_of
from sternwatch.watch.whole_pass.plan import WholePass, propose
from sternwatch.watch.whole_pass.rating import rated, screened
from sternwatch.watch.whole_pass.ways import held_of, legs_of, rest_of, tamed, tracks, turns_for, way_of_legs
from sternwatch.watch.whole_pass.wish import Box, Wish
from sternwatch.watch.whole_pass.words import in_words, row
from sternwatch.watch.whole_pass.worth import Lying, lying_of, trailing
from watch.again.test_plan import ORIGIN, SPEED, Steered

US = SYSTEMS["us"]
OVER = (2.0, 8.0)
WAVE_M, SWING_M = 420.0, 45.0


def slope_m(north, east):
    """A slope along 40 degrees from where she begins: deeper to port, and its edge winds to either side."""
    a = math.radians(40.0)
    along, across = north * math.cos(a) + east * math.sin(a), east * math.cos(a) - north * math.sin(a)
    return 22.0 - 12.0 * np.tanh((across - SWING_M * np.sin(2.0 * np.pi * (along - 150.0) / WAVE_M)) / 45.0)


class Made:
    """The slope as an imported grid would tell it."""

    label = "made"

    def depths_m(self, origin_deg, north_m, east_m):
        north, east = local_metres(ORIGIN, origin_deg)
        return slope_m(north_m[:, None] + north, east_m[None, :] + east)


def begun(spread: Spread) -> Steered:
    boat = Steered(spread)
    boat.bottom_m = lambda north, east: float(slope_m(north, east))
    boat.go(150)
    return boat


def asked(boat: Steered, **fields: object) -> PassAsked:
    wish = Wish(**{"over_bottom_m": OVER, "lasts_s": 900.0} | fields)
    one = taken(wish, boat.watch, None)
    assert not isinstance(one, Cannot)
    return replace(asked_of(one, [Made()]), radius_m={"port": 45.0, "starboard": 45.0})


@pytest.fixture(scope="module")
def question(two_rods: Spread) -> tuple[Steered, PassAsked]:
    boat = begun(two_rods)
    return boat, asked(boat)


@pytest.fixture(scope="module")
def found(question: tuple[Steered, PassAsked]) -> WholePass:
    made = propose(question[1])
    assert isinstance(made, WholePass)
    return made


def test_it_beats_straight_on_and_lasts_as_long_as_asked(found: WholePass) -> None:
    assert found.wanted_s > 1.3 * found.straight_on_s
    assert found.lasts_s == pytest.approx(900.0, abs=15.0)
    assert found.wanted_range_s[0] <= found.wanted_s <= found.wanted_range_s[1]
    assert sum(found.by_rod_s.values()) == pytest.approx(found.wanted_s, rel=0.1)
    assert found.risk <= 0.1
    assert not any(abs(leg.turn_rad) / leg.length_m > 1.0 / 44.9 for leg in found.legs)


def test_steered_so_the_lures_are_there_for_as_long_as_was_said(
    two_rods: Spread, question: tuple[Steered, PassAsked], found: WholePass
) -> None:
    """The boat's own lines are in the middle of what is believed, so what was said of such a member is asked for."""
    one = question[1]
    middle = rated(one, one_of(one.fleet, int(lying_of(one).order[0])), found.legs)
    assert middle is not None
    low, high = found.wanted_range_s
    assert low <= middle.wanted_s[0] <= high
    boat, seconds = begun(two_rods), 0
    for second in range(1, 1 + round(found.lasts_s)):
        boat.step(float(np.interp(second, found.path.time_s, found.path.heading_rad)), SPEED)
        for key in ("1", "2"):
            north, east, depth = boat.lure(key)
            seconds += OVER[0] <= slope_m(north, east) - depth <= OVER[1]
    assert seconds == pytest.approx(middle.wanted_s[0], rel=0.15)


def test_a_way_that_is_kept_stays_unless_another_is_clearly_better(
    question: tuple[Steered, PassAsked], found: WholePass
) -> None:
    stays = propose(question[1], found.legs, seed=7)
    assert isinstance(stays, WholePass)
    assert stays.wanted_s >= 0.99 * found.wanted_s
    poor = (Leg(100.0), Leg(70.0, -1.5), Leg(730.0))
    other = propose(question[1], poor, seed=7)
    assert isinstance(other, WholePass)
    assert other.legs != poor
    assert other.wanted_s > 0.8 * found.wanted_s


def test_a_turn_under_way_is_finished_whatever_comes_after(question: tuple[Steered, PassAsked]) -> None:
    """Also one that comes at once; one that comes later may change."""
    one = question[1]
    for before_m, held in ((0.0, True), (8.0, True), (60.0, False)):
        straight = (Leg(before_m),) if before_m else ()
        kept = (*straight, Leg(45.0 * 0.9, -0.9), Leg(860.0 - before_m))
        assert (held_of(kept, SPEED) is not None) is held
        if before_m > 10.0:
            continue
        made = propose(one, kept, seed=7)
        assert isinstance(made, WholePass)
        assert made.legs != kept
        turn = made.legs[len(straight)]
        assert turn.turn_rad == pytest.approx(-0.9)
        assert made.legs[0].length_m == pytest.approx(before_m or turn.length_m)
        assert made.straight_on_s > 0.0


def test_a_first_look_is_confirmed_by_some_members_and_says_so(question: tuple[Steered, PassAsked]) -> None:
    one = question[1]
    made = propose(one, soon=True)
    assert isinstance(made, WholePass)
    assert (made.members, made.of_members, made.provisional) == (4, 6, True)
    assert made.wanted_s > 1.2 * made.straight_on_s
    assert in_words(made, one.wish, US, {}).endswith("; a first look, by 4 of 6 versions")
    assert row(made)["pass"]["members"] == 4


def test_the_member_that_stands_for_all_is_the_one_nearest_to_the_medians() -> None:
    """The first of three runs deep on one rod, the last far to the side on the other."""
    behind = np.array([
        [[50.0, -9.0, 14.0], [51.0, -9.0, 10.0], [50.0, -8.0, 10.2]],
        [[70.0, 5.0, 6.0], [70.0, 5.2, 6.1], [69.0, 25.0, 6.2]],
    ])  # fmt: skip
    lying = Lying(behind, np.median(behind, axis=1), np.quantile(behind[..., 2], [0.1, 0.9], axis=1).T)
    assert lying.order[0] == 1
    assert lying.apart_m(0)[0, 1] < 0.0 < lying.apart_m(1)[0, 1]


def test_in_a_box_it_stays_there(question: tuple[Steered, PassAsked]) -> None:
    """Depth alone is wanted: straight on is as good as anything, but for the box, which she would leave."""
    boat, _ = question
    north, east = boat.watch.bottom.over.place_m
    box = Box(north - 150.0, east - 150.0, north + 150.0, east + 150.0)
    made = propose(asked(boat, over_bottom_m=None, depth_m=(5.0, 25.0), box=box))
    assert isinstance(made, WholePass)
    inside = box.holds(*made.over_ground_m.T)
    assert inside[made.path.time_s > 120.0].mean() > 0.6
    assert made.wanted_s > 2.0 * made.straight_on_s


def test_where_nothing_is_to_be_gained_she_goes_straight_on(question: tuple[Steered, PassAsked]) -> None:
    made = propose(asked(question[0], over_bottom_m=None, depth_m=(0.0, 40.0)))
    assert isinstance(made, WholePass)
    assert len(made.legs) == 1
    assert made.wanted_s == pytest.approx(2.0 * made.lasts_s, rel=0.01)


def test_what_cannot_be_is_said(question: tuple[Steered, PassAsked]) -> None:
    boat, one = question
    place = one.ground.place_m
    for other, why in (
        (replace(one, dangers_m=((place, 500.0),)), "net or snag"),
        (replace(one, floor=replace(one.floor, depths_m=np.full_like(one.floor.depths_m, np.nan))), "No bottom"),
        (replace(one, wish=Wish(zone=True)), "No zone"),
    ):
        made = propose(other)
        assert isinstance(made, Cannot)
        assert why in made.why
    with pytest.raises(ValueError, match="a pass needs"):
        Wish()
    dumb = Steered(boat.watch.spread)
    assert isinstance(taken(one.wish, dumb.watch, None), Cannot)


def test_a_net_is_kept_clear_of(question: tuple[Steered, PassAsked], found: WholePass) -> None:
    net = tuple(found.over_ground_m[len(found.over_ground_m) // 2].tolist())
    made = propose(replace(question[1], dangers_m=((net, 40.0),)))
    assert isinstance(made, WholePass)
    assert np.hypot(*(made.over_ground_m - np.array(net)).T).min() >= 40.0


def test_in_words_and_for_programs(question: tuple[Steered, PassAsked], found: WholePass) -> None:
    text = in_words(found, question[1].wish, US, {"1": "P DIVER"}, legs=2)
    assert "legs more" in text
    assert "7 to 26 ft over the bottom" in text
    assert f"{found.wanted_s / 60:.0f} lure-minutes" in text
    assert "straight on" in text
    assert "safe" not in text
    told = row(found)["pass"]
    assert sum(leg["length_m"] for leg in told["legs"]) == pytest.approx(900.0 * SPEED, rel=0.05)
    assert set(told["by_rod_s"]) == {"1", "2"}
    assert row(Cannot("no"))["why"] == "no"


def test_legs_and_numbers_are_the_same_way(question: tuple[Steered, PassAsked]) -> None:
    one = question[1]
    way = tamed(np.array([[100.0, 1.0, 50.0, -0.5, 30.0, 0.01]]))
    legs = legs_of(way[0], one)
    assert sum(leg.length_m for leg in legs) == pytest.approx(900.0 * one.speed_m_s)
    assert way_of_legs(legs, 3, one.speed_m_s)[:4] == pytest.approx(way[0, :4])
    assert sum(leg.length_m for leg in rest_of(legs, 130.0)) == pytest.approx(900.0 * one.speed_m_s - 130.0)
    north, east, heading = tracks(way, one)
    assert heading[0, -1] - one.fleet.heading_rad == pytest.approx(0.5)
    # The screened track ends where the legs lead, but for the corners of its steps.
    from sternwatch.watch.again.legs import end_of

    end = end_of((0.0, 0.0, one.fleet.heading_rad), legs)
    assert (north[0, -1], east[0, -1]) == pytest.approx(end[:2], abs=6.0)


def test_a_height_is_wanted_between_its_ends_alone(question: tuple[Steered, PassAsked]) -> None:
    one = question[1]
    depth, bottom = np.array([10.0, 10.0, 10.0, 10.0]), np.array([11.0, 12.5, 19.0, np.nan])
    nowhere = np.zeros(4)
    assert wanted(one, nowhere, nowhere, depth, bottom).tolist() == [0.0, 1.0, 0.0, 0.0]
    soft = wanted(one, nowhere, nowhere, depth, bottom, 2.0)
    assert soft[1] == 1.0
    assert 0.0 < soft[0] < 1.0
    assert soft[3] == 0.0


def test_the_floor_is_sounded_before_it_is_imported(question: tuple[Steered, PassAsked]) -> None:
    """Between nodes as the formula has it, and along her own track as she sounded it."""
    boat, one = question
    origin = boat.watch.bottom.origin_deg
    off = local_metres(ORIGIN, origin)
    north, east = one.ground.place_m[0] + np.linspace(200.0, 400.0, 20), one.ground.place_m[1] + np.zeros(20)
    assert one.floor.depth_m(north, east) == pytest.approx(slope_m(north + off[0], east + off[1]), abs=0.5)
    assert boat.watch.board.table(boat.t_s).get(Quantity.BOTTOM).value == pytest.approx(
        slope_m(boat.north_m, boat.east_m)
    )


def test_soundings_correct_a_grid_within_their_reach_and_keep_its_shape() -> None:
    """The lake stands 1.5 m higher than the grid says; one line tells it, and the slope beside the line stays."""
    north = np.arange(-200.0, 201.0, 5.0)
    rows = np.column_stack([north, 0.0 * north, slope_m(north, 0.0) + 1.5, 0.0 * north])
    floor = floor_of(rows, 0.0, (0.0, 0.0), 150.0, [Made()], ORIGIN)
    at_n, at_e = np.linspace(-80.0, 80.0, 9), np.full(9, 32.0)
    assert floor.depth_m(at_n, at_e) == pytest.approx(slope_m(at_n, at_e) + 1.5, abs=0.4)
    far = np.full(9, 120.0)
    assert floor.depth_m(at_n, far) == pytest.approx(slope_m(at_n, far), abs=0.4)


def test_ways_grown_follow_an_edge_that_winds(question: tuple[Steered, PassAsked]) -> None:
    """Where a way straight on leaves the band, those grown stay in it for most of the time after they reach it."""
    one = question[1]
    trails, turns = trailing(one, lying_of(one)), turns_for(900.0)
    ways = grown(one, trails, turns, 10.0, 4)
    best = screened(ways, one, trails)
    assert best[0] > 3.0 * max(float(screened(np.zeros((1, 2 * turns)), one, trails)[0]), 100.0)
    assert (np.count_nonzero(ways[:, 1::2], axis=1) <= turns).all()

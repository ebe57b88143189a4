"""What the chart is given of a session: places in metres from its first fix, and only what stands."""

from __future__ import annotations

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from sternwatch.watch.bottom.bottom import Bottom
from sternwatch.watch.bottom.charted_ground import ground_picture
from sternwatch.watch.bottom.marked_places import Spot
from sternwatch.watch.bottom.over_ground import OverGround
from sternwatch.watch.bottom.soundings import Sounding, local_degrees

ORIGIN = (47.2, -90.4)


def bottom(**fields):
    made = Bottom(boat=None, origin_deg=ORIGIN)
    for name, value in fields.items():
        setattr(made, name, value)
    return made


def test_before_the_first_fix_there_is_no_ground():
    assert ground_picture(bottom(origin_deg=None), 0.0, (), 0.0) is None


def test_a_lure_astern_to_starboard_lies_where_her_heading_puts_it():
    """Heading east, 10 m of antenna apart: astern is west, starboard is south."""
    over = OverGround((100.0, 50.0), (math.cos(math.pi / 2), math.sin(math.pi / 2)), 2.0)
    found = ground_picture(bottom(over=over), 90.0, (), 0.0)
    assert found.boat_m == pytest.approx((100.0, 48.0))
    lure = found.to_ground(np.array([[40.0, 6.0, 15.0]]))[0]
    assert lure == pytest.approx([94.0, 8.0])
    assert lure == pytest.approx(over.at(40.0, 6.0))


def test_lures_on_both_sides_of_any_heading_lie_where_the_bottom_is_asked_for():
    turn = math.radians(30.0)
    over = OverGround((100.0, 50.0), (math.cos(turn), math.sin(turn)), 2.0)
    found = ground_picture(bottom(over=over), 30.0, (), 0.0)
    lures = np.array([[40.0, 6.0], [25.0, -9.0], [0.0, 3.0]])
    assert found.to_ground(lures) == pytest.approx(np.array([over.at(*one) for one in lures]))
    assert found.to_ground(lures)[0] == pytest.approx(
        [found.boat_m[0] - 40.0 * math.sqrt(0.75) - 3.0, found.boat_m[1] - 20.0 + 6.0 * math.sqrt(0.75)]
    )


def test_a_boat_whose_place_is_not_known_has_no_lures_on_the_chart():
    found = ground_picture(bottom(), 0.0, (), 0.0)
    assert found.boat_m is None
    assert found.to_ground(np.zeros((3, 3))).shape == (3, 2)
    assert np.isnan(found.to_ground(np.zeros((3, 3)))).all()


def test_marks_fish_wake_and_soundings_are_told_and_later_ones_do_not_creep_in():
    made = bottom()
    made.marked.spots = {
        "a": Spot("a", "net", (10.0, 20.0), 5.0),
        "b": Spot("b", "fish", (30.0, 40.0), 6.0, depth_m=18.0),
        "c": Spot("c", "snag", None, 7.0),
    }
    made.soundings.add(Sounding(1.0, 0.0, 0.0, 25.0))
    found = ground_picture(made, 0.0, [local_degrees(ORIGIN, (3.0, 4.0))], 10.0)
    made.soundings.add(Sounding(2.0, 5.0, 0.0, 26.0))
    assert [(p.what, p.north_m, p.east_m, p.depth_m, p.age_s) for p in found.places] == [
        ("net", 10.0, 20.0, None, 5.0), ("fish", 30.0, 40.0, 18.0, 4.0),
    ]  # fmt: skip
    assert found.wake_m[0] == pytest.approx((3.0, 4.0), abs=0.01)
    assert found.sounded.rows().tolist() == [[0.0, 0.0, 25.0, 1.0]]
    assert found.sounded.earlier_rows().shape == (0, 4)


def test_a_place_in_her_axes_has_degrees_where_both_she_and_the_origin_are_known() -> None:
    """She heads north, 1000 m north of the origin; a degree of latitude is 111,195 m of a sphere of 6,371 km."""
    over = OverGround((1000.0, 0.0), (1.0, 0.0), 0.0)

    def found(**changed: Any) -> Any:
        here: Any = SimpleNamespace(**{"over": over, "origin_deg": (47.0, -90.0), **changed})
        return Bottom.degrees_at(here, 200.0, 0.0)

    assert found() == pytest.approx((47.0 + 800.0 / 111_195.0, -90.0), abs=1e-6)
    assert found(over=OverGround()) is None
    assert found(origin_deg=None) is None

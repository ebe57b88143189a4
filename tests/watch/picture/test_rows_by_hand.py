"""A rod, fish and an alert as a row of JSON; places over ground; what rods touch in a forecast: by hand."""

from __future__ import annotations

import math
import sys
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1]))

import made_outlooks

from sternwatch.local_time import BoatTime
from sternwatch.watch.picture import rows
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.ground import GroundPicture
from sternwatch.watch.picture.manoeuvre import PLAN
from sternwatch.watch.picture.model import (
    BottomPicture,
    FishPicture,
    LineForFish,
    Picture,
    Point,
    RodPicture,
    RodState,
    SolverState,
)
from sternwatch.watch.picture.outlook import Outlook, Touch
from sternwatch.watch.picture.stern import across_stern, drawn_as

BARE = RodPicture(
    "4", "S DOWN", "starboard", 1.2, RodState.FISHING, SolverState.SETTLED, 30.0, "2", None, None
)  # fmt: skip
NUMBERS = {
    "depth_m": 21.1234567, "astern_m": 33.0, "abeam_m": -2.0, "lure_speed_m_s": 1.05, "vertical_speed_m_s": -0.02,
    "temperature_c": 11.5, "clearance_m": 4.5, "nearest_m": 3.25, "tension_N": 45.5, "entry_angle_deg": 61.0,
}  # fmt: skip


def test_a_rod_of_which_nothing_is_known_has_nulls_and_no_zeros() -> None:
    row = rows.rod_row(BARE)
    assert (row["key"], row["name"], row["state"], row["solver"], row["setting"]) == (
        "4", "S DOWN", "fishing", "settled", "2",
    )  # fmt: skip
    assert row["line_out_m"] == 30.0
    unknown = {name for name, value in row.items() if value is None}
    assert unknown == {
        *NUMBERS, "past_tip_m", "lead_m", "depth_interval_m", "depth_quantiles_m", "least_clearance_m",
        "least_clearance_what", "touches_bottom_s", "nearest_key",
    }  # fmt: skip
    assert row["points"] == []


def test_a_rods_row_has_what_its_picture_has() -> None:
    bottom = BottomPicture("ball", 2.5, 10.0, None, False, "ball", 12.34)
    points = (Point("ball", 20.0, 30.0, -1.0, 5.5), Point("spoon", 21.0, 33.0, -2.0))
    rod = replace(
        BARE, **NUMBERS, lead_m=3.0, past_tip_m=36.0, depth_interval_m=(19.0, 23.0), bottom=bottom, nearest_key="5",
        depth_quantiles_m=(19.0, 20.0, 21.0, 22.0, 23.0), points=points,
    )  # fmt: skip
    row = rows.rod_row(rod)
    assert {name: row[name] for name in NUMBERS} == {**NUMBERS, "depth_m": 21.123457}
    assert row["depth_interval_m"] == [19.0, 23.0]
    assert row["depth_quantiles_m"] == [19.0, 20.0, 21.0, 22.0, 23.0]
    assert (row["lead_m"], row["past_tip_m"], row["nearest_key"]) == (3.0, 36.0, "5")
    assert (row["least_clearance_m"], row["least_clearance_what"], row["touches_bottom_s"]) == (2.5, "ball", 12.3)
    assert row["points"] == [
        {"what": "ball", "depth_m": 20.0, "astern_m": 30.0, "abeam_m": -1.0, "clearance_m": 5.5},
        {"what": "spoon", "depth_m": 21.0, "astern_m": 33.0, "abeam_m": -2.0, "clearance_m": None},
    ]
    assert rows.rod_row(replace(rod, depth_m=math.nan))["depth_m"] is None
    assert rows.rod_row(replace(rod, depth_m=math.inf))["depth_m"] is None


def test_fish_and_alerts_as_rows() -> None:
    lines = (LineForFish("1", 25.0), LineForFish("2", None, "it cannot go so deep"))
    fish = FishPicture("a", 15.0, None, None, 61.26, ("4",), lines, 1.1)
    assert rows.fish_row(fish) == {
        "depth_m": 15.0, "age_s": 61.3, "passing": ["4"], "speed_m_s": 1.1,
        "others": [{"key": "1", "line_out_m": 25.0, "why": ""},
                   {"key": "2", "line_out_m": None, "why": "it cannot go so deep"}],
    }  # fmt: skip
    alert = Alert("9.1", "slack", Priority.CAUTION, AlertState.ACKNOWLEDGED, ("2",), "2 sinks", "Speed up")
    assert rows.alert_row(alert) == {
        "id": "9.1", "kind": "slack", "priority": "caution", "state": "acknowledged", "keys": ["2"],
        "text": "2 sinks", "advice": "Speed up",
    }  # fmt: skip
    assert (alert.since_t_s, alert.over) == (0.0, False)


def test_a_picture_made_without_more_knows_no_more() -> None:
    """What nobody has put in is unknown, none or not so, whatever the field."""
    assert (BARE.rough, BARE.unchecked, BARE.on_bottom, BARE.chosen) == (False, False, False, False)
    assert (BARE.hits, BARE.uncounted_m, BARE.points, BARE.settings) == (0, 0.0, (), ())
    assert BottomPicture("ball", 2.5, 10.0, None, False).raise_m == 0.0
    none: Any = None
    picture = Picture(0.0, None, none, "", none, none, (), (), ())
    assert (picture.zone_c, picture.bottom_m, picture.depth_speed, picture.pulling, picture.people) == (None,) * 5
    units: Any = SimpleNamespace(utc=True)
    assert picture.clock(units) == BoatTime(None, True)
    crew: Any = SimpleNamespace(facts=SimpleNamespace(utc_offset_min=-240))
    assert replace(picture, crew=crew).clock(units) == BoatTime(-240, True)


@pytest.mark.parametrize(
    ("points_deg", "astern"), [(0.0, (-10.0, 3.0)), (90.0, (-3.0, -10.0)), (180.0, (10.0, -3.0))]
)
def test_what_is_astern_lies_behind_where_she_points(points_deg: float, astern: tuple[float, float]) -> None:
    """Ten metres astern and three to starboard of a boat at 100 north, 200 east."""
    ground = GroundPicture((47.0, -89.0), (100.0, 200.0), points_deg, (), (), None)  # type: ignore[arg-type]
    found = ground.to_ground(np.array([[0.0, 0.0, 5.0], [10.0, 3.0, 5.0]]))
    assert found == pytest.approx(np.array([[100.0, 200.0], [100.0 + astern[0], 200.0 + astern[1]]]))
    lost = replace(ground, boat_m=None).to_ground(np.zeros((3, 3)))
    assert lost.shape == (3, 2)
    assert np.isnan(lost).all()


def rod(key: str, side: str) -> RodPicture:
    return replace(BARE, key=key, side=side)


def test_rods_stand_across_the_stern_by_side_and_then_by_key() -> None:
    given = (rod("9", "starboard"), rod("5", "centre"), rod("2", "port"), rod("1", "port"), rod("0", "starboard"))
    assert "".join(one.key for one in across_stern(given)) == "12590"
    assert "".join(one.key for one in across_stern(given, mirrored=True)) == "09521"


def test_lines_are_drawn_by_their_key_from_the_first_station_on() -> None:
    """Four hues in turn; the dash steps on with every four, so that a hue comes back with another one."""
    assert [drawn_as(key) for key in "12345678"] == [
        (0, 0), (1, 1), (2, 2), (3, 3), (0, 1), (1, 2), (2, 3), (3, 0),
    ]  # fmt: skip
    assert drawn_as("no such key") == (0, 0)


def touch(key: str, time_s: float) -> Touch:
    return Touch(key, time_s, 1.0)


def test_of_each_rod_the_soonest_touch_counts_and_none_of_a_plan() -> None:
    hold = replace(made_outlooks.forecast("hold"), touches=(touch("1", 30.0), touch("2", 20.0)))
    going = replace(
        made_outlooks.forecast("as it goes"), touches=(touch("1", 25.0), touch("2", 20.0), touch("3", 9.0))
    )
    plan = replace(made_outlooks.forecast(PLAN), touches=(touch("1", 1.0), touch("5", 1.0)))
    made = Outlook(100.0, 0.1, (hold, going, plan))
    assert [(one.key, one.time_s) for one in made.touches] == [("1", 25.0), ("2", 20.0), ("3", 9.0)]
    assert made.touches[1] is hold.touches[1], "of equals the first"
    assert Outlook(100.0, 0.1, (going, hold)).touches[0] is going.touches[0]
    assert made.age_s(104.5) == 4.5


def test_a_pair_of_which_nobody_knows_anything_has_no_verdict() -> None:
    assert made_outlooks.pair(("1", "2"), None).verdict is None
    assert made_outlooks.pair(("1", "2"), 0.0).verdict is not None


def test_a_pair_that_needs_no_distance_is_the_last_of_equals() -> None:
    """Where nothing is required nothing is too close."""
    free = replace(made_outlooks.pair(("1", "2"), 0.5), required_m=0.0, separation_m=0.1)
    far = replace(made_outlooks.pair(("1", "3"), 0.5), required_m=1.0, separation_m=9.0)
    assert made_outlooks.forecast("hold", free, far).worst is far


def test_pictures_of_one_instant_are_equal_whatever_hangs_on_them() -> None:
    """Shapes, the trip's samples, the crew's entries and what is forecast: they are not compared."""
    none: Any = None
    picture = Picture(0.0, None, none, "", none, none, (), (), ())
    other: Any = SimpleNamespace()
    for name in ("crew", "fishing", "ahead", "planned"):
        assert replace(picture, **{name: other}) == picture, name
    assert replace(picture, hit_rows=(other,)) == picture
    assert replace(BARE, shape_m=np.zeros((2, 3))) == BARE
    assert replace(picture, bottom_m=1.0) != picture
    ground = GroundPicture((47.0, -89.0), (1.0, 2.0), 30.0, (), (), other)
    assert replace(ground, sounded=SimpleNamespace(of="another trip")) == ground  # type: ignore[arg-type]

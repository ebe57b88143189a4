"""Marks, fish seen and pulling all lines at the controls, and what is said of them beside the helm."""

from __future__ import annotations

from dataclasses import replace

import fake_outlook
import pytest
from fake_picture import straight
from painted import paint

from console.controls.test_hits import Table
from sternwatch.console.acts import marking
from sternwatch.console.helm.rods import RodBoard
from sternwatch.console.helm.views import PlanView, SideView
from sternwatch.console.words import fish
from sternwatch.console.words.rods import SIGNS, alert_words, room_below, wants_looking_at
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.forecast.slowed import slowing
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import (
    BottomPicture,
    FightPicture,
    FishPicture,
    LineForFish,
    MarkPicture,
    Pulling,
    RodPicture,
)

FOOT = 0.3048
US = SYSTEMS["us"]


@pytest.fixture
def table():
    return Table()


def test_a_mark_is_two_keys_and_has_the_place_of_the_first(table):
    place = table.controls.picture.own.position_deg
    assert place is not None
    table.press("mark")
    assert table.controls.listing.options == ("net", "snag", "bait", "break")
    table.controls.picture = replace(
        table.controls.picture, own=replace(table.controls.picture.own, position_deg=(0.0, 0.0))
    )
    table.key("down", "enter")
    assert table.controls.listing is None
    assert table.runner.did() == [("mark", None)]
    assert (table.last.what, table.last.place_deg) == ("snag", place)
    assert table.controls.said.text == "MARK  snag"
    assert table.controls.ledger.newest().words == "snag marked"


def test_without_a_fix_a_mark_is_kept_and_says_so(table):
    table.controls.picture = replace(
        table.controls.picture, own=replace(table.controls.picture.own, position_deg=None)
    )
    table.press("mark")
    table.key("enter")
    assert table.last.place_deg is None
    assert table.controls.said.text == "MARK  net; the boat's place is not known now"


def test_esc_marks_nothing_and_rod_keys_still_hit(table):
    table.press("mark")
    table.key("escape")
    assert table.runner.did() == []
    assert table.controls.listing is None


def test_fish_seen_at_a_depth(table):
    table.press("fish seen")
    table.key("6", "2", "enter")
    assert table.last.kind == "fish seen"
    assert table.last.depth_m == pytest.approx(62 * FOOT)
    assert table.controls.said.text == "FISH SEEN  at 62 ft"
    table.press("fish seen")
    table.key("9", "9", "9", "9", "enter")
    assert "too deep" in table.controls.said.text
    assert table.controls.said.text.startswith("9999 ft")
    assert table.controls.typing is not None


def _fish(**changed) -> FishPicture:
    made = FishPicture(
        "f", 62 * FOOT, 20.0, 0.0, 5.0, ("3", "5"),
        (LineForFish("1", 205 * FOOT), LineForFish("7", None, "no length of line reaches it")), 2.3 * 0.44704,
    )  # fmt: skip
    return replace(made, **changed)


def test_fish_words_name_who_passes_and_what_brings_the_others():
    assert fish.fish_words(_fish(), US) == (
        "Fish at 62 ft: 3 5 within 5 ft. Line out for it at 2.3 mph: 1 205 ft. Out of reach by line alone: 7."
    )
    assert fish.fish_words(_fish(passing=(), others=(), speed_m_s=None), US) == "Fish at 62 ft: no rod within 5 ft."
    assert fish.fish_words(_fish(), SYSTEMS["metric"]).startswith("Fish at 18.9 m: 3 5 within 1.5 m.")


def test_pulling_names_the_next_rods_until_all_are_in(table):
    order = ("1", "8", "7", "2", "6")
    table.controls.picture = replace(table.controls.picture, pulling=Pulling(order, 530.0, 2))
    table.press("pull")
    assert marking.pulling_words(table.controls) == (
        "PULL 1 P BOARD, 8 S BOARD, 7 S HIGH, then 2 6 · about 9 min, 2 pull"
    )
    table.controls.take(replace(table.controls.picture, pulling=Pulling(("2",), None, 1)), 5.0)
    assert marking.pulling_words(table.controls) == "PULL 2 P HIGH"
    table.controls.take(replace(table.controls.picture, pulling=None), 6.0)
    assert not table.controls.pulling
    table.press("pull")
    assert table.controls.said.text == "No lines to pull"


def test_a_fish_on_says_what_lies_between_and_what_is_still_down(table):
    fights = (
        FightPicture("2", 45.0, -20.0, ("3", "4")),
        FightPicture("4", 13.0, -1.0, (), ball_down=True),
        FightPicture("6", None, None, None),
    )
    table.controls.picture = replace(table.controls.picture, fights=fights)
    assert marking.fight_words(table.controls) == [
        "FISH ON 2 P HIGH: clear 3 P LOW, 4 P RIG, in this order",
        "FISH ON 4 P RIG: no line is in its way, as computed; its ball is still down",
        "FISH ON 6 S LOW: no way to tell which lines are in its way: where it struck is not known",
    ]


def test_with_a_fish_on_what_slowing_would_do_is_said_too(table):
    made = replace(fake_outlook.quiet(), if_slowed=fake_outlook.forecast(slowing(1.0), 0.75))
    picture = replace(table.controls.picture, fights=(FightPicture("2", 45.0, -20.0, ("3",)),))
    table.controls.picture, table.controls.outlook = picture, made
    assert marking.fight_words(table.controls)[1:] == [
        "IF SHE SLOWS to 1.1 mph now: 6 S LOW and 7 S HIGH touch (75 %) in 0:36; "
        "7 S HIGH and 8 S BOARD touch (22 %) in 0:36"
    ]
    table.controls.picture = replace(picture, fights=())
    assert marking.fight_words(table.controls) == []


# -- on the rods and in the views -----------------------------------------------------------------------------------


def _rod(**changed) -> RodPicture:
    return replace(straight().rods[3], **changed)


def test_the_row_to_the_bottom_tells_the_worst_body_the_touch_and_what_is_wanted():
    lure = _rod().points[-1].what
    assert room_below(_rod(bottom=BottomPicture(lure, 12 * FOOT, 2.0, 10.0, False)), US) == ("12",)
    assert room_below(_rod(bottom=BottomPicture("ball", 12 * FOOT, 2.0, 10.0, False)), US)[0] == "12 ball"
    grid = BottomPicture(lure, 12 * FOOT, 0.0, None, False, error_m=4 * FOOT)
    assert room_below(_rod(bottom=grid), US)[0] == "~12 ±4 by the grid"
    abreast = BottomPicture(lure, 12 * FOOT, 25.0, 10.0, False)
    assert room_below(_rod(bottom=abreast), US) == ("~12",)
    soon = BottomPicture("ball", 12 * FOOT, 2.0, 10.0, False, "ball", 45.0, 2.0)
    assert room_below(_rod(bottom=soon), US)[0] == "12 touch 45s"
    on_purpose = {"clearance_wanted_m": 5 * FOOT}
    assert room_below(_rod(bottom=abreast, **on_purpose), US)[0] == "~12 want 5"
    assert room_below(_rod(bottom=soon, **on_purpose), US)[0] == "12 touch 45s"  # it counts down on purpose too


def test_what_wants_looking_at_is_a_mark_at_the_columns_foot():
    assert wants_looking_at(_rod()) is None
    assert wants_looking_at(_rod(left_zone_s=180.0)).forms[0] == "LEFT ZONE 3m"
    picture = straight()
    rods = tuple(replace(rod, unchecked=rod.key == "4") for rod in picture.rods)
    grid = paint(RodBoard, replace(picture, rods=rods, alerts=()), (120, 13), units=US)
    assert "CHECK LINE" in grid.text().splitlines()[-1]


def test_marks_and_fish_stand_in_both_views():
    marks = (
        MarkPicture("a", "snag", 30.0, 2.0, 10.0, False),
        MarkPicture("b", "net", -90.0, 12.0, 86400.0 * 9, True),
    )
    picture = replace(straight(), marks=marks, fish_seen=(_fish(),), bottom_age_s=86400.0 * 9)
    above = paint(PlanView, picture, (70, 20), units=US).text()
    assert " snag " in above
    assert "net 295 ft ahead" in above
    beside = paint(SideView, picture, (90, 20), units=US).text()
    assert " snag" in beside
    assert f"{SIGNS['braille'].fish} 62" in beside
    assert "9 d" in beside.splitlines()[0]


def test_fish_passed_long_ago_stand_at_the_edge():
    picture = replace(straight(), fish_seen=(_fish(astern_m=900.0),))
    rows = paint(SideView, picture, (90, 20), units=US).text().splitlines()
    row = next(row for row in rows if f"{SIGNS['braille'].fish} 62" in row)
    assert row.index("62") < 14


def test_a_column_too_narrow_for_an_alerts_kind_has_its_short_word():
    assert alert_words(Alert("a", "bottom touch", Priority.WARNING, AlertState.ACTIVE, ("4",), "")) == (
        "BOTTOM TOUCH", "TOUCH",
    )  # fmt: skip
    assert alert_words(Alert("a", "slack", Priority.CAUTION, AlertState.ACTIVE, ("4",), "")) == ("SLACK",)

"""Choosing rods, their lengths and settings, going out and in, and the keys of a recording. No screen."""

from dataclasses import replace

import fake_picture
import pytest

from console.controls.test_hits import Table
from sternwatch.console.acts.table import EFFECTS
from sternwatch.watch.picture.model import RodState, Session

FOOT = 0.3048


@pytest.fixture
def table():
    picture = fake_picture.changed(fake_picture.straight(Session.LIVE), "2", settings=("straight", "low", "high"))
    return Table(picture)


def test_arrows_choose_as_the_rods_stand_on_the_screen(table):
    keys = [rod.key for rod in table.controls.across()]
    assert table.controls.chosen == keys[0]
    table.press("right")
    assert table.controls.chosen == keys[1]
    table.press("left", "left")
    assert table.controls.chosen == keys[-1]
    assert table.runner.actions == []


def test_mirrored_columns_mirror_the_arrows():
    table, straight = Table(mirror=True), Table()
    assert [rod.key for rod in table.controls.across()] == [rod.key for rod in reversed(straight.controls.across())]
    table.press("right")
    straight.press("left", "left")
    assert table.controls.chosen == straight.controls.chosen


@pytest.mark.parametrize(
    ("act", "feet"), [("deeper", 5.0), ("shallower", -5.0), ("much deeper", 25.0), ("much shallower", -25.0)]
)
def test_line_a_little_and_a_lot(table, act, feet):
    table.controls.chosen = "3"
    table.press(act)
    assert (table.last.kind, table.last.rod) == ("length", "3")
    assert table.last.line_out_m == pytest.approx((120.0 + feet) * FOOT)


def test_two_quick_presses_are_two_steps(table):
    table.controls.chosen = "3"
    table.press("deeper", "deeper", after=0.05)
    assert [a.line_out_m / FOOT for a in table.runner.actions] == [pytest.approx(125.0), pytest.approx(130.0)]


def test_a_step_builds_on_where_the_line_is_going(table):
    table.show(rods=fake_picture.changed(table.controls.picture, "3", moving_to_m=150 * FOOT).rods)
    table.controls.chosen = "3"
    table.press("shallower")
    assert table.last.line_out_m == pytest.approx(145 * FOOT)


def test_no_length_below_nothing(table):
    table.controls.chosen = "3"
    table.press(*["much shallower"] * 6, after=0.05)
    assert table.last.line_out_m == 0.0


def test_a_length_not_known_is_asked_for(table):
    table.show(rods=fake_picture.changed(table.controls.picture, "3", line_out_m=None).rods)
    table.controls.chosen = "3"
    table.press("deeper")
    assert table.runner.actions == []
    assert "not known" in table.controls.said.text


def test_steps_of_the_users_own():
    table = Table(little="1 ft", lot="2 m")
    table.controls.chosen = "3"
    table.press("deeper", after=0.1)
    table.press("much deeper", after=0.1)
    assert [a.line_out_m for a in table.runner.actions] == [
        pytest.approx(121 * FOOT),
        pytest.approx(121 * FOOT + 2.0),
    ]


def test_a_length_is_typed_and_set_with_enter(table):
    table.controls.chosen = "3"
    table.press("length")
    table.key("1", "6", "5", "enter")
    assert (table.last.kind, table.last.rod) == ("length", "3")
    assert table.last.line_out_m == pytest.approx(165 * FOOT)
    assert table.controls.typing is None


def test_a_typed_length_is_dropped_by_escape_and_by_six_seconds(table):
    table.controls.chosen = "3"
    table.press("length")
    table.key("1", "6", "escape")
    table.press("length")
    table.key("1")
    table.controls.tick(table.now + 5.9)
    assert table.controls.typing is not None
    table.controls.tick(table.now + 6.0)
    assert table.controls.typing is None
    assert "dropped" in table.controls.said.text
    assert table.runner.actions == []


def test_a_length_is_for_the_rod_it_was_opened_for(table):
    table.controls.chosen = "3"
    table.press("length")
    table.controls.chosen = "6"
    table.key("9", "9", "enter")
    assert table.last.rod == "3"


def test_too_long_a_length_is_asked_again(table):
    table.press("length")
    table.key("9", "9", "9", "9", "enter")
    assert table.runner.actions == []
    assert table.controls.typing.text == ""
    assert "at most 6500 ft" in table.controls.said.text


def test_settings_step_through_the_users_labels(table):
    table.controls.chosen = "2"
    table.press("less", "less", "less", after=0.05)
    assert [(a.kind, a.setting) for a in table.runner.actions] == [("setting", "low"), ("setting", "straight")]
    assert "lowest" in table.controls.said.text


def test_a_downriggers_lead_is_changed_by_the_same_keys(table):
    table.controls.chosen = "4"
    table.press("more", "more", after=0.05)
    assert [(a.kind, a.lead_m / FOOT) for a in table.runner.actions] == [
        ("lead", pytest.approx(25.0)),
        ("lead", pytest.approx(30.0)),
    ]


def test_a_lead_is_never_nothing(table):
    table.controls.chosen = "4"
    table.press(*["less"] * 6, after=0.05)
    assert table.last.lead_m > 0.0


def test_a_rod_with_neither_says_so(table):
    table.controls.chosen = "1"
    table.press("more")
    assert table.runner.actions == []
    assert "no setting and no lead" in table.controls.said.text


def test_out_then_set_then_in(table):
    table.show(rods=fake_picture.changed(table.controls.picture, "3", state=RodState.IN).rods)
    table.controls.chosen = "3"
    table.press("out", "out", "out", "in", "in", after=0.1)
    assert table.runner.did() == [("going out", "3"), ("set", "3"), ("in", "3")]


def test_a_fighting_rod_may_go_out_again(table):
    table.show(rods=fake_picture.changed(table.controls.picture, "3", state=RodState.FIGHTING).rods)
    table.controls.chosen = "3"
    table.press("out")
    assert table.runner.did() == [("going out", "3")]


def test_without_a_picture_no_key_fails():
    table = Table()
    table.controls.picture = None
    for act in EFFECTS:
        table.press(act)
    kinds = {kind for kind, _ in table.runner.did()}
    assert {"bite", "hit"} <= kinds, "kept before anybody knows the rods"
    assert not kinds & {"length", "lead", "setting", "going out", "set", "in"}


# -- recordings ---------------------------------------------------------------------------------------------


@pytest.fixture
def recording():
    return Table(session=Session.REPLAY)


def test_play_and_pause(recording):
    recording.press("play")
    assert recording.runner.replay.status().playing
    recording.press("play")
    assert not recording.runner.replay.status().playing


def test_ten_seconds_back_and_on(recording):
    recording.press("on", "on", "back")
    assert recording.runner.replay.status().t_s == 610.0


def test_speed_walks_from_a_quarter_to_two_hundred(recording):
    recording.press(*["faster"] * 12)
    assert recording.runner.replay.status().rate == 200.0
    recording.press(*["slower"] * 12)
    assert recording.runner.replay.status().rate == 0.25
    recording.runner.replay.set_rate(3.0)
    recording.press("faster")
    assert recording.runner.replay.status().rate == 5.0


def test_events_before_and_after(recording):
    recording.press("event after")
    assert recording.runner.replay.status().t_s == 900.0
    recording.press("event after", "event after")
    assert recording.runner.replay.status().t_s == 1500.0
    assert (
        recording.controls.said.text == "No event between this moment and 0:30:00, to where it has been read so far"
    )
    recording.press("event before", "event before", "event before")
    assert recording.runner.replay.status().t_s == 300.0
    assert "No event before" in recording.controls.said.text


def test_a_live_session_is_no_recording(table):
    table.press("play", "on", "faster", "event after")
    assert "no recording" in table.controls.said.text
    assert table.runner.actions == []


def test_a_spread_may_change_under_the_chosen_rod(table):
    table.controls.chosen = "8"
    table.controls.take(replace(table.controls.picture, rods=table.controls.picture.rods[:3]), table.now)
    assert table.controls.chosen in {"1", "2", "3"}

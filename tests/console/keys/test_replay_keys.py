"""Keys over a recording: single steps, and a typed jump to a time."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from console.frame.test_app import console, settled, words
from sternwatch.console.acts.moments import moment, told
from sternwatch.console.controls.tour import EVENING, EVENING_FROM_S, Stop, line
from sternwatch.console.controls.typing_line import Typed, TypingLine
from sternwatch.console.frame.bars import KeyFooter
from sternwatch.console.frame.notices import standing
from sternwatch.console.frame.replay_bar import _moment
from sternwatch.console.words.text import wrapped
from sternwatch.watch.picture.model import EntryPicture, Session
from sternwatch.watch.sessions.runner import Mark, ReplayStatus

HOUR_S = 3600.0
NOON = 1_784_376_000.0  # 2026-07-18 12:00:00 UTC


def status(begin_clock_s: float | None = 22.5 * HOUR_S, length_s: float = 3 * HOUR_S, at_s: float = 600.0):
    """A recording that begins at ``begin_clock_s`` seconds of the day."""
    offset = None if begin_clock_s is None else NOON - 12 * HOUR_S + begin_clock_s
    marks = (Mark(300.0, "hit", "3 P LOW"),)
    return ReplayStatus(at_s, (0.0, length_s), True, 1.0, length_s, marks, "tag blocks", offset)


@pytest.mark.parametrize(
    ("text", "want_s"),
    [
        ("22:45", 900.0),
        ("22:45:30", 930.0),
        ("2245", 900.0),
        ("224530", 930.0),
        ("00:10", 6000.0),  # after midnight
        ("0:10:05", 6005.0),
        ("+5", 300.0),
        ("+90", 5400.0),
        ("+1:20", 4800.0),
        ("+1:20:15", 4815.0),
        ("+0:00:07", 7.0),
        ("+0", 0.0),
        ("01:30", 10800.0),  # the very end
    ],
)
def test_a_moment_is_read(text: str, want_s: float) -> None:
    assert moment(text, status()) == pytest.approx(want_s)


def test_the_bar_tells_where_it_is_going() -> None:
    now = status()
    assert _moment(now, wide=True) == "22:40:00 · 0:10:00 of 3:00:00"
    going = replace(now, going_to_s=6000.0)
    assert _moment(going, wide=True) == "going to 00:10:00 · 0:10:00 of 3:00:00"
    assert _moment(replace(going, utc_offset_s=None), wide=False) == "going to 1:40:00 · 0:10:00 of 3:00:00"


def test_the_minute_in_which_the_recording_begins_is_its_beginning() -> None:
    began = status(22.5 * HOUR_S + 40.4)
    assert moment("22:30", began) == 0.0
    assert moment("22:30:40", began) == 0.0
    assert isinstance(moment("22:30:39", began), str)
    assert isinstance(moment("22:29", began), str)


def test_of_two_days_with_that_time_the_nearer_one_is_meant() -> None:
    long = status(22.5 * HOUR_S, 30 * HOUR_S)
    assert moment("23:00", long) == pytest.approx(0.5 * HOUR_S)
    assert moment("23:00", replace(long, t_s=20 * HOUR_S)) == pytest.approx(24.5 * HOUR_S)


@pytest.mark.parametrize("text", ["", "+", ":", "1:2:3:4", "22:75", "25:00", "7", "12345", "+1:99", "22+30", "1:"])
def test_what_is_no_moment_is_answered_by_what_is_accepted(text: str) -> None:
    said = moment(text, status())
    assert isinstance(said, str)
    assert "19:42" in said
    assert "+5" in said


def test_a_time_outside_the_recording_is_answered_by_its_span() -> None:
    assert moment("12:00", status()) == "not in this recording, which goes from 22:30:00 to 01:30:00"
    assert moment("+4:00", status()) == "the recording is 3:00:00 long"


def test_without_a_clock_only_the_start_counts() -> None:
    said = moment("22:45", status(None))
    assert isinstance(said, str)
    assert said.startswith("this recording has no clock")
    assert "19:42" not in said
    assert moment("+10", status(None)) == 600.0
    assert told(600.0, status(None)) == "0:10:00 from the start"


def test_the_typing_line_takes_what_is_easy_to_reach_for_colon_and_plus() -> None:
    line = TypingLine("GO TO", "moment", "", "", 0.0, time=True)
    for token in ("=", "1", ".", "2", "0", ",", "3", "-", "0"):
        assert line.key(token, 1.0) is Typed.KEPT
    assert line.text == "+1:20:30"
    assert line.key("p", 1.0) is Typed.OTHER
    empty = TypingLine("GO TO", "moment", "", "", 0.0, time=True)
    assert empty.key("enter", 1.0) is Typed.KEPT


async def test_single_steps_pause_and_move_by_a_second():
    app = console(session=Session.REPLAY)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("space")
        assert app.runner.replay.status().playing
        await pilot.press(".", ".")
        assert (app.runner.replay.status().playing, app.runner.replay.status().t_s) == (False, 602.0)
        await pilot.press("space", ",")
        await settled(pilot)
        assert (app.runner.replay.status().playing, app.runner.replay.status().t_s) == (False, 601.0)
        assert "Paused; one step back" in words(app)
        assert app.runner.actions == []


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 60)])
async def test_a_time_is_typed_and_gone_to(size):
    app = console(session=Session.REPLAY)
    app.runner.replay.at = status()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        footer = app.screen.query_one(KeyFooter)._grid.text()
        assert "Enter to a time" in footer
        assert ", . step" in footer
        await pilot.press("enter")
        await settled(pilot)
        assert "GO TO WHAT TIME" in words(app)
        assert "19:42 or 19:42:30, or +5 (minutes) or +1:20:00 from the start" in words(app)
        await pilot.press(*"1200", "enter")
        await settled(pilot)
        assert app.runner.replay.status().t_s == 600.0
        assert "1200: not in this recording, which goes from 22:30:00 to 01:30:00" in words(app)
        await pilot.press(*"22.45", "enter")
        await settled(pilot)
        assert app.runner.replay.status().t_s == pytest.approx(900.0)
        assert app.controls.typing is None
        assert "Going to 22:45:00, 0:15:00 from the start" in words(app)
        assert app.runner.actions == []
        assert ("22:45:00 · 0:15:00 of 3:00:00" in words(app)) == (size[0] >= 100)


async def test_escape_drops_the_time():
    app = console(session=Session.REPLAY)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("enter", "=", "5", "escape")
        await settled(pilot)
        assert app.runner.replay.status().t_s == 600.0
        assert "GO TO WHAT TIME: dropped, nothing changed" in words(app)


async def test_the_demo_has_both_in_its_palette():
    app = console(session=Session.DEMO)
    from fake_runner import FakeReplay

    app.runner._replay = FakeReplay(status())
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("ctrl+p", *"to a time")
        await pilot.pause(0.4)
        await pilot.press("enter")
        await settled(pilot)
        await pilot.press("=", "7", "enter")
        await settled(pilot)
        assert app.runner.replay.status().t_s == 420.0
        await pilot.press("ctrl+p", *"step on")
        await pilot.pause(0.4)
        await pilot.press("enter")
        await settled(pilot)
        assert app.runner.replay.status().t_s == 421.0
        assert not app.runner.replay.status().playing
        assert app.runner.actions == []


async def test_how_far_the_recording_is_read_and_where_its_times_come_from_is_told():
    app = console(session=Session.REPLAY)
    app.runner.replay.at = replace(status(), reached_s=1.3 * HOUR_S)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert "read 43 %" in words(app)
        said = [notice.text for notice in standing(app.controls, app.keymap, 1.0, 0.0)]  # they take turns on one row
        assert any(text.startswith("Times come from tag blocks") for text in said)
        app.runner.replay.at = status()
        for _ in range(4):
            await pilot.press("v")
            await settled(pilot)
            if app.view == "sensors":
                assert "Times come from tag blocks." in words(app)
        assert "read 100" not in words(app)


async def test_help_tells_of_both():
    app = console(session=Session.REPLAY)
    async with app.run_test(size=(120, 76)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        await pilot.press("end")
        await settled(pilot)
        assert "go to a time" in words(app)
        assert "step on" in words(app)


def _demo():
    from fake_runner import FakeReplay

    app = console(session=Session.DEMO)
    app.runner._replay = FakeReplay(status())
    return app


async def test_the_demo_is_played_with_the_keys_of_a_replay_and_its_rods_are_hit():
    app = _demo()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("space", "right", "right", "up")
        assert app.runner.replay.status() == replace(status(), playing=False, t_s=620.0, rate=2.0)
        await pilot.press("[")
        assert app.runner.replay.status().t_s == 300.0
        await pilot.press("3")
        assert app.runner.did() == [("hit", "3")]
        await settled(pilot)
        assert "Space play, pause" in app.screen.query_one(KeyFooter)._grid.text()


async def test_in_the_demo_only_ones_own_entries_are_taken_back_and_put_back():
    app = _demo()
    app.runner.first = replace(app.runner.first, entries=(EntryPicture("e1", "hit on 6 by the crew"),))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert app.controls.ledger.newest().id == "e1"
        await pilot.press("u")
        assert app.runner.actions == []
        assert app.controls.said.text == "You have entered nothing yourself; the crew's entries stay"
        await pilot.press("3", "u", "u", "y")
        assert [action.kind for action in app.runner.actions] == ["hit", "undo", "restore"]
        assert {action.of for action in app.runner.actions[1:]} == {app.runner.actions[0].id}


async def test_the_tour_says_what_to_look_at_until_a_key_is_pressed():
    app = _demo()
    app.controls.tour = (Stop(0.0, "before"), Stop(app.runner.first.t_s, "the large numbers"), Stop(1e6, "after"))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "LOOK: the large numbers (Any key ends the tour.)" in words(app)
        await pilot.press("v")
        await settled(pilot)
        assert "LOOK" not in words(app)


def test_each_stop_of_the_evenings_tour_fits_two_rows_and_can_be_read():
    assert all(len(wrapped(f"LOOK: {stop.text} (Any key ends the tour.)", 78, 9)) <= 2 for stop in EVENING)
    lasts = [b.from_s - a.from_s for a, b in pairwise(EVENING)]
    assert min(lasts) >= 10.0
    assert line(EVENING, EVENING_FROM_S - 1.0) == EVENING[0].text
    assert line((), 5.0) == ""


async def test_before_the_first_picture_the_timeline_tells_no_time_of_day():
    """The boat's own clock is not known yet: UTC would be another time than the one that stands there afterwards."""
    app = console(session=Session.REPLAY)
    app.runner._replay.at = replace(app.runner._replay.at, utc_offset_s=NOON)
    first, app.runner.first = app.runner.first, None
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert "12:10:00" not in words(app)
        app.runner.show(first)
        await settled(pilot)
        assert "0:10:00 of 1:00:00" in words(app)
        assert "10:00 ·" in words(app)

"""A plan shaped by keys while the rods stay in view; one key that acknowledges. Driven through the whole console."""

from __future__ import annotations

import math
from dataclasses import replace

import fake_outlook
import fake_picture
import pytest

from console.frame.test_app import SIZES, console, settled, words
from sternwatch.console.controls import planning
from sternwatch.watch.picture.model import Session

NAMES = ("1 P BOARD", "3 P LOW", "6 S LOW", "8 S BOARD")


def told(text):
    """The screen's words with line breaks and borders out of the way."""
    return " ".join(text.split())


async def pressed(pilot, *keys):
    for key in keys:
        await pilot.press(key)
    await settled(pilot)


@pytest.mark.parametrize("size", SIZES)
async def test_a_turn_is_shaped_computed_and_dropped_with_every_rod_in_view(size):
    app = console()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        app.runner.ahead = fake_outlook.quiet()
        await pressed(pilot, "p")
        assert "PLAN: nothing yet" in told(words(app))
        await pressed(pilot, "left", "left")
        plan = app.runner.plans[-1]
        assert plan.turn_rad == pytest.approx(-math.pi)
        # It begins as slow as the limit to port wants: half a circle in 110 s.
        assert abs(plan.turn_rad) / plan.rate_rad_s == pytest.approx(110.0)
        assert "PLAN port 180° in 1:50 (16° per 10 s)" in told(words(app))
        assert "being computed" in told(words(app))
        app.runner.ahead = fake_outlook.planned(plan)
        await settled(pilot)
        screen = told(words(app))
        assert "any crossing 38 %; worst 6 S LOW and 7 S HIGH touch 38 % in 0:36" in screen
        assert all(name in screen for name in NAMES)
        assert app.runner.did() == []
        await pressed(pilot, "escape")
        assert app.runner.plans[-1] is None
        assert "PLAN port" not in told(words(app))
        assert app.controls.plan is None


async def test_with_twelve_rods_on_the_smallest_screen_a_plan_hides_none_of_them():
    app = console(session=Session.PRACTICE)
    straight = fake_picture.straight()
    more = [replace(straight.rods[-1], key=key, name=f"MORE {key}") for key in "90-="]
    app.runner.first = replace(straight, rods=(*straight.rods, *more), alerts=(), session=Session.PRACTICE)
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.started_s -= 1000.0  # the notices of the start are over
        await pressed(pilot, "p", "left", "left")
        app.runner.ahead = fake_outlook.planned(app.runner.plans[-1])
        await settled(pilot)
        shown = words(app).splitlines()
        for rod in app.runner.first.rods:
            assert any(line[1:].startswith(f" {rod.key} {rod.name}") for line in shown), rod.key
        plan = next(line.strip() for line in shown if "PLAN port" in line)
        assert plan == "PLAN port 180° in 2:00 (15° per 10 s): 38 %; 6 and 7 in 0:36"


async def test_quicker_slower_speed_and_stop():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pressed(pilot, "p", "right")
        first = app.runner.plans[-1]
        assert math.degrees(first.turn_rad) == pytest.approx(90.0)
        assert math.pi / first.rate_rad_s == pytest.approx(planning.USUAL_HALF_CIRCLE_S)  # no limit is known
        await pressed(pilot, "up", "up")
        assert math.pi / app.runner.plans[-1].rate_rad_s == pytest.approx(100.0)
        await pressed(pilot, "down", "down", "down")
        assert math.pi / app.runner.plans[-1].rate_rad_s == pytest.approx(140.0)
        await pressed(pilot, "pagedown", "pagedown")
        assert app.runner.plans[-1].to_speed_m_s == pytest.approx(2.1 * 0.44704)
        assert "to 2.1 mph" in told(words(app))
        await pressed(pilot, "pageup", "pageup")
        assert app.runner.plans[-1].to_speed_m_s is None  # back at the speed there is
        await pressed(pilot, "tab")
        assert (app.runner.plans[-1].stop_s, app.runner.plans[-1].turn_rad) == (20.0, 0.0)
        assert "stop 0:20, then on again" in told(words(app))
        await pressed(pilot, "tab", "tab", "tab", "tab")
        assert app.runner.plans[-1] is None
        assert app.runner.did() == []


def test_a_turn_grows_by_ninety_degrees_and_by_fifteen_once_an_arrow_goes_back():
    plan, turns = planning.Plan(), []
    for step in (1, 1, -1, -1, 1, 1, 1, *[-1] * 13, -1, -1, -1, -1, -1, -1):
        turn, fine = planning._turned(plan, step)
        plan = replace(plan, turn_deg=turn, fine=fine)
        turns.append(turn)
    assert turns[:7] == [90, 180, 165, 150, 165, 180, 195]
    assert turns[7:20] == [195 - 15 * k for k in range(1, 14)]  # down to no turn at all
    assert turns[20:] == [-90, -180, -270, -360, -360, -360]


async def test_rod_keys_hit_while_a_plan_is_shaped_and_arrows_come_back_when_it_is_kept():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pressed(pilot, "p", "left", "3")
        assert app.runner.did() == [("hit", "3")]
        assert app.controls.plan.shaping
        await pressed(pilot, "enter", "down")
        assert app.runner.did()[-1] == ("length", "3")
        assert app.runner.plans[-1].turn_rad == pytest.approx(-math.radians(90))
        assert "PLAN port 90°" in told(words(app))  # kept, and still told
        await pressed(pilot, "p", "left")
        assert app.runner.plans[-1].turn_rad == pytest.approx(-math.radians(180))
        await pressed(pilot, "enter", "escape")  # nothing else to close: it is dropped
        assert app.runner.plans[-1] is None


async def test_left_alone_it_is_kept_and_the_arrows_come_back():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pressed(pilot, "p", "left")
        later = app.clock() + planning.KEEPS_AFTER_S
        app.clock = lambda: later
        await settled(pilot)
        assert app.controls.plan is not None
        assert not app.controls.plan.shaping
        assert "arrows are the rods' again" in words(app)


@pytest.mark.parametrize("key", ["down", "pageup", "right", "tab", "enter"])
async def test_a_key_meant_for_a_plan_that_just_closed_by_itself_changes_no_line_and_that_is_said(key):
    app = console(step=0.4)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pressed(pilot, "p", "left")
        chosen, now = app.controls.chosen, app.clock() + planning.KEEPS_AFTER_S
        app.clock = lambda: now
        await settled(pilot)
        assert not app.controls.plan.shaping
        times = iter((now + 0.4, now + 1.1))
        app.key_time = lambda _event: next(times)
        await pilot.press(key)
        assert (app.runner.actions, app.controls.chosen, app.controls.typing) == ([], chosen, None)
        assert "was not used: the plan had just closed. Press again to use it" in app.controls.said.text
        before = (len(app.runner.actions), app.controls.chosen, app.controls.typing, app.controls.said)
        await pilot.press(key)  # a second after the plan closed it has its usual meaning
        assert (len(app.runner.actions), app.controls.chosen, app.controls.typing, app.controls.said) != before


async def test_over_a_recording_the_arrows_are_the_plans_too():
    app = console(session=Session.REPLAY)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        at = app.runner.replay.status().t_s
        await pressed(pilot, "p", "right", "up")
        assert app.runner.replay.status().t_s == at
        assert app.runner.plans[-1].turn_rad > 0
        await pressed(pilot, "enter")
        assert "the arrows are the recording's again" in words(app)


@pytest.mark.parametrize("size", SIZES)
async def test_the_alert_of_the_outlook_stands_with_its_advice_and_is_acknowledged(size):
    app = console()
    async with app.run_test(size=size) as pilot:
        app.runner.ahead = replace(fake_outlook.turning(), t_s=fake_picture.T_0)
        await settled(pilot)
        screen = words(app)
        assert "WARNING  6 S LOW and 7 S HIGH touch (63 %)" in screen
        assert "Turn slower, 150° to starboard in 1:40" in screen
        assert "CROSSING" in screen
        assert "in 36 s" in screen
        await pressed(pilot, "a")
        action = app.runner.actions[-1]
        assert (action.kind, action.alert) == ("acknowledge", "ahead 1")
        assert "Acknowledged: 6 S LOW" in words(app)


async def test_one_press_acknowledges_all_of_a_kind_and_the_alarm_first():
    app = console("troubled")
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        more = replace(fake_outlook.ALERT, id="ahead 2", keys=("2", "3"))
        app.runner.ahead = replace(fake_outlook.turning(), alerts=(fake_outlook.ALERT, more))
        await settled(pilot)
        await pressed(pilot, "a")
        assert [a.alert for a in app.runner.actions] == ["a1"]  # the alarm that it cannot save
        seen = replace(app.controls.picture.alerts[0], state="acknowledged")
        app.runner.show(replace(app.controls.picture, alerts=(seen,)))
        await settled(pilot)
        await pressed(pilot, "a")
        assert [a.alert for a in app.runner.actions] == ["a1", "ahead 1", "ahead 2"]
        assert "2 of crossing" in words(app)


async def test_cautions_and_quiet_need_no_acknowledging():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pressed(pilot, "a")
        assert app.runner.actions == []
        assert "No alarm or warning to acknowledge" in words(app)

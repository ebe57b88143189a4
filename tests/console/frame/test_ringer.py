"""The bell and the user's own command, through the application: only a live session rings."""

from __future__ import annotations

import sys
import time
from dataclasses import replace

import fake_picture
import pytest
from fake_runner import FakeRunner

from console.frame.test_app import Clock, console, settled, words
from sternwatch.config import ConfigError, Preferences, parse_preferences
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import Session

WARNING = Alert("w", "bottom touch", Priority.WARNING, AlertState.ACTIVE, ("3",), "3 P LOW comes to the bottom")


def ringing(session=Session.LIVE, **preferences):
    """A console that counts its bells, with one warning standing."""
    app = console(session=session, **preferences)
    app.runner.first = replace(app.runner.first, alerts=(WARNING,))
    app.rung = []
    app.ringer._bell = lambda: app.rung.append(app.clock())
    return app


async def test_a_warning_rings_once_when_it_is_raised():
    app = ringing()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert len(app.rung) == 1
        clock = app.clock()
        app.clock = lambda: clock + 60.0
        await settled(pilot)
        assert len(app.rung) == 1


async def test_an_alarm_rings_on_until_it_is_acknowledged():
    app = ringing()
    alarm = replace(WARNING, id="a", kind="no feed", priority=Priority.ALARM, keys=())
    app.runner.first = replace(app.runner.first, alerts=(alarm,))
    async with app.run_test(size=(80, 24)) as pilot:
        begin = app.clock()
        for second in range(20):
            app.clock = lambda second=second: begin + second
            await settled(pilot)
        assert [at - begin for at in app.rung] == [0.0, 8.0, 16.0]
        seen = replace(alarm, state=AlertState.ACKNOWLEDGED)
        app.runner.show(replace(app.runner.first, alerts=(seen,)))
        app.clock = lambda: begin + 40.0
        await settled(pilot)
        assert len(app.rung) == 3


@pytest.mark.parametrize("session", [Session.DEMO, Session.REPLAY, Session.PRACTICE])
async def test_no_other_session_ever_rings(session, tmp_path):
    mark = tmp_path / "ran"
    app = ringing(session, alert_command=[sys.executable, "-S", "-c", f"open({str(mark)!r}, 'w')"])
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "bottom" in words(app)
        time.sleep(0.3)
        assert app.rung == []
        assert not mark.exists()


async def test_switched_off_it_is_silent_and_the_command_still_runs(tmp_path):
    mark = tmp_path / "ran"
    code = f"import sys; open({str(mark)!r}, 'w').write(' '.join(sys.argv[1:]))"
    app = ringing(bell=False, alert_command=[sys.executable, "-S", "-c", code])
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        for _ in range(200):
            if mark.exists() and mark.read_text():
                break
            await pilot.pause(0.05)
        assert mark.read_text() == "warning 3 P LOW comes to the bottom"
        assert app.rung == []


async def test_a_command_that_cannot_run_is_said_at_the_start_and_put_away():
    app = ringing(alert_command=["no-such-program-here"])
    app.runner.first = replace(app.runner.first, alerts=())
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        assert "alert_command: there is no program 'no-such-program-here' to run" in words(app)
        assert "NOT SAVED" not in words(app)
        await pilot.press("escape")
        await settled(pilot)
        assert "no-such-program" not in words(app)


def test_the_bell_of_the_terminal_is_what_rings(monkeypatch):
    from sternwatch.console.app import SternwatchApp

    rung = []
    monkeypatch.setattr(SternwatchApp, "bell", lambda _app: rung.append(1))
    picture = replace(fake_picture.straight(), session=Session.LIVE, alerts=(WARNING,))
    app = SternwatchApp(FakeRunner(Session.LIVE, picture), Preferences())
    app.clock = lambda: Clock().now
    app.controls.take(picture, 0.0)
    app.ringer.tick(0.0)
    assert rung == [1]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"alert_command": "beep"}, "alert_command = 'beep'"),
        ({"alert_command": [""]}, "the first is the program to run"),
        ({"bell": "loud"}, "bell = 'loud'"),
        ({"alert_command": ["beep", 3]}, "alert_command.1 = 3"),
    ],
)
def test_a_mistake_in_the_preferences_is_told(given, told):
    with pytest.raises(ConfigError) as fault:
        parse_preferences(given, "config.toml")
    assert told in str(fault.value)
    assert "config.toml" in str(fault.value)

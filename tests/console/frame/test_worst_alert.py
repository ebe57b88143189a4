"""The worst alert is visible on every screen of a session, and how much water the lines take is told."""

from __future__ import annotations

from dataclasses import replace

import fake_outlook
import fake_picture
import pytest
from painted import paint

from console.frame.test_app import SIZES, console, settled, words
from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.frame.watch_screen import WatchScreen
from sternwatch.console.helm.views import PlanView
from sternwatch.console.pages.outlook import OutlookBoard
from sternwatch.watch.picture.alert import Alert, AlertState, Priority
from sternwatch.watch.picture.model import Session

ALARM = Alert("a", "no feed", Priority.ALARM, AlertState.ACTIVE, (), "No feed: no sensor says anything",
              "Check the cable and the plug")  # fmt: skip
CAUTION = replace(ALARM, id="c", kind="slack", priority=Priority.CAUTION, keys=("3",), text="3 P LOW: diver slack")


@pytest.mark.parametrize("size", SIZES)
async def test_on_every_screen_the_worst_alert_stands_inverse_over_the_full_width(size):
    app = console(session=Session.LIVE, theme="day")
    app.runner.first = replace(app.runner.first, alerts=(ALARM, CAUTION))
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        screens = [screen for screen in app._installed_screens.values() if isinstance(screen, WatchScreen)]
        assert len(screens) >= 7
        for screen in (app.helm_screen, *screens):
            app._go(screen)
            app._settle()
            await settled(pilot)
            await settled(pilot)
            rows = words(app).splitlines()
            told = [y for y, line in enumerate(rows) if "ALARM" in line and ALARM.text in line]
            assert told, screen.words
            below = " ".join(rows[told[0] : told[0] + 2])
            assert ALARM.advice in below, screen.words
            styles = [segment.style for segment in app.screen._compositor.render_strips()[told[0]]]
            grounds = {style.bgcolor for style in styles if style is not None}
            assert len(grounds) == 1, f"{screen.words}: one ground over the full width"


async def test_a_page_has_no_row_for_alerts_while_none_stands():
    app = console(session=Session.LIVE)
    app.runner.first = replace(app.runner.first, alerts=())
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("?")
        await settled(pilot)
        before = words(app).splitlines()[1]
        assert before.strip()
        assert "No alert raised." not in words(app)
        app.runner.show(replace(app.runner.first, alerts=(CAUTION,)))
        await settled(pilot)
        await settled(pilot)
        assert "CAUTION" in words(app).splitlines()[1]
        app.runner.show(replace(app.runner.first, alerts=()))
        await settled(pilot)
        await settled(pilot)
        assert words(app).splitlines()[1] == before


@pytest.mark.parametrize("size", [(76, 18), (47, 22), (47, 14), (40, 12)])
@pytest.mark.parametrize("turning", [False, True])
def test_the_view_from_above_tells_traffic_how_far_back_and_wide(size, turning):
    picture = fake_picture.straight()
    if turning:
        picture = fake_outlook.with_outlook(picture, fake_outlook.turning())
    row = paint(PlanView, picture, size).text().splitlines()[2]
    assert "320 ft back" in row
    assert "150 ft wide" in row
    assert "320 ft back" not in paint(PlanView, replace(picture, rods=()), size).text()


def test_the_page_tells_it_before_there_is_an_outlook():
    assert (
        "For traffic astern: longest 320 ft back, 150 ft wide"
        in paint(OutlookBoard, fake_picture.straight(), (80, 20)).text()
    )


def test_the_cure_stands_once_beside_the_whole_advice():
    warning = replace(
        fake_picture.turning().alerts[0],
        text="This turn wraps 2, 3, 1: turn to starboard instead",
        advice="Turn to starboard instead, 47° in 0:15: crossing unlikely (6 %).",
    )
    said = paint(AlertsArea, replace(fake_picture.straight(), alerts=(warning,)), (80, 2)).text()
    assert "This turn wraps 2, 3, 1 " in said
    assert said.lower().count("to starboard instead") == 1
    alone = paint(AlertsArea, replace(fake_picture.straight(), alerts=(replace(warning, advice=""),)), (80, 2)).text()
    assert "1: turn to starboard instead" in alone


def test_advice_stands_in_one_column_though_one_alert_is_too_long_for_it():
    def alert(key, text, advice):
        return Alert(f"a{key}", "bottom", Priority.WARNING, AlertState.ACTIVE, (key,), text, advice, 0.0, 0.0)

    alerts = (
        alert("4", "4 P DOWN: ball is on the bottom at 30 ft", "Raise the ball 13 ft"),
        alert("6", "6 S LOW: disc is on the bottom at 30 ft", "Take in about 144 ft: it must come up 61 ft"),
        alert("2", "2 P HIGH: disc is on the bottom at 30 ft, and lower than that a little way on", "Take in 126 ft"),
    )
    rows = paint(AlertsArea, replace(fake_picture.straight(), alerts=alerts), (120, 4)).text().splitlines()
    arrows = [row.index("→") for row in rows]
    assert arrows[0] == arrows[1] == 52
    assert arrows[2] > arrows[1]  # right after its own text

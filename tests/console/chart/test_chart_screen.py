"""The chart as a screen of a session: its keys are its own, rod keys are hits, and no place leaves it."""

from __future__ import annotations

import re

import fake_picture
import made_chart
from frame.test_app import console, settled, words

from sternwatch.console.acts import table
from sternwatch.console.chart.screen import AGAIN


async def test_a_place_is_chosen_for_again_and_a_hit_is_still_a_hit(monkeypatch):
    done = []
    monkeypatch.setitem(table.EFFECTS, AGAIN, lambda controls, _: done.append(controls.chosen_place))
    monkeypatch.setitem(fake_picture.CASES, "chart", made_chart.picture)
    app, picture = console("chart"), made_chart.picture()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.show_view("chart")
        await settled(pilot)
        assert "Not for navigation." in words(app)
        await pilot.press("enter")
        await settled(pilot)
        assert "No place is chosen" in words(app)
        assert done == []
        await pilot.press("right", "pagedown", "tab", "end", "3", "enter")
        await settled(pilot)
        assert app.runner.did() == [("hit", "3")]
        assert done == [app.controls.chosen_place]
        assert done[0][0] > picture.ground.boat_m[1]
        assert "track by depth" in words(app)
        assert "chosen: " in words(app)
        assert not re.search(r"\d{2}\.\d{3}", words(app))  # no latitude, no longitude
        await pilot.press("home", "escape")
        await settled(pilot)
        assert app.view == "helm"
        assert app.controls.chosen_place is None

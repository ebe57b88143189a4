"""Planning a whole pass at the controls, and what stands on the screen while one is steered."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from console import made_chart
from console.frame.test_app import console
from sternwatch.console.frame.notices import standing
from sternwatch.console.keys.registry import BY_ID
from sternwatch.watch.whole_pass.wish import Box, Wish


class Passed:
    """What the acts ask for, and words to show."""

    def __init__(self) -> None:
        self.wish: Wish | None = None
        self.dropped = 0

    bar = "[------|-#----]"
    way_m = np.array([(-100.0, -50.0), (100.0, -50.0)])

    def want(self, wish: Wish) -> None:
        self.wish = wish

    def drop(self) -> None:
        self.wish, self.dropped = None, self.dropped + 1

    def words(self, _units: object, _names: object) -> tuple[str, str]:
        return "PASS steer 065°", "065° for 2:10 and 3 legs more; 48 lure-minutes"


async def typed(pilot: Any, text: str) -> None:
    for sign in text:
        await pilot.press(sign)
    await pilot.press("enter")


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 60)])
async def test_asked_for_by_height_over_the_bottom(size: tuple[int, int]) -> None:
    app = console()
    passed = app.runner.passing = Passed()
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        app.perform(BY_ID["plan a pass"], app.clock())
        await pilot.press("enter")  # height over the bottom
        await typed(pilot, "3")
        await typed(pilot, "2")
        assert "2 ft will not do: type more than 3 ft" in app.controls.said.text
        await typed(pilot, "15")
        assert app.controls.typing.text == "20"  # offered: a digit replaces it
        await typed(pilot, "5")
        assert "5 min will not do: type 10 to 40 min" in app.controls.said.text
        await typed(pilot, "30")
        assert passed.wish is not None
        assert passed.wish.over_bottom_m == pytest.approx((0.9144, 4.572))
        assert passed.wish.depth_m is None
        assert passed.wish.box is None
        assert passed.wish.lasts_s == 1800.0
        assert passed.wish.risk == app.controls.preferences.risk
        told = [notice.text for notice in standing(app.controls, app.keymap, 1.0, app.clock())]
        assert "PASS steer 065° [------|-#----]" in told
        app.perform(BY_ID["no more pass"], app.clock())
        assert passed.wish is None


async def test_by_the_zone_in_what_the_chart_shows() -> None:
    app = console()
    passed = app.runner.passing = Passed()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        app.perform(BY_ID["pass in view"], app.clock())
        assert "Look at the chart first" in app.controls.said.text
        picture = made_chart.picture()
        app._newest = picture
        app._tick()
        app.show_view("chart")
        await pilot.pause(0.3)
        app._newest = picture
        app._tick()
        await pilot.pause(0.3)
        app.perform(BY_ID["pass in view"], app.clock())
        await pilot.press("down", "down", "enter")
        await pilot.press("enter")
        assert passed.wish is not None
        assert passed.wish.zone
        assert passed.wish.lasts_s == 1200.0
        north, east = picture.ground.boat_m
        box = passed.wish.box
        assert isinstance(box, Box)
        assert box.south_m < north < box.north_m
        assert box.west_m < east < box.east_m


async def test_before_the_solver_is_ready_that_is_said() -> None:
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        app.perform(BY_ID["plan a pass"], app.clock())
        assert "being prepared" in app.controls.said.text


async def test_nobody_steers_two_ways() -> None:
    app = console()
    passed = app.runner.passing = Passed()

    class Again:
        wanted = None
        over_ground = False
        found = None
        bar = ""

        def want_place(self, *_: object) -> None:
            self.asked = True

        def words(self, *_: object) -> tuple[str, str]:
            return "", ""

    app.runner.again = Again()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        app.controls.chosen = app.controls.picture.rods[0].key
        app.controls.chosen_place = (30.0, -12.0)
        app.perform(BY_ID["again here"], app.clock())
        assert app.runner.again.asked
        assert passed.dropped == 1

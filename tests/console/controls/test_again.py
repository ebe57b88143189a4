"""The keys of *again*, and what stands on the screen while a place is to be passed."""

from __future__ import annotations

from typing import Any

import pytest

from console import made_chart
from console.frame.test_app import console, settled, words
from sternwatch.console.frame.notices import standing
from sternwatch.console.keys.registry import BY_ID
from sternwatch.watch.again.steering import Steering


class Followed:
    """What the acts ask for, and words to show."""

    def __init__(self) -> None:
        self.asked: list[tuple[Any, ...]] = []
        self.wanted: Any = None

    def want_hit(self, hit_id: str) -> None:
        self.asked.append(("hit", hit_id))
        self.wanted = type("Wanted", (), {"hit": hit_id})()

    def want_place(self, rod: str, place_m: tuple[float, float], depth_m: float | None = None, of: str = "") -> None:
        self.asked.append(("place", rod, place_m) if not of else ("place", rod, place_m, depth_m, of))
        self.wanted = type("Wanted", (), {"hit": "", "of": of})()

    def next(self) -> None:
        self.asked.append(("next",))

    over_ground = False
    found = None

    def by_ground(self, on: bool) -> None:
        self.over_ground = on

    bar = "[------|-#----]"
    steering = Steering(
        course_deg=65.0, off_m=-5.5, turn_in_s=40.0, turn_deg=180.0, pass_in_s=310.0, sample=0, lost=False
    )

    def drop(self) -> None:
        self.asked.append(("drop",))
        self.wanted = None

    def words(self, _units: object, _names: object) -> tuple[str, str]:
        return "AGAIN steer 065°", "soonest: starboard 180° in 2:10"


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_a_hit_again_its_next_way_and_no_more(size: tuple[int, int]) -> None:
    app = console()
    followed = app.runner.again = Followed()
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await pilot.press("3")
        await pilot.pause()
        await pilot.press("q")
        (what, hit) = followed.asked[-1]
        assert what == "hit"
        assert hit in [one.id for one in app.controls.hits()]
        await pilot.press("q")
        assert followed.asked[-1] == ("next",)
        told = [notice.text for notice in standing(app.controls, app.keymap, 1.0, app.clock())]
        assert "AGAIN steer 065° [------|-#----]" in told
        assert "soonest: starboard 180° in 2:10" in told
        app.show_view("glance")
        await settled(pilot)
        shown = words(app)
        for text in ("STEER · pass in 5:10", "18 ft left of it", "starboard 180° in 0:40", "BOTTOM"):
            assert text in shown
        assert "SURFACE" not in shown
        app.perform(BY_ID["no more again"], app.clock())
        assert followed.asked[-1] == ("drop",)


async def test_a_place_of_the_chart_and_none() -> None:
    app = console()
    followed = app.runner.again = Followed()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        app.perform(BY_ID["again here"], app.clock())
        assert followed.asked == []
        assert "No place is chosen" in app.controls.said.text
        app.controls.chosen_place = (30.0, -12.0)
        app.perform(BY_ID["again here"], app.clock())
        assert followed.asked == [("place", app.controls.chosen, (-12.0, 30.0))]


async def test_before_the_solver_is_ready_that_is_said() -> None:
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        await pilot.press("q")
        assert "being prepared" in app.controls.said.text


async def test_what_lies_at_the_place_chosen_is_meant() -> None:
    """A mark within reach of the place chosen, at its depth; one further off is not."""
    app = console()
    followed = app.runner.again = Followed()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        app.controls.picture = made_chart.picture()
        marks = [one for one in app.controls.picture.ground.places if one.what in ("fish", "bait", "break")]
        assert marks
        one = marks[0]
        app.controls.chosen = app.controls.picture.rods[0].key
        app.controls.chosen_place, app.controls.chosen_reach_m = (one.east_m + 3.0, one.north_m), 4.0
        app.perform(BY_ID["again here"], app.clock())
        assert followed.asked[-1] == ("place", app.controls.chosen, (one.north_m, one.east_m), one.depth_m, one.id)
        app.controls.chosen_reach_m = 2.0
        app.perform(BY_ID["again here"], app.clock())
        assert followed.asked[-1] == ("place", app.controls.chosen, (one.north_m, one.east_m + 3.0))


async def test_fish_seen_then_marks_one_after_the_other() -> None:
    app = console()
    followed = app.runner.again = Followed()
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        app.perform(BY_ID["again seen"], app.clock())
        assert "No fish" in app.controls.said.text
        app.controls.picture = made_chart.picture()
        app.controls.chosen = app.controls.picture.rods[0].key
        lure = {
            one.id: one.what for one in app.controls.picture.ground.places if one.what in ("fish", "bait", "break")
        }
        ids = []
        for _ in range(len(lure) + 1):
            app.perform(BY_ID["again seen"], app.clock())
            ids.append(followed.asked[-1][-1])
        assert set(ids) == set(lure)
        assert ids[0] == ids[-1]
        assert "fish" not in [lure[one] for one in ids[:-1]][1:] or lure[ids[0]] == "fish"
        app.perform(BY_ID["again by ground"], app.clock())
        assert followed.over_ground
        assert "over ground" in app.controls.said.text

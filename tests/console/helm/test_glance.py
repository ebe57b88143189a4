"""The glance: large enough, in order, and honest about what is not known."""

import math
from dataclasses import replace

import fake_outlook
import fake_picture
import numpy as np
import pytest

from console.frame.test_app import console, settled
from sternwatch.console.helm.glance import NOTICE_ROWS, GlanceBoard, _most, feed_age, plan
from sternwatch.console.paint.canvas import ink_id
from sternwatch.console.paint.digits import big, rows_of, width_of
from sternwatch.feed.readings import Quantity, SensorState, SensorValue
from sternwatch.watch.picture.alert import Alert, AlertState, Priority


@pytest.mark.parametrize(
    ("width", "rows", "count"),
    [
        (width, rows, count)
        for width, rows in [(80, 24), (100, 30), (120, 36), (120, 48), (200, 60)]
        for count in (1, 4, 8, 12)
        if (width, rows, count) != (120, 48, 12)  # signs of 8 rows would take 44, those of 5 are the largest
    ],
)
def test_signs_are_an_eighth_of_the_screen_or_more_and_everything_fits(width, rows, count):
    body = rows - 5 - (0 if rows < 30 or width >= 160 else 1) - NOTICE_ROWS  # frame, alert, answer, keys
    made = plan(width - 2, body, rows, ["66"] * count)
    assert made.height <= body
    assert made.per_row * made.rod_rows >= count
    assert rows_of(made.scale) >= math.ceil(rows / 8)


def test_three_figures_still_fit():
    made = plan(78, 18, 24, ["142"] * 12)
    assert made.height <= 18
    assert made.scale == 1


def test_too_small_a_window_gets_the_smallest_signs():
    made = plan(18, 4, 8, ["66"] * 8)
    assert made.scale == 1


def test_more_room_never_makes_smaller_signs():
    scales = [plan(w, h, 60, ["66"] * 8).scale for w, h in [(80, 20), (120, 30), (160, 40), (200, 54), (300, 80)]]
    assert scales == sorted(scales)


def test_the_feeds_age_is_told_only_when_it_is_not_fresh():
    assert feed_age(fake_picture.straight()) == ""
    assert feed_age(fake_picture.no_feed()) == "no feed yet"
    old = {q: SensorValue(q, SensorState.SILENT, 1.0, 12.4, "gps", "RMC") for q in (Quantity.SOG, Quantity.BOTTOM)}
    assert feed_age(replace(fake_picture.straight(), sensors=old)) == "feed 12 s old"


async def glance(case="straight", size=(120, 36), **preferences):
    app = console(case, **preferences)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        while app.view != "glance":
            await pilot.press("v")
            await settled(pilot)
        return app.screen.query_one(GlanceBoard)._grid.text()


async def test_the_order_is_speed_turning_rods_water_last_hit():
    text = await glance()
    places = [text.index(word) for word in ("THROUGH WATER", "TURNING", "1 P BOARD", "BOTTOM", "SURFACE", "LAST HIT")]
    assert places == sorted(places)


async def test_every_rods_key_and_state_is_there():
    text = await glance("troubled", (200, 60))
    for word in ("PULLED UNDER", "OUT", "FIGHTING", "IN", "UNSETTLED", "FAILED", "SLACK", "REEL"):
        assert word in text


async def test_a_rod_says_what_threatens_it_and_nothing_while_it_fishes():
    app = console()
    alert = Alert("b", "bottom touch", Priority.WARNING, AlertState.ACTIVE, ("2",), "2 P LOW comes to the bottom")
    both = Alert("c", "crossing", Priority.WARNING, AlertState.ACTIVE, ("6", "7"), "6 and 7 wrap")
    async with app.run_test(size=(120, 36)) as pilot:
        app.runner.first = replace(app.runner.first, alerts=(alert, both))
        await settled(pilot)
        while app.view != "glance":
            await pilot.press("v")
            await settled(pilot)
        text = app.screen.query_one(GlanceBoard)._grid.text()
    assert text.count("CROSSING") == 2
    assert text.count("TOUCH") == 1
    assert "fishing" not in text


@pytest.mark.parametrize("size", [(80, 24), (120, 36), (200, 60)])
async def test_rods_stand_apart_and_no_eight_rows_are_empty(size):
    app = console()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        while app.view != "glance":
            await pilot.press("v")
            await settled(pilot)
        board = app.screen.query_one(GlanceBoard)
        rows = board._grid.text().splitlines()
        names = [rod.name for rod in app.runner.first.rods]
    empty = "".join("." if not row.strip() else "#" for row in rows[: len(rows) - NOTICE_ROWS])
    assert "........" not in empty
    assert max(len(run) for run in empty.split("#")) <= 5
    if size[0] >= 120:
        assert all(name in "\n".join(rows) for name in names)  # every name, all of one size


def test_the_space_between_rods_is_over_twice_that_within_a_number():
    for width, rows in [(80, 24), (120, 36), (200, 60)]:
        made = plan(width - 2, rows - 8, rows, ["66"] * 8)
        column = (width - 2) // made.per_row
        assert column - width_of("66", made.scale) > 2 * made.scale


async def test_no_feed_says_why_and_shows_no_number():
    text = await glance("no feed")
    assert "NO SPEED" in text
    assert "no sentence has come" in text
    assert "no feed yet" in text
    assert "not known" in text


async def test_the_same_word_has_the_same_form_at_every_rod_however_long_its_name_is():
    app = console("no feed")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.show_view("glance")
        await settled(pilot)
        text = app.screen.query_one(GlanceBoard)._grid.text()
        assert text.count("DEPTH ?") == 8
        assert "NO DEPTH" not in text


async def test_the_chosen_rods_key_has_nothing_beside_it_that_reads_as_a_digit():
    app = console()
    async with app.run_test(size=(200, 60)) as pilot:
        await settled(pilot)
        app.show_view("glance")
        await settled(pilot)
        grid = app.screen.query_one(GlanceBoard)._grid
        assert "".join(grid.chars[grid.inks == ink_id("chosen")]) == "P BOARD"  # the name alone, no bar
        y = int(np.where(grid.inks == ink_id("chosen"))[0][0])
        assert "".join(grid.chars[y, :8]).strip() == big("1")[0].strip()


async def test_a_turn_is_told_with_its_side():
    assert "to STARBOARD" in await glance("turning")
    assert "straight" in await glance()


async def test_the_last_hit_is_the_last_that_counts():
    text = await glance()
    assert "6 S LOW  1 min ago at 71 ft, boxed, coho" in text


async def test_metres_for_those_who_read_metres():
    text = await glance(units="metric")
    assert "km/h" in text
    assert "°C" in text


@pytest.mark.parametrize(("size", "count"), [((80, 24), 8), ((120, 36), 12)])
async def test_a_chosen_rods_tab_never_runs_into_the_digits_above_and_below_it(size, count):
    """A dark tab on the strokes of a 7 makes it a 1. Without a row between them the tab has a mark instead."""
    app = console()
    app.runner.first = fake_picture.many(count)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        app.show_view("glance")
        await settled(pilot)
        grid = app.screen.query_one(GlanceBoard)._grid
        assert "1 P BOARD" in grid.text()
        assert "▸1 P BOARD" in grid.text()
        assert ink_id("chosen") not in set(grid.inks.ravel().tolist())


@pytest.mark.parametrize(("room", "said"), [
    (60, "at most port 16, starboard 21 (risk 10 %)"),
    (33, "port 16, starboard 21, risk 10 %"),
    (20, "at most P 16 S 21, risk 10 %"),
])  # fmt: skip
def test_the_limits_are_named_by_their_sides_where_there_is_room(room, said):
    picture = replace(fake_picture.straight(), ahead=fake_outlook.quiet())
    assert _most(picture, room) == said

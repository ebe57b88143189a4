"""The outlook on the screen: limits against the rate now, dotted lines of the worst moment, strips, the full page."""

from __future__ import annotations

import re
from dataclasses import replace

import fake_outlook
import fake_picture
import numpy as np
import pytest
from painted import look, paint

from console.frame.test_app import SIZES, console, settled, words
from sternwatch.console.frame.alerts_area import AlertsArea
from sternwatch.console.helm.minute_strips import own_span, paint_strip
from sternwatch.console.helm.minutes import ComingMinutes
from sternwatch.console.helm.turn_line import LOOKING, NO_ROD, NO_SPEED, TurnLine, fitted
from sternwatch.console.helm.views import PlanView, SideView
from sternwatch.console.pages.outlook import OutlookBoard, tiled
from sternwatch.console.paint.canvas import Grid, ink_id
from sternwatch.console.words import outlook as said
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.forecast.meeting_words import INDICATIVE
from sternwatch.watch.picture.manoeuvre import PLAN, Manoeuvre
from sternwatch.watch.picture.model import RodState
from sternwatch.watch.picture.outlook import Advice, Touch

US = SYSTEMS["us"]
THEMES = ("day", "dusk", "night", "plain")


def turning():
    picture = replace(fake_picture.turning(), alerts=())
    return fake_outlook.with_outlook(picture, fake_outlook.turning())


def quiet():
    return fake_outlook.with_outlook(fake_picture.straight(), fake_outlook.quiet())


def inked(grid: Grid, ink: str) -> int:
    """How many cells carry an ink and a sign."""
    return int(((grid.inks == ink_id(ink)) & (grid.chars != " ")).sum())


# -- the line of limits --------------------------------------------------------------------------------------------


def test_the_limits_as_helmsmen_steer_them():
    line = paint(TurnLine, quiet(), (200, 1)).text()
    assert "going straight" in line
    assert "PORT 180° in 1:50 or slower · 16° per 10 s (2 3)" in line
    assert "STARBOARD 180° in 1:26 or slower · 21° per 10 s (6 7)" in line
    assert "slowest 1.4 mph" in line
    assert "risk at most 10 %" in line
    assert line.rstrip().endswith("12 s old")


@pytest.mark.parametrize("width", [80, 100, 120, 160, 200])
def test_the_line_fits_and_keeps_both_sides(width):
    grid = paint(TurnLine, turning(), (width, 1))
    line = grid.text()
    assert "1:50" in line
    assert "1:26" in line
    assert "22°" in line  # the rate now
    assert "12 s old" in line or "12s old" in line
    assert len(line) < width


def test_over_the_limit_the_rate_stands_out():
    assert inked(paint(TurnLine, turning(), (120, 1)), "warning band") > 10
    assert inked(paint(TurnLine, quiet(), (120, 1)), "warning band") == 0


def test_why_there_is_no_limit_yet():
    picture = fake_picture.straight()
    assert LOOKING in paint(TurnLine, picture, (80, 1)).text()
    rods = tuple(replace(rod, state=RodState.IN) for rod in picture.rods)
    assert NO_ROD in paint(TurnLine, replace(picture, rods=rods), (80, 1)).text()
    stopped = replace(picture, own=replace(picture.own, speed_m_s=None))
    assert NO_SPEED in paint(TurnLine, stopped, (80, 1)).text()
    searching = replace(picture, ahead=replace(fake_outlook.quiet(), limits=None))
    assert "working out turn limits" in paint(TurnLine, searching, (80, 1)).text()


def test_forms_grow_in_turn():
    pieces = [("aaaaaaaa", "aa"), ("bbbb", "b"), ("cccccc", "cc", "")]
    assert fitted(pieces, 6, [0, 1, 2]) == ["aa", "b", ""]
    assert fitted(pieces, 15, [0, 1, 2]) == ["aaaaaaaa", "bbbb", ""]
    assert fitted(pieces, 100, [0, 1, 2]) == ["aaaaaaaa", "bbbb", "cccccc"]


# -- the views -----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("view", [PlanView, SideView])
def test_both_views_draw_the_worst_moment_and_mark_the_closest_point(view, theme):
    grid = paint(view, turning(), (100, 30), theme)
    assert inked(grid, "ahead") > 5
    assert inked(grid, "ahead pair") > 8
    assert inked(grid, "ahead mark") > 5
    text = grid.text()
    assert ("6x7 63 %" if theme == "plain" else "6×7 63 %") in text
    assert "in 0:39" in text


@pytest.mark.parametrize("view", [PlanView, SideView])
def test_a_quiet_course_draws_nothing_dotted(view):
    grid = paint(view, quiet(), (100, 30))
    assert inked(grid, "ahead") + inked(grid, "ahead pair") + inked(grid, "ahead mark") == 0
    assert "dotted" not in grid.text()


@pytest.mark.parametrize("view", [PlanView, SideView])
def test_where_no_member_crosses_the_closest_point_is_no_danger(view):
    harmless = replace(fake_outlook.quiet(), forecasts=(fake_outlook.forecast(fake_outlook.TURN, 0.0),))
    grid = paint(view, replace(quiet(), ahead=harmless), (100, 30))
    assert inked(grid, "ahead mark") == 0
    assert "20 ft" in grid.text()  # how near they come; no share
    assert "0 %" not in grid.text()


def test_the_closest_point_stands_where_it_is():
    picture = turning()
    grid = paint(SideView, picture, (120, 40))
    mark = np.argwhere(grid.chars == "╳")
    assert len(mark) == 1
    y = mark[0][0]
    # The scale at the left: the row of a depth between those of its neighbours.
    depths = {
        int(text): row for row in range(grid.height) if (text := "".join(grid.chars[row, :5]).strip()).isdigit()
    }
    below = min(row for depth, row in depths.items() if depth >= 46)
    above = max((row for depth, row in depths.items() if depth <= 46), default=2)
    assert above <= y <= below


def test_the_plan_is_drawn_before_what_the_boat_does():
    plan = Manoeuvre(PLAN, 1.0, 0.02)
    both = replace(fake_outlook.turning(), forecasts=(*fake_outlook.turning().forecasts,
                                                      fake_outlook.forecast(plan, 0.1)))  # fmt: skip
    shown = said.shown_forecast(replace(turning(), ahead=both))
    assert shown is not None
    assert shown.manoeuvre.name == PLAN


def test_a_turn_is_drawn_even_where_nothing_crosses():
    harmless = replace(fake_outlook.quiet(), forecasts=(fake_outlook.forecast(Manoeuvre("hold"), 0.0),
                                                        fake_outlook.forecast(fake_outlook.TURN, 0.0)))  # fmt: skip
    shown = said.shown_forecast(replace(quiet(), ahead=harmless))
    assert shown is not None
    assert shown.manoeuvre.name == "as it goes"


# -- the strips ----------------------------------------------------------------------------------------------------


def test_a_strip_goes_down_where_the_lure_does():
    rod = fake_outlook.forecast(fake_outlook.TURN, 0.6).rods[5]  # on the inside: it sinks, most after 70 s of 200
    span = own_span(rod)
    assert span is not None
    grid = Grid(40, 10)
    paint_strip(grid, (0, 0, 40, 10), rod, fake_outlook.TIMES, 200.0, span, look("dusk"))
    line = [np.flatnonzero(grid.inks[:, x] == ink_id("line chosen")) for x in range(40)]
    lowest = [int(rows.max()) if len(rows) else -1 for rows in line]
    assert abs(int(np.argmax(lowest)) - 14) <= 3
    assert lowest[0] < max(lowest)
    assert lowest[-1] < max(lowest)


@pytest.mark.parametrize("theme", THEMES)
def test_the_bottom_of_a_strip_is_told_from_the_lure_without_colour(theme):
    rod = fake_outlook.forecast(fake_outlook.TURN, 0.6).rods[0]
    grid = Grid(40, 10)
    deepest = float(np.nanmax(rod.depth_m))
    paint_strip(grid, (0, 0, 40, 10), rod, fake_outlook.TIMES, 200.0, (0.0, 2 * deepest), look(theme), 1.5 * deepest)
    bottom = grid.inks == ink_id("bottom")
    assert bottom.any(axis=0).all()
    bed = grid.grounds == ink_id("bed")
    assert bed[9].all()
    assert not bed[:6].any()
    if theme == "plain":
        assert set(grid.chars[bottom].tolist()) == {"%"}
    else:
        assert all(ord(char) - 0x2800 > 0b1000 for char in grid.chars[bottom].tolist())  # two dots high at least


def test_a_rod_of_which_nothing_is_known_has_an_empty_strip():
    rod = replace(fake_outlook.forecast(fake_outlook.TURN, 0.6).rods[0], depth_m=np.full((60, 3), np.nan))
    assert own_span(rod) is None
    grid = Grid(20, 4)
    paint_strip(grid, (0, 0, 20, 4), rod, fake_outlook.TIMES, 200.0, (0.0, 10.0), look("dusk"))
    assert grid.text().strip() == ""


def test_strips_beneath_the_columns():
    grid = paint(ComingMinutes, turning(), (200, 4))
    assert "next 3:20" in grid.text()
    assert inked(grid, "line chosen") > 8 * 5
    assert paint(ComingMinutes, fake_picture.straight(), (200, 4)).text().strip() == ""


@pytest.mark.parametrize(
    ("count", "room", "per_row"), [(8, (78, 9), 4), (8, (198, 42), 4), (1, (78, 9), 1), (12, (118, 20), 6)]
)
def test_strips_are_tiled_to_be_large(count, room, per_row):
    place = tiled(count, *room)
    assert place is not None
    assert place[0] == per_row
    assert -(-count // place[0]) * place[2] <= room[1]
    assert place[0] * place[1] <= room[0]


def test_without_room_there_are_no_strips():
    assert tiled(12, 20, 3) is None


# -- the full page -------------------------------------------------------------------------------------------------


def test_the_page_tells_limits_pairs_advice_and_traffic():
    text = paint(OutlookBoard, turning(), (140, 30)).text()
    assert "radius 105 ft · tighter, 2 P HIGH and 3 P LOW touch" in text
    assert "Slowest 1.4 mph; slower, 5 touches bottom" in text
    assert "As it goes: any crossing 63 %; worst 6 S LOW and 7 S HIGH touch 63 % in 0:36, 46 ft down" in text
    assert "→ Turn slower, 150° to starboard" in text
    assert text.count("risk at most 10 %") == 1
    assert "For traffic astern: longest 320 ft back" in text
    assert "7 S HIGH and 8 S BOARD touch 19 % in 0:36" in text
    assert INDICATIVE[0] in text
    assert INDICATIVE[-1] in paint(OutlookBoard, turning(), (80, 18)).text(), "on the smallest screen too"
    for rod in turning().rods:
        assert f" {rod.key} {rod.name} " in text


@pytest.mark.parametrize("theme", THEMES)
@pytest.mark.parametrize("size", [(80, 18), (120, 28), (200, 52), (40, 6)])
def test_the_page_at_every_size_in_every_theme(theme, size):
    grid = paint(OutlookBoard, turning(), size, theme)
    assert "PORT" in grid.text()


def test_reach_for_traffic_is_rounded_up():
    reach = said.reach_of(quiet())
    assert reach is not None
    back = float(said.reach_words(quiet(), US).split()[1])
    assert back * 0.3048 >= reach.back_m
    assert back % 10 == 0
    assert said.reach_words(replace(quiet(), rods=()), US) == ""


@pytest.mark.parametrize("size", SIZES)
async def test_the_page_is_one_of_the_views(size):
    app = console()
    async with app.run_test(size=size) as pilot:
        app.runner.ahead = fake_outlook.turning()
        await settled(pilot)
        while app.view != "ahead":
            await pilot.press("v")
            await settled(pilot)
        assert "OUTLOOK" in words(app)
        assert "STARBOARD 180° in 1:26 or slower" in words(app)
        await pilot.press("3")  # a hit is a hit there too
        assert app.runner.did() == [("hit", "3")]


async def test_the_glance_tells_the_most_she_may_turn():
    app = console("turning")
    async with app.run_test(size=(120, 36)) as pilot:
        app.runner.ahead = fake_outlook.turning()
        await settled(pilot)
        await pilot.press("v")
        await settled(pilot)
        assert "most 21, risk 10 %" in words(app)
        assert "limit not known" not in words(app)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("view", ["helm", "glance", "ahead"])
async def test_the_advice_is_read_whole_and_once(size, view):
    app = console()
    app.runner.ahead = fake_outlook.turning()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        while app.view != view:
            await pilot.press("v")
        await settled(pilot)
        top = " ".join(line.strip() for line in words(app).splitlines()[: 8 if view == "helm" else 5])
        for part in re.split(r"(?<=[,:]) ", fake_outlook.ADVICE.text):
            assert part in " ".join(top.split())
        assert "in 35 s" in top
        if view == "ahead":
            below = " ".join(line.strip() for line in words(app).splitlines()[5:])
            assert fake_outlook.ADVICE.text not in " ".join(below.split()), "the bar says it already"


@pytest.mark.parametrize(("count", "rows"), [(8, 3), (10, 3), (11, 2), (12, 2)])
async def test_on_the_smallest_screen_every_rod_and_the_advice_are_read(count, rows):
    app = console()
    straight = fake_picture.straight()
    more = [replace(straight.rods[-1], key=key, name=f"MORE {key}") for key in "90-="]
    app.runner.first = replace(straight, rods=(*straight.rods, *more)[:count])
    app.runner.ahead = fake_outlook.turning()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        app.started_s -= 1000.0  # the notices of the start are over
        await settled(pilot)
        shown = words(app).splitlines()
        assert app.screen.query_one(AlertsArea).size.height == rows
        assert "crossing in none of 16." in " ".join(" ".join(shown[5 : 5 + rows]).split())
        assert "6 S LOW and 7 S HIGH touch (63 %)" in shown[5]
        for rod in app.runner.first.rods:
            assert any(line[1:].startswith(f" {rod.key} {rod.name}") for line in shown), rod.key


def test_what_comes_to_the_bottom_is_said_of_every_manoeuvre_and_what_keeps_it_off():
    cure = Advice("Take in 20 ft on S LOW: bottom touch unlikely (6 %).", {"what": "line"}, 0.0625)
    touches = (Touch("5", 65.0, 2.0), Touch("6", 30.0, 3.0, (cure,)))
    made = replace(fake_outlook.forecast(Manoeuvre("as it goes"), 0.0), touches=touches)
    picture = fake_picture.straight()
    forms = said.outcome(made, picture, US)
    assert forms[0].startswith("6 S LOW touches bottom in 0:30, 1 more; crossing in none of 16; least room ")
    assert forms[-1] == "6 bottom in 0:30; crossing in none of 16"
    outlook = replace(fake_outlook.quiet(), forecasts=(made, replace(made, touches=(Touch("6", 0.0, 3.0, (cure,)),))))
    text = paint(OutlookBoard, fake_outlook.with_outlook(picture, outlook), (140, 30)).text()
    assert text.count(cure.text) == 1  # once, though both come to it
    assert "6 S LOW touches bottom now; " in text

"""The debrief on the screen: its parts, tables as they fit, places told only when asked for."""

import time
from dataclasses import replace

import fake_picture
import pytest
from fake_runner import MORNING
from painted import look

from console.controls.test_trip import HIT, crew
from console.frame.test_app import console, settled, words
from console.pages.test_pages import day, hits
from sternwatch.console.app import SternwatchApp
from sternwatch.console.debrief import words as told
from sternwatch.console.debrief.plots import NO_TRACK, NOTHING, paint_chart, paint_timeline
from sternwatch.console.debrief.screen import BEFORE_S, EXTRA, PARTS, DebriefText
from sternwatch.console.keys.registry import BY_ID
from sternwatch.console.paint.canvas import Grid
from sternwatch.console.words import rods as rod_words
from sternwatch.debrief.report.model import Table
from sternwatch.debrief.report.so_far import Debriefs, Whole, digest_so_far
from sternwatch.debrief.trip.sources import TripData
from sternwatch.debrief.trip.trip_events import AlertRow
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.watch.picture.fishing import Fishing
from sternwatch.watch.picture.model import Session

US = SYSTEMS["us"]


def placed(samples):
    """The samples along a course to the north east, and with bottom and warmth."""
    made = []
    for n, sample in enumerate(samples):
        boat = replace(
            sample.boat, latitude_deg=47.0 + 1e-5 * n, longitude_deg=-89.5 + 2e-5 * n, water_temperature_c=12.0,
            bottom_m=30.0,
        )  # fmt: skip
        made.append(replace(sample, boat=boat))
    return made


def pictured(count=4, session=Session.LIVE, t_s=7200.0):
    samples = placed(day())
    rows = tuple(replace(row, lure_deg=(47.0, -89.5)) for row in hits(samples, count))
    return replace(
        fake_picture.straight(session), t_s=t_s, crew=crew(*HIT), fishing=Fishing.of(samples), hit_rows=rows,
        alerts=(),
    )  # fmt: skip


def reported(picture, alerts=(), *, positions=False):
    """The report of a trip so far, made here and now."""
    made = Debriefs(US)
    made.positions = positions
    made._seen = (alerts, (), (), 0.0)
    return made._make(picture)


async def made(pilot, app):
    end = time.monotonic() + 20.0
    while app.debriefs.made is None:
        assert time.monotonic() < end, app.debriefs.trouble
        await settled(pilot)


ALERT = AlertRow("slack", "caution", ("3",), "3 P LOW: diver slack", "", 100.0, 160.0, ((12.0, "3 in"),), 1)


class TestWords:
    def test_the_summary_says_the_trip_what_produced_and_the_sentence_for_the_radio(self):
        said = "\n".join(" ".join(s[1] for s in line) for line in told.summary(reported(pictured()), 400))
        assert "The trip so far, 2026-08-18" in said
        assert "Not enough to tell: 4 hits in 4.0 rod-hours" in said
        assert "FOR THE RADIO" in said
        assert "Depths are computed, not measured. Not for navigation." in said

    @pytest.mark.parametrize("width", [60, 80, 120, 200])
    def test_a_table_keeps_to_its_width_and_no_column_runs_into_another(self, width):
        table = reported(pictured()).hits
        fit = told.columns(table, width)
        for line in (told.heads(table, fit), told.row(table, fit, 0, "text")):
            end = 0
            for x, text, _ in sorted(line):
                assert x >= end
                end = x + len(text)
            assert end <= width

    def test_what_has_no_room_in_the_columns_stands_beneath(self):
        table = reported(pictured()).hits
        narrow, wide = told.columns(table, 50), told.columns(table, 400)
        below = " ".join(s[1] for line in told.beneath(table, narrow, 0, 50) for s in line)
        assert "setting: low" in below
        assert told.beneath(table, wide, 0, 400) == []
        assert len(wide.shown) > len(narrow.shown)

    def test_the_most_wanted_columns_stay(self):
        table = Table("T", ("time", "boat mph", "depth ft"), (("12:00:00", "2.3", "60"),), frozenset({1, 2}))
        assert told.columns(table, 20).shown == (0, 2)


class TestPlots:
    @pytest.mark.parametrize("theme", ["day", "night", "plain"])
    def test_hits_stand_at_their_depth_and_moment(self, theme):
        report = reported(pictured(), (ALERT,))
        grid = Grid(100, 30)
        paint_timeline(grid, (0, 0, 100, 30), report, look(theme), "3")
        lines = grid.text().split("\n")
        assert lines[-3].startswith("hits")
        assert lines[-3].count("3") == 4
        assert lines[-2].count("!") == 1
        at = [n for n, char in enumerate(lines[-3]) if char == "3"]
        # Every rod has axes of its own, all to one depth: 1.05 times the deepest. The hits are at fifteen metres.
        top, below = (next(n for n, line in enumerate(lines) if line.startswith(name)) for name in ("3 P", "7 S"))
        to_ft = float(lines[below - 1].split()[1])
        sign = rod_words.SIGNS[look(theme).glyphs].hit
        deep = [y for y in range(top, below) for x in at if grid.chars[y, x] == sign]
        assert deep == [top + int(15.0 / (to_ft * 0.3048) * (below - top))] * 4

    def test_with_few_rows_all_depths_share_their_axes(self):
        grid = Grid(100, 10)
        paint_timeline(grid, (0, 0, 100, 10), reported(pictured(), (ALERT,)), look("day"), "3")
        assert any(line.startswith("depth") for line in grid.text().split("\n"))

    def test_without_fishing_time_there_is_a_sentence(self):
        picture = replace(pictured(0), fishing=Fishing.of([]), hit_rows=())
        grid = Grid(100, 30)
        paint_timeline(grid, (0, 0, 100, 30), reported(picture), look(), None)
        assert NOTHING in grid.text()

    def test_the_track_is_to_scale_and_tells_no_place_unless_asked(self):
        picture = pictured()
        grid = Grid(80, 20)
        paint_chart(grid, (0, 0, 80, 20), reported(picture), look("night"))
        text = grid.text()
        assert "begin" in text
        assert "47.0" not in text
        # 800 m north and 1090 m east: a cell is twice as high as wide, and the whole fits the height.
        drawn = [(y, x) for y in range(19) for x in range(80) if grid.chars[y, x] >= "⠁"]
        rows = max(y for y, _ in drawn) - min(y for y, _ in drawn)
        cells = max(x for _, x in drawn) - min(x for _, x in drawn)
        assert cells / (2 * rows) == pytest.approx(1092.0 / 799.0, rel=0.12)
        told_place = Grid(80, 20)
        paint_chart(told_place, (0, 0, 80, 20), reported(picture, positions=True), look("night"))
        assert "begin 47.00000 -89.50000" in told_place.text()


class TestSoFar:
    def test_alerts_and_closest_chains_are_taken_from_the_pictures_as_they_pass(self):
        debriefs = Debriefs(US)
        first = replace(pictured(t_s=10.0), alerts=fake_picture.CASES["troubled"]().alerts[:1])
        debriefs.look(first)
        debriefs.look(replace(pictured(t_s=30.0), alerts=()))
        (alert,) = debriefs._alerts.values()
        assert (alert.begun_s, alert.ended_s) == (10.0, 30.0)
        near = {rod.key: rod.nearest_m for rod in first.rods if rod.nearest_m is not None}
        assert min(one.distance_m for one in debriefs._apart.values()) == pytest.approx(min(near.values()), abs=1e-3)

    def test_an_alert_first_seen_when_its_danger_is_over_is_none_of_the_trips(self):
        debriefs = Debriefs(US)
        raised = fake_picture.CASES["troubled"]().alerts[0]
        behind = replace(raised, id="behind", text="3 P LOW: no touch forecast now", over=True)
        debriefs.look(replace(pictured(t_s=10.0), alerts=(raised,)))
        debriefs.look(replace(pictured(t_s=20.0), alerts=(behind,)))
        debriefs.look(replace(pictured(t_s=30.0), alerts=()))
        (alert,) = debriefs._alerts.values()
        assert (alert.text, alert.begun_s, alert.ended_s) == (raised.text, 10.0, 20.0)

    def test_another_trip_begins_anew(self):
        debriefs = Debriefs(US)
        debriefs.look(pictured(t_s=10.0))
        debriefs.look(replace(pictured(t_s=20.0), trip="another", rods=()))
        assert not debriefs._apart

    def test_it_is_the_digest_of_the_rows_there_are(self):
        picture = pictured(3)
        digest = digest_so_far(picture, (), ())
        assert [hit.id for hit in digest.hits] == ["h0", "h1", "h2"]
        assert len(digest.samples) == 720
        assert digest.span_s == 7200.0


class TestScreen:
    @pytest.mark.parametrize("size", [(80, 24), (120, 48)])
    async def test_the_palette_leads_to_it_and_keys_move_between_its_parts(self, size):
        app = console(session=Session.LIVE)
        app.runner.first = pictured()
        async with app.run_test(size=size) as pilot:
            await settled(pilot)
            app.perform(BY_ID["debrief"], 1.0)
            await made(pilot, app)
            text = app.screen.query_one(DebriefText)
            seen = []
            for _ in text.parts:
                await settled(pilot)
                seen.append(text.part)
                assert text.part in words(app)
                await pilot.press("right")
            assert tuple(seen) == tuple(part for part in PARTS if part not in EXTRA)
            await pilot.press("left")
            assert text.part == "closest"
            await pilot.press("escape")
            assert app.view == "helm"
            assert app.runner.actions == []

    @pytest.mark.parametrize("part", ["timeline", "rates", "summary"])
    async def test_unread_cautions_and_a_plan_cover_nothing_of_it(self, part):
        app = console(session=Session.LIVE, read=False)
        app.runner.first = pictured()
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            app.show_view("debrief")
            await made(pilot, app)
            text = app.screen.query_one(DebriefText)
            text.part = part
            await pilot.press("p", "left")
            await settled(pilot)
            said = words(app)
            assert "PLAN port" in said
            assert "READ ONCE" in said
            foot = {"timeline": "20:15", "rates": "by luck", "summary": "lines 1–"}[part]
            assert foot in said

    async def test_rates_say_what_by_luck_means(self):
        app = console(session=Session.LIVE)
        app.runner.first = pictured()
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            app.show_view("debrief")
            await made(pilot, app)
            app.screen.query_one(DebriefText).part = "rates"
            await settled(pilot)
            said = words(app)
            assert "By luck: how often luck alone" in said
            assert "rest: none" in said
            assert "∞" not in said
            assert "rod 3 P LOW" not in said, "its kind is said once"

    async def test_places_are_hidden_until_asked_for(self):
        app = console(session=Session.LIVE)
        app.runner.first = pictured()
        async with app.run_test(size=(200, 40)) as pilot:
            await settled(pilot)
            app.show_view("debrief")
            await made(pilot, app)
            text = app.screen.query_one(DebriefText)
            text.part = "hits"
            await settled(pilot)
            assert "47.00000" not in words(app)
            before = app.debriefs.made
            await pilot.press("tab")
            end = time.monotonic() + 20.0
            while app.debriefs.made is before:
                assert time.monotonic() < end
                await settled(pilot)
            await settled(pilot)
            assert "47.00000 -89.50000" in words(app)

    async def test_a_rod_key_is_a_hit_there_too(self):
        app = console(session=Session.LIVE)
        app.runner.first = pictured()
        async with app.run_test(size=(80, 24)) as pilot:
            await settled(pilot)
            app.show_view("debrief")
            await made(pilot, app)
            await pilot.press("3")
            assert app.runner.did() == [("hit", "3")]
        app._settle()  # asked for by that key, and late: the screens are gone
        app.renew()

    async def test_a_past_trip_begins_with_it_and_enter_goes_to_a_hit(self):
        picture = pictured(session=Session.REPLAY)
        digest = digest_so_far(picture, (ALERT,), ())
        shares = []

        def whole(progress):
            progress(0.5)
            shares.append(app.debriefs.share)
            data = TripData("20260820T010000Z-1", MORNING, "", (), None)
            return Whole(data, digest)

        fake = console(session=Session.REPLAY)
        fake.runner.first = picture
        app = SternwatchApp(fake.runner, fake.preferences, whole)
        async with app.run_test(size=(120, 36)) as pilot:
            await made(pilot, app)
            assert app.view == "debrief"
            assert shares == [0.5]
            assert not app.runner.replay.status().playing
            await pilot.press("right", "right", "right", "down")
            await settled(pilot)
            assert app.screen.query_one(DebriefText).part == "hits"
            await pilot.press("enter")
            assert app.view == "helm"
            assert app.runner.replay.status().t_s == pytest.approx(digest.hits[1].at_s - BEFORE_S)

    async def test_what_could_not_be_made_is_said(self):
        def whole(_progress):
            raise ValueError("the recording is cut short")

        fake = console(session=Session.REPLAY)
        fake.runner.first = pictured(session=Session.REPLAY)
        app = SternwatchApp(fake.runner, fake.preferences, whole)
        async with app.run_test(size=(80, 24)) as pilot:
            end = time.monotonic() + 20.0
            while not app.debriefs.trouble:
                assert time.monotonic() < end
                await settled(pilot)
            await settled(pilot)
            assert "the recording is cut short" in words(app)


def test_a_trip_without_places_has_no_track():
    picture = replace(pictured(), fishing=Fishing.of(day()), hit_rows=hits(day(), 2))
    grid = Grid(80, 20)
    paint_chart(grid, (0, 0, 80, 20), reported(picture), look())
    assert NO_TRACK in grid.text()

"""The console of a practice boat: helm, throttle, her bar and the drill's page; and none of it elsewhere."""

from dataclasses import replace

import fake_picture
import pytest
from fake_runner import FakeRunner

from sternwatch import __version__
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.frame.bars import FrameBar, KeyFooter, SaidLine
from sternwatch.console.frame.practice_bar import PracticeBar
from sternwatch.console.helm.views import PlanView
from sternwatch.console.pages import drill, looking_back
from sternwatch.console.pages.drill import DrillText
from sternwatch.console.paint.canvas import ink_id
from sternwatch.logbook.actions.kinds import Helm, Throttle
from sternwatch.practice.sessions.kept import Allowed, Kept, Moment
from sternwatch.practice.sessions.mistakes import cause
from sternwatch.practice.sessions.runner import LookingBack
from sternwatch.watch.picture.model import PracticePicture, Session

BOAT = PracticePicture(
    drill="Reverse course to port",
    briefing="Come about to port and settle on the way back.",
    goal="turned 180° to port, for 120 s",
    drill_s=95.0,
    time_left_s=625.0,
    rudder_deg=-10.0,
    heading_held_deg=None,
    engine="kicker",
    lever=0.34,
    turned_deg=-42.0,
    over=False,
    waits=False,
    hold_s=120.0,
    says=("6 S LOW: goes off",),
)


def console(practice=BOAT, session=Session.PRACTICE):
    state.save(state.State(theme="dusk", cautions_read=__version__))
    picture = replace(fake_picture.CASES["straight"](), session=session, practice=practice)
    app = SternwatchApp(FakeRunner(session, picture, True), Preferences())
    app.now = 1000.0
    app.clock = lambda: app.now

    def press(_event):
        app.now += 1.2
        return app.now

    app.key_time = press
    return app


async def settled(pilot):
    await pilot.pause(0.02)
    pilot.app._tick()
    await pilot.pause(0.02)


def row(app):
    return app.screen.query_one(PracticeBar)._grid.text()


async def test_before_there_is_a_boat_the_page_says_what_is_being_prepared():
    """After installing the solver takes minutes; the drill's page is the first that a new crew see of it."""
    bar = "Preparing the solver, once after installing. [####................] 18 %, about 2 min left"
    assert " ".join(text for text, _ in drill.page(None, 60, (), bar)) == f"Getting the practice boat ready. {bar}"


async def test_a_caution_says_where_it_is_read_on():
    app = console()
    app.cautions_read = 0
    async with app.run_test(size=(120, 48)) as pilot:
        await settled(pilot)
        assert " READ ONCE, 1 of 8 (Esc: next). " in app.screen.cautions._grid.text()
        for key, name in (("/", "DRILL"), ("?", "HELP")):
            await pilot.press(key)
            await settled(pilot)
            assert name in app.screen.query_one(FrameBar)._grid.text()
            assert " READ ONCE, 1 of 8 (on the helm). " in app.screen.cautions._grid.text()
        await pilot.press("escape", "escape")
        assert app.cautions_read == 1


@pytest.mark.parametrize("size", [(80, 24), (120, 48)])
async def test_her_bar_says_helm_engine_and_drill(size):
    app = console()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        text = row(app)
        for part in ("10°", "kicker 34 %", "drill 1:35, 10:25 left"):
            assert part in text
        assert ("turned 42° P" in text) == (size[0] >= 100)
        assert app.screen.query_one(FrameBar)._grid.text().count("PRACTICE") == 2


async def test_helm_and_throttle_are_acts_that_cannot_be_taken_back():
    app = console()
    async with app.run_test(size=(120, 48)) as pilot:
        await settled(pilot)
        await pilot.press("apostrophe", "apostrophe", ",", ".", ".")
        await settled(pilot)
        steered = [a.rudder_deg for a in app.runner.actions if isinstance(a, Helm)]
        levers = [a.lever for a in app.runner.actions if isinstance(a, Throttle)]
        assert steered == [-5.0, 0.0]  # the second press builds on the first, not on the picture
        assert levers == [0.32, 0.34, 0.36]
        before = len(app.runner.actions)
        await pilot.press("u")
        await settled(pilot)
        assert all(a.kind != "undo" or a.of not in {b.id for b in app.runner.actions[:before]}
                   for a in app.runner.actions)  # fmt: skip


async def test_a_held_heading_is_moved_and_let_go():
    app = console(replace(BOAT, heading_held_deg=62.0, rudder_deg=0.0))
    async with app.run_test(size=(120, 48)) as pilot:
        await settled(pilot)
        assert "holds 062°" in row(app)
        await pilot.press(";", ";")
        await settled(pilot)
        assert [a.heading_deg for a in app.runner.actions] == [55.0, 50.0]
        await pilot.press("backslash")
        await settled(pilot)
        assert app.runner.actions[-1].rudder_deg == 0.0


async def test_the_drills_page_has_briefing_goal_and_what_came_of_it():
    app = console(replace(BOAT, over=True, result=("88 of 100, par 95: passed", "", "1:33  2 and 3 came too close")))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "OVER" in row(app)
        await pilot.press("/")
        await settled(pilot)
        page = app.screen.query_one(DrillText)._grid.text()
        for part in (
            "REVERSE COURSE TO PORT",
            "Come about to port",
            "Goal: turned 180°",
            "88 of 100",
            "2 and 3 came",
        ):
            assert part in page
        assert "PRACTICE" in app.screen.query_one(FrameBar)._grid.text()
        await pilot.press("escape")
        await settled(pilot)
        assert not app.screen.query(DrillText)


async def test_on_the_water_there_is_no_helm():
    app = console(practice=None, session=Session.LIVE)
    async with app.run_test(size=(120, 48)) as pilot:
        await settled(pilot)
        assert not app.screen.query_one(PracticeBar).display
        await pilot.press(";")
        await settled(pilot)
        assert app.runner.actions == []
        assert "; does nothing here" in app.screen.query_one(SaidLine)._grid.text()


async def test_an_instrument_that_fails_is_chosen_from_a_list_and_is_mended():
    app = console()
    async with app.run_test(size=(120, 48)) as pilot:
        await settled(pilot)
        for steps in (6, -1):
            await pilot.press("ctrl+p")
            await pilot.press(*"instruments fail", "enter")
            await settled(pilot)
            assert app.screen.query_one(KeyFooter)._grid.text().lstrip().startswith("A FAULT")
            await pilot.press(*["down" if steps > 0 else "up"] * abs(steps), "enter")
            await settled(pilot)
        assert [(a.what, a.sensor) for a in app.runner.actions] == [("lost bottom", "sounder"), ("mended", None)]
        assert "all mended" in app.screen.query_one(SaidLine)._grid.text()


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_before_it_begins_the_page_says_the_keys_that_matter_and_enter_begins(size):
    app = console(replace(BOAT, waits=True, drill_s=-30.0))
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        assert "waits for you: d briefing, Enter begins" in row(app) or "Enter begins" in row(app)
        app.show_drill()
        await settled(pilot)
        text = app.screen.query_one(DrillText)._grid.text()
        assert "Enter begins. The keys that matter:" in text
        assert "plans a turn" in text


@pytest.mark.parametrize("page", [True, False])
async def test_enter_begins_on_the_page_and_at_the_helm_where_the_bar_says_so(monkeypatch, page):
    begun = []
    monkeypatch.setattr(FakeRunner, "go", lambda _: begun.append(1), raising=False)
    monkeypatch.setattr(FakeRunner, "waits", False, raising=False)
    monkeypatch.setattr("sternwatch.practice.sessions.runner.PracticeRunner", FakeRunner)
    app = console(replace(BOAT, waits=True, drill_s=-30.0))
    async with app.run_test(size=(100, 30)) as pilot:
        await settled(pilot)
        if page:
            app.show_drill()
            await settled(pilot)
        await pilot.press("enter")
        await settled(pilot)
        assert begun == [1]
        assert app.at_helm
        assert not app.controls.typing
        app.controls.picture = replace(app.controls.picture, practice=BOAT)
        await pilot.press("enter")
        assert app.controls.typing  # under way Enter opens a length again
        assert begun == [1]


async def test_how_long_the_goal_has_held_is_told():
    app = console(replace(BOAT, held_s=40.0, hold_s=120.0))
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        assert "0:40 of 2:00 held" in row(app)


def looked_back_at():
    """Two moments of a drill whose lines stand in different places, and a turn beyond its limit between them."""
    shapes = {rod.key: rod.shape_m for rod in fake_picture.CASES["straight"]().rods if rod.shape_m is not None}
    allowed = Allowed(13.0, 13.0, None, 0.1)
    moments = tuple(
        Moment(t, turned, 1.1, allowed, None, None, {}, {}, {key: k * shape for key, shape in shapes.items()})
        for t, turned, k in ((0.0, 0.0, 1.0), (40.0, -21.0, 0.8), (80.0, 0.0, 0.5))
    )
    kept = Kept()
    kept.moments.extend(moments)
    facts = [{"kind": "near", "t_s": 60.0, "keys": ["1", "2"], "ratio": 0.5} | cause(kept, 60.0),
             {"kind": "bottom", "t_s": 75.0, "keys": ["3"], "cause_t_s": None, "raise_m": 1.5}]  # fmt: skip
    return LookingBack(moments, tuple(facts))


@pytest.mark.parametrize("size", [(80, 24), (120, 36)])
async def test_enter_shows_again_what_went_wrong_on_a_timeline(size, monkeypatch):
    back = looked_back_at()
    for module in (looking_back, drill):
        monkeypatch.setattr(module, "back_of", lambda _runner: back)
    app = console(replace(BOAT, over=True, result=("35 of 100",)))
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        app.show_drill()
        await settled(pilot)
        assert "Enter plays it again" in app.screen.query_one(DrillText)._grid.text()
        await pilot.press("enter")
        await settled(pilot)
        head = app.screen.query_one(looking_back.Head)
        text = " ".join(head._grid.text().split())
        assert "THE TRUTH at 0:3" in text  # from ten seconds before the turn, playing
        assert "At 0:40 you turned 21° per 10 s to port; the limit was 13; 1 and 2 closed to 0.5" in text
        assert "Turn 13° per 10 s or less" in text
        plan = app.screen.query_one(PlanView)._grid.text()
        timeline = app.screen.query_one(looking_back.Timeline)._grid
        assert timeline.text().count("!") == 2
        beyond = timeline.inks[0] == ink_id("alarm")
        assert beyond.any()
        assert not beyond.all()
        assert set(timeline.chars[1][beyond].tolist()) <= set("━!█")  # not told by colour alone
        assert "━" not in timeline.chars[1][~beyond].tolist()
        await pilot.press("down", "right", "right", "right")
        await settled(pilot)
        assert "touched bottom" in head._grid.text()
        assert app.screen.query_one(PlanView)._grid.text() != plan
        await pilot.press("enter")
        await settled(pilot)
        assert app.screen.query(DrillText)

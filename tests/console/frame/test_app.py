"""The console as a whole, driven by keys, at three sizes."""

from dataclasses import replace

import fake_picture
import pytest
from fake_runner import FakeRunner
from textual import events
from textual.command import CommandPalette

from sternwatch import __version__
from sternwatch.cautions import COMPUTED
from sternwatch.config import Preferences
from sternwatch.console import state
from sternwatch.console.app import SternwatchApp
from sternwatch.console.chart.screen import ChartBoard
from sternwatch.console.frame.bars import KeyFooter
from sternwatch.console.frame.notices import TURN_S
from sternwatch.console.frame.overlays import FishList, FocusBanner, LargeWords
from sternwatch.console.helm.glance import GlanceBoard
from sternwatch.console.helm.screen import PlanView, RodBoard, SideView
from sternwatch.console.keys.registry import BY_ID
from sternwatch.console.pages.check import CheckText
from sternwatch.console.pages.help import HelpText
from sternwatch.console.pages.outlook import OutlookBoard
from sternwatch.console.pages.producing import ProducingText
from sternwatch.console.pages.sensors import SensorText
from sternwatch.console.screens import SCREENS
from sternwatch.watch.picture.model import Session

SIZES = [(80, 24), (120, 36), (200, 60)]


class Clock:
    """A clock that moves only when a key is pressed: ``step`` seconds a press, too slow for an accident."""

    def __init__(self, step=1.2):
        self.now = 1000.0
        self.step = step

    def press(self, _event):
        self.now += self.step
        return self.now


def console(case="straight", session=None, read=True, storing=True, step=1.2, **preferences):
    if read:
        state.save(state.State(theme="dusk", cautions_read=__version__))
    picture = fake_picture.CASES[case]()
    if session is not None:
        picture = replace(picture, session=session)
    runner = FakeRunner(picture.session, picture, storing)
    app = SternwatchApp(runner, Preferences(**preferences))
    clock = Clock(step)
    app.clock, app.key_time = lambda: clock.now, clock.press
    app.started_s = clock.now
    return app


async def settled(pilot):
    """Everything posted has been handled, and what the next redraw would show is shown."""
    await pilot.pause(0.02)
    pilot.app._tick()
    await pilot.pause(0.02)


def words(app):
    """Everything on the screen, as plain lines."""
    lines = app.screen._compositor.render_strips()
    return "\n".join("".join(segment.text for segment in strip) for strip in lines[: app.size.height])


async def turns(pilot):
    """All that is on the screen while the standing notices take their turns."""
    seen = []
    begin = pilot.app.clock()
    for turn in range(8):
        pilot.app.clock = lambda turn=turn: begin + turn * TURN_S
        await settled(pilot)
        seen.append(words(pilot.app))
    return "\n".join(seen)


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("case", list(fake_picture.CASES))
async def test_every_picture_is_shown_at_every_size_in_every_view(size, case):
    app = console(case)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        for _ in range(4):
            assert COMPUTED in words(app)
            await pilot.press("v")
            await settled(pilot)
    assert app.runner.stopped


@pytest.mark.parametrize("size", SIZES)
async def test_views_follow_one_another_and_come_back_to_the_helm(size):
    app = console()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        seen = []
        bodies = {"glance": GlanceBoard, "chart": ChartBoard, "ahead": OutlookBoard, "producing": ProducingText,
                  "sensors": SensorText, "check": CheckText}  # fmt: skip
        for _ in range(10):
            seen.append(app.view)
            await pilot.press("v")
            await settled(pilot)
            assert app.screen.query(bodies.get(app.view, RodBoard))
        layouts = ["helm"] if size[0] >= 100 else ["helm", "above", "side"]
        assert seen == ([*layouts, *bodies] * 2)[:10]
        await pilot.press("escape")
        assert app.view == "helm"


@pytest.mark.parametrize("size", SIZES)
async def test_for_a_screen_that_faces_aft_the_view_from_above_is_mirrored_as_the_columns_are(size):
    app = console(mirror=True)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        app.show_view("above" if size[0] < 100 else "helm")
        await settled(pilot)
        sides = next(
            line for line in words(app).splitlines() if "ft " in line and "PORT" in line and "STERN" not in line
        )
        assert sides.index("STARBOARD") < sides.index("PORT")


async def test_before_the_first_picture_the_foot_offers_only_what_works_then():
    app = console(session=Session.LIVE)
    app.runner.first, app.runner.preparing = None, "Preparing the solver"
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        foot = app.screen.query_one(KeyFooter)._grid.text().splitlines()[0]
        assert foot.split("?")[0].strip() == "1–= HIT  Space bite  u undo  y redo  n night  l l lock  Ctrl+P all"
        await pilot.press("3", "u")
        await settled(pilot)
        assert [action.kind for action in app.runner.actions] == ["hit", "undo"]


async def test_narrow_views_stand_alone():
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("v")
        await settled(pilot)
        assert app.screen.query_one(PlanView).display
        assert not app.screen.query_one(RodBoard).display
        assert not app.screen.query_one(SideView).display


@pytest.mark.parametrize("size", SIZES)
async def test_a_hit_is_entered_and_said_and_saved_only_when_stored(size):
    app = console(storing=False)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        await pilot.press("3")
        await settled(pilot)
        assert app.runner.did() == [("hit", "3")]
        assert "HIT  3 P LOW" in words(app)
        assert "storing" in words(app)
        app.runner.store("a1")
        await settled(pilot)
        assert "saved" in words(app)
        assert "3 P LOW:" in words(app)  # the footer says whose fish the outcome keys mean


async def test_what_was_not_stored_stands_until_escape():
    app = console(storing=False)
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("3")
        app.runner.store("a1", error="the disk is full")
        await settled(pilot)
        assert "NOT SAVED: the disk is full" in words(app)
        await pilot.press("left")
        await settled(pilot)
        assert "NOT SAVED: the disk is full" in words(app)
        await pilot.press("escape")
        await settled(pilot)
        assert "NOT SAVED" not in words(app)


async def test_a_hit_is_a_hit_on_every_screen_and_over_the_palette():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("v", "2")
        await pilot.press("?", "5")
        await settled(pilot)
        assert app.screen.query(HelpText)
        await pilot.press("escape", "ctrl+p")
        await settled(pilot)
        assert isinstance(app.screen, CommandPalette)
        await pilot.press("8")
        await settled(pilot)
        assert app.runner.did() == [("hit", "2"), ("hit", "5"), ("hit", "8")]


async def test_the_chosen_rod_shows_at_once():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        before = app.controls.chosen
        await pilot.press("right")
        assert app.controls.chosen != before
        assert [rod.key for rod in app.shown.rods if rod.chosen] == [app.controls.chosen]


async def test_the_typing_line_is_large_and_takes_the_digits():
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("enter", "1", "6", "5")
        await settled(pilot)
        assert app.screen.query_one(LargeWords).display
        assert "TYPING: digits are not hits" in words(app)
        await pilot.press("enter")
        await settled(pilot)
        assert [a.kind for a in app.runner.actions] == ["length"]
        assert app.runner.actions[0].line_out_m == pytest.approx(165 * 0.3048)
        assert not app.screen.query_one(LargeWords).display


async def test_the_wiping_lock_swallows_counts_and_shows_large():
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("l")
        assert not app.lock.on
        await pilot.press("l", "1", "2", "q", "space")
        await settled(pilot)
        assert app.lock.on
        assert "4 keys swallowed" in words(app)
        assert app.runner.actions == []
        await pilot.press("l", "l")
        app.clock = lambda: 1020.0
        await settled(pilot)
        assert not app.lock.on
        assert "Keys unlocked; 4 swallowed" in words(app)
        await pilot.press("1")
        assert app.runner.did() == [("hit", "1")]


async def test_what_fish_stands_beside_the_helm_and_hits_go_on():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await pilot.press("3", "b", "w")
        await settled(pilot)
        assert app.screen.query_one(FishList).display
        assert "What fish on 3 P LOW" in words(app)
        assert app.screen.query_one(FishList).region.right == 120  # no scrap of the helm beside it
        await pilot.press("7", "down", "enter", "2", "7", "enter")
        await settled(pilot)
        assert app.runner.did()[:3] == [("hit", "3"), ("outcome", "3"), ("hit", "7")]
        catches = [a for a in app.runner.actions if a.kind == "catch"]
        assert [c.of for c in catches] == ["a1", "a1"]
        assert catches[0].species == "lake trout"
        assert catches[1].length_m == pytest.approx(27 * 0.0254)
        assert not app.screen.query_one(FishList).display


async def test_a_list_cuts_no_number_of_the_low_screens_rows():
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await pilot.press("3", "w")
        await settled(pilot)
        left = app.screen.query_one(FishList).region.x
        beside = {line[left - 1] for line in words(app).splitlines() if line[left] == "┃"}
        assert beside <= {" ", "─"}  # 6 of 61 would be another temperature


@pytest.mark.parametrize("size", SIZES)
async def test_a_list_leaves_the_whole_warning_and_an_unread_caution_leaves_the_typing_line(size):
    app = console("turning", session=Session.LIVE, read=False)
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        await pilot.press("3", "b", "w")
        await settled(pilot)
        assert "What fish on 3 P LOW" in words(app)
        assert "→ Widen the turn to 150 ft." in words(app)
        await pilot.press("down", "enter")
        await settled(pilot)
        assert "LENGTH: lake trout" in words(app)
        assert "Enter sets · Tab: weight · Esc or 6 s drops" in words(app)
        assert "READ ONCE" not in words(app)
        await pilot.press("escape")
        await settled(pilot)
        assert "READ ONCE" in words(app)


async def test_lost_focus_shows_a_banner_across_the_screen():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        app.post_message(events.AppBlur())
        await settled(pilot)
        banner = app.screen.query_one(FocusBanner)
        assert banner.display
        assert banner.size.width == 120
        assert "KEYS DO NOT ARRIVE" in words(app)
        app.post_message(events.AppFocus())
        await settled(pilot)
        assert not app.screen.query_one(FocusBanner).display


@pytest.mark.parametrize("page", ["drill", "manual", "words", "help", *SCREENS])
async def test_a_key_that_comes_before_a_page_has_its_widgets_keeps_its_meaning(page):
    """Two keys in one breath, as a cat's: the second met a page without widgets, and the console ended."""
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        app.perform(BY_ID[page], app.clock()) if page in BY_ID else app.show_view(page)
        assert not app.screen.composed
        for key, character in (("3", "3"), ("pagedown", None), ("home", None), ("tab", "\t")):
            app._take_key(events.Key(key, character))
        await settled(pilot)
        assert app.screen.composed
        assert "hit" in [action.kind for action in app.runner.actions]

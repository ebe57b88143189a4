"""The manual on the screen, over a session and by itself."""

from __future__ import annotations

from textual.widgets import Input, Markdown

from console.frame.test_app import console, settled, words
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.console.ashore.base import Rows, TopBar
from sternwatch.console.ashore.manual import ManualApp
from sternwatch.console.words.manual import every_page


async def test_over_a_session_pages_are_turned_and_a_rod_key_still_is_a_hit() -> None:
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.show_manual()
        await pilot.pause()
        assert "MANUAL" in words(app)
        first = app.screen.query_one("#text", Markdown).source
        assert "# First day" in first
        await pilot.press("right")
        await pilot.pause()
        assert "# The helm screen" in app.screen.query_one("#text", Markdown).source
        await pilot.press("left", "left")
        await pilot.pause()
        assert "# Preferences" in app.screen.query_one("#text", Markdown).source
        before = app.screen.query_one("#reading").scroll_y
        await pilot.press("pagedown")
        await pilot.pause()
        assert app.screen.query_one("#reading").scroll_y > before
        await pilot.press("2")
        await settled(pilot)
        assert [(a.kind, a.rod) for a in app.runner.actions] == [("hit", "2")]
        await pilot.press("escape")
        await settled(pilot)
        assert app.screen is app.helm_screen


def shown(app: SternwatchApp) -> str:
    return app.screen.query_one("#text", Markdown).source


async def test_over_a_session_letters_search_it_and_a_rod_key_still_is_a_hit() -> None:
    app = console()
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        app.show_manual()
        await pilot.press("right", *"tape")
        await pilot.pause()
        first = shown(app)
        assert first.startswith("**tape_** 1 of ")
        assert "tape" in first.split("\n", 1)[1].lower()
        await pilot.press("right")
        await pilot.pause()
        assert shown(app).startswith("**tape_** 2 of ")
        await pilot.press("2")
        await settled(pilot)
        assert [(a.kind, a.rod) for a in app.runner.actions] == [("hit", "2")]
        await pilot.press("space", *"zzq")
        await pilot.pause()
        assert "nothing about that" in shown(app)
        await pilot.press(*["backspace"] * 8)
        await pilot.pause()
        assert "# The helm screen" in shown(app), "the page that was read before"
        await pilot.press(*"tape", "escape")
        await settled(pilot)
        app.show_manual()
        await pilot.pause()
        assert "# The helm screen" in shown(app)


async def test_by_itself_it_is_searched_by_typing_and_esc_leaves_step_by_step() -> None:
    app = ManualApp(Preferences(), every_page(), "turns")
    async with app.run_test(size=(120, 36)) as pilot:
        await pilot.pause()
        assert app.query_one(TopBar).about == "Turns, speed and the bottom"
        await pilot.press("slash", *"tape", "enter")
        await pilot.pause()
        assert "tape" in app.query_one("#text", Markdown).source
        assert app.query_one(Rows).has_focus
        await pilot.press("slash", *"xyz")
        await pilot.pause()
        assert app.query_one(Rows).option_count == 1
        await pilot.press("escape")
        await pilot.pause()
        assert app.query_one(Input).value == ""
        assert app.query_one(Rows).option_count == len(every_page())
        await pilot.press("escape")
        await pilot.pause()
    assert app.return_code == 0

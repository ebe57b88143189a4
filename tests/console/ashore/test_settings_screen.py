"""The preferences and the key test by keys alone: what is asked, what is written, what is refused."""

from __future__ import annotations

import tomllib
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from sternwatch import settings
from sternwatch.config import Preferences, load_preferences
from sternwatch.console.ashore.base import AnswerLine, AshoreApp, Pick, Rows
from sternwatch.console.ashore.keytest_screen import Asking, KeyTestApp
from sternwatch.console.ashore.settings_screen import SettingsApp, SettingsScreen

RODS = (("1", "P HIGH"), ("2", "P LOW"))


@pytest.fixture(autouse=True)
def folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path / "config"))
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path / "data"))


def screen_of(app: AshoreApp[Any]) -> SettingsScreen:
    return next(one for one in app.screen_stack if isinstance(one, SettingsScreen))


async def to_row(pilot: Pilot[Any], title: str) -> None:
    screen = screen_of(pilot.app)  # type: ignore[arg-type]
    screen.query_one(Rows).highlighted = next(i for i, row in enumerate(screen._rows) if row.title == title)
    await pilot.pause()


def written() -> dict[str, Any]:
    return tomllib.loads(settings.config_path().read_text(encoding="utf-8"))


def said(app: AshoreApp[Any]) -> str:
    return app.screen.query_one(AnswerLine).words


@pytest.mark.parametrize("size", [(80, 24), (120, 48)])
async def test_a_choice_and_a_typed_length_are_written_at_once(size: tuple[int, int]) -> None:
    app = SettingsApp(Preferences())
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        await to_row(pilot, "units")
        await pilot.press("enter", "2")
        await pilot.pause()
        assert written() == {"units": "metric"}
        await to_row(pilot, "a little line")
        await pilot.press("enter", *"2 m", "enter")
        await pilot.pause()
        assert written() == {"units": "metric", "little": "2 m"}
        assert said(app) == "a little line: 2 m, written"
        assert app.preferences == load_preferences()
        await pilot.press("delete")
        await pilot.pause()
        assert written() == {"units": "metric"}


async def test_what_is_not_accepted_is_said_and_the_line_stays_open() -> None:
    app = SettingsApp(Preferences())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await to_row(pilot, "risk of a turn")
        await pilot.press("enter", *"90", "enter")
        await pilot.pause()
        assert "not between 0 and 50 %" in said(app)
        assert not settings.config_path().exists()
        assert screen_of(app).typing is not None
        await pilot.press("escape")
        await pilot.pause()
        assert screen_of(app).typing is None
        await pilot.press("escape")
    assert not settings.config_path().exists()


async def test_a_feed_that_is_none_is_refused_and_a_real_one_stands_in_the_list() -> None:
    app = SettingsApp(Preferences())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await to_row(pilot, "another feed")
        await pilot.press("enter", *"gps=tcp:here", "enter")
        await pilot.pause()
        assert "feed.gps" in said(app)
        assert not settings.config_path().exists()
        await pilot.press(*":10110", "enter")
        await pilot.pause()
        assert written() == {"feed": {"gps": {"source": "tcp:here:10110"}}}
        assert "feed gps" in [row.title for row in screen_of(app)._rows]


async def test_an_act_gets_another_key_unless_another_act_has_it() -> None:
    app = SettingsApp(Preferences())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("k")
        await pilot.pause()
        listed = app.screen.query_one(Rows)
        listed.highlighted = next(
            i for i in range(listed.option_count) if str(listed.get_option_at_index(i).prompt)[2:].startswith("bite")
        )
        await pilot.press("enter")
        await pilot.pause()
        assert app.screen.query_one(Asking).words[0] == "Press the key for 'bite'"
        await pilot.press("v")
        await pilot.pause()
        assert "would mean both" in said(app)
        await pilot.press("k")
        await pilot.pause()
        await pilot.press("end", "home")
        listed = app.screen.query_one(Rows)
        listed.highlighted = next(
            i for i in range(listed.option_count) if str(listed.get_option_at_index(i).prompt)[2:].startswith("bite")
        )
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("f2")
        await pilot.pause()
        assert written() == {"keys": {"bite": "f2"}}


@pytest.mark.parametrize("size", [(80, 24), (120, 48)])
async def test_the_key_test_asks_for_every_rod_and_writes_what_differs(size: tuple[int, int]) -> None:
    app = KeyTestApp(Preferences(), RODS)
    async with app.run_test(size=size) as pilot:
        await pilot.pause()
        asking = app.screen.query_one(Asking)
        assert asking.words[0] == "Press the key for 1 P HIGH"
        await pilot.press("ampersand")
        await pilot.pause()
        assert asking.words[0] == "Press the key for 2 P LOW"
        await pilot.press("enter")
        await pilot.pause()
        await pilot.press("v")
        await pilot.pause()
        assert said(app) == "v means 'next view'"
        await pilot.press("escape")
        await pilot.pause()
    assert written() == {"keys": {"rod 1": "&"}}
    assert app.return_value is not None
    assert "another key for 1 rod" in app.return_value


async def test_a_key_test_that_found_nothing_writes_nothing() -> None:
    app = KeyTestApp(Preferences(), RODS)
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await pilot.press("1", "2", "escape")
        await pilot.pause()
    assert not settings.config_path().exists()
    assert app.return_value == "The keys are as they were"


async def test_a_choice_that_was_on_its_way_when_its_list_was_left_leaves_no_other_screen() -> None:
    """Two quick keys: the second popped whatever lay beneath, and the program ended with a traceback."""
    app = SettingsApp(Preferences())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        await to_row(pilot, "units")
        await pilot.press("enter")
        picking = app.screen
        assert isinstance(picking, Pick)
        picking.dismiss(None)
        picking.dismiss(None)
        picking.query_one(Rows).action_select()
        await pilot.pause()
        assert isinstance(app.screen, SettingsScreen)
        assert not app._exit

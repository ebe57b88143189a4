"""From an empty home directory to one's own four rods on the console, by keys alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from textual.pilot import Pilot

from sternwatch import places
from sternwatch.cli.common import session
from sternwatch.cli.main import main
from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.console.ashore.base import AnswerLine
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.ashore.start_words import Answered, Command
from sternwatch.console.editor.screen import EditorApp, EditorScreen
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.watch.picture.model import RodState
from sternwatch.watch.sessions import prepare
from sternwatch.watch.sessions.runner import Runner


async def chosen_by(keys: str) -> Command:
    """What is chosen on the start screen."""
    app = StartApp(Preferences(), lambda command: Answered(1, "", ""))  # noqa: ARG005
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press(*keys.split())
    assert app.return_value is not None
    return app.return_value


def run_until_the_screen(command: Command, monkeypatch: pytest.MonkeyPatch) -> object:
    """Run a command as typed, up to where its screen would open; what would be shown."""
    opened: list[object] = []

    def keep(app: EditorApp, **_: object) -> None:
        opened.append(app)

    monkeypatch.setattr(EditorApp, "run", keep)
    monkeypatch.setattr(session, "show", lambda screen, _deck: opened.append(screen) or 0)
    assert main(command) == 0
    return opened[0]


async def waited(pilot: Pilot[None], true: Callable[[], bool], what: str) -> None:
    for _ in range(1200):
        if true():
            return
        await pilot.pause(0.1)
    raise AssertionError(what)


async def test_four_rods_built_saved_loaded_and_on_the_console(monkeypatch: pytest.MonkeyPatch) -> None:
    # The solver is that of all the other tests, and not compiled into an empty cache for this one.
    monkeypatch.setattr(prepare, "prepare", lambda *_: None)
    monkeypatch.setattr(places, "set_numba_cache", lambda: None)
    monkeypatch.setattr("sternwatch.cli.common.terminal.need", lambda: None)  # screens are kept, and not run
    boat = places.boat_file()
    assert not boat.exists()
    assert not places.data_dir().exists()

    editor = run_until_the_screen(await chosen_by("8"), monkeypatch)
    assert isinstance(editor, EditorApp)
    async with editor.run_test(size=(80, 24)) as pilot:
        screen = editor.screen
        assert isinstance(screen, EditorScreen)
        await pilot.press("down", "down", "enter", *"9 ft", "enter")  # her beam
        await pilot.press("a", "1", "1")  # a diver on wire to port
        await pilot.press("g", "left", "left", "up", "enter")
        await pilot.press("m")  # its mirror image
        await pilot.press("a", "2", "1", "m")  # two downriggers
        await pilot.press("k")  # keys as they stand
        assert [rod["name"] for rod in editor.edited.rods] == ["P DIVER", "S DIVER", "P DOWN", "S DOWN"]
        await pilot.press("left", "left")  # from S DOWN, on key 3, to the first station
        assert editor.edited.chosen == 0
        await pilot.press("down", "down", "down", "down", "enter", *"180", "enter")  # its line out
        await waited(pilot, lambda: editor.edited.is_current, editor.edited.beside.trouble)
        worked = editor.edited.worked
        assert worked is not None
        depth = {rod.name: rod.depth_m for rod in worked.depths.rods}
        assert depth["P DIVER"] is not None
        assert depth["S DIVER"] is not None
        assert depth["P DIVER"] > depth["S DIVER"]  # 180 ft against 150
        await pilot.press("s")
        assert screen.query_one(AnswerLine).words == f"saved: {boat}"
        await pilot.press("escape")
    assert not editor.is_running

    spread = load_spread(boat)
    assert [(rod.key, rod.name) for rod in sorted(spread.rods, key=lambda rod: rod.key)] == [
        ("1", "P DIVER"), ("2", "P DOWN"), ("3", "S DOWN"), ("4", "S DIVER")
    ]  # fmt: skip
    assert spread.rods[0].line_out_m == pytest.approx(180 * 0.3048)

    shown = run_until_the_screen(await chosen_by("2 1"), monkeypatch)  # my boat, a dry run on the demo's feed
    assert isinstance(shown, session.Screen)
    runner: Runner = shown.make_runner(Preferences())
    console = SternwatchApp(runner, Preferences())
    async with console.run_test(size=(120, 36)) as pilot:
        await waited(pilot, lambda: console.shown is not None, "no picture came")
        await pilot.press("escape")  # a caution, read once
        for _ in range(6):
            await pilot.press("right")  # ten seconds on, each
        await waited(
            pilot,
            lambda: console.shown is not None and all(rod.depth_m is not None for rod in console.shown.rods),
            "no depths came",
        )
        picture = console.shown
        assert picture is not None
        assert [(rod.key, rod.name) for rod in picture.rods] == [(rod.key, rod.name) for rod in spread.rods]
        assert all(rod.state is RodState.FISHING for rod in picture.rods)
        await pilot.press("1")
        assert console.controls.chosen == "1"

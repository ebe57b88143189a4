"""The screens off the water, and any key: start, questions, editor, preferences, key test, manual."""

from __future__ import annotations

import random
from collections.abc import Callable
from pathlib import Path
from typing import Any

from textual import events
from textual.pilot import Pilot

from simulation.day import BrokenError
from simulation.hands import ANSWERS, MOVES, PASTED, ROWS, SIZES, key_event
from simulation.screen import never_read
from sternwatch import places
from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AshoreApp
from sternwatch.console.ashore.keytest_screen import NUMBER_ROW, KeyTestApp
from sternwatch.console.ashore.manual import ManualApp
from sternwatch.console.ashore.questions import setup_app, shelf_app
from sternwatch.console.ashore.settings_screen import SettingsApp
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.ashore.start_words import Answered
from sternwatch.console.editor.screen import EditorApp
from sternwatch.console.words.manual import every_page
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.shelf.pieces import parse_shelf
from sternwatch.gear.spread_file.load import load_spread

Make = Callable[[Path, random.Random], AshoreApp[Any]]


def _boat(folder: Path) -> Path:
    path = folder / "boat.toml"
    path.write_bytes((places.shipped("demo_logs") / "evening.toml").read_bytes())
    return path


def _nothing(_question: object) -> Any:
    raise RuntimeError("not computed here")


def _answered(_command: object) -> Answered:
    return Answered(1, "", "sternwatch: not here")


def _start(_folder: Path, rng: random.Random) -> AshoreApp[Any]:
    if rng.random() < 0.5:
        path = places.boat_file()
        path.parent.mkdir(parents=True, exist_ok=True)
        _boat(path.parent)
    return StartApp(Preferences(), _answered, "")


SCREENS: dict[str, Make] = {
    "start": _start,
    "editor": lambda folder, _: EditorApp(
        Preferences(), SpreadDocument.open(_boat(folder)), parse_shelf(""), _nothing
    ),
    "set-up": lambda folder, rng: setup_app(
        Preferences(), parse_shelf(""), folder / "boat.toml", every_question=rng.random() < 0.5
    ),
    "shelf": lambda folder, _: shelf_app(Preferences(), parse_shelf(""), folder / "shelf.toml"),
    "preferences": lambda _folder, _: SettingsApp(Preferences()),
    "key test": lambda _folder, _: KeyTestApp(Preferences(), NUMBER_ROW),
    "manual": lambda _folder, _: ManualApp(Preferences(), every_page()),
}
WORDS = [
    *(key for key in MOVES if key != "escape"),
    "enter",
    "enter",
    "down",
    "down",
    "escape",
    "backspace",
    "delete",
    "f1",
    "f5",
    "ctrl+s",
    "ctrl+z",
    "?",
]


def _keys(rng: random.Random) -> tuple[str, ...]:
    chance = rng.random()
    if chance < 0.5:
        return (rng.choice(WORDS),) * rng.choice((1, 1, 1, 2, 6))
    if chance < 0.65:
        return (*("space" if one == " " else one for one in rng.choice(ANSWERS)), "enter")
    if chance < 0.9:
        return (rng.choice("".join(ROWS)),)
    return tuple(rng.choice("".join(ROWS) + "AGNXZ") for _ in range(rng.randrange(3, 20)))


async def pressed(name: str, seed: int, folder: Path, moves: int) -> int:
    """Press whatever; returns how many keys the screen took before it was left. What it wrote can be read."""
    rng = random.Random(f"ashore {name} {seed}")
    app = SCREENS[name](folder, rng)
    keys, trail = 0, []
    async with app.run_test(size=rng.choice(SIZES[:4])) as pilot:
        for _ in range(moves):
            if not app.is_running or app._exit:
                break
            chance = rng.random()
            if chance < 0.03:
                await pilot.resize_terminal(*rng.choice(SIZES))
            elif chance < 0.05:
                app.post_message(events.Paste(rng.choice(PASTED)))
            elif chance < 0.07:
                await _clicked(pilot, rng)
            else:
                some = _keys(rng)
                trail.append(" ".join(some))
                for key in some:
                    app.post_message(key_event(key))
                    if rng.random() < 0.8:
                        await pilot.pause(0.0)
                    keys += 1
            await pilot.pause(0.0)
            if app.is_running and not app._exit and (wrong := never_read(app)):
                raise BrokenError(f"{name} says what it never should: {wrong[0]}, after {trail[-12:]}")
        if app.is_running and not app._exit:
            app.post_message(events.Key("ctrl+q", None))
            await pilot.pause(0.01)
            if app.is_running and not app._exit:
                raise BrokenError(f"{name} does not end, after {trail[-12:]}")
    for path in folder.glob("boat.toml"):
        load_spread(path)
    return keys


async def _clicked(pilot: Pilot[Any], rng: random.Random) -> None:
    width, height = pilot.app.size
    await pilot.click(offset=(rng.randrange(width), rng.randrange(height)))

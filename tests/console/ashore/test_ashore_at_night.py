"""The screens off the water keep night's promise too: no white, next to no blue, whatever Textual's widgets mix."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from console.paint.test_themes import emitted, warm
from sternwatch import places
from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AshoreApp
from sternwatch.console.ashore.questions import setup_app
from sternwatch.console.ashore.start import StartApp
from sternwatch.console.ashore.start_words import Answered
from sternwatch.console.editor.screen import EditorApp
from sternwatch.gear.editing.document import SpreadDocument
from sternwatch.gear.shelf.pieces import parse_shelf

NIGHT = Preferences(theme="night")


def editor(path: Path) -> AshoreApp[Any]:
    path.write_bytes((places.shipped("demo_logs") / "evening.toml").read_bytes())

    def nothing(_question: object) -> Any:
        raise RuntimeError("not computed in this test")

    return EditorApp(NIGHT, SpreadDocument.open(path), parse_shelf(""), nothing)


def start(_path: Path) -> AshoreApp[Any]:
    return StartApp(NIGHT, lambda _command: Answered(1, "", "sternwatch: no"), "something was wrong")


def setting_up(path: Path) -> AshoreApp[Any]:
    return setup_app(NIGHT, parse_shelf(""), path)


@pytest.mark.parametrize(
    ("make", "keys"),
    [
        (editor, ""),
        (editor, "down down down down enter 1 x"),
        (editor, "g left"),
        (editor, "a"),
        (editor, "question_mark"),
        (start, "down"),
        (start, "3"),
        (start, "4"),
        (setting_up, "enter 9 0 enter"),
        (setting_up, "enter 9 enter enter"),
    ],
)
async def test_no_screen_at_night_emits_white_or_blue(make: Any, keys: str, tmp_path: Path) -> None:
    app = make(tmp_path / "boat.toml")
    async with app.run_test(size=(100, 30)) as pilot:
        await pilot.press(*keys.split())
        await pilot.pause(0.1)
        shown = emitted(app)
    assert len(shown) >= 3
    assert [colour for colour in shown if not warm(colour)] == []

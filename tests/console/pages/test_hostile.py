"""Every page of the console, shown a session in which every text is an enemy's: nothing in it is obeyed."""

from __future__ import annotations

from dataclasses import fields, is_dataclass, replace
from typing import Any

import fake_picture
import fake_senses
import pytest
from textual.content import Content
from textual.widgets import Static

from console.fake_runner import FakeReplay, FakeRunner
from console.frame.test_app import console, settled, words
from hostile import NASTY, obeyed
from sternwatch.config import Preferences
from sternwatch.console.ashore.base import AshoreApp
from sternwatch.console.controls.controls import Tone
from sternwatch.console.paint.canvas import Grid
from sternwatch.feed.sentences.accounts import Cause
from sternwatch.watch.picture.alert import Priority
from sternwatch.watch.picture.model import Session
from sternwatch.watch.sessions.runner import Mark, Senses

_FREE = {"name", "text", "advice", "trip", "source", "sentence", "talker", "suspect", "calibration", "label", "lure"}


def poisoned(value: Any) -> Any:
    """The same value with an enemy's words in every free text of it."""
    if isinstance(value, tuple):
        return tuple(poisoned(one) for one in value)
    if not is_dataclass(value):
        return value
    changed: dict[str, Any] = {}
    for field in fields(value):
        now = getattr(value, field.name)
        if field.name in _FREE and isinstance(now, str):
            changed[field.name] = now[:3] + NASTY
        elif is_dataclass(now) or isinstance(now, tuple):
            changed[field.name] = poisoned(now)
    return replace(value, **changed)  # type: ignore[type-var]


def _senses() -> Senses:
    report = fake_senses.report(
        source=f"a{NASTY}", accepted={NASTY: 3}, unused={NASTY: 1},
        last_rejected={Cause.BAD_CHECKSUM: NASTY.encode(), Cause.CUT_OFF: b"\x1b[2J\xff"},
        last_bad_field=NASTY, complaint=NASTY, mending=NASTY,
    )  # fmt: skip
    entries = tuple(replace(one, source=f"a{NASTY}", sentence=NASTY, talker=NASTY) for one in fake_senses.WELL)
    return Senses(fake_senses.T_0, entries, (report,), (fake_senses.status(text=NASTY, source=f"a{NASTY}"),))


@pytest.mark.parametrize("size", [(80, 24), (160, 50)])
async def test_no_page_of_a_session(size: tuple[int, int]) -> None:
    app = console("straight", session=Session.REPLAY)
    runner: FakeRunner = app.runner
    picture = poisoned(fake_picture.CASES["straight"]())
    alert = replace(fake_picture.CASES["troubled"]().alerts[0], text=f"crossing {NASTY}", advice=NASTY,
                    priority=Priority.WARNING)  # fmt: skip
    runner.first = replace(picture, alerts=(alert,))
    runner.sensed = _senses()
    replay = FakeReplay()
    replay.at = replace(replay.at, timing=NASTY, marks=(Mark(300.0, "splice", NASTY),))
    runner._replay = replay
    read, written_out = 0, 0
    async with app.run_test(size=size) as pilot:
        app.controls.say(f"NOTE  {NASTY}", app.clock(), Tone.ERROR)
        for view in app.screens_of_views:
            app.show_view(view)
            await settled(pilot)
            shown = words(app)
            assert obeyed(shown) == [], view
            assert all(len(line) <= size[0] for line in shown.splitlines())
            read += len(shown)
            written_out += shown.count(r"\u001b[2J")
        assert read > len(app.screens_of_views) * size[0]
        assert written_out > 3


async def test_no_widget_of_a_screen_off_the_water() -> None:
    """Those that are not painted: the filter takes out what would be obeyed; cells keep their places."""

    class Ashore(AshoreApp[None]):
        def compose(self) -> Any:
            yield Static(Content(f"file {NASTY} end"))

    app = Ashore(Preferences())
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.pause()
        shown = words(app)
        assert obeyed(shown) == []
        assert "file [2J" in shown
        assert "end" in shown


def test_what_is_painted_can_be_read() -> None:
    grid = Grid(60, 1)
    assert grid.put(0, 0, "a\x1b[2J") == len("a\\u001b[2J")
    assert grid.text() == r"a\u001b[2J"
    grid = Grid(12, 1)
    grid.put_right(12, 0, "\x07end")
    assert grid.text() == r"   \u0007end"

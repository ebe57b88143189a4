"""What stays for the session is put out of the collector's sight, once for each part, and only in a terminal."""

from __future__ import annotations

import fake_outlook
import fake_picture
import pytest

from console.frame.test_app import console
from sternwatch.console import stillness
from sternwatch.console.stillness import Stillness


@pytest.fixture
def frozen(monkeypatch):
    count = []
    monkeypatch.setattr(stillness.gc, "freeze", lambda: count.append(1))
    return count


def test_once_for_each_part_that_has_come_up(frozen):
    still = Stillness()
    still.wanted = True
    picture, outlook = fake_picture.straight(), fake_outlook.quiet()
    assert not still.look(None, None)
    assert still.look(picture, None)
    assert not still.look(picture, None)
    assert still.look(picture, outlook)
    assert not still.look(picture, None), "an outlook that went and comes again is not another part"
    assert not still.look(picture, outlook)
    assert len(frozen) == 2


async def test_only_a_session_in_a_terminal_wants_it(frozen, monkeypatch):
    app = console()
    async with app.run_test(size=(80, 24)):
        app._tick()
    assert frozen == []
    monkeypatch.setattr(app, "run", lambda **_: None)
    app.run_session()
    assert app.stillness.wanted

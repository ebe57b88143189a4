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


def test_garbage_of_all_ages_goes_every_ten_minutes(monkeypatch):
    gone: list[int] = []
    monkeypatch.setattr(stillness.gc, "collect", lambda: gone.append(1))
    one = Stillness()
    assert [t for t in range(100, 2000, 50) if one.tidy(float(t))] == [700, 1300, 1900]
    assert len(gone) == 3
    one.pressed_s = 2498.0
    assert not one.tidy(2501.0)  # not while somebody is at the keys
    assert one.tidy(2504.0)
    one.pressed_s = 3704.0
    assert one.tidy(3705.0)  # but some time
    assert not one.tidy(10.0)  # another clock
    assert one.tidy(610.0)

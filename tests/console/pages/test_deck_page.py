"""The deck's page on the console: begun from the palette, shown with its code, told what stands, ended."""

import socket

import pytest

from console.frame.test_app import console, settled, words
from sternwatch.cautions import COMPUTED
from sternwatch.console.frame.deck_mate import face_of
from sternwatch.console.keys.registry import ACTS
from sternwatch.deck import deck as deck_module
from sternwatch.deck import where

SIZES = [(80, 24), (120, 36), (200, 60)]


@pytest.fixture(autouse=True)
def free_port(monkeypatch):
    with socket.socket() as held:
        held.bind(("127.0.0.1", 0))
        port = held.getsockname()[1]
    monkeypatch.setattr(where, "PORT", port)
    monkeypatch.setattr(where.Where, "__init__", _with_port(port))
    return port


def _with_port(port):
    def init(self, lan=False, address="", _port=0):
        for name, value in (("lan", lan), ("address", address), ("port", port)):
            object.__setattr__(self, name, value)

    return init


async def chosen(pilot, act):
    pilot.app.chosen_in_palette(next(one for one in ACTS if one.id == act))
    await settled(pilot)


async def test_the_palette_begins_it_shows_it_and_ends_it(free_port):
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await chosen(pilot, "deck")
        deck = app.deck_mate.deck
        assert deck.url.startswith(f"http://127.0.0.1:{free_port}/")
        assert deck.url in words(app)
        assert "Only this machine can open it" in words(app)
        assert COMPUTED in words(app)
        await settled(pilot)
        told = deck._server.fan.shown
        assert told.picture is app.shown
        assert told.face == "dusk"
        await pilot.press("3")
        assert app.runner.did() == [("hit", "3")]  # rod keys still are hits
        await chosen(pilot, "deck off")
        assert app.deck_mate.deck is None
        assert not deck.runs
        assert "no page for the deck" in words(app)


@pytest.mark.parametrize("size", SIZES)
async def test_for_phones_there_is_a_code_at_every_size(size, monkeypatch):
    monkeypatch.setattr(where, "own_addresses", lambda: ["127.0.0.1"])
    app = console()
    async with app.run_test(size=size) as pilot:
        await settled(pilot)
        await chosen(pilot, "deck")
        await chosen(pilot, "deck lan")
        shown = words(app)
        assert app.deck_mate.deck.url in shown
        assert "listening" in shown
        assert shown.count("█") > 150
    assert not app.deck_mate.deck


async def test_where_no_code_can_be_drawn_the_address_is_to_be_typed(monkeypatch):
    monkeypatch.setattr(where, "own_addresses", lambda: ["127.0.0.1"])
    app = console(theme="plain")
    async with app.run_test(size=(80, 24)) as pilot:
        await settled(pilot)
        await chosen(pilot, "deck lan")
        shown = words(app)
        assert app.deck_mate.deck.url in shown
        assert "Type the address into a phone's browser" in shown
        assert "###" not in shown


async def test_why_there_is_none_is_said(monkeypatch):
    monkeypatch.setattr(deck_module, "NEEDS", ("no_such_package",))
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await chosen(pilot, "deck")
        assert "pip install segno uvicorn" in words(app)


async def test_a_turn_is_called_only_when_one_is_planned():
    app = console()
    async with app.run_test(size=(120, 36)) as pilot:
        await settled(pilot)
        await chosen(pilot, "call turn")
        assert "No turn is planned" in words(app)
        await pilot.press("p", "right")
        await chosen(pilot, "call turn")
        assert app.controls.called[0].startswith("starboard")
        assert "in 40 s" in words(app)
        await chosen(pilot, "call turn")
        assert app.controls.called is None


async def test_each_theme_has_its_face():
    app = console()
    faces = {theme.name: face_of(theme.look, dark=theme.dark) for theme in app.loaded_themes.themes}
    assert faces["day"] == "sun"
    assert faces["dusk"] == "dusk"
    assert faces["night"] == "night"

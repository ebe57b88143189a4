"""Finding out what a keyboard sends for each rod, and what of it goes to the preferences."""

from __future__ import annotations

import pytest

from sternwatch.config import ConfigError
from sternwatch.console.keys import keymap
from sternwatch.console.keys.acting import Keyboard
from sternwatch.console.keys.keytest import KeyTest

RODS = [("1", "P HIGH"), ("2", "P LOW"), ("3", "S LOW")]


def test_rods_are_asked_for_one_after_the_other_and_shown_what_came() -> None:
    test = KeyTest(RODS, keymap.build({}))
    assert test.prompt == "Press the key for 1 P HIGH"
    test.press("&")
    assert test.said == "& is 1 P HIGH"
    assert test.prompt == "Press the key for 2 P LOW"
    test.press("2")
    test.press("enter")
    assert test.said == "3 S LOW keeps 3"
    assert test.done
    assert test.changes == {"rod 1": "&"}


def test_the_keymap_made_of_the_changes_gives_each_rod_its_key() -> None:
    test = KeyTest(RODS, keymap.build({}))
    test.press("end")  # a number pad with its lock off
    test.press("down")
    assert test.said.startswith("↓ means")  # the arrow lets line out: another is wanted
    test.press("3")
    test.press("2")
    with_changes = keymap.build(test.changes)
    for token, station in (("end", "rod 1"), ("3", "rod 2"), ("2", "rod 3")):
        act = with_changes.act(Keyboard.HELM, token)
        assert act is not None
        assert act.id == station


def test_a_station_without_a_rod_gives_its_key_up() -> None:
    test = KeyTest(RODS, keymap.build({}))
    for token in ("7", "8", "9"):
        test.press(token)
    assert test.changes == {"rod 1": "7", "rod 2": "8", "rod 3": "9", "rod 7": [], "rod 8": [], "rod 9": []}
    assert keymap.build(test.changes).keys_of(Keyboard.HELM, "rod 7") == ()


def test_one_key_is_never_two_rods() -> None:
    test = KeyTest(RODS, keymap.build({}))
    test.press("a" if keymap.build({}).act(Keyboard.HELM, "a") is None else "+")
    test.press("+")
    assert test.said == "+ is 1 P HIGH already; Backspace goes back to it"
    test.press("backspace")
    assert test.prompt == "Press the key for 1 P HIGH"


def test_a_rod_that_kept_its_key_against_another_is_told_when_the_keymap_is_made() -> None:
    test = KeyTest(RODS, keymap.build({}))
    for token in ("enter", "1", "3"):
        test.press(token)
    with pytest.raises(ConfigError, match="would mean both 'rod 1' and 'rod 2'"):
        keymap.build(test.changes)


@pytest.mark.parametrize(
    ("token", "said"), [("v", "v means 'next view'"), ("f20", "sends 'f20'"), ("ctrl+q", "cannot be")]
)
def test_what_cannot_be_a_rods_key_is_said_and_the_rod_asked_for_again(token: str, said: str) -> None:
    test = KeyTest(RODS, keymap.build({}))
    test.press(token)
    assert said in test.said
    assert test.prompt == "Press the key for 1 P HIGH"


def test_afterwards_any_key_tells_what_it_means() -> None:
    test = KeyTest(RODS[:1], keymap.build({}))
    test.press("1")
    assert test.changes == {}
    test.press("u")
    assert test.said == "u means 'take back'"
    test.press("é")
    assert test.said == "é means nothing"

"""Typing line, list of fish, wiping lock, what waits to be shown, what is remembered. No screen."""

import json
from dataclasses import replace

import fake_picture
import pytest

from sternwatch.console import state
from sternwatch.console.controls.lists import Listing, Picked, latest_first
from sternwatch.console.controls.pending import EXPECT_S, SETTLE_S, Expect, Ledger
from sternwatch.console.controls.typing_line import DROP_S, Typed, TypingLine
from sternwatch.console.keys.lock import QUIET_S, Twice, WipingLock
from sternwatch.watch.picture.model import EntryPicture


def line(**given):
    return TypingLine("LINE OUT 3 P LOW", "length", "3", "ft", 100.0, **given)


def test_digits_are_typed_and_enter_sets():
    typing = line()
    assert [typing.key(token, 101.0) for token in "165"] == [Typed.KEPT] * 3
    assert typing.value == 165.0
    assert typing.key("enter", 102.0) is Typed.SET


def test_a_typing_mistake_is_rubbed_out():
    typing = line()
    for token in ["1", "7", "backspace", "6", ".", ".", "5"]:
        typing.key(token, 101.0)
    assert typing.text == "16.5"


def test_the_first_digit_takes_the_place_of_a_proposal():
    typing = line(text="20", offered=True)
    for token in "15":
        typing.key(token, 101.0)
    assert typing.text == "15"
    kept = line(text="20", offered=True)
    assert kept.key("enter", 101.0) is Typed.SET
    assert kept.value == 20.0
    rubbed = line(text="20", offered=True)
    for token in ["-", "backspace", "5"]:
        rubbed.key(token, 101.0)
    assert rubbed.text == "25"


def test_what_was_typed_before_tab_is_gone_on_with():
    typing = line(text="2")
    typing.key("4", 101.0)
    assert typing.text == "24"


def test_enter_on_nothing_waits_and_escape_drops():
    typing = line()
    assert typing.key("enter", 101.0) is Typed.KEPT
    assert typing.key("escape", 101.0) is Typed.DROPPED


def test_rod_keys_that_are_no_digits_are_swallowed():
    typing = line()
    assert typing.key("-", 101.0) is Typed.KEPT
    assert typing.key("=", 101.0) is Typed.KEPT
    assert typing.text == ""


def test_other_keys_keep_their_meaning():
    assert line().key("o", 101.0) is Typed.OTHER


def test_six_seconds_without_a_key_of_its_own_drop_it():
    typing = line()
    typing.key("1", 103.0)
    typing.key("o", 108.0)
    assert not typing.expired(103.0 + DROP_S - 0.01)
    assert typing.expired(103.0 + DROP_S)
    assert typing.left_s(104.0) == DROP_S - 1.0


def test_a_list_is_walked_round_and_taken():
    listing = Listing("What fish", "h1", ("coho", "lake trout"), 0.0)
    assert listing.key("up", 1.0) is Picked.KEPT
    assert listing.choice == "lake trout"
    listing.key("down", 1.0)
    assert listing.choice == "coho"
    assert listing.key("3", 1.0) is Picked.OTHER
    assert listing.key("enter", 1.0) is Picked.TAKEN
    assert listing.key("escape", 1.0) is Picked.SKIPPED
    assert not listing.expired(20.9)
    assert listing.expired(21.0)


def test_what_was_used_lately_stands_first():
    options = ("coho", "lake trout", "walleye")
    assert latest_first(options, []) == options
    assert latest_first(options, ["walleye", "lake trout", "gone"]) == ("lake trout", "walleye", "coho")


def test_twice_running_is_twice_running():
    twice = Twice()
    assert not twice.press("l", 0.0)
    assert not twice.press("x", 1.0)
    assert not twice.press("l", 2.0)
    assert twice.press("l", 3.0)
    assert not twice.press("l", 3.5)
    assert not twice.press("l", 3.5 + 3.01)


def locked(*keys_and_times):
    lock = WipingLock()
    lock.close()
    for token, t_s in keys_and_times:
        assert not lock.tick(t_s)
        lock.key(token, token == "l", t_s)
    return lock


def test_the_lock_swallows_and_counts_until_its_key_comes_twice_running_and_then_none():
    lock = locked(("1", 0.0), ("2", 0.1), ("l", 0.2), ("k", 0.3), ("l", 0.4), ("l", 0.6))
    assert not lock.tick(0.6 + QUIET_S - 0.01)
    assert lock.tick(0.6 + QUIET_S + 0.01)
    assert not lock.on
    assert lock.swallowed == 4


def test_two_of_another_key_do_not_unlock():
    lock = locked(("k", 0.0), ("k", 0.1))
    assert not lock.tick(5.0)
    assert lock.on


def test_a_cloth_on_the_unlocking_key_does_not_unlock():
    # A key held down: once, again after half a second, then thirty times a second.
    times = [0.0, 0.5, *(0.5 + n / 30 for n in range(1, 60))]
    lock = locked(*(("l", t) for t in times), ("k", times[-1] + 0.2))
    assert not lock.tick(times[-1] + 5.0)
    assert lock.on
    assert lock.swallowed == len(times) + 1


def test_what_was_just_set_is_built_on_until_the_picture_shows_it():
    expect = Expect()
    expect.put("line", 51.0, 10.0)
    assert expect.get("line", 50.0, 10.5) == 51.0
    assert expect.get("line", 51.0, 10.6) == 51.0
    assert expect.get("line", 50.0, 10.7) == 50.0  # shown once: the picture is believed from then on


def test_what_never_came_true_is_forgotten():
    expect = Expect()
    expect.put("line", 51.0, 10.0)
    assert expect.get("line", 50.0, 10.0 + EXPECT_S + 0.01) == 50.0


def picture_with(entries=(), taken=()):
    made = [EntryPicture(i, f"entry {i}") for i in entries], [EntryPicture(i, f"entry {i}") for i in taken]
    return replace(fake_picture.straight(), entries=tuple(made[0]), taken_back=tuple(made[1]))


def test_the_newest_entry_is_the_one_just_pressed():
    ledger = Ledger()
    ledger.take(picture_with(["a", "b"]), 0.0)
    assert ledger.newest().id == "b"
    ledger.enter("c", "hit on 3", 1.0)
    assert ledger.newest().words == "hit on 3"


def test_taking_back_twice_takes_two():
    ledger = Ledger()
    ledger.take(picture_with(["a", "b"]), 0.0)
    ledger.enter("c", "hit on 3", 1.0)
    ledger.take_back(ledger.newest(), "u1", 1.1)
    assert ledger.newest().id == "b"
    ledger.take_back(ledger.newest(), "u2", 1.2)
    assert ledger.newest().id == "a"
    assert ledger.last_taken().id == "b"
    ledger.put_back(ledger.last_taken(), "y1", 1.3)
    assert ledger.newest().id == "b"
    assert ledger.last_taken().id == "c"


def test_the_picture_is_believed_once_it_had_time_to_show_the_entry():
    ledger = Ledger()
    ledger.take(picture_with(["a"]), 0.0)
    ledger.enter("b", "hit on 3", 1.0)
    ledger.saved("b", True, 1.1)
    ledger.take(picture_with(["a", "b"]), 1.2)
    ledger.take_back(ledger.newest(), "u1", 1.3)
    ledger.saved("u1", True, 1.3)
    ledger.take(picture_with(["a"], ["b"]), 1.3 + SETTLE_S + 0.1)
    assert ledger.newest().id == "a"
    assert ledger.last_taken().id == "b"


def test_an_entry_that_was_not_stored_never_was():
    ledger = Ledger()
    ledger.take(picture_with(["a"]), 0.0)
    ledger.enter("b", "hit on 3", 1.0)
    ledger.saved("b", False, 1.1)
    assert ledger.newest().id == "a"


def test_the_state_is_remembered(own_folders):
    assert state.load() == state.State()
    assert state.save(state.State(theme="night", cautions_read="0.1.0")) == ""
    assert state.load() == state.State(theme="night", cautions_read="0.1.0")
    assert [path.name for path in (own_folders / "data").iterdir()] == ["state.json"]


@pytest.mark.parametrize("text", ["", "{", "[]", '{"theme": 3}', '{"theme": null, "more": 1}'])
def test_a_broken_state_is_an_empty_one(tmp_path, text):
    path = tmp_path / "state.json"
    path.write_text(text)
    assert state.load(path) == state.State()


def test_a_state_that_cannot_be_written_says_why_and_leaves_the_old_one(tmp_path):
    path = tmp_path / "state.json"
    state.save(state.State(theme="dusk"), path)
    blocked = path / "state.json"
    why = state.save(state.State(theme="night"), blocked)
    assert str(blocked) in why
    assert json.loads(path.read_text())["theme"] == "dusk"

"""The registry of acts and the user's own keys."""

import pytest

from console.frame.test_app import console
from sternwatch.config import ConfigError
from sternwatch.console import app
from sternwatch.console.acts import table as effects
from sternwatch.console.frame import footer
from sternwatch.console.keys.acting import GROUPS, STATIONS, Keyboard
from sternwatch.console.keys.keymap import build
from sternwatch.console.keys.registry import ACTS, BY_ID
from sternwatch.console.keys.tokens import printed, token_of

# The keys promised so far, and no other: from the job's key table.
HELM_KEYS = {
    **{key: f"rod {key}" for key in STATIONS},
    "space": "bite", "u": "undo", "y": "restore", "left": "left", "right": "right", "tab": "fighting",
    "down": "deeper", "up": "shallower", "pagedown": "much deeper", "pageup": "much shallower", "enter": "length",
    "g": "gauge", "r": "as hit", "k": "checked", "p": "plan", "a": "acknowledge", "j": "note",
    "c": "change", "x": "move", "m": "mark", "q": "again", "s": "fish seen", "z": "pull", "h": "touched",
    "[": "less", "]": "more", "o": "out", "i": "in", "b": "boxed", "f": "freed", "d": "dropped", "e": "no fish",
    "w": "fish", "t": "earlier", "v": "view", "n": "night", "l": "lock", "?": "help", "escape": "helm",
    "ctrl+q": "quit", "ctrl+p": "palette",
    # These do something in practice only.
    ";": "helm port", "'": "helm starboard", "\\": "hold", ",": "throttle less", ".": "throttle more", "`": "engine",
    "/": "drill",
}  # fmt: skip
REPLAY_KEYS = {
    **{key: f"rod {key}" for key in STATIONS},
    "space": "play", "left": "back", "right": "on", "up": "faster", "down": "slower", "[": "event before",
    "]": "event after", ",": "step back", ".": "step on", "enter": "moment",
    "t": "late hit", "u": "undo", "y": "restore", "tab": "fighting", "b": "boxed", "f": "freed",
    "d": "dropped", "e": "no fish", "w": "fish", "g": "gauge", "p": "plan", "a": "acknowledge", "j": "note",
    "m": "mark", "s": "fish seen", "h": "touched", "v": "view", "n": "night", "l": "lock", "?": "help",
    "escape": "helm", "ctrl+q": "quit", "ctrl+p": "palette",
}  # fmt: skip


@pytest.mark.parametrize(("keyboard", "wanted"), [(Keyboard.HELM, HELM_KEYS), (Keyboard.REPLAY, REPLAY_KEYS)])
def test_the_default_keys_are_those_of_the_key_table(keyboard, wanted):
    assert {token: act.id for token, act in build({}).acts[keyboard].items()} == wanted


def test_every_act_does_something_and_everything_done_is_an_act():
    views = set(console().screens_of_views) & set(BY_ID)
    done = set(effects.EFFECTS) | set(app.SternwatchApp.SCREEN_ACTS) | views
    assert done == set(BY_ID)
    assert not set(effects.EFFECTS) & set(app.SternwatchApp.SCREEN_ACTS)


def test_every_act_has_words_help_and_a_group():
    assert len(BY_ID) == len(ACTS)
    for act in ACTS:
        assert act.words
        assert act.help.endswith(".")
        assert act.group in GROUPS
        assert act.on


def test_the_footer_offers_acts_of_the_registry_only():
    named = "+".join([*footer._HELM, *footer._PRACTICE, *footer._REPLAY, *footer.OUTCOMES]).split("+")
    assert set(named) <= set(BY_ID)


def test_an_act_can_be_given_another_key_or_several():
    keymap = build({"undo": "F9", "rod 1": ["1", "F1"], "quit": "Ctrl+Q"})
    assert keymap.act(Keyboard.HELM, "f9").id == "undo"
    assert keymap.act(Keyboard.HELM, "u") is None
    assert keymap.act(Keyboard.HELM, "f1").id == "rod 1"
    assert keymap.label(Keyboard.HELM, "rod 1") == "1 or F1"
    assert keymap.label(Keyboard.HELM, "quit") == "Ctrl+Q Ctrl+Q"


def test_an_act_without_a_key_can_be_given_one():
    keymap = build({"confirm": "F9"})
    assert keymap.act(Keyboard.HELM, "f9").id == "confirm"
    assert keymap.act(Keyboard.REPLAY, "f9").id == "confirm"


def test_a_recordings_key_stays_off_the_helm():
    keymap = build({"play": "F9"})
    assert keymap.act(Keyboard.REPLAY, "f9").id == "play"
    assert keymap.act(Keyboard.HELM, "f9") is None


def test_a_capital_acts_as_its_small_letter():
    assert build({}).act(Keyboard.HELM, "U").id == "undo"
    assert build({"help": "H"}).act(Keyboard.HELM, "H").id == "help"


@pytest.mark.parametrize(
    ("changed", "parts"),
    [
        ({"undoo": "z"}, ["undoo", "did you mean 'undo'"]),
        ({"undo": "pgdwn"}, ["'undo'", "pgdwn", "did you mean 'pgdn'"]),
        ({"undo": ""}, ["'undo'", "no key ''"]),
        ({"undo": "y"}, ["y would mean both", "'undo'", "'restore'"]),
        ({"rod 2": "1"}, ["1 would mean both", "'rod 1'", "'rod 2'"]),
        ({"play": "v"}, ["v would mean both", "'play'", "'view'", "replay"]),
    ],
)
def test_a_wrong_key_is_refused_with_what_is_wrong_and_what_is_near(changed, parts):
    with pytest.raises(ConfigError) as wrong:
        build(changed, "config.toml: keys")
    for part in ["config.toml: keys", *parts]:
        assert part in str(wrong.value)


@pytest.mark.parametrize(
    ("key", "character", "token"),
    [
        ("minus", "-", "-"), ("equals_sign", "=", "="), ("question_mark", "?", "?"), ("space", " ", "space"),
        ("left_square_bracket", "[", "["), ("left", None, "left"), ("enter", "\r", "enter"), ("tab", "\t", "tab"),
        ("ctrl+q", "\x11", "ctrl+q"), ("A", "A", "A"),
    ],
)  # fmt: skip
def test_a_key_event_becomes_its_token(key, character, token):
    assert token_of(key, character) == token


def test_keys_are_printed_as_people_read_them():
    assert [printed(t) for t in ("left", "pagedown", "escape", "space", "u")] == ["←", "PgDn", "Esc", "Space", "u"]


@pytest.mark.parametrize("keyboard", list(Keyboard))
def test_the_ten_keys_of_the_help_are_ten_and_each_has_a_key_there(keyboard):
    from sternwatch.console.pages.help import TEN

    ids = [act_id for act_id, _ in TEN[keyboard]]
    assert len(set(ids)) == 10
    assert all(act_id == "rod" or build({}).label(keyboard, act_id) for act_id in ids)

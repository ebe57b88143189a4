"""The plain theme comes by itself where the terminal says that it can do no more."""

import pytest

from console.frame.test_app import console
from sternwatch.console.paint.terminal import wants_plain

ABLE = {"TERM": "xterm-256color", "LANG": "en_US.UTF-8"}


@pytest.mark.parametrize(
    ("said", "plain"),
    [
        ({}, False),
        ({"NO_COLOR": "1"}, True),
        ({"NO_COLOR": ""}, False),  # https://no-color.org: only when not empty
        ({"TERM": "vt100"}, True),
        ({"TERM": "vt220-am"}, True),
        ({"TERM": "linux"}, True),
        ({"TERM": "dumb"}, True),
        ({"TERM": "screen-256color"}, False),
        ({"LANG": "C"}, True),
        ({"LANG": "C.UTF-8"}, False),
        ({"LC_ALL": "POSIX"}, True),
        ({"LC_ALL": "en_US.UTF-8", "LANG": "C"}, False),  # POSIX: LC_ALL goes before LANG
        ({"LC_CTYPE": "C"}, True),
    ],
)
def test_what_the_environment_says(said: dict[str, str], plain: bool) -> None:
    assert wants_plain({**ABLE, **said}) is plain
    assert wants_plain(said) is plain


def test_the_preference_goes_before_the_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    assert console(theme=None).theme != "plain"
    monkeypatch.setenv("TERM", "vt100")
    assert console(theme=None).theme == "plain"
    assert console(theme="night").theme == "night"

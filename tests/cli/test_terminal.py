"""Without a terminal no screen opens: nobody could see it, and no key would end it."""

from __future__ import annotations

import subprocess
import sys
from types import SimpleNamespace

import pytest

from sternwatch.cli.common import terminal
from sternwatch.cli.common.exits import Exit, InputError
from sternwatch.cli.main import main
from sternwatch.places import shipped

EVENING = shipped("demo_logs") / "evening.toml"
NEED = terminal.need  # the fixture of all commands replaces it
SCREENS = (
    "start", "demo", "setup", "edit", "preferences", "keys", "practice", "shelf --add", "replay demo",
    f"watch {EVENING} --feed udp:47110", "debrief demo --screen",
)  # fmt: skip


@pytest.mark.parametrize("command", SCREENS)
def test_every_screen_asks_for_one(
    command: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(terminal, "need", NEED)
    monkeypatch.setattr(terminal, "there", lambda: False)
    assert main(command.split()) == Exit.WRONG_INPUT
    assert capsys.readouterr().err.startswith("sternwatch: a screen needs a terminal")


def test_a_word_alone_says_what_there_is() -> None:
    done = subprocess.run(
        [sys.executable, "-m", "sternwatch"], stdin=subprocess.DEVNULL, capture_output=True, text=True, check=False
    )
    assert done.returncode == Exit.USAGE
    assert "to begin with:" in done.stderr


@pytest.mark.parametrize(
    ("system", "stdin", "stdout", "stderr", "there"),
    [
        ("posix", True, False, True, True), ("posix", True, True, False, False), ("posix", False, True, True, False),
        ("nt", True, True, False, True), ("nt", True, False, True, False), ("posix", None, True, True, False),
    ],
)  # fmt: skip
def test_keys_come_from_standard_input_and_the_picture_goes_where_the_library_paints_it(
    system: str, stdin: bool | None, stdout: bool, stderr: bool, there: bool
) -> None:
    def stream(terminal: bool | None) -> object:
        return None if terminal is None else SimpleNamespace(isatty=lambda: terminal)

    with pytest.MonkeyPatch.context() as patch:
        for name, one in (("__stdin__", stdin), ("__stdout__", stdout), ("__stderr__", stderr)):
            patch.setattr(sys, name, stream(one))
        patch.setattr(terminal.os, "name", system)
        assert terminal.there() is there


def test_it_is_refused_only_without_one(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(terminal, "there", lambda: True)
    NEED()
    monkeypatch.setattr(terminal, "there", lambda: False)
    with pytest.raises(InputError, match="needs a terminal"):
        NEED()

"""The start screen as a command: it runs what is chosen, says what went wrong, and is come back to."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sternwatch import places
from sternwatch.cli.main import build_parser
from sternwatch.cli.sessions import start as command
from sternwatch.config import NAME, Preferences
from sternwatch.console.ashore import start as screen


@pytest.fixture(autouse=True)
def _folders(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    for name in ("data", "config"):
        monkeypatch.setenv(f"STERNWATCH_{name.upper()}_DIR", str(tmp_path / name))


def started(monkeypatch: pytest.MonkeyPatch, *chosen: tuple[str, ...]) -> list[tuple[Preferences, str]]:
    """Start, choose these one after another, and leave: the preferences and the notice of every screen."""
    left, seen = iter((*chosen, None)), list[tuple[Preferences, str]]()

    class Stub:
        def __init__(self, preferences: Preferences, _ask: object, notice: str = "") -> None:
            seen.append((preferences, notice))

        def run(self) -> tuple[str, ...] | None:
            return next(left)

    monkeypatch.setattr(screen, "StartApp", Stub)
    assert command.run(build_parser().parse_args(["start"])) == 0
    return seen


def test_what_is_wrong_comes_back_as_a_notice() -> None:
    assert command.dispatch(("check", "nowhere.toml")) == "nowhere.toml: no such file"
    assert 'there is no command "sail"' in command.dispatch(("sail",))


def test_a_command_runs_beside(tmp_path: Path) -> None:
    answered = command.beside(("check", str(tmp_path / "no.toml")))
    assert answered.code == 1
    assert "no such file" in answered.err


def test_a_command_beside_says_every_character(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where a pipe takes but 256 characters, too."""
    monkeypatch.setenv("PYTHONIOENCODING", "ascii")
    answered = command.beside(("check", str(tmp_path / "Nº 5 – 日本.toml")))
    assert "Nº 5 – 日本.toml" in answered.err


def test_on_the_water_without_a_boat_says_how_to_have_one() -> None:
    assert command.dispatch(("watch",)).endswith('"sternwatch setup" sets one up; "sternwatch demo" needs none')


def test_what_is_stopped_by_hand_says_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    from sternwatch.cli.settings import keys

    def stopped(_: Any) -> int:
        raise KeyboardInterrupt

    monkeypatch.setattr(keys, "run", stopped)
    assert command.dispatch(("keys",)) == ""


def test_it_is_come_back_to(monkeypatch: pytest.MonkeyPatch) -> None:
    seen = started(monkeypatch, ("check", "nowhere.toml"))
    assert [notice for _, notice in seen] == ["", "nowhere.toml: no such file"]


def test_it_opens_with_faulty_preferences_and_says_so(monkeypatch: pytest.MonkeyPatch) -> None:
    places.config_dir().mkdir(parents=True)
    (places.config_dir() / NAME).write_text('units = "cubits"\n', encoding="utf-8")
    ((preferences, notice),) = started(monkeypatch)
    assert preferences == Preferences()
    assert "units" in notice

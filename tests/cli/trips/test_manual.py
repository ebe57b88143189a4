"""``sternwatch manual``: a page, what it says about a word, or that there is nothing."""

from __future__ import annotations

from typing import Any

import pytest

from sternwatch.cli.common.exits import Exit
from sternwatch.cli.main import main
from sternwatch.config import Preferences


def test_the_command_prints_a_page_a_place_or_says_that_there_is_none(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["manual", "turns", "--plain"]) == Exit.DONE
    assert capsys.readouterr().out.startswith("# Turns, speed and the bottom")
    assert main(["manual", "blowback"]) == Exit.DONE
    assert "carries the ball" in capsys.readouterr().out
    assert main(["manual"]) == Exit.DONE  # no terminal here: the contents
    assert "first-day" in capsys.readouterr().out
    assert main(["manual", "xylophone"]) == Exit.WRONG_INPUT
    assert 'nothing about "xylophone" in the manual; its pages' in capsys.readouterr().err
    assert main(["manual", "trun"]) == Exit.WRONG_INPUT
    assert 'nothing about "trun" in the manual (did you mean "turns"?)' in capsys.readouterr().err


def test_of_a_common_word_the_first_places_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["manual", "line", "out", "--plain"]) == Exit.DONE
    said = capsys.readouterr().out
    assert said.count(": sternwatch manual ") == 6
    assert "more places; another word narrows it." in said


@pytest.mark.parametrize(("text", "units"), [('units = "metric"\n', "metric"), ('units = "cubits"\n', "us")])
def test_at_a_terminal_it_opens_on_the_screen_whatever_the_preferences(
    text: str, units: str, monkeypatch: pytest.MonkeyPatch, tmp_path: Any
) -> None:
    import sternwatch.console.ashore.manual as screen

    opened: list[tuple[Preferences, Any]] = []

    class App:
        def __init__(self, preferences: Preferences, pages: Any) -> None:
            opened.append((preferences, pages))

        def run(self, *, mouse: bool) -> None:
            assert mouse

    monkeypatch.setattr(screen, "ManualApp", App)
    monkeypatch.setattr("sternwatch.cli.common.terminal.there", lambda: True)
    monkeypatch.setattr("sys.stdout.isatty", lambda: True)
    monkeypatch.setenv("STERNWATCH_CONFIG_DIR", str(tmp_path))
    (tmp_path / "config.toml").write_text(text, encoding="utf-8")
    assert main(["manual"]) == Exit.DONE
    ((preferences, pages),) = opened
    assert preferences.units == units
    assert len(pages) > 5

"""What commands print where the output is a terminal that shows styles."""

from __future__ import annotations

import contextlib
import io
from pathlib import Path

import pytest

from sternwatch.cli.main import COMMANDS, called, main

EVENING = str(Path(__file__).parents[2] / "demo_logs" / "evening.toml")
SPEED = ["--speed", "2.3 mph"]
TABLES = [
    ["check", EVENING],
    ["depth", EVENING, "--rod", "3", *SPEED],
    ["table", EVENING, "--rod", "3", *SPEED, "--from", "60 ft", "--to", "90 ft", "--step", "30 ft"],
    ["plan", EVENING, "--from", "40 ft", "--to", "60 ft", *SPEED, "--rods", "4"],
    ["fit", EVENING, "--priors"],
]


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.fixture(autouse=True)
def shows_styles(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("NO_COLOR", "FORCE_COLOR", "PYTHON_COLORS"):
        monkeypatch.delenv(name, raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")


def _printed(asked: list[str]) -> str:
    with contextlib.redirect_stdout(_Terminal()) as terminal:
        main(asked)
    return terminal.getvalue()


@pytest.mark.parametrize("asked", TABLES, ids=[" ".join(asked[:1]) for asked in TABLES])
def test_no_code_of_a_style_is_written_out(asked: list[str]) -> None:
    printed = _printed(asked)
    assert "u001b" not in printed
    assert len(printed) > 10


@pytest.mark.parametrize("name", ["", *(called(name) for name in COMMANDS)])
def test_no_code_of_a_style_is_written_out_in_help(name: str) -> None:
    with contextlib.redirect_stdout(_Terminal()) as terminal, pytest.raises(SystemExit):
        main([*([name] if name else []), "--help"])
    assert "u001b" not in terminal.getvalue()
    assert "usage:" in terminal.getvalue()


def test_the_manual_has_its_styles() -> None:
    printed = _printed(["manual", "helm"])
    assert "\x1b[1m" in printed
    assert "u001b" not in printed

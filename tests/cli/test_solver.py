"""A command that computes says so before it waits for the compiler, and tells its failure in a sentence."""

from __future__ import annotations

import pytest

from sternwatch.cli.common.exits import InputError
from sternwatch.cli.common.solver import prepare_solver
from sternwatch.cli.main import main
from sternwatch.practice.sessions import serve
from sternwatch.watch.sessions import compiling, prepare


@pytest.fixture
def waits(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> list[str]:
    """What had been said when the compiler was waited for."""
    said: list[str] = []
    monkeypatch.setattr(prepare, "is_prepared", lambda: False)
    monkeypatch.setattr(prepare, "prepare_all", lambda _look: said.append(capsys.readouterr().err))
    return said


def test_it_says_what_takes_so_long_before_it_waits(waits: list[str]) -> None:
    prepare_solver()
    assert len(waits) == 1
    assert waits[0].startswith("sternwatch: Preparing the solver, once after installing.")


def test_on_a_terminal_it_says_how_much_is_left(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    words = iter(["", "10 %, about 50 s left", "10 %, about 50 s left", "80 %", ""])
    monkeypatch.setattr(prepare, "is_prepared", lambda: False)
    monkeypatch.setattr(compiling, "progress_words", lambda: next(words))
    monkeypatch.setattr(prepare, "prepare_all", lambda look: [look() for _ in range(5)])
    monkeypatch.setattr("sys.stderr.isatty", lambda: True)
    prepare_solver()
    first, rewritten = capsys.readouterr().err.split("\n", 1)
    assert first.startswith("sternwatch: Preparing the solver")
    assert [line.strip() for line in rewritten.split("\r")] == ["", "10 %, about 50 s left", "80 %", ""]
    assert rewritten.endswith("\n")
    assert len({len(line) for line in rewritten.rstrip("\n").split("\r") if line}) == 1  # the longest is covered


def test_a_solver_that_is_ready_is_not_spoken_of(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(prepare, "is_prepared", lambda: True)
    prepare_solver()
    assert capsys.readouterr().err == ""


def test_a_compiler_that_fails_is_told_in_a_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(_look: object) -> None:
        raise prepare.PreparationError("the solver could not be prepared: no space")

    monkeypatch.setattr(prepare, "is_prepared", lambda: False)
    monkeypatch.setattr(prepare, "prepare_all", fails)
    with pytest.raises(InputError, match="could not be prepared: no space"):
        prepare_solver()


def test_a_served_feed_is_announced_when_it_begins(
    waits: list[str], monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """It was announced at once and sent nothing for the minute in which the solver was compiled."""
    monkeypatch.setattr(serve, "serve", lambda *_: None)
    assert main(["practice", "--serve", "tcp:0"]) == 0
    assert "tcp:" not in waits[0]
    assert "(Ctrl+C ends it)" in capsys.readouterr().err

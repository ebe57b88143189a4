"""Keys at a crew's pace and a cat's, from seeds, on the console itself: see ``at_the_console`` and ``sittings``."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import pytest

pytest.importorskip("greenlet", reason="greenlet is a test dependency; pip install '.[test]'")

from simulation.at_the_console import ConsoleDay
from simulation.day import SHORT_S, BrokenError
from simulation.sittings import KINDS, Sitting
from watch.conftest import TWO_RODS

DAYS, SITTINGS = 200, 60  # of the campaign
BRIEF_S = 40.0


@pytest.fixture(autouse=True)
def own_folders(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing is read from the folders of whoever runs the tests; a terminal shows colours and signs."""
    for name in ("CONFIG", "DATA", "CACHE", "LOG"):
        monkeypatch.setenv(f"STERNWATCH_{name}_DIR", str(tmp_path / name.lower()))
    monkeypatch.delenv("NO_COLOR", raising=False)
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("LC_ALL", "C.UTF-8")


def day_of(seed: int, folder: Path, seconds: float = SHORT_S) -> ConsoleDay:
    spread = folder / "two.toml"
    spread.write_text(TWO_RODS, encoding="utf-8")
    return ConsoleDay(seed, folder / f"day {seed}", spread, seconds)


@pytest.mark.parametrize("seed", [1, 8])
def test_whatever_is_pressed_over_a_day_the_console_answers_and_ends(seed: int, tmp_path: Path) -> None:
    day = day_of(seed, tmp_path, BRIEF_S)
    day.run()
    assert day.happened["keys"] > 30
    assert day.happened["looks at the console"] > 10


def test_whatever_is_pressed_at_a_practice_boat(tmp_path: Path) -> None:
    sitting = Sitting(4, tmp_path, "practice", BRIEF_S)
    sitting.run()
    assert sitting.happened["keys"] > 30
    assert sitting.happened["pictures"] > 20


def test_a_number_that_is_none_on_the_screen_is_noticed(tmp_path: Path) -> None:
    """Guards the days themselves: a word that no crew should read is found, wherever it stands."""
    day = day_of(2, tmp_path, BRIEF_S)
    made = day._begin

    def begin(console: object) -> None:
        made(console)  # type: ignore[arg-type]
        day.console.runner._busy = "depth nan ft"  # type: ignore[union-attr]
        day.console.runner._run = lambda: None  # type: ignore[union-attr,method-assign]

    day._begin = begin  # type: ignore[method-assign]
    with pytest.raises(BrokenError, match="never should"):
        day.run()


def test_a_console_that_does_not_end_is_noticed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from sternwatch.console.app import SternwatchApp

    monkeypatch.setitem(SternwatchApp.SCREEN_ACTS, "quit", lambda _app: None)
    with pytest.raises(BrokenError, match="does not end"):
        day_of(2, tmp_path, 30.0).run()


@pytest.mark.campaign
def test_many_days_at_the_console(tmp_path: Path) -> None:
    happened: Counter[str] = Counter()
    failed = []
    for seed in range(100, 100 + DAYS):
        day = day_of(seed, tmp_path)
        try:
            day.run()
        except Exception as fault:  # noqa: BLE001 - all of them are told at the end
            failed.append(f"seed {seed}: {fault!r}")
        happened.update(day.happened)
    print(dict(sorted(happened.items())))
    assert failed == []


@pytest.mark.campaign
@pytest.mark.parametrize("kind", KINDS)
def test_many_sittings(kind: str, tmp_path: Path) -> None:
    happened: Counter[str] = Counter()
    failed = []
    for seed in range(SITTINGS // len(KINDS)):
        sitting = Sitting(seed, tmp_path / str(seed), kind, 60.0)
        try:
            sitting.run()
        except Exception as fault:  # noqa: BLE001 - all of them are told at the end
            failed.append(f"seed {seed}: {fault!r}")
        happened.update(sitting.happened)
    print(kind, dict(sorted(happened.items())))
    assert failed == []

"""Days from seeds, in which feed, disk, clock, program and crew go wrong together; see ``day``."""

from __future__ import annotations

import shutil
import time
from collections import Counter
from pathlib import Path

import pytest

pytest.importorskip("greenlet", reason="greenlet is a test dependency; pip install '.[test]'")

from simulation.day import BrokenError, Day, Fault, faults_of, shrunk
from watch.conftest import TWO_RODS

ORDINARY = range(20)
CAMPAIGN = 1000


@pytest.fixture
def spread(tmp_path: Path) -> Path:
    path = tmp_path / "two.toml"
    path.write_text(TWO_RODS, encoding="utf-8")
    return path


def day_of(seed: int, tmp_path: Path, spread: Path, *, faults: list[Fault] | None = None, name: str = "day") -> Day:
    return Day(seed, tmp_path / name, spread, faults=faults, whole=seed % 40 == 5)


def why(seed: int, tmp_path: Path, spread: Path, fault: Exception) -> str:
    """A failure with its seed and the fewest faults that bring it about."""
    tries = iter(range(100))

    def fails(fewer: list[Fault]) -> bool:
        try:
            day_of(seed, tmp_path, spread, faults=fewer, name=f"shrunk {next(tries)}").run()
        except Exception:  # noqa: BLE001 - any failure will do
            return True
        return False

    return f"seed {seed}: {fault!r}; with {shrunk(Day(seed, tmp_path, spread), fails)}"


@pytest.mark.parametrize("seed", ORDINARY)
def test_nothing_is_lost_stale_doubled_or_torn(seed: int, tmp_path: Path, spread: Path) -> None:
    day = day_of(seed, tmp_path, spread)
    try:
        day.run()
    except Exception as fault:  # noqa: BLE001 - said again with its seed
        pytest.fail(why(seed, tmp_path, spread, fault))
    assert day.shown > 60
    assert day.happened["keys"] > 5


def test_the_same_seed_gives_the_same_day_to_the_byte(tmp_path: Path, spread: Path) -> None:
    traces = [day_of(seed, tmp_path, spread, name=f"{seed} {k}").run() for k, seed in enumerate((3, 3, 4))]
    assert traces[0] == traces[1]
    assert traces[0] != traces[2]


def test_a_trip_taken_up_again_waits_for_its_feed_before_it_says_that_there_is_none(
    tmp_path: Path, spread: Path
) -> None:
    """Seed 148: the watch stepped through all that lay before, and raised an alarm at once."""
    day = day_of(148, tmp_path, spread, faults=[Fault(32.0, "killed", 1.0)])
    raised: list[tuple[int, str]] = []
    seen = day._seen
    day._seen = lambda console, picture: (  # type: ignore[method-assign]
        raised.extend((day.lives, a.kind) for a in picture.alerts),
        seen(console, picture),
    )[1]
    day.run()
    assert day.lives == 1
    assert not {kind for life, kind in raised if life == 1} & {"no feed", "feed silent"}


# Days in which a fault of the program was found, with the session's tick and the mishaps that bring it about.
FOUND: dict[int, tuple[float, list[Fault] | None]] = {
    1002: (0.05, None),  # suspended: a position that waited in the port over the sleep was fresh after it
    2011: (0.25, []),  # an entry in the millisecond of a step: a replay gave it to the step that had gone without it
}


@pytest.mark.parametrize("seed", FOUND)
def test_a_day_that_failed_once_passes(seed: int, tmp_path: Path, spread: Path) -> None:
    tick_s, faults = FOUND[seed]
    day = day_of(seed, tmp_path, spread, faults=faults)
    day.tick_s = tick_s
    day.run()
    assert day.happened["pictures seen again"] > 30


def test_a_rod_that_joins_an_alert_raises_no_other(tmp_path: Path, spread: Path) -> None:
    """Seed 402: two lines near the propeller, one after the other, and one alert that is told twice."""
    day = day_of(402, tmp_path, spread, faults=[])
    day.seconds = 30.0
    told: list[tuple[str, ...]] = []
    events = day._events
    day._events = lambda one, trip: (told.extend(e.keys for e in one), events(one, trip))[1]  # type: ignore
    day.run()
    assert told == [("2",), ("1", "2")]


def test_an_entry_that_is_lost_is_noticed(tmp_path: Path, spread: Path) -> None:
    """Guards the days themselves: a logbook that says more than it does is found."""
    day = day_of(1, tmp_path, spread)
    saved = day._saved

    def lying(console: object, one: object) -> None:
        saved(console, one)  # type: ignore[arg-type]
        day.told.setdefault("0" * 32, "a trip")

    day._saved = lying  # type: ignore[method-assign]
    with pytest.raises(BrokenError, match="not there once"):
        day.run()


def test_a_failing_day_is_shrunk_to_the_fault_that_does_it(tmp_path: Path, spread: Path) -> None:
    day = day_of(0, tmp_path, spread)
    assert len(faults_of(0, day.seconds)) > 1
    guilty = faults_of(0, day.seconds)[1]
    assert shrunk(day, lambda fewer: guilty in fewer) == [guilty]


@pytest.mark.campaign
@pytest.mark.parametrize("quarter", range(4))
def test_a_thousand_days(quarter: int, tmp_path: Path, spread: Path) -> None:
    happened: Counter[str] = Counter()
    failed: list[str] = []
    taken: Counter[bool] = Counter()  # seconds of processor, by whether a day is a whole one
    after: Counter[bool] = Counter()  # of them when the day was over
    lived: Counter[bool] = Counter()
    for number, seed in enumerate(range(quarter * CAMPAIGN // 4, (quarter + 1) * CAMPAIGN // 4), 1):
        day = day_of(seed, tmp_path, spread)
        begun = time.process_time()
        try:
            day.run()
        except Exception as fault:  # noqa: BLE001 - all of them are told at the end
            failed.append(why(seed, tmp_path / f"why {seed}", spread, fault))
            print(f"\n{failed[-1]}", flush=True)
        taken[day.whole] += time.process_time() - begun  # type: ignore[assignment]
        after[day.whole] += day.afterwards_s  # type: ignore[assignment]
        lived[day.whole] += day.clock.now_s - day.begun_s  # type: ignore[assignment]
        happened.update(day.happened)
        shutil.rmtree(tmp_path / "day")
        if number % 50 == 0:
            print(f"\n{number} days", end="", flush=True)
    print(f": {sum(lived.values()):.0f} s")
    for whole, seconds in sorted(lived.items()):
        print(
            f"{'whole' if whole else 'other'} days at {seconds / taken[whole]:.0f} x real time,"
            f" {seconds / (taken[whole] - after[whole]):.0f} x without what is asked when they are over"
        )
    for kind, count in sorted(happened.items()):
        print(f"  {kind}: {count}")
    assert failed == []

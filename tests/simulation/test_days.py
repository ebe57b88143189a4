"""Days from seeds, in which feed, disk, clock, program and crew go wrong together; see ``day``."""

from __future__ import annotations

import math
import shutil
import time
from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

pytest.importorskip("greenlet", reason="greenlet is a test dependency; pip install '.[test]'")

import simulation.day as simulated
from simulation.day import FEED_FAULTS, LATER, LONG_S, SHORT_S, BrokenError, Day, Fault, faults_of, shrunk, sort_of
from simulation.held import resident_bytes
from simulation.pictures import finite, same
from sternwatch.feed.readings import Tongue
from sternwatch.watch.picture.model import Picture
from sternwatch.watch.sessions.runner import Saved
from watch.conftest import TWO_RODS

ORDINARY = range(20)
CAMPAIGN = 1000
HOUR_S, SWAYS_MB, GROWS_MB_PER_H = 3600.0, 8.0, 5.0


@pytest.fixture
def spread(tmp_path: Path) -> Path:
    path = tmp_path / "two.toml"
    path.write_text(TWO_RODS, encoding="utf-8")
    return path


def kind_of(seed: int) -> str:
    """Of forty days one is a whole one and two are long ones, none of these among the ordinary."""
    return "whole" if seed % 40 == 5 else "long" if seed % 40 in (25, 35) else "short"


def day_of(
    seed: int, tmp_path: Path, spread: Path, *, faults: list[Fault] | None = None, name: str = "day", kind: str = ""
) -> Day:
    kind = kind or kind_of(seed)
    seconds = LONG_S if kind == "long" else SHORT_S
    return Day(seed, tmp_path / name, spread, seconds, whole=kind == "whole", faults=faults)


def why(seed: int, tmp_path: Path, spread: Path, fault: Exception) -> str:
    """A failure with its seed and the fewest faults that bring it about, and no other."""
    tries = iter(range(100))

    def fails(fewer: list[Fault]) -> bool:
        try:
            day_of(seed, tmp_path, spread, faults=fewer, name=f"shrunk {next(tries)}").run()
        except Exception as other:  # noqa: BLE001 - of the same sort
            return sort_of(other) == sort_of(fault)
        return False

    return f"seed {seed}: {fault!r}; with {shrunk(day_of(seed, tmp_path, spread), fails)}"


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
    day.tongues = (Tongue.SENTENCES,)
    raised: list[tuple[int, str]] = []
    seen = day._seen
    day._seen = lambda console, picture: (  # type: ignore[method-assign]
        raised.extend((day.lives, a.kind) for a in picture.alerts),
        seen(console, picture),
    )[1]
    day.run()
    assert day.lives == 1
    assert not {kind for life, kind in raised if life == 1} & {"no feed", "feed silent"}


def when_found(seed: int) -> list[Fault]:
    """The mishaps that a seed had before there were others."""
    return [fault for fault in faults_of(seed, SHORT_S) if fault.kind not in LATER]


# Days that failed, with the session's tick, the mishaps that bring it about (None: all), and what her sources speak.
FOUND: dict[int, tuple[float, list[Fault] | None, tuple[Tongue, ...]]] = {
    # Suspended: a position that waited in the port over the sleep was fresh after it.
    1011: (0.05, [Fault(20.0, "suspended", 30.0)], (Tongue.SENTENCES,)),
    # An entry in the millisecond of a step: a replay gave it to the step that had gone without it.
    2031: (0.25, [], (Tongue.SENTENCES,)),
    # Steps lay 7e-8 s before the millisecond of what they should have used.
    700007: (0.25, None, (Tongue.SENTENCES,)),
    # Dead, and the clock set back by more than that, so the next run's lines lay among what had been shown; the
    # second without a line since long before.
    499: (0.25, None, (Tongue.N2K,)),
    1008: (
        0.25,
        [Fault(25.0, "unplugged", 30.0), Fault(42.0, "clock stepped", 0.0, -3600.0), Fault(48.25, "killed", 1.0)],
        (Tongue.SENTENCES,),
    ),
    # Nothing recorded says how far she came: the next run began at 0, before her entries.
    2: (0.25, [Fault(40.0, "recording removed"), Fault(40.0, "killed", 1.0)], (Tongue.SENTENCES,)),
    # The day's own fault: it allowed for a flood of one source, and there were two.
    22: (
        0.25,
        [Fault(18.4, "suspended", 4.0, 7.0), Fault(25.67, "flood", 4.0)],
        (Tongue.N2K, Tongue.SENTENCES),
    ),
    # The day's own fault: a trip before the last lost its end with the power, since no sync had succeeded.
    700746: (
        0.25,
        [Fault(11.38, "syncs fail", 12.0), Fault(21.7, "next trip"), Fault(22.77, "power lost", 5.0)],
        (Tongue.SENTENCES,),
    ),
    # The recording of a trip before the last, whose last sync had failed, was never synced again.
    700750: (
        0.25,
        [Fault(21.0, "syncs fail", 3.0), Fault(21.7, "next trip"), Fault(45.0, "power lost", 5.0)],
        (Tongue.SENTENCES,),
    ),
}


@pytest.mark.parametrize("seed", FOUND)
def test_a_day_that_failed_once_passes(seed: int, tmp_path: Path, spread: Path) -> None:
    tick_s, faults, tongues = FOUND[seed]
    day = day_of(seed, tmp_path, spread, faults=when_found(seed) if faults is None else faults)
    day.tick_s, day.tongues = tick_s, tongues
    day.run()
    assert sum(count for what, count in day.happened.items() if what.startswith("pictures seen again")) > 30


@pytest.mark.parametrize("seed", [0, 4, 6])
def test_what_was_kept_aside_outlives_a_loss_of_power_at_once(seed: int, tmp_path: Path, spread: Path) -> None:
    """The logbook refuses a write now and then; within a second of the first entry aside the power goes."""
    day = day_of(seed, tmp_path, spread, faults=[Fault(15.0 + k, "writes fail", 1.0) for k in range(20)])
    day.seconds, saved = 60.0, day._saved

    def goes() -> None:
        if day.console is not None and not day.lives:
            day._kill(power=True)
            day.heal.append((day.clock.boot_s + 1.0, day._start))

    def saving(console: simulated.Console, one: Saved) -> None:
        saved(console, one)
        if one.kept == "aside" and not day.lives:
            day.heal.append((day.clock.boot_s, goes))

    day._saved = saving  # type: ignore[method-assign]
    day.run()
    assert day.lives == 1
    assert day.happened["said to be kept: aside"] > 0


def test_what_a_server_heard_as_the_laptop_fell_asleep_is_not_fresh_after_it(tmp_path: Path, spread: Path) -> None:
    """Seeds 500024 and 500036: the server greets anew and repeats it, with a stamp that has moved since."""
    day = day_of(500036, tmp_path, spread, faults=[Fault(55.43, "suspended", 12.0)])
    day.tongues = (Tongue.SIGNALK,)
    day.run()
    assert day.shown > 60


# The same of days that take longer.
FOUND_LONGER = {
    # The clock set back by an hour: a packed trip that had ended before it began was refused elsewhere.
    200379: "whole",
    # Taken up 7e-15 s after its first lines were stamped: a replay from there went without them.
    400022: "whole",
}


@pytest.mark.campaign
@pytest.mark.parametrize("seed", FOUND_LONGER)
def test_a_longer_day_that_failed_once_passes(seed: int, tmp_path: Path, spread: Path) -> None:
    day_of(seed, tmp_path, spread, faults=when_found(seed), kind=FOUND_LONGER[seed]).run()


def test_a_rod_that_joins_an_alert_raises_no_other(tmp_path: Path, spread: Path) -> None:
    """Two lines near the propeller while she stops, one after the other, and one alert that is told twice."""
    day = day_of(402, tmp_path, spread, faults=[])
    day.seconds, day.tongues = 50.0, (Tongue.SENTENCES,)
    keys = iter([("2", "set"), ("2", "length"), ("1", "set"), ("1", "length")])

    def press(_crew: object) -> None:
        rod, kind = next(keys, ("", ""))
        if rod == "1":
            day.boat.speed_m_s, day.boat.left_s = 0.0, 99.0
        if rod:
            assert day.console is not None
            day.console.runner.submit(kind, rod, **({"line_out_m": 5.0} if kind == "length" else {}))

    told: list[tuple[str, ...]] = []
    events = day._events
    day._press = press  # type: ignore[method-assign]
    day._events = lambda one, trip: (  # type: ignore[method-assign]
        told.extend(e.keys for e in one if e.kind == "propeller"),
        events(one, trip),
    )[1]
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


def test_on_a_long_day_what_is_rare_stays_rare_and_the_feed_is_spoiled_as_often() -> None:
    of_feed = {*FEED_FAULTS, "unplugged"}
    for seed in range(50):
        long, kinds = faults_of(seed, LONG_S), Counter(fault.kind for fault in faults_of(seed, LONG_S))
        assert all(count == 1 for kind, count in kinds.items() if kind not in of_feed)
        assert sum(kinds[kind] for kind in of_feed) > LONG_S / 100.0 - 1.0
        assert [fault.at_s for fault in long] == sorted(fault.at_s for fault in long)


def test_a_number_that_is_not_finite_is_noticed_wherever_it_stands(tmp_path: Path, spread: Path) -> None:
    """Guards the days themselves."""
    day = day_of(3, tmp_path, spread, faults=[])
    kept: list[Picture] = []
    seen = day._seen
    day._seen = lambda console, picture: (kept.append(picture), seen(console, picture))[1]  # type: ignore
    day.seconds = 40.0
    day.run()
    picture = next(one for one in reversed(kept) if any(rod.points for rod in one.rods))
    rod = next(rod for rod in picture.rods if rod.points)
    assert finite(picture)
    assert same(picture, replace(picture, alerts=()))
    for worse in (
        {"depth_m": math.nan},
        {"depth_quantiles_m": (1.0, math.inf)},
        {"points": (replace(rod.points[0], abeam_m=-math.inf),)},
        {"shape_m": rod.shape_m * math.nan},  # type: ignore[operator]
    ):
        spoiled = replace(picture, rods=tuple(replace(one, **worse) if one is rod else one for one in picture.rods))
        assert not finite(spoiled)
        assert not same(picture, spoiled)


def test_what_gathers_is_noticed(tmp_path: Path, spread: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Guards the days themselves: a hundred objects a second that nobody lets go."""
    monkeypatch.setattr(simulated, "REMEMBERED_S", 10.0)
    monkeypatch.setattr(simulated, "HELD_EVERY_S", 5.0)
    for leaks in (False, True):
        day = day_of(3, tmp_path, spread, faults=[], name=f"leaks {leaks}")
        seen, gathered = day._seen, list[tuple[float, int]]()

        def seeing(console: simulated.Console, picture: Picture, seen=seen, gathered=gathered) -> None:  # type: ignore
            console.runner.gathered = gathered  # type: ignore[attr-defined]
            gathered += [(picture.t_s, number) for number in range(100)]
            seen(console, picture)

        if leaks:
            day._seen = seeing  # type: ignore[method-assign]
            with pytest.raises(BrokenError, match="objects grew to"):
                day.run()
        else:
            day.run()
            assert day.happened["counted what is held"] > 5


def test_a_failing_day_is_shrunk_to_the_fault_that_does_it(tmp_path: Path, spread: Path) -> None:
    day = day_of(0, tmp_path, spread)
    assert len(faults_of(0, day.seconds)) > 1
    guilty = faults_of(0, day.seconds)[1]
    assert shrunk(day, lambda fewer: guilty in fewer) == [guilty]


def test_a_day_is_shrunk_to_what_brings_the_same_failure_about_and_no_other(
    tmp_path: Path, spread: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    faults = [Fault(float(at), kind) for at, kind in ((10, "noise"), (20, "cut"), (30, "killed"), (40, "battery"))]
    noise, cut, killed, _ = faults

    class Failing(Day):
        def run(self) -> str:
            now = self.faults or []
            if noise in now and killed in now:
                raise BrokenError(f"{len(now)} entries called saved are not there once: ['{'ab' * len(now)}']")
            if cut in now:
                raise BrokenError("lines or entries wait for ever")
            return ""

    def made(seed: int, folder: Path, spread: Path, *, faults: list[Fault] = faults, name: str = "") -> Day:
        return Failing(seed, folder / name, spread, faults=faults)

    monkeypatch.setitem(globals(), "day_of", made)
    with pytest.raises(BrokenError) as found:
        made(0, tmp_path, spread).run()
    assert why(0, tmp_path, spread, found.value).endswith(f"; with {[noise, killed]}")


@pytest.mark.campaign
def test_a_working_day_ends_about_as_large_as_it_began(tmp_path: Path, spread: Path) -> None:
    """Three hours, with the entries of a week; the days' own books of what was fed are about a megabyte an hour."""
    day = day_of(710006, tmp_path, spread, kind="long")
    day.seconds, day.again = 3.0 * HOUR_S, False
    day.faults = [
        one for one in faults_of(day.seed, day.seconds) if one.kind in FEED_FAULTS
    ]  # one run of the program
    sizes: dict[float, float] = {}  # after so many seconds, in megabytes
    check = day._check_held

    def checked(console: simulated.Console) -> None:
        check(console)
        if console.holds is not None and (size := resident_bytes()) is not None:
            sizes.setdefault(console.holds[0] - day.begun_s, size / 1e6)

    day._check_held = checked  # type: ignore[method-assign]
    day.run()
    assert day.happened["counted what is held"] > 60
    if not sizes:
        pytest.skip("this system does not say how large a process is")
    print("".join(f"\n{size:.1f} MB after {after_s:.0f} s" for after_s, size in list(sizes.items())[::7]))
    begun_s, over_s = min(sizes), max(sizes)
    assert over_s - begun_s > 2.0 * HOUR_S
    assert sizes[over_s] - sizes[begun_s] < SWAYS_MB + GROWS_MB_PER_H * (over_s - begun_s) / HOUR_S


@pytest.mark.campaign
@pytest.mark.parametrize("quarter", range(4))
def test_a_thousand_days(quarter: int, tmp_path: Path, spread: Path) -> None:
    happened: Counter[str] = Counter()
    failed: list[str] = []
    taken: Counter[str] = Counter()  # seconds of processor, by the kind of day
    after: Counter[str] = Counter()  # of them when the day was over
    lived: Counter[str] = Counter()
    for number, seed in enumerate(range(quarter * CAMPAIGN // 4, (quarter + 1) * CAMPAIGN // 4), 1):
        day, kind = day_of(seed, tmp_path, spread), kind_of(seed)
        begun = time.process_time()
        try:
            day.run()
        except Exception as fault:  # noqa: BLE001 - all of them are told at the end
            failed.append(why(seed, tmp_path / f"why {seed}", spread, fault))
            print(f"\n{failed[-1]}", flush=True)
        taken[kind] += time.process_time() - begun  # type: ignore[assignment]
        after[kind] += day.afterwards_s  # type: ignore[assignment]
        lived[kind] += day.clock.now_s - day.begun_s  # type: ignore[assignment]
        happened.update(day.happened)
        shutil.rmtree(tmp_path / "day")
        if number % 50 == 0:
            print(f"\n{number} days", end="", flush=True)
    print(f": {sum(lived.values()):.0f} s")
    for kind, seconds in sorted(lived.items()):
        print(
            f"{kind} days: {taken[kind]:.0f} s of processor, {seconds / taken[kind]:.0f} x real time,"
            f" {seconds / (taken[kind] - after[kind]):.0f} x without what is asked when they are over"
        )
    for kind, count in sorted(happened.items()):
        print(f"  {kind}: {count}")
    assert failed == []

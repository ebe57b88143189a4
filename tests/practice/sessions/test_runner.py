"""Practice behind the screen: wall time, a logbook, a recording; and the same two streams afterwards."""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sternwatch.debrief.report.asjson import as_json
from sternwatch.debrief.report.prepared import report
from sternwatch.debrief.report.text import table_lines
from sternwatch.debrief.trip.packing import pack, unpack
from sternwatch.debrief.trip.sources import digest_of, from_logbook
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.gear.spread_file.models import Spread
from sternwatch.gear.values.units import SYSTEMS
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip, open_read_only
from sternwatch.practice.drills.files import DrillFile
from sternwatch.practice.sessions.runner import Plan, PracticeRunner
from sternwatch.practice.sessions.source import HeldClock
from sternwatch.practice.world.world import World
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions import prepare
from sternwatch.watch.sessions.runner import Saved

Make = Callable[..., DrillFile]


@pytest.fixture(autouse=True)
def _prepared(monkeypatch: pytest.MonkeyPatch) -> None:
    """The kernels are compiled in this process as they are used."""
    monkeypatch.setattr(prepare, "is_prepared", lambda: True)
    monkeypatch.setattr(prepare, "prepare", lambda: None)


class Sitting:
    """A trainee: a runner with what it told."""

    def __init__(self, file: DrillFile, spread: Spread, text: str, folder: Path) -> None:
        self.book = folder / "logbook.sqlite"
        self.recording = folder / "p.nmea"
        logbook = Logbook(self.book)
        logbook.begin_trip(
            Trip("p", datetime.now(UTC), session="practice", start=file.drill.start.rods, spread_text=text)
        )
        self.pictures: list[Picture] = []
        self.saved: list[Saved] = []
        self.runner = PracticeRunner(
            Plan(file, spread, 5),
            lambda: Setup(spread, Session.PRACTICE, trip="p", start=file.drill.start.rods, members=0),
            logbook, "p", SYSTEMS["us"], Recorder(self.recording), reading_s=2.0,
        )  # fmt: skip
        self.runner.start(self.pictures.append, self.saved.append)

    def until(self, what: Callable[[], bool], seconds: float = 60.0) -> None:
        end = time.monotonic() + seconds
        while not what():
            assert time.monotonic() < end, self.runner.busy or "it did not happen"
            time.sleep(0.02)

    @property
    def practice(self):  # type: ignore[no-untyped-def]
        return self.pictures[-1].practice if self.pictures else None


@pytest.fixture
def sit(spread: Spread, spread_text: str, tmp_path: Path) -> Iterator[Callable[[DrillFile], Sitting]]:
    sittings: list[Sitting] = []

    def make(file: DrillFile) -> Sitting:
        sittings.append(Sitting(file, spread, spread_text, tmp_path))
        return sittings[-1]

    yield make
    for sitting in sittings:
        sitting.runner.stop()


def quick(make_drill: Make) -> DrillFile:
    start = 'lead_in = "32 s"\nline_out = { "2" = "20 m" }'
    return make_drill(('lead_in = "10 s"', start), ('time = "40 s"', 'time = "4 s"'))


def test_a_session_runs_is_scored_kept_and_can_be_replayed(
    sit: Callable[[DrillFile], Sitting], make_drill: Make, spread: Spread
) -> None:
    file = quick(make_drill)
    sitting = sit(file)
    sitting.until(lambda: sitting.practice is not None)
    assert sitting.pictures[-1].session is Session.PRACTICE
    assert sitting.runner.result == ()
    sitting.runner.submit("helm", rudder_deg=-35.0)
    sitting.runner.submit("throttle", engine="kicker", lever=0.5)
    hit = sitting.runner.submit("hit", "1")
    sitting.until(lambda: len(sitting.saved) == 4)  # the first is the drill's own
    assert all(one.action is not None for one in sitting.saved)
    sitting.until(lambda: sitting.practice.rudder_deg < -20.0 and sitting.practice.lever == 0.5)
    sitting.until(lambda: bool(sitting.practice.result))
    assert sitting.practice.over
    assert "of 100" in sitting.practice.result[0]
    sitting.until(lambda: any(one.id == hit for one in sitting.pictures[-1].hits))
    sitting.runner.stop()

    with Logbook(sitting.book) as book:
        (attempt,) = book.attempts("short")
        assert attempt.trip == "p"
        assert attempt.seed == 5
        assert attempt.score is not None
        assert book.open_trip() is None
        assert book.trips()[0].ended is not None
        actions = book.actions("p")
    assert [action.kind for action in actions] == ["length", "helm", "throttle", "hit"]

    # The two streams alone give the same pictures as were shown.
    player = Player(
        open_recording(sitting.recording),
        Setup(spread, Session.PRACTICE, trip="p", start="fishing", members=0),
        actions,
    )
    shown = {picture.t_s: picture for picture in sitting.pictures}
    seen = 0
    replayed: list[Picture] = []
    player.to(max(shown), replayed.append)
    for picture in replayed:
        live = shown.get(picture.t_s)
        if live is not None:
            assert [rod.depth_m for rod in picture.rods] == [rod.depth_m for rod in live.rods]
            seen += 1
    assert seen >= 4

    # And the same world follows from drill, seed and actions.
    world = World(file.drill, spread, 5, int(attempt.begun.timestamp()))
    for action in actions:
        world.act(action)
    world.to(attempt.body["time_s"] + 32.0 + 1.0)
    assert world.tally.over
    assert len(world.encounters.crossings) == attempt.body["measures"]["crossings"]

    # It is debriefed like any trip, with the truth beside what was believed.
    with closing(open_read_only(sitting.book)) as connection:
        data = replace(from_logbook(connection, "p", sitting.recording.parent), feed=sitting.recording)
    debrief = report(data, digest_of(data), SYSTEMS["us"])
    assert dict(debrief.summary)["practice"].startswith("Short, seed 5: ")
    assert debrief.truth is not None
    assert [row[0] for row in debrief.truth.rows] == [f"{rod.key} {rod.name}" for rod in spread.rods]
    text = "\n".join(table_lines(debrief.truth))
    for rod in attempt.body["rods"]:
        believed = rod["depth_believed_mean_m"]
        assert (believed is None) == (rod["pairs"] == 0)
        assert believed is None or f"{believed / 0.3048:.1f}" in text
    assert json.loads(as_json(debrief))["practice"]["drill"] == "short"

    # A packed trip takes it along.
    pack(data, sitting.recording.with_suffix(".trip"))
    (elsewhere := sitting.recording.parent / "elsewhere").mkdir()
    assert unpack(sitting.recording.with_suffix(".trip"), elsewhere).practised == data.practised


def test_a_strike_is_an_alert_until_it_is_written_down(sit: Callable[[DrillFile], Sitting], make_drill: Make) -> None:
    file = make_drill(
        ('lead_in = "10 s"', 'lead_in = "31 s"'), more='[[strike]]\nrod = "2"\nat = "0 s"\nfight = "5 s"\n'
    )
    sitting = sit(file)
    sitting.until(lambda: any(a.kind == "strike" for p in sitting.pictures for a in p.alerts))
    alert = next(a for a in sitting.pictures[-1].alerts if a.kind == "strike")
    assert alert.keys == ("2",)
    assert alert.text == "2 P LOW goes off"
    sitting.runner.submit("hit", "2")
    sitting.until(lambda: not any(a.kind == "strike" for a in sitting.pictures[-1].alerts))
    sitting.until(lambda: any("fish at the net" in said for said in sitting.practice.says))


def test_a_free_session_keeps_what_was_believed_when_it_is_left(
    sit: Callable[[DrillFile], Sitting], make_drill: Make
) -> None:
    text = make_drill(('lead_in = "10 s"', 'lead_in = "32 s"')).text
    from sternwatch.practice.drills.files import parse_drill

    free = text[: text.index("[goal]")]
    sitting = sit(parse_drill(free, Path("free.toml")))
    sitting.until(lambda: sitting.practice is not None and sitting.practice.drill_s > 1.0)
    assert sitting.practice.goal == ""
    sitting.runner.stop()
    with Logbook(sitting.book) as book:
        (attempt,) = book.attempts()
        assert attempt.score is None
        assert attempt.passed is None
        assert {rod["key"] for rod in attempt.body["rods"]} == {"1", "2", "5"}
    assert sitting.runner.result[0] == "This session is not scored."
    assert any(line.startswith("Depth believed and true") for line in sitting.runner.result)


def test_the_held_clock_stands_and_then_goes_on_from_there() -> None:
    clock = HeldClock()
    assert clock.now()[0] == 0.0
    clock.put(70.0)
    time.sleep(0.02)
    assert clock.now()[0] == 70.0
    clock.release()
    time.sleep(0.05)
    assert 70.03 < clock.now()[0] < 71.0
    clock.put(500.0)
    assert clock.now()[0] < 71.0

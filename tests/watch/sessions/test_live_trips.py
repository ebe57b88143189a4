"""Two trips in one live session: each with its own recording, actions and feed time, each replayed as it was seen."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import parse_specs
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, RodState, Session
from sternwatch.watch.sessions import live as module
from sternwatch.watch.sessions.live import Live
from sternwatch.watch.sessions.runner import Anew, Saved
from watch.sessions.test_live import Instruments, instruments, until

__all__ = ["instruments"]


def test_one_trip_ends_and_another_begins_without_a_line_lost(
    tmp_path: Path,
    spread: Spread,
    instruments: Instruments,
    exactly: Callable[[Picture], str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    paths = {name: tmp_path / f"{name}.nmea" for name in ("morning", "evening")}
    feed = parse_specs([f"tcp:127.0.0.1:{instruments.port}"])
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("morning", datetime.now(UTC)))

    def another() -> Anew:
        book.begin_trip(Trip("evening", datetime.now(UTC)))
        return Anew("evening", paths["evening"], lambda: Setup(spread, Session.LIVE, trip="evening"))

    hub = Hub(feed.sources(), recorder=Recorder(paths["morning"], feed.declared))
    runner = Live(hub, feed, lambda: Setup(spread, Session.LIVE, trip="morning"), book, "morning", another=another)
    seen: dict[str, dict[float, Picture]] = {"morning": {}, "evening": {}}
    saved: list[Saved] = []
    runner.start(lambda p: seen[p.trip].__setitem__(p.t_s, p), saved.append)
    until(lambda: any(p.own.speed_m_s is not None for p in list(seen["morning"].values())))
    runner.submit("set", "4")
    until(lambda: any(p.rods[3].depth_m is not None for p in list(seen["morning"].values())))
    runner.begin()
    until(lambda: any(p.own.speed_m_s is not None for p in list(seen["evening"].values())))
    runner.submit("set", "5")
    hit = runner.submit("hit", "5")
    count = len(seen["evening"])
    until(lambda: len(seen["evening"]) >= count + 6)
    runner.stop()
    assert all(one.kept == "logbook" for one in saved)

    with Logbook(tmp_path / "logbook.sqlite") as again:
        actions = {name: again.actions(name) for name in paths}
        trips = {trip.id: trip for trip in again.trips()}
    assert [a.kind for a in actions["morning"]] == ["set", "end"]
    assert [a.kind for a in actions["evening"]] == ["set", "hit"]
    assert trips["morning"].ended is not None
    assert trips["evening"].ended is None
    assert [h.id for h in seen["evening"][max(seen["evening"])].hits] == [hit]
    assert all(rod.state is RodState.IN for rod in seen["evening"][min(seen["evening"])].rods)
    assert min(seen["evening"]) < 5.0

    # The boat's own sentences go on from one recording to the other: none is lost, none is kept twice.
    kept = []
    for path in paths.values():
        with open_recording(path) as recording:
            kept += [line.data.rstrip() for line in recording.lines()]
    assert len(kept) > 20
    assert kept == instruments.sentences()[: len(kept)]

    replayed: dict[float, str] = {}
    with open_recording(paths["evening"]) as recording:
        player = Player(recording, Setup(spread, Session.LIVE, trip="evening"), actions["evening"])
        player.to(recording.span_s, lambda p: replayed.__setitem__(p.t_s, exactly(p)))
    entered = [action.elapsed_s or 0.0 for action in actions["evening"]]
    live = seen["evening"]
    common = [t for t in sorted(live.keys() & replayed.keys()) if not any(t < e <= t + 1.0 for e in entered)]
    assert len(common) >= 4
    assert {t: exactly(live[t]) for t in common} == {t: replayed[t] for t in common}


def test_an_end_taken_back_leaves_the_trip_open(
    tmp_path: Path, spread: Spread, instruments: Instruments, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    feed = parse_specs([f"tcp:127.0.0.1:{instruments.port}"])
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", datetime.now(UTC)))
    runner = Live(Hub(feed.sources()), feed, lambda: Setup(spread, Session.LIVE, trip="t"), book, "t")
    pictures: list[Picture] = []
    runner.start(pictures.append, lambda _: None)
    until(lambda: bool(pictures) and pictures[-1].own.speed_m_s is not None)
    end = runner.submit("end")
    until(lambda: book.open_trip() is None)
    runner.submit("undo", of=end)
    until(lambda: book.open_trip() is not None)
    runner.stop()

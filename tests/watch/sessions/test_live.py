"""A live session on a real socket: recorded, kept, and the same to the last digit when it is replayed."""

from __future__ import annotations

import socket
import threading
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

import pytest

from sternwatch.feed.recording import tag_block as tagblock
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
from sternwatch.watch.sessions.runner import Saved

DEMO = Path(__file__).parents[3] / "demo_logs"
SECONDS = 9


class Instruments:
    """A socket on loopback that says the demo's sentences, once for whoever connects, in real time."""

    def __init__(self) -> None:
        self.server = socket.create_server(("127.0.0.1", 0))
        self.stopped = threading.Event()
        self.quiet = threading.Event()
        threading.Thread(target=self._serve, daemon=True).start()

    @property
    def port(self) -> int:
        return int(self.server.getsockname()[1])

    @staticmethod
    def _lines() -> list[tuple[tagblock.TagBlock, bytes]]:
        with (DEMO / "evening.nmea").open("rb") as file:
            lines = [(tagblock.read(line), line) for line in islice(file, 6000, 12000)]
        return [(tag, line) for tag, line in lines if tag is not None and tag.relative_ms is not None]

    def sentences(self) -> list[bytes]:
        """What it says while nobody hushes it, in order."""
        return [line[tag.end :].rstrip() for tag, line in self._lines()]

    def _serve(self) -> None:
        lines = self._lines()
        try:
            peer, _ = self.server.accept()
        except OSError:
            return
        first: float | None = None
        began = time.monotonic()
        with peer:
            for tag, line in lines:
                assert tag.relative_ms is not None
                first = tag.relative_ms / 1000 if first is None else first
                wait = tag.relative_ms / 1000 - first - (time.monotonic() - began)
                if self.stopped.wait(max(wait, 0.0)):
                    return
                if self.quiet.is_set():
                    continue
                try:
                    peer.sendall(line[tag.end :].rstrip() + b"\r\n")
                except OSError:  # the session has ended
                    return

    def stop(self) -> None:
        self.stopped.set()
        self.server.close()


@pytest.fixture
def instruments() -> Iterator[Instruments]:
    made = Instruments()
    yield made
    made.stop()


def until(what: Callable[[], bool], seconds: float = 30.0, say: Callable[[], str] = str) -> None:
    end = time.monotonic() + seconds
    while not what():
        assert time.monotonic() < end, f"waited in vain; {say()}"
        time.sleep(0.02)


def test_what_was_seen_live_is_seen_again_in_the_replay(
    tmp_path: Path,
    spread: Spread,
    instruments: Instruments,
    exactly: Callable[[Picture], str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    recording = tmp_path / "trip.nmea"
    feed = parse_specs([f"tcp:127.0.0.1:{instruments.port}"])
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", datetime.now(UTC)))
    hub = Hub(feed.sources(), recorder=Recorder(recording, feed.declared))
    runner = Live(hub, feed, lambda: Setup(spread, Session.LIVE), book, "t")
    seen: dict[float, Picture] = {}
    saved: list[Saved] = []
    runner.start(lambda picture: seen.__setitem__(picture.t_s, picture), saved.append)
    until(lambda: any(p.own.speed_m_s is not None for p in list(seen.values())))
    for key in "2457":
        runner.submit("set", key)
    until(lambda: len(saved) == 4)
    until(lambda: any(p.rods[3].depth_m is not None for p in list(seen.values())))
    runner.submit("length", "4", line_out_m=20.0)
    hit = runner.submit("hit", "7")
    began = len(seen)
    until(lambda: len(seen) >= began + SECONDS, say=lambda: f"{runner.busy!r} {sorted(seen)[-3:]}")
    runner.stop()
    assert all(one.error == "" and one.action is not None for one in saved)
    last = seen[max(seen)]
    assert last.rods[6].state is RodState.FIGHTING
    assert [h.id for h in last.hits] == [hit]

    with Logbook(tmp_path / "logbook.sqlite") as again:
        actions = again.actions("t")
    again_seen: dict[float, str] = {}
    player = Player(open_recording(recording), Setup(spread, Session.LIVE), actions)
    player.to(player.recording.span_s, lambda p: again_seen.__setitem__(p.t_s, exactly(p)))
    # A picture shows an entry before the step that counts it: those seconds are not the step's own picture.
    entered = [action.elapsed_s or 0.0 for action in actions]
    common = [t for t in sorted(seen.keys() & again_seen.keys()) if not any(t < e <= t + 1.0 for e in entered)]
    assert len(common) >= SECONDS - 4
    assert {t: exactly(seen[t]) for t in common} == {t: again_seen[t] for t in common}


def test_a_feed_that_falls_silent_is_alarmed_and_hits_are_still_kept(
    tmp_path: Path, spread: Spread, instruments: Instruments, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    feed = parse_specs([f"tcp:127.0.0.1:{instruments.port}"])
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", datetime.now(UTC)))
    runner = Live(Hub(feed.sources()), feed, lambda: Setup(spread, Session.LIVE), book, "t")
    pictures: list[Picture] = []
    saved: list[Saved] = []
    runner.start(pictures.append, saved.append)
    until(lambda: bool(pictures) and pictures[-1].own.speed_m_s is not None)
    runner.submit("set", "4")
    until(lambda: pictures[-1].rods[3].depth_m is not None)
    instruments.quiet.set()
    until(lambda: "no feed" in [alert.kind for alert in pictures[-1].alerts], 40.0)
    assert pictures[-1].alerts[0].priority.value == "alarm"
    hit = runner.submit("hit", "4")
    until(lambda: hit in [one.id for one in saved])
    runner.stop()
    with Logbook(tmp_path / "logbook.sqlite") as again:
        assert hit in [action.id for action in again.actions("t")]
        events = again.events("t")
    assert ("no feed", "active") in [(event.kind, event.state) for event in events]


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="there is no device here that is always full")
def test_a_full_disk_is_an_alarm_at_once_and_the_watch_goes_on(
    tmp_path: Path, spread: Spread, instruments: Instruments, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    recording = tmp_path / "trip.nmea"
    recording.symlink_to("/dev/full")
    feed = parse_specs([f"tcp:127.0.0.1:{instruments.port}"])
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", datetime.now(UTC)))
    hub = Hub(feed.sources(), recorder=Recorder(recording, feed.declared))
    runner = Live(hub, feed, lambda: Setup(spread, Session.LIVE, start="in"), book, "t")
    pictures: list[Picture] = []
    runner.start(pictures.append, lambda _saved: None)
    until(lambda: any(alert.kind == "cannot save" for alert in pictures[-1].alerts) if pictures else False)
    alarm = pictures[-1].alerts[0]
    assert (alarm.kind, alarm.priority.value) == ("cannot save", "alarm"), "with every rod in, too"
    assert "Cannot record the feed" in alarm.text
    since = pictures[-1].t_s
    runner.submit("set", "4")
    until(lambda: pictures[-1].rods[3].depth_m is not None and pictures[-1].t_s >= since + 3.0)
    assert any(alert.kind == "cannot save" for alert in pictures[-1].alerts)
    runner.stop()

"""A live session on a gateway and a Signal K server: recorded, packed with the trip, replayed to the last bit."""

from __future__ import annotations

import contextlib
import math
import socket
import threading
import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from feed.n2k.demo_bus import EVENING, demo_bus
from feed.signalk.server import Server
from sternwatch.answers.belief.priors import MEMBERS
from sternwatch.debrief.trip.packing import pack, unpack
from sternwatch.debrief.trip.sources import TripData
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import parse_specs
from sternwatch.gear.spread_file.models import Spread
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.core.player import Player
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Picture, Session
from sternwatch.watch.sessions import live as module
from sternwatch.watch.sessions.live import Live
from watch.sessions.test_live import until

SECONDS = 8


def test_what_a_bus_and_a_server_said_live_is_seen_again_in_the_replay_of_the_packed_trip(
    tmp_path: Path, spread: Spread, exactly: Callable[[Picture], str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    with open_recording(EVENING) as evening:  # what is not compiled yet is, before the clock runs
        Player(evening, Setup(spread, Session.LIVE, start="fishing", members=MEMBERS)).to(5.0)
    gateway, server, over = socket.create_server(("127.0.0.1", 0)), Server(websocket=True), threading.Event()
    lines = demo_bus(600.0, 60.0)

    def speak() -> None:
        """The demo boat's bus in real time; her speed through water comes from the server."""
        peer, _ = gateway.accept()
        begun = time.monotonic()
        with peer, contextlib.suppress(OSError):  # the session ends before the boat does
            for i, line in enumerate(lines):
                if over.wait(max(line.t_s - (time.monotonic() - begun), 0.0)):
                    return
                if b"F503" in line.data:
                    server.put("navigation.speedThroughWater", 1.1 + 0.05 * math.sin(i))
                else:
                    peer.sendall(line.data + b"\r\n")

    threading.Thread(target=speak, daemon=True).start()
    port = gateway.getsockname()[1]
    feed = parse_specs([f"bus=n2k:tcp:127.0.0.1:{port}", f"deltas=signalk:127.0.0.1:{server.port}"])
    recording = tmp_path / "trip.nmea"
    book = Logbook(tmp_path / "logbook.sqlite")
    begun = datetime.now(UTC)
    book.begin_trip(Trip("t", begun))
    hub = Hub(feed.sources(), recorder=Recorder(recording, feed.declared))
    runner = Live(hub, feed, lambda: Setup(spread, Session.LIVE, start="fishing", members=MEMBERS), book, "t")
    seen: dict[float, Picture] = {}
    runner.start(lambda picture: seen.__setitem__(picture.t_s, picture), lambda _: None)
    until(
        lambda: any(p.rods[3].depth_m is not None and p.own.stw_m_s is not None for p in list(seen.values())),
        say=lambda: f"{hub.statuses()} {runner.busy!r}",
    )
    so_far = len(seen)
    until(lambda: len(seen) >= so_far + SECONDS, say=lambda: f"{runner.busy!r} {sorted(seen)[-3:]}")
    runner.stop()
    over.set()
    gateway.close()
    server.stop()

    text = EVENING.with_suffix(".toml").read_text(encoding="utf-8")
    pack(TripData("t", begun, text, [], recording), tmp_path / "t.trip")
    unpacked = unpack(tmp_path / "t.trip", tmp_path / "there").feed
    assert unpacked is not None
    assert unpacked.read_bytes() == recording.read_bytes()
    again: dict[float, str] = {}
    with open_recording(unpacked) as opened:
        assert opened.sources == feed.declared
        player = Player(opened, Setup(spread, Session.LIVE, start="fishing", members=MEMBERS))
        player.to(opened.span_s, lambda p: again.__setitem__(p.t_s, exactly(p)))
    common = sorted(seen.keys() & again.keys())
    assert len(common) >= SECONDS
    assert {t: exactly(seen[t]) for t in common} == {t: again[t] for t in common}
    last = seen[common[-1]]
    assert {last.own.stw_m_s is None, last.bottom_m is None, last.own.heading_deg is None} == {False}

"""A serial line at 115,200 baud flat out with the console running: nothing is lost and keys are answered."""

from __future__ import annotations

import asyncio
import os
import sys
import threading
import time
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

import pytest

from sternwatch.config import Preferences
from sternwatch.console.app import SternwatchApp
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.specs import parse_specs
from sternwatch.gear.spread_file.load import load_spread
from sternwatch.logbook.store.logbook import Logbook
from sternwatch.logbook.store.trips import Trip
from sternwatch.watch.core.setup import Setup
from sternwatch.watch.picture.model import Session
from sternwatch.watch.sessions import live as module
from sternwatch.watch.sessions.live import Live

DEMO = Path(__file__).parents[3] / "demo_logs"
BYTES_PER_S = 115_200 / 10
SECONDS = 4.0

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="pseudo-terminals stand in for a serial port")


def sentences() -> list[bytes]:
    with (DEMO / "evening.nmea").open("rb") as file:
        lines = [(tagblock.read(line), line) for line in islice(file, 6000, 9000)]
    return [line[tag.end :].rstrip() for tag, line in lines if tag is not None and b"$" in line[tag.end :]]


def pour(fd: int, lines: list[bytes], sent: list[bytes], stop: threading.Event) -> None:
    """Write whole sentences as fast as the line would carry them."""
    began, written, k = time.monotonic(), 0, 0
    while not stop.is_set() and time.monotonic() - began < SECONDS:
        while written < (time.monotonic() - began) * BYTES_PER_S:
            line = lines[k % len(lines)]
            written += os.write(fd, line + b"\r\n")
            sent.append(line)
            k += 1
        time.sleep(0.005)


async def test_flat_out(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module.prepare, "prepare", lambda: None)
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    ours, theirs = os.openpty()
    feed = parse_specs([f"serial:{os.ttyname(theirs)}@115200"])
    recording = tmp_path / "trip.nmea"
    book = Logbook(tmp_path / "logbook.sqlite")
    book.begin_trip(Trip("t", datetime.now(UTC)))
    spread = load_spread(DEMO / "evening.toml")
    recorder = Recorder(recording, feed.declared)
    hub = Hub(feed.sources(), recorder=recorder)
    runner = Live(hub, feed, lambda: Setup(spread, Session.LIVE), book, "t")
    app = SternwatchApp(runner, Preferences())
    sent: list[bytes] = []
    stop = threading.Event()
    async with app.run_test(size=(120, 36)) as pilot:
        lines = sentences()
        for _ in range(300):  # the port is open once it has given us something
            os.write(ours, lines[0] + b"\r\n")
            await pilot.pause(0.1)
            if recorder.status.lines:
                break
        await asyncio.sleep(0.5)
        thread = threading.Thread(target=pour, args=(ours, lines, sent, stop))
        thread.start()
        pressed = 0
        while thread.is_alive():
            await pilot.press("3")
            pressed += 1
            assert app.controls.said is not None  # the press is answered on the screen at once
            await asyncio.sleep(2.1)  # a second press within two seconds would count as a repeat
        thread.join()
        for _ in range(100):
            await pilot.pause(0.1)
            if len(app.controls.picture.hits if app.controls.picture else ()) >= pressed:
                break
        assert app.controls.picture is not None
        assert len(app.controls.picture.hits) == pressed
    stop.set()
    os.close(ours)
    os.close(theirs)
    recorded = [line.data for line in open_recording(recording).lines()]
    assert len(sent) > 0.9 * SECONDS * BYTES_PER_S / 60
    assert recorded[-len(sent) :] == sent
    with Logbook(tmp_path / "logbook.sqlite") as again:
        assert sum(action.kind == "hit" for action in again.actions("t")) == pressed

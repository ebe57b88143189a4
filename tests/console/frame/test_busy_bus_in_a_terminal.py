"""A busy bus of 2,000 frames a second with the console running in a real terminal. Figures to report.

``pytest tests/console/frame/test_busy_bus_in_a_terminal.py -m campaign -n 0`` on a machine that does nothing else.
"""

from __future__ import annotations

import contextlib
import itertools
import json
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from console.frame.test_in_a_terminal import SPREAD, Terminal
from feed.n2k.demo_bus import demo_bus
from sternwatch import __version__
from sternwatch.console import state

pytestmark = pytest.mark.campaign

FRAMES_S = 2000
MEASURED_S = 40.0
TICK_S = 0.02
# What fills a bus, none of it wanted: rate of turn, attitude, wind, engine, rudder, a maker's own.
FILLING = (127251, 127257, 130306, 127488, 127245, 65280)


class Gateway:
    """Prints the demo boat's bus in real time, filled up with others' frames to so many a second."""

    def __init__(self, frames_s: int) -> None:
        self.server = socket.create_server(("127.0.0.1", 0))
        self.port = int(self.server.getsockname()[1])
        self.sent = 0
        self.behind_s = 0.0  # at worst: how late a tick was sent, because the console did not read
        self.over = threading.Event()
        self._frames_s = frames_s
        threading.Thread(target=self._speak, daemon=True).start()

    def _filling(self) -> Iterator[bytes]:
        for i in itertools.count():
            number = 2 << 26 | FILLING[i % len(FILLING)] << 8 | i % 20
            yield f"{number:08X} {i.to_bytes(8, 'little').hex(' ').upper()}".encode()

    def _speak(self) -> None:
        wanted, filling = iter(demo_bus(600.0, 400.0)), self._filling()
        line = next(wanted)
        with contextlib.suppress(OSError):
            peer, _ = self.server.accept()
            begun = time.monotonic()
            for tick in itertools.count(1):
                t_s = tick * TICK_S
                said = []
                while line.t_s <= t_s:
                    said.append(line.data)
                    line = next(wanted)
                said += itertools.islice(filling, max(round(self._frames_s * t_s) - self.sent - len(said), 0))
                if self.over.wait(max(begun + t_s - time.monotonic(), 0.0)):
                    return
                peer.sendall(b"".join(one + b"\r\n" for one in said))
                self.sent += len(said)
                self.behind_s = max(self.behind_s, time.monotonic() - begun - t_s)


def measured(port: int, gateway: Gateway) -> tuple[float, float]:
    """(share of a core, frames a second) of the console on a gateway."""
    one = Terminal("watch", str(SPREAD), "--feed", f"n2k:tcp:127.0.0.1:{port}", "--new-trip")
    try:
        one.wait_for("STARBOARD", 240.0)
        one.watch(10.0)
        gateway.behind_s = 0.0
        begun_s, cpu_s, sent = time.monotonic(), one.cpu_s(), gateway.sent
        while time.monotonic() - begun_s < MEASURED_S:
            one.press(b"v")
            one.watch(1.0)
        seconds = time.monotonic() - begun_s
        return (one.cpu_s() - cpu_s) / seconds, (gateway.sent - sent) / seconds
    finally:
        one.close()
        gateway.over.set()
        gateway.server.close()


def test_two_thousand_frames_a_second_with_the_console_running(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.delenv("STERNWATCH_CACHE_DIR")
    monkeypatch.setenv("STERNWATCH_DATA_DIR", str(tmp_path))
    state.save(state.State(theme="dusk", cautions_read=__version__))
    shares = {}
    for frames_s in (0, FRAMES_S):
        gateway = Gateway(frames_s)
        share, rate = measured(gateway.port, gateway)
        shares[frames_s] = share
        with capsys.disabled():
            late = f"at worst {gateway.behind_s:.2f} s late"
            print(f"\n{rate:.0f} frames a second: {100 * share:.0f} % of a core, {late}")
        assert gateway.behind_s < 2.0
        if frames_s:
            assert rate > 0.97 * frames_s
    recorded = sum(path.read_bytes().count(b"\n") for path in tmp_path.rglob("*.nmea"))
    assert recorded > FRAMES_S * MEASURED_S
    with capsys.disabled():
        print(json.dumps({"extra": round(shares[FRAMES_S] - shares[0], 3), "recorded": recorded}))
    assert shares[FRAMES_S] - shares[0] < 0.35

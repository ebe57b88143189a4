"""TCP, UDP, gpsd, standard input and files as live sources, with real sockets on the loopback address."""

import itertools
import os
import shutil
import socket
import subprocess
import threading
import time

import pytest

from recordings import file_of
from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Quantity
from sternwatch.feed.sources import SourceState
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.network import GpsdSource, TcpSource, UdpSource
from sternwatch.feed.sources.streams import FileSource, StdinSource


@pytest.fixture
def running():
    """Starts a hub over sources and stops it at the end."""
    hubs = []

    def start(*sources):
        hub = Hub(sources)
        hubs.append(hub)
        hub.start()
        return hub

    yield start
    for hub in hubs:
        hub.stop()


def _lines(hub, count, seconds=8.0):
    lines, until = [], time.monotonic() + seconds
    while len(lines) < count and time.monotonic() < until:
        lines += hub.get(0.05)
    assert len(lines) >= count, (len(lines), hub.statuses())
    return lines


def _state(hub, state, seconds=8.0):
    until = time.monotonic() + seconds
    while hub.statuses()[0].state is not state:
        assert time.monotonic() < until, hub.statuses()
        time.sleep(0.02)
    return hub.statuses()[0]


@pytest.fixture
def server():
    listener = socket.create_server(("127.0.0.1", 0))
    listener.settimeout(10.0)
    yield listener
    listener.close()


def test_tcp_and_again_after_the_other_side_has_gone(running, server, evening):
    hub = running(TcpSource("net", "127.0.0.1", server.getsockname()[1]))
    first, _ = server.accept()
    first.sendall(evening(50))
    assert len(_lines(hub, 50)) == 50
    assert _state(hub, SourceState.OPEN).text.endswith("data is arriving")
    first.sendall(b"$IIVHW,,,063")
    time.sleep(0.3)
    first.close()
    second, _ = server.accept()
    second.sendall(evening(50))
    lines = _lines(hub, 51)
    assert (lines[0].data, lines[0].whole) == (b"$IIVHW,,,063", False)
    assert all(line.whole for line in lines[1:])
    second.close()


def test_tcp_a_dribble_of_single_bytes(running, server, evening):
    hub = running(TcpSource("net", "127.0.0.1", server.getsockname()[1]))
    other, _ = server.accept()
    other.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    sent = evening(20)
    for byte in sent:
        other.sendall(bytes([byte]))
    lines = _lines(hub, 20)
    assert b"".join(line.data + b"\r\n" for line in lines) == sent
    other.close()


def test_tcp_nobody_there_is_said_and_outlived(running, evening):
    with socket.create_server(("127.0.0.1", 0)) as probe:
        port = probe.getsockname()[1]
    hub = running(TcpSource("net", "127.0.0.1", port))
    status = _state(hub, SourceState.LOST)
    assert f"tcp 127.0.0.1:{port}" in status.text
    assert "refused" in status.text.lower()
    with socket.create_server(("127.0.0.1", port)) as late:
        late.settimeout(10.0)
        other, _ = late.accept()
        other.sendall(evening(5))
        _lines(hub, 5)
        other.close()


def test_a_port_that_accepts_and_closes_is_not_hammered(running, server):
    accepted = []

    def serve():
        try:
            while True:
                connection, _ = server.accept()
                accepted.append(time.monotonic())
                connection.close()
        except OSError:
            return

    threading.Thread(target=serve, daemon=True).start()
    hub = running(TcpSource("net", "127.0.0.1", server.getsockname()[1]))
    time.sleep(3.0)
    hub.stop()
    # 0.1 s × 1.5 each time: eight attempts in 3 s at the very most.
    assert 3 <= len(accepted) <= 8
    gaps = [b - a for a, b in itertools.pairwise(accepted)]
    assert gaps[-1] > gaps[0]


def test_a_quiet_port_is_opened_anew_later_and_later(running, server, monkeypatch):
    monkeypatch.setattr(TcpSource, "SILENT_S", 0.3)
    accepted = []

    def serve():
        try:
            while True:
                accepted.append((time.monotonic(), server.accept()[0]))
        except OSError:
            return

    threading.Thread(target=serve, daemon=True).start()
    hub = running(TcpSource("net", "127.0.0.1", server.getsockname()[1]))
    assert "silent" in _state(hub, SourceState.SILENT).text
    time.sleep(3.5)
    hub.stop()
    assert 2 <= len(accepted) <= 5


def test_udp_datagrams_with_and_without_a_line_end(running, signed):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    hub = running(UdpSource("net", port))
    sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
    until = time.monotonic() + 8
    lines = []
    while not lines and time.monotonic() < until:
        sender.sendto(signed("IIMTW,1.0,C"), ("127.0.0.1", port))
        lines += hub.get(0.1)
    sender.sendto(signed("IIMTW,2.0,C") + b"\r\n" + signed("IIMTW,3.0,C"), ("127.0.0.1", port))
    lines += _lines(hub, 2)
    assert signed("IIMTW,3.0,C") in [line.data for line in lines]
    assert all(line.whole for line in lines)
    sender.close()


def test_udp_port_in_use_is_said(running):
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as other:
        other.bind(("127.0.0.1", 0))
        port = other.getsockname()[1]
        hub = running(UdpSource("net", port))
        assert "in use" in _state(hub, SourceState.LOST).text


def test_standard_input_until_it_ends(running, evening):
    reading, writing = os.pipe()
    hub = running(StdinSource("stdin", descriptor=reading))
    os.write(writing, evening(30) + b"$IIMTW")
    os.close(writing)
    lines = _lines(hub, 31)
    assert (lines[-1].data, lines[-1].whole) == (b"$IIMTW", False)
    assert _state(hub, SourceState.ENDED).text == "standard input has ended"
    assert hub.ended
    os.close(reading)


def test_a_file_played_as_if_live(running):
    hub = running(FileSource("old", file_of("a depth cut off"), rate=1e6))
    lines = _lines(hub, 610)
    assert len(lines) == 610
    assert lines[-1].t_s < 60  # stamped as it came, not with the recording's ninety minutes
    assert "timing from the sentences' own clock" not in _state(hub, SourceState.ENDED).text


def test_a_file_that_is_not_there_is_said(running, tmp_path):
    hub = running(FileSource("old", tmp_path / "none.nmea"))
    assert "does not exist" in _state(hub, SourceState.LOST).text


@pytest.mark.skipif(shutil.which("gpsd") is None, reason="gpsd is not installed")
def test_the_real_gpsd_passes_speed_through_water(running, plug, tmp_path):
    port = plug()
    raw = file_of("two depths disagree, temperature sensor broken").read_bytes().splitlines(keepends=True)[:6000]
    with socket.create_server(("127.0.0.1", 0)) as probe:
        number = probe.getsockname()[1]
    daemon = subprocess.Popen(
        ["gpsd", "-N", "-n", "-S", str(number), "-P", str(tmp_path / "gpsd.pid"), port.path],
        stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    try:
        hub = running(GpsdSource("gpsd", "localhost", number))
        decoder = Decoder()
        found = {}
        until = time.monotonic() + 20
        i = 0
        while Quantity.STW not in found and time.monotonic() < until and i < len(raw):
            port.write(b"".join(raw[i : i + 20]))
            i += 20
            for line in hub.get(0.1):
                assert line.data[:1] != b"{"
                for reading in decoder.decode(line):
                    found[reading.quantity] = reading.value
        # 3.6 to 6.2 kn in this recording
        assert 1.8 < found[Quantity.STW] < 3.3
        assert Quantity.SOG in found or Quantity.HEADING in found
    finally:
        daemon.terminate()
        daemon.wait(10)

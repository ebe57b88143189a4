"""NMEA 2000 live, over everything that carries it: heard, gone, and back."""

import os
import socket
import struct
import threading
import time
from pathlib import Path

import pytest

from feed.aboard import BACK_S, Aboard
from sternwatch.feed.readings import SensorState, Speech, Tongue
from sternwatch.feed.sources import SourceState
from sternwatch.feed.sources.serialport import SerialSource
from sternwatch.feed.sources.streams import StdinSource

N2K = Speech(Tongue.N2K)
TABLE = Path("/proc/net/tcp")


def speed(m_s):
    """A frame as a gateway prints it."""
    data = struct.pack("<BHHBH", 0, round(m_s * 100), 0xFFFF, 0, 0xFFFF)
    return f"10:00:00.000 R 09F50323 {data.hex(' ').upper()}\r\n".encode()


class Tcp:
    def __init__(self, tmp_path, plug):  # noqa: ARG002
        self.port, self.peers = 0, []
        self.back()
        self.aboard = Aboard(f"n=n2k:tcp:127.0.0.1:{self.port}")

    def back(self):
        self.listener = socket.create_server(("127.0.0.1", self.port))
        self.port = self.listener.getsockname()[1]
        threading.Thread(target=self._accept, args=(self.listener,), daemon=True).start()

    def _accept(self, listener):
        try:
            while True:
                self.peers.append(listener.accept()[0])
        except OSError:
            return

    def say(self, data):
        for peer in list(self.peers):
            peer.sendall(data)

    def gone(self):
        self.listener.shutdown(socket.SHUT_RDWR)
        self.listener.close()
        for peer in self.peers:
            peer.close()
        self.peers.clear()

    def end(self):
        self.gone()


class Udp:
    def __init__(self, tmp_path, plug):  # noqa: ARG002
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
            probe.bind(("127.0.0.1", 0))
            self.port = probe.getsockname()[1]
        self.sender = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
        self.there = True
        self.aboard = Aboard(f"n=n2k:udp:{self.port}")

    def say(self, data):
        if self.there:
            self.sender.sendto(data, ("127.0.0.1", self.port))

    def gone(self):
        self.there = False

    def back(self):
        self.there = True

    def end(self):
        self.sender.close()


class Serial:
    """A pseudo port with a rate that is told, behind a lasting name."""

    def __init__(self, tmp_path, plug):
        self.plug, self.link = plug, tmp_path / "gateway"
        self.back()
        self.aboard = Aboard(
            f"n=n2k:serial:{self.link}@115200",
            sources=[SerialSource("n", str(self.link), 115200, speech=N2K)],
        )

    def say(self, data):
        self.device.write(data)

    def gone(self):
        self.device.unplug()

    def back(self):
        self.device = self.plug(link=self.link)

    def end(self):
        pass


@pytest.fixture(params=[Tcp, Udp, Serial], ids=["tcp", "udp", "serial"])
def carrier(request, tmp_path, plug):
    made = request.param(tmp_path, plug)
    yield made
    made.aboard.stop()
    made.end()


def test_heard_gone_and_back_within_three_seconds(carrier):
    aboard = carrier.aboard
    aboard.hear_until(aboard.is_fresh, lambda: carrier.say(speed(1.23)))
    assert aboard.readings[0].value == pytest.approx(1.23)
    carrier.gone()
    aboard.hear(0.4)
    aboard.clock.added_s += 1.9
    assert aboard.is_fresh()
    aboard.clock.added_s += 1.9
    assert aboard.state() is SensorState.SILENT
    aboard.hear(0.4)
    carrier.back()
    assert aboard.hear_until(aboard.is_fresh, lambda: carrier.say(speed(1.23))) < BACK_S
    assert aboard.decoder.reports()[0].rejected.keys() <= {"said only once so far", "cut off"}


def test_the_rate_of_a_gateway_is_found(plug):
    import termios

    device = plug()
    aboard = Aboard(sources=[SerialSource("n", device.path, listen_s=0.3, speech=N2K)])
    aboard.decoder._speech["n"] = N2K
    try:

        def speak():
            device.write(speed(1.0) if device.rate() == termios.B38400 else b"\x8f\x00\xff\x12")

        aboard.hear_until(aboard.is_fresh, speak)
        assert aboard.status.baud == 38400
    finally:
        aboard.stop()


def test_standard_input_until_it_ends():
    reading, writing = os.pipe()
    aboard = Aboard("n=n2k:-", sources=[StdinSource("n", descriptor=reading, speech=N2K)])
    try:
        os.write(writing, speed(1.0) + speed(1.01)[:20])
        aboard.hear(0.2)
        os.write(writing, speed(1.01)[20:] + speed(1.02)[:9])
        os.close(writing)
        aboard.hear_until(lambda: aboard.hub.ended, lambda: None)
        assert [r.value for r in aboard.readings] == [pytest.approx(1.01)]  # the first is said only once so far
        assert aboard.status.state is SourceState.ENDED
        assert aboard.decoder.reports()[0].rejected["cut off"] == 1
    finally:
        aboard.stop()
        os.close(reading)


def test_a_host_that_does_not_answer_is_found_within_three_seconds_of_its_return():
    """Its queue is full: what asks to connect hears nothing at all, as from a host without power."""
    host = socket.socket()
    host.bind(("127.0.0.1", 0))
    host.listen(0)
    port = host.getsockname()[1]
    waiting = [socket.socket() for _ in range(2)]
    for one in waiting:
        one.setblocking(False)
        one.connect_ex(("127.0.0.1", port))
    aboard = Aboard(f"n=n2k:tcp:127.0.0.1:{port}")
    try:
        aboard.hear(1.3)
        assert aboard.status.state is SourceState.CONNECTING
        returned = time.monotonic()
        host.settimeout(BACK_S)
        for one in waiting:
            one.close()
        peer, heard = None, False
        while not heard:
            assert time.monotonic() - returned < BACK_S
            peer, _ = host.accept()
            peer.settimeout(0.2)
            try:
                heard = peer.recv(1, socket.MSG_PEEK) != b""  # those that only waited have closed
            except TimeoutError:
                heard = True
        peer.sendall(speed(1.0) + speed(1.0))
        aboard.hear_until(aboard.is_fresh, lambda: None)
        assert time.monotonic() - returned < BACK_S
        peer.close()
    finally:
        aboard.stop()
        host.close()


@pytest.mark.skipif(not TABLE.exists(), reason="the system has no table of its connections to look at")
def test_a_peer_without_power_is_asked_whether_it_is_there():
    """What a lost peer does not say, the system finds out within six seconds, or when it is back."""
    server = socket.create_server(("127.0.0.1", 0))
    aboard = Aboard(f"n=n2k:tcp:127.0.0.1:{server.getsockname()[1]}")
    try:
        peer, _ = server.accept()
        aboard.hear_until(aboard.is_fresh, lambda: peer.sendall(speed(1.0)))
        rows = [row.split() for row in TABLE.read_text().splitlines()]
        timers = [row[5] for row in rows if row[2].endswith(f":{server.getsockname()[1]:04X}")]
        assert len(timers) == 1
        assert timers[0].startswith("02:")  # the keep-alive timer runs
        assert int(timers[0][3:], 16) <= 200  # hundredths of a second
        peer.close()
    finally:
        aboard.stop()
        server.close()

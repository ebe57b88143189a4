"""Serial ports over real pty pairs: the rate found, unplug and replug under another number, nobody else let in."""

import itertools
import os
import shutil
import subprocess
import sys
import threading
import time
from typing import ClassVar

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.sources import SourceState, serialport
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.ports import Port, PortFinder, RateMemory
from sternwatch.feed.sources.serialport import SerialSource

termios = pytest.importorskip("termios", reason="needs a terminal of POSIX")


@pytest.fixture
def place(tmp_path):
    """A folder that stands for the links by device identity, a memory of rates, and a listing of ports."""

    class Place:
        by_id = tmp_path / "by-id"
        memory = RateMemory(tmp_path / "rates.json")
        listing: ClassVar[list[Port]] = []

        def source(self, path, baud=4800, **more):
            finder = PortFinder(self.by_id, lambda: self.listing)
            return SerialSource("gps", path, baud, finder=finder, memory=self.memory, **more)

    Place.by_id.mkdir()
    return Place()


@pytest.fixture
def running():
    hubs = []

    def start(source):
        hub = Hub([source])
        hubs.append(hub)
        hub.start()
        return hub

    yield start
    for hub in hubs:
        hub.stop()


class Instrument(threading.Thread):
    """Writes lines to a pseudo port twenty times a second, as long as it is plugged in.

    With ``rate`` it is understood only at that rate; at any other the reader gets rubbish.
    """

    def __init__(self, port, body="IIMTW,{:05.1f},C", rate=None, sign=None):
        super().__init__(daemon=True)
        self.port, self.body, self.rate, self.sign = port, body, rate, sign
        self.on = True
        self.start()

    def run(self):
        for i in itertools.count():
            if not self.on:
                return
            line = self.sign(self.body.format(i % 30)) + b"\r\n"
            try:
                if self.rate is not None and self.port.rate() != self.rate:
                    line = bytes(byte ^ 0xA5 for byte in line)
                self.port.write(line)
            except (OSError, termios.error, ValueError):  # unplugged
                return
            time.sleep(0.05)

    def off(self):
        self.on = False
        self.join()


def _first(hub, seconds=8.0):
    """Seconds until the next line comes, and the line."""
    begun = time.monotonic()
    while time.monotonic() - begun < seconds:
        lines = hub.get(0.02)
        if lines:
            return time.monotonic() - begun, lines[0]
    raise AssertionError(f"nothing came: {hub.statuses()}")


def _drain(hub, seconds):
    until, lines = time.monotonic() + seconds, []
    while time.monotonic() < until:
        lines += hub.get(0.02)
    return lines


def _state(hub, state, seconds=8.0):
    until = time.monotonic() + seconds
    while hub.statuses()[0].state is not state:
        assert time.monotonic() < until, hub.statuses()
        time.sleep(0.02)
    return hub.statuses()[0]


def test_lines_come_as_sent_even_byte_by_byte(place, plug, running, signed):
    port = plug()
    hub = running(place.source(port.path))
    sent = [signed(f"IIMTW,{i},C") for i in range(20)]
    _state(hub, SourceState.CONNECTING)
    time.sleep(0.3)
    for byte in b"\r\n".join(sent) + b"\r\n":
        port.write(bytes([byte]))
    lines = _drain(hub, 1.0)
    assert [line.data for line in lines] == sent
    status = _state(hub, SourceState.OPEN)
    assert (status.address, status.baud) == (port.path, 4800)


@pytest.mark.parametrize("away_s", [0.2, 3.0])
def test_unplugged_and_back_under_another_number_within_a_second(place, plug, running, signed, away_s):
    link = place.by_id / "usb-Invented_Receiver_0001-if00-port0"
    first = plug(link)
    instrument = Instrument(first, sign=signed)
    hub = running(place.source(first.device))  # asked for by number; its lasting name is found
    _first(hub)
    instrument.off()
    first.write(b"$IIMTW,01")  # unplugged in mid-sentence
    time.sleep(0.2)
    first.unplug()
    unplugged = time.monotonic()
    status = _state(hub, SourceState.LOST, 1.0)
    assert time.monotonic() - unplugged < 0.5
    assert "unplugged or failed" in status.text or "not there" in status.text
    lines = _drain(hub, away_s)
    assert (lines[-1].data, lines[-1].whole) == (b"$IIMTW,01", False)
    second = plug()
    while second.device == first.device:  # the number that has become free, if nobody else has taken it
        second = plug()
    link.symlink_to(second.device)
    Instrument(second, sign=signed)
    waited, line = _first(hub)
    assert waited < 1.0
    assert line.data.startswith(b"$IIMTW")
    assert _state(hub, SourceState.OPEN).address == str(link)


def test_found_again_by_its_usb_numbers_where_there_are_no_links(place, plug, running, signed):
    first = plug()
    place.listing = [Port(first.path, "invented", "1234:5678:0001")]
    instrument = Instrument(first, sign=signed)
    hub = running(place.source(first.path))
    _first(hub)
    instrument.off()
    plug_late = plug()
    first.unplug()
    _state(hub, SourceState.LOST)
    hub.get(0.0)
    place.listing = [Port(plug_late.path, "invented", "1234:5678:0001")]
    Instrument(plug_late, sign=signed)
    waited, _ = _first(hub)
    assert waited < 3.0
    assert _state(hub, SourceState.OPEN).address == plug_late.path


@pytest.mark.parametrize("rate", [4800, 38400, 115200])
def test_the_rate_is_found_by_listening_and_remembered(place, plug, running, signed, rate):
    port = plug()
    number = getattr(termios, f"B{rate}")
    Instrument(port, rate=number, sign=signed)
    hub = running(place.source(port.path, baud=None, listen_s=0.4))
    _, line = _first(hub)
    decoder = Decoder()
    lines = [line, *_drain(hub, 0.5)]
    for each in lines:
        decoder.decode(each)
    assert decoder.reports()[0].accepted["MTW"] >= len(lines) - 2  # the rate is found in mid-sentence
    assert _state(hub, SourceState.OPEN).baud == rate
    assert place.memory.get(port.path) == rate


def test_another_rate_after_replugging(place, plug, running, signed):
    link = place.by_id / "usb-Invented_Receiver_0002"
    first = plug(link)
    Instrument(first, rate=termios.B4800, sign=signed)
    hub = running(place.source(str(link), baud=None, listen_s=0.4))
    _first(hub)
    first.unplug()
    _state(hub, SourceState.LOST)
    hub.get(0.0)
    Instrument(plug(link), rate=termios.B38400, sign=signed)
    _first(hub)
    assert _state(hub, SourceState.OPEN).baud == 38400
    assert place.memory.get(str(link)) == 38400


def test_a_source_without_checksums_is_understood_too(place, plug, running):
    port = plug()
    Instrument(port, rate=termios.B9600, sign=lambda body: f"${body}".encode())
    hub = running(place.source(port.path, baud=None, listen_s=0.4))
    _first(hub)
    assert _state(hub, SourceState.OPEN).baud == 9600


def test_rubbish_at_every_rate_is_said(place, plug, running, signed):
    port = plug()
    Instrument(port, rate=termios.B300, sign=signed)
    hub = running(place.source(port.path, baud=None, listen_s=0.15))
    text = _state(hub, SourceState.LOST).text
    assert text.endswith("but no sentence at 4800, 38400, 9600, 115200 baud")
    assert hub.get(0.0) == []


def test_another_rate_without_an_unplug(place, plug, running, signed, monkeypatch):
    monkeypatch.setattr(serialport, "UNREADABLE_S", 0.5)
    port = plug()
    instrument = Instrument(port, rate=termios.B4800, sign=signed)
    hub = running(place.source(port.path, baud=None, listen_s=0.3))
    _first(hub)
    instrument.rate = termios.B38400
    until = time.monotonic() + 8
    while hub.statuses()[0].baud != 38400 and time.monotonic() < until:
        hub.get(0.05)
    assert (hub.statuses()[0].state, hub.statuses()[0].baud) == (SourceState.OPEN, 38400)


def test_what_nobody_foresaw_ends_no_source(place, plug, running, signed, monkeypatch, caplog):
    port = plug()
    Instrument(port, sign=signed)
    source = place.source(port.path)
    monkeypatch.setattr(source, "_open", lambda: (monkeypatch.undo(), 1 / 0))
    monkeypatch.setattr("sternwatch.feed.sources.base.Backoff.LONGEST_S", 0.1)
    hub = running(source)
    _first(hub)
    assert "ZeroDivisionError" in caplog.text


def test_auto_takes_the_port_that_speaks(place, plug, running, signed):
    quiet = plug(place.by_id / "usb-A_Quiet")
    speaking = plug(place.by_id / "usb-B_Speaking")
    Instrument(speaking, sign=signed)
    hub = running(place.source("auto", baud=None, listen_s=0.1))
    _first(hub)
    assert _state(hub, SourceState.OPEN).address == str(speaking.link)
    assert quiet.link.exists()


def test_auto_with_no_port_at_all_waits_and_says_so(place, plug, running, signed):
    hub = running(place.source("auto", baud=None, listen_s=0.2))
    assert "not there; waiting for it" in _state(hub, SourceState.LOST).text
    Instrument(plug(place.by_id / "usb-Late"), sign=signed)
    waited, _ = _first(hub)
    assert waited < 2.0


def test_open_but_silent_is_said_and_tried_again(place, plug, running, signed, monkeypatch):
    monkeypatch.setattr(SerialSource, "SILENT_S", 0.4)
    port = plug()
    hub = running(place.source(port.path))
    assert "open, but silent" in _state(hub, SourceState.SILENT).text
    Instrument(port, sign=signed)
    _first(hub)
    _state(hub, SourceState.OPEN)


def test_a_second_reader_is_kept_out(place, plug, running, signed):
    port = plug()
    Instrument(port, sign=signed)
    hub = running(place.source(port.path))
    _first(hub)
    second = running(place.source(port.path))
    assert "another program has it open" in _state(second, SourceState.LOST).text
    # One that does not ask for a lock is kept out too, unless it may do everything.
    if os.geteuid() != 0:
        probe = subprocess.run([sys.executable, "-c", f"open({port.path!r}, 'rb')"], capture_output=True, check=False)
        assert probe.returncode != 0


def test_not_there_and_not_permitted_are_said(place, plug, running, tmp_path):
    assert "not there; waiting for it" in _state(running(place.source("/dev/ttyNONE9")), SourceState.LOST).text
    plain = tmp_path / "plain"
    plain.write_bytes(b"")
    assert "serial " in _state(running(place.source(str(plain))), SourceState.LOST).text
    if os.geteuid() != 0:
        port = plug()
        os.chmod(port.path, 0)  # noqa: PTH101
        assert "no permission" in _state(running(place.source(port.path)), SourceState.LOST).text


def test_115200_baud_flat_out_loses_nothing(place, plug, running, evening):
    """A second and a half of a full line: 11,520 bytes a second."""
    port = plug()
    hub = running(place.source(port.path, baud=115200))
    _state(hub, SourceState.CONNECTING)
    time.sleep(0.3)
    sent = evening(600)
    begun = time.monotonic()
    for i in range(0, len(sent), 1152):
        port.write_all(sent[i : i + 1152])
        time.sleep(max(0.0, begun + (i + 1152) / 11_520 - time.monotonic()))
    lines = _drain(hub, 1.0)
    assert b"".join(line.data + b"\r\n" for line in lines) == sent


@pytest.mark.skipif(shutil.which("socat") is None, reason="socat is not installed")
def test_a_real_pair_of_ports_that_goes_away_and_comes_back(place, running, signed, tmp_path):
    ours, theirs = tmp_path / "ours", tmp_path / "theirs"

    def pair():
        process = subprocess.Popen(["socat", f"pty,raw,echo=0,link={ours}", f"pty,raw,echo=0,link={theirs}"])
        until = time.monotonic() + 5
        while not (ours.exists() and theirs.exists()):
            assert time.monotonic() < until
            time.sleep(0.02)
        return process

    process = pair()
    try:
        hub = running(place.source(str(ours)))
        for _ in range(2):
            with theirs.open("wb", buffering=0) as port:
                sent = [signed(f"IIMTW,{i},C") for i in range(100)]
                got, until = [], time.monotonic() + 8
                while not got and time.monotonic() < until:  # until it is opened, nobody reads
                    port.write(sent[0] + b"\r\n")
                    got += hub.get(0.05)
                port.write(b"\r\n".join(sent) + b"\r\n")
                got += _drain(hub, 0.6)
            assert [line.data for line in got][-100:] == sent
            process.terminate()
            process.wait(5)
            _state(hub, SourceState.LOST, 1.0)
            process = pair()
    finally:
        process.terminate()
        process.wait(5)


def test_every_port_once_under_its_lasting_name(tmp_path, plug):
    by_id = tmp_path / "by-id"
    by_id.mkdir()
    named, other = plug(by_id / "usb-Named"), plug()
    listing = [Port("/dev/ttyS9"), Port(other.path, "b", "1:2:3"), Port(named.device, "a", "4:5:6")]
    finder = PortFinder(by_id, lambda: listing)
    assert [port.path for port in finder.ports()] == [str(named.link), other.path, "/dev/ttyS9"]
    assert finder.ports()[0].identity == "4:5:6"
    assert finder.lasting_name(named.device) == str(named.link)
    assert finder.lasting_name(other.path) == other.path


def test_a_spoiled_memory_of_rates_is_no_obstacle(tmp_path):
    path = tmp_path / "deep" / "down" / "rates.json"
    memory = RateMemory(path)
    assert memory.get("a") is None
    memory.put("a", 4800)
    assert RateMemory(path).get("a") == 4800
    path.write_text("{rubbish")
    assert memory.get("a") is None
    path.write_text('{"a": "fast"}')
    assert memory.get("a") is None

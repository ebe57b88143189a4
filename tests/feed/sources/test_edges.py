"""How long sources wait, what they ask for and how they are told apart: without ports, almost without sockets."""

from __future__ import annotations

import itertools
import os
import socket
import threading
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Line, Speech, Tongue
from sternwatch.feed.recording.feed_clock import FeedClock
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources import base, network, ports, serialport, websocket
from sternwatch.feed.sources.base import Backoff, LiveSource, SourceState, SourceStatus
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.network import GpsdSource, TcpSource, UdpSource
from sternwatch.feed.sources.ports import Port, PortFinder, RateMemory, _words
from sternwatch.feed.sources.serialport import SerialSource
from sternwatch.feed.sources.specs import SourceSpec, build, parse_config, parse_spec
from sternwatch.feed.sources.streams import FileSource, StdinSource
from sternwatch.feed.sources.websocket import WebSocketSource


def test_attempts_come_after_longer_and_longer_waits() -> None:
    waits = Backoff()
    first = [waits.next_s() for _ in range(10)]
    assert first == pytest.approx([0.1, 0.15, 0.225, 0.3375, 0.50625, 0.759375, 1.1390625, 1.70859375, 2.0, 2.0])
    waits.reset()
    assert waits.next_s() == 0.1


def test_ports_are_told_apart_by_what_is_plugged_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """Vendor, product and serial number, where the system knows them."""
    comports = pytest.importorskip("serial.tools.list_ports")
    listed = [
        SimpleNamespace(device="/dev/ttyUSB0", description="n/a", vid=0x67B, pid=0x23A3, serial_number="A1"),
        SimpleNamespace(device="/dev/ttyUSB1", description="USB serial", vid=0x67B, pid=0x23A3, serial_number=None),
        SimpleNamespace(device="/dev/ttyS0", description=None, vid=None, pid=None, serial_number=None),
    ]
    monkeypatch.setattr(comports, "comports", lambda: listed)
    assert ports.system_ports() == [
        Port("/dev/ttyUSB0", "", "067b:23a3:A1"), Port("/dev/ttyUSB1", "USB serial", "067b:23a3:"),
        Port("/dev/ttyS0", "", ""),
    ]  # fmt: skip


class Quiet(LiveSource):
    """A source whose channel says what it is told, a second a read."""

    def __init__(self, *chunks: bytes) -> None:
        super().__init__("quiet")
        self.chunks, self.told, self.lines = list(chunks), [], []  # type: ignore[var-annotated]
        self._put, self._tell = self.lines.append, self.told.append
        self.address, self.baud = "there", None

    def _where(self) -> str:
        return "somewhere"

    def _open(self) -> Any:
        return self

    def read(self) -> bytes:
        return self.chunks.pop(0) if self.chunks else b""

    def close(self) -> None:
        pass


@pytest.mark.parametrize(
    ("patience_s", "next_s"), [(10.0, 20.0), (20.0, 40.0), (150.0, 300.0), (160.0, 300.0), (300.0, 300.0)]
)
def test_a_quiet_port_is_opened_anew_later_and_later(
    monkeypatch: pytest.MonkeyPatch, patience_s: float, next_s: float
) -> None:
    monkeypatch.setattr(base.time, "monotonic", map(float, itertools.count()).__next__)
    source = Quiet()
    monkeypatch.setattr(source._clock, "now", lambda: (0.0, 0))
    assert source._read_all(source, Backoff(), patience_s) == next_s
    (told,) = source.told
    assert (told.state, told.text) == (SourceState.SILENT, f"there: open, but silent for {patience_s:.0f} s")


def test_one_that_spoke_is_waited_for_as_at_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(base.time, "monotonic", map(float, itertools.count()).__next__)
    source, waits = Quiet(b"a\r\nb", b"c\r\nd"), Backoff()
    monkeypatch.setattr(source._clock, "now", lambda: (7.0, 5))
    waits.next_s()
    assert source._read_all(source, waits, 160.0) == 10.0
    assert [told.state for told in source.told] == [SourceState.OPEN, SourceState.SILENT]
    assert source.lines == [
        Line(7.0, 5, "quiet", b"a"), Line(7.0, 5, "quiet", b"bc"), Line(7.0, 5, "quiet", b"d", whole=False),
    ]  # fmt: skip
    assert waits.next_s() == 0.1


def test_a_wait_ends_with_its_time_or_when_the_other_side_is_back(monkeypatch: pytest.MonkeyPatch) -> None:
    now, asked, source = [0.0], [], Quiet()

    class Stopping:
        def wait(self, seconds: float) -> bool:
            asked.append(round(seconds, 6))
            now[0] += seconds
            return False

    monkeypatch.setattr(base.time, "monotonic", lambda: now[0])
    source._stopping = Stopping()  # type: ignore[assignment]
    source._wait(0.25)
    assert asked == [0.1, 0.1, 0.05]
    monkeypatch.setattr(source, "_is_back", lambda: now[0] > 0.4)
    source._wait(9.0)
    assert asked[3:] == [0.1, 0.1]


def test_a_status_is_told_once_until_it_changes() -> None:
    source = Quiet()
    for text in ("a", "a", "b", "a"):
        source._say(SourceState.LOST, text)
    assert [told.text for told in source.told] == ["a", "b", "a"]
    assert (source.told[0].address, source.told[0].baud) == ("", None)
    source._say(SourceState.OPEN, "c", source)
    assert source.told[-1].address == "there"


@pytest.mark.parametrize(
    ("made", "priority"),
    [
        (TcpSource("a", "h", 1), 0), (GpsdSource("a"), 0), (UdpSource("a", 1), 0), (StdinSource("a"), 0),
        (FileSource("a", Path("x")), 0), (SerialSource("a", "/dev/x"), 0), (WebSocketSource("a", "h", 1), 0),
        (TcpSource("a", "h", 1, 4), 4), (GpsdSource("a", "h", 1, 4), 4), (UdpSource("a", 1, "h", 4), 4),
        (StdinSource("a", 4), 4), (SerialSource("a", "/dev/x", None, 4), 4), (WebSocketSource("a", "h", 1, 4), 4),
    ],
)  # fmt: skip
def test_a_source_is_preferred_as_it_was_said(made: Any, priority: int) -> None:
    assert made.priority == priority


def test_what_a_source_is_built_with() -> None:
    gpsd: Any = build(SourceSpec("g", "gpsd"))
    assert (gpsd.host, gpsd.port, gpsd._where()) == ("localhost", 2947, "gpsd localhost:2947")
    udp: Any = build(SourceSpec("u", "udp", port=10110))
    assert (udp.host, udp.port) == ("127.0.0.1", 10110)
    web: Any = build(SourceSpec("w", "websocket", "boat", speech=Speech(Tongue.SIGNALK)))
    assert (web.host, web.port, web._where()) == ("boat", 3000, "signalk boat:3000")
    file: Any = build(SourceSpec("f", "file", "x.nmea", priority=3))
    assert (file.rate, file.priority) == (1.0, 3)


def test_a_connection_is_tried_for_three_seconds_and_watched_by_probes(monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[float] = []
    real = socket.create_connection
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]
        monkeypatch.setattr(
            network.socket, "create_connection", lambda where, s: (asked.append(s), real(where, s))[1]
        )
        channel: Any = TcpSource("a", "127.0.0.1", port)._open()
        mine = channel._socket
        assert asked == [3.0]
        assert mine.gettimeout() == 0.25
        assert mine.getsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE) == 1
        for name, value in (("TCP_KEEPIDLE", 2), ("TCP_KEEPINTVL", 1), ("TCP_KEEPCNT", 4)):
            if hasattr(socket, name):
                assert mine.getsockopt(socket.IPPROTO_TCP, getattr(socket, name)) == value
        channel.close()
        hello: Any = GpsdSource("g", "127.0.0.1", port)._open()
        hello.close()
        other, _ = server.accept()
        other.close()
        other, _ = server.accept()
        assert other.recv(100) == b'?WATCH={"enable":true,"nmea":true}\n'
        other.close()
    assert not GpsdSource("g")._keep(b'{"class":"TPV"}')
    assert GpsdSource("g")._keep(b"$GPRMC")


def test_a_datagram_ends_its_line() -> None:
    channel: Any = UdpSource("u", 0)._open()
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
        sender.sendto(b"$A", channel._socket.getsockname())
    assert channel._socket.gettimeout() == 0.25
    assert channel.read() == b"$A\n"
    channel.close()


@pytest.mark.parametrize(("status", "login"), [(401, True), (403, True), (400, False), (404, False), (402, False)])
def test_a_server_that_wants_a_login(status: int, login: bool) -> None:
    assert ("without logging in" in websocket._refusal(status)) is login
    assert str(status) in websocket._refusal(status)


# -- ports ---------------------------------------------------------------------------------------------------------


@pytest.mark.skipif(os.name == "nt", reason="Windows has no lasting links of ports")
def test_ports_of_real_devices_come_first_and_each_once(tmp_path: Path) -> None:
    devices = [tmp_path / name for name in ("ttyA", "ttyB", "ttyC")]
    for device in devices:
        device.touch()
    (tmp_path / "links").mkdir()
    (tmp_path / "links" / "gone").symlink_to(tmp_path / "nowhere")
    link = tmp_path / "links" / "gps"
    link.symlink_to(devices[2])
    listed = [
        Port(str(devices[0]), "plain"),
        Port(str(devices[1]), "usb", "1:2:x"),
        Port(str(devices[2]), "gps", "3:4:"),
    ]
    finder = PortFinder(tmp_path / "links", lambda: listed)
    assert finder.ports() == [Port(str(link), "gps", "3:4:"), listed[1], listed[0]]
    assert finder.links() == [link]
    assert finder.lasting_name(str(devices[2])) == str(link)
    assert finder.lasting_name(str(devices[0])) == str(devices[0])
    assert [finder.identity(str(d)) for d in devices] == ["", "1:2:x", "3:4:"]
    assert [finder.find(i) for i in ("1:2:x", "", "9:9:")] == [str(devices[1]), None, None]
    assert PortFinder(tmp_path / "none", list).links() == []


def test_windows_is_asked_for_the_names_of_its_ports(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """A look for a file would open the port, and would never find COM12."""
    monkeypatch.setattr(ports, "_is_named", {"COM3", "COM12"}.__contains__)
    assert [ports.is_there(name) for name in ("COM12", "com3", r"\\.\COM12", "COM4")] == [True, True, True, False]
    assert ports.is_there(str(tmp_path))
    assert not ports.is_there(str(tmp_path / "COM12"))
    finder = PortFinder(tmp_path, lambda: [Port("COM3", "", "1:2:"), Port("COM12", "", "1:2:")])
    for name in ("COM12", r"\\.\com12"):
        assert finder.identity(name) == "1:2:"
        source = SerialSource("a", name, finder=finder)
        source._identity = "1:2:"  # of two devices: the one that was named is there, so it is taken
        assert (source._choose(), source._present()) == (name, {name})


def test_the_two_files_that_macos_has_for_a_port_are_one_device(tmp_path: Path) -> None:
    finder = PortFinder(tmp_path, lambda: [Port("/dev/cu.usbserial-A1", "GPS", "1:2:x")])
    assert [finder.identity(f"/dev/{kind}.usbserial-A1") for kind in ("tty", "cu")] == ["1:2:x", "1:2:x"]
    assert finder.identity("/dev/tty.usbserial-A2") == ""


@pytest.mark.parametrize(("given", "words"), [(None, ""), ("n/a", ""), ("GPS", "GPS"), ("", "")])
def test_a_description_in_words(given: str | None, words: str) -> None:
    assert _words(given) == words


def test_a_rate_is_kept_and_only_written_when_it_changes(tmp_path: Path) -> None:
    memory = RateMemory(tmp_path / "deep" / "rates.json")
    memory.put("/dev/x", 4800)
    first = memory.path.stat().st_mtime_ns
    memory.put("/dev/x", 4800)
    assert memory.path.stat().st_mtime_ns == first
    memory.put("/dev/y", 9600)
    assert (memory.get("/dev/x"), memory.get("/dev/y")) == (4800, 9600)


@pytest.mark.parametrize(
    ("tongue", "saved", "rates"),
    [
        (Tongue.SENTENCES, None, [4800, 38400, 9600, 115200]), (Tongue.SENTENCES, 9600, [9600, 4800, 38400, 115200]),
        (Tongue.SENTENCES, 57600, [57600, 4800, 38400, 9600, 115200]),
        (Tongue.N2K, None, [115200, 230400, 38400, 9600]),
    ],
)  # fmt: skip
def test_which_rates_are_listened_at_and_for_how_long(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, tongue: Tongue, saved: int | None, rates: list[int]
) -> None:
    class Channel:
        def __init__(self, path: str, baud: int) -> None:
            self.address, self.baud = path, baud

        def close(self) -> None:
            pass

    asked: list[Any] = []

    def listen(channel: Channel, rates: list[int], seconds: float, *_: object) -> tuple[int, bool]:
        asked.append((channel.baud, rates, seconds))
        return 38400, True

    monkeypatch.setattr(serialport, "SerialChannel", Channel)
    monkeypatch.setattr(serialport, "listen", listen)
    memory = RateMemory(tmp_path / "rates.json")
    if saved is not None:
        memory.put("/dev/x", saved)
    source = SerialSource("s", "/dev/x", memory=memory, speech=Speech(tongue))
    source._open_at_any_rate("/dev/x")
    assert asked == [(rates[0], rates, 3.0)]
    assert memory.get("/dev/x") == 38400


def test_with_auto_the_port_that_sends_is_tried_first_next_time(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    class Finder:
        def ports(self) -> list[Port]:
            return [Port(f"/dev/{k}") for k in range(3)]

        def links(self) -> list[Path]:
            return []

    monkeypatch.setattr(serialport, "SerialChannel", lambda path, _: Quiet(path.encode()))
    monkeypatch.setattr(serialport, "listen", lambda *_: (4800, True))
    source = SerialSource("s", "auto", finder=Finder(), memory=RateMemory(tmp_path / "r"))  # type: ignore[arg-type]
    assert source._choose() == "/dev/0"
    opened: list[Any] = [source._open(), source._open()]
    assert [one.chunks for one in opened] == [[b"/dev/1"], [b"/dev/1"]]


# -- as the user writes them ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "taken"),
    [
        ("udp:1", True), ("udp:0", False), ("udp:65535", True), ("udp:65536", False), ("udp:1.5", False),
        ("serial:/dev/x@300", True), ("serial:/dev/x@299", False), ("serial:/dev/x@4000000", True),
        ("serial:/dev/x@4000001", False), ("tcp:h:1", True), ("tcp:h:0", False), ("gpsd:h:65535", True),
        ("gpsd:h:65536", False), ("signalk:h:1", True), ("signalk:h:65535", True), ("signalk:h:65536", False),
        ("a23456789012345=udp:1", True), ("a234567890123456=udp:1", False),
    ],
)  # fmt: skip
def test_where_a_number_of_a_source_ends(text: str, taken: bool) -> None:
    if taken:
        assert parse_spec(text).name
    else:
        with pytest.raises(FeedError):
            parse_spec(text)


@pytest.mark.parametrize(
    ("entry", "said"),
    [
        ({"source": "udp:1", "priority": True}, "priority: is True"),
        ({"source": "udp:1", "priority": "1"}, "priority: is '1'"),
        ({"source": "udp:1", "probe": 1}, "probe: is 1"),
        ({"source": "udp:1", "checksum": "no"}, "checksum: is 'no'"),
        ({"source": 5}, "source: is 5"), ({}, "source: is None"), ("udp:1", "is 'udp:1'; a table"),
        ({"source": "udp:1", "xyzzy": 1}, "xyzzy: unknown; accepted are source, priority, probe, checksum"),
    ],
)  # fmt: skip
def test_a_mistake_in_the_configuration(entry: object, said: str) -> None:
    with pytest.raises(FeedError, match=f"c: feed.gps.?.?{said}".replace("(", r"\(")):
        parse_config({"gps": entry}, "c")


def test_a_configured_source_has_what_its_text_says_too() -> None:
    setup = parse_config({"a": {"source": "udp:1,probe,nochecksum"}, "b": {"source": "udp:2"}}, "c")
    assert [(s.probe, s.checked, s.priority) for s in setup.specs] == [(True, False, 0), (False, True, 1)]


# -- the hub and the recorder --------------------------------------------------------------------------------------


def test_a_hub_has_ended_when_every_source_has_and_nothing_waits() -> None:
    class Named:
        priority = 3

        def __init__(self, name: str) -> None:
            self.name = name

    hub = Hub([Named("a"), Named("b")])  # type: ignore[list-item]
    assert hub.priorities == {"a": 3, "b": 3}
    assert [one.text for one in hub.statuses()] == ["a: not started yet", "b: not started yet"]
    assert not hub.ended
    hub._tell(SourceStatus("a", SourceState.ENDED, ""))
    assert not hub.ended
    hub._tell(SourceStatus("b", SourceState.STOPPED, ""))
    assert hub.ended
    hub.put(Line(1.0, None, "a", b"x"))
    assert not hub.ended
    assert len(hub.get(0.0)) == 1
    assert hub.ended
    hub._tell(SourceStatus("b", SourceState.LOST, ""))
    assert not hub.ended


def test_a_recorder_loses_what_has_no_room_and_says_so(tmp_path: Path) -> None:
    (tmp_path / "is a file").touch()
    one = len(b"\\s:a,r:0*77\\12345\r\n")
    for most, lost in ((3 * one, 0), (3 * one - 1, 1)):
        made = Recorder(tmp_path / "is a file" / "r.nmea", waits_bytes=most)
        for _ in range(3):
            made.record(Line(0.0, None, "a", b"12345"))
        status = made.status
        assert (status.lines, status.lost_lines) == (3, lost)
        assert status.waiting_bytes == (3 - lost) * one
        assert ("lines of the feed could not be recorded" in status.error) is bool(lost)
        made.close(0.5)


def test_a_recorder_counts_what_it_has_written(tmp_path: Path) -> None:
    made = Recorder(tmp_path / "r.nmea")
    for k in range(5):
        made.record(Line(float(k), None, "a", b"12345"))
    made.close()
    status = made.status
    assert (status.lines, status.lost_lines, status.waiting_bytes, status.error) == (5, 0, 0, "")
    assert status.written_bytes == (tmp_path / "r.nmea").stat().st_size
    assert made._writer.daemon
    assert made._syncer.daemon


def test_a_recording_is_played_as_slowly_as_it_was_made(tmp_path: Path) -> None:
    path = tmp_path / "short.nmea"
    path.write_bytes(b"\\r:0*78\\$SDDPT,12.0,0.5*00\r\n\\r:200*7A\\$SDDPT,12.0,0.5*00\r\n")
    heard: list[Any] = []
    ended = threading.Event()
    source = FileSource("old", path)
    source.start(FeedClock(), heard.append, lambda said: ended.set() if said.state is SourceState.ENDED else None)
    assert ended.wait(20.0)
    assert [line.data[:6] for line in heard] == [b"$SDDPT"] * 2
    assert heard[1].t_s >= 0.2


def test_a_recording_that_is_stopped_says_nothing_more(tmp_path: Path) -> None:
    """Played as fast as it was recorded, an hour of it ends at once."""
    path = tmp_path / "hour.nmea"
    path.write_bytes(b"".join(b"\\r:%d*00\\$SDDPT,12.0,0.5*00\r\n" % (1000 * t) for t in range(3600)))
    heard: list[Any] = []
    first = threading.Event()
    source = FileSource("old", path)

    def put(line: Any) -> None:
        heard.append(line)
        first.set()

    source.start(FeedClock(), put, lambda _: None)
    assert first.wait(20.0)
    source.stop()
    assert source._thread is not None
    assert not source._thread.is_alive()
    assert len(heard) < 100

"""Sources as the user writes them; every mistake is one sentence that names the field and what is accepted."""

import pytest

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Declared, Speech, Tongue
from sternwatch.feed.sources.network import GpsdSource, TcpSource, UdpSource
from sternwatch.feed.sources.serialport import SerialSource
from sternwatch.feed.sources.specs import SourceSpec, parse_config, parse_spec, parse_specs, recorded
from sternwatch.feed.sources.streams import FileSource, StdinSource

N2K = Speech(Tongue.N2K)
DELTAS = Speech(Tongue.SIGNALK)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("serial:/dev/ttyUSB0@4800", SourceSpec("serial", "serial", "/dev/ttyUSB0", None, 4800)),
        ("serial:/dev/ttyUSB0", SourceSpec("serial", "serial", "/dev/ttyUSB0")),
        ("serial:COM3@38400", SourceSpec("serial", "serial", "COM3", None, 38400)),
        ("serial:auto", SourceSpec("serial", "serial", "auto")),
        (
            "deep=serial:/dev/ttyS1,probe,nochecksum",
            SourceSpec("deep", "serial", "/dev/ttyS1", None, None, 0, True, False),
        ),
        ("tcp:plotter.local:10110", SourceSpec("tcp", "tcp", "plotter.local", 10110)),
        ("tcp:[fe80::1]:10110", SourceSpec("tcp", "tcp", "fe80::1", 10110)),
        ("udp:10110", SourceSpec("udp", "udp", "", 10110)),
        ("udp:0.0.0.0:10110", SourceSpec("udp", "udp", "0.0.0.0", 10110)),
        ("gpsd:", SourceSpec("gpsd", "gpsd")),
        ("gpsd:boat", SourceSpec("gpsd", "gpsd", "boat")),
        ("gpsd:boat:2948", SourceSpec("gpsd", "gpsd", "boat", 2948)),
        ("-", SourceSpec("stdin", "stdin")),
        ("n2k:serial:/dev/ttyACM0@115200", SourceSpec("n2k", "serial", "/dev/ttyACM0", None, 115200, speech=N2K)),
        ("bus=n2k:tcp:gateway:1457", SourceSpec("bus", "tcp", "gateway", 1457, speech=N2K)),
        ("n2k:udp:2000,combined", SourceSpec("n2k", "udp", "", 2000, speech=Speech(Tongue.N2K, combined=True))),
        ("n2k:-,si", SourceSpec("n2k", "stdin", speech=Speech(Tongue.N2K, si=True))),
        ("signalk:boat.local", SourceSpec("signalk", "websocket", "boat.local", 3000, speech=DELTAS)),
        ("signalk:[fe80::1]:80", SourceSpec("signalk", "websocket", "fe80::1", 80, speech=DELTAS)),
        ("signalk:tcp:boat", SourceSpec("signalk", "tcp", "boat", 8375, speech=DELTAS)),
    ],
)
def test_accepted(text, expected):
    assert parse_spec(text) == expected


def test_a_path(tmp_path):
    path = tmp_path / "a=b,c.nmea"
    path.touch()
    assert parse_spec(str(path)) == SourceSpec("file", "file", str(path))
    assert parse_spec(f"old={path}").name == "old"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("seriel:/dev/ttyUSB0", "did you mean serial:"),
        ("nothing.nmea", "no such file, and it is not a source. Accepted are serial:PORT"),
        ("serial:", "names no port; serial:auto finds one"),
        ("serial:/dev/ttyUSB0@fast", "baud rate is 'fast'; a whole number from 300"),
        ("serial:/dev/ttyUSB0@4800,prob", "'prob' is unknown; accepted after a comma are probe and nochecksum"),
        ("tcp:host", "names no host and port; tcp:HOST:PORT is expected"),
        ("tcp:host:", "names no port"),
        ("tcp:host:99999", "port is '99999'; a whole number from 1 to 65535"),
        ("udp:", "names no port; udp:PORT is expected"),
        ("/", "is a folder"),
        ("n2k:tcp:host", "names no host and port; tcp:HOST:PORT is expected"),
        ("n2k:udp:1,fast", "'fast' is unknown; accepted after a comma are probe, nochecksum, combined and si"),
        ("n2k:nothing.log", "no such file"),
        ("signalk:", "names no host; signalk:HOST or signalk:HOST:PORT is expected"),
        ("signalk:boat:0", "port is '0'; a whole number from 1"),
    ],
)
def test_refused(text, words):
    with pytest.raises(FeedError, match=words.replace("(", r"\(")) as caught:
        parse_spec(text)
    assert f"--feed {text}" in str(caught.value)


def test_order_is_priority_and_names_are_made_distinct():
    setup = parse_specs(["udp:10110", "udp:10111", "sounder=tcp:h:1,probe"])
    assert [(s.name, s.priority) for s in setup.specs] == [("udp", 0), ("udp2", 1), ("sounder", 2)]
    assert setup.probes == {"sounder"}
    assert setup.declared == (Declared("udp", 0), Declared("udp2", 1), Declared("sounder", 2, probe=True))
    with pytest.raises(FeedError, match="two sources are named a"):
        parse_specs(["a=udp:1", "a=udp:2"])


def test_config():
    table = {
        "gps": {"source": "serial:auto", "priority": 1},
        "net": {"source": "udp:10110", "priority": 0, "checksum": False},
        "deep": {"source": "tcp:h:1", "probe": True},
    }
    setup = parse_config(table, "config.toml")
    assert [(s.name, s.priority) for s in setup.specs] == [("gps", 1), ("net", 0), ("deep", 2)]
    assert (setup.probes, setup.unchecked) == ({"deep"}, {"net"})


@pytest.mark.parametrize(
    ("entry", "words"),
    [
        ({"sorce": "udp:1"}, "config.toml: feed.gps.sorce: unknown; did you mean source?"),
        ({}, "config.toml: feed.gps.source: is None; accepted are serial"),
        ({"source": "udp:x"}, "config.toml: feed.gps.source: port is 'x'"),
        ({"source": "udp:1", "priority": "first"}, "feed.gps.priority: is 'first'; a whole number"),
        ({"source": "udp:1", "probe": "yes"}, "feed.gps.probe: is 'yes'; true or false"),
        ("udp:1", "feed.gps: is 'udp:1'; a table with source"),
    ],
)
def test_config_mistakes(entry, words):
    with pytest.raises(FeedError) as caught:
        parse_config({"gps": entry}, "config.toml")
    assert words in str(caught.value)


def test_what_is_built(tmp_path):
    path = tmp_path / "x.nmea"
    path.write_bytes(b"$X")
    setup = parse_specs(["serial:auto", "tcp:h:1", "udp:2", "gpsd:", "-", str(path)])
    kinds = [type(source) for source in setup.sources()]
    assert kinds == [SerialSource, TcpSource, UdpSource, GpsdSource, StdinSource, FileSource]
    udp = setup.sources()[2]
    assert (udp.host, udp.port) == ("127.0.0.1", 2)  # the loopback address unless told otherwise


def test_marks_after_the_name_of_a_recording_are_what_its_frames_are():
    assert recorded("n2k:bus.log,combined")[1] == Speech(Tongue.N2K, combined=True, si=False)
    assert recorded("n2k:bus.log,si")[1] == Speech(Tongue.N2K, combined=False, si=True)
    assert recorded("n2k:bus.log")[1] == N2K


@pytest.mark.parametrize("text", ["q" * 300, "a=" + "q" * 300, "n2k:" + "q" * 300])
def test_a_name_that_no_system_takes_is_no_source(text: str) -> None:
    """Pasted into the start screen, it ended the program."""
    with pytest.raises(FeedError):
        parse_spec(text)

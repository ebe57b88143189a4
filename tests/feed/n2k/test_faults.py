"""Faults of a bus and of a server: wrong letters, an unplug, a restart; and a recording that replays alike."""

import random
import socket
import struct
import time

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, SensorState, Speech, Tongue
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.feed.sources.hub import Hub
from sternwatch.feed.sources.network import TcpSource
from sternwatch.feed.sources.specs import parse_specs

N2K = Speech(Tongue.N2K)


def frame(pgn, data):
    return f"10:00:00.000 R {2 << 26 | pgn << 8 | 35:08X} {data.hex(' ').upper()}".encode()


GOOD = (
    frame(128259, struct.pack("<BHHBH", 0, 123, 65535, 0, 65535)),
    frame(128267, struct.pack("<BIhB", 0, 1234, 0, 255)),
    frame(130312, struct.pack("<BBBHHB", 0, 0, 0, 28265, 65535, 255)),
    frame(129026, struct.pack("<BBHHH", 0, 0xFC, 15708, 154, 65535)),
    frame(127250, struct.pack("<BHhhB", 0, 15708, 0x7FFF, 0x7FFF, 0xFC)),
    frame(129025, struct.pack("<ii", 471234567, -907654321)),
)
TRUE = {Quantity.STW: 1.23, Quantity.SOG: 1.54, Quantity.BOTTOM: 12.34, Quantity.WATER_TEMPERATURE: 9.5}
# What the gates let pass within two tenths of a second: base + share of the value + rate times elapsed.
PASSES = {
    Quantity.STW: 2.2, Quantity.SOG: 2.2, Quantity.BOTTOM: 2.0 + 0.15 * 16.1 + 0.2, Quantity.WATER_TEMPERATURE: 1.54,
    Quantity.HEADING: 27.0, Quantity.COG: 42.0, Quantity.POSITION: 56.0,
}  # fmt: skip


def _off(quantity, value):
    if quantity in TRUE:
        return abs(value - TRUE[quantity])
    if quantity in (Quantity.HEADING, Quantity.COG):
        return abs((value - 90.0 + 180.0) % 360.0 - 180.0)
    if quantity is Quantity.POSITION:
        return max(abs(value[0] - 47.1234567) * 111_195.0, abs(value[1] + 90.7654321) * 75_700.0)
    return float("inf")  # nothing on this bus says it


def mutated(count):
    """One wrong letter in every seventh frame: how many read as something, were doubted, and passed though off."""
    rng, decoder = random.Random(1), Decoder(speech={"n": N2K})
    read = doubted = off = 0
    beyond = []
    for i in range(count):
        t_s = i / 10
        for line in GOOD:
            decoder.decode(Line(t_s, None, "n", line))
        wrong = bytearray(rng.choice(GOOD))
        wrong[rng.randrange(len(wrong))] = rng.randrange(32, 127)
        for reading in decoder.decode(Line(t_s, None, "n", bytes(wrong))):
            if reading.value is None:
                continue
            read += 1
            doubted += bool(reading.suspect)
            if not reading.suspect:
                error = _off(reading.quantity, reading.value)
                off += error > 1e-2
                if error > PASSES.get(reading.quantity, 0.0):
                    beyond.append((reading, bytes(wrong)))
    return read, doubted, off, beyond


def test_wrong_letters_pass_no_further_than_the_gates_let():
    read, doubted, _, beyond = mutated(1500)
    assert (read > 50, doubted > 5, beyond) == (True, True, [])


@pytest.mark.campaign
def test_a_million_wrong_letters():
    read, doubted, off, beyond = mutated(1_000_000)
    print(f"{read} read, {doubted} doubted, {off} accepted and off, {len(beyond)} beyond the gates: {beyond[:5]}")
    assert beyond == []


def test_a_gateway_that_goes_and_comes_back():
    """Stale within the quantity's time-out, and back within three seconds of the return."""
    server = socket.create_server(("127.0.0.1", 0))
    port = server.getsockname()[1]
    hub = Hub([TcpSource("n", "127.0.0.1", port, speech=N2K)])
    decoder, board = Decoder(speech={"n": N2K}), SensorBoard()

    def hear(seconds, connection=None):
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            if connection is not None:
                connection.sendall(GOOD[0] + b"\r\n")
            for line in hub.get(0.1):
                for reading in decoder.decode(line):
                    board.take(reading)
        return board.table(hub.clock.now()[0])[Quantity.STW].state

    hub.start()
    try:
        connection, _ = server.accept()
        assert hear(1.0, connection) is SensorState.FRESH
        connection.close()
        server.close()
        assert hear(3.5) is SensorState.SILENT
        server = socket.create_server(("127.0.0.1", port))
        returned = time.monotonic()
        connection, _ = server.accept()
        assert hear(0.5, connection) is SensorState.FRESH
        assert time.monotonic() - returned < 3.0
        connection.close()
    finally:
        hub.stop()
        server.close()


def test_a_recording_says_what_it_holds_and_replays_to_the_same_bit(tmp_path):
    delta = b'{"updates":[{"$source":"a","timestamp":"2026-06-01T10:00:%02dZ","values":[%s]}]}'
    value = b'{"path":"navigation.speedThroughWater","value":1.%d}'
    setup = parse_specs(["bus=n2k:tcp:h:1,combined", "server=signalk:tcp:h"])
    path = tmp_path / "trip.nmea"
    recorder = Recorder(path, setup.declared)
    live, readings = Decoder(speech=setup.speech), []
    for i in range(50):
        lines = [Line(i / 4, i, "bus", line) for line in GOOD]
        lines.append(Line(i / 4, i, "server", delta % (i, b",".join([value % i] * 8))))
        for line in lines:
            recorder.record(line)
            readings += live.decode(line)
    recorder.close()
    with open_recording(path) as recording:
        assert recording.sources == setup.declared
        again = Decoder(speech={source.name: source.speech for source in recording.sources})
        assert [reading for line in recording.lines() for reading in again.decode(line)] == readings
    assert len(readings) > 300

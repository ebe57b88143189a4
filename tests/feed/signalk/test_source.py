"""Signal K deltas: values, null, meta, sources, and values that a server says for ever."""

import json

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity, SensorState, Speech, Tongue
from sternwatch.feed.sensors.board import SensorBoard

HELLO = {"name": "s", "version": "1.7.0", "self": "vessels.urn:mrn:x", "timestamp": "2026-06-01T10:00:00.000Z"}


class Server:
    def __init__(self):
        self.decoder = Decoder(speech={"k": Speech(Tongue.SIGNALK)})
        self.t_s = 0.0

    def send(self, given):
        data = given if isinstance(given, bytes) else json.dumps(given).encode()
        found = self.decoder.decode(Line(self.t_s, None, "k", data))
        self.t_s += 1.0
        return found

    def value(self, path, value, stamp="2026-06-01T10:00:01.000Z", source="n2k.35", context="vessels.self"):
        update = {"$source": source, "timestamp": stamp, "values": [{"path": path, "value": value}]}
        return self.send({"context": context, "updates": [update]})


@pytest.mark.parametrize(
    ("path", "given", "quantity", "value", "reference"),
    [
        ("navigation.speedThroughWater", 1.25, Quantity.STW, 1.25, ""),
        ("navigation.speedThroughWater", 62.0, Quantity.STW, 62.0, ""),
        ("navigation.speedThroughWater", 62.1, Quantity.STW, None, ""),
        ("navigation.speedThroughWater", -0.1, Quantity.STW, None, ""),
        ("navigation.speedOverGround", 0.5, Quantity.SOG, 0.5, ""),
        ("navigation.speedOverGround", 62.0, Quantity.SOG, 62.0, ""),
        ("navigation.speedOverGround", 62.1, Quantity.SOG, None, ""),
        ("navigation.speedOverGround", -0.1, Quantity.SOG, None, ""),
        ("navigation.speedOverGround", 1.5, Quantity.SOG, 1.5, ""),
        ("navigation.courseOverGroundTrue", 1.5707963, Quantity.COG, 90.0, ""),
        ("navigation.headingTrue", 3.1415926, Quantity.HEADING, 180.0, "true"),
        ("navigation.headingMagnetic", 3.1415926, Quantity.HEADING, 180.0, "magnetic"),
        ("environment.depth.belowTransducer", 12.5, Quantity.BOTTOM, 12.5, "transducer"),
        ("environment.depth.belowTransducer", 0.5, Quantity.BOTTOM, 0.5, "transducer"),
        ("environment.depth.belowTransducer", -0.1, Quantity.BOTTOM, None, "transducer"),
        ("environment.depth.belowTransducer", 11000.0, Quantity.BOTTOM, 11000.0, "transducer"),
        ("environment.depth.belowTransducer", 11000.1, Quantity.BOTTOM, None, "transducer"),
        ("environment.water.temperature", 268.15, Quantity.WATER_TEMPERATURE, -5.0, ""),
        ("environment.water.temperature", 268.14, Quantity.WATER_TEMPERATURE, None, ""),
        ("environment.water.temperature", 323.15, Quantity.WATER_TEMPERATURE, 50.0, ""),
        ("environment.water.temperature", 323.16, Quantity.WATER_TEMPERATURE, None, ""),
        ("environment.depth.belowSurface", 12.5, Quantity.BOTTOM, 12.5, "surface"),
        ("environment.depth.belowKeel", 12.5, Quantity.BOTTOM, 12.5, "keel"),
        ("environment.water.temperature", 282.65, Quantity.WATER_TEMPERATURE, 9.5, ""),
        ("navigation.position", {"latitude": 47.1, "longitude": -90.2}, Quantity.POSITION, (47.1, -90.2), ""),
        ("navigation.position", {"latitude": -90.0, "longitude": 180.0}, Quantity.POSITION, (-90.0, 180.0), ""),
        ("navigation.position", {"latitude": 47.1, "longitude": -180.1}, Quantity.POSITION, None, ""),
        ("navigation.position", {"latitude": 47.1, "longitude": 180.1}, Quantity.POSITION, None, ""),
        ("navigation.position", {"latitude": 90.1, "longitude": -90.2}, Quantity.POSITION, None, ""),
        ("navigation.datetime", "2026-06-01T10:00:00Z", Quantity.CLOCK, 1780308000.0, ""),
        ("navigation.datetime", "2026-06-01T10:01:02.25Z", Quantity.CLOCK, 1780308062.25, ""),
        ("navigation.datetime", "2026-06-01T12:00:00+02:00", Quantity.CLOCK, 1780308000.0, ""),
        ("navigation.speedThroughWater", None, Quantity.STW, None, ""),
        ("navigation.speedThroughWater", "fast", Quantity.STW, None, ""),
        ("navigation.speedThroughWater", 900.0, Quantity.STW, None, ""),
    ],
)
def test_a_value(path, given, quantity, value, reference):
    (reading,) = Server().value(path, given)
    assert (reading.quantity, reading.talker, reading.reference) == (quantity, "n2k.35", reference)
    assert reading.value == (None if value is None else pytest.approx(value, abs=1e-5))


def test_a_magnetic_heading_becomes_true_with_the_variation_heard():
    server = Server()
    server.value("navigation.magneticVariation", -0.1745329)
    (reading,) = server.value("navigation.headingMagnetic", 3.1415926)
    assert (reading.value, reading.reference) == (pytest.approx(170.0, abs=1e-4), "true")


def test_meta_other_vessels_and_rubbish_are_counted_and_are_no_value():
    server = Server()
    server.send(HELLO)
    assert server.send({"updates": [{"meta": [{"path": "navigation.speedThroughWater", "value": {}}]}]}) == []
    assert server.value("navigation.speedThroughWater", 1.0, context="vessels.urn:mrn:other") == []
    assert server.send(b"{not json") == []
    assert server.send({"updates": [1, {"values": [2]}]}) == []
    assert len(server.value("navigation.speedThroughWater", 1.0, context="vessels.urn:mrn:x")) == 1
    (report,) = server.decoder.reports()
    assert report.unused == {"hello": 1, "meta": 1, "another vessel": 1}
    assert report.rejected["no delta"] == 3
    assert report.accepted == {"speedThroughWater": 1}
    server.value("navigation.speedThroughWater", 1.1, stamp="2026-06-01T10:00:02.000Z", context="vessels.urn:mrn:x")
    assert server.decoder.reports()[0].accepted == {"speedThroughWater": 2}


def test_what_a_server_says_for_ever_goes_stale():
    """The instrument is gone; the server goes on saying its last value, with the stamp it had."""
    server, board = Server(), SensorBoard()
    for i in range(5):
        for reading in server.value("navigation.speedThroughWater", 1.0, f"2026-06-01T10:00:{i:02d}.000Z"):
            board.take(reading)
    gone = server.t_s - 1.0
    for _ in range(20):
        for reading in server.value("navigation.speedThroughWater", 1.0, "2026-06-01T10:00:04.000Z"):
            board.take(reading)
    value = board.table(server.t_s)[Quantity.STW]
    entry = board.entries(server.t_s)[0]
    assert value.state is SensorState.SILENT
    assert board.table(gone + entry.timeout_s - 0.1)[Quantity.STW].state is SensorState.FRESH
    assert board.table(gone + entry.timeout_s + 0.1)[Quantity.STW].state is SensorState.SILENT


def test_a_value_from_before_the_greeting_counts_once_its_stamp_moves():
    server = Server()
    server.send(HELLO)
    old = "2026-06-01T09:00:00.000Z"
    assert server.value("environment.depth.belowSurface", 9.0, old) == []
    assert server.value("environment.depth.belowSurface", 9.0, old) == []
    # An instrument whose clock is an hour behind still speaks.
    assert len(server.value("environment.depth.belowSurface", 9.1, "2026-06-01T09:00:01.000Z")) == 1


@pytest.mark.parametrize(
    ("path", "reference"), [("navigation.headingTrue", "true"), ("navigation.headingMagnetic", "magnetic")]
)
def test_a_whole_circle_is_north(path, reference):
    (reading,) = Server().value(path, 6.283185307)
    assert (reading.value + 1.0) % 360.0 == pytest.approx(1.0, abs=1e-4)
    assert reading.reference == reference
    (east,) = Server().value(path, 1.5707963)
    assert east.value == pytest.approx(90.0, abs=1e-4)


def test_a_long_value_that_is_no_number_is_said_in_forty_letters():
    server = Server()
    server.value("navigation.speedOverGround", "x" * 60)
    assert server.decoder.reports()[0].last_bad_field.endswith(f"'{'x' * 40}' is no number")

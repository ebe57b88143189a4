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
        ("navigation.speedThroughWater", 0.5, Quantity.STW, 0.5, ""),
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


@pytest.mark.parametrize("again", [HELLO | {"timestamp": "2026-06-01T10:10:00.000Z"}, {"version": "1.7.0"}])
def test_what_a_server_heard_while_we_were_away_counts_once_its_stamp_moves(again):
    """The laptop slept: the server repeats a depth that it heard just after, from a sounder that is silent since."""
    server, path = Server(), "environment.depth.belowSurface"
    server.send(HELLO)
    server.value(path, 8.9, "2026-06-01T10:00:01.000Z")
    assert len(server.value(path, 9.0, "2026-06-01T10:00:02.000Z")) == 1
    server.send(again)
    assert server.value(path, 9.1, "2026-06-01T10:00:03.000Z") == []
    assert len(server.value(path, 9.2, "2026-06-01T10:10:02.000Z")) == 1


def test_after_a_greeting_with_its_time_what_is_said_now_counts_at_once():
    server, path = Server(), "environment.depth.belowSurface"
    for hour in (10, 11):
        server.send(HELLO | {"timestamp": f"2026-06-01T{hour}:00:00.000Z"})
        assert len(server.value(path, 9.0, f"2026-06-01T{hour}:00:01.000Z")) == 1


def test_after_a_greeting_without_a_time_a_repeated_value_is_the_first():
    server, path = Server(), "environment.depth.belowSurface"
    server.send(HELLO)
    assert len(server.value(path, 9.0)) == 1
    server.send({"version": "1.7.0"})
    assert server.value(path, 9.0) == []
    assert len(server.value(path, 9.1, "2026-06-01T10:00:02.000Z")) == 1


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
    assert server.decoder.reports()[0].last_bad_field.endswith(f"'{'x' * 40}' is not a number")


@pytest.mark.parametrize(
    ("path", "radians", "value"),
    [
        ("navigation.headingTrue", 6.28320, 0.001), ("navigation.headingMagnetic", 6.28320, 0.001),
        ("navigation.courseOverGroundTrue", 6.28320, 0.001), ("navigation.headingTrue", 6.2834, None),
        ("navigation.headingTrue", -0.0001, None), ("navigation.headingMagnetic", -0.0001, None),
        ("navigation.courseOverGroundTrue", 0.0, 0.0), ("navigation.courseOverGroundTrue", -0.0001, None),
    ],
)  # fmt: skip
def test_an_angle_lies_in_one_circle(path, radians, value):
    (reading,) = Server().value(path, radians)
    assert reading.value == (None if value is None else pytest.approx(value, abs=1e-3))


@pytest.mark.parametrize(("radians", "heard"), [(-3.14159, -180.0), (3.14159, 180.0), (-3.1417, None)])
def test_a_variation_is_west_or_east(radians, heard):
    server = Server()
    server.value("navigation.magneticVariation", radians)
    found = server.decoder.common.heard_variation_deg
    assert found == (None if heard is None else pytest.approx(heard, abs=1e-3))


@pytest.mark.parametrize(
    ("given", "talker"),
    [
        ({"$source": "n2k.35"}, "n2k.35"), ({"$source": "x" * 50}, "x" * 40), ({}, ""),
        ({"source": {"label": "bus", "canName": "C0A0"}}, "bus.C0A0"),
        ({"source": {"label": "bus", "src": "35"}}, "bus.35"),
        ({"source": {"label": "bus", "talker": "II"}}, "bus.II"), ({"source": {"label": "bus"}}, "bus"),
        ({"source": {"canName": "C0A0", "src": "35", "talker": "II"}}, "C0A0"),
        ({"source": {"label": "y" * 50}}, "y" * 40),
        ({"$source": "", "source": {"label": "bus"}}, "bus"), ({"source": "bus"}, ""),
    ],
)  # fmt: skip
def test_who_speaks(given, talker):
    update = {"timestamp": "2026-06-01T10:00:01Z", "values": [{"path": "navigation.speedThroughWater", "value": 1.0}]}
    (reading,) = Server().send({"updates": [given | update]})
    assert reading.talker == talker


@pytest.mark.parametrize(
    ("path", "value", "bad"),
    [
        ("navigation.position", None, 0), ("navigation.position", "here", 1), ("navigation.position", {}, 0),
        ("navigation.position", {"latitude": 0.0, "longitude": 0.0}, 1),
        ("navigation.position", {"latitude": 47.0, "longitude": None}, 0), ("navigation.datetime", None, 0),
        ("navigation.datetime", "some day", 1), ("navigation.datetime", 5, 1),
        ("navigation.speedThroughWater", True, 1), ("navigation.speedThroughWater", None, 0),
    ],
)  # fmt: skip
def test_null_is_no_value_and_rubbish_is_counted(path, value, bad):
    server = Server()
    (reading,) = server.value(path, value)
    assert reading.value is None
    assert server.decoder.reports()[0].bad_fields == bad


@pytest.mark.parametrize(
    ("place", "found"),
    [({"latitude": 0.0, "longitude": 5.0}, (0.0, 5.0)), ({"latitude": 5.0, "longitude": 0.0}, (5.0, 0.0))],
)
def test_a_place_on_the_equator_or_the_first_meridian(place, found):
    assert [r.value for r in Server().value("navigation.position", place)] == [found]


@pytest.mark.parametrize(("stamp", "counts"), [("09:59:57.000", True), ("09:59:56.900", False)])
def test_three_seconds_before_the_greeting_are_not_old(stamp, counts):
    server = Server()
    server.send(HELLO)
    found = server.value("environment.depth.belowSurface", 9.0, f"2026-06-01T{stamp}Z")
    assert [r.value for r in found] == ([9.0] if counts else [])


def test_a_stamp_without_a_zone_is_utc():
    server = Server()
    assert len(server.value("navigation.speedThroughWater", 1.0, "2026-06-01T10:00:00+02:00")) == 1
    assert server.value("navigation.speedThroughWater", 1.0, "2026-06-01T08:00:00") == []
    assert [r.value for r in Server().value("navigation.datetime", "2026-06-01T10:00:00")] == [1780308000.0]


def test_of_1024_speakers_the_next_forgets_the_stamps_of_all():
    for speakers, again in ((1023, []), (1024, [1.0])):
        server = Server()
        for k in range(speakers):
            server.value("navigation.speedThroughWater", 1.0, source=f"s{k}")
        server.value("navigation.speedThroughWater", 1.0, source="next")
        assert [r.value for r in server.value("navigation.speedThroughWater", 1.0, source="s0")] == again


def test_a_server_names_our_vessel_with_or_without_its_kind():
    for own, context in (("vessels.urn:x", "vessels.urn:x"), ("urn:x", "vessels.urn:x")):
        server = Server()
        server.send(HELLO | {"self": own})
        assert len(server.value("navigation.speedThroughWater", 1.0, context=context)) == 1
    cut = Server()
    assert cut.decoder.decode(Line(0.0, None, "k", b'{"updates": []}', whole=False)) == []
    assert cut.decoder.reports()[0].rejected == {"cut off": 1}
    cut.send({"requestId": "1"})
    assert cut.decoder.reports()[0].unused == {"answer": 1}


@pytest.mark.parametrize(
    ("said", "used"), [("vessels.urn:mrn:x", True), ("urn:mrn:x", True), ("", False), (5, False)]
)
def test_a_server_says_whose_values_it_has_or_nothing_of_use(said, used):
    server = Server()
    server.send({**HELLO, "self": said})
    for context, counts in (("vessels.urn:mrn:x", used), ("vessels.", False), ("vessels.self", True)):
        stamp = f"2026-06-01T10:00:{int(server.t_s):02d}.000Z"
        assert bool(server.value("navigation.speedOverGround", 1.5, stamp, context=context)) == counts

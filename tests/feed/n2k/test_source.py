"""NMEA 2000 through a gateway: forms, fields, sentinels, names, gates. Frames are made by hand from the layouts."""

import copy
import json
import struct

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.errors import FeedError
from sternwatch.feed.n2k import frames, payloads
from sternwatch.feed.n2k.packets import Packets
from sternwatch.feed.readings import Line, Quantity, Speech, Tongue
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.sensors.board import SensorBoard


def frame(pgn, data, source=35):
    """As a gateway prints it."""
    return f"10:00:00.000 R {2 << 26 | pgn << 8 | source:08X} {data.hex(' ').upper()}".encode()


def speed(m_s, source=35):
    return frame(128259, struct.pack("<BHHBH", 0, round(m_s * 100), 0xFFFF, 0, 0xFFFF), source)


def depth(m, offset_m=0.0, source=35):
    return frame(128267, struct.pack("<BIhB", 0, round(m * 100), round(offset_m * 1000), 0xFF), source)


def sea(celsius, kind=0, source=35, pgn=130312):
    kelvin = round((celsius + 273.15) * 100)
    return frame(pgn, struct.pack("<BBBHHB", 0, 0, kind, kelvin, 0xFFFF, 0xFF), source)


def claim(name, source):
    return frame(60928 | 255, struct.pack("<Q", name), source)


NAME = 0xC0A0_8200_0001_0203 | 4 << 60


class Bus:
    def __init__(self, **speech):
        self.decoder = Decoder(speech={"n": Speech(Tongue.N2K, **speech)})
        self.t_s = 0.0

    def say(self, *lines):
        found = []
        for data in lines:
            found += self.decoder.decode(Line(self.t_s, None, "n", data))
        self.t_s += 1.0
        return found

    def twice(self, line):
        """What is said only once does not count."""
        assert self.say(line) == []
        return self.say(line)


@pytest.mark.parametrize(
    ("line", "quantity", "value", "reference"),
    [
        (speed(1.23), Quantity.STW, 1.23, ""),
        (depth(12.34), Quantity.BOTTOM, 12.34, "transducer"),
        (depth(12.34, 0.5), Quantity.BOTTOM, 12.84, "surface"),
        (depth(12.34, -1.5), Quantity.BOTTOM, 12.34, "transducer"),
        (sea(9.5), Quantity.WATER_TEMPERATURE, 9.5, ""),
        (frame(130310, struct.pack("<BHHHB", 0, 28265, 0xFFFF, 0xFFFF, 0xFF)), Quantity.WATER_TEMPERATURE, 9.5, ""),
        (frame(130316, struct.pack("<BBB3sH", 0, 0, 0, (282650).to_bytes(3, "little"), 0xFFFF)),
         Quantity.WATER_TEMPERATURE, 9.5, ""),
        (frame(127250, struct.pack("<BHhhB", 0, 15708, 0x7FFF, 0x7FFF, 0xFC)), Quantity.HEADING, 90.0, "true"),
        (frame(127250, struct.pack("<BHhhB", 0, 15708, 0x7FFF, 0x7FFF, 0xFD)), Quantity.HEADING, 90.0, "magnetic"),
        (frame(127250, struct.pack("<BHhhB", 0, 15708, 0x7FFF, -1745, 0xFD)), Quantity.HEADING, 80.0, "true"),
        (frame(127250, struct.pack("<BHhhB", 0, 62831, 0x7FFF, 0x7FFF, 0xFC)), Quantity.HEADING, 359.995, "true"),
        (frame(129025, struct.pack("<ii", 471234567, -907654321)), Quantity.POSITION, (47.1234567, -90.7654321), ""),
        (frame(126992, struct.pack("<BBHI", 0, 0xF0, 20000, 360_000_000)), Quantity.CLOCK, 20000 * 86400 + 36000, ""),
        (frame(129033, struct.pack("<HIh", 20000, 36000 * 10000, 0)), Quantity.CLOCK, 20000 * 86400 + 36000, ""),
    ],
)  # fmt: skip
def test_a_message(line, quantity, value, reference):
    (reading,) = Bus().twice(line)
    assert (reading.quantity, reading.reference, reading.suspect) == (quantity, reference, "")
    assert reading.value == pytest.approx(value, rel=1e-4, abs=1e-6)
    assert reading.talker == "@35"


def test_a_variation_without_its_reserved_end_counts():
    bus = Bus()
    bus.twice(frame(127258, struct.pack("<BBHh", 0, 0xF8, 20000, -1745)))
    (reading,) = bus.twice(frame(127250, struct.pack("<BHhhB", 0, 15708, 0x7FFF, 0x7FFF, 0xFD)))
    assert (reading.reference, reading.value) == ("true", pytest.approx(80.0, abs=0.01))


def test_a_comment_is_no_frame():
    bus = Bus()
    assert bus.say(b"# a log of the bus") == []
    (account,) = bus.decoder.reports()
    assert (dict(account.unused), dict(account.rejected)) == ({"comment": 1}, {})


def test_course_and_speed_over_ground():
    course, ground = Bus().twice(frame(129026, struct.pack("<BBHHH", 0, 0xFC, 15708, 154, 0xFFFF)))[::-1]
    assert (course.value, ground.value) == (pytest.approx(90.0, abs=0.01), pytest.approx(1.54))


@pytest.mark.parametrize("sentinel", [0xFFFF, 0xFFFE])
def test_what_is_not_available_is_no_number(sentinel):
    (reading,) = Bus().say(frame(128259, struct.pack("<BHHBH", 0, sentinel, 0xFFFF, 0, 0xFFFF)))
    assert (reading.quantity, reading.value) == (Quantity.STW, None)


@pytest.mark.parametrize("kind", [1, 2, 3, 4, 13, 14])
def test_only_temperatures_of_the_sea_count(kind):
    bus = Bus()
    assert bus.say(sea(20.0, kind)) + bus.say(sea(20.0, kind)) == []


FORMS = [
    b"09F50323 00 7B 00 FF FF 00 FF FF",
    b"10:00:00.000 R 09F50323 00 7B 00 FF FF 00 FF FF",
    b"<0x09f50323> [8] 00 7b 00 ff ff 00 ff ff",
    b"can0  09F50323   [8]  00 7B 00 FF FF 00 FF FF",
    b"(1502984867.829693) slcan0 09F50323#007B00FFFF00FFFF",
    b"A173321.107 23FF2 1F503 007B00FFFF00FFFF",
    b"23FF2 1F503 007B00FFFF00FFFF",
    b"2020-08-22T13:52:36.955Z,2,128259,35,255,8,00,7b,00,ff,ff,00,ff,ff",
    b"2020-08-22-13:52:36.955,2,128259,35,255,8,00,7b,00,ff,ff,00,ff,ff",
    b"2020-08-22T13:52:36.955 2 035 255 128259 : 00 7b 00 ff ff 00 ff ff",
    b"!PDGY,128259,2,35,255,12.345,AHsA//8A//8=",
]


@pytest.mark.parametrize("line", FORMS)
def test_every_form_is_the_same_frame(line):
    found = frames.parse(line.decode())
    assert found is not None
    assert (found.pgn, found.source, found.data.hex()) == (128259, 35, "007b00ffff00ffff")


@pytest.mark.parametrize("line", FORMS)
def test_a_cut_form_is_none(line):
    assert frames.parse(line.decode()[:-2]) is None or len(frames.parse(line.decode()[:-2]).data) < 8


def test_sentences_around_a_message_must_have_a_right_checksum(signed):
    bus = Bus()
    good = signed("PCDIN,01F503,00000000,23,007B00FFFF00FFFF")
    other = signed("MXPGN,01F503,2823,FFFF00FFFF007B00")
    assert [r.value for line in (good, other) for r in bus.say(line)] == [1.23]
    assert bus.say(good[:-1] + (b"0" if good[-1:] != b"0" else b"1")) == []
    assert bus.decoder.reports()[0].rejected["checksum wrong"] == 1


def test_json_in_both_units():
    plain = {"timestamp": "2020-08-22T13:52:36.955Z", "prio": 2, "src": 35, "dst": 255}
    warm = plain | {"pgn": 130312, "fields": {"Source": "Sea Temperature", "Actual Temperature": 9.5}}
    turned = plain | {"pgn": 127250, "fields": {"Heading": 90.0, "Reference": "True"}}
    bus = Bus()
    assert [r.value for r in bus.twice(json.dumps(warm).encode())] == [pytest.approx(9.5)]
    assert [r.value for r in bus.twice(json.dumps(turned).encode())] == [pytest.approx(90.0)]
    si = Bus()
    si.say(b'{"version":"6.0.0","units":"si"}')
    warm["fields"]["Actual Temperature"] = 282.65
    turned["fields"]["Heading"] = 1.5708
    assert [r.value for r in si.twice(json.dumps(warm).encode())] == [pytest.approx(9.5)]
    assert [r.value for r in si.twice(json.dumps(turned).encode())] == [pytest.approx(90.0, abs=1e-3)]


def test_a_device_is_known_by_its_name_wherever_it_moves():
    bus = Bus()
    bus.say(claim(NAME, 35))
    bus.say(speed(1.0))
    (before,) = bus.say(speed(1.0))
    bus.say(claim(NAME, 36), claim(NAME + 1, 35))
    (after,) = bus.say(speed(1.0, source=36))
    assert before.talker == after.talker == f"{NAME:016X}"
    assert bus.say(speed(1.0)) == []  # another device is at the old address now


def test_a_jump_is_doubted_and_a_message_heard_once_does_not_count():
    bus = Bus()
    bus.twice(speed(1.0))
    assert [r.suspect for r in bus.say(speed(20.0))] == ["jumps faster than a boat speeds up"]
    assert bus.say(depth(7.0)) == []  # a depth that never comes again may have been a wrong number of the message
    assert bus.decoder.reports()[0].rejected["said only once so far"] == 2


def test_two_instruments_for_one_quantity_do_not_jump():
    bus, board, shown = Bus(), SensorBoard(), set()
    for i in range(60):
        for reading in bus.say(speed(1.0, 35), speed(2.0, 36)):
            board.take(reading)
        if i > 2:
            shown.add(board.table(float(i))[Quantity.STW].value)
    assert shown == {1.0}


def test_a_fast_packet_and_a_checkpoint_in_the_middle_of_it():
    body = struct.pack("<BHIqqqBB", 0, 20000, 36000 * 10000, 47 * 10**16, -90 * 10**16, 0, 0x10, 0xFC) + b"\xff" * 10
    parts = [bytes([0x40, len(body)]) + body[:6]]
    parts += [bytes([0x40 | i]) + body[6 + 7 * (i - 1) : 6 + 7 * i].ljust(7, b"\xff") for i in range(1, 7)]
    lines = [frame(129029, part) for part in parts]
    bus = Bus()
    bus.say(*lines)
    bus.say(*lines[:4])
    other = copy.deepcopy(bus)
    first, second = bus.say(*lines[4:]), other.say(*lines[4:])
    assert first == second
    assert [r.value for r in first if r.quantity is Quantity.POSITION] == [
        (pytest.approx(47.0), pytest.approx(-90.0))
    ]
    packets = Packets()
    assert packets.push(129029, 1, parts[0]) is None
    assert packets.push(129029, 1, parts[2]) is None  # one was lost: the whole is
    assert all(packets.push(129029, 1, part) is None for part in parts[3:])


def test_the_missing_library_is_said(monkeypatch, tmp_path):
    monkeypatch.setitem(__import__("sys").modules, "nmea2000", None)
    with pytest.raises(FeedError, match=r"pip install nmea2000$"):
        payloads.check_library()
    path = tmp_path / "bus.log"
    path.write_bytes(speed(1.0))
    with pytest.raises(FeedError, match=r"bus\.log: NMEA 2000 needs the package"):
        open_recording(path, speech=Speech(Tongue.N2K))


@pytest.mark.parametrize(
    ("line", "whole"),
    [
        ("2026-06-01-10:00:00.000,2,128267,35,255,8,00,10,00,00,00,00,00,ff", True),
        ("2026-06-01-10:00:00.000,2,128267,35,255,7,00,10,00,00,00,00,00,ff", False),
        ("2026-06-01-10:00:00.000,2,128267,35,256,8,00,10,00,00,00,00,00,ff", False),
        ("2026-06-01-10:00:00.000,2,128267,256,255,8,00,10,00,00,00,00,00,ff", False),
    ],
)
def test_a_plain_line_counts_its_bytes_and_its_addresses_are_a_byte(line, whole):
    assert (frames.parse(line) is not None) is whole


def test_a_packets_frames_hold_six_and_then_seven_bytes():
    packets = Packets()
    assert packets.push(129029, 35, bytes([0x40, 15, *range(6), 99])) is None
    assert packets.push(129029, 35, bytes([0x41, *range(6, 13), 98])) is None
    assert packets.push(129029, 35, bytes([0x42, 13, 14])) == bytes(range(15))


class Heard:
    """In place of a bus: what its handlers say."""

    talker = "35"

    def __init__(self):
        self.said, self.bad = [], []

    def is_void(self, _):
        return False

    def bad_field(self, why):
        self.bad.append(why)

    def emit(self, _, value, **__):
        self.said.append(value)

    def mended_date(self, day, month, year):
        return day, month, year

    def clock(self, date, seconds):
        self.said.append((date, seconds))


@pytest.mark.parametrize(
    ("lat", "lon", "taken"),
    [(90.0, 180.0, True), (-90.0, -180.0, True), (90.1, 0.5, False), (-90.1, 0.5, False), (0.5, 180.1, False),
     (0.5, -180.1, False), (0.0, 0.0, False), (None, 1.0, False)],
)  # fmt: skip
def test_a_place_on_the_earth(lat, lon, taken):
    from sternwatch.feed.n2k.messages import _position

    heard = Heard()
    _position(heard, payloads.Fields({"latitude": lat, "longitude": lon}, {}, {}))
    assert heard.said == [(lat, lon) if taken else None]


@pytest.mark.parametrize(
    ("days", "seconds", "said"),
    [(1.0, 0.0, ((2, 1, 1970), 0.0)), (65532.0, 86399.0, ((3, 6, 2149), 86399.0)), (0.9, 0.0, None),
     (65533.0, 0.0, None), (20000.0, -1.0, None), (None, 5.0, None)],
)  # fmt: skip
def test_a_clock_of_this_or_the_next_century(days, seconds, said):
    from sternwatch.feed.n2k.messages import _clock

    heard = Heard()
    _clock(heard, payloads.Fields({"date": days, "time": seconds}, {}, {}))
    assert heard.said == [said]

"""Where a bus's numbers end: at a limit a value counts, a little beyond it is counted as bad and is no value."""

from __future__ import annotations

import json
import math
from typing import Any

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.n2k import decoded, frames
from sternwatch.feed.n2k.frames import Frame
from sternwatch.feed.n2k.names import Names
from sternwatch.feed.n2k.packets import Packets
from sternwatch.feed.readings import Line, Quantity, Reading, Speech, Tongue

Q = Quantity


class Spoken:
    """A bus whose messages come decoded, in SI."""

    def __init__(self, **how: Any) -> None:
        self.decoder = Decoder(speech={"n": Speech(Tongue.N2K, si=True)}, **how)
        self.t_s = 0.0

    def line(self, data: bytes) -> list[Reading]:
        found = self.decoder.decode(Line(self.t_s, None, "n", data))
        self.t_s += 1.0
        return found

    def say(self, pgn: int, source: int = 35, /, **fields: Any) -> list[Reading]:
        named = {name.replace("_", " "): value for name, value in fields.items()}
        return self.line(json.dumps({"pgn": pgn, "src": source, "fields": named}).encode())

    def twice(self, pgn: int, /, **fields: Any) -> list[Reading]:
        """What is said only once does not count."""
        self.say(pgn, **fields)
        return self.say(pgn, **fields)

    @property
    def bad(self) -> tuple[int, str]:
        (report,) = self.decoder.reports()
        return report.bad_fields, report.last_bad_field


@pytest.mark.parametrize(
    "form",
    [
        "$PCDIN,01F112,000C72EA,{source:02X},{data}*{sum:02X}",
        "2024-05-01-12:00:00.000,2,127250,{source},255,{count},{commas}",
    ],
)
@pytest.mark.parametrize(("count", "read"), [(222, True), (223, True), (224, False)])
def test_a_message_has_223_bytes_at_most(form: str, count: int, read: bool) -> None:
    data = bytes(range(16)) * 14
    text = data[:count].hex().upper()
    given = {"source": 35, "data": text, "count": count, "commas": data[:count].hex(",").upper(), "sum": 0}
    line = form.format(**given)
    if line.startswith("$"):
        total = 0
        for byte in line[1:-3].encode():
            total ^= byte
        line = form.format(**given | {"sum": total})
    found = frames.parse(line)
    assert (found is not None) is read
    if found is not None:
        assert (found.pgn, found.source, found.data) == (127250, 35, data[:count])


NORTH = 2.0 * math.pi


@pytest.mark.parametrize(
    ("pgn", "name", "others", "low", "high", "step"),
    [
        (128259, "Speed_Water_Referenced", {}, 0.0, 62.0, 0.01),
        (129026, "SOG", {}, 0.0, 62.0, 0.01),
        (129026, "COG", {"COG_Reference": "True"}, 0.0, NORTH + 1e-4, 5e-5),
        (128267, "Depth", {}, 0.0, 11000.0, 0.01),
        (128267, "Offset", {"Depth": 5.0}, -100.0, 100.0, 0.001),
        (129025, "Latitude", {"Longitude": 5.0}, -90.0, 90.0, 1e-7),
        (129025, "Longitude", {"Latitude": 5.0}, -180.0, 180.0, 1e-7),
        (127250, "Heading", {"Reference": "True"}, 0.0, NORTH + 1e-4, 5e-5),
        (127250, "Deviation", {"Reference": "Magnetic", "Heading": 1.0}, -math.pi, math.pi, 1e-4),
        (127250, "Variation", {"Reference": "Magnetic", "Heading": 1.0}, -math.pi, math.pi, 1e-4),
        (127258, "Variation", {}, -math.pi, math.pi, 1e-4),
        (126992, "Date", {"Time": 5.0}, 1.0, 65532.0, 1.0),
        (126992, "Time", {"Date": 20000.0}, 0.0, 86400.0, 1e-4),
    ],
)
def test_a_field_ends_where_the_boats_world_does(
    pgn: int, name: str, others: dict[str, Any], low: float, high: float, step: float
) -> None:
    for value, bad in ((low, 0), (high, 0), (low - step, 1), (high + step, 1)):
        bus = Spoken()
        bus.say(pgn, **others, **{name: value})
        assert bus.bad[0] == bad, value
        if bad:
            said = f": {name.lower().replace('_', '')} {value:g} is outside {low:g} to {high:g}"
            assert bus.bad[1].endswith(said)


@pytest.mark.parametrize(
    ("pgn", "fields"),
    [
        (130310, "Water_Temperature"), (130311, "Temperature"), (130312, "Actual_Temperature"),
        (130316, "Temperature"),
    ],
)  # fmt: skip
def test_water_is_between_five_below_and_fifty(pgn: int, fields: str) -> None:
    sea: dict[str, Any] = {"Temperature_Source": "Sea Temperature", "Source": "Sea Temperature"}
    for kelvin, bad in ((268.15, 0), (323.15, 0), (268.14, 1), (323.16, 1)):
        bus = Spoken()
        found = bus.twice(pgn, **sea, **{fields: kelvin})
        assert bus.bad[0] == 2 * bad, kelvin
        if bad:
            assert [r.value for r in found] == [None]
            assert bus.bad[1].endswith(f": {kelvin - 273.15:.1f} °C is outside -5 to 50")
    (warm,) = Spoken().twice(pgn, **sea, **{fields: 282.65})
    assert (warm.quantity, warm.value) == (Q.WATER_TEMPERATURE, pytest.approx(9.5))
    (probe,) = Spoken(probes=["n"]).twice(pgn, **sea, **{fields: 282.65})
    assert (probe.quantity, probe.value) == (Q.PROBE_TEMPERATURE, pytest.approx(9.5))


@pytest.mark.parametrize(
    ("source", "counts"),
    [("Sea Temperature", True), ({"value": 0}, True), (0, True), ("Outside Temperature", False),
     ({"value": 1}, False), (1, False), (None, False)],
)  # fmt: skip
def test_a_lookup_is_known_by_its_word_or_its_number(source: Any, counts: bool) -> None:
    assert len(Spoken().twice(130312, Source=source, Actual_Temperature=282.65)) == int(counts)
    assert len(Spoken().twice(130311, Temperature_Source=source, Temperature=282.65)) == int(counts)


@pytest.mark.parametrize(("instance", "speaks_as"), [(0, "PGN 130312"), (1, "PGN 130312/1"), (None, "PGN 130312")])
def test_the_second_thermometer_of_a_device_is_another_speaker(instance: int | None, speaks_as: str) -> None:
    (found,) = Spoken().twice(130312, Source="Sea Temperature", Actual_Temperature=282.65, Instance=instance)
    assert (found.sentence, found.talker) == (speaks_as, "@35")


@pytest.mark.parametrize(
    ("place", "value", "bad"),
    [
        ({"Latitude": 47.5, "Longitude": -89.5}, (47.5, -89.5), 0),
        ({"Latitude": 0.0, "Longitude": 12.0}, (0.0, 12.0), 0),
        ({"Latitude": 12.0, "Longitude": 0.0}, (12.0, 0.0), 0), ({"Latitude": 0.0, "Longitude": 0.0}, None, 2),
        ({"Latitude": 47.5}, None, 0), ({"Longitude": 5.0}, None, 0),
    ],
)  # fmt: skip
def test_a_position_has_both_its_numbers(place: dict[str, float], value: object, bad: int) -> None:
    bus = Spoken()
    (found,) = bus.twice(129025, **place)
    assert (found.quantity, found.value, bus.bad[0]) == (Q.POSITION, value, bad)


def test_a_course_is_true_or_becomes_true_or_is_none() -> None:
    def course(bus: Spoken, reference: Any) -> object:
        ground = bus.twice(129026, SOG=1.5, COG=math.radians(350.0), COG_Reference=reference)
        assert [r.quantity for r in ground] == [Q.SOG, Q.COG]
        return ground[1].value

    assert course(Spoken(), "True") == pytest.approx(350.0)
    assert course(Spoken(), 0) == pytest.approx(350.0)
    assert course(Spoken(), "Magnetic") is None
    assert course(Spoken(variation_deg=20.0), "Magnetic") == pytest.approx(10.0)
    assert course(Spoken(variation_deg=20.0), 1) == pytest.approx(10.0)
    assert course(Spoken(variation_deg=20.0), "Error") is None
    assert course(Spoken(variation_deg=20.0), "True") == pytest.approx(350.0)


@pytest.mark.parametrize(("m_s", "doubted"), [(0.49, False), (0.5, True)])
def test_a_boat_that_drifts_may_point_anywhere(m_s: float, doubted: bool) -> None:
    bus = Spoken()
    bus.twice(129026, SOG=m_s, COG=1.0, COG_Reference="True")
    _, course = bus.say(129026, SOG=m_s, COG=4.0, COG_Reference="True")
    assert bool(course.suspect) is doubted


def test_a_heading_is_corrected_by_deviation_and_variation() -> None:
    def heading(bus: Spoken, **more: Any) -> tuple[object, str]:
        (found,) = bus.twice(127250, Heading=math.radians(350.0), **more)
        return pytest.approx(found.value), found.reference

    east = math.radians(15.0)
    assert heading(Spoken(), Reference="True", Deviation=east) == (350.0, "true")
    assert heading(Spoken(), Reference="Magnetic") == (350.0, "magnetic")
    assert heading(Spoken(), Reference="Magnetic", Deviation=east) == (5.0, "magnetic")
    assert heading(Spoken(), Reference="Magnetic", Deviation=east, Variation=-east) == (350.0, "true")
    assert Spoken().twice(127250, Heading=1.0, Reference="Error") == []
    heard = Spoken()
    heard.say(127258, Variation=east)
    assert heading(heard, Reference="Magnetic") == (5.0, "true")


def test_a_clock_needs_day_and_time() -> None:
    at = {"Date": 20000.0, "Time": 36000.0}
    assert [r.value for r in Spoken().twice(126992, **at)] == [20000 * 86400 + 36000]
    for name in at:
        assert [(r.quantity, r.value) for r in Spoken().twice(129033, **{name: at[name]})] == [(Q.CLOCK, None)]


FIX = {"Latitude": 47.5, "Longitude": -89.5, "Date": 20000.0, "Time": 36000.0}


@pytest.mark.parametrize(
    ("method", "fixed"), [("GNSS fix", True), ("no GNSS", False), ({"value": 0}, False), (None, False)]
)
def test_without_a_fix_neither_place_nor_clock_nor_speed_counts(method: Any, fixed: bool) -> None:
    bus = Spoken()
    said = bus.twice(129029, **FIX, Method=method)
    assert [r.quantity for r in said] == [Q.POSITION, Q.CLOCK]
    assert [r.value is not None for r in said] == [fixed, fixed]
    assert [r.value for r in bus.twice(129026, SOG=1.5)] == [1.5 if fixed else None, None]
    assert [r.value is not None for r in bus.twice(129025, Latitude=47.5, Longitude=-89.5)] == [fixed]


def test_a_decoded_claim_names_the_device() -> None:
    bus = Spoken()
    bus.say(60928, Unique_Number=0xABC, Device_Instance_Lower=3, Device_Instance_Upper=0x11)
    assert [r.talker for r in bus.twice(128259, Speed_Water_Referenced=1.0)] == ["000ABC.113"]
    bare = Spoken()
    bare.say(60928, Unique_Number=0xABC)
    assert [r.talker for r in bare.twice(128259, Speed_Water_Referenced=1.0)] == ["000ABC.000"]
    bare.say(60928, Manufacturer_Code="x")
    assert [r.talker for r in bare.twice(128259, Speed_Water_Referenced=1.0)] == ["000ABC.000"]


# -- lines ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("given", "is_message"),
    [
        ({"pgn": 128259, "src": 0, "fields": {}}, True), ({"pgn": 128259, "src": 255, "fields": {}}, True),
        ({"pgn": 128259, "src": -1, "fields": {}}, False), ({"pgn": 128259, "src": 256, "fields": {}}, False),
        ({"pgn": "128259", "src": 1, "fields": {}}, False), ({"pgn": 128259, "src": "1", "fields": {}}, False),
        ({"pgn": 128259, "src": 1, "fields": []}, False), ({"pgn": 128259, "src": 1}, False),
        ({"version": "1", "src": 1}, False),
    ],
)  # fmt: skip
def test_a_decoded_message_is_whole_or_none(given: dict[str, Any], is_message: bool) -> None:
    found = decoded.parse(json.dumps(given), si=True)
    assert isinstance(found, decoded.Decoded) is is_message
    assert is_message or found is None


def test_a_head_line_gives_the_units_and_a_message_none() -> None:
    assert decoded.parse('{"units": "si"}', si=False) == decoded.Head(True)
    assert decoded.parse('{"units": "std"}', si=True) == decoded.Head(False)
    both = decoded.parse('{"units": "si", "pgn": 128259, "src": 1, "fields": {}}', si=False)
    assert isinstance(both, decoded.Decoded)


@pytest.mark.parametrize(
    ("text", "number", "label"),
    [
        ("1.5", 1.5, None), ("2", 2.0, None), ("true", None, None), ("NaN", None, None), ("Infinity", None, None),
        ('"True"', None, "True"), ("null", None, None), ('"2026.07.18"', None, "2026.07.18"),
    ],
)  # fmt: skip
def test_a_field_is_a_finite_number_or_a_word(text: str, number: float | None, label: str | None) -> None:
    found = decoded.parse(f'{{"pgn": 1, "src": 1, "fields": {{"Heading": {text}}}}}', si=True)
    assert isinstance(found, decoded.Decoded)
    assert found.fields.numbers.get("heading") == number
    assert found.fields.labels.get("heading") == label
    assert found.fields.codes == {}


BYTES_9 = "00 7B 00 FF FF 00 FF FF 01"


@pytest.mark.parametrize(
    ("line", "frame"),
    [
        ("1FFFFFFF 01", Frame(0x3FFFF, 255, b"\1")), ("20000000 01", None),
        ("09EF1223 01", Frame(0x1EF00, 0x23, b"\1")),  # to address 0x12
        ("09F01223 01", Frame(0x1F012, 0x23, b"\1")),  # to everybody
        ("can0  09F50323   [2]  00 7B", Frame(128259, 35, b"\0\x7b")), ("can0  09F50323   [3]  00 7B", None),
        ("A173321.107 23FF2 1F503 007B", Frame(128259, 35, b"\0\x7b", True)),
        ("23FF2 1F503 " + "00" * 223, Frame(128259, 35, bytes(223), True)), ("23FF2 1F503 " + "00" * 224, None),
        ("2020-08-22T13:52:36.955Z,2,128259,255,255,2,00,7b", Frame(128259, 255, b"\0\x7b")),
        ("2020-08-22T13:52:36.955Z,2,128259,256,255,2,00,7b", None),
        ("2020-08-22T13:52:36.955Z,2,128259,35,256,2,00,7b", None),
        ("2020-08-22T13:52:36.955Z,2,128259,35,255,3,00,7b", None),
        ("2020-08-22T13:52:36.955Z,2,128259,35,255,8," + BYTES_9[:-3].replace(" ", ","),
         Frame(128259, 35, bytes.fromhex(BYTES_9[:-3]))),
        ("2020-08-22T13:52:36.955Z,2,128259,35,255,9," + BYTES_9.replace(" ", ","),
         Frame(128259, 35, bytes.fromhex(BYTES_9), True)),
        ("2020-08-22T13:52:36.955 2 035 255 128259 : " + BYTES_9[:-3],
         Frame(128259, 35, bytes.fromhex(BYTES_9[:-3]))),
        ("2020-08-22T13:52:36.955 2 035 255 128259 : " + BYTES_9, Frame(128259, 35, bytes.fromhex(BYTES_9), True)),
        ("!PDGY,128259,2,255,255,12.345,AHs=", Frame(128259, 255, b"\0\x7b", True)),
        ("!PDGY,128259,2,256,255,12.345,AHs=", None), ("!PDGY,128259,2,35,256,12.345,AHs=", None),
        ("!PDGY,128259,2,35,255,12.345,AHs", None),
    ],
)  # fmt: skip
def test_a_line_is_this_frame(line: str, frame: Frame | None) -> None:
    assert frames.parse(line) == frame


def test_a_sentence_around_a_message_is_read_to_the_letter(signed: Any) -> None:
    assert frames.parse(signed("PCDIN,01F503,00000000,23,007B").decode()) == Frame(128259, 35, b"\0\x7b", True, True)
    assert frames.parse(signed("MXPGN,01F503,2223,7B00").decode()) == Frame(128259, 35, b"\0\x7b", None, True)
    assert frames.parse(signed("MXPGN,01F503,2323,7B00").decode()) is None
    assert frames.is_frame(signed("PCDIN,01F503,00000000,23,007B"))
    wrong = signed("PCDIN,01F503,00000000,23,007B")[:-2] + b"zz"
    assert not frames.is_frame(wrong)
    with pytest.raises(frames.WrongChecksumError):
        frames.parse(wrong.decode())
    with pytest.raises(frames.WrongChecksumError):
        frames.parse("$PCDIN,01F503,00000000,23,007B")


# -- devices and packets -------------------------------------------------------------------------------------------


def test_the_last_address_of_a_device_is_251() -> None:
    names = Names()
    for address in (0, 251, 252, 254):
        names.claim(address, f"N{address}")
    assert [names.talker(a) for a in (0, 251, 252, 254)] == ["N0", "N251", "@252", "@254"]
    names.claim(7, "N0")
    assert [names.talker(a) for a in (0, 7)] == ["@0", "N0"]
    names.claim(7, "N0")
    assert names.talker(7) == "N0"


def test_a_packet_comes_out_when_its_last_byte_has_come_and_not_cut_short() -> None:
    body = bytes(range(20))
    pieces = [bytes((0x40, 20)) + body[:6], b"\x41" + body[6:13], b"\x42" + body[13:20]]
    packets = Packets()
    assert [packets.push(1, 2, piece) for piece in pieces] == [None, None, body]
    assert packets.push(1, 2, b"\x43" + body[:7]) is None
    assert packets.push(1, 2, bytes((0x60, 6)) + body[:6]) == body[:6]
    assert packets.push(1, 2, b"\x60") is None
    assert packets.push(1, 2, b"\x60\x00") == b""


@pytest.mark.parametrize("wrong", [b"\x42" + bytes(7), b"\x61" + bytes(7)])
def test_a_frame_out_of_turn_or_of_another_packet_ends_it(wrong: bytes) -> None:
    packets = Packets()
    packets.push(1, 2, bytes((0x40, 13)) + bytes(6))
    assert packets.push(1, 2, wrong) is None
    assert packets.push(1, 2, b"\x41" + bytes(7)) is None


def test_packets_of_two_devices_and_messages_do_not_mix() -> None:
    packets = Packets()
    for pgn, source in ((1, 2), (1, 3), (2, 2)):
        packets.push(pgn, source, bytes((0x40, 8, pgn, source, 0, 0, 0, 0)))
    for pgn, source in ((1, 3), (2, 2), (1, 2)):
        assert packets.push(pgn, source, b"\x41" + bytes(7)) == bytes((pgn, source)) + bytes(6)


def test_of_256_packets_begun_the_next_forgets_all() -> None:
    for begun, kept in ((255, True), (256, False)):
        packets = Packets()
        for source in range(begun):
            packets.push(1, source, bytes((0x40, 8)) + bytes(6))
        packets.push(2, 0, bytes((0x40, 8)) + bytes(6))
        assert (packets.push(1, 0, b"\x41" + bytes(7)) is not None) is kept

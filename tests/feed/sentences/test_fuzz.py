"""Fuzz: whatever comes, no exception leaves the decoder, memory stays bounded, and no impossible value comes out.

Half of the mutated lines are given a fitting checksum again, so that they reach the fields.
"""

import math
import random
import sys
from functools import reduce
from operator import xor

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line, Quantity
from sternwatch.feed.sensors.board import SensorBoard
from sternwatch.feed.sentences.accounts import Cause
from sternwatch.feed.sentences.framing import Framer

RANGES = {
    Quantity.SOG: (0, 62),
    Quantity.COG: (0, 360),
    Quantity.STW: (0, 62),
    Quantity.HEADING: (0, 360),
    Quantity.WATER_TEMPERATURE: (-5, 50),
    Quantity.BOTTOM: (0, 11_100),
    Quantity.RATE_OF_TURN: (-12, 12),
    Quantity.CLOCK: (1_262_304_000, 253_402_300_800),  # 2010 to 9999
    Quantity.PROBE_SPEED: (0, 62),
    Quantity.PROBE_TEMPERATURE: (-5, 50),
    Quantity.PROBE_DEPTH: (0, 11_100),
}

SEEDS = [
    "GPRMC,132647,A,4612.888,N,00610.030,E,04.7,310,050814,24.9,W,A", "GPVTG,220.2,T,245.1,M,009.7,N,018.0,K,A",
    "GPGGA,235959.226,2200.1091,S,01756.3580,W,1,06,1.3,033.6,M,-002.6,M,,", "IIVHW,,,054,M,04.2,N,,",
    "GPGLL,2200.1091,S,01756.3580,W,235959.226,A", "GNGNS,235959.00,2200.1091,S,01756.358,W,AN,06,1.3,33.6,-2.6,,",
    "GPZDA,000000.00,16,12,1994,00,00", "IIHDG,063,2.0,W,01,E", "HCHDT,181.5,T", "APHDM,218.6,M", "IIMTW,+14.5,C",
    "SDVHW,81.0,T,80.0,M,4.4,N,8.3,K", "IIDPT,012.9,-1.0,", "SDDBT,7.7,f,2.3,M,1.3,F", "SDDBS,,,2.9,M,,",
    "SDDBK,,,1.9,M,,", "APROT,-90.0,A", "YXXDR,C,7.4,C,PROBE_T,D,18.3,M,PROBE_D,N,2.1,N,PROBE_S", "IIMWV,1,R,2,N,A",
]  # fmt: skip
NASTY = [
    b"nan",
    b"inf",
    b"-",
    b"---",
    b"2.4.1",
    b"1e9",
    b"",
    b",,",
    b"$",
    b"!",
    b"*",
    b"\\",
    b"\x00",
    b"\xff",
    b"99999999999",
]


def _sum(body):
    return reduce(xor, body, 0)


def mutate(dice, body):
    """A body with one to three faults."""
    data = bytearray(body)
    for _ in range(dice.randint(1, 3)):
        kind = dice.randrange(7)
        i = dice.randrange(len(data)) if data else 0
        if kind == 0 and data:
            data[i] = dice.randrange(256)
        elif kind == 1:
            del data[i : i + dice.randint(1, 8)]
        elif kind == 2:
            data[i:i] = dice.choice(NASTY)
        elif kind == 3 and len(data) > i + 1:
            data[i], data[i + 1] = data[i + 1], data[i]
        elif kind == 4 and data:
            data[i] ^= 1 << dice.randrange(8)
        elif kind == 5:
            parts = bytes(data).split(b",")
            parts[dice.randrange(len(parts))] = dice.choice(NASTY)
            data = bytearray(b",".join(parts))
        else:
            data[i:] = dice.choice(SEEDS).encode()[dice.randrange(20) :]
    return bytes(data)


def check(reading):
    """What no reading may ever break."""
    if reading.value is None:
        return
    if reading.quantity is Quantity.POSITION:
        latitude, longitude = reading.value
        assert -90 <= latitude <= 90
        assert -180 <= longitude <= 180
        assert (latitude, longitude) != (0.0, 0.0)
        return
    assert isinstance(reading.value, float)
    assert math.isfinite(reading.value)
    low, high = RANGES[reading.quantity]
    assert low <= reading.value <= high, reading


def campaign(count, seed):
    """Decode ``count`` mutated lines; returns how many readings had a value."""
    dice = random.Random(seed)
    decoder, board = Decoder(), SensorBoard()
    values = 0
    for body in SEEDS[:3]:  # these sources send checksums from the first line on
        decoder.decode(Line(0.0, None, "sums", b"$%s*%02X" % (body.encode(), _sum(body.encode()))))
    for i in range(count):
        body = mutate(dice, dice.choice(SEEDS).encode())
        fitting = i % 2 == 0
        digits = _sum(body) if fitting else _sum(body) ^ dice.randrange(1, 256)
        line = b"$%s*%02X" % (body, digits)
        source = "sums" if i % 3 else "none"
        if source == "none" and i % 4 == 0:
            line = b"$" + body
        readings = decoder.decode(Line(i / 10, None, source, line, whole=i % 7 != 0))
        for reading in readings:
            check(reading)
            board.take(reading)
            values += reading.value is not None
        if source == "sums" and not fitting and b"$" not in body and b"!" not in body and b"*" not in body:
            assert readings == [], line
        if i % 1000 == 0:
            table = board.table(i / 10)
            assert all(v.age_s is None or v.age_s >= 0 for v in table.values())
    return decoder, board, values


def footprint(*objects):
    """Bytes held, everything reachable counted once."""
    seen, stack, total = set(), list(objects), 0
    while stack:
        item = stack.pop()
        if id(item) in seen or isinstance(item, type):
            continue
        seen.add(id(item))
        total += sys.getsizeof(item)
        if isinstance(item, dict):
            stack += [*item.keys(), *item.values()]
        elif isinstance(item, list | tuple | set):
            stack += item
        else:
            stack += list(getattr(item, "__dict__", {}).values())
            slots = getattr(type(item), "__slots__", ())
            stack += [getattr(item, slot) for slot in slots if hasattr(item, slot)]
    return total


def test_sixty_thousand_mutated_lines():
    decoder, board, values = campaign(60_000, seed=1)
    assert values > 3_000  # enough of them got through to mean something
    assert footprint(decoder, board) < 2_000_000
    for report in decoder.reports():
        assert report.rejected[Cause.BAD_CHECKSUM] > 300


@pytest.mark.campaign
def test_ten_million_mutated_lines():
    for seed in range(50):
        decoder, board, _ = campaign(200_000, seed=100 + seed)
        assert footprint(decoder, board) < 2_000_000


@given(st.lists(st.binary(max_size=300), max_size=30))
@settings(max_examples=300)
def test_any_bytes_through_framer_and_decoder(chunks):
    framer, decoder = Framer(), Decoder()
    for i, chunk in enumerate(chunks):
        for data, whole in framer.feed(chunk):
            for reading in decoder.decode(Line(float(i), None, "x", data, whole)):
                check(reading)


FIELD = st.one_of(
    st.text(alphabet="0123456789.-+,ANSEWVTMKCfF", max_size=12),
    st.from_regex(r"\A\d{1,12}(\.\d{0,8})?\Z"),
    st.sampled_from(["", "nan", "inf", "-inf", "1e400", "0" * 40, "9" * 40, "A", "V", "N", "E", "K", "M", "T", "C"]),
)


@given(
    st.sampled_from([body.split(",")[0] for body in SEEDS]), st.lists(FIELD, max_size=16), st.none() | st.integers()
)
@settings(max_examples=200)
def test_any_fields_in_every_sentence(head, fields, host_ms):
    body = ",".join([head, *fields]).encode()[:240]
    for reading in Decoder().decode(Line(0.0, host_ms, "x", b"$%s*%02X" % (body, _sum(body)))):
        check(reading)

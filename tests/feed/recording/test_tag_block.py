"""Tag blocks: what is written is read back, and what others write is understood."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sternwatch.feed.readings import Declared, Line, Speech, Tongue
from sternwatch.feed.recording import tag_block as tagblock


def test_as_contracted():
    line = Line(12.345, 1_753_000_000_123, "gps", b"$GPRMC,A*00")
    written = tagblock.write(line)
    # The checksum was worked out apart, byte by byte.
    assert written == b"\\s:gps,c:1753000000123,r:12345*3D\\$GPRMC,A*00\r\n"


@given(
    ms=st.integers(0, 10**9),
    unix_ms=st.none() | st.integers(10**12, 10**13),
    data=st.binary(min_size=1, max_size=256).filter(lambda b: b"\r" not in b and b"\n" not in b),
    whole=st.booleans(),
)
def test_what_is_written_is_read_back(ms, unix_ms, data, whole):
    written = tagblock.write(Line(ms / 1000, unix_ms, "gps", data, whole))
    tag = tagblock.read(written)
    assert tag is not None
    assert (tag.relative_ms, tag.unix_ms, tag.source, not tag.cut) == (ms, unix_ms, "gps", whole)
    assert written[tag.end :] == data + b"\r\n"


def test_unix_time_in_seconds_as_other_writers_give_it():
    # The example of a tag block as the standard's public descriptions print it: c in seconds.
    body = b"g:1-2-1234,s:r3669961,c:1120959341"
    check = 0
    for byte in body:
        check ^= byte
    tag = tagblock.read(b"\\%s*%02X\\!ABVDM,1,1,1,B,,0*00" % (body, check))
    assert tag is not None
    assert (tag.source, tag.unix_ms, tag.relative_ms) == ("r3669961", 1_120_959_341_000, None)


def test_a_wrong_checksum_or_no_block_is_none():
    good = tagblock.write(Line(1.0, None, "a", b"$X"))
    assert tagblock.read(good) is not None
    assert tagblock.read(good.replace(b"r:1000", b"r:2000")) is None
    assert tagblock.read(b"$GPRMC") is None
    assert tagblock.read(b"\\s:a,r:1") is None
    assert tagblock.read(b"\\s:a*ZZ\\$X") is None


def block(body):
    check = 0
    for byte in body:
        check ^= byte
    return b"\\%s*%02X\\" % (body, check)


@pytest.mark.parametrize(
    "source",
    [
        Declared("gps"),
        Declared("gps", 3, probe=True),
        Declared("gps", 2, checked=False),
        Declared("bus", 1, speech=Speech(Tongue.N2K, combined=True)),
        Declared("bus", 1, speech=Speech(Tongue.N2K, si=True)),
        Declared("net", 0, probe=True, checked=False, speech=Speech(Tongue.SIGNALK)),
    ],
)
def test_a_declared_source_is_read_back(source):
    tag = tagblock.read(tagblock.declare(source, 1.0, None))
    assert tag is not None
    assert tagblock.declared(tag) == source


def test_what_declares_nothing_or_nobody_is_no_declaration():
    assert tagblock.declared(tagblock.read(tagblock.write(Line(1.0, None, "gps", b"$X")))) is None
    text = tagblock.read(tagblock.declare(Declared("gps"), 1.0, None)).text
    nameless = tagblock.read(block(b"r:1000,t:" + text.encode()))
    assert nameless.text == text
    assert tagblock.declared(nameless) is None


def test_times_of_fifteen_digits_and_blocks_of_two_hundred_bytes_are_the_longest():
    tag = tagblock.read(block(b"c:123456789012345,r:123456789012345"))
    assert (tag.unix_ms, tag.relative_ms) == (123456789012345, 123456789012345)
    tag = tagblock.read(block(b"c:1234567890123456,r:1234567890123456"))
    assert (tag.unix_ms, tag.relative_ms) == (None, None)
    longest = b"t:" + b"x" * 194  # with the star, two digits and the bar before it: 200
    assert tagblock.read(block(longest)) is not None
    assert tagblock.read(block(longest + b"x")) is None

"""Bytes to lines: any line end, bounded, nothing thrown away, restart at every sentence start."""

from functools import reduce
from operator import xor

from hypothesis import given
from hypothesis import strategies as st

from sternwatch.feed.sentences.framing import Framer, checksum, cut, pieces

# As agreed: a change of one is to be noticed.
MAX_LINE = 256


def test_all_three_line_ends():
    framer = Framer()
    assert framer.feed(b"$A\r\n$B\n$C\r$D\r\n") == [(b"$A", True), (b"$B", True), (b"$C", True), (b"$D", True)]


def test_a_dribble_of_single_bytes_gives_the_same_lines():
    stream = b"$IIVHW,,,063,M,00.0,N,,*49\r\n\r\n!AIVDM,1*00\n"
    framer = Framer()
    lines = [line for i in range(len(stream)) for line in framer.feed(stream[i : i + 1])]
    assert lines == Framer().feed(stream)
    assert [data for data, _ in lines] == [b"$IIVHW,,,063,M,00.0,N,,*49", b"!AIVDM,1*00"]


def test_what_was_begun_is_given_back_as_not_whole():
    framer = Framer()
    assert framer.feed(b"$GPRMC,1\n$IIDPT,1") == [(b"$GPRMC,1", True)]
    assert framer.flush() == [(b"$IIDPT,1", False)]
    assert framer.flush() == []


def test_endless_rubbish_does_not_grow_the_buffer_and_is_not_lost():
    framer = Framer()
    given_back = b""
    for _ in range(1000):
        for data, _ in framer.feed(b"\x00\xff" * 50):
            assert len(data) <= MAX_LINE
            given_back += data
    given_back += b"".join(data for data, _ in framer.flush())
    assert given_back == b"\x00\xff" * 50_000


def test_a_long_run_is_cut_before_the_sentence_in_it():
    run = b"x" * 200 + b"$GPRMC," + b"y" * 100
    assert cut(run) == [(b"x" * 200, False), (b"$GPRMC," + b"y" * 100, True)]


def test_restart_at_every_start():
    assert pieces(b"$IIDPT,1$IIMTW,2*00") == [(b"$IIDPT,1", False), (b"$IIMTW,2*00", True)]
    assert pieces(b"rubbish!AIVDM,1") == [(b"rubbish", False), (b"!AIVDM,1", True)]
    assert pieces(b"$IIDPT,1", whole=False) == [(b"$IIDPT,1", False)]


@given(st.binary(max_size=MAX_LINE))
def test_checksum_is_the_exclusive_or_of_all_bytes(body):
    assert checksum(body) == reduce(xor, body, 0)


@given(st.lists(st.binary(max_size=400), max_size=20))
def test_however_a_stream_is_chopped_no_byte_but_line_ends_is_lost(chunks):
    framer = Framer()
    out = [line for chunk in chunks for line in framer.feed(chunk)] + framer.flush()
    assert all(0 < len(data) <= MAX_LINE for data, _ in out)
    joined = b"".join(data for data, _ in out)
    assert joined == b"".join(chunks).replace(b"\r", b"").replace(b"\n", b"")


def test_every_byte_of_the_longest_body_counts_in_the_checksum():
    for at in range(MAX_LINE):
        body = bytearray(MAX_LINE)
        body[at] = 0xA5
        assert checksum(bytes(body)) == 0xA5
    assert checksum(bytes(range(256))) == reduce(xor, range(256))
    assert MAX_LINE == 256


def test_a_line_of_the_most_bytes_is_whole_and_one_more_is_cut():
    line = b"$" + b"a" * (MAX_LINE - 1)
    assert Framer().feed(line + b"\n") == [(line, True)]
    assert Framer().feed(line + b"b\n") == [(line, False), (b"b", True)]
    short = Framer(4)
    assert short.feed(b"abcd\nabcde\n") == [(b"abcd", True), (b"abcd", False), (b"e", True)]
    assert short.feed(b"abcd") == []
    assert short.feed(b"e") == [(b"abcd", False)]
    assert short.flush() == [(b"e", False)]


def test_where_a_long_run_is_cut():
    assert cut(b"$$bcde", 4) == [(b"$", False), (b"$bcd", False), (b"e", True)]
    assert cut(b"a!c$efgh", 4) == [(b"a!c", False), (b"$efg", False), (b"h", True)]
    assert cut(b"abcd$fgh", 4) == [(b"abcd", False), (b"$fgh", True)]
    assert cut(b"$bcdefgh", 4) == [(b"$bcd", False), (b"efgh", True)]
    assert cut(b"abcd", 4) == [(b"abcd", True)]


def test_a_line_without_another_start_is_one_piece():
    assert pieces(b"") == [(b"", True)]
    assert pieces(b"$A") == [(b"$A", True)]
    assert pieces(b"!A") == [(b"!A", True)]
    assert pieces(b"x$A") == [(b"x", False), (b"$A", True)]
    assert pieces(b"x!A") == [(b"x", False), (b"!A", True)]
    assert pieces(b"x!A!") == [(b"x", False), (b"!A", False), (b"!", True)]
    assert pieces(b"!$!", whole=False) == [(b"!", False), (b"$", False), (b"!", False)]

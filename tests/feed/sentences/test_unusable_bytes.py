"""Bytes come and nothing of them can be used: what it is, is said within ten seconds, with a rate."""

import random
from functools import reduce

import pytest

from sternwatch.feed.decoding import Decoder
from sternwatch.feed.readings import Line
from sternwatch.feed.sentences.framing import Framer
from sternwatch.feed.sentences.unusable_bytes import InVain


def _second(k: int) -> bytes:
    bodies = (
        f"GPRMC,1326{k:02d},A,4612.888,N,00610.030,E,04.7,310,050814,,,A",
        "SDDPT,30.5,0.3",
        "IIVHW,,T,,M,4.7,N,,K",
    )
    return b"".join(b"$%s*%02X\r\n" % (b.encode(), reduce(lambda a, c: a ^ c, b.encode())) for b in bodies)


def _noise(data: bytes, rng: random.Random) -> bytes:
    return b"\n".join(_flipped(line, rng) for line in data.split(b"\n"))


def _flipped(line: bytes, rng: random.Random) -> bytes:
    if len(line) < 10:
        return line
    k = rng.randrange(7, len(line) - 5)
    return line[:k] + bytes([48 + (line[k] + 1 - 48) % 10]) + line[k + 1 :]


def _wrong_rate(data: bytes, rng: random.Random) -> bytes:
    return bytes(rng.choice((0x00, 0x80, 0xF8, 0x78, 0xE6, 0x1E, 0x66, 0xFE)) for _ in range(2 * len(data)))


def _two_talkers(data: bytes, rng: random.Random) -> bytes:
    mine, other, out = bytearray(data), bytearray(data.replace(b"$", b"!")), bytearray()
    while mine or other:
        take = mine if mine and (not other or rng.random() < 0.5) else other
        out += take[:3]
        del take[:3]
    return bytes(out)


def _halves(data: bytes, _: random.Random) -> bytes:
    return b"".join(line[: len(line) // 2] + b"\r\n" for line in data.split(b"\r\n"))


@pytest.mark.parametrize(
    ("spoil", "said", "good_s"),
    [
        (_noise, "Noise", 0),
        (_noise, "Noise", 30),
        (_wrong_rate, "baud", 0),
        (_wrong_rate, "baud", 30),
        (_two_talkers, "Two talkers", 0),
        (_two_talkers, "Two talkers", 30),
        (_halves, "halves", 30),  # from the beginning they are those of a talker that sends no checksums
    ],
)
def test_it_is_told_within_ten_seconds(spoil, said, good_s):
    decoder, framer, rng = Decoder(), Framer(), random.Random(7)
    for t in range(good_s + 11):
        chunk = _second(t)
        for data, whole in framer.feed(chunk if t < good_s else spoil(chunk, rng)):
            decoder.decode(Line(float(t), None, "plug", data, whole))
        if t < good_s:
            assert decoder.reports()[0].complaint == ""
    complaint = decoder.reports()[0].complaint
    assert said in complaint
    assert "bytes a second" in complaint


@pytest.mark.parametrize(
    ("each_second", "what"),
    [
        (lambda v: (v.cut_off(by_another=True), v.cut_off(by_another=False)),
         "1.0 a second run into another. Two talkers on one wire?"),
        (lambda v: (v.cut_off(by_another=False), v.cut_off(by_another=False)),
         "2.0 halves of sentences a second. A loose plug, or a buffer that overflows?"),
        (lambda v: (v.wrong(b"$X*11*22"), v.wrong(b"$X" + 41 * b"," + b"*11"), v.wrong(b"$X" + 40 * b"," + b"*11")),
         "2.0 a second run into another. Two talkers on one wire?"),
        (lambda v: (v.wrong(b"$X*11"), v.wrong(b"$X*11"), v.wrong(b"$X*11")),
         "3.0 wrong checksums a second. Noise on the wire?"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("seconds", [5, 8, 20])
def test_rates_are_of_the_seconds_looked_back_on(each_second, what, seconds):
    vain = InVain()
    for k in range(seconds):
        vain.hear(float(k), b"x" * 58)
        each_second(vain)
    assert vain.words() == f"60 bytes a second arrive, and no sentence among them can be used: {what}"


def test_a_short_piece_that_another_sentence_cuts_is_of_two_talkers():
    decoder = Decoder()
    for k in range(60):
        decoder.decode(Line(k / 6.0, None, "wire", b"$IIM$GPGGA,1*00"))
    assert "run into another" in decoder.reports()[0].complaint


@pytest.mark.parametrize(
    ("byte", "text"), [(0x0A, True), (0x0D, True), (0x1F, False), (0x20, True), (0x7E, True), (0x7F, False)]
)
def test_bytes_that_occur_in_text(byte, text):
    made = InVain()
    for k in range(10):
        made.hear(float(k), bytes([byte]) * 100)
        made.wrong(b"")
    assert ("Wrong baud rate?" in made.words()) is not text


@pytest.mark.parametrize(("seconds", "said"), [(3, False), (4, True)])
def test_it_is_said_after_four_seconds_whenever_they_began(seconds, said):
    made = InVain()
    for k in range(seconds):
        made.hear(5000.0 + k, b"x" * 100)
        made.wrong(b"")
    assert bool(made.words()) is said

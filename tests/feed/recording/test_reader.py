"""Recordings of any kind: timing chosen and told, feed time never back, any moment as straight play gives it."""

import gzip
import itertools
import random
from datetime import UTC, datetime
from functools import reduce
from operator import xor

import pytest

from recordings import file_of
from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Line
from sternwatch.feed.recording import own_clock, unpacking
from sternwatch.feed.recording import tag_block as tagblock
from sternwatch.feed.recording.reader import _last_line, open_recording
from sternwatch.feed.recording.stamps import HostStamper, TagStamper

# Minutes of feed time, and the words for the timing. Times of day at both ends were read off the files.
BOATS = {
    "lake boat, bottom lost and speed spikes": (159.55, "the sentences' own clock (RMC)"),
    "lake boat, no paddle wheel": (98.3, "the sentences' own clock (RMC)"),
    "sea, three hours": (188.1, "the sentences' own clock (RMC)"),
    "wrong checksums on good data": (
        72.9, "the sentences' own clock (RMC), though their checksums are wrong",
    ),
    "binary in mid-stream": (40.2, "the sentences' own clock (RMC)"),
    "a depth cut off": (95.3, "the sentences' own clock (RMC)"),
    "two depths disagree, temperature sensor broken": (33.7, "the sentences' own clock (RMC)"),
    "moored, sentences run together": (2.36, "the sentences' own clock (RMC)"),
    "host clock, dates of another epoch": (16.65, "the recording computer's clock before each line"),
    "host clock, no checksums": (27.77, "the recording computer's clock before each line"),
    "host clock, depths alone": (1200.3, "the recording computer's clock before each line"),
}  # fmt: skip


@pytest.mark.parametrize("name", BOATS)
def test_timing_is_chosen_and_told(name):
    minutes, words = BOATS[name]
    recording = open_recording(file_of(name))
    assert recording.timing == words
    assert recording.span_s / 60 == pytest.approx(minutes, rel=0.005)
    last = 0.0
    count = 0
    for line in recording.lines():
        assert line.t_s >= last
        assert round(line.t_s * 1000) / 1000 == line.t_s
        last = line.t_s
        count += 1
    assert last == pytest.approx(recording.span_s, abs=1.0)
    assert count > 500


@pytest.mark.parametrize("name", BOATS)
def test_any_moment_is_found_as_straight_play_gives_it(name):
    recording = open_recording(file_of(name))
    straight = list(recording.lines())
    dice = random.Random(7)
    for _ in range(12):
        t_s = dice.uniform(-10, recording.span_s + 10)
        found = recording.lines_from(t_s)
        expected = [line for line in straight if line.t_s >= t_s]
        for line in expected[:300]:
            assert next(found) == line
        if not expected:
            assert next(found, None) is None


def test_start_utc():
    recording = open_recording(file_of("lake boat, bottom lost and speed spikes"))
    assert recording.start_utc == datetime(2014, 8, 5, 13, 26, 47, tzinfo=UTC).timestamp()
    assert open_recording(file_of("wrong checksums on good data")).start_utc is None


def test_nothing_of_a_file_is_lost():
    for name in ("binary in mid-stream", "moored, sentences run together"):
        path = file_of(name)
        joined = b"".join(line.data for line in open_recording(path).lines())
        assert joined == path.read_bytes().replace(b"\r", b"").replace(b"\n", b"")


@pytest.mark.parametrize("sub", ["gpsd"])
def test_every_receiver_recording_opens(corpus, sub):
    opened = 0
    for path in sorted((corpus / sub).glob("*.log")):
        recording = open_recording(path)
        last = 0.0
        for line in recording.lines():
            assert line.t_s >= last
            last = line.t_s
        assert recording.timing
        opened += 1
    assert opened == 99


def _tagged(lines):
    return b"".join(tagblock.write(Line(ms / 1000, unix_ms, "gps", data)) for ms, unix_ms, data in lines)


def test_tag_blocks_carry_the_very_same_feed_time(tmp_path):
    path = tmp_path / "trip.nmea"
    stamps = [0, 3, 3, 1007, 5_000_001, 5_000_001, 36_000_000]
    path.write_bytes(_tagged([(ms, 1_753_000_000_000 + ms, b"$IIMTW,1.0,C") for ms in stamps]))
    recording = open_recording(path)
    assert recording.timing == "tag blocks"
    assert [line.t_s for line in recording.lines()] == [ms / 1000 for ms in stamps]
    assert {line.source for line in recording.lines()} == {"gps"}
    assert recording.start_utc == 1_753_000_000.0
    assert recording.span_s == 36_000


def test_a_feed_that_began_before_its_recording(tmp_path):
    path = tmp_path / "trip.nmea"
    path.write_bytes(_tagged([(90_500, 1_753_000_090_500, b"$IIMTW,1.0,C"), (91_500, 1_753_000_091_500, b"$X")]))
    recording = open_recording(path)
    assert [line.t_s for line in recording.lines()] == [90.5, 91.5]
    assert recording.start_utc == 1_753_000_000.0


def test_the_computer_s_clock_set_while_recording_moves_nothing(tmp_path):
    path = tmp_path / "trip.nmea"
    lines = [(i * 1000, 1_753_000_000_000 + i * 1000 + (7_200_000 if i > 50 else 0), b"$X") for i in range(100)]
    path.write_bytes(_tagged(lines))
    recording = open_recording(path)
    assert [line.t_s for line in recording.lines()] == [float(i) for i in range(100)]


def test_a_program_started_again_goes_on_by_the_computer_s_clock(tmp_path):
    path = tmp_path / "trip.nmea"
    first = [(i * 1000, 1_753_000_000_000 + i * 1000, b"$A") for i in range(60)]
    again = [(i * 1000, 1_753_000_300_000 + i * 1000, b"$B") for i in range(60)]  # five minutes after the first began
    path.write_bytes(_tagged(first + again))
    times = [line.t_s for line in open_recording(path).lines()]
    assert times[:60] == [float(i) for i in range(60)]
    assert times[60:] == [300.0 + i for i in range(60)]


def test_one_spoiled_tag_block_spoils_one_line(tmp_path):
    path = tmp_path / "trip.nmea"
    data = bytearray(_tagged([(i * 1000, None, b"$IIMTW,1.0,C") for i in range(3000)]))
    at = data.index(b"r:1500000")
    data[at + 2] = ord("9")
    path.write_bytes(bytes(data))
    times = [line.t_s for line in open_recording(path).lines()]
    assert times[1499] == 1499.0
    assert times[1500] == 1499.0  # its stamp cannot be trusted; it stays where it lay
    assert times[1501:] == [float(i) for i in range(1501, 3000)]
    assert next(iter(open_recording(path).lines_from(1499.0))).t_s == 1499.0


@pytest.mark.parametrize(
    "stamp",
    ["{iso}Z ", "{iso}+00:00 ", "{space} ", "{iso}Z\t", "{unix:.3f} ", "{ms} ", "{iso}Z, "],
)
def test_host_stamps_in_the_forms_that_recorders_write(tmp_path, stamp):
    path = tmp_path / "host.log"
    lines = []
    for i in range(300):
        unix = 1_406_851_200.125 + i * 1.5
        iso = datetime.fromtimestamp(unix, UTC).strftime("%Y-%m-%dT%H:%M:%S.%f")
        lines.append(
            stamp.format(iso=iso, space=iso.replace("T", " "), unix=unix, ms=int(unix * 1000)) + "$IIMTW,1.0,C"
        )
    path.write_text("\n".join(lines))
    recording = open_recording(path)
    assert recording.timing == "the recording computer's clock before each line"
    assert recording.start_utc == 1_406_851_200.125
    assert [line.t_s for line in recording.lines()] == [i * 1.5 for i in range(300)]
    assert {line.data for line in recording.lines()} == {b"$IIMTW,1.0,C"}


def test_own_clock_without_a_date_goes_over_midnight(tmp_path, signed):
    path = tmp_path / "gll.log"
    lines = []
    for i in range(120):
        second = (86_340 + i) % 86_400
        clock = f"{second // 3600:02d}{second // 60 % 60:02d}{second % 60:02d}"
        lines += [signed(f"GPGLL,4700.000,N,09000.000,W,{clock},A,A"), signed("IIMTW,7.0,C")]
    path.write_bytes(b"\n".join(lines))
    recording = open_recording(path)
    assert recording.timing == "the sentences' own clock (GLL, without a date)"
    assert recording.start_utc is None
    # The last line begins after 119 s and the 47 of 64 bytes that a round has before it.
    assert recording.span_s == pytest.approx(119 + 47 / 64, abs=0.02)


def test_instruments_off_for_an_hour_leave_a_gap(tmp_path, signed):
    path = tmp_path / "gap.log"
    lines = []
    for i in [*range(300), *range(3900, 4200)]:
        lines.append(
            signed(
                f"GPRMC,{12 + i // 3600:02d}{i // 60 % 60:02d}{i % 60:02d},A,4700.0,N,09000.0,W,2.0,90.0,010725,,,A"
            )
        )
        lines.append(signed("IIMTW,7.0,C"))
    path.write_bytes(b"\n".join(lines))
    times = [line.t_s for line in open_recording(path).lines()]
    gaps = [(a, b) for a, b in itertools.pairwise(times) if b - a > 60]
    assert len(gaps) == 1
    assert gaps[0] == pytest.approx((299.5, 3900.0), abs=1.0)


def test_one_wrong_time_moves_nothing(tmp_path, signed):
    path = tmp_path / "spike.log"
    lines = [
        signed(f"GPRMC,12{i // 60:02d}{i % 60:02d},A,4700.0,N,09000.0,W,2.0,90.0,010725,,,A") for i in range(600)
    ]
    lines[300] = signed("GPRMC,230000,A,4700.0,N,09000.0,W,2.0,90.0,010725,,,A")
    path.write_bytes(b"\n".join(lines))
    recording = open_recording(path)
    assert recording.span_s == pytest.approx(599.0, abs=1.1)


def test_no_clock_at_all_counts_rounds_of_sentences(tmp_path, signed):
    path = tmp_path / "noclock.log"
    lines = []
    for i in range(90):
        lines += [signed(f"IIVHW,,,{i:03d},M,02.0,N,,"), signed("IIMTW,+07.0,C"), signed(f"IIDPT,{i:05.1f},0.5,")]
    path.write_bytes(b"\n".join(lines))
    recording = open_recording(path)
    assert recording.timing == "it has no clock: one round of sentences counts as a second"
    assert recording.start_utc is None
    assert recording.span_s == pytest.approx(90, abs=1)


def test_gzipped_is_the_same(tmp_path):
    plain = file_of("binary in mid-stream")
    packed = tmp_path / "feed.nmea.gz"
    packed.write_bytes(gzip.compress(plain.read_bytes()))
    assert list(open_recording(packed).lines()) == list(open_recording(plain).lines())


def test_a_gzip_cut_off_by_a_power_failure_is_read_up_to_there(tmp_path):
    plain = file_of("two depths disagree, temperature sensor broken")
    packed = tmp_path / "feed.gz"
    whole = gzip.compress(plain.read_bytes()[:400_000])
    packed.write_bytes(whole[: len(whole) * 3 // 4])
    recording = open_recording(packed)
    assert sum(1 for _ in recording.lines()) > 5000
    assert recording.notes == (f"{packed} is damaged: it is read up to the damage",)


def test_what_cannot_be_opened_is_said(tmp_path):
    (tmp_path / "empty.nmea").touch()
    for path, words in (
        (tmp_path / "none.nmea", "does not exist"),
        (tmp_path / "empty.nmea", "is empty"),
        (tmp_path, "is a folder; a recording is a file"),
    ):
        with pytest.raises(FeedError, match=words) as caught:
            open_recording(path)
        assert str(path) in str(caught.value)


@pytest.mark.parametrize("seed", range(2))
@pytest.mark.parametrize("kind", ["tags", "host"])
def test_the_quick_pass_over_stamps_agrees_with_the_slow_one(tmp_path, monkeypatch, seed, kind):
    """Starts again, disorder, gaps, spoiled stamps, over several blocks."""
    dice = random.Random(seed)
    path = tmp_path / "trip.nmea"
    ms, unix_ms, out = 0, 1_753_000_000_000, []
    for i in range(9000):
        step = (
            dice.choice([0, 3, 100, 900])
            if dice.random() > 0.001
            else dice.choice([-20_000, -300, 4_000_000, 90_000])
        )
        ms, unix_ms = max(ms + step, 0), unix_ms + abs(step)
        if dice.random() < 0.0003:
            ms = 0
        if kind == "tags":
            line = tagblock.write(Line(ms / 1000, unix_ms, "gps", b"$IIMTW,%d,C" % i))
        else:
            stamp = datetime.fromtimestamp((1_753_000_000_000 + ms) / 1000, UTC).isoformat(timespec="milliseconds")
            line = f"{stamp.replace('+00:00', 'Z')} $IIMTW,{i},C\n".encode()
        if dice.random() < 0.002:
            line = line.replace(b"1", b"7", 1)
        out.append(line)
    path.write_bytes(b"".join(out))
    quick = open_recording(path)
    for stamper in (TagStamper, HostStamper):
        monkeypatch.setattr(stamper, "quick", lambda *_: None)
    slow = open_recording(path)
    lines = list(slow.lines())
    assert list(quick.lines()) == lines
    assert (quick.span_s, quick.start_utc) == (slow.span_s, slow.start_utc)
    assert all(a.t_s <= b.t_s for a, b in itertools.pairwise(lines))
    for _ in range(5):
        t_s = dice.uniform(0, quick.span_s)
        assert list(quick.lines_from(t_s)) == [line for line in lines if line.t_s >= t_s]


def test_rubbish_without_line_ends_is_not_held_in_memory_whole(tmp_path):
    path = tmp_path / "noise.bin"
    path.write_bytes(b"\xaa" * 3_000_000)
    recording = open_recording(path)
    assert max(b - a for a, b in itertools.pairwise(recording._blocks)) <= 1 << 17
    assert sum(len(line.data) for line in recording.lines()) == 3_000_000


def test_line_ends_of_carriage_returns_alone(tmp_path):
    path = tmp_path / "cr.nmea"
    path.write_bytes(b"\r".join(b"$IIMTW,%05d,C" % i for i in range(40_000)))
    assert [line.data for line in open_recording(path).lines()] == [b"$IIMTW,%05d,C" % i for i in range(40_000)]


@pytest.mark.parametrize("seed", range(5))
def test_random_bytes_open_and_play(tmp_path, seed):
    path = tmp_path / "noise.bin"
    path.write_bytes(random.Random(seed).randbytes(200_000))
    recording = open_recording(path)
    last = 0.0
    for line in recording.lines():
        assert line.t_s >= last
        assert len(line.data) <= 256
        last = line.t_s


def test_a_recording_begins_at_no_time_at_all():
    lines = b"".join(b"$SDDPT,%.1f,0.0\r\n" % (10.0 + k / 10) for k in range(50))
    track = own_clock.track(lines)
    assert track.at(0) == 0
    assert 0 < track.at(len(lines) // 2) < track.at(len(lines) - 1)


def gga(second, quality=1):
    body = f"GPGGA,1200{second:02d},4700.000,N,09000.000,W,{quality},08,1.0,183.0,M,,M,,"
    return b"$%s*%02X\r\n" % (body.encode(), reduce(xor, body.encode()))


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ([gga(k) for k in range(9)], "the sentences' own clock (GGA, without a date)"),
        ([gga(k, quality=0) for k in range(9)], "it has no clock"),
        ([gga(k, quality="") for k in range(9)], "it has no clock"),
        ([gga(7)] * 9, "it has no clock"),  # it stands
        ([gga(7), gga(7), gga(8)], "the sentences' own clock"),
    ],
)
def test_a_receiver_without_a_fix_or_that_stands_is_no_clock(lines, words):
    assert own_clock.track(b"".join(lines)).words.startswith(words)


def test_no_more_is_unpacked_than_a_trip_fills():
    class Huge(bytes):
        def __len__(self):
            return 1 << 30

    taken = []
    with pytest.raises(unpacking.TooMuchError, match=r"more than 8\.6 GB"):
        taken.extend(unpacking.blocks(lambda _: Huge(b"x"), 1 << 40))
    assert len(taken) == 8


@pytest.mark.parametrize(
    ("data", "begins"),
    [(b"one\r\ntwo\r\n", 5), (b"one\r\ntwo", 5), (b"one\ntwo\n\n\r\n", 4), (b"one\rtwo\r", 4), (b"one\r\n", 0),
     (b"\r\n", 0), (b"", 0)],
)  # fmt: skip
def test_the_last_line_is_the_last_that_is_not_empty(data: bytes, begins: int) -> None:
    assert _last_line(data) == begins  # type: ignore[arg-type]

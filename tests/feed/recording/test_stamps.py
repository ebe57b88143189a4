"""Stamps before a recording's lines: what they say, what an odd one is taken for, and when a piece begins."""

from __future__ import annotations

import time
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from sternwatch.feed.errors import FeedError
from sternwatch.feed.readings import Line, Speech, Tongue
from sternwatch.feed.recording import frame_clock, speech_detection, tag_block
from sternwatch.feed.recording.feed_clock import FeedClock, last_stamp
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.recording.rewriting import write_anew
from sternwatch.feed.recording.splices import Splice
from sternwatch.feed.recording.stamps import HostStamper, OwnStamper, TagStamper, Walker
from sternwatch.feed.recording.unpacking import TooMuchError, blocks

LINE = b"$IIMTW,12.0,C*1B"
NOON_MS = round(datetime(2026, 7, 18, 12, tzinfo=UTC).timestamp() * 1000)
DAY_MS = 86_400_000


@pytest.mark.parametrize(
    ("stamp", "ms"),
    [
        (b"2026-07-18T12:00:00Z ", NOON_MS), (b"2026-07-18 12:00:00 ", NOON_MS),
        (b"2026-07-18T12:00:00.5Z ", NOON_MS + 500),
        (b"2026-07-18T12:00:00,25Z;", NOON_MS + 250), (b"2026-07-18T12:00:00.123456789Z|", NOON_MS + 123),
        (b"2026-07-18T14:00:00+02:00 ", NOON_MS), (b"2026-07-18T08:00:00-0400,", NOON_MS),
        (b"%d " % NOON_MS, NOON_MS), (b"%d " % (NOON_MS // 1000), NOON_MS),
        (b"%d.25 " % (NOON_MS // 1000), NOON_MS + 250), (b"%d.5 " % (NOON_MS // 1000), NOON_MS + 500),
        (b"%d.1234, " % (NOON_MS // 1000), NOON_MS + 123), (b"123456789 ", None), (b"2026-02-30T12:00:00Z ", None),
    ],
)  # fmt: skip
def test_a_hosts_stamp_in_milliseconds(stamp: bytes, ms: int | None) -> None:
    found = HostStamper().split(stamp + LINE)
    assert (found.ms, found.unix_ms, found.source, found.whole) == (ms, ms, None, True)
    assert found.data == (LINE if ms is not None else stamp + LINE)


@pytest.mark.parametrize(
    ("line", "ms", "unix"),
    [
        (b"2026-07-18T12:00:00.250Z,2,128259,35,255,1,00", NOON_MS + 250, True),
        (b"2026-07-18-12:00:00.250,2,128259,35,255,1,00", NOON_MS + 250, True),
        (b"(%d.829693) can0 09F50323#00" % (NOON_MS // 1000), NOON_MS + 829, True),
        (b'{"pgn":1,"timestamp":"2026-07-18T12:00:00.25Z"}', NOON_MS + 250, True),
        (b"01:02:03.004 R 09F50323 00", 3_723_004, False), (b"A010203.4 23FF2 1F503 00", 3_723_400, False),
        (b"10:20:30.123456 R 09F50323 00", 37_230_123, False), (b"!PDGY,128259,2,35,255,12.345,AA==", 12_345, False),
        (b"09F50323 00", None, False),
    ],
)  # fmt: skip
def test_a_frames_own_stamp_in_milliseconds(line: bytes, ms: int | None, unix: bool) -> None:
    found = OwnStamper().split(line)
    assert (found.ms, found.data, found.whole) == (ms, line, True)
    assert found.unix_ms == (ms if unix else None)


def tagged(t_ms: int, unix_ms: int | None = None) -> bytes:
    return tag_block.write(Line(t_ms / 1000, unix_ms, "boat", LINE))


def test_tags_carry_feed_time_or_the_hosts_clock() -> None:
    both = tagged(1500, NOON_MS).rstrip()
    relative, host = TagStamper(relative=True), TagStamper(relative=False)
    assert (relative.split(both).ms, relative.split(both).unix_ms) == (1500, NOON_MS)
    assert (host.split(both).ms, host.split(both).data, host.split(both).source) == (NOON_MS, LINE, "boat")
    cut = tag_block.write(Line(1.0, None, "boat", LINE, whole=False)).rstrip()
    assert [relative.split(line).whole for line in (both, cut, LINE)] == [True, False, True]
    assert relative.quick(both + b"\r\n" + tagged(1700)) == [1500, 1700]
    assert host.quick(both) is None
    assert relative.words != host.words


def iso(*texts: str) -> bytes:
    return b"".join(f"{text} ".encode() + LINE + b"\r\n" for text in texts)


@pytest.mark.parametrize(
    ("texts", "ends_ms"),
    [
        (("2026-07-18T12:00:00Z", "2026-07-18T12:00:01Z", "2026-07-18T12:00:05Z"), [NOON_MS, NOON_MS + 5000]),
        (("2026-07-18T12:00:05Z", "2026-07-18T12:00:01Z"), None), (("2026-07-18T12:00:00Z",), None),
        (("2026-07-18T12:00:00Z", "2026-07-18T12:00:01.5Z"), None),
        (("2026-07-18T12:00:00Z", "2026-07-18T12:00:01+02:00"), None),
        (("2026-13-18T12:00:00Z", "2026-13-18T12:00:01Z"), None),
    ],
)  # fmt: skip
def test_a_block_is_walked_by_its_ends_where_its_texts_are_in_order(
    texts: tuple[str, ...], ends_ms: list[int] | None
) -> None:
    assert HostStamper().quick(iso(*texts)) == ends_ms


# -- the walk ------------------------------------------------------------------------------------------------------


def test_five_seconds_back_are_disorder_and_more_begins_a_piece() -> None:
    walker = Walker()
    assert [walker.step(ms, None) for ms in (10_000, 20_000, 15_000, 20_500)] == [0, 10_000, 10_000, 10_500]
    assert walker.splices == ()
    assert walker.step(15_499, None) == 10_500 + 90_000
    assert walker.splices == (Splice(100.5, -5.001, True),)
    assert [walker.step(ms, None) for ms in (15_500, 16_499)] == [100_501, 101_500]


@pytest.mark.parametrize(("back_to", "again"), [(5000, True), (4999, False), (20_000, True)])
def test_a_piece_repeats_a_time_from_five_seconds_before_one_began(back_to: int, again: bool) -> None:
    walker = Walker()
    for ms in (10_000, 20_000, 40_000):
        walker.step(ms, None)
    walker.step(back_to, None)
    assert walker.splices == (Splice(120.0, (back_to - 40_000) / 1000, again),)


def test_a_stamp_that_is_feed_time_is_taken_as_it_is() -> None:
    walker = Walker(begin_at_zero=False)
    assert [walker.step(ms, None) for ms in (7000, None, 7500)] == [7000, 7000, 7500]
    assert walker.step(None, None) == 7500


def test_of_repeated_old_messages_only_the_nth_in_a_row_is_a_new_start() -> None:
    walker = Walker(stays=3)
    for ms in (10_000, 20_000):
        walker.step(ms, None)
    old = [1000, 1000, 20_000, 1000, 1000]
    assert [walker.step(ms, None) for ms in old] == [10_000] * 5
    assert walker.step(1000, None) == 100_000


@pytest.mark.parametrize(
    ("paused_ms", "goes_on", "unix_again"),
    [(0, 0, True), (60_000, 60_000, True), (30 * DAY_MS, 30 * DAY_MS, True), (30 * DAY_MS + 1, 90_000, False),
     (-1, 90_000, False)],
)  # fmt: skip
def test_a_recorder_begun_anew_goes_on_by_the_hosts_clock(paused_ms: int, goes_on: int, unix_again: bool) -> None:
    """Where that is credible: not back, and no more than thirty days on."""
    walker = Walker()
    walker.step(100_000, NOON_MS)
    assert walker.step(110_000, NOON_MS + 10_000) == 10_000
    assert walker.step(0, NOON_MS + 10_000 + paused_ms) == 10_000 + goes_on
    assert (walker.splices == ()) is unix_again
    assert walker.step(1000, None) == 11_000 + goes_on
    # Once more: the clock counts from the piece that it is in now.
    assert walker.step(-9000, NOON_MS + 10_000 + paused_ms + 5000) == 15_000 + goes_on


def test_a_hundred_and_one_pieces_are_remembered() -> None:
    walker, times = Walker(), [10_000 * k for k in range(200, 90, -1)]
    for ms in times:
        walker.step(ms, None)
    assert len(walker.splices) == 109
    assert len(walker.pieces) == 101
    assert walker.pieces[-1] == (920_000, 920_000)


@pytest.mark.parametrize(
    ("stamps", "taken"),
    [([10_000, 11_000], True), ([9999, 11_000], False), ([10_000, 3_610_000], True), ([10_000, 3_610_001], False),
     ([], False), ([12_000, 11_000], False), ([10_000], True)],
)  # fmt: skip
def test_a_block_is_taken_at_once_where_it_goes_on_within_the_hour(stamps: list[int], taken: bool) -> None:
    walker = Walker(begin_at_zero=False)
    walker.step(10_000, None)
    assert walker.quick(stamps) is taken
    assert walker.last_ms == (stamps[-1] if taken else 10_000)


@pytest.mark.parametrize("odd_ms", [1000, 40 * DAY_MS])
def test_a_block_after_an_odd_stamp_is_walked_line_by_line(odd_ms: int) -> None:
    walker = Walker(begin_at_zero=False, stays=20)
    walker.step(10_000, None)
    walker.step(odd_ms, None)
    assert not walker.quick([11_000, 12_000])
    other = walker.copy()
    assert other.step(11_000, None) == 11_000
    assert other.quick([11_000, 12_000])
    assert walker.last_ms == 10_000, "a copy walks by itself"


# -- clocks --------------------------------------------------------------------------------------------------------


def test_a_resumed_clock_begins_no_later_than_the_line_stamped_at_that_moment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """32.003 + 30.007 is more than 62.01: a replay from there went without the first lines."""
    path = tmp_path / "r.nmea"
    path.write_bytes(tagged(32_003, NOON_MS))
    monkeypatch.setattr(time, "time_ns", lambda: (NOON_MS + 30_007) * 1_000_000)
    assert FeedClock.resume(path).began_s == 62.01 < 32.003 + 30.007


@pytest.mark.parametrize(
    ("paused_ms", "goes_on_ms"),
    [(-1, 2000), (0, 2000), (2000, 2000), (2001, 2001), (30 * DAY_MS, 30 * DAY_MS), (30 * DAY_MS + 1, 2000)],
)
def test_a_resumed_clock_goes_on_after_its_pause_to_the_millisecond_but_two_seconds_later_at_least(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, paused_ms: int, goes_on_ms: int
) -> None:
    path = tmp_path / "r.nmea"
    path.write_bytes(tagged(100_000, NOON_MS))
    monkeypatch.setattr(time, "time_ns", lambda: (NOON_MS + paused_ms) * 1_000_000)
    assert round(FeedClock.resume(path).began_s * 1000) == 100_000 + goes_on_ms
    path.write_bytes(tagged(100_000))
    assert FeedClock.resume(path).began_s == 102.0, "without the host's clock two seconds"


@pytest.mark.parametrize(
    ("reached_s", "began_s"), [(0.0, 130.0), (128.0, 130.0), (128.001, 130.001), (500.0, 502.0), (1e12, 130.0)]
)
def test_a_resumed_clock_begins_after_the_newest_entry_whatever_the_recording_says(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, reached_s: float, began_s: float
) -> None:
    """An entry of more than a year is damaged."""
    path = tmp_path / "r.nmea"
    path.write_bytes(tagged(100_000, NOON_MS))
    monkeypatch.setattr(time, "time_ns", lambda: (NOON_MS + 30_000) * 1_000_000)
    assert FeedClock.resume(path, reached_s).began_s == began_s
    path.unlink()
    assert FeedClock.resume(path, reached_s).began_s == (0.0 if reached_s in (0.0, 1e12) else reached_s + 2.0)


@pytest.mark.parametrize(("behind", "found"), [(0, True), (65_536 - 40, True), (65_536, False)])
def test_the_last_stamp_is_looked_for_in_the_last_64_kilobytes(tmp_path: Path, behind: int, found: bool) -> None:
    path = tmp_path / "r.nmea"
    path.write_bytes(tagged(1000, 5) + tagged(2000) + b"x" * behind)
    assert last_stamp(path) == ((2.0, None) if found else None)


EVERY = {127250: 0.1, 127251: 0.1, 128259: 1.0, 128267: 1.0, 129025: 0.1, 129026: 0.25, 130306: 0.1, 130310: 0.5}


@pytest.mark.parametrize("pgn", EVERY)
def test_a_message_comes_as_often_as_the_standard_says(pgn: int) -> None:
    """Intervals of NMEA 2000, from canboat's tables, stated here once more."""
    frame = f"can0  {2 << 26 | pgn << 8 | 35:08X}   [8]  00 00 00 00 00 00 00 00\n".encode()
    other = f"can0  {2 << 26 | pgn << 8 | 36:08X}   [8]  00 00 00 00 00 00 00 00\n".encode()
    made = frame_clock.track(frame * 20)
    assert made.slopes[0] * 20 * len(frame) == pytest.approx(20_000.0 * EVERY[pgn])
    both = frame_clock.track(frame * 20 + other * 20)
    assert both.slopes[0] * 40 * len(frame) == pytest.approx(20_000.0 * EVERY[pgn]), "of each device by itself"


# -- files ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(("stamped", "plain", "words"), [(2, 2, "before each line"), (2, 3, "it has no clock")])
def test_half_of_its_lines_tell_how_a_recording_is_timed(
    tmp_path: Path, stamped: int, plain: int, words: str
) -> None:
    path = tmp_path / "r.nmea"
    path.write_bytes(iso("2026-07-18T12:00:00Z") * stamped + (LINE + b"\r\n") * plain)
    assert words in open_recording(path).timing


@pytest.mark.parametrize(("tags", "plain", "timing"), [(2, 2, True), (2, 3, False)])
def test_half_of_its_lines_have_tags(tmp_path: Path, tags: int, plain: int, timing: bool) -> None:
    for block in (tagged(1000), b"\\c:1784376000*%02X\\" % _check(b"c:1784376000") + LINE + b"\r\n"):
        path = tmp_path / "r.nmea"
        path.write_bytes(block * tags + (LINE + b"\r\n") * plain)
        assert open_recording(path).timing.startswith("tag blocks") is timing


def _check(body: bytes) -> int:
    found = 0
    for byte in body:
        found ^= byte
    return found


def test_a_jump_gives_the_lines_from_that_moment_on(tmp_path: Path) -> None:
    path = tmp_path / "r.nmea"
    path.write_bytes(b"".join(tagged(1000 * k) for k in range(8000)))
    with open_recording(path) as recording:
        assert len(recording._blocks) > 4
        times = [line.t_s for line in recording.lines()]
        assert times == [float(k) for k in range(8000)]
        assert recording.span_s == 7999.0
        for t_s in (0.0, 0.5, 1000.0, 4321.0, 7999.0, 8000.0):
            assert [line.t_s for line in recording.lines_from(t_s)] == [t for t in times if t >= t_s]


@pytest.mark.parametrize(("frames", "looked_at"), [(400, True), (401, False)])
def test_the_first_400_lines_tell_a_tongue(tmp_path: Path, frames: int, looked_at: bool) -> None:
    """One sentence among them and it is none of frames."""
    path = tmp_path / "r.log"
    path.write_bytes(b"09F50323 00 7B 00 FF FF 00 FF FF\n" * (frames - 1) + b"$IIMTW,12.0,C\n" + b"x\n" * 5)
    assert (speech_detection.spelled(path) == str(path)) is looked_at
    if not looked_at:
        assert speech_detection.spelled(path) == f"{Tongue.N2K}:{path}"
        with pytest.raises(FeedError, match="holds NMEA 2000 frames, not sentences: n2k:"):
            open_recording(path)


class Sized(bytes):
    """Bytes that say another length."""

    size = 0

    def __len__(self) -> int:
        return self.size


def sized(*sizes: int) -> Callable[[int], bytes]:
    left = list(sizes)

    def read(_: int) -> bytes:
        block = Sized(b"x")
        block.size = left.pop(0) if left else 0
        return block

    return read


@pytest.mark.parametrize(
    ("packed", "sizes", "said"),
    [
        (1, (32 << 20,), ""), (1, ((32 << 20) + 1,), "unpacks to more than 50 times its 0.0 MB; no recording"),
        (1 << 20, (50 << 20,), ""), (1 << 20, (50 << 20, 1), "unpacks to more than 50 times its 1.0 MB"),
        (1 << 30, (8 << 30,), ""), (1 << 30, (8 << 30, 1), "unpacks to more than 8.6 GB; nothing of a trip"),
        (999_999_999, (50 * 999_999_999 + 1,), "more than 8.6 GB"),
    ],
)  # fmt: skip
def test_how_much_a_file_may_unpack_to(packed: int, sizes: tuple[int, ...], said: str) -> None:
    if not said:
        assert len(list(blocks(sized(*sizes), packed))) == len(sizes)
        return
    with pytest.raises(TooMuchError, match=said):
        list(blocks(sized(*sizes), packed))


@pytest.mark.parametrize(
    ("most", "said"), [(999_999_999, "more than 1000.0 MB"), (10**9, "more than 1.0 GB"), (5_000_000, "than 5.0 MB")]
)
def test_a_size_in_words(most: int, said: str) -> None:
    with pytest.raises(TooMuchError, match=said):
        list(blocks(sized(most + 1), 1 << 40, most))


def test_it_may_take_five_minutes(monkeypatch: pytest.MonkeyPatch) -> None:
    clock = [0.0]
    monkeypatch.setattr(time, "monotonic", lambda: clock[0])

    def after(seconds: float) -> list[bytes]:
        clock[0] = 0.0
        left = [b"x"]

        def read(_: int) -> bytes:
            clock[0] = seconds
            return left.pop() if left else b""

        return list(blocks(read, 1))

    assert after(300.0) == [b"x"]
    with pytest.raises(TooMuchError, match="unpacks for more than 300 s"):
        after(300.5)


def test_a_recording_written_anew_declares_its_sources_once(tmp_path: Path) -> None:
    path, target = tmp_path / "r.nmea", tmp_path / "w.nmea"
    path.write_bytes(b"09F50323 00 7B 00 FF FF 00 FF FF\n" * 3)
    with open_recording(path, "bus", Speech(Tongue.N2K)) as recording:
        write_anew(recording, target)
    tags = [tag_block.read(line) for line in target.read_bytes().split(b"\r\n") if line]
    assert [tag is not None and tag_block.declared(tag) is not None for tag in tags] == [True, False, False, False]


def test_a_tag_block_that_is_empty_is_none() -> None:
    body = b"\\s:a,r:1"
    assert tag_block.read(b"\\" + body + b"*%02X\\$X" % _check(body)) is None


def test_what_is_on_the_disk_is_not_synced_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    synced: list[int] = []
    made = Recorder(tmp_path / "r.nmea")
    made.close()
    made._fd, made._unsynced = 7, True
    monkeypatch.setattr("os.fsync", synced.append)
    made._sync()
    made._sync()
    assert synced == [7]
    made._fd = None

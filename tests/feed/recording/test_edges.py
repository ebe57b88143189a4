"""Where exactly a recording's clock, stamps and file turn one way or the other."""

from __future__ import annotations

import errno
import os
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from sternwatch.feed.readings import Line
from sternwatch.feed.recording import feed_clock, reader, tag_block
from sternwatch.feed.recording import recorder as recorder_module
from sternwatch.feed.recording.feed_clock import FeedClock, last_stamp
from sternwatch.feed.recording.own_clock import _catches_up, _clean, _goes_on
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.recording.splices import Splice, _long, sentence
from sternwatch.feed.recording.stamps import HostStamper, OwnStamper
from sternwatch.feed.sentences.framing import MAX_LINE

DAY_MS = 86_400_000
LINE = b"$IIMTW,12.0,C*1B"


def stamped(path: Path, t_s: float, unix_ms: int) -> Path:
    path.write_bytes(tag_block.write(Line(t_s, unix_ms, "boat", LINE)))
    return path


@pytest.mark.parametrize(
    ("paused_ms", "goes_on_after_s"),
    [(5_000, 5.0), (30 * DAY_MS - 60_000, 30 * 86400.0 - 60.0), (30 * DAY_MS + 60_000, 2.0), (-60_000, 2.0)],
)
def test_a_recording_goes_on_after_its_pause_unless_that_cannot_be(
    tmp_path: Path, paused_ms: int, goes_on_after_s: float
) -> None:
    """Longer than a month, or before it stopped: then two seconds are taken."""
    path = stamped(tmp_path / "r.nmea", 100.0, time.time_ns() // 1_000_000 - paused_ms)
    clock = FeedClock.resume(path)
    assert clock.began_s == pytest.approx(100.0 + goes_on_after_s, abs=2.0)
    assert clock.now()[0] == pytest.approx(clock.began_s, abs=2.0)


@pytest.mark.parametrize(("days", "read"), [(366.0, True), (366.1, False)])
def test_a_stamp_of_more_than_a_year_is_damaged(tmp_path: Path, days: float, read: bool) -> None:
    path = stamped(tmp_path / "r.nmea", days * 86400.0, 1_784_000_000_000)
    assert (last_stamp(path) is not None) is read
    assert FeedClock.resume(tmp_path / "none.nmea").began_s == 0.0


# -- a clock of its own --------------------------------------------------------------------------------------------


def test_a_minute_that_sticks_is_left_out_until_the_clock_catches_up() -> None:
    """59 is followed by 0 again: a minute is repeated, and then it goes on at 120."""
    times = [*range(60), *range(60), *range(120, 180)]
    epochs = [(100 * k, float(t)) for k, t in enumerate(times)]
    clean, steps = _clean(epochs)
    assert [t for _, t, _ in clean] == [*map(float, range(60)), *map(float, range(120, 180))]
    assert steps == {}
    assert sum(moved for _, _, moved in clean) == 179.0
    assert _catches_up(epochs, 60, 59.0) == 120


def test_a_step_back_begins_another_piece_and_a_wrong_reading_does_not() -> None:
    times = [*range(1000, 1060), *range(100, 160)]
    clean, steps = _clean([(k, float(t)) for k, t in enumerate(times)])
    assert steps == {60: (-959.0, False)}
    assert len(clean) == 120
    assert clean[60] == (60, 100.0, 90.0)
    wrong = [*range(1000, 1030), 5, *range(1030, 1060)]
    clean, steps = _clean([(k, float(t)) for k, t in enumerate(wrong)])
    assert (len(clean), steps) == (60, {})
    assert _clean([(k, float(t)) for k, t in enumerate([*range(300), *range(100, 160)])])[1] == {300: (-199.0, True)}


def test_a_reading_counts_where_half_of_the_next_go_on_from_it() -> None:
    assert _goes_on([(0, 5.0)], 0)
    assert _goes_on([(0, 5.0), (1, 6.0), (2, 900.0)], 0)
    assert not _goes_on([(0, 5.0), (1, 900.0), (2, 901.0), (3, 6.0)], 0)
    assert not _goes_on([(0, 5.0), (1, 4.9)], 0)


# -- words ---------------------------------------------------------------------------------------------------------


def test_pieces_in_words() -> None:
    back, again = Splice(60.0, -7200.0, False), Splice(120.0, 90.0, True)
    end = "; each piece keeps its own time, and everything begins anew with it"
    assert sentence(()) == ""
    assert sentence((back,)) == f"it is in 2 pieces: at 0:01:00 the clock goes back by 2 h{end}"
    assert sentence((again,)) == (
        f"it is in 2 pieces: at 0:02:00 the clock goes on by 2 min to a time that was there before{end}"
    )
    assert sentence((back, again)) == (
        f"it is in 3 pieces (1 of them repeat a time): at 0:01:00 the clock goes back by 2 h"
        f", and in 1 more place{end}"
    )
    assert ", and in 2 more places;" in sentence((back, back, back))
    assert "(" not in sentence((back, back))


@pytest.mark.parametrize(
    ("seconds", "said"),
    [
        (59.0, "59 s"), (60.0, "1 min"), (7199.0, "120 min"), (7200.0, "2 h"), (172_799.0, "48 h"),
        (172_800.0, "2 days"), (2 * 365.25 * 86400.0 - 1.0, "730 days"), (2 * 365.25 * 86400.0, "2 years"),
    ],
)  # fmt: skip
def test_how_long_a_step_is(seconds: float, said: str) -> None:
    assert _long(seconds) == said


# -- stamps --------------------------------------------------------------------------------------------------------


def test_a_hosts_stamp_that_is_no_time_leaves_the_line_whole() -> None:
    good = HostStamper().split(b"2026-07-18T23:00:00.250Z " + LINE)
    assert good.data == LINE
    assert good.ms == round(datetime(2026, 7, 18, 23, tzinfo=UTC).timestamp() * 1000) + 250
    for text in (b"2026-13-18T23:00:00Z ", b"2026-07-18T25:00:00Z ", b""):
        bad = HostStamper().split(text + LINE)
        assert (bad.ms, bad.unix_ms, bad.whole, bad.data) == (None, None, True, text + LINE)


def test_a_frames_own_stamp_leaves_the_line_whole() -> None:
    for line in (b"no stamp at all", b"17:33:21.107 R 09F8027F 50 FC FF FF FF FF FF FF"):
        found = OwnStamper().split(line)
        assert (found.data, found.whole, found.unix_ms) == (line, True, None)
    assert OwnStamper().split(b"17:33:21.107 R 09F8027F 50 FC FF FF FF FF FF FF").ms == 63_201_107


@pytest.mark.parametrize("whole", [True, False])
def test_a_recorded_line_too_long_to_be_one_is_cut_and_only_its_end_may_be_whole(tmp_path: Path, whole: bool) -> None:
    path = tmp_path / "r.nmea"
    long, after = b"x" * (2 * MAX_LINE + 5), LINE
    written = [Line(1.0, 1_784_000_000_000, "boat", long, whole), Line(2.0, 1_784_000_001_000, "boat", after)]
    path.write_bytes(b"".join(tag_block.write(line) for line in written))
    with open_recording(path) as recording:
        found = list(recording.lines())
    assert [(len(line.data), line.whole, line.t_s) for line in found] == [
        (MAX_LINE, False, 1.0), (MAX_LINE, False, 1.0), (5, whole, 1.0), (len(LINE), True, 2.0)
    ]  # fmt: skip


# -- the file ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("before", "after"),
    [(b"", b""), (b"x", b"x\r\n"), (b"\n", b"\n"), (b"x\r\n", b"x\r\n"), (b"one\r\ntw", b"one\r\ntw\r\n")],
)
def test_a_line_that_was_cut_off_is_ended_first(tmp_path: Path, before: bytes, after: bytes) -> None:
    path = tmp_path / "r.nmea"
    path.write_bytes(before)
    made = Recorder(path)
    line = Line(1.0, 1_784_000_000_000, "boat", LINE)
    made.record(line)
    made.close()
    assert path.read_bytes() == after + tag_block.write(line)


@pytest.mark.parametrize(
    ("error", "said", "said_at_the_end"),
    [(errno.EINVAL, False, False), (errno.EBADF, False, True), (errno.EIO, True, True), (errno.ENOSPC, True, True)],
)
def test_a_device_that_cannot_sync_is_no_trouble(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, error: int, said: bool, said_at_the_end: bool
) -> None:
    made = Recorder(tmp_path / "r.nmea")
    made.close()

    def fails(fd: int) -> None:  # noqa: ARG001
        raise OSError(error, os.strerror(error))

    real: Any = os.fsync
    with monkeypatch.context() as patch:
        patch.setattr(recorder_module.os, "fsync", fails)
        made._fd, made._unsynced = os.open(tmp_path / "r.nmea", os.O_RDWR | os.O_CREAT), True
        made._sync()
        assert bool(made.error) is said
        made._unsafe = ""
        made._let_go()
        assert bool(made.error) is said_at_the_end
    assert os.fsync is real
    assert made._fd is None


def test_a_failed_sync_is_said_until_one_succeeds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A write in between says nothing of what is on the disk, and is no reason to stop trying."""
    made = Recorder(tmp_path / "r.nmea")
    made.close()

    def fails(fd: int) -> None:  # noqa: ARG001
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    with monkeypatch.context() as patch:
        patch.setattr(recorder_module.os, "fsync", fails)
        assert made._write(b"one\r\n") == b""
        made._sync()
        assert made._write(b"two\r\n") == b""
        assert "reports an error" in made.error
    made._sync()
    assert made.error == ""
    made._let_go()


def test_an_earlier_file_is_synced_until_that_succeeds(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Another trip has begun while syncs failed: what the new file says is no word about the old one."""
    made = Recorder(tmp_path / "first.nmea")
    made.close()
    real, spoiled, synced = os.fsync, set[int](), list[int]()

    def sync(fd: int) -> None:
        if os.fstat(fd).st_ino in spoiled:
            raise OSError(errno.EIO, os.strerror(errno.EIO))
        synced.append(os.fstat(fd).st_ino)
        real(fd)

    monkeypatch.setattr(recorder_module.os, "fsync", sync)
    assert made._write(b"one\r\n") == b""
    first = (tmp_path / "first.nmea").stat().st_ino
    spoiled.add(first)
    made._let_go()
    made._path = tmp_path / "second.nmea"
    assert made._write(b"two\r\n") == b""
    second = made._path.stat().st_ino
    for _ in range(2):
        made._unsynced = True
        made._sync()
        assert "first.nmea" in made.error
        assert synced[-1] == second
    spoiled.clear()
    ((kept, _),) = made._unsure
    made._sync()
    assert made.error == ""
    assert synced[-1] == first
    with pytest.raises(OSError, match=r"ad file descriptor|Invalid handle"):  # the latter on Windows
        os.fstat(kept)
    made._let_go()
    assert not made._unsure


def test_files_that_could_not_be_synced_are_closed_at_the_end(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(fd: int) -> None:  # noqa: ARG001
        raise OSError(errno.EIO, os.strerror(errno.EIO))

    made = Recorder(tmp_path / "r.nmea")
    closed: list[int] = []
    real = os.close
    monkeypatch.setattr(recorder_module.os, "fsync", fails)
    monkeypatch.setattr(recorder_module.os, "close", lambda fd: (closed.append(fd), real(fd))[1])
    made.record(Line(1.0, 1, "gps", b"$IIMTW,1.0,C"))
    made.close()
    assert len(closed) == 1
    assert "r.nmea" in made.error
    assert not made._unsure


def test_frames_without_stamps_come_as_often_as_the_standard_has_them_sent() -> None:
    """Speeds are sent once a second; what came once says nothing; without any of them 200 frames are a second."""
    from sternwatch.feed.recording.frame_clock import track

    def span_s(*frames: str) -> float:
        data = "".join(f"can0  {one}   [8]  00 00 00 00 00 00 00 00\n" for one in frames).encode()
        made = track(data)
        assert (made.offsets, made.ms) == ((0,), (0.0,)), "from the first byte on"
        return made.slopes[0] * len(data) / 1000.0

    speed, heading, other = "09F50323", "09F11223", "09F20123"
    assert span_s(*[speed] * 10) == pytest.approx(10.0)
    assert span_s(*[speed] * 10, heading) == pytest.approx(10.0), "a single heading is no rhythm"
    assert span_s(*[other] * 400) == pytest.approx(2.0)
    assert span_s(heading) == pytest.approx(1.0 / 200.0)


@pytest.mark.parametrize(
    ("data", "blocks"),
    [(b"abcdefgh\n", [0, 9]), (b"abcdefgh\ni", [0, 9, 10]), (b"abc\n", [0, 4]), (b"a" * 14, [0, 5, 10, 14])],
)
def test_a_block_ends_with_a_line_and_none_is_empty(
    monkeypatch: pytest.MonkeyPatch, data: bytes, blocks: list[int]
) -> None:
    monkeypatch.setattr(reader, "BLOCK", 5)
    assert reader._blocks(data) == blocks  # type: ignore[arg-type]


@pytest.mark.parametrize(("frames", "others", "found"), [(2, 1, True), (1, 1, False), (3, 2, True), (2, 2, False)])
def test_more_than_half_of_the_lines_tell_a_tongue(frames: int, others: int, found: bool) -> None:
    from sternwatch.feed.recording.speech_detection import tongue_of

    lines = [b"17:33:21.107 R 09F8027F 50 FC FF FF FF FF FF FF"] * frames + [b"something else"] * others
    assert (tongue_of(lines) is not None) is found


@pytest.mark.parametrize(("count", "quick"), [(1, False), (2, True), (3, True)])
def test_the_quick_look_at_stamps_needs_two(count: int, quick: bool) -> None:
    block = b"".join(b"2026-07-18T23:00:0%d.000Z %s\r\n" % (k, LINE) for k in range(count))
    assert (HostStamper().quick(block) is not None) is quick


def test_a_clock_begun_again_is_at_none() -> None:
    clock = FeedClock(50.0)
    assert clock.began_s == 50.0
    clock.restart()
    assert clock.began_s == 0.0
    assert clock.start_utc == pytest.approx(time.time(), abs=5.0)
    assert clock.now()[0] < 5.0
    assert FeedClock(1e6).start_utc == pytest.approx(time.time() - 1e6, abs=5.0)


def test_feed_time_and_the_time_of_day_are_in_whole_milliseconds(monkeypatch: pytest.MonkeyPatch) -> None:
    ticks, unix_ns = [5_000_000_000], [1_700_000_000_123_999_999]
    monkeypatch.setattr(feed_clock, "_ticks_ns", lambda: ticks[0])
    monkeypatch.setattr(feed_clock.time, "time_ns", lambda: unix_ns[0])
    clock = FeedClock(2.5)
    assert clock.start_utc == 1_699_999_997.623
    ticks[0] += 1_234_567_890
    unix_ns[0] += 1_000_000
    assert clock.now() == (3.735, 1_700_000_000_124)
    clock.restart()
    assert clock.start_utc == 1_700_000_000.124
    ticks[0] += 400_000
    assert clock.now()[0] == 0.0, "less than half a millisecond"
    ticks[0] += 200_000
    assert clock.now()[0] == 0.001


def test_a_stamp_a_month_ahead_is_believed_when_twenty_lines_stay_there() -> None:
    """Nineteen are an unreadable stamp each; what comes back between begins the count anew."""
    from sternwatch.feed.recording.stamps import Walker

    walker, ahead = Walker(), 1000 + 31 * DAY_MS
    assert walker.step(1000, None) == 0
    assert [walker.step(ahead + k, None) for k in range(19)] == [0] * 19
    assert walker.step(1500, None) == 500
    assert [walker.step(ahead + k, None) for k in range(19)] == [500] * 19
    assert walker.step(ahead + 19, None) == 500 + 90_000
    assert walker.step(ahead + 1019, None) == 500 + 91_000
    (splice,) = walker.splices
    assert not splice.again
    assert not Walker().quick([1])
    assert walker.quick([ahead + 1020, ahead + 1030])
    assert not walker.quick([ahead + 1031, ahead + 1030])
    assert not walker.quick([ahead])

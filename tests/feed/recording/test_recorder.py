"""The recorder: nothing lost, nothing torn, the disk's trouble said and outlived; a replay gives the same lines."""

import errno
import os
import shutil
import time

import pytest

from recordings import file_of
from sternwatch.feed.readings import Declared, Line, Speech, Tongue
from sternwatch.feed.recording import feed_clock
from sternwatch.feed.recording.feed_clock import FeedClock, last_stamp
from sternwatch.feed.recording.reader import open_recording
from sternwatch.feed.recording.recorder import Recorder
from sternwatch.feed.sources.hub import Hub


def _wait(condition, seconds=5.0):
    until = time.monotonic() + seconds
    while not condition():
        assert time.monotonic() < until, "it did not come about in time"
        time.sleep(0.01)


def test_a_clock_begun_again_begins_now():
    clock = FeedClock(50.0)
    before = clock.start_utc
    clock.restart()
    assert time.time() - clock.start_utc == pytest.approx(0.0, abs=30.0)
    assert clock.start_utc - before == pytest.approx(50.0, abs=30.0)
    assert clock.now()[0] < 30.0


def test_a_recording_replays_to_the_very_same_lines(tmp_path):
    path = tmp_path / "trips" / "trip.nmea"
    recorder = Recorder(path)
    hub = Hub([], recorder=recorder)
    raw = file_of("binary in mid-stream").read_bytes().replace(b"\r", b"\n")
    lines = [line for line in raw.split(b"\n") if line]
    for i, data in enumerate(lines):
        t_s, unix_ms = hub.clock.now()
        hub.put(Line(t_s, unix_ms, "gps" if i % 3 else "sounder", data, whole=i % 50 != 0))
    live = hub.get(0.0)
    recorder.close()
    assert len(live) == len(lines)
    assert list(open_recording(path).lines()) == live
    assert recorder.status.error == ""
    assert recorder.status.lines == len(lines)
    assert recorder.status.written_bytes == path.stat().st_size


def test_what_the_user_said_of_the_sources_goes_into_every_file(tmp_path):
    said = (Declared("gps", 1), Declared("deep", 0, probe=True), Declared("old", 2, checked=False))
    paths = [tmp_path / "a.nmea", tmp_path / "b.nmea"]
    recorder = Recorder(paths[0], said)
    recorder.record(Line(1.0, 1_753_000_001_000, "gps", b"$A"))
    recorder.record(Line(2.0, 1_753_000_002_000, "deep", b"$B"))
    recorder.rotate(paths[1])
    recorder.record(Line(3.0, 1_753_000_003_000, "gps", b"$C"))
    recorder.close()
    assert [open_recording(path).sources for path in paths] == [said, said]
    assert [line.data for line in open_recording(paths[0]).lines()] == [b"$A", b"$B"]
    assert [line.t_s for line in open_recording(paths[1]).lines()] == [3.0]


def test_it_is_on_the_disk_at_once(tmp_path):
    recorder = Recorder(tmp_path / "trip.nmea")
    recorder.record(Line(1.0, 1, "gps", b"$IIMTW,1.0,C"))
    _wait(lambda: (tmp_path / "trip.nmea").exists() and (tmp_path / "trip.nmea").read_bytes().endswith(b"C\r\n"), 1.0)
    recorder.close()


def test_it_is_synced_about_every_second(tmp_path, monkeypatch):
    synced = []
    real = os.fsync
    monkeypatch.setattr(os, "fsync", lambda fd: (synced.append(time.monotonic()), real(fd))[1])
    recorder = Recorder(tmp_path / "trip.nmea")
    for i in range(30):
        recorder.record(Line(i / 10, None, "gps", b"$IIMTW,1.0,C"))
        time.sleep(0.1)
    assert 2 <= len(synced) <= 4
    recorder.close()


def test_rotation_is_never_in_mid_line(tmp_path):
    first, second = tmp_path / "a.nmea", tmp_path / "b.nmea"
    recorder = Recorder(first)
    for i in range(2000):
        if i == 1000:
            recorder.rotate(second)
        recorder.record(Line(i / 1000, None, "gps", b"$IIMTW,%d,C" % i))
    recorder.close()
    assert [line.data for line in open_recording(first).lines()] == [b"$IIMTW,%d,C" % i for i in range(1000)]
    assert [line.data for line in open_recording(second).lines()] == [b"$IIMTW,%d,C" % i for i in range(1000, 2000)]


def test_going_on_after_a_crash_in_mid_line(tmp_path):
    path = tmp_path / "trip.nmea"
    recorder = Recorder(path)
    recorder.record(Line(1.0, 1_753_000_001_000, "gps", b"$IIMTW,1.0,C"))
    recorder.close()
    with path.open("ab") as file:
        file.write(b"\\s:gps,c:17530000020")
    recorder = Recorder(path)
    recorder.record(Line(3.0, 1_753_000_003_000, "gps", b"$IIMTW,3.0,C"))
    recorder.close()
    lines = list(open_recording(path).lines())
    assert [(line.t_s, line.data) for line in lines] == [
        (1.0, b"$IIMTW,1.0,C"), (1.0, b"\\s:gps,c:17530000020"), (3.0, b"$IIMTW,3.0,C"),
    ]  # fmt: skip
    assert last_stamp(path) == (3.0, 1_753_000_003_000)


@pytest.mark.parametrize("end", [b"\r\n", b"\n"])
def test_a_file_that_ends_with_a_whole_line_is_gone_on_with_as_it_is(tmp_path, end):
    path = tmp_path / "trip.nmea"
    path.write_bytes(b"\\s:gps,c:1753000001000*46\\$IIMTW,1.0,C" + end)
    before = path.read_bytes()
    recorder = Recorder(path)
    recorder.record(Line(3.0, 1_753_000_003_000, "gps", b"$IIMTW,3.0,C"))
    recorder.close()
    whole = path.read_bytes()
    assert whole.startswith(before)
    assert whole[len(before) :].startswith(b"\\")


def test_a_full_disk_is_said_and_nothing_is_lost_when_there_is_room_again(tmp_path, monkeypatch):
    path = tmp_path / "trip.nmea"
    room = 1000
    real = os.write

    def write(fd, data):
        nonlocal room
        if room <= 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        n = real(fd, bytes(data)[: min(len(data), room)])
        room -= n
        return n

    monkeypatch.setattr(os, "write", write)
    recorder = Recorder(path)
    lines = [Line(i / 10, None, "gps", b"$IIMTW,%d,C" % i) for i in range(100)]
    for line in lines:
        recorder.record(line)  # never raises
    _wait(lambda: recorder.status.error)
    assert "no room left on the disk" in recorder.status.error
    assert str(path) in recorder.status.error
    assert recorder.status.waiting_bytes > 0
    room = 10**6
    _wait(lambda: not recorder.status.error)
    recorder.close()
    assert list(open_recording(path).lines()) == lines


@pytest.mark.skipif(
    os.name != "posix" or not os.path.exists("/dev/full"),  # noqa: PTH110
    reason="no /dev/full on this system",
)
def test_a_really_full_device(tmp_path):
    path = tmp_path / "trip.nmea"
    path.symlink_to("/dev/full")
    recorder = Recorder(path, waits_bytes=200)
    for i in range(100):
        recorder.record(Line(i / 10, None, "gps", b"$IIMTW,1.0,C"))
    _wait(lambda: "no room left on the disk" in recorder.status.error)
    status = recorder.status
    assert 0 < status.lost_lines < 100
    assert f"{status.lost_lines} lines of the feed could not be recorded" in status.error
    assert status.waiting_bytes <= 200
    recorder.close(1.0)


def test_a_folder_that_cannot_be_made_is_said(tmp_path):
    (tmp_path / "file").touch()
    recorder = Recorder(tmp_path / "file" / "trip.nmea")
    recorder.record(Line(0.0, None, "gps", b"$X"))
    _wait(lambda: recorder.status.error)
    assert recorder.status.error.endswith("trip.nmea: a part of its path is no folder; the watch goes on")
    recorder.close(1.0)


@pytest.mark.skipif(os.name == "nt", reason="Windows removes no file that is open")
def test_a_recording_removed_while_it_runs_is_begun_anew_and_said(tmp_path):
    """With its folder, and with what the user said of the sources: nobody could read frames without it."""
    path, said = tmp_path / "trips" / "trip.nmea", (Declared("bus", 1, speech=Speech(Tongue.N2K)), Declared("gps", 0))
    recorder = Recorder(path, said)
    recorder.record(Line(0.0, 1, "bus", b"09F80223 00 FC 06 10 69 00 FF FF"))
    _wait(path.exists)
    _wait(lambda: recorder.status.waiting_bytes == 0)
    before = path.stat().st_size
    shutil.rmtree(path.parent)
    recorder.record(Line(1.0, 2, "bus", b"09F80223 01 FC 06 10 69 00 FF FF"))
    _wait(path.exists)
    recorder.close()
    with open_recording(path) as recording:
        assert [(line.t_s, line.data[:11]) for line in recording.lines()] == [(1.0, b"09F80223 01")]
        assert recording.sources == said
    assert "was removed" in recorder.status.error
    assert (recorder.status.written_bytes, recorder.status.waiting_bytes) == (before + path.stat().st_size, 0)


def test_that_a_file_was_removed_is_told_when_what_the_next_begins_with_is_counted(tmp_path, monkeypatch):
    """A day's seed 890050: what it said to be written or waiting was less than what it was given, for as long as the
    removed file took to be let go."""
    path = tmp_path / "trip.nmea"
    recorder = Recorder(path, (Declared("gps", 0),))
    recorder.record(Line(0.0, 1, "gps", b"$A"))
    _wait(lambda: path.exists() and recorder.status.waiting_bytes == 0)
    seen, let_go = [], recorder._let_go
    monkeypatch.setattr(recorder, "_let_go", lambda: (seen.append(recorder.status), let_go()))
    path.unlink()
    recorder.record(Line(1.0, 2, "gps", b"$B"))
    _wait(path.exists)
    recorder.close()
    assert "was removed" not in seen[0].error
    assert "was removed" in seen[1].error
    assert seen[1].written_bytes > seen[0].written_bytes + seen[0].waiting_bytes  # its sources, once more


def test_the_clock_goes_on_where_the_recording_stopped(tmp_path):
    path = tmp_path / "trip.nmea"
    recorder = Recorder(path)
    recorder.record(Line(100.0, time.time_ns() // 1_000_000 - 60_000, "gps", b"$A"))
    recorder.close()
    t_s, _ = FeedClock.resume(path).now()
    assert 160.0 <= t_s < 161.0
    assert FeedClock.resume(tmp_path / "none").now()[0] < 1.0


def test_the_computer_s_clock_set_while_running_moves_no_feed_time(monkeypatch):
    clock = FeedClock()
    before, unix_before = clock.now()
    real = time.time_ns
    monkeypatch.setattr(time, "time_ns", lambda: real() + 86_400 * 10**9)
    after, unix_after = clock.now()
    assert 0 <= after - before < 1.0
    assert unix_after - unix_before >= 86_400_000


class Asleep:
    """The module ``time`` of one system, whose computer sleeps for an hour at the second look at its clocks."""

    def __init__(self, system):
        self.system, self.slept_s = system, 0.0
        self.CLOCK_MONOTONIC = 1
        if system != "windows":
            self.clock_gettime_ns = self._clock_gettime_ns
        if system == "linux":
            self.CLOCK_BOOTTIME = 7

    def time_ns(self):
        return 1_780_000_000 * 10**9

    def monotonic(self):
        return 100.0 + (self.slept_s if self.system == "windows" else 0.0)

    def monotonic_ns(self):
        return round(self.monotonic() * 1e9)

    def _clock_gettime_ns(self, which):
        goes_on = which == (self.CLOCK_MONOTONIC if self.system == "mac" else 7)
        return round((100.0 + self.slept_s * goes_on) * 1e9)


@pytest.mark.parametrize("system", ["linux", "mac", "windows"])
def test_feed_time_counts_what_the_computer_slept_and_another_clock_does_not(monkeypatch, system):
    asleep = Asleep(system)
    monkeypatch.setattr(feed_clock, "time", asleep)
    monkeypatch.setattr(feed_clock, "_unbiased_s", lambda: 100.0)
    clock = FeedClock()
    before, awake_before = clock.now()[0], feed_clock.awake_s()
    asleep.slept_s = 3600.0
    assert clock.now()[0] - before == 3600.0
    assert feed_clock.awake_s() == awake_before


def test_both_clocks_of_this_system_go_on_while_it_is_awake():
    clock, awake = FeedClock(), feed_clock.awake_s()
    time.sleep(0.05)
    assert 0.0 < feed_clock.awake_s() - awake < 5.0
    assert 0.0 < clock.now()[0] < 5.0


def test_a_recording_is_written_by_its_owner_alone(tmp_path):
    recorder = Recorder(tmp_path / "r.nmea")
    recorder.record(Line(1.0, 1_784_000_000_000, "boat", b"$IIMTW,12.0,C*10"))
    recorder.close()
    mask = os.umask(0)
    os.umask(mask)
    if os.name == "posix":
        assert (tmp_path / "r.nmea").stat().st_mode & 0o777 == 0o644 & ~mask
